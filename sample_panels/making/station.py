"""A weather station housing: louvre rings on spacers over a hexagonal base, 3 mm acrylic."""

from __future__ import annotations

from making.dxf import ENGRAVE, INCH, SCORE, DxfPen
from making.shapes import curved_slot, on_circle, polygon, rounded, rounded_corners, slot


def station_louvres() -> str:
    """A ring with the sensor floor cut from its hole, and the cap that closes the stack."""
    pen = DxfPen("R2010")
    for i in range(3):
        pen.circle(*on_circle(60, 60, 51, 90 + 120 * i), 1.7, "louvre-ring")
        middle = 150 + 120 * i
        pen.ring(curved_slot(60, 60, 51, 6, middle - 28, middle + 28), "louvre-ring")
    pen.circle(60, 60, 60, "louvre-ring")
    pen.circle(60, 60, 42, "louvre-ring")

    pen.circle(60, 60, 38, "sensor-floor")
    pen.ring(rounded(52, 54, 16, 12, 1), "sensor-floor")
    for i in range(6):
        pen.ring(slot(*on_circle(60, 60, 23, 60 * i), 18, 3, 60 * i), "sensor-floor")
        pen.circle(*on_circle(60, 60, 31, 30 + 60 * i), 1.25, "sensor-floor")

    pen.circle(190, 60, 62, "cap")
    for i in range(3):
        pen.circle(*on_circle(190, 60, 51, 90 + 120 * i), 1.7, "cap")
    pen.circle(190, 60, 40, ENGRAVE)
    for i in range(8):
        inner, outer = (14 if i % 2 else 6), (26 if i % 2 else 36)
        pen.line(on_circle(190, 60, inner, 45 * i), on_circle(190, 60, outer, 45 * i), ENGRAVE)
    return pen.text()


def station_base_plate() -> str:
    """Base plate and mast bracket in inches: kidney slots, board holes, a bend line to score."""
    pen = DxfPen("R2000", INCH)
    corners = [on_circle(0, 0, 2.75, 60 * i) for i in range(6)]
    pen.ring(rounded_corners(corners, 0.3), "base-plate")
    pen.circle(0, 0, 0.325, "base-plate")
    for i in range(3):
        pen.ring(curved_slot(0, 0, 2.0, 0.14, 120 * i - 12, 120 * i + 12), "base-plate")
    for x, y in ((-0.95, -0.55), (0.95, -0.55), (0.95, 0.55), (-0.95, 0.55)):
        pen.circle(x, y, 0.0625, "base-plate")
    pen.strokes([(-0.12, 1.2), (-0.12, 1.5), (0.12, 1.2), (0.12, 1.5)], ENGRAVE)
    pen.strokes([(-0.2, 1.7), (0, 2.0), (0.2, 1.7)], ENGRAVE)

    pen.ring(rounded(3.2, -1.5, 1.5, 3.5, 0.25), "mast-bracket")
    for y in (-1.0, 1.5):
        pen.ring(slot(3.95, y, 0.9, 0.2), "mast-bracket")
    pen.ring(polygon(3.95, 0.25, 0.25, 6), "mast-bracket")
    pen.line((3.3, -0.5), (4.6, -0.5), SCORE)
    return pen.text()
