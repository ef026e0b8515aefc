"""A seed cabinet: six drawers, two shelves, a divider, for 3 mm sheet that measures 3.0.

Outside 205 x 141 mm. A bay is 91 x 42 mm, a drawer 90 x 40 x 117 mm.
"""

from __future__ import annotations

from making.dxf import ENGRAVE, INCH, SCORE, DxfPen
from making.shapes import (
    HALF,
    QUARTER,
    Fingers,
    Point,
    Ring,
    fingered,
    keyhole,
    rectangle,
    rounded,
    slot,
    with_cut,
)

THICKNESS = 3.0
BAY_WIDTH, BAY_HEIGHT = 91.0, 42.0
DRAWER_WIDTH, DRAWER_HEIGHT, DRAWER_DEPTH = 90.0, 40.0, 117.0
INSIDE_WIDTH = 2 * BAY_WIDTH + THICKNESS
INSIDE_HEIGHT = 3 * BAY_HEIGHT + 2 * THICKNESS
SIDE_DEPTH, SHELF_DEPTH = 130.0, 125.0
SHELF_LEVELS = (BAY_HEIGHT, 2 * BAY_HEIGHT + THICKNESS)
TAB_LENGTH = 20.0
TABS = (25.0, 80.0)
"""Where tabs begin, measured from the back edge of their own panel."""
OVERHANG = 7.0


def seed_drawer() -> str:
    """Front, back, side and base, each in a block of its own; thumb cut and label window."""
    pen = DxfPen("R2010")
    along_width, along_height = Fingers(9, False), Fingers(5, False)
    face = fingered(
        DRAWER_WIDTH, DRAWER_HEIGHT, THICKNESS, (along_width, along_height, None, along_height)
    )
    top_right = next(i for i, c in enumerate(face) if c[:2] == (DRAWER_WIDTH, DRAWER_HEIGHT))
    thumb = [(DRAWER_WIDTH / 2 + 12, DRAWER_HEIGHT, -HALF / 2), (33.0, DRAWER_HEIGHT, 0.0)]
    pen.block("drawer-front")
    pen.ring(with_cut(face, top_right, thumb))
    pen.ring(rounded(22, 9, 46, 13, 1.5))
    pen.ring(rounded(19, 6, 52, 19, 3), SCORE)
    pen.insert("drawer-front", 0, 0)
    pen.block("drawer-back")
    pen.ring(face)
    pen.circle(DRAWER_WIDTH / 2, 28, 4)
    pen.insert("drawer-back", 0, 50)
    pen.block("drawer-side")
    upright = Fingers(5, True)
    pen.ring(
        fingered(
            DRAWER_DEPTH, DRAWER_HEIGHT, THICKNESS, (Fingers(13, False), upright, None, upright)
        )
    )
    pen.line((20, 34), (DRAWER_DEPTH - 20, 34), SCORE)
    pen.insert("drawer-side", 100, 0)
    pen.block("drawer-base")
    across, deep = Fingers(9, True), Fingers(13, True)
    pen.ring(fingered(DRAWER_WIDTH, DRAWER_DEPTH, THICKNESS, (across, deep, across, deep)))
    for row in range(3):
        pen.ring(slot(DRAWER_WIDTH / 2, 30 + 28.5 * row, 40, 4))
    pen.insert("drawer-base", 0, 100)
    return pen.text()


def seed_cabinet_sides() -> str:
    """One side as loose lines and arcs in a block, the other its mirror image; an old format."""
    pen = DxfPen("R12")
    pen.block("CABINET-SIDE")
    pen.loose(_tabbed_above_and_below(SIDE_DEPTH, front_radius=6.0))
    for level in SHELF_LEVELS:
        for tab in TABS:
            pen.ring(rectangle(tab, level, TAB_LENGTH, THICKNESS))
        pen.line((SIDE_DEPTH - 3, level), (SIDE_DEPTH - 16, level), SCORE)
    for y in (21.0, 66.0, 111.0):
        pen.circle(SIDE_DEPTH / 2, y, 8)
    pen.insert("CABINET-SIDE", 0, 0)
    pen.insert("CABINET-SIDE", 2 * SIDE_DEPTH + 20, 0, xscale=-1)
    return pen.text()


def seed_cabinet_shelves() -> str:
    """Shelf and divider with halving slots that slide into each other."""
    pen = DxfPen("R2000")
    half = SHELF_DEPTH / 2
    left = [
        point
        for tab in reversed(TABS)
        for point in (
            (0.0, tab + TAB_LENGTH),
            (-THICKNESS, tab + TAB_LENGTH),
            (-THICKNESS, tab),
            (0.0, tab),
        )
    ]
    right = [(INSIDE_WIDTH - x, y) for x, y in reversed(left)]
    shelf = [(0.0, 0.0), (BAY_WIDTH, 0.0), (BAY_WIDTH, half), (BAY_WIDTH + THICKNESS, half)]
    shelf += [(BAY_WIDTH + THICKNESS, 0.0), (INSIDE_WIDTH, 0.0), *right]
    shelf += [(INSIDE_WIDTH, SHELF_DEPTH), (0.0, SHELF_DEPTH), *left]
    pen.ring(_straight(shelf), "shelf")
    for x in (BAY_WIDTH / 2, INSIDE_WIDTH - BAY_WIDTH / 2):
        pen.ring(slot(x, 80, 50, 6), "shelf")
        pen.line((x - 20, 6), (x + 20, 6), SCORE)

    x0 = INSIDE_WIDTH + 20
    divider = _tabbed_above_and_below(SHELF_DEPTH)
    front_bottom = divider.index((SHELF_DEPTH, 0.0, 0.0))
    halving = [
        (x, y, 0.0)
        for level in SHELF_LEVELS
        for x, y in (
            (SHELF_DEPTH, level),
            (half, level),
            (half, level + THICKNESS),
            (SHELF_DEPTH, level + THICKNESS),
        )
    ]
    divider = with_cut(divider, front_bottom, halving)
    pen.ring([(x + x0, y, bulge) for x, y, bulge in divider], "divider")
    for y in (21.0, 66.0, 111.0):
        pen.circle(x0 + 30, y, 8, "divider")
    return pen.text()


