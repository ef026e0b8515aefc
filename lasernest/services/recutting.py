"""Cutting again what was spoiled: a job for just those copies, the first one left as it is."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace

from lasernest.errors import BadValueError
from lasernest.job import Job


def recut_job(job: Job, copies: Mapping[str, int]) -> Job:
    """A job for some copies of a job's panels, with its stock, joints and choices.

    It has a name of its own, so that a booking of it is not counted as more of the
    product: what is cut again takes the place of what was spoiled.

    Args:
        job: that was cut.
        copies: by panel name, how many of each.

    Raises:
        BadValueError: nothing is to be cut again.
        NotFoundError: the job has no such panel.
    """
    if not any(copies.values()):
        raise BadValueError("no panel was chosen", todo="Choose those to be cut again.")
    for name in copies:
        job.panel(name)
    panels = tuple(
        replace(entry, quantity=copies.get(entry.name, 0), as_many_as_fit=False, priority=0)
        for entry in job.panels
    )
    # Offcuts that were filled are gone, and a unit is no longer cut whole.
    setup = replace(
        job.setup,
        units=1,
        spares=0,
        scrap_share=0.0,
        offcuts=(),
        units_together=False,
        other_stocks=tuple(replace(choice, offcuts=()) for choice in job.setup.other_stocks),
    )
    return job.changed(
        name=f"{job.name or 'job'} recut", panels=panels, setup=setup, plan=None, comparison=None
    )
