"""Compare: the job on two or more stocks, plans above, one table and one plot below."""

from __future__ import annotations

from collections.abc import Sequence
from functools import partial
from pathlib import Path

from PySide6.QtCore import Qt, Signal
from PySide6.QtGui import QKeyEvent, QPaintEvent
from PySide6.QtWidgets import QFrame, QScrollArea, QSizePolicy, QVBoxLayout, QWidget

from lasernest.domain.comparison import Comparison
from lasernest.domain.rates import Rates
from lasernest.errors import LasernestError
from lasernest.gui.board.pictures import PictureSet
from lasernest.gui.compare.comparer import MOST_COLUMNS, Comparer
from lasernest.gui.compare.cost_plot import CostPlot
from lasernest.gui.compare.figure_table import FigureTable
from lasernest.gui.compare.plan_column import PlanColumn
from lasernest.gui.desk import Desk
from lasernest.gui.lengths import lengths
from lasernest.gui.look.theme import TextSize, theme
from lasernest.gui.parts.basics import Button, SettingRow, Text, button, horizontal, vertical
from lasernest.gui.parts.entries import Entry
from lasernest.gui.parts.flow import FlowLayout
from lasernest.gui.parts.notes import Answer, Note, NoteList
from lasernest.gui.parts.place import file_name, folder_of_drawings, usual_folder
from lasernest.gui.parts.plain_fields import NumberField
from lasernest.gui.parts.plates import draw_plate, see_through_scroll
from lasernest.gui.parts.side_by_side import SideBySide
from lasernest.gui.tiles import Step
from lasernest.gui.words import count_of, tr

_MOST_RATE = 100_000.0
_PLANS_HIGH, _TABLE_HIGH = 180, 320
_SIDE_BY_SIDE_FROM = 700


