"""Closed rings for the sample drawings: corners with bulges, finished sizes.

A ring is a list of `(x, y, bulge)`; the bulge is the tangent of a quarter of
the angle that the arc to the next corner sweeps, positive anticlockwise.
Units are whatever the drawing is in. Rings run anticlockwise.
"""

from __future__ import annotations

import math
from typing import NamedTuple

Corner = tuple[float, float, float]
Ring = list[Corner]
Point = tuple[float, float]

QUARTER = math.tan(math.radians(90) / 4)
HALF = 1.0


class Fingers(NamedTuple):
    """An edge parted into equal fingers and gaps."""

    count: int
    starts_with_gap: bool


def rectangle(x: float, y: float, width: float, height: float) -> Ring:
    """A rectangle from its lower left corner."""
    return [(x, y, 0.0), (x + width, y, 0.0), (x + width, y + height, 0.0), (x, y + height, 0.0)]


def rounded(x: float, y: float, width: float, height: float, radius: float) -> Ring:
    """A rectangle with rounded corners."""
    x1, y1, r = x + width, y + height, radius
    return [
        (x + r, y, 0.0),
        (x1 - r, y, QUARTER),
        (x1, y + r, 0.0),
        (x1, y1 - r, QUARTER),
        (x1 - r, y1, 0.0),
        (x + r, y1, QUARTER),
        (x, y1 - r, 0.0),
        (x, y + r, QUARTER),
    ]


def slot(x: float, y: float, length_overall: float, width: float, turn_deg: float = 0.0) -> Ring:
    """A slot with round ends about its centre."""
    reach, r = (length_overall - width) / 2, width / 2
    ring = [(-reach, -r, 0.0), (reach, -r, HALF), (reach, r, 0.0), (-reach, r, HALF)]
    return turned(ring, x, y, turn_deg)


def curved_slot(
    x: float, y: float, radius: float, width: float, from_deg: float, to_deg: float
) -> Ring:
    """A slot that follows a circle about x, y, with round ends beyond both angles."""
    inner, outer = radius - width / 2, radius + width / 2
    sweep = math.tan(math.radians(to_deg - from_deg) / 4)
    return [
        (*on_circle(x, y, outer, from_deg), sweep),
        (*on_circle(x, y, outer, to_deg), HALF),
        (*on_circle(x, y, inner, to_deg), -sweep),
        (*on_circle(x, y, inner, from_deg), HALF),
    ]


def keyhole(x: float, y: float, head_radius: float, neck_width: float, reach: float) -> Ring:
    """A hanging hole: a round head at x, y and a round-ended neck that reaches upward."""
    r = neck_width / 2
    rise = math.sqrt(head_radius**2 - r**2)
    sweep_deg = 360 - 2 * math.degrees(math.asin(r / head_radius))
    return [
        (x + r, y + rise, 0.0),
        (x + r, y + reach - r, HALF),
        (x - r, y + reach - r, 0.0),
        (x - r, y + rise, math.tan(math.radians(sweep_deg) / 4)),
    ]


def polygon(x: float, y: float, radius: float, sides: int, turn_deg: float = 0.0) -> Ring:
    """A regular polygon in a circle about x, y."""
    return [(*on_circle(x, y, radius, turn_deg + 360 * i / sides), 0.0) for i in range(sides)]


def rounded_corners(corners: list[Point], radius: float) -> Ring:
    """A convex polygon (anticlockwise) with every corner rounded."""
    ring: Ring = []
    for i, (x, y) in enumerate(corners):
        x0, y0 = corners[i - 1]
        x1, y1 = corners[(i + 1) % len(corners)]
        back, ahead = math.hypot(x0 - x, y0 - y), math.hypot(x1 - x, y1 - y)
        exterior = math.remainder(
            math.atan2(y1 - y, x1 - x) - math.atan2(y - y0, x - x0), 2 * math.pi
        )
        cut = radius * math.tan(exterior / 2)
        ring.append((x + (x0 - x) * cut / back, y + (y0 - y) * cut / back, math.tan(exterior / 4)))
        ring.append((x + (x1 - x) * cut / ahead, y + (y1 - y) * cut / ahead, 0.0))
    return ring


def fingered(
    width: float, height: float, thickness: float, edges: tuple[Fingers | None, ...]
) -> Ring:
    """A rectangle from 0, 0 whose edges (bottom, right, top, left) carry fingers.

    Gaps are one thickness deep. Seen along the walk round the panel; where two
    gaps meet at a corner, the corner is gone.
    """
    lengths = (width, height, width, height)
    steps = [_steps(edge, length, thickness) for edge, length in zip(edges, lengths, strict=True)]
    ring: Ring = []
    for side in range(4):
        before, after = steps[side - 1][-1][2], steps[(side + 1) % 4][0][2]
        length = lengths[side]
        for start, end, depth in steps[side]:
            for along in (max(start, before), min(end, length - after)):
                x, y = _on_side(side, along, depth, width, height)
                if not ring or math.dist(ring[-1][:2], (x, y)) > 1e-9:
                    ring.append((x, y, 0.0))
    if math.dist(ring[0][:2], ring[-1][:2]) < 1e-9:
        ring.pop()
    return ring


def _steps(
    edge: Fingers | None, length: float, thickness: float
) -> list[tuple[float, float, float]]:
    if edge is None:
        return [(0.0, length, 0.0)]
    pitch = length / edge.count
    return [
        (i * pitch, (i + 1) * pitch, thickness if (i % 2 == 0) == edge.starts_with_gap else 0.0)
        for i in range(edge.count)
    ]


def _on_side(side: int, along: float, depth: float, width: float, height: float) -> Point:
    return (
        (along, depth),
        (width - depth, along),
        (width - along, height - depth),
        (depth, height - along),
    )[side]


def with_cut(ring: Ring, after: int, arc: list[Corner]) -> Ring:
    """The ring with extra corners let in behind the corner of that number."""
    return ring[: after + 1] + arc + ring[after + 1 :]


def turned(ring: Ring, x: float, y: float, turn_deg: float) -> Ring:
    """The ring turned about the origin, then moved."""
    c, s = cos_deg(turn_deg), sin_deg(turn_deg)
    return [(c * px - s * py + x, s * px + c * py + y, bulge) for px, py, bulge in ring]


def on_circle(x: float, y: float, radius: float, angle_deg: float) -> Point:
    """The point of a circle at an angle."""
    return (x + radius * cos_deg(angle_deg), y + radius * sin_deg(angle_deg))


def cos_deg(angle_deg: float) -> float:
    """Cosine of an angle in degrees, without the dust of pi at quarter turns."""
    return round(math.cos(math.radians(angle_deg)), 15)


def sin_deg(angle_deg: float) -> float:
    """Sine of an angle in degrees, without the dust of pi at quarter turns."""
    return round(math.sin(math.radians(angle_deg)), 15)
