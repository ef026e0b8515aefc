"""An order planned as a whole: what to cut, from which sheets, at what cost; and booked.

Products are jobs. Their panels are joined for the sheet that lies in the shop
now, those of one stock are planned together, and what was cut for the order
before is not cut again. A panel counts as the same while its drawing is: the
joints of a remeasured sheet do not make another panel of it.
"""

from __future__ import annotations

import hashlib
import math
from collections import Counter
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

from lasernest.domain.bookings import Booking
from lasernest.domain.contours import Contour
from lasernest.domain.control import Control
from lasernest.domain.costs import Cost
from lasernest.domain.findings import Finding, Severity
from lasernest.domain.fits import family_of
from lasernest.domain.offcuts import Offcut
from lasernest.domain.orders import CutLine, Order, OrderLine, PanelNeed
from lasernest.domain.panels import Panel
from lasernest.domain.plan import NestRequest, PanelOrder, Sheet, Turns
from lasernest.domain.rates import HandlingTimes, Rates
from lasernest.domain.stock import Kerf, Machine, SheetSize, Stock
from lasernest.errors import NotFoundError, UsageError
from lasernest.job import Job, JobPanel
from lasernest.nesting import Budget
from lasernest.services.bench_sheets import (
    SheetAtHand,
    planned_sheets,
    sheet_areas,
    sheet_time,
    together,
)
from lasernest.services.commands import ChooseStock
from lasernest.services.costing import SheetAreas, SheetCost, order_cost
from lasernest.services.joining import join_job, refuse_errors
from lasernest.services.main_job import refuse_drawing_errors
from lasernest.services.ordering import by_stock, cut_list
from lasernest.services.sheet_choice import SheetChoice, choose_sheets


@dataclass(frozen=True, slots=True)
class Product:
    """A job, and how many units of it are ordered."""

    name: str
    job: Job
    units: int
    spares: int = 0


@dataclass(frozen=True, slots=True)
class StockPart:
    """What an order takes of one stock."""

    stock: Stock
    kerf: Kerf
    lines: tuple[CutLine, ...]
    panels: Mapping[str, Panel]
    """As they are cut, by the name they have on the plan."""
    origins: Mapping[str, CutLine]
    """By the same name, the line of the order."""
    sizes: tuple[SheetSize, ...]
    choice: SheetChoice
    sheets: tuple[SheetAtHand, ...]
    areas: SheetAreas
    machine_s: float
    """Cutting of all sheets and laying them in."""
    hands_s: float


@dataclass(frozen=True, slots=True)
class OrderPlan:
    """An order, planned."""

    order: Order
    lines: tuple[CutLine, ...]
    parts: tuple[StockPart, ...]
    findings: tuple[Finding, ...]

    @property
    def ordered(self) -> int:
        """Panels to cut."""
        return sum(line.to_cut for line in self.lines)

    @property
    def planned(self) -> int:
        return sum(part.choice.plan.placed_count for part in self.parts)

    @property
    def unplaced(self) -> int:
        return sum(u.count for part in self.parts for u in part.choice.plan.unplaced)


def revision_of(panel: Panel) -> str:
    """A digest of what is drawn: another drawing of a panel has another one."""
    drawn = [panel.outer, *panel.inner, *(mark.path for mark in panel.marks)]
    text = ";".join(_digits(contour) for contour in drawn)
    text += ";".join(mark.kind.value for mark in panel.marks)
    return hashlib.sha256(text.encode()).hexdigest()[:12]


def _digits(contour: Contour) -> str:
    return ",".join(f"{v.x_mm:.4f} {v.y_mm:.4f} {v.bulge:.6f}" for v in contour.vertices)


def order_of(products: Sequence[Product], *, name: str, scrap_share: float = 0.0) -> Order:
    """The order for some products.

    Raises:
        UsageError: two products of one name, or one without a stock.
        BadValueError: a share or number that cannot be.
    """
    twice = [n for n, count in Counter(p.name for p in products).items() if count > 1]
    if twice:
        raise UsageError(f"two products are called {twice[0]}", todo="Rename one of the jobs.")
    return Order(
        name,
        tuple(
            OrderLine(
                product.name,
                product.units,
                tuple(
                    PanelNeed(p.name, _stock_of(product, p).name, p.quantity, revision_of(p.panel))
                    for p in product.job.panels
                    if p.quantity
                ),
                product.spares,
            )
            for product in products
        ),
        scrap_share,
    )


