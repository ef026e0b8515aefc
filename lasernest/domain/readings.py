"""Readings: what somebody measured or felt on a test piece.

A reading is kept as it was taken, in millimetres, and never changed by what
is worked out from it (`lasernest.kerf`). Terms: a *strip*, *block*, *plug*
and *hole*, *part* and *tongue* are pieces of the test comb or of any other
test cut; *drawn* sizes are those of the line the beam followed.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, field
from enum import Enum

from lasernest.errors import BadValueError
from lasernest.units import parse_length_mm


class Method(Enum):
    """How kerf was measured. Source of the algebra: see `lasernest.kerf.readings`."""

    FRAME = "frame"
    """Strips cut out of a window by one cut more than there are strips, slid together:
    number of strips, gap left over."""
    BLOCK = "block"
    """A strip cut into pieces, pushed together again: length before, after, pieces."""
    PAIR = "pair"
    """A plug and the hole of the same drawn size: plug, hole, drawn size if known."""
    PART = "part"
    """One part: drawn size, measured size."""
    COMB = "comb"
    """A tongue tried in graded slots: tongue, drawn width of the last slot it entered,
    of the first that refused it."""
    MASS = "mass"
    """Loss of mass of a sheet: grams, cut length, thickness, density in g/cm3."""

    @property
    def parts(self) -> tuple[str, ...]:
        """What each number is, in the order they are written."""
        return _PARTS[self]

    @property
    def form(self) -> str:
        """How readings of this method are written."""
        parts = [f"[:{p}]" if p in _MAY_BE_MISSING else f":{p}" for p in self.parts]
        return f"{self.value}={''.join(parts)[1:]}"


_PARTS = {
    Method.FRAME: ("STRIPS", "GAP"),
    Method.BLOCK: ("BEFORE", "AFTER", "PIECES"),
    Method.PAIR: ("PLUG", "HOLE", "NOMINAL"),
    Method.PART: ("DRAWN", "MEASURED"),
    Method.COMB: ("TONGUE", "LAST_ENTERING", "FIRST_REFUSING"),
    Method.MASS: ("GRAMS", "LENGTH", "THICKNESS", "DENSITY"),
}
_PLAIN_NUMBERS = frozenset({"STRIPS", "PIECES", "GRAMS", "DENSITY"})
"""Numbers that are not lengths."""
_MAY_BE_MISSING = frozenset({"NOMINAL"})


class Axis(Enum):
    """Along which direction of the sheet was measured."""

    BOTH = ""
    X = "x"
    Y = "y"


class Face(Enum):
    """At which face of the sheet; a calliper feels the widest place of a part."""

    CALLIPER = ""
    TOP = "top"
    BOTTOM = "bottom"


@dataclass(frozen=True, slots=True)
class Reading:
    """One reading; lengths in mm, counts as they are."""

    method: Method
    numbers: tuple[float, ...]
    axis: Axis = Axis.BOTH
    face: Face = Face.CALLIPER
    used: bool = True
    """False when the maker set it aside, as an outlier for instance."""
    note: str = field(default="", compare=False)

    def __post_init__(self) -> None:
        parts = self.method.parts
        least = sum(1 for part in parts if part not in _MAY_BE_MISSING)
        if not least <= len(self.numbers) <= len(parts):
            raise BadValueError(
                f"a {self.method.value} reading has {len(self.numbers)} numbers",
                todo=f"Write it like {self.method.form}.",
            )
        for part, number in zip(parts, self.numbers, strict=False):
            if not (math.isfinite(number) and number >= 0) or (number == 0 and part != "GAP"):
                raise BadValueError(
                    f"a {part.lower().replace('_', ' ')} of {number:g} cannot be",
                    todo="Give a number above zero.",
                )
            if part in ("STRIPS", "PIECES") and not float(number).is_integer():
                raise BadValueError(
                    f"{number:g} {part.lower()} cannot be", todo="Count them: a whole number."
                )
        if self.method is Method.BLOCK and self.numbers[2] < 2:
            raise BadValueError(
                "a block in one piece was not cut", todo="Give the number of pieces, 2 or more."
            )
        if self.method is Method.COMB and self.numbers[1] < self.numbers[2]:
            raise BadValueError(
                f"a tongue that enters a slot of {self.numbers[1]:g} mm cannot refuse one of "
                f"{self.numbers[2]:g} mm",
                todo="Give the narrowest slot it enters, then the next narrower one.",
            )

    def text(self) -> str:
        """The reading as it is written on the command line, lengths in mm."""
        places = [p.value for p in (self.axis, self.face) if p.value]
        numbers = ":".join(f"{number:.10g}" for number in self.numbers)
        return ":".join([*places, f"{self.method.value}={numbers}"])


def parse_reading(text: str) -> Reading:
    """Read `METHOD=NUMBERS`, numbers parted by `:`, with `x:`, `y:`, `top:`, `bottom:` before.

    Lengths may carry a unit (`frame=10:0.037in`); without one they are mm.

    Raises:
        BadValueError: no such method, or numbers that cannot be.
    """
    head, equals, tail = text.strip().partition("=")
    *places, name = [word.strip().lower() for word in head.split(":")]
    methods = {method.value: method for method in Method}
    if not equals or name not in methods:
        raise BadValueError(
            f"'{text}' is not a reading",
            todo=f"Write METHOD=NUMBERS with {', '.join(methods)}, like frame=10:2.09.",
        )
    axis, face = Axis.BOTH, Face.CALLIPER
    for place in places:
        if place in ("x", "y"):
            axis = Axis(place)
        elif place in ("top", "bottom"):
            face = Face(place)
        else:
            raise BadValueError(
                f"'{place}' in '{text}' is no place of a reading",
                todo="Put x, y, top or bottom before the method, like x:frame=10:2.09.",
            )
    method = methods[name]
    words = tail.split(":")
    parts = method.parts
    if len(words) > len(parts):
        raise BadValueError(
            f"'{text}' has {len(words)} numbers",
            todo=f"Write it like {method.form}.",
        )
    numbers = tuple(
        parse_length_mm(word) if is_length(part) else _plain_number(word, text)
        for word, part in zip(words, parts, strict=False)
    )
    return Reading(method, numbers, axis, face)


def is_length(part: str) -> bool:
    """True when this number of a reading is a length and may be given in inches."""
    return part not in _PLAIN_NUMBERS


def _plain_number(word: str, text: str) -> float:
    try:
        value = float(word.strip().replace(",", "."))
    except ValueError:
        value = math.nan
    if not math.isfinite(value):
        raise BadValueError(f"'{word}' in '{text}' is not a number", todo="Check the reading.")
    return value


class Feel(Enum):
    """How a tongue or finger goes into a slot or gap, from loose to tight."""

    FALLS = "falls through"
    SLIDES = "slides"
    PUSH = "push"
    PRESS = "press"
    MALLET = "mallet"
    REFUSES = "no"

    @property
    def rank(self) -> int:
        """0 for the loosest."""
        return list(Feel).index(self)


class Rung(Enum):
    """What was tried."""

    SLOT = "slot"
    """The sheet's own thickness in a drawn slot."""
    GAP = "gap"
    """A cut finger in a cut gap."""


@dataclass(frozen=True, slots=True)
class FeelReading:
    """How one rung of the fit ladder went together.

    `finger_mm` is the drawn width of the finger for a GAP, the measured
    thickness for a SLOT; `gap_mm` the drawn width of the gap or slot.
    """

    rung: Rung
    finger_mm: float
    gap_mm: float
    feel: Feel

    def __post_init__(self) -> None:
        for value in (self.finger_mm, self.gap_mm):
            if not (math.isfinite(value) and value > 0):
                raise BadValueError(f"a width of {value:g} mm cannot be")

    def interference_mm(self, kerf_mm: float) -> float:
        """Finger minus gap after cutting with this kerf.

        A slot loses one kerf to the beam; a finger and its gap one each.
        """
        cuts = 1 if self.rung is Rung.SLOT else 2
        return self.finger_mm - self.gap_mm - cuts * kerf_mm
