"""Undo and redo: states of the job before and after each named change.

Jobs are frozen and share their parts, so keeping a few hundred is cheap.
"""

from __future__ import annotations

from dataclasses import dataclass

from lasernest.job import Job

LONGEST = 500


@dataclass(frozen=True, slots=True)
class Step:
    """One change that can be undone."""

    label: str
    before: Job
    after: Job
    merge_key: str | None = None


class History:
    """The steps that led here, the steps that were undone, and which state is saved."""

    def __init__(self, start: Job, *, saved: bool = True) -> None:
        self._done: list[Step] = []
        self._undone: list[Step] = []
        self._now = start
        self._saved: Job | None = start if saved else None

    @property
    def now(self) -> Job:
        return self._now

    @property
    def undo_label(self) -> str | None:
        """What Undo would take back, or None."""
        return self._done[-1].label if self._done else None

    @property
    def redo_label(self) -> str | None:
        """What Redo would do again, or None."""
        return self._undone[-1].label if self._undone else None

    @property
    def is_saved(self) -> bool:
        return self._saved is self._now

    def mark_saved(self, job: Job | None = None) -> None:
        """This state is the saved one; the one there is now, where none is given."""
        self._saved = job if job is not None else self._now

    def record(self, label: str, after: Job, *, merge_key: str | None = None) -> None:
        """Keep a change; steps with the same key in a row become one.

        A change that changes nothing is not kept.
        """
        if after == self._now:
            return
        last = self._done[-1] if self._done else None
        before = self._now
        if merge_key is not None and last is not None and last.merge_key == merge_key:
            before = last.before
            self._done.pop()
        self._done.append(Step(label, before, after, merge_key))
        del self._done[:-LONGEST]
        self._undone.clear()
        self._now = after

    def undo(self) -> Job:
        """Go back one step; the same job when there is none."""
        if self._done:
            step = self._done.pop()
            self._undone.append(step)
            self._now = step.before
        return self._now

    def redo(self) -> Job:
        """Go forward one step; the same job when there is none."""
        if self._undone:
            step = self._undone.pop()
            self._done.append(step)
            self._now = step.after
        return self._now
