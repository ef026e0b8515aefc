"""Joints as the beam leaves them, from written DXF read by GDAL and swept by GEOS.

Nothing here uses our offsets, our reader or our proof: a disc of the kerf's
width is swept along every cut line (`buffer`), taken from the closed paths, and
what is left is measured with straight rulers. Sizes of the folded case are
those of the box that was drawn.
"""

from __future__ import annotations

import math
from pathlib import Path

import numpy as np
import pyogrio.raw
import pytest
import shapely
from shapely.affinity import translate

from lasernest.domain.contours import Pose
from lasernest.domain.cutting import SheetCut
from lasernest.domain.joints import Joint, JointKind, PanelSheet
from lasernest.domain.panels import Panel
from lasernest.domain.stock import Kerf
from lasernest.exchange.writers.dxf import write_cut_dxf
from lasernest.joints.folding import fold
from lasernest.joints.joined import Joined
from lasernest.joints.joint_proof import prove_joints
from lasernest.kerf.compensate import cut_paths
from tests.joint_kit import (
    RIGHT,
    box_joints,
    box_panels,
    edge,
    face,
    gaps_between,
    join,
    plate,
    runs_along,
    widths,
)

KERFS = [0.08, 0.2, 0.35]
THICKNESSES = [2.7, 3.05, 6.1]
INTERFERENCES = [-0.05, 0.0, 0.08, 0.15]
SIZE = (130.0, 95.0, 70.0)
FINE = 16


def cut_and_swept(
    panels: list[Panel], file: Path, kerf: float, offset_kerf: float | None = None
) -> dict[str, shapely.Polygon]:
    """Write all panels side by side, read them with GDAL, and leave what a disc leaves."""
    used = Kerf.same(kerf if offset_kerf is None else offset_kerf)
    places: dict[str, tuple[float, float]] = {}
    paths = []
    x = 10.0
    for panel in panels:
        x0, y0, x1, _ = panel.bounds_mm()
        places[panel.name] = (x - x0, 10.0 - y0)
        paths += cut_paths(panel.posed(Pose(x - x0, 10.0 - y0)), used)
        x += x1 - x0 + 10.0
    write_cut_dxf(SheetCut(x, 400.0, tuple(paths)), file)
    meta, _, geometry, fields = pyogrio.raw.read(file, layer="entities")
    layers = fields[list(meta["fields"]).index("Layer")]
    lines = [shapely.force_2d(g) for g in shapely.from_wkb(geometry)]
    rings = {
        name: [shapely.Polygon(line.coords) for line, layer in zip(lines, layers, strict=True)
               if layer == name]
        for name in ("CUT-OUTER", "CUT-INNER")
    }  # fmt: skip
    left: dict[str, shapely.Polygon] = {}
    for panel in panels:
        dx, dy = places[panel.name]
        x0, y0, *_ = panel.bounds_mm()
        (outer,) = [r for r in rings["CUT-OUTER"] if r.contains(_spot(panel, dx, dy))]
        holes = [r for r in rings["CUT-INNER"] if outer.contains(r)]
        body = outer.difference(shapely.union_all(holes)) if holes else outer
        swept = shapely.union_all(
            [r.exterior.buffer(kerf / 2, quad_segs=FINE) for r in (outer, *holes)]
        )
        left[panel.name] = translate(body.difference(swept), -dx, -dy)
    return left


def _spot(panel: Panel, dx: float, dy: float) -> shapely.Point:
    x0, y0, x1, y1 = panel.bounds_mm()
    return shapely.Point(0.5 * (x0 + x1) + dx, 0.3 * y0 + 0.7 * y1 + dy)


SIDES = {
    "bottom": lambda w, h, d: ((-9, d), (w + 9, d)),
    "top": lambda w, h, d: ((-9, h - d), (w + 9, h - d)),
    "left": lambda w, h, d: ((d, -9), (d, h + 9)),
    "right": lambda w, h, d: ((w - d, -9), (w - d, h + 9)),
}


def side_runs(left: dict, panels: dict[str, Panel], name: str, side: str, depth: float):
    w, h = panels[name].size_mm
    return runs_along(left[name], *SIDES[side](w, h, depth))


def side_of(line, panel: Panel) -> str:
    w, h = panel.size_mm
    x, y = line.middle
    return {(w / 2, 0): "bottom", (w / 2, h): "top", (0, h / 2): "left", (w, h / 2): "right"}[
        (x, y)
    ]


@pytest.mark.parametrize("interference", INTERFERENCES)
@pytest.mark.parametrize("thickness", THICKNESSES)
@pytest.mark.parametrize("kerf", KERFS)
def test_every_finger_of_a_case_exceeds_its_gap_by_the_interference(
    tmp_path: Path, kerf: float, thickness: float, interference: float
) -> None:
    panels = box_panels(*SIZE)
    joined = join(panels.values(), box_joints(panels), thickness=thickness,
                  interference=interference)  # fmt: skip
    left = cut_and_swept(list(joined.panels), tmp_path / "cut.dxf", kerf)
    compared = 0
    for joint in joined.joints:
        a, b = joint.joint.a, joint.joint.b
        runs = {}
        for line in (a, b):
            side = side_of(line, panels[line.panel])
            runs[line.panel] = side_runs(left, panels, line.panel, side, thickness / 2)
        first = joint.first
        second = b.panel if first == a.panel else a.panel
        # Along one edge fingers of the first and of the second take turns.
        gaps_first = gaps_between(runs[first])
        inner_first = runs[first][1:-1]
        gaps_second = gaps_between(runs[second])
        pairs = [(runs[second], gaps_first), (inner_first, gaps_second)]
        for fingers, gaps in pairs:
            assert len(fingers) == len(gaps)
            for finger, gap in zip(sorted(widths(fingers)), sorted(widths(gaps)), strict=True):
                assert finger - gap == pytest.approx(interference, abs=0.005)
                compared += 1
            for width in widths(fingers):
                assert width == pytest.approx(joint.width_mm + interference / 2, abs=0.005)
        _check_depths(left, panels, joint, runs, thickness)
    assert compared == sum(j.fingers - 2 for j in joined.joints)
    _check_folded_size(joined, panels, left, thickness)


