"""The form of cut files: units, layers, versions, true arcs, few vertices, order of work."""

from __future__ import annotations

import math
from pathlib import Path

import ezdxf
import pytest
from ezdxf.disassemble import recursive_decompose

LINES_AND_ARCS = (
    "seed-drawer.dxf",
    "seed-cabinet-sides.dxf",
    "seed-cabinet-shelves.dxf",
    "seed-cabinet-top-and-back.dxf",
    "label-plates.dxf",
    "station-louvres.dxf",
    "station-base-plate.dxf",
    "clock-dial.dxf",
)
QUARTER = math.tan(math.radians(90) / 4)


def _tags(path: Path) -> list[tuple[int, str]]:
    """Group codes and values of a DXF file, by the published form: two lines each."""
    lines = path.read_text("cp1252").splitlines()
    return [(int(code), value.strip()) for code, value in zip(lines[::2], lines[1::2], strict=True)]


def _header(tags: list[tuple[int, str]], name: str) -> str:
    return tags[tags.index((9, name)) + 1][1]


def _sheet(lasernest, tmp_path: Path, *words: object) -> Path:
    out = tmp_path / "cut.dxf"
    done = lasernest("sheet", *words, "--sheet", "600x400", "--out", out)
    assert done.code == 0, done.err
    return out


def test_header_says_millimetres(lasernest, draw, tmp_path: Path) -> None:
    drawing = draw("plate.dxf", [(0, 0), (100, 0), (100, 60), (0, 60)])
    tags = _tags(_sheet(lasernest, tmp_path, drawing, "--kerf", "0.2"))
    assert _header(tags, "$ACADVER") == "AC1015"
    assert _header(tags, "$INSUNITS") == "4"
    assert _header(tags, "$MEASUREMENT") == "1"
    at = tags.index((9, "$EXTMAX"))
    assert [float(value) for _, value in tags[at + 1 : at + 3]] == pytest.approx([600, 400])


def test_old_version_on_request(lasernest, draw, tmp_path: Path) -> None:
    drawing = draw("plate.dxf", [(0, 0), (100, 0), (100, 60), (0, 60)], circles=((50, 30, 5),))
    cut = _sheet(lasernest, tmp_path, drawing, "--kerf", "0.2", "--dxf-version", "R12")
    tags = _tags(cut)
    assert _header(tags, "$ACADVER") == "AC1009"
    kinds = {value for code, value in tags if code == 0}
    assert "POLYLINE" in kinds
    assert not kinds & {"LWPOLYLINE", "SPLINE", "ELLIPSE"}  # R12 has none of them


def test_layers_and_order_of_work(lasernest, tmp_path: Path, sample_panels: Path) -> None:
    cut = _sheet(lasernest, tmp_path, sample_panels / "seed-drawer.dxf", "--kerf", "0.2")
    layers = [entity.dxf.layer for entity in ezdxf.readfile(cut).modelspace()]
    assert set(layers) <= {"SHEET", "SCORE", "ENGRAVE", "CUT-INNER", "CUT-OUTER"}
    work = [layer for layer in layers if layer != "SHEET"]
    marks_end = max(i for i, layer in enumerate(work) if layer == "SCORE")
    assert marks_end < min(i for i, layer in enumerate(work) if layer.startswith("CUT"))
    # Four panels in the file, the front with a window, the back with a hole, the base with three.
    assert (work.count("CUT-OUTER"), work.count("CUT-INNER")) == (4, 5)


def test_arcs_stay_arcs_and_circles_circles(lasernest, draw, tmp_path: Path) -> None:
    r, b = 8, QUARTER
    ring = [(r, 0), (100 - r, 0, b), (100, r), (100, 60 - r, b)]
    ring += [(100 - r, 60), (r, 60, b), (0, 60 - r), (0, r, b)]
    drawing = draw("plate.dxf", ring, circles=((50, 30, 5),))
    space = ezdxf.readfile(_sheet(lasernest, tmp_path, drawing, "--kerf", "0.2")).modelspace()
    (circle,) = space.query("CIRCLE")
    assert circle.dxf.radius == pytest.approx(4.9, abs=1e-6)
    (outline,) = space.query("LWPOLYLINE[layer=='CUT-OUTER']")
    corners = list(outline.get_points("xyb"))
    radii = [
        math.dist(a[:2], c[:2]) * (1 + a[2] ** 2) / (4 * abs(a[2]))
        for a, c in zip(corners, corners[1:] + corners[:1], strict=True)
        if a[2]
    ]
    assert radii == pytest.approx([8.1] * 4, abs=1e-6)


@pytest.mark.parametrize("name", LINES_AND_ARCS)
def test_few_vertices(lasernest, tmp_path: Path, sample_panels: Path, name: str) -> None:
    drawing = sample_panels / name
    cut = _sheet(lasernest, tmp_path, drawing, "--kerf", "0.2")
    into = _vertices(drawing)
    out = _vertices(cut)
    assert 0 < out <= 1.2 * into


def _vertices(path: Path) -> int:
    """Corners of all cut and marked lines, a circle counted as the two of its half arcs."""
    count = 0
    for entity in recursive_decompose(ezdxf.readfile(path).modelspace()):
        kind = entity.dxftype()
        if entity.dxf.layer in ("SHEET", "NOTES"):
            continue
        if kind in ("LWPOLYLINE", "POLYLINE"):
            count += len(entity)
        elif kind in ("LINE", "ARC"):
            count += 1  # shares its other end with a neighbour
        elif kind == "CIRCLE":
            count += 2
        else:
            raise AssertionError(f"{kind} in {path.name}")
    return count


def test_several_sheets_get_numbers(lasernest, draw, tmp_path: Path) -> None:
    drawing = draw("plate.dxf", [(0, 0), (300, 0), (300, 200), (0, 200)])
    out = tmp_path / "cut.dxf"
    report = lasernest(
        "sheet",
        drawing,
        "--sheet",
        "400x300",
        "--kerf",
        "0.2",
        "--copies",
        2,
        "--out",
        out,
        "--json",
    ).json
    assert sorted(path.name for path in tmp_path.glob("cut*")) == ["cut-1.dxf", "cut-2.dxf"]
    assert [Path(sheet["file"]).name for sheet in report["sheets"]] == ["cut-1.dxf", "cut-2.dxf"]
