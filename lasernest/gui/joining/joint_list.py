"""The list of joints: number, panels, figures."""

from __future__ import annotations

from typing import Any

from PySide6.QtCore import (
    QAbstractListModel,
    QItemSelection,
    QModelIndex,
    QPersistentModelIndex,
    QRectF,
    QSize,
    Qt,
    Signal,
)
from PySide6.QtGui import QFontMetrics, QKeyEvent, QPainter, QPen
from PySide6.QtWidgets import (
    QAbstractItemView,
    QFrame,
    QListView,
    QSizePolicy,
    QStyle,
    QStyledItemDelegate,
    QStyleOptionViewItem,
)

from lasernest.gui.joining.joint_rows import JointRow
from lasernest.gui.joining.pair_names import pair_within
from lasernest.gui.lengths import lengths
from lasernest.gui.look.theme import TextSize, theme
from lasernest.gui.words import tr

ROW_ROLE = Qt.ItemDataRole.UserRole + 1
_Index = QModelIndex | QPersistentModelIndex
_ROW_PX = 44
_LEAST_ROWS = 5
"""Longer lists scroll where the card has no room for more."""


class JointModel(QAbstractListModel):
    """The job's joints."""

    def __init__(self) -> None:
        super().__init__()
        self.rows: tuple[JointRow, ...] = ()

    def show_rows(self, rows: tuple[JointRow, ...]) -> None:
        """Show these; the view keeps its place when their number did not change."""
        if len(rows) == len(self.rows):
            self.rows = rows
            if rows:
                self.dataChanged.emit(self.index(0), self.index(len(rows) - 1))
        else:
            self.beginResetModel()
            self.rows = rows
            self.endResetModel()

    def rowCount(self, parent: _Index = QModelIndex()) -> int:  # noqa: N802, B008 - Qt's form
        return 0 if parent.isValid() else len(self.rows)

    def data(self, index: _Index, role: int = Qt.ItemDataRole.DisplayRole) -> Any:
        row = self.rows[index.row()]
        if role == Qt.ItemDataRole.DisplayRole:
            return row.names
        if role == ROW_ROLE:
            return row
        if role in (Qt.ItemDataRole.ToolTipRole, Qt.ItemDataRole.AccessibleTextRole):
            return row.tip
        return None


class _JointDelegate(QStyledItemDelegate):
    """Draws one joint's row."""

    def sizeHint(self, option: QStyleOptionViewItem, index: _Index) -> QSize:  # noqa: N802
        return QSize(100, theme.pixels(_ROW_PX))

    def paint(self, painter: QPainter, option: QStyleOptionViewItem, index: _Index) -> None:
        row: JointRow = index.data(ROW_ROLE)
        rect = QRectF(option.rect)
        painter.save()
        painter.setRenderHint(QPainter.RenderHint.Antialiasing)
        chosen = bool(option.state & QStyle.StateFlag.State_Selected)
        if chosen or option.state & QStyle.StateFlag.State_MouseOver:
            painter.setBrush(theme.colour("chosen" if chosen else "hover"))
            painter.setPen(Qt.PenStyle.NoPen)
            painter.drawRoundedRect(rect.adjusted(0, 1, 0, -1), 6, 6)
        if option.state & QStyle.StateFlag.State_HasFocus:
            painter.setBrush(Qt.BrushStyle.NoBrush)
            painter.setPen(QPen(theme.colour("accent"), 1.0))
            painter.drawRoundedRect(rect.adjusted(0.5, 1.5, -0.5, -1.5), 6, 6)
        broken = row.laid is None and not row.waiting
        ink = theme.colour("bad" if broken else "good")
        side = theme.pixels(22)
        chip = QRectF(rect.left() + 6, rect.center().y() - side / 2, side, side)
        painter.setPen(QPen(ink, 1.3))
        painter.setBrush(Qt.BrushStyle.NoBrush)
        painter.drawRoundedRect(chip, 4, 4)
        small = theme.font(TextSize.SMALL)
        painter.setFont(theme.font(TextSize.SMALL, strong=True))
        painter.setPen(ink)
        painter.drawText(chip, Qt.AlignmentFlag.AlignCenter, str(row.index + 1))
        left = chip.right() + 10
        room = rect.right() - 8 - left
        font = theme.font(strong=chosen)
        metrics = QFontMetrics(font)
        painter.setFont(font)
        painter.setPen(theme.colour("ink"))
        line = QRectF(left, rect.center().y() - metrics.height() + 1, room, metrics.height())
        painter.drawText(line, pair_within(*row.panels, metrics, int(room)))
        painter.setFont(small)
        painter.setPen(theme.colour("bad" if broken else "quiet"))
        metrics = QFontMetrics(small)
        line = QRectF(left, rect.center().y() + 1, room, metrics.height())
        painter.drawText(
            line, metrics.elidedText(row.figures, Qt.TextElideMode.ElideRight, int(room))
        )
        painter.restore()


