"""A job sheet made up by hand, for tests of what is written of it."""

from __future__ import annotations

from dataclasses import replace
from datetime import date

from lasernest.domain.contours import Contour, Pose
from lasernest.domain.cutting import PathKind, SheetCut
from lasernest.domain.job_sheet import (
    BenchSheet,
    Fact,
    FactGroup,
    JobSheet,
    JointLine,
    LyingPanel,
    SheetPicture,
)
from lasernest.domain.panels import Mark, MarkKind, Panel
from lasernest.domain.stock import Kerf
from tests.cut_kit import front, plate, posed_sheet

SLIVER = Panel.of("a-name-that-is-long", Contour.rectangle(0, 0, 20, 6))


def marked() -> Panel:
    return replace(
        plate("lid <b>&"),
        marks=(
            Mark(Contour.polyline([(10, 10), (40, 10)]), MarkKind.SCORE),
            Mark(Contour.polyline([(10, 50), (90, 50)]), MarkKind.ENGRAVE),
        ),
    )


def one_sheet(*, proved: bool | None = True) -> BenchSheet:
    laid = [(front(), Pose(10, 10)), (marked(), Pose(10, 90)), (SLIVER, Pose(10, 160))]
    cut, posed = posed_sheet(laid, Kerf.same(0.2), width=300, height=200)
    lines = tuple(sorted(cut.paths, key=lambda p: list(PathKind).index(p.kind)))
    return BenchSheet(
        "Sheet 1 of 1 · birch plywood 3 mm · 300 × 200 mm",
        "case.dxf" if proved is not None else "",
        SheetPicture(
            SheetCut(300, 200, lines),
            tuple(LyingPanel(panel.name, panel) for panel, _ in posed),
            (Contour.rectangle(120, 0, 180, 200),),
        ),
        (Fact("Panels", "3"), Fact("Yield", "20.5%", "net panels over whole sheets")),
        "Proof passed." if proved else "PROOF FAILED: do not cut this file.",
        proved,
        () if proved else ("front is lost: it is not cut out of the sheet.",),
    )


def job_sheet(*, proved: bool | None = True, title: str = "Größe Ж & <co>") -> JobSheet:
    return JobSheet(
        title,
        "12AB-34CD",
        "lasernest 12AB-34CD case.lasernest",
        date(2026, 11, 25),
        "lasernest 0.1.0",
        (
            FactGroup("Sheet", (Fact("Stock", "birch plywood 3 mm"),)),
            FactGroup("Beam", (Fact("Kerf, full width", "0.182 ± 0.006 mm", "comb, 6 days old"),)),
            FactGroup("Figures", (Fact("Panels", "3"), Fact("Yield", "20.5%"))),
        ),
        ("The kerf was never measured.",),
        ("Measure the thickness.", "Cut case.dxf."),
        (one_sheet(proved=proved),),
        (JointLine("a – b", "finger", "7 × 9.00 mm", 0.05, 0.048, 0.051, 0.004, "press"),),
        ("2 × lid: too large for the sheet",),
        ("Stay with the machine.",),
    )
