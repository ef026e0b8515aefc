"""The figures of a comparison as a table: a row for each figure, a column for each stock."""

from __future__ import annotations

from collections.abc import Sequence

from PySide6.QtCore import Qt
from PySide6.QtWidgets import QGridLayout, QWidget

from lasernest.domain.comparison import ComparisonRow
from lasernest.gui.guide.book import anchor_of
from lasernest.gui.guide.why import WhyMark
from lasernest.gui.lengths import lengths
from lasernest.gui.parts.basics import Text, clear, horizontal, rule
from lasernest.gui.words import tr

_RIGHT = Qt.AlignmentFlag.AlignRight | Qt.AlignmentFlag.AlignVCenter


def _texts(row: ComparisonRow) -> tuple[str, ...]:
    """A row's figures in the maker's unit; paper and table files stay in millimetres."""
    show = {"mm": lengths.path, "mm2": lengths.area}.get(row.unit) if lengths.inches else None
    if show is None:
        return row.texts
    return tuple(
        text if value is None else show(value)
        for value, text in zip(row.values, row.texts, strict=True)
    )


class FigureTable(QWidget):
    """All rows; made anew when they change."""

    def __init__(self) -> None:
        super().__init__()
        self._grid = QGridLayout(self)
        self._grid.setContentsMargins(0, 0, 0, 0)
        self._grid.setHorizontalSpacing(8)
        self._grid.setVerticalSpacing(4)
        self._shown: tuple[object, ...] = ()
        self.setAccessibleName(tr("Figures of the compared stocks"))

    def show_rows(self, corner: str, heads: Sequence[str], rows: Sequence[ComparisonRow]) -> None:
        """Show these figures.

        Args:
            corner: above the names of the figures.
            heads: names of the columns.
            rows: in order.
        """
        shown = (corner, tuple(heads), tuple((row.name, _texts(row)) for row in rows))
        if shown == self._shown:
            return
        self._shown = shown
        clear(self._grid)
        self._grid.setColumnStretch(0, 3)  # names stay in one line while there is room
        self._grid.addWidget(Text(corner, kind="quiet", wrap=not heads), 0, 0)
        for column, head in enumerate(heads):
            stock = Text(head, strong=True, wrap=True)
            stock.setAlignment(_RIGHT)
            self._grid.addWidget(stock, 0, column + 1)
            self._grid.setColumnStretch(column + 1, 2)
        for number, row in enumerate(rows, start=1):
            self._grid.addWidget(rule(), 2 * number - 1, 0, 1, len(heads) + 1)
            name = row.figure.value
            named = horizontal(gap=6)
            named.addWidget(Text(row.name, kind="quiet", wrap=True))
            named.addWidget(WhyMark(tr(name), f"figures#{anchor_of(name)}"))
            named.addStretch(1)
            self._grid.addLayout(named, 2 * number, 0)
            for column, text in enumerate(_texts(row)):
                value = Text(text, strong=True)
                value.setAlignment(_RIGHT)
                value.setTextInteractionFlags(Qt.TextInteractionFlag.TextSelectableByMouse)
                value.setAccessibleName(f"{row.name}, {heads[column]}: {text}")
                self._grid.addWidget(value, 2 * number, column + 1)

    def texts(self) -> dict[str, tuple[str, ...]]:
        """What is shown, by the name of the figure."""
        rows = self._shown[2] if self._shown else ()
        assert isinstance(rows, tuple)
        return dict(rows)
