"""SVG path data and basic shapes as runs of lines, arcs and Bézier curves.

Curves stay in the drawing's own units here and exact: an arc keeps centre and
half diameters, a Bézier its control points. `traced` carries a run through
the element's transform into millimetres, where curves wait to be fitted.
Points are complex numbers, y down as in the file.

Source: SVG 1.1, chapter 8 and appendix F.6 (arc implementation notes).
"""

from __future__ import annotations

import cmath
import math
import re
from dataclasses import dataclass, field
from typing import NamedTuple

from lasernest.domain.contours import Vertex
from lasernest.geometry.affine import Affine
from lasernest.geometry.curves import Draft, beziers
from lasernest.geometry.ellipses import ellipse_path
from lasernest.geometry.mapping import follow_on

_NUMBER = re.compile(r"[\s,]*([-+]?(?:\d+\.?\d*|\.\d+)(?:[eE][-+]?\d+)?)")
_FLAG = re.compile(r"[\s,]*([01])")
_COMMAND = re.compile(r"[\s,]*([MmZzLlHhVvCcSsQqTtAa])")
_REST = re.compile(r"[\s,]*$")
_BIGGEST = 1e12


class PathDataError(Exception):
    """Path data that is no path data; the text says why."""


class Arc(NamedTuple):
    """centre + u cos t + v sin t, t from start through sweep."""

    centre: complex
    u: complex
    v: complex
    start_rad: float
    sweep_rad: float
    end: complex


class Bezier(NamedTuple):
    """Control points after the current point; one of them makes a straight line."""

    control: tuple[complex, ...]


@dataclass(slots=True)
class Run:
    """One subpath."""

    start: complex
    pieces: list[Arc | Bezier] = field(default_factory=list)
    closed: bool = False

    @property
    def ends_at_start(self) -> bool:
        """Whether it closes by itself: by its command, or because it comes back."""
        last = self.pieces[-1] if self.pieces else None
        end = last.end if isinstance(last, Arc) else last.control[-1] if last else self.start
        size = max(abs(self.start), abs(end))
        straight = len(self.pieces) == 1 and isinstance(last, Bezier) and len(last.control) == 1
        return self.closed or straight or abs(end - self.start) <= 1e-9 * size


def parse_path(text: str) -> list[Run]:
    """Parse the `d` attribute of a path.

    Raises:
        PathDataError: a number is missing, left over or not a number, or the
            path does not start with a move.
    """
    text = text.strip()
    if text in ("", "none"):
        return []
    return _PathParser(text).runs


class _PathParser:
    def __init__(self, text: str) -> None:
        self._text = text
        self._at = 0
        self.runs: list[Run] = []
        self._here = 0j
        self._mirror_c: complex | None = None
        self._mirror_q: complex | None = None
        command = ""
        while not _REST.match(text, self._at):
            match = _COMMAND.match(text, self._at)
            if match:
                command = match[1]
                self._at = match.end()
            elif command in ("", "Z", "z"):
                raise PathDataError(self._left_over())
            if not self.runs and command not in "Mm":
                raise PathDataError("the path does not start with a move")
            self._step(command)
            # Further pairs after a move are lines.
            command = {"M": "L", "m": "l"}.get(command, command)

    def _left_over(self) -> str:
        shown = self._text[self._at : self._at + 20].strip()
        return f"'{shown}' is no path command"

    def _number(self) -> float:
        match = _NUMBER.match(self._text, self._at)
        if match is None:
            shown = self._text[self._at : self._at + 20].strip()
            found = f"'{shown}'" if shown else "the end"
            raise PathDataError(f"the path data needs a number where it has {found}")
        self._at = match.end()
        number = float(match[1])
        if not -_BIGGEST < number < _BIGGEST:
            raise PathDataError(f"the number {match[1]} is out of all bounds")
        return number

    def _flag(self) -> bool:
        match = _FLAG.match(self._text, self._at)
        if match is None:
            raise PathDataError("the path data needs an arc flag, 0 or 1")
        self._at = match.end()
        return match[1] == "1"

    def _point(self, relative: bool) -> complex:
        point = complex(self._number(), self._number())
        return self._here + point if relative else point

    def _step(self, command: str) -> None:
        relative = command.islower()
        kind = command.upper()
        if kind == "M":
            self._here = self._point(relative)
            self.runs.append(Run(self._here))
        elif kind == "Z":
            self.runs[-1].closed = True
            self._here = self.runs[-1].start
        else:
            self._draw(kind, relative)
        if kind not in "CS":
            self._mirror_c = None
        if kind not in "QT":
            self._mirror_q = None

    def _draw(self, kind: str, relative: bool) -> None:
        here = self._here
        piece: Arc | Bezier | None
        if kind == "L":
            piece = Bezier((self._point(relative),))
        elif kind == "H":
            x = self._number()
            piece = Bezier((complex(here.real + x if relative else x, here.imag),))
        elif kind == "V":
            y = self._number()
            piece = Bezier((complex(here.real, here.imag + y if relative else y),))
        elif kind in "CS":
            mirror = here if self._mirror_c is None else self._mirror_c
            first = self._point(relative) if kind == "C" else mirror
            second, end = self._point(relative), self._point(relative)
            self._mirror_c = 2 * end - second
            piece = Bezier((first, second, end))
        elif kind in "QT":
            mirror = here if self._mirror_q is None else self._mirror_q
            first = self._point(relative) if kind == "Q" else mirror
            end = self._point(relative)
            self._mirror_q = 2 * end - first
            piece = Bezier((first, end))
        else:
            rx, ry, turn_deg = self._number(), self._number(), self._number()
            large, sweep = self._flag(), self._flag()
            piece = arc_piece(
                here,
                self._point(relative),
                rx=rx,
                ry=ry,
                turn_deg=turn_deg,
                large=large,
                sweep=sweep,
            )
            if piece is None:
                return
        run = self.runs[-1]
        if run.closed:
            # Drawing on after a close starts a new subpath at the same place.
            run = Run(here)
            self.runs.append(run)
        run.pieces.append(piece)
        self._here = piece.end if isinstance(piece, Arc) else piece.control[-1]


