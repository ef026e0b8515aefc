"""The DXF samples are panels one could really cut: checked with shapely, not with our readers."""

from __future__ import annotations

from pathlib import Path

import ezdxf
import ezdxf.path
import pytest
import shapely
from ezdxf.disassemble import recursive_decompose

SAMPLES = Path(__file__).resolve().parents[2] / "sample_panels"
DRAWINGS = sorted(SAMPLES.glob("*.dxf"))
MM_PER_UNIT = {0: 1.0, 1: 25.4, 4: 1.0}
"""By $INSUNITS of the published DXF reference; R12 states none."""
LEAST_WEB_MM = 1.5
_WALLS = "moth-case-walls.dxf"
_DRAWN_IN = {
    "case-wall-long": _WALLS,
    "case-wall-short": _WALLS,
    "case-back": _WALLS,
    "moth-case-front": "moth-case-front.dxf",
}
"""The others are parts of the drawer."""


def _cut_lines(path: Path) -> list[shapely.LineString]:
    document = ezdxf.readfile(path)
    factor = MM_PER_UNIT[document.header.get("$INSUNITS", 0)]
    lines = []
    for entity in recursive_decompose(document.modelspace()):
        if entity.dxf.layer in ("SCORE", "ENGRAVE", "NOTES"):
            continue
        # A thousandth of a unit from chord to curve; ends fall together when rounded.
        points = [
            (round(p.x * factor, 4), round(p.y * factor, 4))
            for p in ezdxf.path.make_path(entity).flattening(0.001)
        ]
        lines.append(shapely.LineString(points))
    return lines


@pytest.mark.parametrize("drawing", DRAWINGS, ids=lambda path: path.name)
def test_rings_are_closed_simple_and_apart(drawing: Path) -> None:
    merged = shapely.line_merge(shapely.MultiLineString(_cut_lines(drawing)))
    rings = [shapely.LinearRing(line.coords) for line in shapely.get_parts(merged)]
    assert all(line.is_closed for line in shapely.get_parts(merged))
    assert all(ring.is_simple for ring in rings)
    tree = shapely.STRtree(rings)
    for i, ring in enumerate(rings):
        near = [j for j in tree.query(ring, "dwithin", LEAST_WEB_MM) if j != i]
        assert near == [], f"{ring.bounds} lies within {LEAST_WEB_MM} mm of another"


@pytest.mark.parametrize(
    ("panel", "edge", "mate", "mate_edge"),
    [
        ("case-wall-long", "right", "case-wall-short", "left"),
        ("case-wall-long", "bottom", "case-back", "bottom"),
        ("case-wall-short", "bottom", "case-back", "left"),
        ("case-wall-long", "bottom", "moth-case-front", "bottom"),
        ("case-wall-short", "bottom", "moth-case-front", "left"),
    ],
)
def test_moth_case_edges_fill_each_other(panel: str, edge: str, mate: str, mate_edge: str) -> None:
    _assert_filled(_fingers(panel, edge), _fingers(mate, mate_edge))


def _block_outline(name: str) -> shapely.Polygon:
    drawing = _DRAWN_IN.get(name, "seed-drawer.dxf")
    block = ezdxf.readfile(SAMPLES / drawing).blocks[name]
    rings = [
        shapely.Polygon([p[:2] for p in entity.get_points("xy")])
        for entity in block.query("LWPOLYLINE[layer=='CUT']")
    ]
    return max(rings, key=lambda ring: ring.area)


@pytest.mark.parametrize(
    ("panel", "edge", "mate", "mate_edge"),
    [
        ("drawer-front", "right", "drawer-side", "left"),
        ("drawer-back", "left", "drawer-side", "right"),
        ("drawer-front", "bottom", "drawer-base", "bottom"),
        ("drawer-side", "bottom", "drawer-base", "left"),
    ],
)
def test_drawer_edges_fill_each_other(panel: str, edge: str, mate: str, mate_edge: str) -> None:
    _assert_filled(_fingers(panel, edge), _fingers(mate, mate_edge))


def _assert_filled(one: shapely.Geometry, other: shapely.Geometry) -> None:
    assert one.length > 0
    assert other.length > 0
    assert one.intersection(other).length == pytest.approx(0, abs=1e-9)
    missing_mm = max(one.bounds[2], other.bounds[2]) - one.union(other).length
    # A third panel fills the corners, one thickness each, where this edge starts with a gap.
    assert missing_mm <= 2 * 3.0 + 1e-9


def _fingers(name: str, edge: str) -> shapely.Geometry:
    """Where the outermost fingers of an edge stand, along the edge from the drawing's origin."""
    outline = _block_outline(name)
    x0, y0, x1, y1 = outline.bounds
    line = {
        "bottom": shapely.LineString([(x0, y0 + 1), (x1, y0 + 1)]),
        "left": shapely.LineString([(x0 + 1, y0), (x0 + 1, y1)]),
        "right": shapely.LineString([(x1 - 1, y0), (x1 - 1, y1)]),
    }[edge]
    standing = outline.intersection(line)
    along = 0 if edge == "bottom" else 1
    return shapely.MultiLineString(
        [
            [(part.bounds[along], 0), (part.bounds[along + 2], 0)]
            for part in getattr(standing, "geoms", [standing])
        ]
    )
