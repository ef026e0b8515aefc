"""The figures of the shown plan: on the card of Sheets, and in a line for its tile."""

from __future__ import annotations

from PySide6.QtWidgets import QWidget

from lasernest.domain.plan import Plan
from lasernest.gui.desk import Desk
from lasernest.gui.lengths import lengths
from lasernest.gui.parts.basics import FigureRow, rule, vertical
from lasernest.gui.plan_figures import PlanFigures
from lasernest.gui.words import tr
from lasernest.units import format_rough_time, format_time

_NOTHING = "–"


class PlanBox(QWidget):
    """Sheets, yield, cut length, cut time and cost of the plan that the desk shows."""

    def __init__(self, desk: Desk) -> None:
        super().__init__()
        self._desk = desk
        self.sheets = FigureRow(tr("Sheets"), why="sheets#sheets-used")
        self.share = FigureRow(
            tr("Yield"), explain=tr("Net area of the panels over the area of the sheets.")
        )
        self.this_share = FigureRow(
            tr("Yield, this sheet"),
            explain=tr("Net area of its panels over the area of the sheet."),
            why="sheets#yield",
        )
        self.length = FigureRow(
            tr("Cut length"), explain=tr("All contours that are cut through, on all sheets.")
        )
        self.time = FigureRow(tr("Cut time"))
        self.material = FigureRow(tr("Material per unit"), why="figures#cost-per-unit")
        self.cost = FigureRow(tr("Cost per unit"))
        column = vertical(self)
        column.addWidget(rule())
        for row in self._rows:
            column.addWidget(row)

    @property
    def _rows(self) -> tuple[FigureRow, ...]:
        return (
            self.sheets,
            self.share,
            self.this_share,
            self.length,
            self.time,
            self.material,
            self.cost,
        )

    def show_sheet(self, index: int) -> None:
        """Show the figures, with those of one sheet."""
        desk = self._desk
        figures, plan = desk.figures, desk.shown_plan
        several = plan is not None and len(plan.sheets) > 1
        self.this_share.setVisible(several)
        if figures is None or not figures.sheets:
            for row in self._rows:
                row.set_value(_NOTHING)
        else:
            self.sheets.set_value(sheets_text(figures, plan))
            self.share.set_value(percent(figures.yield_share))
            self.this_share.set_value(percent(figures.sheets[index].yield_share))
            self.length.set_value(lengths.path(self._length_mm(figures)))
        self._show_till()

    def _length_mm(self, figures: PlanFigures) -> float:
        """That of the cut files once they are written, so that two pages never tell two lengths."""
        written = self._desk.written_of(self._desk.shown_plan)
        if written is not None:
            return written.cut_length_mm
        return figures.cut_length_mm

    def _show_till(self) -> None:
        till, lacking = self._desk.till, self._desk.machines.lacking
        if lacking:
            lacking += " " + tr("Choose one at Cut file.")
        times_s = till.beam_s()
        total_s = sum(times_s or ())
        if till.is_exact:
            time, basis = format_time(total_s), tr("Of the cut files, loading not counted.")
        elif lacking:
            time, basis = _NOTHING, lacking
        else:
            time = tr("about {time}", time=format_rough_time(total_s))
            basis = tr("From the panels as drawn; exact once the cut file is written.")
        self.time.set_value(time if times_s else _NOTHING, explain=basis)
        cost = till.cost()
        told = _NOTHING if cost is None else f"{cost.per_unit_with_overhead:.2f}"
        self.cost.setVisible(till.rates is not None)
        self.material.setVisible(till.rates is None)
        self.cost.set_value(
            told,
            explain=tr("In your shop's currency: ")
            + ", ".join(f"{tr(name)} {value:.2f}" for name, value in cost.parts_per_unit)
            if cost is not None
            else lacking or tr("Sheets without a price have no cost; the shop book keeps prices."),
        )
        self.material.set_value(
            told,
            explain=lacking
            or tr(
                "Whole sheets at their price in the shop book. What an hour of the machine and "
                "of work costs is set at Compare stocks; then this tells the whole cost."
            ),
        )

    def line(self) -> str:
        """What the tile says below its figure; empty while nothing is known."""
        figures = self._desk.figures
        if figures is None:
            return ""
        till = self._desk.till
        parts = [tr("yield {share}", share=percent(figures.yield_share))]
        times_s, cost = till.beam_s(), till.cost()
        if times_s:
            parts.append(format_rough_time(sum(times_s)))
        if cost is not None:
            parts.append(tr("{cost} each", cost=f"{cost.per_unit_with_overhead:.2f}"))
        return " · ".join(parts)


def sheets_text(figures: PlanFigures, plan: Plan | None = None) -> str:
    """How many sheets a plan takes, in words; of several stocks each has a last sheet."""
    count = len(figures.sheets)
    stocks = len({one.sheet.stock_name for one in plan.sheets}) if plan is not None else 1
    if stocks > 1:
        return tr("{count} sheets of {stocks} stocks", count=count, stocks=stocks)
    if count == 0:
        return tr("no sheet")
    share = f"{100 * figures.last_share:.0f} %"
    if count == 1:
        return tr("{share} of 1 sheet", share=share)
    return tr("{count} + {share} of a sheet", count=count - 1, share=share)


def percent(share: float, decimals: int = 1) -> str:
    """A share in percent."""
    return f"{100 * share:.{decimals}f} %"
