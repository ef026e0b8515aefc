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
    """All rows; while stocks are compared only what changed in them is made or told anew."""

    def __init__(self) -> None:
        super().__init__()
        self._grid = QGridLayout(self)
        self._grid.setContentsMargins(0, 0, 0, 0)
        self._grid.setHorizontalSpacing(8)
        self._grid.setVerticalSpacing(4)
        self._shown: tuple[object, ...] = ()
        self._named: tuple[object, ...] = ()
        """What the rows are; with others all is made anew."""
        self._corner = Text()
        self._columns: list[list[Text]] = []
        """Of each stock its name, then its figures."""
        self.setAccessibleName(tr("Figures of the compared stocks"))

    def show_rows(self, corner: str, heads: Sequence[str], rows: Sequence[ComparisonRow]) -> None:
        """Show these figures.

        Args:
            corner: above the names of the figures.
            heads: names of the columns.
            rows: in order.
        """
        texts = [_texts(row) for row in rows]
        shown = (
            corner,
            tuple(heads),
            tuple((row.name, told) for row, told in zip(rows, texts, strict=True)),
        )
        if shown == self._shown:
            return
        self._shown = shown
        named = (bool(heads), *((row.figure, row.name) for row in rows))
        if named != self._named or len(heads) < len(self._columns):
            self._named = named
            self._begin(rows, wrap=not heads)
        self._corner.setText(corner)
        while len(self._columns) < len(heads):
            self._add_column(len(rows))
        for i, (head, column) in enumerate(zip(heads, self._columns, strict=True)):
            column[0].setText(head)
            for row, told, value in zip(rows, texts, column[1:], strict=True):
                value.setText(told[i])
                value.setAccessibleName(f"{row.name}, {head}: {told[i]}")

    def _begin(self, rows: Sequence[ComparisonRow], *, wrap: bool) -> None:
        """The names of the figures, without any column yet."""
        clear(self._grid)
        for column in range(1, len(self._columns) + 1):
            self._grid.setColumnStretch(column, 0)
        self._columns.clear()
        self._grid.setColumnStretch(0, 3)  # names stay in one line while there is room
        self._corner = Text(kind="quiet", wrap=wrap)
        self._grid.addWidget(self._corner, 0, 0)
        for number, row in enumerate(rows, start=1):
            self._grid.addWidget(rule(), 2 * number - 1, 0, 1, -1)
            name = row.figure.value
            named = horizontal(gap=6)
            named.addWidget(Text(row.name, kind="quiet", wrap=True))
            named.addWidget(WhyMark(tr(name), f"figures#{anchor_of(name)}"))
            named.addStretch(1)
            self._grid.addLayout(named, 2 * number, 0)

    def _add_column(self, rows: int) -> None:
        at = len(self._columns) + 1
        head = Text(strong=True, wrap=True)
        values = [Text(strong=True) for _ in range(rows)]
        for number, value in enumerate([head, *values]):
            value.setAlignment(_RIGHT)
            self._grid.addWidget(value, 2 * number, at)
        for value in values:
            value.setTextInteractionFlags(Qt.TextInteractionFlag.TextSelectableByMouse)
        self._grid.setColumnStretch(at, 2)
        self._columns.append([head, *values])

    def texts(self) -> dict[str, tuple[str, ...]]:
        """What is shown, by the name of the figure."""
        rows = self._shown[2] if self._shown else ()
        assert isinstance(rows, tuple)
        return dict(rows)
