"""The board: the canvas with its heading, its few worded tools, its legend and a strip.

An empty board holds a page's first words instead of a canvas.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence

from PySide6.QtCore import QEvent, QObject, Qt
from PySide6.QtGui import QPaintEvent, QResizeEvent
from PySide6.QtWidgets import (
    QBoxLayout,
    QScrollArea,
    QSizePolicy,
    QStackedLayout,
    QStackedWidget,
    QWidget,
)

from lasernest.gui.board.canvas import LEAST_HEIGHT, Canvas
from lasernest.gui.board.legend import Legend, Sign
from lasernest.gui.board.scene import Scene
from lasernest.gui.board.view import View
from lasernest.gui.look.theme import TextSize, theme
from lasernest.gui.parts.basics import Elided, button, horizontal, vertical
from lasernest.gui.parts.plates import draw_plate, see_through_scroll
from lasernest.gui.tab_order import first_stop
from lasernest.gui.words import tr

_BAR = 12
"""Room for a scroll bar, in pixels."""
_LEAST = 24
_NARROW = 420
"""In pixels at 100 % of text."""
_SHARE_WHEN_LOW = 0.55
"""Of the board's height, for the drawing, where a window is low."""


class Board(QWidget):
    """The drawing area of a page."""

    def __init__(self) -> None:
        super().__init__()
        self.setSizePolicy(QSizePolicy.Policy.Expanding, QSizePolicy.Policy.Expanding)
        self.canvas = Canvas()
        self._low = False
        self.legend = Legend()
        self._views: dict[Scene, View] = {}
        self._left = Elided(size=TextSize.SMALL, colour="quiet")
        self._left.setMinimumWidth(1)  # in a narrow board the tools need the room
        self._right = Elided(size=TextSize.SMALL, colour="quiet", right=True)
        self._right.setSizePolicy(QSizePolicy.Policy.Fixed, QSizePolicy.Policy.Fixed)
        self.fit_button = button(
            tr("Fit"), self.canvas.fit, kind="link", tip=tr("Show everything (0)")
        )
        self.real_button = button(
            tr("1:1"),
            self.canvas.real_size,
            kind="link",
            tip=tr("One millimetre here is one millimetre on the screen (1)"),
        )
        self.measure_button = button(
            tr("Measure"),
            kind="link",
            tip=tr("Drag from point to point; corners attract the pointer (M)"),
        )
        self.measure_button.setCheckable(True)
        self.measure_button.toggled.connect(self.canvas.measure_distance)

        drawing = QWidget()
        column = vertical(drawing, gap=0)
        column.setContentsMargins(1, 1, 1, 1)  # the canvas must not paint over the border
        self.head = horizontal(gap=4)
        self.head.setContentsMargins(16, 6, 8, 2)
        self.head.addWidget(self._left, 1)
        self.head.addWidget(self._right)
        self.head.addSpacing(8)
        for tool in (self.fit_button, self.real_button, self.measure_button):
            self.head.addWidget(tool)
        column.addLayout(self.head)
        self.beside = horizontal(gap=0)
        """The canvas, with room at its right or below for what a page shows along with it."""
        self.beside.addWidget(self.canvas, 3)
        column.addLayout(self.beside, 1)
        self.below = vertical(gap=0)
        column.addLayout(self.below)
        foot = horizontal(gap=8)
        foot.setContentsMargins(22, 2, 16, 4)
        foot.addWidget(self.legend, 1)
        column.addLayout(foot)

        # Where text is large and the window small, more stands here than there is room for.
        self._drawing = see_through_scroll(drawing)
        self._empty = QStackedWidget()
        self._words: dict[QWidget, QScrollArea] = {}
        self._stack = QStackedLayout(self)
        self._stack.addWidget(self._drawing)
        self._stack.addWidget(self._empty)
        theme.changed.connect(self._share_head)
        theme.changed.connect(self._share_width)
        drawing.installEventFilter(self)
        self.canvas.setAccessibleName(tr("Drawing area"))
        self.canvas.scene.changed.connect(self._tell)
        self.canvas.scene.caption_changed.connect(self._tell)

    def paintEvent(self, event: QPaintEvent) -> None:  # noqa: N802 - Qt's name
        draw_plate(self, "board")

    def rooms(self) -> Iterable[QWidget]:
        """The drawing with all around it, and each page's first words."""
        return (self._drawing, *self._words.values())

    def show_scene(self, scene: Scene, signs: Sequence[Sign]) -> None:
        """Show a scene as the maker left it, with what its lines mean."""
        old = self.canvas.scene
        if scene is not old:
            if not self.canvas.fitted:
                self._views[old] = self.canvas.view
            else:
                self._views.pop(old, None)
            self.canvas.show_scene(scene, self._views.get(scene))
            for signal in (old.changed, old.caption_changed):
                signal.disconnect(self._tell)
            for signal in (scene.changed, scene.caption_changed):
                signal.connect(self._tell)
        self.legend.explain(signs)
        self._turn_to(0)
        self._tell()

    def show_drawing(self, shown: bool) -> None:
        """Show the canvas with all that speaks of it, or leave the board to what is beside it."""
        tools = (self.fit_button, self.real_button, self.measure_button)
        for part in (self.canvas, self._left, self._right, *tools, self.legend):
            part.setVisible(shown)

    def hold(self, *pages: QWidget) -> None:
        """Take in what `show_empty` will show, before anything about it is dressed.

        A part that comes into a window later is polished anew and forgets how large its
        text has become meanwhile.
        """
        for page in pages:
            if page not in self._words:
                self._words[page] = see_through_scroll(page)
                self._empty.addWidget(self._words[page])
        theme.rooms.grown(self)

    def show_empty(self, page: QWidget) -> None:
        """Show a page's first words; they scroll where they are larger than the board."""
        self.hold(page)
        self._empty.setCurrentWidget(self._words[page])
        self._turn_to(1)

    def _turn_to(self, index: int) -> None:
        """Show drawing or first words; the keys stay on the board if they were there."""
        focused = self.window().focusWidget()
        had_keys = focused is not None and self.isAncestorOf(focused)
        turned = self._stack.currentIndex() != index
        self._stack.setCurrentIndex(index)
        if had_keys and turned:
            self.focus_canvas()

    @property
    def is_empty(self) -> bool:
        return self._stack.currentIndex() == 1

    def _tell(self) -> None:
        canvas, (left, right) = self.canvas, self.canvas.scene.caption()
        hint = canvas.scene.key_hint()
        canvas.setAccessibleDescription(hint)
        if hint and canvas.reached_by_key and canvas.hasFocus():
            # For those who came with keys and see the ring.
            right = " · ".join(text for text in (hint, right) if text)
        self._left.set_text(left)
        self._right.set_text(right)
        self._share_head()

    def _share_head(self) -> None:
        """What stands at the right takes what it needs, of two fifths or of what the left leaves.

        In a narrow board it is shortened further, so that the tools beside it stay in sight.
        """
        right = self._right
        beside = self.head.minimumSize().width() - right.minimumWidth()
        room = self.width() - beside - _BAR
        left_over = room - self._left.sizeHint().width()
        most = min(room, max(self.width() * 2 // 5, left_over))
        right.setFixedWidth(max(min(right.sizeHint().width(), most), _LEAST))
        self.update()

    def resizeEvent(self, event: QResizeEvent) -> None:  # noqa: N802 - Qt's name
        super().resizeEvent(event)
        self._share_head()
        self._share_height()
        self._share_width()

    def set_low(self, low: bool) -> None:
        """Whether the drawing keeps its share of the height, and what is below it scrolls."""
        self._low = low
        self._share_height()

    def _share_width(self) -> None:
        """What a page shows along with the drawing goes below it where the board is narrow."""
        narrow = self.width() < theme.pixels(_NARROW)
        way = QBoxLayout.Direction.TopToBottom if narrow else QBoxLayout.Direction.LeftToRight
        if way is not self.beside.direction():
            self.beside.setDirection(way)

    def _share_height(self) -> None:
        share = round(_SHARE_WHEN_LOW * self.height()) if self._low else 0
        self.canvas.setMinimumHeight(max(share, LEAST_HEIGHT))

    def eventFilter(self, watched: QObject, event: QEvent) -> bool:  # noqa: N802 - Qt's name
        # The tools beside it are dressed in larger text a while after the text was changed.
        if event.type() is QEvent.Type.LayoutRequest:
            self._share_head()
        return super().eventFilter(watched, event)

    def focus_canvas(self) -> bool:
        """Let keys go to the drawing, or to what the first words offer to do; False without.

        Whoever works with keys sees that they went there.
        """
        words = self._empty.currentWidget()
        takes = first_stop(words) if self.is_empty and words is not None else self.canvas
        if takes is not None:
            if takes.hasFocus():
                takes.clearFocus()  # so that it is told anew that it has them
            takes.setFocus(Qt.FocusReason.OtherFocusReason)
        return takes is not None
