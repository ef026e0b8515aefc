"""Draws the files of this folder: one or more for each of ten import situations.

Run `python tests/situations/draw.py` after a change here; the files are kept,
so that a test reads what is on the disk. All parts are invented.
"""

from __future__ import annotations

import math
from itertools import pairwise
from pathlib import Path

HERE = Path(__file__).parent

HEADER = {"mm": 4, "in": 1, "m": 6, "none": None}


def dxf(
    *entities: str,
    unit: str = "mm",
    metric: int | None = None,
    layers: tuple[tuple[str, int, int], ...] = (),
    version: str = "AC1015",
) -> str:
    """A text DXF; layers are name, colour (below zero: off) and flags (1: frozen)."""
    header = f"9\n$ACADVER\n1\n{version}\n"
    if HEADER[unit] is not None:
        header += f"9\n$INSUNITS\n70\n{HEADER[unit]}\n"
    if metric is not None:
        header += f"9\n$MEASUREMENT\n70\n{metric}\n"
    text = f"0\nSECTION\n2\nHEADER\n{header}0\nENDSEC\n"
    if layers:
        rows = "".join(f"0\nLAYER\n2\n{n}\n70\n{f}\n62\n{c}\n6\nCONTINUOUS\n" for n, c, f in layers)
        text += f"0\nSECTION\n2\nTABLES\n0\nTABLE\n2\nLAYER\n{rows}0\nENDTAB\n0\nENDSEC\n"
    return text + f"0\nSECTION\n2\nENTITIES\n{''.join(entities)}0\nENDSEC\n0\nEOF\n"


def line(x0: float, y0: float, x1: float, y1: float, layer: str = "0") -> str:
    return f"0\nLINE\n8\n{layer}\n10\n{x0}\n20\n{y0}\n11\n{x1}\n21\n{y1}\n"


def circle(x: float, y: float, r: float, layer: str = "0") -> str:
    return f"0\nCIRCLE\n8\n{layer}\n10\n{x}\n20\n{y}\n40\n{r}\n"


def run(*points: tuple[float, float], closed: bool = False, layer: str = "0") -> str:
    corners = "".join(f"10\n{x}\n20\n{y}\n" for x, y in points)
    return f"0\nLWPOLYLINE\n8\n{layer}\n90\n{len(points)}\n70\n{int(closed)}\n{corners}"


def box(x: float, y: float, w: float, h: float, layer: str = "0") -> str:
    return run((x, y), (x + w, y), (x + w, y + h), (x, y + h), closed=True, layer=layer)


def box_of_lines(x: float, y: float, w: float, h: float) -> list[str]:
    corners = [(x, y), (x + w, y), (x + w, y + h), (x, y + h), (x, y)]
    return [line(*a, *b) for a, b in pairwise(corners)]


def text(x: float, y: float, words: str, layer: str = "0") -> str:
    return f"0\nTEXT\n8\n{layer}\n10\n{x}\n20\n{y}\n40\n5\n1\n{words}\n"


def svg(body: str, attributes: str) -> str:
    return f'<svg xmlns="http://www.w3.org/2000/svg" {attributes}>\n{body}\n</svg>\n'


def in_mm(body: str, width: int = 200, height: int = 100) -> str:
    return svg(body, f'width="{width}mm" height="{height}mm" viewBox="0 0 {width} {height}"')


def write(name: str, data: str | bytes) -> None:
    path = HERE / name
    path.write_bytes(data.encode() if isinstance(data, str) else data)


def draw_units() -> None:
    frame = [box(0, 0, 630, 410), box(40, 40, 550, 330)]
    write("01-inch-header-over-millimetres.dxf", dxf(*frame, unit="in", metric=1))
    write("01-metre-header-of-a-library.dxf", dxf(*frame, unit="m"))
    write("01-no-unit.dxf", dxf(*frame, unit="none", version="AC1009"))
    shapes = '<path d="M0,0 H288 V192 H0 Z"/><circle cx="96" cy="96" r="24"/>'
    write("02-only-a-viewbox.svg", svg(shapes, 'viewBox="0 0 288 192"'))
    editor = 'xmlns:i="http://www.inkscape.org/namespaces/inkscape" i:version="0.48.5 r10040" '
    write("02-pixels-of-an-old-editor.svg", svg(shapes, editor + 'width="288" height="192"'))