def _check_depths(left, panels, joint, runs, thickness: float) -> None:
    """From the tip of a finger to the root of the gap beside it."""
    for line in (joint.joint.a, joint.joint.b):
        panel = panels[line.panel]
        side = side_of(line, panel)
        w, h = panel.size_mm
        found = runs[line.panel]
        finger = found[len(found) // 2]
        # A single finger has no gap of its panel's beside it but the notch at the corner.
        gap = (gaps_between(found) or [(9.0 + thickness, found[0][0])])[0]
        ends = []
        for start, end in (finger, gap):
            along = 0.5 * (start + end) - 9.0
            ruler = {
                "bottom": ((along, -9), (along, h / 2)),
                "top": ((along, h + 9), (along, h / 2)),
                "left": ((-9, along), (w / 2, along)),
                "right": ((w + 9, along), (w / 2, along)),
            }[side]
            ends.append(runs_along(left[line.panel], *ruler)[0][0] - 9.0)
        tip, root = ends
        assert tip == pytest.approx(0.0, abs=0.005)
        assert root - tip == pytest.approx(thickness, abs=0.005)


def _check_folded_size(joined: Joined, panels, left, thickness: float) -> None:
    folded = fold(panels, joined.joints)
    assert folded.closes
    points = np.array(
        [
            folded.stances[name].point((x, y), depth)
            for name, shape in left.items()
            for x, y in shapely.get_coordinates(shape)
            for depth in (0.0, thickness)
        ]
    )
    assert sorted(np.ptp(points, axis=0)) == pytest.approx(sorted(SIZE), abs=0.01)


@pytest.mark.parametrize("kerf", KERFS)
@pytest.mark.parametrize(("thickness", "interference"), [(2.7, 0.08), (3.05, -0.05), (6.1, 0.15)])
def test_slots_are_left_narrower_than_the_sheet_by_the_interference(
    tmp_path: Path, kerf: float, thickness: float, interference: float
) -> None:
    shelf, side = plate("shelf", 120, 90), plate("side", 200, 130)
    joint = Joint(edge(shelf, RIGHT), face(side, (70, 20), (70, 110)), JointKind.SLOT)
    joined = join([shelf, side], [joint], thickness=thickness, interference=interference)
    left = cut_and_swept(list(joined.panels), tmp_path / "cut.dxf", kerf)
    tabs = runs_along(left["shelf"], (120 - thickness / 2, -9), (120 - thickness / 2, 99))
    assert len(tabs) == joined.joints[0].fingers > 0
    for start, end in tabs:
        y = 0.5 * (start + end) - 9 + 20
        (slot,) = gaps_between(runs_along(left["side"], (0, y), (140, y)))
        assert thickness - (slot[1] - slot[0]) == pytest.approx(interference, abs=0.005)
        assert 0.5 * (slot[0] + slot[1]) == pytest.approx(70.0, abs=0.005)
        long = gaps_between(runs_along(left["side"], (70, 0), (70, 130)))
        nearest = min(long, key=lambda gap: abs(0.5 * (gap[0] + gap[1]) - y))
        assert (nearest[1] - nearest[0]) - (end - start) == pytest.approx(0.1, abs=0.005)


@pytest.mark.parametrize("offset_kerf", [0.1, 0.4])
def test_half_or_double_the_kerf_fails_the_proof_of_joints(
    tmp_path: Path, offset_kerf: float
) -> None:
    """V8 from a written file: k = 0.2, paths moved by k/4 or by k."""
    panels = box_panels(*SIZE)
    joined = join(panels.values(), box_joints(panels), interference=0.05)
    sheets = {name: PanelSheet(3.0) for name in panels}
    right = cut_and_swept(list(joined.panels), tmp_path / "right.dxf", 0.2)
    wrong = cut_and_swept(list(joined.panels), tmp_path / "wrong.dxf", 0.2, offset_kerf)
    proofs, problems = prove_joints(joined.joints, {n: [p] for n, p in right.items()}, sheets)
    assert len(proofs) == 12
    assert problems == ()
    assert all(math.isclose(p.worst_mm, 0.05, abs_tol=0.005) for p in proofs)
    proofs, problems = prove_joints(joined.joints, {n: [p] for n, p in wrong.items()}, sheets)
    assert len(problems) == 12
    error = 2 * (offset_kerf - 0.2)
    assert all(math.isclose(p.worst_mm, 0.05 + error, abs_tol=0.005) for p in proofs)
