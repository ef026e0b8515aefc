"""Drawings with one flaw each, as they reach a workshop; every one is told apart in words."""

from __future__ import annotations

from making.cabinet import seed_drawer
from making.dxf import METRE, DxfPen
from making.shapes import rectangle, rounded


def gap_in_outline() -> str:
    """One side ends 1.2 mm before the corner."""
    pen = DxfPen("R2000")
    pen.line((0, 0), (80, 0))
    pen.line((80, 0), (80, 48.8))
    pen.line((80, 50), (0, 50))
    pen.line((0, 50), (0, 0))
    pen.circle(40, 25, 6)
    return pen.text()


def open_outline() -> str:
    """A whole side is missing; so is any other panel in the file."""
    pen = DxfPen("R2010")
    pen.line((0, 0), (0, 40))
    pen.line((0, 0), (90, 0))
    pen.line((90, 0), (90, 40))
    return pen.text()


def cut_off_file() -> str:
    """The copy stopped in the middle of a panel."""
    text = seed_drawer()
    half = text.index("LWPOLYLINE", text.rindex("ENTITIES") // 2)
    return text[: half + 400]


def doubled_lines() -> str:
    """Outline and hole are drawn twice, the second time from loose lines."""
    pen = DxfPen("R2000")
    plate = rounded(0, 0, 70, 45, 6)
    pen.ring(plate)
    pen.loose(plate)
    for _ in range(2):
        pen.circle(20, 22, 5)
    pen.ring(rectangle(40, 15, 15, 15))
    pen.ring(rectangle(40, 15, 15, 15))
    return pen.text()


def wrong_unit_header() -> str:
    """Millimetres, but the header says metres."""
    pen = DxfPen("R2010", METRE)
    pen.ring(rounded(0, 0, 120, 80, 8))
    pen.circle(60, 40, 15)
    return pen.text()


def web_page() -> str:
    """What a browser saved in place of the drawing."""
    return (
        "<!DOCTYPE html>\n<html>\n<head><title>Sign in</title></head>\n"
        "<body><p>Please sign in to download drawer-front.dxf.</p></body>\n</html>\n"
    )


def decimal_commas() -> str:
    """Numbers written with commas by a program set to another language."""
    pen = DxfPen("R12")
    pen.loose(rounded(0.5, 0.5, 60, 40, 5))
    start = pen.text().index("ENTITIES")
    text = pen.text()
    lines = text[start:].split("\n")
    lines = [line.replace(".", ",") if _is_number(line) else line for line in lines]
    return text[:start] + "\n".join(lines)


def crossing_outline() -> str:
    """An outline that crosses itself: two corners were swapped."""
    return (
        '<?xml version="1.0" encoding="UTF-8"?>\n'
        '<svg xmlns="http://www.w3.org/2000/svg" width="100mm" height="60mm" '
        'viewBox="0 0 100 60">\n'
        '<polygon points="10,10 90,50 90,10 30,55" fill="none" stroke="#000000"/>\n</svg>\n'
    )


def _is_number(line: str) -> bool:
    try:
        float(line)
    except ValueError:
        return False
    return "." in line