def draw_mends() -> None:
    past = run((0, 0), (80, 0), (80, 50), (0, 50), (0, 0), (30, 0))
    back = run((100, 0), (180, 0), (180, 50), (100, 50), (100, 20), (100, 50), (100, 0))
    short = [box(200, 0, 80, 50), line(220, 0, 250, 0)]
    write("03-past-the-start-and-back.dxf", dxf(past, back, *short))
    shared = [
        *box_of_lines(0, 0, 40, 30),
        *[line(40, 0, 90, 0), line(90, 0, 90, 30), line(90, 30, 40, 30)],
        line(0, 60, 100, 60),
        run((0, 60), (0, 90), (45, 90), (45, 60)),
        run((55, 60), (55, 85), (100, 85), (100, 60)),
        box(150, 0, 60, 40),
        run((165, 40), (165, 48), (195, 48), (195, 40)),
    ]
    write("06-neighbours-share-edges.dxf", dxf(*shared))
    plate = box_of_lines(0, 0, 100, 60)
    holes = [circle(20, 30, 4), circle(80, 30, 4)]
    write("07-drawn-twice.dxf", dxf(*plate, *plate, *holes, *holes))
    pen = (
        '<path fill-rule="evenodd" d="M10,10 H90 V60 H10 Z M10.15,10.15 V59.85 H89.85 V10.15 Z"/>'
        '<circle cx="50" cy="35" r="8.15"/><circle cx="50" cy="35" r="8"/>'
    )
    write("07-outlines-as-pen-width.svg", in_mm(pen))


def draw_layers() -> None:
    layers = (("FRONT", 1, 0), ("BACK", 3, 1), ("SHELF", -5, 0), ("CONSTRUCTION", 8, 0))
    parts = [
        box(0, 0, 120, 80, "FRONT"),
        circle(30, 40, 10, "FRONT"),
        box(0, 0, 120, 80, "BACK"),
        circle(60, 40, 25, "BACK"),
        circle(100, 20, 3, "BACK"),
        box(-5, 10, 130, 60, "SHELF"),
        box(20, 20, 10, 3, "SHELF"),
        line(-50, 40, 170, 40, "CONSTRUCTION"),
        line(60, -50, 60, 130, "CONSTRUCTION"),
    ]
    write("04-one-part-per-layer.dxf", dxf(*parts, layers=layers))
    write(
        "04-everything-hidden.dxf",
        dxf(box(0, 0, 120, 80, "BACK"), layers=(("BACK", 3, 1),)),
    )
    sheet = [box(0, 0, 600, 400)]
    for column in range(3):
        x = 20 + 190 * column
        sheet += [box(x, 20, 170, 160), circle(x + 85, 100, 40), box(x, 220, 170, 150)]
    write("05-rectangle-around-everything.dxf", dxf(*sheet))


def draw_lines() -> None:
    cross = [line(45, 30, 55, 30), line(50, 25, 50, 35)]
    drawing = [
        box(0, 0, 100, 60),
        circle(50, 30, 12),
        *cross,
        line(25, 5, 25, 55),
        line(0, 75, 100, 75),
        text(5, 5, "LID"),
        text(60, 5, "3 mm"),
        "0\nDIMENSION\n8\n0\n2\n*D1\n10\n100\n20\n80\n70\n32\n",
        "0\nHATCH\n8\n0\n10\n0\n20\n0\n2\nSOLID\n70\n1\n71\n0\n91\n0\n",
        "0\nIMAGE\n8\n0\n10\n0\n20\n0\n",
        "0\nPOINT\n8\n0\n10\n1\n20\n1\n",
        "0\nSOLID\n8\n0\n10\n0\n20\n0\n11\n1\n21\n0\n12\n0\n22\n1\n13\n1\n23\n1\n",
    ]
    write("08-lines-that-are-no-contours.dxf", dxf(*drawing))
    colours = (
        '<g fill="none"><rect x="10" y="10" width="80" height="60" stroke="#ff0000"/>'
        '<path d="M20,40 H80" stroke="#0000ff"/><circle cx="50" cy="25" r="6" stroke="#00ff00"/>'
        '</g><text x="20" y="60">A</text>'
        '<defs><marker id="m"><path d="M0,0 L5,5"/></marker>'
        '<pattern id="p"><rect width="3" height="3"/></pattern></defs>'
        '<g style="display:none"><rect width="5" height="5"/></g>'
    )
    write("08-colours-as-operations.svg", in_mm(colours))
    ring = [circle(60, 60, 60), circle(60, 60, 45), circle(60, 60, 30), circle(60, 60, 5)]
    letter = [
        run((150, 10), (170, 10), (170, 45), (150, 45), closed=True),
        box(155, 15, 8, 8),
        box(155, 30, 8, 8),
    ]
    write("09-parts-inside-holes.dxf", dxf(*ring, box(140, 0, 40, 60), *letter))


