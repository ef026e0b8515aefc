"""Generated panels through the whole way: compensated, written, read by others, proved."""

from __future__ import annotations

import io
import math
from pathlib import Path
from tempfile import TemporaryDirectory

import ezdxf
import numpy as np
import pyogrio.raw
import pytest
import shapely
from hypothesis import assume, event, given, settings
from hypothesis import strategies as st

from lasernest.domain.contours import Contour, Pose
from lasernest.domain.control import QuietControl
from lasernest.domain.cutting import CutPath, MachineProfile, PathKind, SheetCut
from lasernest.domain.panels import Panel
from lasernest.domain.stock import Kerf
from lasernest.errors import VanishedContourError
from lasernest.exchange.writers.dxf import cut_dxf, write_cut_dxf
from lasernest.exchange.writers.svg import cut_svg
from lasernest.geometry.distances import distances_to_contours
from lasernest.kerf.proof import prove
from lasernest.services.cutting import read_cut_file
from tests.cut_kit import lines_of, posed_sheet
from tests.properties.strategies import notched_contours, star_contours
from tests.svg_kit import shapes_of

CONTOURS = st.one_of(star_contours(), notched_contours())
KERFS = st.sampled_from([0.05, 0.1, 0.2, 0.37, 0.6])
MICROMETRE = 1e-3


@st.composite
def panels(draw: st.DrawFn) -> Panel:
    """An outline with a hole of the same family where one fits."""
    outer = draw(CONTOURS)
    hole = draw(st.one_of(st.none(), star_contours(most_corners=6)))
    if hole is None:
        return Panel.of("p", outer)
    box = outer.bounds_mm()
    scale = 0.3 * min(box[2] - box[0], box[3] - box[1]) / max(map(abs, hole.bounds_mm()))
    x0, y0 = shapely.point_on_surface(_polygon(outer)).coords[0]
    small = Contour(
        tuple(v._replace(x_mm=scale * v.x_mm + x0, y_mm=scale * v.y_mm + y0) for v in hole.vertices)
    )
    fits = _polygon(outer).buffer(-0.2).contains(_polygon(small)) and _polygon(small).area > 0.5
    return Panel.of("p", outer, [small] if fits else [])


def _polygon(contour: Contour) -> shapely.Polygon:
    from lasernest.geometry.flatten import ring_polygon

    return ring_polygon(contour, chord_error_mm=0.01)


@settings(deadline=None, max_examples=120)
@given(panels(), KERFS, st.sampled_from([0.0, 90.0, 33.3]), st.booleans())
def test_what_is_not_refused_is_cut_true(
    panel: Panel, kerf_mm: float, turn: float, mirrored: bool
) -> None:
    kerf = Kerf.same(kerf_mm)
    pose = Pose(200.0, 200.0, turn, mirrored)
    try:
        cut, expected = posed_sheet([(panel, pose)], kerf)
    except VanishedContourError:
        event("refused: the beam does not fit in")
        return
    proof = prove(lines_of(cut), width_mm=600, height_mm=400, expected=expected, kerf=kerf)
    assert proof.problems == ()
    assert proof.max_deviation_mm <= 0.005


@settings(deadline=None, max_examples=60)
@given(panels(), st.sampled_from([0.1, 0.2, 0.37]), st.sampled_from([0.5, 0.0, 2.0]))
def test_wrong_compensation_is_never_called_good(
    panel: Panel, kerf_mm: float, factor: float
) -> None:
    kerf = Kerf.same(kerf_mm)
    try:
        cut, expected = posed_sheet([(panel, Pose(200, 200))], Kerf.same(factor * kerf_mm))
    except VanishedContourError:
        assume(False)
    proof = prove(lines_of(cut), width_mm=600, height_mm=400, expected=expected, kerf=kerf)
    assert not proof.passed


def sheet_of(contours: list[Contour]) -> SheetCut:
    paths = tuple(
        CutPath(
            PathKind.CUT_OUTER, contour.posed(Pose(60.0 + 90.0 * i, 60.0, 11.0 * i)), "p", i + 1
        )
        for i, contour in enumerate(contours)
    )
    return SheetCut(600, 400, paths)


@settings(deadline=None, max_examples=40)
@given(st.lists(CONTOURS, min_size=1, max_size=5), st.sampled_from(["R12", "R2000", "R2010"]))
def test_dxf_round_trips(contours: list[Contour], version: str) -> None:  # X10
    cut = sheet_of(contours)
    given_paths = [path.path for path in cut.paths]
    with TemporaryDirectory() as folder:
        file = Path(folder) / "cut.dxf"
        write_cut_dxf(cut, file, version=version)
        meta, _, geometry, fields = pyogrio.raw.read(file, layer="entities")
        ours = read_cut_file(file, profile=MachineProfile(), control=QuietControl())
    # GDAL: the same number of rings, its points on our lines and arcs, our corners among them
    layers = fields[list(meta["fields"]).index("Layer")]
    rings = shapely.force_2d(shapely.from_wkb(geometry[layers == "CUT-OUTER"]))
    assert len(rings) == len(given_paths)
    points = [shapely.get_coordinates(ring) for ring in rings]
    for off in distances_to_contours(points, given_paths):
        assert off.max() < MICROMETRE
    for ring, contour in zip(rings, given_paths, strict=True):
        corners = shapely.points([v[:2] for v in contour.vertices])
        assert contour.as_circle() or shapely.distance(corners, ring).max() < MICROMETRE
    # our own reader: the same lines and arcs
    assert len(ours) == len(given_paths)
    for (_, back), contour in zip(ours, given_paths, strict=True):
        assert back.length_mm == pytest.approx(contour.length_mm, abs=MICROMETRE)
        assert back.signed_area_mm2 == pytest.approx(contour.signed_area_mm2, abs=1e-4)
        assert len(back.vertices) == len(contour.vertices)
    # ezdxf: vertices and bulges one by one
    document = ezdxf.read(io.StringIO(cut_dxf(cut, version=version).decode("cp1252")))
    entities = document.modelspace().query("*[layer=='CUT-OUTER']")
    for entity, contour in zip(entities, given_paths, strict=True):
        if entity.dxftype() == "LWPOLYLINE":
            read = np.array(list(entity.get_points("xyb")))
        elif entity.dxftype() == "POLYLINE":
            read = np.array([(*v.dxf.location.vec2, v.dxf.bulge) for v in entity.vertices])
        else:
            continue
        assert np.abs(read - np.array(contour.vertices)).max() < 1e-6


@settings(deadline=None, max_examples=40)
@given(st.lists(CONTOURS, min_size=1, max_size=5))
def test_svg_round_trips(contours: list[Contour]) -> None:
    cut = sheet_of(contours)
    _, *shapes = shapes_of(cut_svg(cut))
    assert len(shapes) == len(cut.paths)
    for shape, path in zip(shapes, cut.paths, strict=True):
        expected = [
            s.point_at(share) for s in path.path.segments() for share in (0.0, 0.25, 0.5, 0.75)
        ]
        assert shape.closed
        for (x, y), (px, py) in zip(shape.points, expected, strict=True):
            assert math.hypot(x - px, y - py) < MICROMETRE
