"""`lasernest rates`: what an hour costs in this shop; and the options that say so for once."""

from __future__ import annotations

from typing import TYPE_CHECKING, Annotated, Any

import typer

from lasernest.cli.output import AsJson, emit_json, say
from lasernest.errors import UsageError

if TYPE_CHECKING:
    from lasernest.domain.rates import Rates
    from lasernest.shop.book import ShopBook


def register(app: typer.Typer) -> None:
    """Add the command."""
    app.command("rates")(rates)


def rates(
    machine_rate: Annotated[float | None, typer.Option(help="Cost of a machine hour.")] = None,
    wage: Annotated[float | None, typer.Option(help="Cost of an hour of work.")] = None,
    overhead: Annotated[str | None, typer.Option(help="Laid on top, such as 15%.")] = None,
    forget: Annotated[bool, typer.Option("--forget", help="Count material only again.")] = False,
    as_json: AsJson = False,
) -> None:
    """Show or set what an hour costs in this shop."""
    from lasernest.shop.book import ShopBook

    shop = ShopBook.open()
    if forget:
        shop.save_rates(None)
    elif machine_rate is not None or wage is not None or overhead is not None:
        shop.save_rates(changed_rates(shop.rates(), machine_rate, wage, overhead))
    known = shop.rates()
    if as_json:
        emit_json(rates_json(known))
    elif known is None:
        say("nobody has said what an hour costs; only material is counted")
        say("set it: lasernest rates --machine-rate 30 --wage 25 --overhead 15%")
    else:
        say(
            f"machine {known.machine_per_h:g} an hour, work {known.wage_per_h:g} an hour, "
            f"overhead {known.overhead_share:.0%}"
        )


def rates_json(known: Rates | None) -> dict[str, Any]:
    """Rates for programs; null where nobody has said them."""
    return {
        "machine_per_h": known.machine_per_h if known else None,
        "wage_per_h": known.wage_per_h if known else None,
        "overhead_share": known.overhead_share if known else None,
    }


def changed_rates(
    known: Rates | None, machine_rate: float | None, wage: float | None, overhead: str | None
) -> Rates:
    """The rates of the shop with what was given put in their place.

    Raises:
        UsageError: neither the shop nor the options tell one of the hours.
    """
    from lasernest.domain.rates import Rates

    if known is None and (machine_rate is None or wage is None):
        raise UsageError("cost needs both rates", todo="Give --machine-rate and --wage.")
    was = known or Rates(0.0, 0.0)
    return Rates(
        was.machine_per_h if machine_rate is None else machine_rate,
        was.wage_per_h if wage is None else wage,
        was.overhead_share if overhead is None else share("--overhead", overhead),
    )


def used_rates(
    shop: ShopBook, machine_rate: float | None, wage: float | None, overhead: str | None
) -> Rates | None:
    """The rates of a command: as given, else those of the shop, else none."""
    known = shop.rates()
    if machine_rate is None and wage is None and (overhead is None or known is None):
        return known
    return changed_rates(known, machine_rate, wage, overhead)


def share(option: str, text: str) -> float:
    """A share as `5%` or `0.05`."""
    number = text.strip().removesuffix("%")
    try:
        value = float(number.replace(",", "."))
    except ValueError:
        raise UsageError(f"{option}: '{text}' is not a share", todo="Like 5% or 0.05.") from None
    return value / 100.0 if text.strip().endswith("%") else value
