"""The job sheet: what whoever stands at the machine needs to know of a job, as frozen values.

Gathered by `services.job_sheet`, laid out by `exchange.writers`. Every figure
carries what it rests on, and nothing here is worked out again when written.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date

from lasernest.domain.contours import Contour
from lasernest.domain.cutting import SheetCut
from lasernest.domain.panels import Panel


@dataclass(frozen=True, slots=True)
class Fact:
    """One line: a name, a value with its unit, and what it rests on."""

    name: str
    value: str
    rests_on: str = ""


@dataclass(frozen=True, slots=True)
class FactGroup:
    """Facts under one heading."""

    title: str
    facts: tuple[Fact, ...]


@dataclass(frozen=True, slots=True)
class LyingPanel:
    """A panel where it lies on a sheet, and what it is called there."""

    label: str
    panel: Panel


@dataclass(frozen=True, slots=True)
class SheetPicture:
    """What a plan of one sheet shows."""

    cut: SheetCut
    """Every line of the beam, in the order of work."""
    panels: tuple[LyingPanel, ...]
    kept: tuple[Contour, ...] = ()
    """Remainders worth keeping."""
    holes: tuple[Contour, ...] = ()
    """Places of an offcut that are cut away already."""

    @property
    def counts(self) -> dict[str, int]:
        """Copies by panel name, in the order they lie."""
        found: dict[str, int] = {}
        for lying in self.panels:
            found[lying.panel.name] = found.get(lying.panel.name, 0) + 1
        return found


@dataclass(frozen=True, slots=True)
class BenchSheet:
    """One sheet to be cut."""

    title: str
    file_name: str
    """Of its cut file; empty while none was written."""
    picture: SheetPicture
    facts: tuple[Fact, ...]
    verdict: str
    """Of the proof, in one sentence."""
    proved: bool | None
    """None: there is no cut file to prove."""
    problems: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class JointLine:
    """One joint: how it was meant, and what the beam leaves of it."""

    name: str
    kind: str
    size: str
    meant_mm: float
    left_mm: float | None
    """None while nothing was proved."""
    worst_mm: float | None
    u_mm: float | None
    fit: str


@dataclass(frozen=True, slots=True)
class JobSheet:
    """The whole sheet of papers for one job."""

    title: str
    code: str
    """Finds the job again; see `services.job_sheet.code_of`."""
    code_words: str
    """What the square code says when it is scanned."""
    made_on: date
    program: str
    groups: tuple[FactGroup, ...]
    """Stock, beam and figures."""
    doubts: tuple[str, ...]
    """What to know before cutting."""
    steps: tuple[str, ...]
    """The order of work, to be ticked off."""
    sheets: tuple[BenchSheet, ...]
    joints: tuple[JointLine, ...]
    left_out: tuple[str, ...]
    """Panels that no sheet could take."""
    cautions: tuple[str, ...]
