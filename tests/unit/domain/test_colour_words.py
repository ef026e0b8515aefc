"""Words for colours, against the names that CSS gives to numbers.

Source: W3C, CSS Color Module Level 4, section 6.1, named colors (red #ff0000 and so on).
"""

from __future__ import annotations

import pytest

from lasernest.domain.colour_words import colour_word, named_apart

# Its name, its number, and our word where the name is one of fashion (lime, navy, teal).
CSS = (
    ("red", "#ff0000", ""),
    ("orange", "#ffa500", ""),
    ("yellow", "#ffff00", ""),
    ("green", "#008000", "dark green"),
    ("lime", "#00ff00", "green"),
    ("cyan", "#00ffff", ""),
    ("blue", "#0000ff", ""),
    ("blueviolet", "#8a2be2", "violet"),
    ("magenta", "#ff00ff", ""),
    ("saddlebrown", "#8b4513", "brown"),
    ("darkred", "#8b0000", "dark red"),
    ("darkgreen", "#006400", "dark green"),
    ("darkcyan", "#008b8b", "dark cyan"),
    ("darkmagenta", "#8b008b", "dark magenta"),
    ("navy", "#000080", "dark blue"),
    ("lightblue", "#add8e6", "light blue"),
    ("lightgreen", "#90ee90", "light green"),
    ("black", "#000000", ""),
    ("dimgrey", "#696969", "grey"),
    ("grey", "#808080", ""),
    ("lightgrey", "#d3d3d3", "light grey"),
    ("white", "#ffffff", ""),
)


@pytest.mark.parametrize(("name", "number", "ours"), CSS)
def test_a_colour_has_the_word_a_maker_would_say(name: str, number: str, ours: str) -> None:
    assert colour_word(number) == (ours or name)
    assert colour_word(number.upper()) == (ours or name)


def test_what_is_no_colour_stays() -> None:
    assert colour_word("CUT") == "CUT"
    assert colour_word("#ff00") == "#ff00"


def test_colours_that_share_a_word_are_told_apart() -> None:
    assert named_apart(["#ff0000", "#0000ff", "#0000f0"]) == {
        "#ff0000": "red",
        "#0000ff": "blue #0000ff",
        "#0000f0": "blue #0000f0",
    }
