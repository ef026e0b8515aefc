"""What is told of a material on every page that is about to cut it."""

from __future__ import annotations

from collections.abc import Iterable
from functools import partial

from lasernest.domain.safety import Verdict
from lasernest.gui.desk import Desk
from lasernest.gui.obstacles import Judged, begun, must_not
from lasernest.gui.parts.notes import Answer, Note
from lasernest.gui.tiles import Step
from lasernest.gui.words import tr
from lasernest.services.commands import AcknowledgeMaterial


def refusals(materials: Iterable[Judged]) -> list[Note]:
    """Those that must not be cut, with the reason."""
    return [
        Note(
            f"{must_not(material)} {verdict.reason} " + tr("No cut file is written."),
            "error",
            why="cautions#never-cut",
        )
        for material, verdict in materials
        if verdict.verdict is Verdict.REFUSED
    ]


def cautions(materials: Iterable[Judged], desk: Desk, step: Step) -> list[Note]:
    """Those to be decided on before they are cut, unless the maker has."""
    accepted = desk.job.setup.materials_accepted
    return [
        Note(
            f"{begun(material)}: {verdict.reason}",
            "question",
            (
                Answer(
                    tr("I have read this"),
                    partial(desk.do, AcknowledgeMaterial(material), step),
                ),
            ),
            why="cautions#only-with-care",
        )
        for material, verdict in materials
        if verdict.verdict is Verdict.WARNED and material not in accepted
    ]
