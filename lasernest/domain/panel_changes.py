"""What became of the panels of a drawing that was drawn anew."""

from __future__ import annotations

from dataclasses import dataclass
from enum import Enum

from lasernest.domain.panels import Panel


class Change(Enum):
    """What became of a panel in the new drawing."""

    SAME = "same"
    CHANGED = "changed"
    ADDED = "added"
    GONE = "gone"


@dataclass(frozen=True, slots=True)
class PanelChange:
    """One panel, before and after."""

    change: Change
    name: str
    """In the job; of an added one, in the drawing."""
    old: Panel | None
    new: Panel | None
    off_mm: float = 0.0
    """Of a changed one: how far its lines moved at most; infinite where holes or marks
    came where there were none."""

    @property
    def must_be_cut(self) -> bool:
        """True for what an earlier cut does not have."""
        return self.change in (Change.CHANGED, Change.ADDED)


def said_of(change: PanelChange) -> str:
    """A change in a sentence for people."""
    if change.change is Change.CHANGED and change.off_mm < float("inf"):
        return f"changed, by up to {change.off_mm:.2f} mm"
    return {
        Change.SAME: "as before",
        Change.CHANGED: "changed",
        Change.ADDED: "new",
        Change.GONE: "gone",
    }[change.change]
