"""Our readers against other readers of the same files.

DXF: ezdxf's own loader with its block exploder and flattener, and GDAL's DXF
driver through pyogrio. SVG: svg.path for path data, fontTools for shapes and
transforms. Compared as points along the curves, so that neither side's choice
of segments matters.
"""

from __future__ import annotations

import io
import math
import random
from itertools import pairwise
from pathlib import Path

import ezdxf
import ezdxf.disassemble
import ezdxf.path
import numpy as np
import pytest
import shapely
from fontTools.pens.recordingPen import DecomposingRecordingPen
from fontTools.svgLib.path import SVGPath
from svg.path import parse_path as parse_with_svg_path

from lasernest.domain.contours import Contour
from lasernest.domain.control import QuietControl
from lasernest.domain.drawing import Drawing
from lasernest.exchange.registry import read_drawing
from lasernest.geometry.flatten import line_string
from lasernest.units import LengthUnit

CHORD_MM = 0.002


def ours(path: Path, unit: LengthUnit | None = LengthUnit.MM) -> Drawing:
    return read_drawing(path, control=QuietControl(), unit=unit)


def as_lines(drawing: Drawing) -> list[shapely.LineString]:
    return [line_string(s.path, chord_error_mm=CHORD_MM) for s in drawing.strokes]


def off(a: list[shapely.LineString], b: list[shapely.LineString]) -> float:
    """Largest distance from either set of curves to the other."""
    left, right = shapely.MultiLineString(a), shapely.MultiLineString(b)
    dense = [shapely.segmentize(g, 0.5) for g in (left, right)]
    there = shapely.distance(right, shapely.points(shapely.get_coordinates(dense[0])))
    back = shapely.distance(left, shapely.points(shapely.get_coordinates(dense[1])))
    return float(np.concatenate([there, back]).max())


def by_ezdxf(path: Path) -> list[shapely.LineString]:
    doc = ezdxf.readfile(path)
    lines = []
    for entity in ezdxf.disassemble.recursive_decompose(doc.modelspace()):
        if entity.dxftype() in ("TEXT", "POINT", "INSERT"):
            continue
        points = [p.vec2 for p in ezdxf.path.make_path(entity).flattening(CHORD_MM)]
        lines.append(shapely.LineString([(p.x, p.y) for p in points]))
    return lines


def draw_many_kinds(path: Path, version: str, seed: int) -> None:
    rng = random.Random(seed)
    doc = ezdxf.new(version, units=4)
    leaf = doc.blocks.new("LEAF", base_point=(2, 1))
    node = doc.blocks.new("NODE")

    def fill(space, count: int) -> None:  # type: ignore[no-untyped-def]
        for _ in range(count):
            x, y = rng.uniform(-50, 50), rng.uniform(-50, 50)
            space.add_line((x, y), (x + rng.uniform(1, 20), y))
            extrusion = rng.choice([(0, 0, 1), (0, 0, -1)])
            space.add_arc(
                (x, y),
                rng.uniform(1, 15),
                rng.uniform(0, 360),
                rng.uniform(0, 360),
                dxfattribs={"extrusion": extrusion},
            )
            space.add_circle((x, y), rng.uniform(1, 9), dxfattribs={"extrusion": extrusion})
            corners = [
                (
                    x + rng.uniform(-9, 9),
                    y + rng.uniform(-9, 9),
                    rng.choice([0, 0, rng.uniform(-2, 2)]),
                )
                for _ in range(5)
            ]
            closed = rng.random() < 0.5
            space.add_polyline2d(corners, format="xyb", close=closed)
            if version == "R12":
                continue
            space.add_lwpolyline(
                corners, format="xyb", close=closed, dxfattribs={"extrusion": extrusion}
            )
            angle = rng.uniform(0, 6)
            major = (12 * math.cos(angle), 12 * math.sin(angle))
            space.add_ellipse(
                (x, y), major, rng.uniform(0.2, 1), rng.uniform(0, 3), rng.uniform(3, 6)
            )
            bent = [(x + 6 * k, y + rng.uniform(0, 9), 0) for k in range(6)]
            space.add_open_spline(bent, degree=rng.choice([2, 3, 4]))
            space.add_spline(bent)
            space.add_rational_spline(bent, [rng.uniform(0.5, 3) for _ in bent])

    fill(leaf, 1)
    fill(node, 1)
    node.add_blockref("LEAF", (20, 5), dxfattribs={"rotation": 33, "xscale": -1})
    node.add_blockref("LEAF", (-20, 5), dxfattribs={"xscale": 2, "yscale": 0.5, "rotation": 10})
    space = doc.modelspace()
    fill(space, 2)
    space.add_blockref("NODE", (300, 0), dxfattribs={"xscale": 1.5, "yscale": 1.5, "rotation": 120})
    space.add_blockref("NODE", (600, 0), dxfattribs={"extrusion": (0, 0, -1)})
    doc.saveas(path)


