"""A case for a moth: walls and back of 3 mm plywood, a front of 3 mm acrylic pressed onto them.

Outside 120 x 90 x 40 mm. Back and front have the same edges; only the stock differs.
"""

from __future__ import annotations

from making.dxf import ENGRAVE, SCORE, DxfPen
from making.shapes import Fingers, Ring, fingered, keyhole, rounded

THICKNESS = 3.0
WIDTH, HEIGHT, DEPTH = 120.0, 90.0, 40.0
ALONG_WIDTH, ALONG_HEIGHT, ALONG_DEPTH = 9, 7, 5


def moth_case_walls() -> str:
    """A long wall, a short wall and the back, each in a block; for plywood."""
    pen = DxfPen("R2010")
    wide, deep = Fingers(ALONG_WIDTH, False), Fingers(ALONG_DEPTH, False)
    pen.block("case-wall-long")
    pen.ring(fingered(WIDTH, DEPTH, THICKNESS, (wide, deep, wide, deep)))
    for i in range(5):
        pen.circle(40 + 10 * i, DEPTH / 2, 1.5)
    pen.insert("case-wall-long", 0, 0)
    high, deep = Fingers(ALONG_HEIGHT, False), Fingers(ALONG_DEPTH, True)
    pen.block("case-wall-short")
    pen.ring(fingered(HEIGHT, DEPTH, THICKNESS, (high, deep, high, deep)))
    pen.line((20, DEPTH / 2), (HEIGHT - 20, DEPTH / 2), SCORE)
    pen.insert("case-wall-short", WIDTH + 10, 0)
    pen.block("case-back")
    pen.ring(_face())
    pen.ring(keyhole(WIDTH / 2, 66, 4.5, 4.2, 13))
    pen.insert("case-back", 0, DEPTH + 10)
    return pen.text()


def moth_case_front() -> str:
    """The front alone, a drawing of its own; for clear acrylic."""
    pen = DxfPen("R2010")
    pen.block("moth-case-front")
    pen.ring(_face())
    pen.ring(rounded(10, 8, WIDTH - 20, 12, 2), ENGRAVE)
    pen.insert("moth-case-front", 0, 0)
    return pen.text()


def _face() -> Ring:
    wide, high = Fingers(ALONG_WIDTH, True), Fingers(ALONG_HEIGHT, True)
    return fingered(WIDTH, HEIGHT, THICKNESS, (wide, high, wide, high))