class ComparePage(QWidget):
    """In place of board and card."""

    back_wanted = Signal()
    picture_wanted = Signal(object)
    """The maker wants to save this `PictureSet`."""
    path_wanted = Signal(object)
    """The maker wants to save it; a usual path, `.pdf` or `.csv`."""

    def __init__(self, desk: Desk) -> None:
        super().__init__()
        self.desk = desk
        self.comparer = Comparer(desk)
        self._count = 0
        # With large text the page is higher than the window, and scrolls as a whole.
        scroll, inner = _scrolled()
        inner.setContentsMargins(0, 0, 0, 0)
        inner.setSpacing(12)
        vertical(self, gap=0).addWidget(scroll)
        self._plans = self._build_plans()
        self._below = SideBySide(_SIDE_BY_SIDE_FROM, gap=12)
        self._below.row.addWidget(self._build_table(), 5)
        self._below.row.addWidget(self._build_side(), 4)
        self._below.turned.connect(self._size)
        inner.addWidget(self._plans, 5)
        inner.addWidget(self._below, 6)
        theme.changed.connect(self._size)
        self._size()
        self.comparer.changed.connect(self._news)
        desk.troubles_changed.connect(self._news)
        lengths.changed.connect(self._news)
        # A slot with no argument drops the task; unlike a lambda it goes with the page.
        desk.tasks.ended.connect(self._news)

    def _size(self) -> None:
        self._plans.setMinimumHeight(theme.pixels(_PLANS_HIGH))
        cards = 2 if self._below.is_column else 1
        self._below.setMinimumHeight(cards * theme.pixels(_TABLE_HIGH))

    def _build_plans(self) -> QWidget:
        ground = _Ground()
        column = vertical(ground, gap=8)
        column.setContentsMargins(16, 10, 16, 8)
        head = horizontal(gap=8)
        head.addWidget(Text(tr("Compare stocks"), size=TextSize.LARGE, strong=True), 1)
        self.add_button = button(
            tr("Add a stock"), self.comparer.add, tip=tr("One more, up to four side by side")
        )
        self.back_button = button(tr("Back to Sheets"), self.back_wanted.emit, tip="Esc")
        head.addWidget(self.add_button)
        head.addWidget(self.back_button)
        column.addLayout(head)
        self._row = horizontal(gap=20)
        column.addLayout(self._row, 1)
        self.columns: list[PlanColumn] = []
        return ground

    def _build_table(self) -> QWidget:
        frame = QFrame()
        frame.setProperty("kind", "card")
        scroll, column = _scrolled()
        scroll.setHorizontalScrollBarPolicy(Qt.ScrollBarPolicy.ScrollBarAsNeeded)
        vertical(frame, gap=0, margin=1).addWidget(scroll)
        self.table = FigureTable()
        column.addWidget(self.table)
        column.addStretch(1)
        return frame

    def _build_side(self) -> QWidget:
        frame = QFrame()
        frame.setProperty("kind", "card")
        outer = vertical(frame, gap=0)
        scroll, column = _scrolled()
        outer.addWidget(scroll, 1)
        self.plot_title = Text("", strong=True)
        column.addWidget(self.plot_title)
        self._counts = FlowLayout(gap=4)
        column.addLayout(self._counts)
        self._count_buttons: list[Button] = []
        self.plot = CostPlot()
        self.plot.entries = lambda: [
            Entry(wanted.text + "…", partial(self.picture_wanted.emit, wanted))
            for wanted in self.pictures()
        ]
        column.addWidget(self.plot)
        rates = FlowLayout(gap=12)
        self.machine_rate = self._rate_field(rates, tr("Machine per hour"), "")
        self.wage = self._rate_field(rates, tr("Work per hour"), "")
        self.overhead = self._rate_field(rates, tr("Overhead"), "%")
        column.addLayout(rates)
        self.notes = NoteList()
        column.addWidget(self.notes)
        column.addStretch(1)
        foot = vertical(gap=8)
        foot.setContentsMargins(16, 8, 16, 14)
        self.main_button = button("", self._main, kind="main")
        foot.addWidget(self.main_button)
        self._plan_row = FlowLayout(gap=8)
        self._plan_buttons: list[Button] = []
        self.pdf_button = button(
            tr("Save as PDF"), lambda: self._save(".pdf"), tip=tr("Table, costs and all plans")
        )
        self.csv_button = button(
            tr("Save as table"), lambda: self._save(".csv"), tip=tr("Plain numbers as CSV")
        )
        foot.addLayout(self._plan_row)
        outer.addLayout(foot)
        return frame

    def _rate_field(self, rates: FlowLayout, name: str, unit: str) -> NumberField:
        field = NumberField(unit=unit, least=0.0, most=_MOST_RATE, empty="–")
        field.committed.connect(lambda _number: self._take_rates())
        rates.addWidget(
            SettingRow(name, field, width=64, explain=tr("Kept in the shop book for all jobs."))
        )
        return field

    # --- what is shown ---------------------------------------------------------------

    def enter(self) -> None:
        """The page is opened."""
        self.comparer.enter()  # what it has is news, and shown as that
        self.main_button.setFocus(Qt.FocusReason.OtherFocusReason)

    def _news(self) -> None:
        if self.isVisible():
            self.refresh()

    def refresh(self) -> None:
        """Show what there is now."""
        self._show_columns()
        found = self.comparer.shown
        comparison = found.comparison if found is not None else None
        self._show_table(comparison)
        self._show_costs(comparison)
        rates = self.desk.till.rates
        self.machine_rate.set_number(rates.machine_per_h if rates else None)
        self.wage.set_number(rates.wage_per_h if rates else None)
        self.overhead.set_number(100.0 * rates.overhead_share if rates else None)
        self.notes.show_notes(self._notes(comparison))
        self._show_buttons(comparison)

    def _show_columns(self) -> None:
        chosen, found = self.comparer.chosen, self.comparer.shown
        while len(self.columns) < len(chosen):
            column = PlanColumn()
            index = len(self.columns)
            column.chosen.connect(partial(self.comparer.choose, index))
            column.removed.connect(partial(self.comparer.remove, index))
            self._row.addWidget(column, 1)
            self.columns.append(column)
        while len(self.columns) > len(chosen):
            gone = self.columns.pop()
            self._row.removeWidget(gone)
            gone.hide()
            gone.deleteLater()
        for i, (column, one) in enumerate(zip(self.columns, chosen, strict=True)):
            column.show_choice(one, self.desk.stocks, removable=len(chosen) > 2)
            there = found.comparison.columns if found is not None else ()
            if (
                found is not None
                and i < len(there)
                and ((there[i].stock, there[i].size) == (one.stock, one.sheet))
            ):
                column.show_plan(there[i].plan.sheets, found.panels[i], found.kept[i])
            else:
                column.show_plan((), {}, ())
        self.add_button.setEnabled(2 <= len(chosen) < MOST_COLUMNS)

    def _show_table(self, comparison: Comparison | None) -> None:
        if comparison is None or not comparison.columns:
            panels = count_of(self.desk.job.panel_count, "panel", "panels")
            words = tr(
                "{panels}; nothing compared yet. Choose the stocks above, then press Compare: "
                "sheets, yield, kept offcut, cut time, work by hand, weight and cost of each "
                "stand here side by side.",
                panels=panels,
            )
            self.table.show_rows(words, (), ())
            return
        from lasernest.services.comparison_table import comparison_rows  # noqa: PLC0415 - heavy

        units = count_of(comparison.units, "unit", "units")
        most = max(column.panels for column in comparison.columns)
        corner = f"{units}, {count_of(most, 'panel', 'panels')}"
        self.table.show_rows(corner, comparison.names, comparison_rows(comparison))

    def _show_costs(self, comparison: Comparison | None) -> None:
        counts = comparison.counts if comparison is not None else ()
        if self._count not in counts and comparison is not None and counts:
            self._count = comparison.units if comparison.units in counts else counts[0]
        while self._count_buttons:
            gone = self._count_buttons.pop()
            self._counts.removeWidget(gone)
            gone.hide()
            gone.deleteLater()
        for count in counts:
            made = button(tr("{n} made", n=count), partial(self.show_count, count), kind="link")
            made.setCheckable(True)
            made.setChecked(count == self._count)
            self._counts.addWidget(made)
            made.show()
            self._count_buttons.append(made)
        bars = []
        for name, column in zip(
            comparison.names if comparison else (),
            comparison.columns if comparison else (),
            strict=True,
        ):
            there = column.made_of(self._count)
            bars.append((name, None if there is None or there.cost.unpriced else there.cost))
        self.plot.setVisible(bool(bars))
        self.plot.show_costs(bars)
        title = tr("Cost per unit") if bars else tr("What an hour costs")
        if bars and comparison is not None and comparison.rates is None:
            title = tr("Cost per unit, material only")
        self.plot_title.setText(title)

    def pictures(self) -> Sequence[PictureSet]:
        """What of this page can be saved as a picture: the costs, for the number shown."""
        if not self.plot.bars:
            return ()
        title = self.plot_title.text() + ", " + tr("{n} made", n=self._count)
        name = f"{self.desk.job.name or tr('job')}-cost-{self._count}"
        return (PictureSet(tr("Cost per unit"), name, (self.plot.picture(title),)),)

    def show_count(self, units: int) -> None:
        """Tell the cost of so many units."""
        self._count = units
        self.refresh()

    def _show_buttons(self, comparison: Comparison | None) -> None:
        running, fresh = self.comparer.running, self.comparer.is_fresh
        self.main_button.setText(
            tr("Stop, keep best") if running else (tr("Compare again") if fresh else tr("Compare"))
        )
        ready = self.desk.job.panel_count > 0 and len(self.comparer.chosen) >= 2
        self.main_button.setEnabled(running or ready)
        whole = comparison is not None and not running
        names = comparison.names if comparison is not None and fresh else ()
        while self._plan_buttons:
            gone = self._plan_buttons.pop()
            self._plan_row.removeWidget(gone)
            gone.hide()
            gone.deleteLater()
        for kept in (self.pdf_button, self.csv_button):
            self._plan_row.removeWidget(kept)
        for index, name in enumerate(names):
            made = button(
                tr("Plan with {name}", name=name),
                partial(self._plan_with, index),
                tip=tr("Cut the job from this stock, with this plan"),
            )
            self._plan_row.addWidget(made)
            made.show()
            self._plan_buttons.append(made)
        for kept in (self.pdf_button, self.csv_button):
            self._plan_row.addWidget(kept)
            kept.setVisible(whole)

    def _notes(self, comparison: Comparison | None) -> list[Note]:
        notes = [
            Note(
                trouble.below_heading,
                "error",
                (Answer(tr("Dismiss"), partial(self.desk.settle, trouble)),),
                heading=trouble.what,
            )
            for trouble in self.desk.troubles
            if trouble.step is Step.SHEETS
        ]
        setup = self.desk.job.setup
        if comparison is None and setup.other_stocks and setup.stock is not None:
            text = tr(
                "Only {stock} is replaced. Panels of other stocks stay on theirs, and their "
                "sheets are counted in every column.",
                stock=setup.stock.name,
            )
            notes.append(Note(text))
        if comparison is None:
            return notes
        from lasernest.services.comparison_table import comparison_notes  # noqa: PLC0415 - heavy

        if self.comparer.is_stale:
            notes.append(
                Note(
                    tr(
                        "The job or its machine has changed since; "
                        "these figures are of what it was."
                    ),
                    "question",
                    (Answer(tr("Compare again"), self.comparer.compare),),
                )
            )
        return notes + [Note(lengths.retold(text)) for text in comparison_notes(comparison)]

    # --- what the maker does -----------------------------------------------------------

    def _main(self) -> None:
        if self.comparer.running:
            self.desk.stop()
        else:
            self.comparer.compare()

    def _plan_with(self, index: int) -> None:
        if self.comparer.plan_with(index):
            self.back_wanted.emit()

    def _take_rates(self) -> None:
        machine, wage = self.machine_rate.number(), self.wage.number()
        overhead = self.overhead.number() or 0.0
        if machine is None and wage is None:
            self.comparer.set_rates(None)
            return
        try:
            rates = Rates(machine or 0.0, wage or 0.0, overhead / 100.0)
        except LasernestError as error:
            self.desk.trouble(Step.SHEETS, tr("What an hour costs"), error)
            return
        self.comparer.set_rates(rates)

    def _save(self, suffix: str) -> None:
        desk = self.desk
        job_path = desk.workbench.path
        stem = job_path.stem if job_path else file_name(desk.job.name or "job")
        folder = usual_folder(
            job_path.parent if job_path else None,
            folder_of_drawings(source.path for source in desk.job.sources),
        )
        self.path_wanted.emit(folder / f"{stem}-compared{suffix}")

    def save_to(self, path: Path) -> None:
        """Write the comparison there."""
        self.comparer.write(path)

    def keyPressEvent(self, event: QKeyEvent) -> None:  # noqa: N802 - Qt's name
        if event.key() == Qt.Key.Key_Escape:
            self.back_wanted.emit()
        else:
            super().keyPressEvent(event)


class _Ground(QWidget):
    """The board's ground."""

    def __init__(self) -> None:
        super().__init__()
        self.setSizePolicy(QSizePolicy.Policy.Expanding, QSizePolicy.Policy.Expanding)
        theme.changed.connect(self.update)

    def paintEvent(self, event: QPaintEvent) -> None:  # noqa: N802 - Qt's name
        draw_plate(self, "board")


def _scrolled() -> tuple[QScrollArea, QVBoxLayout]:
    """A column that scrolls when it is long."""
    inner = QWidget()
    inner.setObjectName("scrolled")
    column = vertical(inner, gap=6)
    column.setContentsMargins(16, 12, 16, 8)
    scroll = see_through_scroll(inner)
    scroll.setHorizontalScrollBarPolicy(Qt.ScrollBarPolicy.ScrollBarAlwaysOff)
    return scroll, column
