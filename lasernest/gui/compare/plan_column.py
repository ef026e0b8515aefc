"""One column of a comparison: which stock and sheet, and its plan, sheet by sheet."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from PySide6.QtCore import QRectF, QSize, Qt, QTimer, Signal
from PySide6.QtGui import QPainter, QPainterPath, QPaintEvent, QPixmap
from PySide6.QtWidgets import QSizePolicy, QWidget

from lasernest.domain.contours import Contour
from lasernest.domain.panels import Panel
from lasernest.domain.plan import Sheet, SheetPlan
from lasernest.domain.safety import Verdict
from lasernest.domain.stock import SheetSize, Stock
from lasernest.gui.board.inks import hatch
from lasernest.gui.board.strip import small_plan
from lasernest.gui.board.view import fitted
from lasernest.gui.compare.comparer import Chosen
from lasernest.gui.lengths import lengths
from lasernest.gui.look.theme import TextSize, theme
from lasernest.gui.obstacles import judged, must_not
from lasernest.gui.parts.basics import Elided, Text, button, horizontal, vertical
from lasernest.gui.parts.fields import ChoiceField
from lasernest.gui.words import tr

_AT_ONCE = 200
"""A plan of more panels takes long to draw: it has a stretch of its own, after what is quick."""


class PlanView(QWidget):
    """A sheet with its panels, as large as there is room."""

    def __init__(self) -> None:
        super().__init__()
        self.setSizePolicy(QSizePolicy.Policy.Expanding, QSizePolicy.Policy.Expanding)
        self.setMinimumSize(120, 80)
        self._plan: SheetPlan | None = None
        self._panels: Mapping[str, Panel] = {}
        self._kept: Contour | None = None
        self._picture: QPixmap | None = None
        self._later = QTimer(self)
        self._later.setSingleShot(True)
        self._later.timeout.connect(self._draw_picture)
        theme.changed.connect(self._redraw)

    def show_plan(
        self, plan: SheetPlan | None, panels: Mapping[str, Panel], kept: Contour | None
    ) -> None:
        """Show a sheet; None leaves the place empty."""
        if plan is self._plan and panels is self._panels and kept is self._kept:
            return
        self._plan, self._panels, self._kept = plan, panels, kept
        self._redraw()

    def _redraw(self) -> None:
        self._picture = None
        self.update()

    def resizeEvent(self, event: object) -> None:  # noqa: N802 - Qt's name
        self._picture = None

    def paintEvent(self, event: QPaintEvent) -> None:  # noqa: N802 - Qt's name
        if self._plan is None:
            return
        if self._picture is None:
            if len(self._plan.placements) > _AT_ONCE:
                self._later.start()
                return
            self._draw_picture()
        painter = QPainter(self)
        assert self._picture is not None
        painter.drawPixmap(0, 0, self._picture)
        if self._kept is not None:
            whole = QRectF(0, 0, self._plan.sheet.width_mm, self._plan.sheet.height_mm)
            view = fitted(whole, QRectF(1, 1, self.width() - 2, self.height() - 2))
            x0, y0, x1, y1 = self._kept.bounds_mm()
            area = QPainterPath()
            area.addRect(QRectF(x0, y0, x1 - x0, y1 - y0))
            hatch(painter, area, view)
        painter.end()

    def _draw_picture(self) -> None:
        if self._plan is not None:
            size, ratio = self.size(), self.devicePixelRatioF()
            self._picture = small_plan(self._plan, self._panels, size, ratio)
            self.update()

    def sizeHint(self) -> QSize:  # noqa: N802 - Qt's name
        return QSize(360, 190)


class PlanColumn(QWidget):
    """What is compared, chosen above its plan."""

    chosen = Signal(object)
    """A `Chosen`."""
    removed = Signal()

    def __init__(self) -> None:
        super().__init__()
        column = vertical(self, gap=4)
        head = horizontal(gap=6)
        self.stock = ChoiceField()
        self.stock.setAccessibleName(tr("Stock to compare"))
        self.stock.setToolTip(tr("The kind of sheet, from the shop book."))
        self.stock.picked.connect(lambda stock: self.chosen.emit(Chosen(stock)))
        self.size_field = ChoiceField()
        self.size_field.setAccessibleName(tr("Sheet to compare"))
        self.size_field.setToolTip(tr("Width along the grain × height."))
        self.size_field.picked.connect(self._pick_size)
        self.remove_button = button(
            tr("Remove"), self.removed.emit, kind="link", tip=tr("Do not compare this one")
        )
        head.addWidget(self.stock, 3)
        head.addWidget(self.size_field, 2)
        column.addLayout(head)
        self.caution = Text(size=TextSize.SMALL, wrap=True)
        column.addWidget(self.caution)
        self.view = PlanView()
        column.addWidget(self.view, 1)
        foot = horizontal(gap=4)
        self.caption = Elided(size=TextSize.SMALL, colour="quiet")
        self.back_button = button("‹", lambda: self.go(-1), kind="link", tip=tr("Previous sheet"))
        self.next_button = button("›", lambda: self.go(1), kind="link", tip=tr("Next sheet"))
        foot.addWidget(self.caption, 1)
        foot.addWidget(self.back_button)
        foot.addWidget(self.next_button)
        foot.addWidget(self.remove_button)
        column.addLayout(foot)
        self.index = 0
        self._sheets: Sequence[SheetPlan] = ()
        self._panels: Mapping[str, Panel] = {}
        self._kept: Sequence[Contour | None] = ()
        self._empty: SheetPlan | None = None

    def _pick_size(self, size: SheetSize) -> None:
        stock: Stock | None = self.stock.value()
        if stock is not None:
            self.chosen.emit(Chosen(stock, size))

    def show_choice(self, chosen: Chosen, stocks: Sequence[Stock], *, removable: bool) -> None:
        """Show what is compared here."""
        offered = list(stocks) if chosen.stock in stocks else [chosen.stock, *stocks]
        self.stock.offer([(s.name, s) for s in offered], chosen.stock)
        self.size_field.offer(
            [(lengths.size(s.width_mm, s.height_mm, 1), s) for s in chosen.stock.sizes],
            chosen.sheet,
        )
        self.remove_button.setVisible(removable)
        ((material, verdict),) = judged([chosen.stock])
        refused = verdict.verdict is Verdict.REFUSED
        sentences = (must_not(material) if refused else "", verdict.reason)
        self.caution.setText(" ".join(filter(None, sentences)))
        self.caution.set_kind("bad" if refused else "question")
        self.caution.setVisible(verdict.verdict is not Verdict.ALLOWED)
        size = chosen.sheet
        sheet = Sheet(size.width_mm, size.height_mm, 0.0) if size is not None else None
        if self._empty is None or sheet != self._empty.sheet:
            self._empty = SheetPlan(sheet, ()) if sheet is not None else None

    def show_plan(
        self,
        sheets: Sequence[SheetPlan],
        panels: Mapping[str, Panel],
        kept: Sequence[Contour | None],
    ) -> None:
        """Show the plan made for it; without sheets, the bare sheet."""
        if sheets is not self._sheets:
            self.index = 0
        self._sheets, self._panels, self._kept = sheets, panels, kept
        self.go(0)

    def go(self, by: int) -> None:
        """Leaf to another sheet."""
        count = len(self._sheets)
        self.index = min(max(self.index + by, 0), max(count - 1, 0))
        if count:
            self.view.show_plan(self._sheets[self.index], self._panels, self._kept[self.index])
            words = tr("sheet {n} of {all}", n=self.index + 1, all=count)
            if len({one.sheet.stock_name for one in self._sheets}) > 1:
                words += f" · {self._sheets[self.index].sheet.stock_name}"
            self.caption.set_text(words)
        else:
            self.view.show_plan(self._empty, {}, None)
            self.caption.set_text(tr("not planned yet"))
        for leaf, ends in ((self.back_button, 0), (self.next_button, count - 1)):
            leaf.setVisible(count > 1)
            leaf.setEnabled(self.index != ends)
        self.view.setAccessibleName(f"{self.stock.currentText()}, {self.caption.text()}")
        self.view.setCursor(Qt.CursorShape.ArrowCursor)
