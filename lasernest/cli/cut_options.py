"""The options that say how a sheet is cut: machine, zero corner, marks, order, lead-ins, tabs."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING, Annotated, TypeVar

import typer

from lasernest.cli.output import length_mm
from lasernest.errors import BadValueError, UsageError

if TYPE_CHECKING:
    from lasernest.domain.cutting import CutChoices
    from lasernest.domain.stock import Kerf, Machine

T = TypeVar("T")

KerfWidth = Annotated[str | None, typer.Option("--kerf", help="Full kerf, such as 0.18.")]
KerfAlong = Annotated[
    str | None,
    typer.Option("--kerf-xy", help="Full kerf along x and along y, such as 0.22,0.16."),
]
MachineName = Annotated[
    str | None,
    typer.Option(
        "--machine",
        help="A machine of the shop book: its bed, speeds, layers, colours, zero and marks.",
    ),
]
Origin = Annotated[
    str | None,
    typer.Option(
        "--origin",
        help="The sheet's corner at the machine's zero: lower-left, lower-right, upper-left or "
        "upper-right.",
    ),
]
Marks = Annotated[
    str | None,
    typer.Option(
        "--marks", help="What becomes of marks: as-drawn, all-scored, all-engraved or left-out."
    ),
]
Order = Annotated[
    str | None,
    typer.Option(
        "--order",
        help="Order of cuts: panel (each is finished before the next), kind (all inner cuts "
        "first) or heat (each far from the last ones).",
    ),
]
LeadIn = Annotated[
    str | None,
    typer.Option(
        "--lead-in", help="Length of the way in from the pierce, on the waste side, such as 2."
    ),
]
Tabs = Annotated[
    str | None,
    typer.Option("--tabs", help="Width of the tabs that hold small panels, such as 0.4."),
]
TabsBelow = Annotated[
    str | None, typer.Option("--tabs-below", help="Panels narrower than this get tabs; 12.")
]
TabsCount = Annotated[
    int | None, typer.Option("--tabs-count", help="Tabs on each of them; 2.", min=1, max=12)
]
Names = Annotated[
    str | None,
    typer.Option(
        "--names",
        help="Engrave panel names: panels (on them), holes (in waste that falls out) or none.",
    ),
]


def kerf_of(width: str | None, along: str | None) -> Kerf | None:
    """The kerf that was given, None for none.

    Raises:
        UsageError: given twice, or not two lengths.
    """
    from lasernest.domain.stock import Kerf

    if width and along:
        raise UsageError("--kerf and --kerf-xy say the same thing", todo="Give one of them.")
    if width:
        return Kerf.same(length_mm("--kerf", width), basis="given")
    if along:
        parts = along.split(",")
        if len(parts) != 2:
            raise UsageError(f"--kerf-xy: '{along}' is not two lengths", todo="Like 0.22,0.16.")
        x_mm, y_mm = (length_mm("--kerf-xy", part) for part in parts)
        return Kerf(x_mm, y_mm, basis="given")
    return None


def chosen_machine(name: str | None, origin: str | None, marks: str | None) -> Machine | None:
    """The machine that these options name; None where none of them is given.

    Raises:
        UsageError: a corner or a use of marks that is not known.
        NotFoundError: the shop book has no such machine.
    """
    if name is None and origin is None and marks is None:
        return None
    from lasernest.domain.cutting import Corner, MarkUse
    from lasernest.domain.stock import Machine
    from lasernest.shop.book import ShopBook

    corners = {corner.value.replace(" ", "-"): corner for corner in Corner}
    mark_uses = {use.value.replace(" ", "-"): use for use in MarkUse}
    machine = Machine() if name is None else ShopBook.open().machine(name)
    profile = machine.profile
    if origin is not None:
        profile = replace(profile, origin=_known("--origin", origin, corners))
    if marks is not None:
        profile = replace(profile, marks=_known("--marks", marks, mark_uses))
    return replace(machine, profile=profile)


def cut_choices(
    kept: CutChoices,
    *,
    order: str | None,
    lead_in: str | None,
    tabs: str | None,
    tabs_below: str | None,
    tabs_count: int | None,
    names: str | None = None,
) -> CutChoices:
    """What the job kept, with what these options change.

    Raises:
        UsageError: a value that cannot be.
    """
    from lasernest.domain.cutting import HoldingTabs, NamePlace, WorkOrder

    orders = {
        "panel": WorkOrder.BY_PANEL,
        "kind": WorkOrder.BY_KIND,
        "heat": WorkOrder.SPREAD_HEAT,
    }
    places = {
        "none": NamePlace.NOWHERE,
        "panels": NamePlace.ON_PANELS,
        "holes": NamePlace.IN_HOLES,
    }
    made = kept
    option = "--lead-in"
    try:
        if order is not None:
            made = replace(made, order=_known("--order", order, orders))
        if names is not None:
            made = replace(made, names=_known("--names", names, places))
        if lead_in is not None:
            made = replace(made, lead_mm=length_mm(option, lead_in))
        option = "--tabs"
        if (tabs, tabs_below, tabs_count) != (None, None, None):
            held = made.tabs or HoldingTabs()
            held = replace(
                held,
                width_mm=held.width_mm if tabs is None else length_mm("--tabs", tabs),
                below_mm=(
                    held.below_mm if tabs_below is None else length_mm("--tabs-below", tabs_below)
                ),
                count=held.count if tabs_count is None else tabs_count,
            )
            made = replace(made, tabs=held)
    except BadValueError as error:
        raise UsageError(f"{option}: {error.what}", todo=error.todo) from error
    return made


def _known(option: str, text: str, known: dict[str, T]) -> T:
    found = known.get(text.strip().lower().replace("_", "-").replace(" ", "-"))
    if found is None:
        raise UsageError(f"{option}: '{text}' is not known", todo=f"Use {', '.join(known)}.")
    return found