def _stock_of(product: Product, panel: JobPanel) -> Stock:
    stock = product.job.setup.for_stock(panel.stock_name).stock
    if stock is None:
        raise UsageError(
            f"{product.name} has no stock",
            todo="Choose one in the job.",
            on_command_line="or give --stock NAME",
        )
    return stock


def plan_order(
    products: Sequence[Product],
    order: Order,
    *,
    control: Control,
    budget: Budget,
    bookings: Sequence[Booking] = (),
    offcuts: Sequence[Offcut] = (),
    recut: Mapping[str, int] | None = None,
    sizes: Sequence[tuple[float, float]] = (),
    machine: Machine | None = None,
    handling: HandlingTimes | None = None,
    seed: int = 1,
    workers: int = 1,
) -> OrderPlan:
    """Plan an order.

    Args:
        products: each on the stocks it is to be cut from.
        order: of these products, see `order_of`.
        control: progress; Stop takes the best so far.
        budget: for each stock.
        bookings: what was cut before.
        offcuts: to fill first.
        recut: by panel name, or `product/panel`, copies to cut again although
            they were booked: they failed or got lost.
        sizes: sheets to use; all sizes of a stock when empty.
        machine: for times.
        handling: times by hand.
        seed, workers: of the search.

    Raises:
        NotFoundError: a panel to recut that is not there.
        UsageError: more of it failed than were booked.
        LasernestError: a drawing with errors, a joint that cannot be made.
    """
    machine = machine or Machine()
    for product in products:
        refuse_drawing_errors(product.job)
    lines = cut_list(order, bookings, recut)
    jobs = {product.name: product.job for product in products}
    parts = [
        _part(
            stock_name,
            batch,
            jobs,
            control=control,
            budget=budget,
            offcuts=[o for o in offcuts if o.stock_name == stock_name],
            sizes=sizes,
            machine=machine,
            handling=handling or HandlingTimes(),
            seed=seed,
            workers=workers,
        )
        for stock_name, batch in by_stock(lines).items()
    ]
    return OrderPlan(order, lines, tuple(parts), tuple(_findings(parts, machine)))


def _part(
    stock_name: str,
    batch: Sequence[CutLine],
    jobs: Mapping[str, Job],
    *,
    control: Control,
    budget: Budget,
    offcuts: Sequence[Offcut],
    sizes: Sequence[tuple[float, float]],
    machine: Machine,
    handling: HandlingTimes,
    seed: int,
    workers: int,
) -> StockPart:
    own = {name: jobs[name] for name in dict.fromkeys(line.product for line in batch)}
    setups = [job.setup.for_stock(stock_name) for job in own.values()]
    stock, kerf = setups[0].cut_from()
    if any(setup.used_kerf != kerf for setup in setups):
        raise UsageError(
            f"the jobs on {stock_name} have different kerfs",
            todo="Let all of them use the stock's kerf.",
        )
    single = len(own) == 1
    panels: dict[str, Panel] = {}
    origins: dict[str, CutLine] = {}
    orders = []
    for (product, job), setup in zip(own.items(), setups, strict=True):
        joined = join_job(job)
        refuse_errors(joined)
        shaped = {panel.name: panel for panel in joined.panels}
        for line in (line for line in batch if line.product == product):
            name = line.panel if single else f"{product}/{line.panel}"
            panels[name] = replace(shaped[line.panel], name=name)
            origins[name] = line
            entry = job.panel(line.panel)
            usual = Turns.HALF if setup.grain_kept else Turns.QUARTER
            orders.append(
                PanelOrder(
                    panels[name],
                    line.to_cut,
                    entry.turns or usual,
                    entry.may_mirror,
                    priority=entry.priority,
                    # Panels without a product are never kept together.
                    product=product if job.setup.units_together else "",
                    per_product=entry.quantity,
                )
            )
    along = {setup.long_sides_along for setup in setups}
    margin_mm = max(setup.margin_mm for setup in setups)
    gap_mm = max(setup.gap_mm for setup in setups)
    used = _sizes(stock, sizes, machine)
    sheets = [
        replace(offcut.sheet(margin_mm=margin_mm), stock_name=stock.name) for offcut in offcuts
    ]
    sheets += [
        Sheet(
            s.width_mm,
            s.height_mm,
            margin_mm,
            available=s.count,
            price=s.price,
            label=stock.name,
            stock_name=stock.name,
        )
        for s in used
    ]
    choice = choose_sheets(
        NestRequest(
            tuple(orders),
            tuple(sheets),
            gap_mm,
            together=any(setup.units_together for setup in setups),
            # One direction for the sheet; jobs that disagree get none.
            long_sides_along=along.pop() if len(along) == 1 else None,
        ),
        control=control,
        budget=budget,
        seed=seed,
        workers=workers,
    )
    laid = planned_sheets(choice.plan, panels, setups[0])
    areas = [sheet_areas(sheet, panels) for sheet in laid]
    cut_s = math.fsum(sheet_time(sheet, machine).total_s for sheet in laid)
    wooden = family_of(stock.material).is_wooden
    return StockPart(
        stock,
        kerf,
        tuple(batch),
        panels,
        origins,
        used,
        choice,
        laid,
        together(areas),
        cut_s + handling.load_per_sheet_s * len(laid),
        handling.by_hand_s(panels=choice.plan.placed_count, masked=stock.masked, wood=wooden),
    )


