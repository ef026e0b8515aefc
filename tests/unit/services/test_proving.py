"""The proof of cut files whose plan is not at hand."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from pathlib import Path

import pytest

from lasernest.domain.contours import Contour, Pose, Vertex
from lasernest.domain.control import QuietControl
from lasernest.domain.cutting import (
    Corner,
    CutChoices,
    CutPath,
    HoldingTabs,
    LayerStyle,
    MachineProfile,
    PathKind,
    Proof,
    SheetCut,
)
from lasernest.domain.panels import Mark, Panel
from lasernest.domain.plan import Placement, Sheet, SheetPlan
from lasernest.domain.stock import Kerf
from lasernest.errors import UnreadableFileError
from lasernest.exchange.writers.dxf import write_cut_dxf
from lasernest.job import Job, JobPanel
from lasernest.kerf.proof import ProvedSheet
from lasernest.services.cutting import sheet_cut, write_cut_file
from lasernest.services.proving import prove_file, prove_files
from tests.cut_kit import QUARTER, finger_panel, front, plate, posed_sheet

KERF = Kerf.same(0.2)
DISC = Panel.of("disc", Contour.circle(0, 0, 20), [Contour.circle(0, 0, 5)])
CRANK = Panel.of(
    "crank",
    Contour.polygon([(0, 0), (70, 0), (70, 10), (40, 25), (12, 25), (12, 48), (0, 48)]),
    marks=[Mark(Contour.polyline([(3, 3), (30, 3)]))],
)
LENS = Panel.of(
    "lens", Contour((Vertex(0, 0, QUARTER), Vertex(40, 0, 0.9))), [Contour.circle(28, 0, 3)]
)
PANELS = [front(), finger_panel(), DISC, CRANK, LENS, plate()]
LAID = [
    (front(), Pose(10, 10)),
    (finger_panel(), Pose(230, 10, 90)),
    (DISC, Pose(300, 60)),
    (DISC, Pose(350, 60)),
    (CRANK, Pose(120, 200, 37.123)),
    (CRANK, Pose(300, 200, 271.5, mirrored=True)),
    (LENS, Pose(420, 200, 64.2)),
    (plate(), Pose(450, 20)),
]


def proved(
    tmp_path: Path, cut_with: Kerf = KERF, panels: list[Panel] | None = PANELS
) -> ProvedSheet:
    cut, _ = posed_sheet(LAID, cut_with)
    write_cut_dxf(cut, tmp_path / "cut.dxf")
    return prove_file(tmp_path / "cut.dxf", KERF, control=QuietControl(), panels=panels)


def test_pieces_are_known_again(tmp_path: Path) -> None:
    sheet = proved(tmp_path)
    assert sheet.proof.problems == ()
    assert sheet.proof.passed
    assert sheet.proof.max_deviation_mm <= 0.003
    names = sorted((p.panel_name, p.copy) for p in sheet.proof.panels)
    assert names == [
        ("crank", 1), ("crank", 2), ("disc", 1), ("disc", 2), ("fingers", 1), ("front", 1),
        ("lens", 1), ("plate", 1),
    ]  # fmt: skip


@pytest.mark.parametrize("wrong_mm", [0.0, 0.1, 0.4])
def test_wrong_compensation_is_still_known_and_fails(tmp_path: Path, wrong_mm: float) -> None:
    sheet = proved(tmp_path, Kerf.same(wrong_mm))
    assert not sheet.proof.passed
    off = abs(0.2 - wrong_mm) / 2
    for panel in sheet.proof.panels:
        # edges are off by half the difference, sharp corners by more
        assert 0.9 * off <= panel.deviation_mm <= 2.0 * off


def test_strange_pieces(tmp_path: Path) -> None:
    sheet = proved(tmp_path, panels=[p for p in PANELS if p.name != "plate"])
    assert not sheet.proof.passed
    assert sheet.proof.panels_expected == 8
    assert sheet.proof.panels_found == 7
    assert (
        sheet.proof.problems[0]
        == "The piece of 100.00 x 60.00 mm at 500.00, 50.00 mm is none of the panels."
    )


def test_without_a_drawing_the_lines_are_still_judged(tmp_path: Path) -> None:
    sheet = proved(tmp_path, panels=None)
    assert sheet.proof.passed
    assert sheet.proof.panels_found == 8
    assert any("100.00 x 60.00 mm, held against no drawing" in p.note for p in sheet.proof.panels)
    cut, _ = posed_sheet(LAID, KERF)
    doubled = SheetCut(600, 400, (*cut.paths, cut.paths[-1]))
    write_cut_dxf(doubled, tmp_path / "cut.dxf")
    again = prove_file(tmp_path / "cut.dxf", KERF, control=QuietControl())
    assert not again.proof.passed
    assert any("cut twice" in problem for problem in again.proof.problems)


def test_a_file_with_nothing_to_cut(tmp_path: Path) -> None:
    mark = CutPath(PathKind.SCORE, Contour.polyline([(1, 1), (9, 9)]))
    write_cut_dxf(SheetCut(100, 100, (mark,)), tmp_path / "cut.dxf")
    with pytest.raises(UnreadableFileError, match="there is nothing in it to be cut"):
        prove_file(tmp_path / "cut.dxf", KERF, control=QuietControl())


def test_a_panel_of_the_job_that_is_not_in_the_files_is_lost(tmp_path: Path) -> None:
    cut, _ = posed_sheet(LAID, KERF)
    write_cut_dxf(cut, tmp_path / "cut.dxf")
    job = Job("all", tuple(JobPanel(panel) for panel in PANELS))
    whole = prove_files([tmp_path / "cut.dxf"], KERF, control=QuietControl(), against=job)
    assert whole.passed
    more = job.with_panel("disc", JobPanel(DISC, 3))
    short = prove_files([tmp_path / "cut.dxf"], KERF, control=QuietControl(), against=more)
    assert not short.passed
    assert short.problems == ("disc is lost: 2 of 3 copies are in the file.",)
    assert short.panels_expected == short.panels_found + 1


SMALL = Panel.of("small", Contour.rectangle(0, 0, 30, 9), [Contour.circle(15, 4.5, 2)])
TABS = HoldingTabs(0.4, 12.0, 2)
STANDING = [
    Placement("front", 1, Pose(10, 10)),
    Placement("crank", 1, Pose(120, 20)),
    Placement("small", 1, Pose(10, 100)),
    Placement("small", 2, Pose(60, 130, 90)),
]
BY_NAME = {panel.name: panel for panel in (front(), CRANK, SMALL)}


def written(
    tmp_path: Path, corner: Corner, choices: CutChoices, change: Callable[[SheetCut], SheetCut]
) -> Callable[..., Proof]:
    """A file for a machine with its own layers; what comes back proves it."""
    profile = MachineProfile(
        origin=corner,
        inner=LayerStyle("HOLES", 1, "#aa0000"),
        outer=LayerStyle("RIM", 2, "#00aa00"),
    )
    plan = SheetPlan(Sheet(250, 180, 5.0), tuple(STANDING))
    cut = change(sheet_cut(plan, BY_NAME, KERF, choices))
    write_cut_file(cut, tmp_path / "cut.dxf", profile=profile)
    job = Job("all", tuple(JobPanel(p, 2 if p is SMALL else 1) for p in BY_NAME.values()))

    def prove(at: Corner = corner, with_choices: CutChoices = choices) -> Proof:
        return prove_files(
            [tmp_path / "cut.dxf"],
            KERF,
            control=QuietControl(),
            against=job,
            profile=replace(profile, origin=at),
            choices=with_choices,
        )

    return prove


def as_it_is(cut: SheetCut) -> SheetCut:
    return cut


def with_first_hole(cut: SheetCut, *instead: Pose) -> SheetCut:
    """The first inner cut moved, or gone."""
    hole = next(p for p in cut.paths if p.kind is PathKind.CUT_INNER)
    moved = [replace(hole, path=hole.path.posed(pose)) for pose in instead]
    return replace(cut, paths=tuple(q for p in cut.paths for q in (moved if p is hole else [p])))


@pytest.mark.parametrize(
    ("corner", "choices"),
    [
        (Corner.UPPER_LEFT, CutChoices()),
        (Corner.LOWER_RIGHT, CutChoices(lead_mm=1.5)),
        *((corner, CutChoices(lead_mm=1.5, tabs=TABS)) for corner in Corner),
    ],
)
def test_files_of_any_machine_are_proved_and_what_is_wrong_in_them_is_seen(
    tmp_path: Path, corner: Corner, choices: CutChoices
) -> None:
    proof = written(tmp_path, corner, choices, as_it_is)()
    assert proof.problems == ()
    assert proof.passed
    assert (proof.panels_found, proof.panels_expected) == (4, 4)
    assert proof.max_deviation_mm <= 0.003
    moved = written(tmp_path, corner, choices, lambda c: with_first_hole(c, Pose(0.05, 0)))()
    assert not moved.passed
    # Not more than it was moved by, and seen as what it is.
    assert moved.max_deviation_mm == pytest.approx(0.05, abs=0.002)
    gone = written(tmp_path, corner, choices, with_first_hole)()
    assert not gone.passed


@pytest.mark.parametrize("corner", list(Corner))
def test_the_wrong_corner_is_told(tmp_path: Path, corner: Corner) -> None:
    prove = written(tmp_path, corner, CutChoices(), as_it_is)
    for other in Corner:
        proof = prove(other)
        assert proof.passed is (other is corner)
        if other is not corner:
            assert f"The {other.value} corner of the sheet lies at" in proof.problems[0]
            assert "was written for another corner" in proof.problems[0]


def test_tabs_that_nobody_told_of_leave_panels_in_the_sheet(tmp_path: Path) -> None:
    prove = written(tmp_path, Corner.LOWER_LEFT, CutChoices(tabs=TABS), as_it_is)
    assert prove().passed
    proof = prove(with_choices=CutChoices())
    assert not proof.passed
    assert proof.problems[0] == "small is lost: 0 of 2 copies are in the file."
    wider = prove(with_choices=CutChoices(tabs=replace(TABS, width_mm=0.5)))
    assert not wider.passed
    assert any("is 0.40 mm wide where 0.50 mm is wanted" in text for text in wider.problems)