def draw_encodings() -> None:
    plate = [box(0, 0, 100, 60), circle(50, 30, 10), *box_of_lines(120, 0, 40, 30)]
    good = dxf(*plate)
    odd = (
        "0\nLINE\n21\n0.0\n11\n40.0\n20\n0.0\n10\n0.0\n8\n0\n"
        "0\nLINE\n8\n0\n10\n40.0\n11\n40.0\n20\n0.0\n21\n25.0\n"
        "0\nLINE\n11\n0.0\n21\n25.0\n10\n40.0\n20\n25.0\n8\n0\n"
        "0\nLINE\n20\n25.0\n10\n0.0\n21\n0.0\n11\n0.0\n8\n0\n"
    )
    write("10-accept-unusual-group-order.dxf", dxf(odd))
    write("10-accept-carriage-returns.dxf", good.replace("\n", "\r"))
    write("10-accept-old-version-tag.dxf", dxf(*plate, version="AC1009"))
    write(
        "10-accept-reversed-extrusion.dxf",
        dxf(
            "0\nARC\n8\n0\n10\n-50\n20\n0\n40\n20\n50\n0\n51\n180\n210\n0\n220\n0\n230\n-1\n",
            line(30, 0, 70, 0),
        ),
    )
    frame = [(0, 0), (60, 0), (60, 60), (0, 60)]
    fitted = [
        (30 + 25 * math.cos(k * math.pi / 8), 30 + 25 * math.sin(k * math.pi / 8))
        for k in range(16)
    ]
    vertices = "".join(
        f"0\nVERTEX\n8\n0\n10\n{x:.6f}\n20\n{y:.6f}\n70\n{flag}\n"
        for flag, points in ((16, frame), (8, fitted))
        for x, y in points
    )
    write(
        "10-accept-spline-fit-polyline.dxf",
        dxf(f"0\nPOLYLINE\n8\n0\n66\n1\n70\n5\n{vertices}0\nSEQEND\n"),
    )
    spline = (
        "0\nSECTION\n2\nENTITIES\n0\nSPLINE\n8\n0\n71\n2\n"
        + "".join(f"40\n{k}\n" for k in (0, 0, 0, 1, 1, 1))
        + "10\n0\n20\n0\n10\n40\n20\n60\n10\n80\n20\n0\n"
        + line(80, 0, 0, 0)
        + "0\nENDSEC\n0\nEOF\n"
    )
    write("10-accept-spline-without-header.dxf", spline)
    loop = '<g id="a"><rect x="10" y="10" width="50" height="30"/><use href="#a" x="9"/></g>'
    write("10-accept-use-of-itself.svg", in_mm(loop))
    write(
        "10-repair-empty-whole-number.dxf",
        good.replace("CIRCLE\n8\n0\n", "CIRCLE\n8\n0\n62\n\n"),
    )
    write("10-repair-missing-end-marker.dxf", good.removesuffix("0\nEOF\n"))
    write("10-refuse-cut-off-midway.dxf", good[: len(good) * 3 // 5])
    lines = good.split("\n")
    del lines[lines.index("CIRCLE")]
    write("10-refuse-shifted-groups.dxf", "\n".join(lines))
    write("10-refuse-not-a-number.dxf", good.replace("\n10\n50\n", "\n10\nnan\n"))
    write("10-refuse-decimal-commas.dxf", good.replace("\n10\n50\n", "\n10\n50,25\n"))
    write("10-refuse-nul-bytes.dxf", good.encode().replace(b"\n40\n10\n", b"\n40\n\x00\x00\n"))
    write("10-refuse-web-page.dxf", "<!doctype html>\n<html><body>Not found</body></html>\n")
    write("10-refuse-picture.svg", b"\x89PNG\r\n\x1a\n\x00\x00\x00\rIHDR")
    bomb = '<!DOCTYPE svg [<!ENTITY a "lollollol"><!ENTITY b "&a;&a;&a;&a;">]>\n'
    write("10-refuse-entities.svg", bomb + in_mm("<text>&b;</text>"))
    write("10-refuse-cut-off.svg", in_mm('<rect x="10" y="10" width="50" height="30"/>')[:-30])
    write("10-refuse-path-not-a-number.svg", in_mm('<path d="M0 0 L50 NaN L50 50 Z"/>'))


if __name__ == "__main__":
    draw_units()
    draw_mends()
    draw_layers()
    draw_lines()
    draw_encodings()
