"""Find a command by a few letters of it: everything the menu holds, and the guide's sections.

A frame over the window, not a dialog: the board stays in sight, Escape or a
click elsewhere puts it away, and the keys go back to where they were.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass

from PySide6.QtCore import (
    QEvent,
    QModelIndex,
    QObject,
    QPersistentModelIndex,
    QRectF,
    QSize,
    Qt,
)
from PySide6.QtGui import QFontMetricsF, QKeyEvent, QPainter
from PySide6.QtWidgets import (
    QFrame,
    QLineEdit,
    QListWidget,
    QListWidgetItem,
    QStyle,
    QStyledItemDelegate,
    QStyleOptionViewItem,
    QWidget,
)

from lasernest.gui.look.theme import TextSize, theme
from lasernest.gui.parts.basics import Text, give_focus_back, vertical
from lasernest.gui.words import tr

_WIDTH = 560
_ROW_PX = 32
_ROWS = 9
_NEVER = 9
_BY_WORDS = 1
"""Up to this rank the words typed are words of the text, or begin them."""
_HIT = Qt.ItemDataRole.UserRole
_Index = QModelIndex | QPersistentModelIndex


@dataclass(frozen=True, slots=True)
class Hit:
    """One thing that can be found and done."""

    text: str
    group: str
    run: Callable[[], object]
    keys: str = ""
    explain: str = ""
    possible: bool = True
    to_read: bool = False
    """A section of the guide, which comes after what can be done and matches as well."""


def best_hits(hits: Iterable[Hit], typed: str) -> list[Hit]:
    """Those that hold every typed word, the likeliest first; all of them for no word."""
    words = typed.casefold().split()
    ranked = [(_rank(hit, words), i, hit) for i, hit in enumerate(hits)]

    def place(one: tuple[int, int, Hit]) -> tuple[int, bool, int, int]:
        rank, i, hit = one
        return max(rank, _BY_WORDS), hit.to_read, rank, i

    return [hit for rank, _, hit in sorted(ranked, key=place) if rank < _NEVER]


def _rank(hit: Hit, words: Sequence[str]) -> int:
    """0 is best; words that begin a word of the text count more than words within one."""
    text = hit.text.casefold()
    starts = text.replace("-", " ").split()
    around = f"{text} {hit.group.casefold()} {hit.explain.casefold()} {hit.keys.casefold()}"
    if words and text.startswith(" ".join(words)):
        return 0
    if all(any(start.startswith(word) for start in starts) for word in words):
        return 1
    if all(word in text for word in words):
        return 2
    return 3 if all(word in around for word in words) else _NEVER


class CommandSearch(QFrame):
    """The field and the list below it."""

    def __init__(self, window: QWidget, hits: Callable[[], Sequence[Hit]]) -> None:
        """Args: `hits` is asked each time the search opens, since some come and go."""
        super().__init__(window)
        self._window = window
        self._collect = hits
        self._hits: Sequence[Hit] = ()
        self._focus_before: QWidget | None = None
        self._most = _ROWS
        """Rows that the window has room for."""
        self.setProperty("kind", "float")
        column = vertical(self, gap=6)
        column.setContentsMargins(12, 12, 12, 12)
        self.field = QLineEdit()
        self.field.setPlaceholderText(tr("What do you want to do?"))
        self.field.setAccessibleName(tr("Find a command"))
        self.field.setToolTip(tr("Type a few letters; Up and Down choose, Enter does it"))
        self.field.textChanged.connect(self._fill)
        self.field.installEventFilter(self)
        self.list = QListWidget()
        self.list.setProperty("kind", "rows")
        self.list.setAccessibleName(tr("Commands found"))
        self.list.setFocusPolicy(Qt.FocusPolicy.NoFocus)
        self.list.setHorizontalScrollBarPolicy(Qt.ScrollBarPolicy.ScrollBarAlwaysOff)
        self.list.setItemDelegate(_HitDelegate(self.list))
        self.list.itemClicked.connect(self._do)
        self.none = Text(tr("No command has that name. Try another word."), kind="quiet")
        for part in (self.field, self.list, self.none):
            column.addWidget(part)
        theme.changed.connect(self._dress)
        self._dress()
        self.hide()

    def _dress(self) -> None:
        self.field.setFont(theme.font())
        self.list.setFont(theme.font())
        self.setFixedWidth(theme.pixels(_WIDTH))
        self._size_list()

    def _size_list(self) -> None:
        """As high as what was found, as far as the window has room; or the word on nothing."""
        count = self.list.count()
        self.list.setFixedHeight(min(count, self._most) * theme.pixels(_ROW_PX) + 4)
        self.list.setVisible(count > 0)
        self.none.setVisible(count == 0)
        self.adjustSize()

    # --- opening and closing -------------------------------------------------------------

    def open(self) -> None:
        """Show the search, empty, with the keys in its field."""
        window = self._window
        self._focus_before = window.focusWidget()
        self._hits = self._collect()
        top = min(theme.pixels(96), window.height() // 8)
        self.setFixedWidth(min(theme.pixels(_WIDTH), window.width() - 24))
        row, around = theme.pixels(_ROW_PX), theme.pixels(80)
        self._most = min(_ROWS, max(3, (window.height() - top - around) // row))
        self.field.clear()
        self._fill()
        self.move(max(0, (window.width() - self.width()) // 2), top)
        self.show()
        self.raise_()
        self.field.setFocus(Qt.FocusReason.ShortcutFocusReason)

    def close_search(self) -> None:
        """Put it away; the keys go back to where they were."""
        if not self.isHidden():
            self.hide()
            give_focus_back(self._window, self._focus_before)

    # --- what is shown -------------------------------------------------------------------

    def shown(self) -> list[Hit]:
        """What the list holds, best first."""
        return [self.list.item(row).data(_HIT) for row in range(self.list.count())]

    def _fill(self) -> None:
        self.list.clear()
        for hit in best_hits(self._hits, self.field.text()):
            item = QListWidgetItem(hit.text, self.list)
            item.setData(_HIT, hit)
            item.setToolTip(hit.explain)
            said = ", ".join(part for part in (hit.text, hit.group, hit.keys) if part)
            item.setData(Qt.ItemDataRole.AccessibleTextRole, said)
        self.list.setCurrentRow(0)
        self._size_list()

    # --- what the maker does ---------------------------------------------------------------

    def _do(self, item: QListWidgetItem | None) -> None:
        hit: Hit | None = item.data(_HIT) if item is not None else None
        if hit is not None and hit.possible:
            self.close_search()
            hit.run()

    def eventFilter(self, watched: QObject, event: QEvent) -> bool:  # noqa: N802 - Qt's name
        if watched is self.field and event.type() is QEvent.Type.KeyPress:
            assert isinstance(event, QKeyEvent)
            return self._key(event)
        if watched is self.field and event.type() is QEvent.Type.FocusOut:
            self.hide()
        return super().eventFilter(watched, event)

    def _key(self, event: QKeyEvent) -> bool:
        moves = {
            Qt.Key.Key_Down: 1,
            Qt.Key.Key_Up: -1,
            Qt.Key.Key_PageDown: _ROWS - 1,
            Qt.Key.Key_PageUp: 1 - _ROWS,
        }
        key = Qt.Key(event.key())
        if key == Qt.Key.Key_Escape:
            self.close_search()
        elif key in (Qt.Key.Key_Return, Qt.Key.Key_Enter):
            self._do(self.list.currentItem())
        elif key in moves and self.list.count():
            row = self.list.currentRow() + moves[key]
            self.list.setCurrentRow(min(max(row, 0), self.list.count() - 1))
        else:
            return False
        return True


class _HitDelegate(QStyledItemDelegate):
    """A command's text, the menu it stands in, and its key at the right."""

    def sizeHint(self, option: QStyleOptionViewItem, index: _Index) -> QSize:  # noqa: N802
        return QSize(100, theme.pixels(_ROW_PX))

    def paint(self, painter: QPainter, option: QStyleOptionViewItem, index: _Index) -> None:
        hit: Hit = index.data(_HIT)
        rect = QRectF(option.rect).adjusted(0, 1, 0, -1)
        painter.save()
        painter.setRenderHint(QPainter.RenderHint.Antialiasing)
        if option.state & QStyle.StateFlag.State_Selected:
            painter.setBrush(theme.colour("chosen"))
            painter.setPen(theme.colour("accent"))
            painter.drawRoundedRect(rect.adjusted(0.5, 0.5, -0.5, -0.5), 5, 5)
        elif option.state & QStyle.StateFlag.State_MouseOver:
            painter.setBrush(theme.colour("hover"))
            painter.setPen(Qt.PenStyle.NoPen)
            painter.drawRoundedRect(rect, 5, 5)
        line = rect.adjusted(10, 0, -10, 0)
        small, body = theme.font(TextSize.SMALL), theme.font()
        right, left = Qt.AlignmentFlag.AlignRight, Qt.AlignmentFlag.AlignLeft
        middle = Qt.AlignmentFlag.AlignVCenter
        aside = " · ".join(part for part in (hit.group, hit.keys) if part)
        painter.setFont(small)
        painter.setPen(theme.colour("quiet"))
        painter.drawText(line, right | middle, aside)
        room = line.width() - QFontMetricsF(small).horizontalAdvance(aside) - 16
        painter.setFont(body)
        painter.setPen(theme.colour("ink" if hit.possible else "quiet"))
        text = QFontMetricsF(body).elidedText(hit.text, Qt.TextElideMode.ElideRight, room)
        painter.drawText(line, left | middle, text)
        painter.restore()
