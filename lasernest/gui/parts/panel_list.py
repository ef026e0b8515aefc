"""The list of panels: a picture, a name, size and turning, how many of it.

An item model over the panels that are found, in the order chosen; keys + and −
and typed digits change the quantity of all chosen panels at once, F2 renames.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence
from typing import Any

from PySide6.QtCore import (
    QAbstractListModel,
    QItemSelection,
    QItemSelectionModel,
    QModelIndex,
    QPersistentModelIndex,
    QRectF,
    QSize,
    Qt,
    QTimer,
    Signal,
)
from PySide6.QtGui import QContextMenuEvent, QFontMetricsF, QKeyEvent, QPainter, QPen
from PySide6.QtWidgets import (
    QAbstractItemView,
    QFrame,
    QListView,
    QStyle,
    QStyledItemDelegate,
    QStyleOptionViewItem,
    QWidget,
)

from lasernest.gui.lengths import lengths
from lasernest.gui.look.theme import TextSize, theme
from lasernest.gui.parts.entries import Entry, open_menu
from lasernest.gui.parts.panel_rows import PanelFacts, PanelSort, shown_panels
from lasernest.gui.parts.thumbnails import thumbnail
from lasernest.gui.words import tr
from lasernest.job import JobPanel

PANEL_ROLE = Qt.ItemDataRole.UserRole + 1
ROW_ROLE = Qt.ItemDataRole.UserRole + 2
_Index = QModelIndex | QPersistentModelIndex
_DIGITS_MS = 900


class PanelModel(QAbstractListModel):
    """The panels that are shown."""

    renamed = Signal(str, str)

    def __init__(self) -> None:
        super().__init__()
        self._panels: tuple[JobPanel, ...] = ()
        self.facts = PanelFacts()

    def show_panels(self, panels: tuple[JobPanel, ...]) -> None:
        """Show these; rows stay where the names did not change.

        Where nothing changed nothing is said: a name that is being typed would be lost.
        """
        if panels == self._panels:
            return
        if [p.name for p in panels] == [p.name for p in self._panels]:
            self._panels = panels
            if panels:
                self.dataChanged.emit(self.index(0), self.index(len(panels) - 1))
        else:
            self.beginResetModel()
            self._panels = panels
            self.endResetModel()

    def panel(self, row: int) -> JobPanel:
        return self._panels[row]

    def row_of(self, name: str) -> int:
        """The row of a panel, -1 when it is not there."""
        return next((i for i, p in enumerate(self._panels) if p.name == name), -1)

    def runs_of(self, names: Iterable[str]) -> list[tuple[int, int]]:
        """The rows of these panels, as first and last of rows that follow each other."""
        wanted = set(names)
        runs: list[tuple[int, int]] = []
        for row, panel in enumerate(self._panels):
            if panel.name not in wanted:
                continue
            if runs and runs[-1][1] == row - 1:
                runs[-1] = (runs[-1][0], row)
            else:
                runs.append((row, row))
        return runs

    def rowCount(self, parent: _Index = QModelIndex()) -> int:  # noqa: N802, B008 - Qt's form
        return 0 if parent.isValid() else len(self._panels)

    def data(self, index: _Index, role: int = Qt.ItemDataRole.DisplayRole) -> Any:
        panel = self._panels[index.row()]
        if role in (Qt.ItemDataRole.DisplayRole, Qt.ItemDataRole.EditRole):
            return panel.name
        if role == PANEL_ROLE:
            return panel
        if role == ROW_ROLE:
            return self.facts.row(panel)
        if role in (Qt.ItemDataRole.ToolTipRole, Qt.ItemDataRole.AccessibleTextRole):
            said = tr(
                "{name}, {row}, {holes} inner contours, {marks} marks, {count} per unit",
                name=panel.name,
                row=self.facts.row(panel).replace(" · ", ", "),
                holes=len(panel.panel.inner),
                marks=len(panel.panel.marks),
                count=panel.quantity,
            )
            drawing = self.facts.drawings.get(panel.name)
            return f"{said}, {drawing}" if drawing else said
        return None

    def flags(self, index: _Index) -> Qt.ItemFlag:
        return super().flags(index) | Qt.ItemFlag.ItemIsEditable

    def setData(  # noqa: N802 - Qt's form
        self, index: _Index, value: Any, role: int = Qt.ItemDataRole.EditRole
    ) -> bool:
        if role != Qt.ItemDataRole.EditRole:
            return False
        self.renamed.emit(self._panels[index.row()].name, str(value))
        return True


class _PanelDelegate(QStyledItemDelegate):
    """Draws one panel's row."""

    def sizeHint(self, option: QStyleOptionViewItem, index: _Index) -> QSize:  # noqa: N802
        return QSize(100, theme.pixels(44))

    def paint(self, painter: QPainter, option: QStyleOptionViewItem, index: _Index) -> None:
        panel: JobPanel = index.data(PANEL_ROLE)
        rect = QRectF(option.rect)
        state = option.state
        painter.save()
        painter.setRenderHint(QPainter.RenderHint.Antialiasing)
        if state & QStyle.StateFlag.State_Selected:
            painter.setBrush(theme.colour("chosen"))
            painter.setPen(Qt.PenStyle.NoPen)
            painter.drawRoundedRect(rect.adjusted(0, 1, 0, -1), 6, 6)
        elif state & QStyle.StateFlag.State_MouseOver:
            painter.setBrush(theme.colour("hover"))
            painter.setPen(Qt.PenStyle.NoPen)
            painter.drawRoundedRect(rect.adjusted(0, 1, 0, -1), 6, 6)
        if state & QStyle.StateFlag.State_HasFocus:
            painter.setBrush(Qt.BrushStyle.NoBrush)
            painter.setPen(QPen(theme.colour("accent"), 1.0))
            painter.drawRoundedRect(rect.adjusted(0.5, 1.5, -0.5, -1.5), 6, 6)
        side = theme.pixels(36)
        device = painter.device()
        pixmap = thumbnail(panel.panel, QSize(side, side), device.devicePixelRatio())
        painter.drawPixmap(int(rect.left() + 6), int(rect.center().y() - side / 2), pixmap)

        count_font = theme.font(strong=True)
        count = f"× {panel.quantity}" + ("+" if panel.as_many_as_fit else "")
        count_width = QFontMetricsF(count_font).horizontalAdvance(count)
        painter.setFont(count_font)
        painter.setPen(theme.colour("ink" if panel.quantity else "quiet"))
        right = rect.adjusted(0, 0, -8, 0)
        painter.drawText(right, Qt.AlignmentFlag.AlignRight | Qt.AlignmentFlag.AlignVCenter, count)
        left = rect.left() + side + 16
        room = right.right() - count_width - 8 - left
        font = theme.font()
        painter.setFont(font)
        metrics = QFontMetricsF(font)
        line = QRectF(left, rect.center().y() - metrics.height() + 1, room, metrics.height())
        painter.setPen(theme.colour("ink"))
        elide = Qt.TextElideMode.ElideMiddle
        painter.drawText(line, metrics.elidedText(panel.name, elide, room))
        small = theme.font(TextSize.SMALL)
        painter.setFont(small)
        painter.setPen(theme.colour("quiet"))
        line = QRectF(left, rect.center().y() + 1, room, QFontMetricsF(small).height())
        row = QFontMetricsF(small).elidedText(index.data(ROW_ROLE), elide, room)
        painter.drawText(line, row)
        painter.restore()

    def updateEditorGeometry(  # noqa: N802 - Qt's name
        self, editor: QWidget, option: QStyleOptionViewItem, index: _Index
    ) -> None:
        left = theme.pixels(36) + 12
        editor.setGeometry(option.rect.adjusted(left, 6, -theme.pixels(40), -6))


