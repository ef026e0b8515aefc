"""What the lines of the drawings are for, by layer and by colour, to be changed.

A use stated for a layer counts before one stated for a colour; where neither is
stated the layer's name decides, and each row says which of them it is.
"""

from __future__ import annotations

from collections.abc import Sequence
from functools import partial

from PySide6.QtCore import QRectF, QSize, Signal
from PySide6.QtGui import QColor, QPainter, QPaintEvent, QPen
from PySide6.QtWidgets import QSizePolicy, QWidget

from lasernest.domain.colour_words import named_apart
from lasernest.domain.drawing import LineUse
from lasernest.domain.line_uses import LineUses, preset_use
from lasernest.gui.look.theme import TextSize, theme
from lasernest.gui.parts.basics import Text, clear, horizontal, link, vertical
from lasernest.gui.parts.fields import ChoiceField
from lasernest.gui.words import count_of, tr
from lasernest.job import Source
from lasernest.services.drawing_names import names_apart

_ROWS_AT_ONCE = 40
"""Layers, and colours, of a drawing that are shown before more are asked for."""


class LineUseTable(QWidget):
    """One block for each drawing: its layers and its colours, each with a use."""

    picked = Signal(object, object)
    """The `Source`, and the `LineUses` that its drawing should be read with."""

    def __init__(self) -> None:
        super().__init__()
        column = vertical(self, gap=4)
        self._head = link("", self._turn, tip=tr("Cut, score, engrave or leave out"))
        column.addWidget(self._head)
        self._body = QWidget()
        column.addWidget(self._body)
        self._rows_column = vertical(self._body, gap=4)
        self._sources: tuple[Source, ...] = ()
        self._open = False
        self._most: dict[str, int] = {}
        """How many rows were asked for, by path, where it is more than usual."""
        self.fields: dict[tuple[str, str], ChoiceField] = {}
        """By file name and layer or colour, as shown."""
        self.hide()

    def show_sources(self, sources: Sequence[Source]) -> None:
        """Show the lines of these drawings."""
        shown = tuple(source for source in sources if source.lines)
        if shown == self._sources:
            return
        self._sources = shown
        self.setVisible(bool(shown))
        self._fill()

    def open(self) -> None:
        """Show the rows."""
        self._open = True
        self._fill()

    def _turn(self) -> None:
        self._open = not self._open
        self._fill()

    def _fill(self) -> None:
        clear(self._rows_column)
        self.fields = {}
        layers = {kind.layer for source in self._sources for kind in source.lines}
        colours = {kind.colour for source in self._sources for kind in source.lines} - {None}
        what = count_of(len(layers), "layer", "layers")
        if colours:
            what += ", " + count_of(len(colours), "colour", "colours")
        sign = "▾" if self._open else "▸"
        self._head.setText(f"{sign} " + tr("What lines are for: {what}", what=what))
        self._body.setVisible(self._open)
        if self._open:
            for source, name in zip(self._sources, names_apart(self._sources), strict=True):
                self._fill_source(source, name)

    def _fill_source(self, source: Source, name: str) -> None:
        most = self._most.get(source.path, _ROWS_AT_ONCE)
        if len(self._sources) > 1:
            self._rows_column.addWidget(Text(name, kind="quiet", size=TextSize.SMALL))
        layers: dict[str, int] = {}
        colours: dict[str, int] = {}
        for kind in source.lines:
            layers[kind.layer] = layers.get(kind.layer, 0) + kind.count
            if kind.colour is not None:
                colours[kind.colour] = colours.get(kind.colour, 0) + kind.count
        uses = source.choices.uses
        hidden = {kind.layer for kind in source.lines if kind.hidden}
        for layer, count in list(layers.items())[:most]:
            left_out = layer in hidden
            usual = LineUse.IGNORE if left_out else preset_use(layer)
            otherwise = tr("usual: {use}", use=_use_texts()[usual])
            text = layer or tr("without a layer")
            row = _Row(None, text, count, _stated(uses.layers, layer), otherwise)
            why = tr("hidden in the drawing") if left_out else tr("usual is what its name says")
            row.explain(why)
            row.field.picked.connect(partial(self._pick_layer, source, layer))
            self.fields[(name, layer)] = row.field
            self._rows_column.addWidget(row)
        if len(colours) > 1 or uses.colours:
            names = named_apart(colours)
            for colour, count in list(colours.items())[:most]:
                stated = _stated(uses.colours, colour)
                row = _Row(colour, names[colour], count, stated, tr("as its layer"))
                row.explain(colour)
                row.field.picked.connect(partial(self._pick_colour, source, colour))
                self.fields[(name, colour)] = row.field
                self._rows_column.addWidget(row)
        more = max(len(layers), len(colours)) - most
        if more > 0:
            text = tr("Show {count} more", count=min(more, _ROWS_AT_ONCE))
            shows = partial(self._show_more, source, most + _ROWS_AT_ONCE)
            self._rows_column.addWidget(link(text, shows))

    def _show_more(self, source: Source, most: int) -> None:
        self._most[source.path] = most
        self._fill()

    def _pick_layer(self, source: Source, layer: str, use: LineUse | None) -> None:
        uses = source.choices.uses
        self.picked.emit(
            source, uses.without_layer(layer) if use is None else uses.with_layer(layer, use)
        )

    def _pick_colour(self, source: Source, colour: str, use: LineUse | None) -> None:
        uses = source.choices.uses
        self.picked.emit(
            source, uses.without_colour(colour) if use is None else uses.with_colour(colour, use)
        )