@pytest.mark.parametrize("version", ["R12", "R2000", "R2018"])
@pytest.mark.parametrize("seed", range(4))
def test_dxf_agrees_with_ezdxf(tmp_path: Path, version: str, seed: int) -> None:
    path = tmp_path / "many.dxf"
    draw_many_kinds(path, version, seed)
    drawing = ours(path)
    theirs = by_ezdxf(path)
    # ezdxf takes polylines apart where their block is scaled unevenly.
    assert 0 < len(drawing.strokes) <= len(theirs)
    # ezdxf goes through cubic curves: up to 2.7253e-4 of the radius (trade-facts trap 7).
    largest = 15 * 3 * (1 + 4) / 2
    assert off(as_lines(drawing), theirs) < 0.01 + 2 * CHORD_MM + 2.7253e-4 * largest


def by_gdal(path: Path) -> list[shapely.LineString]:
    pyogrio = pytest.importorskip("pyogrio")
    _, _, geometries, _ = pyogrio.raw.read(path)
    lines = []
    for wkb in geometries:
        shape = shapely.force_2d(shapely.from_wkb(wkb))
        parts = shapely.get_parts(shape)
        lines += [p.exterior if p.geom_type == "Polygon" else p for p in parts]
    return [shapely.LineString(p.coords) for p in lines if p.geom_type.endswith(("String", "Ring"))]


@pytest.mark.parametrize("seed", range(3))
def test_dxf_agrees_with_gdal(tmp_path: Path, monkeypatch: pytest.MonkeyPatch, seed: int) -> None:
    monkeypatch.setenv("OGR_ARC_STEPSIZE", "0.5")
    rng = random.Random(seed)
    doc = ezdxf.new("R2010", units=4)
    block = doc.blocks.new("B")
    for space in (doc.modelspace(), block):
        for _ in range(4):
            x, y = rng.uniform(0, 90), rng.uniform(0, 90)
            space.add_circle((x, y), rng.uniform(2, 9))
            space.add_arc((x, y), rng.uniform(2, 9), rng.uniform(0, 180), rng.uniform(190, 350))
            space.add_lwpolyline(
                [(x, y, 0.4), (x + 9, y, 0), (x + 9, y + 7, -0.6)], format="xyb", close=True
            )
            space.add_ellipse((x, y), (8, 3), 0.5)
    doc.modelspace().add_blockref("B", (200, 0), dxfattribs={"rotation": 25, "xscale": -1})
    path = tmp_path / "gdal.dxf"
    doc.saveas(path)
    theirs = by_gdal(path)
    drawing = ours(path)
    assert len(theirs) == len(drawing.strokes)
    # Half a degree of arc leaves r (1 - cos(0.25 degrees)), below 1e-4 mm here.
    assert off(as_lines(drawing), theirs) < 0.01 + CHORD_MM + 1e-3


def sampled_by_svg_path(d: str) -> list[shapely.LineString]:
    lines: list[list[complex]] = []
    for segment in parse_with_svg_path(d):
        name = type(segment).__name__
        if name == "Move":
            lines.append([segment.end])
            continue
        steps = 1 if name in ("Line", "Close") else 400
        points = [segment.point(k / steps) for k in range(1, steps + 1)]
        if lines[-1][-1] != segment.start:
            lines.append([segment.start])
        lines[-1] += points
    drawn = [line for line in lines if len(set(line)) > 1]
    return [shapely.LineString([(p.real, p.imag) for p in line]) for line in drawn]


