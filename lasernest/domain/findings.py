"""Findings: what a reader, a check or the proof noticed, told to the maker."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from enum import Enum

from lasernest.domain.contours import Point


class Severity(Enum):
    """How much a finding matters; the order is from worst to least."""

    ERROR = "error"
    WARNING = "warning"
    NOTE = "note"


@dataclass(frozen=True, slots=True)
class Choice:
    """One answer to a question that a finding asks.

    `option` and `value` are what the command line takes for the same answer
    (`--unit`, `in`); `size_mm` is the width and height the drawing would have
    with it, where that is what the choice is about; `preset` marks the answer
    taken while nobody decides.
    """

    label: str
    option: str
    value: str
    size_mm: tuple[float, float] | None = None
    preset: bool = False


@dataclass(frozen=True, slots=True)
class Finding:
    """One thing noticed, with its place and what to do.

    `code` is a short stable word for programs (`open-outline`), `message` the
    sentence for people; `mended` says that the program repaired it. A finding
    with `choices` is a question: its preset is taken until somebody answers.
    """

    severity: Severity
    code: str
    message: str
    where_mm: Point | None = None
    layer: str | None = None
    panel: str | None = None
    mended: bool = False
    todo: str = ""
    """A full sentence that is true wherever it is read."""
    on_command_line: str = ""
    """The words that do it there, such as `--unit in`; a question has them in its choices."""
    count: int = 1
    """How many places this finding speaks for; `where_mm` is the first of them."""
    choices: tuple[Choice, ...] = ()

    @property
    def is_question(self) -> bool:
        return bool(self.choices)


def counted(count: int, one: str, many: str) -> str:
    """`1 line was`, `2 lines were`: a number before words that agree with it."""
    return f"{count} {one if count == 1 else many}"


def worst(findings: Iterable[Finding]) -> Severity | None:
    """The worst severity among findings that were not mended, or None."""
    found = {f.severity for f in findings if not f.mended}
    for severity in Severity:
        if severity in found:
            return severity
    return None
