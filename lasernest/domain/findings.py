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
class Finding:
    """One thing noticed, with its place and what to do.

    `code` is a short stable word for programs (`open-outline`), `message` the
    sentence for people; `mended` says that the program repaired it.
    """

    severity: Severity
    code: str
    message: str
    where_mm: Point | None = None
    layer: str | None = None
    panel: str | None = None
    mended: bool = False
    todo: str = ""


def worst(findings: Iterable[Finding]) -> Severity | None:
    """The worst severity among findings that were not mended, or None."""
    found = {f.severity for f in findings if not f.mended}
    for severity in Severity:
        if severity in found:
            return severity
    return None