def _use_texts() -> dict[LineUse, str]:
    return {
        LineUse.CUT: tr("cut"),
        LineUse.SCORE: tr("score"),
        LineUse.ENGRAVE: tr("engrave"),
        LineUse.IGNORE: tr("leave out"),
    }


def _stated(rows: Sequence[tuple[str, LineUse]], name: str) -> LineUse | None:
    return LineUses(tuple(rows)).stated_for(name)


class _Row(QWidget):
    """A layer or a colour: its name, how many lines, what they are for."""

    def __init__(
        self, colour: str | None, name: str, count: int, stated: LineUse | None, otherwise: str
    ) -> None:
        super().__init__()
        row = horizontal(self, gap=8)
        if colour is not None:
            row.addWidget(_Swatch(colour))
        # In full: names of layers are often alike but for a number in their midst.
        row.addWidget(Text(name, wrap=True), 1)
        row.addWidget(Text(f"× {count}", kind="quiet", size=TextSize.SMALL))
        self.field = ChoiceField()
        self.field.offer(
            [
                (otherwise, None),
                *((text, use) for use, text in _use_texts().items()),
            ],
            stated,
        )
        self.field.setFixedWidth(theme.pixels(136))
        self.field.setAccessibleName(tr("What the lines of {name} are for", name=name))
        self.setToolTip(tr("{name}: {what}", name=name, what=count_of(count, "line", "lines")))
        row.addWidget(self.field)

    def explain(self, more: str) -> None:
        """Say more in the tip."""
        self.setToolTip(f"{self.toolTip()}, {more}")


class _Swatch(QWidget):
    """A small square of a drawing's colour."""

    def __init__(self, colour: str) -> None:
        super().__init__()
        self._colour = QColor(colour)
        self.setSizePolicy(QSizePolicy.Policy.Fixed, QSizePolicy.Policy.Fixed)

    def sizeHint(self) -> QSize:  # noqa: N802 - Qt's name
        return QSize(theme.pixels(14), theme.pixels(14))

    def paintEvent(self, event: QPaintEvent) -> None:  # noqa: N802 - Qt's name
        painter = QPainter(self)
        painter.setPen(QPen(theme.colour("faint"), 1.0))
        painter.setBrush(self._colour)
        painter.drawRect(QRectF(self.rect()).adjusted(0.5, 0.5, -0.5, -0.5))
        painter.end()
