"""Joints: how panels hold each other."""

from __future__ import annotations

from PySide6.QtWidgets import QWidget

from lasernest.gui.board.frame import Board
from lasernest.gui.desk import Desk
from lasernest.gui.look.signs import State
from lasernest.gui.pages.page import Page
from lasernest.gui.parts.basics import FigureRow, Text
from lasernest.gui.parts.empty import EmptyPage
from lasernest.gui.tiles import Step, TileText
from lasernest.gui.words import count_of, tr


class JointsPage(Page):
    """The second step."""

    step = Step.JOINTS

    def __init__(self, desk: Desk, board: Board) -> None:
        super().__init__(desk, board, tr("Joints"))
        self._empty = EmptyPage(
            tr("No joints in this job"),
            tr(
                "The panels are cut with the edges as they are drawn. Joints can be set on the "
                "command line (lasernest join); a job that has them is cut with them."
            ),
        )
        self.card.add(
            Text(tr("Joints rest on the thickness and fit of the stock:"), kind="quiet", wrap=True)
        )
        self.thickness = FigureRow(tr("Thickness"))
        self.count = FigureRow(tr("Joints"))
        self.card.add(self.count, self.thickness)
        self.card.close_column()
        self.refresh()

    def first_words(self) -> QWidget:
        return self._empty

    def refresh(self) -> None:
        job = self.desk.job
        self.count.set_value(str(len(job.joints)))
        stock = job.setup.stock
        self.thickness.set_value(f"{stock.working_thickness_mm:.2f} mm" if stock else "–")
        self.put_on_board()

    def tile(self) -> TileText:
        job = self.desk.job
        if not job.joints:
            return TileText(
                tr("none"), tr("edges are cut as drawn"), State.NOTHING, tr("nothing yet")
            )
        return TileText(count_of(len(job.joints), "joint", "joints"), "", State.DONE, tr("done"))
