"""A comparison as rows of figures: the same ones on the screen, on paper and in a table file."""

from __future__ import annotations

import csv
import io
from collections.abc import Callable, Sequence
from datetime import date
from pathlib import Path

from lasernest import __version__
from lasernest.domain.comparison import ComparedStock, Comparison, ComparisonPaper, ComparisonRow
from lasernest.domain.figures import Figure
from lasernest.domain.findings import Severity
from lasernest.files import write_atomically
from lasernest.job import Job
from lasernest.services.bench_sheets import SheetAtHand, picture_of, planned_sheets
from lasernest.services.comparing import panels_on
from lasernest.units import format_time

NOTHING = "–"


def comparison_rows(comparison: Comparison) -> tuple[ComparisonRow, ...]:
    """All figures of a comparison, what decides first."""
    columns = comparison.columns

    def row(
        figure: Figure,
        value: Callable[[ComparedStock], float | None],
        unit: str,
        text: Callable[[float], str],
        of: str = "",
    ) -> ComparisonRow:
        values = tuple(value(column) for column in columns)
        texts = tuple(NOTHING if v is None else text(v) for v in values)
        return ComparisonRow(figure, f"{figure.value}{of}", unit, values, texts)

    rows = [
        row(Figure.SHEETS, lambda c: c.sheets, "", sheets_text),
        row(Figure.YIELD, lambda c: c.yield_share, "share", _percent),
        row(Figure.OFFCUT_KEPT, lambda c: c.kept_offcut_mm2, "mm2", _area),
        row(Figure.CUT_TIME, lambda c: c.machine_s, "s", format_time),
        row(Figure.HAND_TIME, lambda c: c.hands_s, "s", format_time),
        row(Figure.WEIGHT, lambda c: c.weight_per_unit_g, "g", _weight, " of a unit"),
    ]
    if any(column.share_in_fit is not None for column in columns):
        rows.append(row(Figure.JOINTS_IN_FIT, lambda c: c.share_in_fit, "share", _whole_percent))
    for count in comparison.counts:

        def of(column: ComparedStock, units: int = count) -> float | None:
            made = column.made_of(units)
            if made is None or made.cost.unpriced:
                return None
            return made.cost.per_unit_with_overhead

        name = f", {count} made"
        if comparison.rates is None:
            name += ", material"
        rows.append(row(Figure.UNIT_COST, of, "", "{:.2f}".format, name))
    rows += [
        row(Figure.USED_YIELD, lambda c: c.used_yield_share, "share", _percent),
        row(Figure.KERF_LOSS, lambda c: c.kerf_mm2, "mm2", _area),
        row(Figure.CUT_LENGTH, lambda c: c.cut_length_mm, "mm", _metres),
        row(Figure.PIERCES, lambda c: c.pierces, "", "{:.0f}".format),
        row(Figure.TRAVEL, lambda c: c.travel_mm, "mm", _metres),
        row(Figure.LOADING, lambda c: c.loading_s, "s", format_time),
    ]
    return tuple(rows)


def comparison_notes(comparison: Comparison) -> tuple[str, ...]:
    """What to know before a figure is trusted, in sentences."""
    notes = []
    if comparison.rates is None:
        notes.append("Costs are of material only: nobody has said what an hour costs.")
    if any(size.price_invented for column in comparison.columns for size in column.sizes):
        notes.append("Prices of sheets are invented until you set your own in the shop book.")
    scaled = {m.units: m.planned_units for c in comparison.columns for m in c.made}
    for units, planned in sorted(scaled.items()):
        if planned:
            notes.append(
                f"Sheets for {units} units are reckoned from a plan of {planned}: so many panels "
                "are not laid out to compare stocks."
            )
    stay = {o.stock_name: o.size for c in comparison.columns for m in c.made for o in m.others}
    for stock_name, size in stay.items():
        notes.append(
            f"Panels of {stock_name} stay on it in every column; its sheets are counted, each as "
            "a whole one."
        )
        if size.price is None:
            notes.append(f"{stock_name}: no price is known, so no cost is told.")
    for name, column in zip(comparison.names, comparison.columns, strict=True):
        if column.size.price is None:
            notes.append(f"{name}: no price is known, so no cost is told.")
        notes += [
            f"{name}: {u.count} × {u.panel_name} on no sheet: {u.reason}" for u in column.unplaced
        ]
        notes += [
            f"{name}: {finding.message} {finding.todo}".strip()
            for finding in column.findings
            if finding.severity is not Severity.NOTE and not finding.mended
        ]
    return tuple(dict.fromkeys(notes))