def _sizes(
    stock: Stock, wanted: Sequence[tuple[float, float]], machine: Machine
) -> tuple[SheetSize, ...]:
    """The sizes to choose from: those named, else all that go into the machine."""
    if not wanted:
        fitting = tuple(s for s in stock.sizes if _goes_in(s, machine))
        return fitting or stock.sizes
    found = tuple(s for s in stock.sizes if (s.width_mm, s.height_mm) in wanted)
    if not found:
        raise NotFoundError(
            f"{stock.name} comes in none of these sizes",
            todo=f"Its sizes: {', '.join(str(size) for size in stock.sizes)}.",
        )
    return found


def _goes_in(size: SheetSize, machine: Machine) -> bool:
    return size.width_mm <= machine.bed_width_mm and size.height_mm <= machine.bed_height_mm


def _findings(parts: Sequence[StockPart], machine: Machine) -> list[Finding]:
    found = []
    for part in parts:
        others = [size for size in part.stock.sizes if size not in part.sizes]
        beyond = [str(size) for size in others if not _goes_in(size, machine)]
        if beyond:
            found.append(
                Finding(
                    Severity.WARNING,
                    "beyond-the-bed",
                    f"{part.stock.name} of {', '.join(beyond)} was left out: the bed of "
                    f"{machine.name} is {machine.bed_width_mm:g} x {machine.bed_height_mm:g} mm.",
                    todo="Book in the pieces when you have cut such a sheet down.",
                )
            )
        if part.choice.by_area:
            found.append(
                Finding(
                    Severity.WARNING,
                    "no-price",
                    f"Not every size of {part.stock.name} has a price, so their areas were "
                    "compared instead.",
                    todo="Give the sizes a price in the shop book.",
                )
            )
        if not part.kerf.measured:
            found.append(
                Finding(
                    Severity.WARNING,
                    "kerf-unmeasured",
                    f"The kerf of {part.stock.name}, {part.kerf.mean_mm:.2f} mm, was never "
                    "measured.",
                    todo="Cut a test comb before the order.",
                )
            )
    return found


def cost_of(plan: OrderPlan, rates: Rates, *, setup_s: float = 0.0) -> Cost | None:
    """What the order costs, per unit of all its products together; None for no units."""
    units = sum(line.units for line in plan.order.lines)
    if not units:
        return None
    sheets = [
        SheetCost.of(size, count)
        for part in plan.parts
        for size, count in zip(part.sizes, part.choice.counts, strict=True)
    ]
    sheets += [
        SheetCost(1, one.sheet.price, f"offcut {one.sheet.label}")
        for part in plan.parts
        for one in part.choice.plan.sheets
        if one.sheet.is_offcut and one.sheet.price
    ]
    return order_cost(
        sheets,
        rates=rates,
        machine_s=math.fsum(part.machine_s for part in plan.parts),
        hands_s=math.fsum(part.hands_s for part in plan.parts),
        setup_s=setup_s,
        good_units=units,
    )


def on_stock(job: Job, stock: Stock, instead_of: str = "") -> Job:
    """The job on a stock as it is in the shop now; what the job decided for itself stays.

    Args:
        job: to be moved.
        stock: of the shop.
        instead_of: which of the job's stocks is exchanged; empty for its own.
    """
    old = job.setup.for_stock(instead_of)
    if old.stock == stock:
        return job
    moved = ChooseStock(stock, instead_of).apply(job)
    if old.stock is not None and old.stock.name == stock.name:
        kept = moved.setup.with_choice(stock.name, kerf=old.kerf, keep_grain=old.keep_grain)
        moved = moved.changed(setup=kept)
    return moved


def all_on_one(job: Job, stock: Stock) -> Job:
    """The job with every panel cut from one stock."""
    for other in job.setup.other_stocks:
        job = ChooseStock(stock, other.stock.name).apply(job)
    return on_stock(job, stock)