def random_path(rng: random.Random) -> str:
    words = [f"M{rng.uniform(0, 90):.3f},{rng.uniform(0, 90):.3f}"]
    for _ in range(12):
        command = rng.choice("LlHhVvCcSsQqTtAaMZ")
        n = [
            f"{rng.uniform(0, 90) if command.isupper() else rng.uniform(-30, 30):.3f}"
            for _ in range(6)
        ]
        if command.upper() == "A":
            flags = f"{rng.randint(0, 1)} {rng.randint(0, 1)}"
            words.append(
                f"{command}{rng.uniform(1, 40):.2f} {rng.uniform(1, 40):.2f} "
                f"{rng.uniform(-90, 90):.1f} {flags} {n[0]} {n[1]}"
            )
        else:
            count = {"H": 1, "V": 1, "C": 6, "S": 4, "Q": 4, "Z": 0}.get(command.upper(), 2)
            words.append(command + " ".join(n[:count]))
    return " ".join(words)


@pytest.mark.parametrize("seed", range(25))
def test_svg_path_data_agrees_with_svg_path(tmp_path: Path, seed: int) -> None:
    d = random_path(random.Random(seed))
    path = tmp_path / "p.svg"
    path.write_text(
        f'<svg xmlns="http://www.w3.org/2000/svg" width="90mm" height="90mm" '
        f'viewBox="0 0 90 90"><path d="{d}" fill="none" stroke="#000"/></svg>'
    )
    flipped = [
        shapely.transform(line, lambda xy: np.column_stack([xy[:, 0], 90.0 - xy[:, 1]]))
        for line in sampled_by_svg_path(d)
    ]
    assert off(as_lines(ours(path, None)), flipped) < 0.012 + CHORD_MM


def sampled_by_fonttools(text: str) -> list[shapely.LineString]:
    pen = DecomposingRecordingPen({})
    SVGPath.fromstring(text.encode()).draw(pen)
    lines: list[list[tuple[float, float]]] = []
    for name, points in pen.value:
        if name == "moveTo":
            lines.append([points[0]])
        elif name == "lineTo":
            lines[-1].append(points[0])
        elif name in ("curveTo", "qCurveTo"):
            control = [complex(*lines[-1][-1]), *(complex(*p) for p in points)]
            lines[-1] += [_bezier(control, k / 100) for k in range(1, 101)]
        elif name == "closePath":
            lines[-1].append(lines[-1][0])
    return [shapely.LineString(line) for line in lines if len(line) > 1]


def _bezier(control: list[complex], t: float) -> tuple[float, float]:
    while len(control) > 1:
        control = [a + t * (b - a) for a, b in pairwise(control)]
    return (control[0].real, control[0].imag)


def test_svg_shapes_and_transforms_agree_with_fonttools(tmp_path: Path) -> None:
    body = (
        '<rect transform="matrix(0.94 0.342 -0.342 0.94 40 30)" width="20" height="12" rx="3"/>'
        '<circle transform="matrix(1.2 0 0 1.2 0 0)" cx="30" cy="14" r="6"/>'
        '<circle transform="matrix(1.5 0 0.3 0.7 0 0)" cx="10" cy="40" r="9"/>'
        '<polygon points="0,60 10,60 5,70"/><polyline points="1,1 20,3 40,1"/>'
        '<path transform="matrix(0 1 -1 0 90 10)" d="M0 0 C 5 9 12 -4 20 6 Q 25 20 10 22 Z"/>'
    )
    # fontTools knows transforms of the element itself, and no viewBox.
    text = (
        '<svg xmlns="http://www.w3.org/2000/svg" width="90mm" height="90mm" '
        f'viewBox="0 0 90 90" fill="none" stroke="#000">{body}</svg>'
    )
    path = tmp_path / "s.svg"
    path.write_text(text)
    flipped = [
        shapely.transform(line, lambda xy: np.column_stack([xy[:, 0], 90.0 - xy[:, 1]]))
        for line in sampled_by_fonttools(text)
    ]
    drawing = ours(path, None)
    assert len(drawing.strokes) == len(flipped) == 6
    assert off(as_lines(drawing), flipped) < 0.012 + CHORD_MM + 2.7253e-4 * 15


def test_an_independent_writer_in_memory_reads_the_same_as_from_disk(tmp_path: Path) -> None:
    doc = ezdxf.new("R2010", units=4)
    doc.modelspace().add_circle((1, 2), 30)
    stream = io.StringIO()
    doc.write(stream)
    path = tmp_path / "c.dxf"
    path.write_text(stream.getvalue())
    (stroke,) = ours(path).strokes
    assert stroke.path == Contour.circle(1.0, 2.0, 30.0)
