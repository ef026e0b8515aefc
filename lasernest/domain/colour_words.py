"""What a maker calls a colour of a drawing: red, dark green, light grey.

Drawings state colours as `#rrggbb`, which nobody reads. The words here are for
telling; what is kept and typed stays the number.

Limits: a word stands for many colours, so several that share one are told with
their numbers (`named_apart`).
"""

from __future__ import annotations

import colorsys
import re
from collections import Counter
from collections.abc import Iterable

_HUES: tuple[tuple[float, str], ...] = (
    (15.0, "red"),
    (45.0, "orange"),
    (70.0, "yellow"),
    (165.0, "green"),
    (190.0, "cyan"),
    (255.0, "blue"),
    (290.0, "violet"),
    (335.0, "magenta"),
    (360.0, "red"),
)
"""Up to this angle of the colour wheel, in degrees (common practice, no source)."""

_GREYS: tuple[tuple[float, str], ...] = (
    (0.08, "black"),
    (0.4, "dark grey"),
    (0.7, "grey"),
    (0.97, "light grey"),
    (1.0, "white"),
)
"""Up to this lightness, 0 to 1."""

_COLOURLESS = 0.12
"""A smaller difference of the strongest and the weakest part is a grey."""
_DARK, _LIGHT, _BROWN = 0.3, 0.72, 0.4


def colour_word(colour: str) -> str:
    """The word for a colour `#rrggbb`; anything else comes back as it is."""
    if not re.fullmatch(r"#[0-9a-fA-F]{6}", colour):
        return colour
    red, green, blue = (int(colour[i : i + 2], 16) / 255.0 for i in (1, 3, 5))
    hue, lightness, _ = colorsys.rgb_to_hls(red, green, blue)
    if max(red, green, blue) - min(red, green, blue) < _COLOURLESS:
        return next(word for most, word in _GREYS if lightness <= most)
    word = next(word for most, word in _HUES if hue * 360.0 <= most)
    if word == "orange" and lightness < _BROWN:
        return "brown"
    shade = "dark " if lightness < _DARK else "light " if lightness > _LIGHT else ""
    return shade + word


def named_apart(colours: Iterable[str]) -> dict[str, str]:
    """A name for each colour; those that share a word are told apart by their numbers."""
    words = {colour: colour_word(colour) for colour in colours}
    count = Counter(words.values())
    return {
        colour: word if count[word] == 1 or word == colour else f"{word} {colour}"
        for colour, word in words.items()
    }
