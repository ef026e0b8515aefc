"""The proof of cut files whose plan is not at hand."""

from __future__ import annotations

from pathlib import Path

import pytest

from lasernest.domain.contours import Contour, Pose, Vertex
from lasernest.domain.control import QuietControl
from lasernest.domain.cutting import CutPath, PathKind, SheetCut
from lasernest.domain.panels import Mark, Panel
from lasernest.domain.stock import Kerf
from lasernest.errors import UnreadableFileError
from lasernest.exchange.writers.dxf import write_cut_dxf
from lasernest.job import Job, JobPanel
from lasernest.kerf.proof import ProvedSheet
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