class PanelList(QListView):
    """Panels to choose from and to count."""

    chosen_changed = Signal()
    quantity_typed = Signal(int)
    """A quantity for all chosen panels."""
    quantity_stepped = Signal(int)
    """One more or one fewer of each chosen panel."""
    removal_wanted = Signal()
    opened = Signal(str)
    """A panel to look at closely."""
    renamed = Signal(str, str)
    """Its old name and the one that was typed."""

    def __init__(self) -> None:
        super().__init__()
        self.panel_model = PanelModel()
        self.panel_model.renamed.connect(self.renamed)
        self.entries: Callable[[], Sequence[Entry]] = tuple
        """What the context menu offers for the chosen panels."""
        self._all: tuple[JobPanel, ...] = ()
        self.setModel(self.panel_model)
        self.setItemDelegate(_PanelDelegate(self))
        self.setSelectionMode(QAbstractItemView.SelectionMode.ExtendedSelection)
        self.setEditTriggers(QAbstractItemView.EditTrigger.EditKeyPressed)
        self.setFrameShape(QFrame.Shape.NoFrame)
        self.setUniformItemSizes(True)
        self.setMouseTracking(True)
        self.setVerticalScrollMode(QAbstractItemView.ScrollMode.ScrollPerPixel)
        self.setHorizontalScrollBarPolicy(Qt.ScrollBarPolicy.ScrollBarAlwaysOff)
        self.setAccessibleName(tr("Panels"))
        self.setTabKeyNavigation(False)
        self._typed = ""
        self._typing = QTimer(self)
        self._typing.setSingleShot(True)
        self._typing.setInterval(_DIGITS_MS)
        self._typing.timeout.connect(self._forget_typed)
        self.doubleClicked.connect(lambda index: self.opened.emit(index.data()))
        theme.changed.connect(self.doItemsLayout)
        lengths.changed.connect(self.viewport().update)

    def show_panels(
        self,
        panels: tuple[JobPanel, ...],
        facts: PanelFacts | None = None,
        *,
        wanted: str = "",
        sort: PanelSort = PanelSort.DRAWN,
    ) -> None:
        """Show the job's panels that are wanted; what is chosen stays chosen by name."""
        self._all = panels
        self.panel_model.facts = facts if facts is not None else PanelFacts()
        shown = shown_panels(panels, self.panel_model.facts, wanted=wanted, sort=sort)
        chosen = set(self.chosen())
        self.panel_model.show_panels(shown)
        if chosen and not self.chosen():
            self.choose([p.name for p in shown if p.name in chosen])
        self.viewport().update()

    def drawing_of(self, name: str) -> str:
        """The drawing a panel came from; empty when it is not known."""
        return self.panel_model.facts.drawings.get(name, "")

    def names_of(self, drawing: str) -> list[str]:
        """The panels of one drawing."""
        drawings = self.panel_model.facts.drawings
        return [p.name for p in self._all if drawings.get(p.name) == drawing]

    def edit_name(self, name: str) -> None:
        """Let the maker type another name for a panel."""
        row = self.panel_model.row_of(name)
        if row >= 0:
            self.edit(self.panel_model.index(row))

    def contextMenuEvent(self, event: QContextMenuEvent) -> None:  # noqa: N802 - Qt's name
        entries = self.entries()
        if entries:
            open_menu(self, entries, event.globalPos())

    def chosen(self) -> list[str]:
        """Names of the chosen panels, in order."""
        # By stretches: Qt would make an index of every row.
        selection = self.selectionModel().selection()
        ranges = [selection.at(i) for i in range(selection.size())]
        stretches = sorted((one.top(), one.bottom()) for one in ranges)
        rows = (row for top, bottom in stretches for row in range(top, bottom + 1))
        return [self.panel_model.panel(row).name for row in rows]

    def choose(self, names: list[str]) -> None:
        """Choose these panels."""
        selection = QItemSelection()
        for first, last in self.panel_model.runs_of(names):
            selection.select(self.panel_model.index(first), self.panel_model.index(last))
        model = self.selectionModel()
        model.select(selection, QItemSelectionModel.SelectionFlag.ClearAndSelect)
        if names and (row := self.panel_model.row_of(names[0])) >= 0:
            index = self.panel_model.index(row)
            model.setCurrentIndex(index, QItemSelectionModel.SelectionFlag.NoUpdate)
            self.scrollTo(index)

    def selectionChanged(self, new: QItemSelection, old: QItemSelection) -> None:  # noqa: N802
        super().selectionChanged(new, old)
        self.chosen_changed.emit()

    def _forget_typed(self) -> None:
        self._typed = ""

    def keyPressEvent(self, event: QKeyEvent) -> None:  # noqa: N802 - Qt's name
        text = event.text()
        if (
            text
            and text.isdecimal()
            and not event.modifiers() & Qt.KeyboardModifier.ControlModifier
        ):
            self._typed = (self._typed + text)[-5:]
            self._typing.start()
            self.quantity_typed.emit(int(self._typed))
        elif event.key() in (Qt.Key.Key_Plus, Qt.Key.Key_Equal):
            self.quantity_stepped.emit(1)
        elif event.key() == Qt.Key.Key_Minus:
            self.quantity_stepped.emit(-1)
        elif event.key() == Qt.Key.Key_Delete:
            self.removal_wanted.emit()
        elif (
            event.key() in (Qt.Key.Key_Return, Qt.Key.Key_Enter)
            and self.chosen()
            and self.state() is not QAbstractItemView.State.EditingState
        ):
            self.opened.emit(self.chosen()[0])
        else:
            super().keyPressEvent(event)
