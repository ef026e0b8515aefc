"""`lasernest order`: several products together, on offcuts and the cheapest sheets, and booked."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any

import typer

from lasernest.cli.output import (
    AsJson,
    emit_json,
    finding_json,
    say,
    say_what_matters,
    size_mm,
    watched,
)
from lasernest.errors import UsageError
from lasernest.units import format_time

if TYPE_CHECKING:
    from lasernest.domain.bookings import Booking
    from lasernest.domain.control import Control
    from lasernest.domain.costs import Cost
    from lasernest.services.order_planning import OrderPlan, Product, StockPart
    from lasernest.shop.book import ShopBook


def register(app: typer.Typer) -> None:
    """Add the command."""
    app.command("order")(order)


def order(
    products: Annotated[
        list[str] | None,
        typer.Argument(help="JOB or JOB=UNITS, such as drawer.lasernest=24; a drawing will do."),
    ] = None,
    name: Annotated[
        str | None, typer.Option(help="Of the order; what was cut under it is not cut again.")
    ] = None,
    stock: Annotated[str | None, typer.Option(help="Cut everything from this stock.")] = None,
    sheet: Annotated[
        list[str] | None, typer.Option(help="Only sheets of this size; may be repeated.")
    ] = None,
    spares: Annotated[
        int | None, typer.Option(help="Spare copies of each panel; else the job's own.", min=0)
    ] = None,
    scrap: Annotated[
        str | None, typer.Option(help="Expected scrap, such as 5%; else the jobs' highest.")
    ] = None,
    recut: Annotated[
        list[str] | None, typer.Option(help="Cut PANEL=N again: booked, but failed or lost.")
    ] = None,
    offcuts: Annotated[bool, typer.Option(help="Fill offcuts before whole sheets.")] = True,
    machine_rate: Annotated[
        float | None, typer.Option(help="Cost of a machine hour; else the shop's.")
    ] = None,
    wage: Annotated[
        float | None, typer.Option(help="Cost of an hour of work; else the shop's.")
    ] = None,
    overhead: Annotated[str | None, typer.Option(help="Laid on top, such as 15%.")] = None,
    setup_minutes: Annotated[
        float | None, typer.Option(help="Set-up of the order; 10 when not given.", min=0)
    ] = None,
    seconds: Annotated[float, typer.Option(help="Search for each stock.", min=0)] = 5.0,
    work: Annotated[int | None, typer.Option(help="Search this much, repeatably.")] = None,
    seed: Annotated[int, typer.Option(help="Start of the search.")] = 1,
    workers: Annotated[int, typer.Option(help="Threads to search with.", min=1)] = 1,
    out: Annotated[Path | None, typer.Option(help="Write and prove cut files: CUT.dxf.")] = None,
    accept_material: Annotated[
        bool, typer.Option(help="I have read why this material is risky and go on.")
    ] = False,
    book: Annotated[
        bool, typer.Option("--book", help="Take the sheets from the count, keep the offcuts.")
    ] = False,
    bookings: Annotated[bool, typer.Option("--bookings", help="List what was booked.")] = False,
    take_back: Annotated[
        int | None, typer.Option(help="Undo the booking of this number: counts come back.")
    ] = None,
    as_json: AsJson = False,
) -> None:
    """Plan an order: offcuts first, then the cheapest sheets; write it, book it, take it back."""
    from lasernest.shop.book import ShopBook

    shop = ShopBook.open()
    if take_back is not None:
        _tell_bookings([shop.take_back(take_back)], "taken back", as_json=as_json)
        return
    if bookings:
        _tell_bookings(list(shop.bookings(job=name)), "", as_json=as_json)
        return
    if not products:
        raise UsageError("there is nothing to order", todo="Name a job: drawer.lasernest=24.")
    from datetime import date

    from lasernest.cli.rates import share, used_rates
    from lasernest.domain.rates import HandlingTimes
    from lasernest.files import refuse_folder
    from lasernest.nesting import Budget
    from lasernest.services.order_booking import booking_of
    from lasernest.services.order_planning import cost_of, order_of, plan_order

    rates = used_rates(shop, machine_rate, wage, overhead)
    with watched() as control:
        wanted = [_product(text, stock, spares, shop, control) for text in products]
        asked = order_of(
            wanted,
            name=name or ", ".join(product.name for product in wanted),
            scrap_share=share("--scrap", scrap)
            if scrap is not None
            else max(product.job.setup.scrap_share for product in wanted),
        )
        if out is not None:
            refuse_folder(out)
        shelf = shop.offcuts() if offcuts else ()
        plan = plan_order(
            wanted,
            asked,
            control=control,
            budget=Budget(None if work is not None else seconds, work),
            bookings=shop.bookings(job=asked.name),
            offcuts=shelf,
            recut=dict(_recut(text) for text in recut or []),
            sizes=[size_mm("--sheet", text) for text in sheet or []],
            machine=shop.machine(),
            seed=seed,
            workers=workers,
        )
        if out is not None:
            from lasernest.services.order_writing import write_order

            plan = write_order(
                plan, out, machine=shop.machine(), control=control, accepted=accept_material
            )
    cost = None
    if rates is not None:
        usual_s = HandlingTimes().setup_per_order_s
        setup_s = usual_s if setup_minutes is None else 60.0 * setup_minutes
        cost = cost_of(plan, rates, setup_s=setup_s)
    failed = any(s.proof is not None and not s.proof.passed for p in plan.parts for s in p.sheets)
    booked = None
    if book and not failed and (plan.parts or any(line.failed for line in plan.lines)):
        booked = shop.book(booking_of(plan, offcuts=shelf, on=date.today()))
    if as_json:
        emit_json(_json(plan, cost, booked))
    else:
        _say(plan, cost, booked)
    if plan.unplaced or failed:
        raise typer.Exit(1)


def _product(
    text: str, stock: str | None, spares: int | None, shop: ShopBook, control: Control
) -> Product:
    from lasernest.services.main_job import read_inputs
    from lasernest.services.order_planning import Product, all_on_one, on_stock

    path_text, sign, units_text = text.rpartition("=")
    if sign and not units_text.strip().isdigit():
        raise UsageError(f"'{text}' is not JOB=UNITS", todo="Like drawer.lasernest=24.")
    path = Path(path_text if sign else text)
    job = read_inputs([path], control=control)
    if stock is not None:
        job = all_on_one(job, shop.stock(stock))
    elif job.setup.stock is None:
        raise UsageError(f"{path.name} names no stock", todo="Give --stock NAME.")
    for one in job.setup.stocks:
        job = on_stock(job, shop.stock(one.name), one.name)
    units = int(units_text) if sign else job.setup.units
    more = job.setup.spares if spares is None else spares
    return Product(job.name or path.stem, job, units, more)


def _recut(text: str) -> tuple[str, int]:
    name, sign, number = text.rpartition("=")
    if not sign or not number.strip().isdigit():
        raise UsageError(f"--recut: '{text}' is not PANEL=N", todo="Like --recut side=3.")
    return name, int(number)


def _json(plan: OrderPlan, cost: Cost | None, booked: Booking | None) -> dict[str, Any]:
    form: dict[str, Any] = {
        "order": plan.order.name,
        "panels": [
            {
                "product": line.product,
                "panel": line.panel,
                "stock": line.stock_name,
                "needed": line.needed,
                "on_hand": line.on_hand,
                "to_cut": line.to_cut,
                "failed": line.failed,
                "outdated": line.outdated,
            }
            for line in plan.lines
        ],
        "ordered": plan.ordered,
        "planned": plan.planned,
        "unplaced": plan.unplaced,
        "stocks": [_part_json(part) for part in plan.parts],
        "findings": [finding_json(finding) for finding in plan.findings],
    }
    if cost is not None:
        form["cost"] = {
            "material": cost.material,
            "machine": cost.machine,
            "hands": cost.hands,
            "setup": cost.setup,
            "total": cost.total,
            "per_unit": cost.per_unit,
            "per_unit_with_overhead": cost.per_unit_with_overhead,
            "price_missing": list(cost.unpriced),
        }
    if booked is not None:
        form["booking"] = _booking_json(booked)
    return form


def _part_json(part: StockPart) -> dict[str, Any]:
    return {
        "stock": part.stock.name,
        "sheets": [
            {"sheet_mm": [s.width_mm, s.height_mm], "count": n, "price": s.price}
            for s, n in zip(part.sizes, part.choice.counts, strict=True)
            if n
        ],
        "offcuts": [s.sheet.label for s in part.choice.plan.sheets if s.sheet.is_offcut],
        "cost": part.choice.cost,
        "single_size_cost": part.choice.single_cost,
        "yield_share": part.areas.yield_share if part.areas.sheet_mm2 else None,
        "areas_mm2": {
            "sheets": part.areas.sheet_mm2,
            "panels": part.areas.net_mm2,
            "offcuts": part.areas.offcut_mm2,
            "kerf": part.areas.kerf_mm2,
            "waste": part.areas.waste_mm2,
        },
        "machine_s": part.machine_s,
        "hands_s": part.hands_s,
        "files": [str(s.file) for s in part.sheets if s.file is not None],
        "proved": [s.proof.passed for s in part.sheets if s.proof is not None],
        "unplaced": [
            {"name": u.panel_name, "count": u.count, "reason": u.reason}
            for u in part.choice.plan.unplaced
        ],
    }


def _booking_json(booking: Booking) -> dict[str, Any]:
    return {
        "number": booking.number,
        "on": booking.on.isoformat(),
        "order": booking.job,
        "sheets": [
            {"stock": u.stock_name, "sheet_mm": [u.width_mm, u.height_mm], "count": u.count}
            for u in booking.sheets
        ],
        "offcuts_used": [o.label for o in booking.offcuts_used],
        "offcuts_kept": [
            {"label": o.label, "size_mm": list(o.size_mm)} for o in booking.offcuts_kept
        ],
        "panels": [
            {"product": p.product, "panel": p.panel, "count": p.count, "from": p.sheet}
            for p in booking.panels
        ],
        "failed": [
            {"product": p.product, "panel": p.panel, "count": p.count} for p in booking.failed
        ],
    }


def _say(plan: OrderPlan, cost: Cost | None, booked: Booking | None) -> None:
    say(f"order {plan.order.name}: {plan.ordered} panels to cut")
    for line in plan.lines:
        done = f", {line.on_hand} cut already" if line.on_hand else ""
        done += f", {line.why_again}" if line.why_again else ""
        say(f"  {line.to_cut} x {line.panel} of {line.product} ({line.needed} needed{done})")
    for part in plan.parts:
        _say_part(part)
    if not plan.parts:
        say("nothing is left to cut")
    say_what_matters(plan.findings)
    if cost is not None:
        say(
            f"cost {cost.total:.2f}: material {cost.material:.2f}, machine {cost.machine:.2f}, "
            f"hands {cost.hands:.2f}, set-up {cost.setup:.2f}"
        )
        say(f"per unit {cost.per_unit:.2f}, with overhead {cost.per_unit_with_overhead:.2f}")
        if cost.unpriced:
            say(f"without a price, so not counted: {', '.join(cost.unpriced)}")
    if booked is not None:
        _say_booking(booked, "booked")


def _say_part(part: StockPart) -> None:
    sheets = [f"{n} x {size}" for size, n in zip(part.sizes, part.choice.counts, strict=True) if n]
    used = [s.sheet.label for s in part.choice.plan.sheets if s.sheet.is_offcut]
    taken = sheets + ([f"offcuts {', '.join(used)}"] if used else [])
    price = "" if part.choice.cost is None else f", {part.choice.cost:.2f}"
    say(f"{part.stock.name}: {' + '.join(taken) or 'no sheet'}{price}")
    single = part.choice.single_cost
    if part.choice.cost is not None and single is not None and single > part.choice.cost + 1e-9:
        say(f"  sheets of one size would cost {single:.2f}")
    if any(s.price_invented and n for s, n in zip(part.sizes, part.choice.counts, strict=True)):
        say("  prices are invented until you set your own: lasernest stock edit --price")
    if part.areas.sheet_mm2:
        say(
            f"  yield {part.areas.yield_share:.1%}, kept offcuts "
            f"{part.areas.offcut_mm2 / 1e6:.3f} m2, kerf {part.areas.kerf_mm2 / 1e6:.4f} m2"
        )
    say(f"  machine {format_time(part.machine_s)}, by hand {format_time(part.hands_s)}")
    for sheet in part.sheets:
        if sheet.file is not None and sheet.proof is not None:
            verdict = "proof passed" if sheet.proof.passed else "PROOF FAILED"
            say(f"  {sheet.file}: {verdict}")
    for unplaced in part.choice.plan.unplaced:
        say(f"  not placed: {unplaced.count} x {unplaced.panel_name}: {unplaced.reason}")


def _tell_bookings(found: list[Booking], verb: str, *, as_json: bool) -> None:
    if as_json:
        emit_json({"bookings": [_booking_json(booking) for booking in found]})
        return
    for booking in found:
        _say_booking(booking, verb)
    if not found:
        say("nothing is booked")


def _say_booking(booking: Booking, verb: str) -> None:
    head = f"booking {booking.number} of {booking.on.isoformat()}, {booking.job}"
    say(f"{head}: {verb}" if verb else head)
    for use in booking.sheets:
        say(f"  {use.count} x {use.stock_name}, {use.width_mm:g} x {use.height_mm:g} mm")
    for offcut in booking.offcuts_used:
        say(f"  used offcut {offcut.label}")
    for offcut in booking.offcuts_kept:
        width, height = offcut.size_mm
        say(f"  kept offcut {offcut.label}: write it on the piece of {width:.0f} x {height:.0f} mm")
    for panel in booking.panels:
        say(f"  {panel.count} x {panel.panel} of {panel.product} from {panel.sheet}")
    for panel in booking.failed:
        say(f"  {panel.count} x {panel.panel} of {panel.product} had failed")
