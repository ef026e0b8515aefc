"""Affine maps of the plane, and what they make of lines and arcs.

A similarity (turn, mirror, move, the same scale everywhere) keeps an arc an
arc; any other map makes it a piece of an ellipse.
"""

from __future__ import annotations

import math
from typing import NamedTuple

from lasernest.domain.contours import Point


class Affine(NamedTuple):
    """x' = a x + c y + e, y' = b x + d y + f, in the order SVG's `matrix` has them."""

    a: float = 1.0
    b: float = 0.0
    c: float = 0.0
    d: float = 1.0
    e: float = 0.0
    f: float = 0.0

    @classmethod
    def moving(cls, x: float, y: float) -> Affine:
        return cls(1.0, 0.0, 0.0, 1.0, x, y)

    @classmethod
    def scaling(cls, sx: float, sy: float) -> Affine:
        return cls(sx, 0.0, 0.0, sy, 0.0, 0.0)

    @classmethod
    def turning(cls, cos: float, sin: float) -> Affine:
        return cls(cos, sin, -sin, cos, 0.0, 0.0)

    def after(self, first: Affine) -> Affine:
        """The map that does `first`, then this one."""
        a, b, c, d, e, f = self
        g, h, i, j, k, m = first
        return Affine(
            a * g + c * h,
            b * g + d * h,
            a * i + c * j,
            b * i + d * j,
            a * k + c * m + e,
            b * k + d * m + f,
        )

    def apply(self, x: float, y: float) -> Point:
        return (self.a * x + self.c * y + self.e, self.b * x + self.d * y + self.f)

    def direction(self, x: float, y: float) -> Point:
        """A vector mapped: turned and scaled, not moved."""
        return (self.a * x + self.c * y, self.b * x + self.d * y)

    @property
    def determinant(self) -> float:
        return self.a * self.d - self.b * self.c

    @property
    def mirrors(self) -> bool:
        return self.determinant < 0.0

    @property
    def is_finite(self) -> bool:
        return all(map(math.isfinite, self))

    @property
    def is_similarity(self) -> bool:
        """True when circles stay circles, to twelve digits."""
        a, b, c, d = self.a, self.b, self.c, self.d
        size = a * a + b * b + c * c + d * d
        same = abs((a * a + b * b) - (c * c + d * d)) <= 1e-12 * size
        return size > 0.0 and same and abs(a * c + b * d) <= 1e-12 * size

    @property
    def mean_scale(self) -> float:
        """Square root of how much areas grow."""
        return math.sqrt(abs(self.determinant))
