"""Single-stroke lettering: text as open lines that a beam engraves in one pass.

The alphabet is our own, drawn on a grid of 4 by 6 units with straight strokes
only; small letters are written as capitals, accents are dropped, and a sign
that has no shape here becomes a box, so that its absence is seen.
"""

from __future__ import annotations

import math
import unicodedata
from collections.abc import Iterator
from enum import Enum

from lasernest.domain.contours import Contour, Point, Pose
from lasernest.errors import BadValueError

CAP_UNITS = 6
GAP_UNITS = 2
SPACE_UNITS = 3

# Points are two digits x, y; a blank parts points, a slash parts strokes.
_STROKES: dict[str, str] = {
    "0": "10 30 41 45 36 16 05 01 10/12 34",
    "1": "05 16 10/00 20",
    "2": "05 16 36 45 44 00 40",
    "3": "05 16 36 45 44 33 42 41 30 10 01/13 33",
    "4": "30 36 02 42",
    "5": "46 06 04 34 43 41 30 10 01",
    "6": "45 36 16 05 01 10 30 41 42 33 03",
    "7": "06 46 10",
    "8": "13 04 05 16 36 45 44 33 13 02 01 10 30 41 42 33",
    "9": "01 10 30 41 45 36 16 05 04 13 43",
    "A": "00 04 26 44 40/02 42",
    "B": "00 06 36 45 44 33 03/33 42 41 30 00",
    "C": "45 36 16 05 01 10 30 41",
    "D": "00 06 26 44 42 20 00",
    "E": "46 06 00 40/03 33",
    "F": "46 06 00/03 33",
    "G": "45 36 16 05 01 10 30 41 43 23",
    "H": "00 06/40 46/03 43",
    "I": "00 20/10 16/06 26",
    "J": "46 41 30 10 01",
    "K": "00 06/46 03 40",
    "L": "06 00 40",
    "M": "00 06 23 46 40",
    "N": "00 06 40 46",
    "O": "10 30 41 45 36 16 05 01 10",
    "P": "00 06 36 45 44 33 03",
    "Q": "10 30 41 45 36 16 05 01 10/22 40",
    "R": "00 06 36 45 44 33 03/23 40",
    "S": "45 36 16 05 04 13 33 42 41 30 10 01",
    "T": "20 26/06 46",
    "U": "06 01 10 30 41 46",
    "V": "06 20 46",
    "W": "06 10 24 30 46",
    "X": "00 46/06 40",
    "Y": "06 23 46/23 20",
    "Z": "06 46 00 40",
    "+": "21 25/03 43",
    "-": "03 33",
    ".": "00 10 11 01 00",
    ",": "11 10 00",
    ":": "01 02/04 05",
    "/": "00 46",
    "\\": "06 40",
    "(": "16 04 02 10",
    ")": "06 14 12 00",
    "=": "02 42/04 44",
    "_": "00 40",
    "#": "10 16/30 36/02 42/04 44",
    "%": "00 46/05 06 16 15 05/30 31 41 40 30",
    "±": "22 26/04 44/00 40",
    "°": "04 06 26 24 04",
    "'": "04 06",
    '"': "04 06/24 26",
    "?": "05 16 36 45 44 23 22/20 21",
    "!": "02 06/00 01",
    "<": "45 03 41",
    ">": "05 43 01",
    "*": "11 35/15 31/03 43",
    "&": "41 30 10 01 02 35 26 15 40",
}
_BOX = "00 06 46 40 00"
_SAME_AS = {"×": "X", "–": "-", "—": "-", "−": "-", "’": "'", "µ": "U", "ß": "S"}


class Align(Enum):
    """Which point of the text stands at the place given; the baseline counts for height."""

    LEFT = "left"
    CENTRE = "centre"
    RIGHT = "right"


def text_width_mm(text: str, *, height_mm: float) -> float:
    """Width of a line of text whose capitals are `height_mm` high."""
    units = sum(_width(sign) + GAP_UNITS for sign in _signs(text))
    return max(0, units - GAP_UNITS) * height_mm / CAP_UNITS


def lettering(
    text: str,
    *,
    height_mm: float,
    at: Point = (0.0, 0.0),
    align: Align = Align.LEFT,
    turn_deg: float = 0.0,
) -> tuple[Contour, ...]:
    """A line of text as open runs.

    Args:
        text: one line; an empty one gives nothing.
        height_mm: of the capitals.
        at: the point of the baseline that `align` names.
        align: where the text lies to that point.
        turn_deg: anticlockwise about that point.

    Raises:
        BadValueError: no height.
    """
    if not (math.isfinite(height_mm) and height_mm > 0):
        raise BadValueError(f"letters {height_mm:g} mm high cannot be drawn")
    unit_mm = height_mm / CAP_UNITS
    share = {Align.LEFT: 0.0, Align.CENTRE: 0.5, Align.RIGHT: 1.0}[align]
    x_mm = -share * text_width_mm(text, height_mm=height_mm)
    pose = Pose(at[0], at[1], turn_deg)
    runs: list[Contour] = []
    for sign in _signs(text):
        for stroke in _strokes(sign):
            points = [(x_mm + unit_mm * x, unit_mm * y) for x, y in stroke]
            runs.append(Contour.polyline(points).posed(pose))
        x_mm += (_width(sign) + GAP_UNITS) * unit_mm
    return tuple(runs)


def _signs(text: str) -> Iterator[str]:
    for raw in text:
        sign = _SAME_AS.get(raw, raw)
        plain = "".join(
            c for c in unicodedata.normalize("NFKD", sign) if not unicodedata.combining(c)
        )
        yield from (plain if sign not in _STROKES and plain else sign).upper()


def _strokes(sign: str) -> list[list[tuple[int, int]]]:
    if sign.isspace():
        return []
    runs = _STROKES.get(sign, _BOX).split("/")
    return [[(int(point[0]), int(point[1])) for point in run.split()] for run in runs]


def _width(sign: str) -> int:
    strokes = _strokes(sign)
    return max((x for run in strokes for x, _ in run), default=SPACE_UNITS - GAP_UNITS)