def _height_of(rows: int) -> int:
    return max(rows, 1) * theme.pixels(_ROW_PX) + 2


class JointList(QListView):
    """Joints to choose from."""

    chosen_changed = Signal()
    removal_wanted = Signal()

    def __init__(self) -> None:
        super().__init__()
        self.joint_model = JointModel()
        self.setModel(self.joint_model)
        self.setItemDelegate(_JointDelegate(self))
        self.setSelectionMode(QAbstractItemView.SelectionMode.SingleSelection)
        self.setEditTriggers(QAbstractItemView.EditTrigger.NoEditTriggers)
        self.setFrameShape(QFrame.Shape.NoFrame)
        self.setUniformItemSizes(True)
        self.setMouseTracking(True)
        self.setVerticalScrollMode(QAbstractItemView.ScrollMode.ScrollPerPixel)
        self.setHorizontalScrollBarPolicy(Qt.ScrollBarPolicy.ScrollBarAlwaysOff)
        self.setSizePolicy(QSizePolicy.Policy.Expanding, QSizePolicy.Policy.Expanding)
        self.setAccessibleName(tr("Joints"))
        self.setTabKeyNavigation(False)
        theme.changed.connect(self._size)
        lengths.changed.connect(self.viewport().update)

    def show_rows(self, rows: tuple[JointRow, ...], chosen: int | None) -> None:
        """Show these joints, one of them chosen; nothing is emitted."""
        self.blockSignals(True)
        self.joint_model.show_rows(rows)
        if chosen is None:
            self.clearSelection()
        elif chosen != self.chosen():
            self.setCurrentIndex(self.joint_model.index(chosen))
        self.blockSignals(False)
        self._size()
        self.viewport().update()

    def _size(self) -> None:
        count = len(self.joint_model.rows)
        self.setMinimumHeight(_height_of(min(count, _LEAST_ROWS)))
        self.setMaximumHeight(_height_of(count))
        self.updateGeometry()
        self.doItemsLayout()

    def sizeHint(self) -> QSize:  # noqa: N802 - Qt's name
        return QSize(super().sizeHint().width(), self.minimumHeight())

    def chosen(self) -> int | None:
        """The row that is chosen."""
        rows = self.selectionModel().selectedIndexes()
        return rows[0].row() if rows else None

    def choose(self, index: int) -> None:
        """Choose a joint as the maker would."""
        self.setCurrentIndex(self.joint_model.index(index))

    def selectionChanged(self, new: QItemSelection, old: QItemSelection) -> None:  # noqa: N802
        super().selectionChanged(new, old)
        self.chosen_changed.emit()

    def keyPressEvent(self, event: QKeyEvent) -> None:  # noqa: N802 - Qt's name
        if event.key() == Qt.Key.Key_Delete:
            self.removal_wanted.emit()
        elif event.key() == Qt.Key.Key_Escape and self.chosen() is not None:
            self.clearSelection()
        else:
            super().keyPressEvent(event)