def arc_piece(
    start: complex,
    end: complex,
    *,
    rx: float,
    ry: float,
    turn_deg: float,
    large: bool,
    sweep: bool,
) -> Arc | Bezier | None:
    """An elliptical arc from end points to centre; a line without radius, None without length.

    Source: SVG 1.1, F.6.2 (out of range values), F.6.5 and F.6.6.
    """
    if start == end:
        return None
    rx, ry = abs(rx), abs(ry)
    if rx == 0.0 or ry == 0.0:
        return Bezier((end,))
    axis = cmath.exp(1j * math.radians(turn_deg))
    half = 0.5 * (start - end) / axis
    x, y = half.real / rx, half.imag / ry
    square = x * x + y * y
    if square >= 1.0:
        rx, ry = rx * math.sqrt(square), ry * math.sqrt(square)
        x, y = x / math.sqrt(square), y / math.sqrt(square)
        square = 1.0
    root = math.sqrt((1.0 - square) / square)
    if large == sweep:
        root = -root
    cx, cy = root * y, -root * x
    centre = axis * complex(cx * rx, cy * ry) + 0.5 * (start + end)
    first = math.atan2(y - cy, x - cx)
    last = math.atan2(-y - cy, -x - cx)
    turn = (last - first) % (2.0 * math.pi) if sweep else -((first - last) % (2.0 * math.pi))
    return Arc(centre, rx * axis, 1j * ry * axis, first, turn, end)


def ellipse_run(cx: float, cy: float, rx: float, ry: float) -> Run:
    """A whole circle or ellipse."""
    start = complex(cx + rx, cy)
    arc = Arc(complex(cx, cy), complex(rx, 0), complex(0, ry), 0.0, 2.0 * math.pi, start)
    return Run(start, [arc], closed=True)


def rectangle_run(
    x: float, y: float, width: float, height: float, *, rx: float = 0.0, ry: float = 0.0
) -> Run:
    """A rectangle, its corners rounded where the radii are above zero."""
    rx, ry = min(rx, 0.5 * width), min(ry, 0.5 * height)
    x1, y1 = x + width, y + height
    if rx <= 0.0 or ry <= 0.0:
        corners = (complex(x1, y), complex(x1, y1), complex(x, y1))
        return Run(complex(x, y), [Bezier((c,)) for c in corners], closed=True)
    u, v = complex(rx, 0), complex(0, ry)
    quarter = 0.5 * math.pi
    run = Run(complex(x + rx, y), closed=True)
    for i, (straight, centre, end) in enumerate(
        (
            (complex(x1 - rx, y), complex(x1 - rx, y + ry), complex(x1, y + ry)),
            (complex(x1, y1 - ry), complex(x1 - rx, y1 - ry), complex(x1 - rx, y1)),
            (complex(x + rx, y1), complex(x + rx, y1 - ry), complex(x, y1 - ry)),
            (complex(x, y + ry), complex(x + rx, y + ry), complex(x + rx, y)),
        )
    ):
        run.pieces.append(Bezier((straight,)))
        run.pieces.append(Arc(centre, u, v, (i - 1) * quarter, quarter, end))
    return run


def traced(run: Run, affine: Affine) -> Draft:
    """The run as lines, arcs and curves after the transform, without the closing line.

    Bézier curves that follow on each other are one curve.
    """

    def moved(p: complex) -> complex:
        return complex(*affine.apply(p.real, p.imag))

    def turned(p: complex) -> complex:
        return complex(*affine.direction(p.real, p.imag))

    draft: Draft = []
    here = moved(run.start)
    chain_start = here
    chain: list[tuple[complex, ...]] = []
    for piece in [*run.pieces, None]:
        if isinstance(piece, Bezier) and len(piece.control) > 1:
            control = tuple(map(moved, piece.control))
            if any(p != here for p in control):
                chain_start = chain_start if chain else here
                chain.append(control)
            here = control[-1]
            continue
        if chain:
            draft.append(beziers(chain_start, chain))
            chain = []
        if piece is None:
            break
        if isinstance(piece, Bezier):
            draft.append(Vertex(here.real, here.imag))
            here = moved(piece.control[0])
            continue
        u, v = turned(piece.u), turned(piece.v)
        if abs((u.conjugate() * v).imag) <= 1e-12 * (abs(u) ** 2 + abs(v) ** 2):
            # Squeezed flat by its transform: only a line is left.
            draft.append(Vertex(here.real, here.imag))
        else:
            path = ellipse_path(moved(piece.centre), u, v, piece.start_rad, piece.sweep_rad)
            draft += follow_on(here, path)
        here = moved(piece.end)
    draft.append(Vertex(here.real, here.imag))
    return draft
