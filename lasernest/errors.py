"""Errors that a maker can act on: what happened, where, and what to do.

Every error raised on purpose inherits `LasernestError`. The window shows it
beside the drawing; the command line prints it as one line and exits 1 (2 for
wrong usage). Anything else that escapes is a bug of ours.
"""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path


@dataclass(frozen=True, slots=True)
class Where:
    """The place an error or finding speaks about; every part may be unknown."""

    file: Path | None = None
    line: int | None = None
    layer: str | None = None
    panel: str | None = None
    at_mm: tuple[float, float] | None = None

    def __str__(self) -> str:
        parts: list[str] = []
        if self.file is not None:
            parts.append(self.file.name)
        if self.line is not None:
            parts.append(f"line {self.line}")
        if self.panel is not None:
            parts.append(f"panel {self.panel}")
        if self.layer is not None:
            parts.append(f"layer {self.layer}")
        if self.at_mm is not None:
            parts.append(f"at {self.at_mm[0]:.2f}, {self.at_mm[1]:.2f} mm")
        return ", ".join(parts)


def advice(todo: str, on_command_line: str) -> str:
    """What to do as the command line tells it: its own words follow in brackets."""
    return f"{todo.removesuffix('.')} ({on_command_line})." if on_command_line else todo


class LasernestError(Exception):
    """Base of all errors that are shown to the maker.

    Args:
        what: the plain fact, a clause without a full stop.
        where: the place, if there is one.
        todo: what to do about it, a full sentence that is true wherever it is read.
        on_command_line: the words that do it there, such as `--unit in`.
    """

    def __init__(
        self,
        what: str,
        *,
        where: Where | None = None,
        todo: str = "",
        on_command_line: str = "",
    ) -> None:
        super().__init__(what)
        self.what = what
        self.where = where if where is not None else Where()
        self.todo = todo
        self.on_command_line = on_command_line

    def sentence(self, *, on_command_line: bool = False) -> str:
        """The error as one line of text, with the command line's own words if asked for."""
        place = str(self.where)
        head = f"{place}: {self.what}" if place else self.what
        head = head.rstrip(".") + "."
        todo = advice(self.todo, self.on_command_line) if on_command_line else self.todo
        return f"{head} {todo}".strip()

    def __str__(self) -> str:
        return self.sentence()


class Cancelled(Exception):  # noqa: N818 - it is a wish, not an error
    """Raised by `Control.check` when the maker pressed Cancel. Never shown as an error."""


class BadValueError(LasernestError):
    """A value that cannot be: a negative width, a number that is not finite."""


class BadContourError(LasernestError):
    """A contour that cannot be: too few corners, a non-finite coordinate."""


class UnreadableFileError(LasernestError):
    """A file that cannot be read as what it claims to be."""


class BadDrawingError(LasernestError):
    """A drawing that can be read but not cut as it is: an open or crossing outline."""


class UnwritableFileError(LasernestError):
    """A file that cannot be written where the maker asked."""


class VanishedContourError(LasernestError):
    """A contour that kerf compensation swallows, such as a slot narrower than the kerf."""


class RefusedMaterialError(LasernestError):
    """A material that must not be lasered; no cut file is written for it."""


class NewerFormatError(LasernestError):
    """A job file or shop book from a newer version of the program."""


class NotFoundError(LasernestError):
    """A stock, record, panel or file that was asked for by name and is not there."""


class ChangedMeanwhileError(LasernestError):
    """A record that somebody else changed since it was read."""


class UsageError(LasernestError):
    """A wrong combination of options on the command line (exit code 2)."""
