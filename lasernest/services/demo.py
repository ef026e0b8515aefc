"""The demo: a sample job end to end, on sample panels, with invented stock prices."""

from __future__ import annotations

from collections.abc import Mapping
from pathlib import Path

from lasernest.domain.comparison import Comparison
from lasernest.domain.control import Control
from lasernest.domain.rates import Rates
from lasernest.domain.stock import SheetSize, Stock
from lasernest.errors import UnwritableFileError, Where
from lasernest.job import SUFFIX, Job, save_job
from lasernest.nesting import Budget
from lasernest.resources import sample_panels
from lasernest.services.commands import (
    ChooseStock,
    RenameJob,
    SetQuantity,
    SetSheetSize,
    SetUnits,
)
from lasernest.services.comparing import Candidate, KeepComparison, compare_stocks
from lasernest.services.comparison_table import write_comparison
from lasernest.services.main_job import MainJobResult, read_inputs, run_main_job
from lasernest.services.stock_exchange import CutPanelsFrom
from lasernest.shop.book import ShopBook

DEMO_STOCK = "birch plywood 3 mm"
DEMO_DRAWINGS = (
    "seed-cabinet-sides.dxf",
    "seed-cabinet-shelves.dxf",
    "seed-cabinet-top-and-back.dxf",
    "seed-drawer.dxf",
    "drawer-pulls.dxf",
    "label-plates.dxf",
)
TWO_STOCKS_DRAWINGS = ("moth-case-walls.dxf", "moth-case-front.dxf")
TWO_STOCKS_FRONT = ("moth-case-front", "cast acrylic 3 mm", (300.0, 200.0))
"""The panel that is cut from another stock, which, and from what sheet."""
TWO_STOCKS_QUANTITIES = {"case-wall-long": 2, "case-wall-short": 2}
DEMO_SHEET_MM = (600.0, 400.0)
DEMO_ORDER_UNITS = 24
DEMO_RIVALS = (("birch plywood 3 mm", 1220.0), ("cast acrylic 3 mm", 1000.0))
"""Stocks that the order is compared on, and the width of the sheet."""
DEMO_RATES = Rates(30.0, 25.0, 0.1)
"""Invented, like all prices of the demo."""
DEMO_QUANTITIES = {
    "drawer-base": 6,
    "drawer-back": 6,
    "drawer-front": 6,
    "drawer-side": 12,
    "shelf": 2,
}
"""Copies in one cabinet of six drawers; the other panels are cut once."""


def demo_job(*, control: Control, shop: ShopBook) -> Job:
    """The sample job: the seed cabinet in birch plywood, nothing arranged yet."""
    folder = sample_panels()
    job = read_inputs([folder / name for name in DEMO_DRAWINGS], control=control)
    job = _in_plywood(job, DEMO_QUANTITIES, shop)
    return RenameJob("seed cabinet (demo)").apply(job)


def two_stocks_job(*, control: Control, shop: ShopBook) -> Job:
    """A moth case: walls and back of plywood, the front of acrylic; nothing arranged yet."""
    folder = sample_panels()
    job = read_inputs([folder / name for name in TWO_STOCKS_DRAWINGS], control=control)
    job = _in_plywood(job, TWO_STOCKS_QUANTITIES, shop)
    front, stock_name, size_mm = TWO_STOCKS_FRONT
    stock = shop.stock(stock_name)
    job = CutPanelsFrom((front,), stock, _size_of(stock, size_mm)).apply(job)
    return RenameJob("moth case (demo)").apply(job)


def _in_plywood(job: Job, quantities: Mapping[str, int], shop: ShopBook) -> Job:
    stock = shop.stock(DEMO_STOCK)
    job = ChooseStock(stock).apply(job)
    size = _size_of(stock, DEMO_SHEET_MM)
    if size is not None:
        job = SetSheetSize(size).apply(job)
    for name, quantity in quantities.items():
        job = SetQuantity(name, quantity).apply(job)
    return job


def _size_of(stock: Stock, size_mm: tuple[float, float]) -> SheetSize | None:
    """The stock's sheet of this size; None where its owner took that out of the shop book."""
    return next((s for s in stock.sizes if (s.width_mm, s.height_mm) == size_mm), None)


def run_demo_order(
    out: Path, job: Job, *, control: Control, seconds: float
) -> tuple[Comparison, tuple[Path, ...]]:
    """The worked order: 24 units in plywood and in acrylic, compared, printed and kept.

    Args:
        out: the folder that `run_demo` wrote into.
        job: the sample job.
        control: progress and Stop.
        seconds: search for each stock.

    Returns:
        The comparison, and the files that tell it: paper, table, and the job with it.

    Raises:
        UnwritableFileError: a file cannot be written there.
    """
    shop = ShopBook.open()
    candidates = []
    for name, width_mm in DEMO_RIVALS:
        stock = shop.stock(name)
        size = next((size for size in stock.sizes if size.width_mm == width_mm), None)
        candidates.append(Candidate(stock, size))
    job = RenameJob("24 seed cabinets (demo)").apply(SetUnits(DEMO_ORDER_UNITS).apply(job))
    comparison = compare_stocks(
        job,
        candidates,
        control=control,
        seconds=seconds,
        unit_counts=(1, 10),
        rates=DEMO_RATES,
        machine=shop.machine(),
        records={one.stock.name: shop.records(one.stock.name) for one in candidates},
    )
    paper, table, kept = (out / f"order-of-24{suffix}" for suffix in (".pdf", ".csv", SUFFIX))
    write_comparison(job, comparison, [paper, table])
    save_job(KeepComparison(comparison).apply(job), kept)
    return comparison, (paper, table, kept)


def run_demo(out: Path, *, control: Control, seconds: float) -> MainJobResult:
    """Run the sample job and write its files into a folder.

    Raises:
        UnwritableFileError: the folder cannot be made.
    """
    _make_folder(out)
    job = demo_job(control=control, shop=ShopBook.open())
    result = run_main_job(
        job, out / "seed-cabinet.dxf", control=control, budget=Budget(seconds=seconds)
    )
    save_job(result.job, out / "demo.lasernest")
    return result


def run_two_stocks(out: Path, *, control: Control, seconds: float) -> MainJobResult:
    """Run the job of two stocks and write its files into a folder.

    Raises:
        UnwritableFileError: the folder cannot be made.
    """
    _make_folder(out)
    job = two_stocks_job(control=control, shop=ShopBook.open())
    result = run_main_job(
        job, out / "moth-case.dxf", control=control, budget=Budget(seconds=seconds)
    )
    save_job(result.job, out / "moth-case.lasernest")
    return result


def _make_folder(out: Path) -> None:
    try:
        out.mkdir(parents=True, exist_ok=True)
    except OSError as error:
        raise UnwritableFileError(
            f"the folder cannot be made: {error.strerror or error}", where=Where(file=out)
        ) from error
