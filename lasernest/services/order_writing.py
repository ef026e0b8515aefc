"""The cut files of a planned order, each read back and proved."""

from __future__ import annotations

import re
from dataclasses import replace
from pathlib import Path

from lasernest.domain.control import Control
from lasernest.domain.stock import Machine
from lasernest.job import Setup
from lasernest.services.bench_sheets import written_sheets
from lasernest.services.cutting import refuse_material, write_cut_files
from lasernest.services.order_planning import OrderPlan


def write_order(
    plan: OrderPlan, out: Path, *, machine: Machine, control: Control, accepted: bool = False
) -> OrderPlan:
    """Write the sheets of every stock of an order.

    Args:
        plan: of the order.
        out: the cut file; with several stocks their names are put into its name.
        machine: for layers and times.
        control: progress and Cancel.
        accepted: the maker has read the warnings on the materials.

    Returns:
        The plan, its sheets with their files and proofs.

    Raises:
        LasernestError: see `write_cut_files`; no stock is begun before all may be cut.
    """
    for part in plan.parts:
        refuse_material(part.stock, acknowledged=accepted)
    parts = []
    for part in plan.parts:
        if not part.choice.plan.sheets:
            parts.append(part)
            continue
        materials = (part.stock.material,) if accepted else ()
        setup = Setup(part.stock, kerf=part.kerf, materials_accepted=materials)
        written = write_cut_files(
            part.choice.plan,
            part.panels,
            out if len(plan.parts) == 1 else _named(out, part.stock.name),
            setup=setup,
            machine=machine,
            control=control,
        )
        parts.append(replace(part, sheets=written_sheets(part.choice.plan, written, setup)))
    return replace(plan, parts=tuple(parts))


def _named(out: Path, stock_name: str) -> Path:
    plain = re.sub(r"[^\w.]+", "-", stock_name).strip("-")
    return out.with_name(f"{out.stem}-{plain}{out.suffix}")