def comparison_csv(comparison: Comparison) -> bytes:
    """A comparison as a table: a figure in each line, plain numbers with their unit beside."""
    text = io.StringIO()
    writer = csv.writer(text, lineterminator="\r\n")  # RFC 4180
    writer.writerow(["figure", "unit", *comparison.names])
    sizes = [f"{c.size.width_mm:g}x{c.size.height_mm:g}" for c in comparison.columns]
    writer.writerow(["Sheet", "mm", *sizes])
    writer.writerow([Figure.UNITS.value, "", *[comparison.units] * len(comparison.columns)])
    writer.writerow([Figure.PANELS.value, "", *[c.panels for c in comparison.columns]])
    for row in comparison_rows(comparison):
        values = ["" if value is None else f"{value:.6g}" for value in row.values]
        writer.writerow([row.name, row.unit, *values])
    return text.getvalue().encode()


def write_comparison_csv(comparison: Comparison, path: Path) -> None:
    """Write the table.

    Raises:
        UnwritableFileError: the file cannot be written there.
    """
    write_atomically(path, comparison_csv(comparison))


def comparison_paper(
    job: Job, comparison: Comparison, *, title: str = "", on: date | None = None
) -> ComparisonPaper:
    """A comparison to be printed, with the plans of all its sheets."""
    pictures = []
    for name, column in zip(comparison.names, comparison.columns, strict=True):
        moved, panels = panels_on(job, column)
        laid = planned_sheets(column.plan, panels, moved.setup)
        pictures += [
            (_picture_title(name, sheet, i, len(laid)), picture_of(sheet, panels))
            for i, sheet in enumerate(laid, start=1)
        ]
    panels_each = max((column.panels for column in comparison.columns), default=0)
    units = f"{comparison.units} unit{'' if comparison.units == 1 else 's'}, {panels_each} panels"
    return ComparisonPaper(
        f"{title or job.name or 'Comparison'} · {units}",
        on or date.today(),
        f"lasernest {__version__}",
        comparison.names,
        tuple(_size(column) for column in comparison.columns),
        comparison_rows(comparison),
        tuple({m.units: m.cost for m in column.made} for column in comparison.columns),
        tuple(pictures),
        comparison_notes(comparison),
    )


def _picture_title(name: str, sheet: SheetAtHand, number: int, of: int) -> str:
    other = f" · {sheet.stock.name}" if not name.startswith(sheet.stock.name) else ""
    return f"{name} · sheet {number} of {of}{other}"


def write_comparison(
    job: Job, comparison: Comparison, paths: Sequence[Path], *, title: str = ""
) -> None:
    """Write a comparison: as a table where the name ends in `.csv`, else as PDF.

    Raises:
        UnwritableFileError: a file cannot be written there.
    """
    for path in paths:
        if path.suffix.lower() == ".csv":
            write_comparison_csv(comparison, path)
        else:
            from lasernest.exchange.writers.comparison_pdf import (  # noqa: PLC0415 - heavy
                write_comparison_pdf,
            )

            write_comparison_pdf(comparison_paper(job, comparison, title=title), path)


def sheets_text(sheets: float) -> str:
    """Whole sheets and the used share of the last: `3 + 41 %`."""
    whole = max(0, -int(-sheets // 1) - 1)
    share = f"{100.0 * (sheets - whole):.0f} %"
    return f"{whole} + {share}" if whole else f"{share} of one"


def _size(column: ComparedStock) -> str:
    return f"{column.size.width_mm:g} × {column.size.height_mm:g} mm"


def _percent(share: float) -> str:
    return f"{100.0 * share:.1f} %"


def _whole_percent(share: float) -> str:
    return f"{100.0 * share:.0f} %"


def _area(area_mm2: float) -> str:
    return f"{area_mm2 / 1e6:.3f} m²" if area_mm2 >= 1e4 else f"{area_mm2 / 100:.1f} cm²"


def _metres(length_mm: float) -> str:
    return f"{length_mm / 1000:.2f} m"


def _weight(grams: float) -> str:
    return f"{grams / 1000:.2f} kg" if grams >= 1000 else f"{grams:.0f} g"
