from __future__ import annotations

from itertools import pairwise
from pathlib import Path

import pytest
import shapely

from lasernest.domain.contours import Contour
from lasernest.domain.control import QuietControl
from lasernest.domain.cutting import Corner, MachineProfile, MarkUse, PathKind
from lasernest.domain.offcuts import Offcut
from lasernest.domain.plan import Sheet
from lasernest.domain.stock import Kerf, Machine, SheetSize, Stock
from lasernest.errors import BadValueError, RefusedMaterialError
from lasernest.kerf.comb import CombSpec, draw_comb, even_rungs
from lasernest.kerf.proof import prove
from lasernest.services.comb_cutting import free_place, write_comb
from lasernest.services.cutting import WrittenSheet, read_cut_file

BIRCH = Stock("birch", "birch plywood", 3.0, (SheetSize(600, 400),), Kerf.same(0.18))
SPEC = CombSpec(3.05, Kerf.same(0.18), even_rungs(-0.15, 0.25), lines=("birch plywood 3 mm",))


def written(out: Path, spec: CombSpec = SPEC, **options: object) -> WrittenSheet:
    return write_comb(spec, out, stock=BIRCH, machine=Machine(), control=QuietControl(), **options)


@pytest.mark.parametrize("thickness_mm", [1.5, 3.05, 6.0, 12.0])
@pytest.mark.parametrize("kerf", [Kerf.same(0.18), Kerf(0.26, 0.16)], ids=["round", "uneven"])
@pytest.mark.parametrize("compensated", [False, True])
def test_the_cut_file_of_a_comb_passes_its_proof_and_fits_an_offcut(
    tmp_path: Path, thickness_mm: float, kerf: Kerf, compensated: bool
) -> None:
    spec = CombSpec(thickness_mm, kerf, even_rungs(-0.15, 0.25), compensated, ("birch",))
    sheet = written(tmp_path / "comb.dxf", spec)
    assert sheet.proof.problems == ()
    assert sheet.proof.passed
    assert sheet.proof.panels_found == len(draw_comb(spec).panels)
    assert (sheet.cut.width_mm, sheet.cut.height_mm) == (150.0, 100.0)


def test_the_file_read_by_another_library(tmp_path: Path) -> None:
    import pyogrio

    written(tmp_path / "comb.dxf")
    _, _, shapes, fields = pyogrio.raw.read(tmp_path / "comb.dxf", columns=["Layer"])
    lines = dict[str, list[shapely.Geometry]]()
    for layer, shape in zip(fields[0], shapely.from_wkb(shapes), strict=True):
        lines.setdefault(layer, []).append(shape)
    comb = draw_comb(SPEC)
    assert len(lines["CUT-INNER"]) == 2 * (comb.strips - 1) + 3
    (outer,) = lines["CUT-OUTER"]
    assert outer.bounds == pytest.approx((1, 1, 149, 99))
    strips = sorted(s.bounds[0] for s in lines["CUT-INNER"] if s.bounds[2] - s.bounds[0] < 1e-6)
    assert [b - a for a, b in pairwise(strips)] == pytest.approx([5.0] * 8)
    assert len(lines["ENGRAVE"]) == len(comb.body.marks)


def test_a_comb_proved_for_another_kerf_fails(tmp_path: Path) -> None:
    sheet = written(tmp_path / "comb.dxf")
    paths = read_cut_file(sheet.file, profile=MachineProfile(), control=QuietControl())
    comb = draw_comb(SPEC)
    for wrong in (0.0001, 0.09, 0.20):
        proof = prove(
            paths, width_mm=150, height_mm=100, expected=comb.placed((1, 1)), kerf=Kerf.same(wrong)
        )
        assert not proof.passed


def test_no_comb_is_written_for_a_material_that_must_not_be_lasered(tmp_path: Path) -> None:
    vinyl = Stock("PVC 3", "PVC", 3.0, (SheetSize(600, 400),), Kerf.same(0.2))
    with pytest.raises(RefusedMaterialError):
        write_comb(SPEC, tmp_path / "c.dxf", stock=vinyl, machine=Machine(), control=QuietControl())
    assert list(tmp_path.iterdir()) == []


def test_a_comb_on_an_offcut_of_any_shape(tmp_path: Path) -> None:
    # an L whose foot is too low and whose upright is just wide enough
    shape = Contour.polygon([(0, 0), (400, 0), (400, 60), (170, 60), (170, 300), (0, 300)])
    holed = (Contour.circle(20, 40, 8).reversed(),)
    sheet = Offcut("A01", "birch", shape, holed).sheet(margin_mm=3)
    x, y = free_place(sheet)
    assert 3 <= x <= 170 - 3 - 148
    assert y >= 51  # above the hole and its margin
    proved = written(tmp_path / "comb.dxf", sheet=sheet).proof
    assert proved.passed
    with pytest.raises(BadValueError) as caught:
        free_place(Offcut("A02", "birch", shape).sheet(margin_mm=15))
    assert caught.value.sentence() == (
        "the comb does not fit on A02. It needs 150 x 100 mm: choose a larger piece, "
        "or a smaller margin."
    )
    with pytest.raises(BadValueError, match="does not fit on a sheet of 140 x 200 mm"):
        free_place(Sheet(140, 200, margin_mm=0))


@pytest.mark.parametrize("ending", ["dxf", "svg"])
@pytest.mark.parametrize("marks", MarkUse)
def test_a_comb_for_a_machine_of_its_own_ways(tmp_path: Path, ending: str, marks: MarkUse) -> None:
    profile = MachineProfile(origin=Corner.UPPER_RIGHT, marks=marks)
    sheet = written(tmp_path / f"comb.{ending}", profile=profile)
    assert sheet.proof.problems == ()
    assert sheet.proof.passed
    labels = {path.kind for path in sheet.cut.paths if not path.kind.is_cut}
    assert (
        labels
        == {
            MarkUse.KEEP: {PathKind.ENGRAVE},
            MarkUse.ALL_SCORED: {PathKind.SCORE},
            MarkUse.ALL_ENGRAVED: {PathKind.ENGRAVE},
            MarkUse.LEFT_OUT: set(),
        }[marks]
    )
