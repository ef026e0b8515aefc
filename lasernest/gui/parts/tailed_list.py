"""A list under a heading that shows its first rows; the rest waits behind a button."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Generic, TypeVar

from PySide6.QtWidgets import QWidget

from lasernest.gui.parts.basics import Text, clear, link, vertical
from lasernest.gui.words import tr

Item = TypeVar("Item")


class TailedList(QWidget, Generic[Item]):
    """What lists of joints and proposals share; hidden while there is nothing to show."""

    def __init__(self, *, first: int, gap: int) -> None:
        """Args: `first` rows are shown before the button is pressed."""
        super().__init__()
        self._column = vertical(self, gap=gap)
        self._first = first
        self._shown: tuple[Item, ...] = ()
        self._all = False
        self.hide()

    def heading(self, count: int) -> str:
        """What stands above so many rows."""
        raise NotImplementedError

    def row(self, index: int, item: Item) -> QWidget:
        """A row for one of them."""
        raise NotImplementedError

    def show_items(self, items: Sequence[Item], *, unfold: bool = False) -> None:
        """Show these.

        Args:
            items: nothing happens when they are shown already.
            unfold: a list that was unfolded stays so.
        """
        if tuple(items) != self._shown:
            self._shown = tuple(items)
            self._all = self._all and unfold
            self._fill()

    def _fill(self) -> None:
        clear(self._column)
        count = len(self._shown)
        self._column.addWidget(Text(self.heading(count), strong=True))
        shown = self._shown if self._all else self._shown[: self._first]
        for index, item in enumerate(shown):
            self._column.addWidget(self.row(index, item))
        if count > len(shown):
            more = tr("Show {n} more", n=count - len(shown))
            self._column.addWidget(link(more, self._show_all))
        self.setVisible(count > 0)

    def _show_all(self) -> None:
        self._all = True
        self._fill()
