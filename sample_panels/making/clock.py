"""A wall clock: dial, hands, lobed case front and back, 3 mm plywood or acrylic."""

from __future__ import annotations

import math

from making.dxf import ENGRAVE, SCORE, DxfPen
from making.shapes import Point, keyhole, on_circle, rounded, slot


def clock_dial() -> str:
    """A dial of 240 mm; the hour slots are one block, turned twelve times."""
    pen = DxfPen("R2010")
    pen.block("hour-slot")
    pen.ring(slot(98, 0, 24, 5))
    for hour in range(12):
        pen.insert("hour-slot", 120, 120, turn_deg=30 * hour, layer="CUT")
    pen.circle(120, 120, 120)
    pen.circle(120, 120, 4)
    for i in range(3):
        pen.circle(*on_circle(120, 120, 45, 30 + 120 * i), 2.55)
    pen.circle(120, 120, 62, ENGRAVE)
    for minute in range(60):
        if minute % 5:
            pen.line(*(on_circle(120, 120, r, 6 * minute) for r in (112, 116)), SCORE)
    pen.strokes([(108, 160), (116, 176)])
    pen.strokes([(116, 160), (108, 176)])
    pen.strokes([(120, 160), (120, 176)])
    pen.strokes([(125, 160), (125, 176)])
    return pen.text()


def clock_hands() -> str:
    """Hour, minute and second hand: cubic curves, an elliptical window, round hubs."""
    pen = DxfPen("R2000")
    _hand(pen, "hour-hand", x=0, length=62, belly=7.5, hole=2.6)
    _hand(pen, "minute-hand", x=30, length=92, belly=6.0, hole=1.75)
    pen.ellipse(0, 34, (0, 12), 0.22, "hour-hand")
    pen.ellipse(30, 48, (0, 20), 0.1, "minute-hand")

    x = 60.0
    pen.spline([(x - 1.5, 96), (x - 2, 40), (x - 2, 10), (x - 4, 5)], "second-hand")
    pen.arc(x, 0, math.hypot(4, 5), 128.659808, 51.340192, "second-hand")
    pen.spline([(x + 1.5, 96), (x + 2, 40), (x + 2, 10), (x + 4, 5)], "second-hand")
    pen.arc(x, 96, 1.5, 0, 180, "second-hand")
    pen.circle(x, 0, 0.8, "second-hand")
    return pen.text()


def _hand(pen: DxfPen, layer: str, *, x: float, length: float, belly: float, hole: float) -> None:
    """A leaf-shaped blade with a sharp tip above a round hub of radius 9."""
    hub, start_deg = 9.0, 60.0
    for side in (-1, 1):
        foot = on_circle(x, 0, hub, 90 - side * (90 - start_deg))
        curve: list[Point] = [
            foot,
            (x + side * 2.0, hub + 5),
            (x + side * 2 * belly, length * 0.5),
            (x + side * 1.5, length * 0.72),
            (x, length),
        ]
        pen.spline(curve, layer)
    pen.arc(x, 0, hub, 180 - start_deg, start_deg, layer)
    pen.circle(x, 0, hole, layer)


def clock_case() -> str:
    """A front of four half ellipses with the glass ring in its hole; a square back."""
    pen = DxfPen("R2000")
    for turn in range(4):
        x, y = on_circle(120, 120, 100, 90 * turn)
        major = on_circle(0, 0, 100, 90 * turn - 90)
        pen.ellipse(x, y, major, 0.18, "case-front", (0, math.pi))
    pen.circle(120, 120, 85, "case-front")
    for i in range(4):
        pen.circle(*on_circle(120, 120, 108, 45 + 90 * i), 1.7, "case-front")
    pen.circle(120, 120, 82, "glass-ring")
    pen.circle(120, 120, 71, "glass-ring")
    pen.circle(120, 120, 76.5, SCORE)

    pen.ring(rounded(260, 30, 180, 180, 20), "case-back")
    pen.ring(rounded(321.5, 91.5, 57, 57, 3), "case-back")
    pen.ring(keyhole(350, 175, 5, 4.6, 15), "case-back")
    for i in range(4):
        pen.circle(*on_circle(350, 120, 108, 45 + 90 * i), 1.7, "case-back")
    for i in range(5):
        pen.ring(slot(310 + 20 * i, 60, 30, 5, 90), "case-back")
    pen.note("glass: 2 mm clear, diameter 148", 262, 16, 5)
    return pen.text()