def seed_cabinet_top_and_back() -> str:
    """Top with slots for the tabs below it; back with hanging holes and rows of vents."""
    pen = DxfPen("R2000")
    width, depth = INSIDE_WIDTH + 2 * THICKNESS + 2 * OVERHANG, SIDE_DEPTH + OVERHANG
    pen.ring(rounded(0, 0, width, depth, 8), "cabinet-top")
    between = OVERHANG + THICKNESS + BAY_WIDTH
    for x in (OVERHANG, between, width - OVERHANG - THICKNESS):
        for tab in TABS:
            pen.ring(rectangle(x, tab + THICKNESS, THICKNESS, TAB_LENGTH), "cabinet-top")
    pen.ring(rounded(12, 112, width - 24, 16, 5), ENGRAVE)

    pen.block("vent")
    pen.ring(slot(0, 0, 24, 4), "0")
    y0 = depth + 15
    back_width = INSIDE_WIDTH + 2 * THICKNESS
    pen.insert("vent", 30, y0 + 30, layer="cabinet-back", column_count=5, row_count=3,
               column_spacing=32.75, row_spacing=18)  # fmt: skip
    pen.ring(rounded(0, y0, back_width, INSIDE_HEIGHT, 3), "cabinet-back")
    for x in (45.0, back_width - 45):
        pen.ring(keyhole(x, y0 + 106, 4.5, 4.2, 13), "cabinet-back")
    for x in (6.0, back_width - 6):
        for y in (6.0, INSIDE_HEIGHT / 2, INSIDE_HEIGHT - 6):
            pen.circle(x, y0 + y, 1.6, "cabinet-back")
    return pen.text()


def label_plates() -> str:
    """Six numbered plates from loose lines and arcs, digits as single strokes."""
    pen = DxfPen("R12")
    for i in range(6):
        x, y = 66.0 * (i % 3), 28.0 * (1 - i // 3)
        pen.loose(rounded(x, y, 60, 22, 4))
        for hole in (5.0, 55.0):
            pen.circle(x + hole, y + 11, 1.6)
        for stroke in _DIGITS[i + 1]:
            pen.strokes([(x + 27 + 6 * u, y + 5 + 6 * v) for u, v in stroke])
        pen.line((x + 12, y + 3), (x + 48, y + 3), SCORE)
    return pen.text()


def drawer_pulls() -> str:
    """Oval and bow-shaped pulls in inches: ellipses, slots, arcs."""
    pen = DxfPen("R2000", INCH)
    for i in range(2):
        x = 2.2 * i
        pen.ellipse(x, 0, (0.95, 0), 0.45)
        pen.ring(slot(x, 0, 0.9, 0.25))
        for hole in (-0.7, 0.7):
            pen.circle(x + hole, 0, 0.0625)
    for i in range(2):
        y = 1.0 + 0.9 * i
        pen.ring([(0, y, 0.0), (2.5, y, 0.0), (2.5, y + 0.3, 0.2), (0, y + 0.3, 0.0)])
        pen.ring([(0.6, y + 0.18, 0.0), (1.9, y + 0.18, 0.2)])
        for hole in (0.3, 2.2):
            pen.circle(hole, y + 0.18, 0.0625)
    return pen.text()


_DIGITS: dict[int, list[list[Point]]] = {
    1: [[(0.2, 1.6), (0.6, 2), (0.6, 0)]],
    2: [[(0, 2), (1, 2), (1, 1), (0, 1), (0, 0), (1, 0)]],
    3: [[(0, 2), (1, 2), (1, 0), (0, 0)], [(0.2, 1), (1, 1)]],
    4: [[(0, 2), (0, 1), (1, 1)], [(1, 2), (1, 0)]],
    5: [[(1, 2), (0, 2), (0, 1), (1, 1), (1, 0), (0, 0)]],
    6: [[(1, 2), (0, 2), (0, 0), (1, 0), (1, 1), (0, 1)]],
}


def _tabbed_above_and_below(depth: float, front_radius: float = 0.0) -> Ring:
    """A panel depth x inside height, back edge at the left, tabs on its long edges."""
    below = [
        point
        for tab in TABS
        for point in (
            (tab, 0.0),
            (tab, -THICKNESS),
            (tab + TAB_LENGTH, -THICKNESS),
            (tab + TAB_LENGTH, 0.0),
        )
    ]
    above = [(x, INSIDE_HEIGHT - y) for x, y in reversed(below)]
    r = front_radius
    if not r:
        front: Ring = [(depth, 0.0, 0.0), (depth, INSIDE_HEIGHT, 0.0)]
    else:
        front = [(depth - r, 0.0, QUARTER), (depth, r, 0.0)]
        front += [(depth, INSIDE_HEIGHT - r, QUARTER), (depth - r, INSIDE_HEIGHT, 0.0)]
    left_top, left_bottom = (0.0, INSIDE_HEIGHT, 0.0), (0.0, 0.0, 0.0)
    return [left_bottom, *_straight(below), *front, *_straight(above), left_top]


def _straight(points: list[Point]) -> Ring:
    return [(x, y, 0.0) for x, y in points]
