"""Kerf and fit: what the beam takes away, and what that number rests on."""

from __future__ import annotations

from PySide6.QtWidgets import QWidget

from lasernest.gui.board.frame import Board
from lasernest.gui.desk import Desk
from lasernest.gui.lengths import lengths
from lasernest.gui.look.signs import State
from lasernest.gui.pages.page import Page
from lasernest.gui.parts.basics import FigureRow
from lasernest.gui.parts.empty import EmptyPage
from lasernest.gui.tiles import Step, TileText
from lasernest.gui.words import tr


class KerfPage(Page):
    """The third step."""

    step = Step.KERF

    def __init__(self, desk: Desk, board: Board) -> None:
        super().__init__(desk, board, tr("Kerf and fit"))
        self._empty = EmptyPage(tr("Kerf and fit"), "")
        self.kerf = FigureRow(tr("Kerf"))
        self.axes = FigureRow(tr("across x / across y"))
        self.basis = FigureRow(tr("Rests on"))
        self.thickness = FigureRow(tr("Thickness"))
        self.card.add(self.kerf, self.axes, self.basis, self.thickness)
        self.card.close_column()
        self.refresh()

    def first_words(self) -> QWidget:
        return self._empty

    def refresh(self) -> None:
        setup = self.desk.job.setup
        kerf, stock = setup.used_kerf, setup.stock
        if kerf is None or stock is None:
            self._empty.body.setText(tr("Choose a stock at the step Sheets first."))
            return
        self.kerf.set_value(self._kerf_text())
        self.axes.set_value(f"{lengths.number(kerf.x_mm, 3)} / {lengths.number(kerf.y_mm, 3)}")
        self.basis.set_value(kerf.basis)
        self.thickness.set_value(lengths.text(stock.working_thickness_mm))
        self._empty.body.setText(
            tr("Nobody has measured {stock} yet. Its kerf is a starting value.", stock=stock.name)
            if not kerf.measured
            else tr("The kerf of {stock} rests on {basis}.", stock=stock.name, basis=kerf.basis)
        )
        self.put_on_board()

    def _kerf_text(self) -> str:
        kerf = self.desk.job.setup.used_kerf
        if kerf is None:
            return "–"
        if kerf.u_mm is None:
            return lengths.text(kerf.mean_mm)
        return f"{lengths.number(kerf.mean_mm, 3)} ± {lengths.text(kerf.u_mm, 3)}"

    def tile(self) -> TileText:
        setup = self.desk.job.setup
        kerf = setup.used_kerf
        if kerf is None:
            return TileText(tr("no stock chosen"), "", State.NOTHING, tr("nothing yet"))
        if setup.kerf is not None:
            return TileText(self._kerf_text(), tr("given for this job"), State.DONE, tr("done"))
        if not kerf.measured:
            return TileText(
                self._kerf_text(), tr("a starting value"), State.QUESTION, tr("unmeasured")
            )
        return TileText(self._kerf_text(), kerf.basis, State.DONE, tr("done"))
