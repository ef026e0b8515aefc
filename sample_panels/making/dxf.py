"""A thin pen over the DXF library: rings, loose lines, blocks; coordinates rounded once."""

from __future__ import annotations

import io
import itertools
import math

import ezdxf
from ezdxf.document import Drawing
from ezdxf.layouts import BaseLayout

from making.shapes import Corner, Point, Ring

ezdxf.options.write_fixed_meta_data_for_testing = True  # the same bytes on every run

MM, INCH, METRE = 4, 1, 6
"""$INSUNITS of the published DXF reference."""

SCORE, ENGRAVE = "SCORE", "ENGRAVE"
COLOURS = {"CUT": 7, SCORE: 30, ENGRAVE: 6}


class DxfPen:
    """One drawing being made; every method takes the layer last."""

    def __init__(self, version: str, unit: int = MM) -> None:
        self.doc: Drawing = ezdxf.new(version)
        self.old = version == "R12"
        self.doc.header["$INSUNITS"] = 0 if self.old else unit  # R12 cannot state a unit
        self.doc.header["$MEASUREMENT"] = 0 if unit == INCH else 1
        self.into: BaseLayout = self.doc.modelspace()

    def block(self, name: str) -> None:
        """What follows is drawn into a new block."""
        self.into = self.doc.blocks.new(name)

    def insert(
        self, name: str, x: float, y: float, *, turn_deg: float = 0, layer: str = "0", **more: float
    ) -> None:
        """Put a block into the drawing itself, and draw there from now on."""
        self.into = self.doc.modelspace()
        attributes = {"layer": self._layer(layer), "rotation": turn_deg, **more}
        self.into.add_blockref(name, _point(x, y), attributes)

    def ring(self, ring: Ring, layer: str = "CUT") -> None:
        """A closed polyline with bulges."""
        corners = [(*_point(x, y), round(bulge, 10)) for x, y, bulge in ring]
        attributes = {"layer": self._layer(layer)}
        if self.old:
            self.into.add_polyline2d(corners, format="xyb", close=True, dxfattribs=attributes)
        else:
            self.into.add_lwpolyline(corners, format="xyb", close=True, dxfattribs=attributes)

    def loose(self, ring: Ring, layer: str = "CUT") -> None:
        """The same ring as single lines and arcs, out of order and some drawn backwards."""
        pieces = [(a, ring[(i + 1) % len(ring)]) for i, a in enumerate(ring)]
        for i, (a, b) in enumerate(pieces[::2] + pieces[1::2]):
            if a[2]:
                self._arc(a, b, layer)
            elif i % 3 == 1:
                self.line(b[:2], a[:2], layer)
            else:
                self.line(a[:2], b[:2], layer)

    def line(self, start: Point, end: Point, layer: str = "CUT") -> None:
        """A straight line."""
        attributes = {"layer": self._layer(layer)}
        self.into.add_line(_point(*start), _point(*end), attributes)

    def strokes(self, points: list[Point], layer: str = ENGRAVE) -> None:
        """A run of lines that stays open."""
        for start, end in itertools.pairwise(points):
            self.line(start, end, layer)

    def _arc(self, a: Corner, b: Corner, layer: str) -> None:
        dx, dy, bulge = b[0] - a[0], b[1] - a[1], a[2]
        k = (1 - bulge * bulge) / (4 * bulge)
        centre = ((a[0] + b[0]) / 2 - k * dy, (a[1] + b[1]) / 2 + k * dx)
        radius = math.hypot(dx, dy) * (1 + bulge * bulge) / (4 * abs(bulge))
        ends = [math.degrees(math.atan2(p[1] - centre[1], p[0] - centre[0])) % 360 for p in (a, b)]
        first, last = ends if bulge > 0 else reversed(ends)
        self.arc(*centre, radius, first, last, layer)

    def arc(
        self, x: float, y: float, radius: float, from_deg: float, to_deg: float, layer: str = "CUT"
    ) -> None:
        """An arc, anticlockwise."""
        attributes = {"layer": self._layer(layer)}
        angles = round(from_deg, 9), round(to_deg, 9)
        self.into.add_arc(_point(x, y), round(radius, 7), *angles, dxfattribs=attributes)

    def circle(self, x: float, y: float, radius: float, layer: str = "CUT") -> None:
        """A full circle."""
        attributes = {"layer": self._layer(layer)}
        self.into.add_circle(_point(x, y), round(radius, 7), attributes)

    def ellipse(
        self,
        x: float,
        y: float,
        major: Point,
        ratio: float,
        layer: str = "CUT",
        span: tuple[float, float] = (0, math.tau),
    ) -> None:
        """An ellipse or a part of one; `major` runs from the centre, `span` is its parameter."""
        attributes = {"layer": self._layer(layer)}
        self.into.add_ellipse(_point(x, y), _point(*major), ratio, *span, dxfattribs=attributes)

    def spline(self, points: list[Point], layer: str = "CUT") -> None:
        """A cubic curve through the first and last control point."""
        attributes = {"layer": self._layer(layer)}
        self.into.add_open_spline([_point(*p) for p in points], degree=3, dxfattribs=attributes)

    def note(self, text: str, x: float, y: float, height: float) -> None:
        """Lettering for people, which is not to be cut."""
        attributes = {"layer": self._layer("NOTES"), "height": height}
        self.into.add_text(text, dxfattribs=attributes).set_placement(_point(x, y))

    def text(self) -> str:
        """The file's text."""
        # The library walks a set here, whose order changes from run to run.
        for kind in sorted(self.doc.entitydb.dxf_types_in_use()):
            self.doc.classes.add_class(kind)
        stream = io.StringIO()
        self.doc.write(stream)
        return stream.getvalue()

    def _layer(self, name: str) -> str:
        if name not in self.doc.layers:
            self.doc.layers.add(name, color=COLOURS.get(name, 7))
        return name


def _point(x: float, y: float) -> Point:
    return (round(x, 7) + 0.0, round(y, 7) + 0.0)
