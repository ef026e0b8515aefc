"""The options that wish something of the plan: turns, priorities, units together, long sides."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import replace
from typing import TYPE_CHECKING, Annotated

import typer

from lasernest.cli.output import stock_and_size
from lasernest.errors import UsageError

if TYPE_CHECKING:
    from lasernest.job import Job

Count = Annotated[
    list[str] | None,
    typer.Option(
        "--count",
        help="Copies of one panel in a unit: PANEL=N; or PANEL=fit for as many more as "
        "the sheets used have room for. May be repeated.",
    ),
]
Priority = Annotated[
    list[str] | None,
    typer.Option(
        "--priority",
        help="Where sheets are short, panels of a higher priority come first: PANEL=N; 0. "
        "May be repeated.",
    ),
]
PanelStock = Annotated[
    list[str] | None,
    typer.Option(
        "--panel-stock",
        help="Cut a panel from another stock than the others: PANEL=STOCK, or PANEL=STOCK@600x400 "
        "for one of its sizes. May be repeated.",
    ),
]
TurnsGiven = Annotated[
    str | None,
    typer.Option(
        "--turns", help="How panels may be turned: none, half, quarter or any; as the grain says."
    ),
]
Mirror = Annotated[bool, typer.Option("--mirror", help="Panels may be turned over.")]
Together = Annotated[
    bool, typer.Option("--together", help="All panels of a unit on one sheet, where they fit.")
]
Along = Annotated[
    str | None,
    typer.Option("--along", help="Lay panels with their longer side along x or y."),
]


def with_counts(job: Job, counts: Sequence[str]) -> Job:
    """The job with other copies of its panels.

    Raises:
        UsageError: not PANEL=N or PANEL=fit.
        NotFoundError: there is no such panel.
    """
    from lasernest.services.commands import SetQuantity

    for name, number in _pairs("--count", counts, "lid=4"):
        if number == "fit":
            job = job.with_panel(name, replace(job.panel(name), as_many_as_fit=True))
        elif number.isdigit():
            job = SetQuantity(name, int(number)).apply(job)
        else:
            raise UsageError(
                f"--count: '{name}={number}' is not PANEL=N",
                todo="Like --count lid=4, or --count lid=fit for as many as fit.",
            )
    return job


def with_panel_stocks(job: Job, given: Sequence[str]) -> Job:
    """The job with panels cut from stocks of their own.

    Raises:
        UsageError: not PANEL=STOCK, or the stock does not come in that size.
        NotFoundError: there is no such panel or stock.
    """
    if not given:
        return job
    from lasernest.services.stock_exchange import CutPanelsFrom
    from lasernest.shop.book import ShopBook

    shop = ShopBook.open()
    for text in given:
        name, sign, stock_text = text.rpartition("=")
        if not sign or not stock_text.strip():
            raise UsageError(
                f"--panel-stock: '{text}' is not PANEL=STOCK",
                todo="Like --panel-stock 'lid=cast acrylic 3 mm'.",
            )
        stock, size = stock_and_size("--panel-stock", stock_text, shop)
        job = CutPanelsFrom((name,), stock, size).apply(job)
    return job


def with_wishes(
    job: Job,
    *,
    priorities: Sequence[str],
    turns: str | None,
    mirror: bool,
    together: bool,
    along: str | None,
) -> Job:
    """The job with what else is wished of its plan; what is not given stays.

    Raises:
        UsageError: an option cannot be understood.
        NotFoundError: there is no such panel.
    """
    from lasernest.domain.plan import Axis, Turns

    known = {"none": Turns.NONE, "half": Turns.HALF, "quarter": Turns.QUARTER, "any": Turns.FREE}
    if turns is not None and turns not in known:
        raise UsageError(f"--turns: '{turns}' is none of {', '.join(known)}", todo="Give one.")
    if along is not None and along not in {"x", "y"}:
        raise UsageError(f"--along: '{along}' is neither x nor y", todo="Give one of them.")
    if turns is not None or mirror:
        job = job.changed(
            panels=tuple(
                replace(
                    entry,
                    turns=entry.turns if turns is None else known[turns],
                    may_mirror=entry.may_mirror or mirror,
                )
                for entry in job.panels
            )
        )
    for name, number in _pairs("--priority", priorities, "lid=1"):
        if not number.removeprefix("-").isdigit():
            raise UsageError(
                f"--priority: '{number}' is not a whole number", todo="Like --priority lid=1."
            )
        job = job.with_panel(name, replace(job.panel(name), priority=int(number)))
    setup = replace(
        job.setup,
        units_together=together or job.setup.units_together,
        long_sides_along=Axis(along) if along else job.setup.long_sides_along,
    )
    return job.changed(setup=setup)


def _pairs(option: str, given: Sequence[str], example: str) -> Iterator[tuple[str, str]]:
    for text in given:
        name, sign, value = text.rpartition("=")
        if not sign:
            raise UsageError(f"{option}: '{text}' is not PANEL=N", todo=f"Like {option} {example}.")
        yield name, value.strip()
