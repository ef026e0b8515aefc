"""What the lines of a drawing are for, decided by layer or colour.

A `LineUses` is the table that the maker edits: layer names and colours, each
with a use. What the table does not name falls back to the preset, which knows
the trade's words in layer names. A colour alone never has a preset: no
standard gives colours a meaning.
"""

from __future__ import annotations

import re
from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date

from lasernest.domain.drawing import LineUse
from lasernest.errors import BadValueError

USE_OPTION = "--use"
"""The option of the command line that takes rows of the table."""

_PRESET: tuple[tuple[LineUse, re.Pattern[str]], ...] = (
    (
        LineUse.IGNORE,
        re.compile(
            r"^(sheet|defpoints)$|\b(construction|guides?|grid|dim|dims|dimensions?|notes?|"
            r"title ?block|border|frame border|viewports?|hidden)\b"
        ),
    ),
    (
        LineUse.SCORE,
        re.compile(r"\b(scor(e|es|ed|ing)|folds?|folding|creas(e|es|ing)|bend|bends)\b"),
    ),
    (
        LineUse.ENGRAVE,
        re.compile(r"\b(engrav(e|es|ed|ing)|etch(ed|ing)?|marks?|marking|text|raster)\b"),
    ),
)


def preset_use(layer: str) -> LineUse:
    """The use that a layer's name suggests: cut, unless a word in it says otherwise.

    Source: common practice, no source.
    """
    words = re.sub(r"[\W_]+", " ", layer.lower()).strip()
    for use, pattern in _PRESET:
        if pattern.search(words):
            return use
    return LineUse.CUT


@dataclass(frozen=True, slots=True)
class LineUses:
    """The maker's table of line uses; layers count before colours, case does not matter."""

    layers: tuple[tuple[str, LineUse], ...] = ()
    colours: tuple[tuple[str, LineUse], ...] = ()
    """`#rrggbb` and its use."""

    def use_of(self, layer: str, colour: str | None = None) -> LineUse:
        """What a line on this layer and of this colour is for."""
        stated = self.stated_for(layer, colour)
        return preset_use(layer) if stated is None else stated

    def stated_for(self, layer: str, colour: str | None = None) -> LineUse | None:
        """The use the table itself states, None where it is silent."""
        wanted = layer.lower()
        for name, use in self.layers:
            if name.lower() == wanted:
                return use
        if colour is not None:
            wanted = colour.lower()
            for name, use in self.colours:
                if name.lower() == wanted:
                    return use
        return None

    def with_layer(self, layer: str, use: LineUse) -> LineUses:
        """The table with this layer's use changed or added."""
        return LineUses((*self.without_layer(layer).layers, (layer, use)), self.colours)

    def with_colour(self, colour: str, use: LineUse) -> LineUses:
        """The table with this colour's use changed or added."""
        kept = self.without_colour(colour).colours
        return LineUses(self.layers, (*kept, (colour.lower(), use)))

    def without_layer(self, layer: str) -> LineUses:
        """The table with nothing stated for this layer."""
        return LineUses(
            tuple(row for row in self.layers if row[0].lower() != layer.lower()), self.colours
        )

    def without_colour(self, colour: str) -> LineUses:
        """The table with nothing stated for this colour."""
        return LineUses(
            self.layers, tuple(row for row in self.colours if row[0].lower() != colour.lower())
        )

    def with_row(self, row: str) -> LineUses:
        """The table with one more row, written `LAYER=score` or `#ff0000=engrave`.

        Raises:
            BadValueError: not a name and a use.
        """
        name, equals, use = row.rpartition("=")
        try:
            wanted = LineUse(use.strip().lower())
        except ValueError:
            wanted = None
        if not equals or wanted is None or not name.strip():
            raise BadValueError(
                f"'{row}' does not say what a line is for",
                todo="Write LAYER=USE or #rrggbb=USE; uses are cut, score, engrave, ignore.",
            )
        name = name.strip()
        if re.fullmatch(r"#[0-9a-fA-F]{6}", name):
            return self.with_colour(name, wanted)
        return self.with_layer(name, wanted)

    @property
    def is_silent(self) -> bool:
        """True when the table states nothing."""
        return not (self.layers or self.colours)

    def only_for(self, layers: Iterable[str], colours: Iterable[str | None]) -> LineUses:
        """The rows that speak of these layers and colours."""
        names = {name.lower() for name in layers}
        inks = {colour.lower() for colour in colours if colour is not None}
        return LineUses(
            tuple(row for row in self.layers if row[0].lower() in names),
            tuple(row for row in self.colours if row[0].lower() in inks),
        )


@dataclass(frozen=True, slots=True)
class RememberedUses:
    """A table that the maker made for one drawing, for the next one with the same layers."""

    layers: tuple[str, ...]
    """Names of all layers of the drawing, in small letters, sorted."""
    uses: LineUses
    drawing: str
    """Name of the file it was made for."""
    on: date

    @staticmethod
    def layers_of(names: Iterable[str]) -> tuple[str, ...]:
        """Layer names in the form that `layers` has."""
        return tuple(sorted({name.lower() for name in names}))

    def fits(self, layers: Iterable[str], colours: Iterable[str | None]) -> bool:
        """True for a drawing with these very layers that has every colour of the table."""
        known = {colour.lower() for colour in colours if colour is not None}
        return self.layers == self.layers_of(layers) and all(
            colour.lower() in known for colour, _ in self.uses.colours
        )
