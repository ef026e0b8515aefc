"""Facts for the job sheet: each with its value, its unit and what it rests on."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from datetime import date

from lasernest.domain.costs import Cost
from lasernest.domain.figures import Figure
from lasernest.domain.fits import family_of
from lasernest.domain.job_sheet import Fact
from lasernest.domain.panels import Panel
from lasernest.domain.rates import HandlingTimes
from lasernest.domain.records import KerfRecord
from lasernest.domain.stock import Machine, Stock
from lasernest.job import Job
from lasernest.kerf.cut_time import CutTime, travel_moves_mm
from lasernest.services.bench_sheets import SheetAtHand, sheet_areas, sheet_time, together
from lasernest.services.costing import SheetAreas
from lasernest.services.planning import weight_g
from lasernest.units import format_mm, format_time


@dataclass(frozen=True, slots=True)
class Bench:
    """What the shop knows that a job sheet tells."""

    machine: Machine
    records: Mapping[str, KerfRecord] = field(default_factory=dict)
    """By stock name, the test cut that its kerf rests on."""
    on: date = date.min
    """Today, for the age of the record."""
    cost: Cost | None = None
    handling: HandlingTimes = field(default_factory=HandlingTimes)


def sheet_facts(
    part: Job, sheets: Sequence[SheetAtHand], joints_mm: float | None = None
) -> list[Fact]:
    """What the part of one stock is cut from.

    Args:
        part: the job's panels of this stock.
        sheets: of this stock.
        joints_mm: the thickness that joints are made for, where the job gives one.
    """
    (stock, _), setup = part.setup.cut_from(), part.setup
    sizes: dict[str, int] = {}
    for sheet in sheets:
        whole = sheet.plan.sheet
        name = f"{whole.width_mm:g} × {whole.height_mm:g} mm"
        name = f"offcut {whole.label}, {name}" if whole.is_offcut else name
        sizes[name] = sizes.get(name, 0) + 1
    measured = stock.measured_thickness_mm is not None
    thickness = format_mm(stock.working_thickness_mm)
    if stock.thickness_u_mm is not None and measured:
        thickness = f"{stock.working_thickness_mm:.2f} ± {2 * stock.thickness_u_mm:.2f} mm"
    basis = f"measured; sold as {stock.thickness_mm:g} mm" if measured else "as sold, not measured"
    facts = [
        Fact("Stock", stock.name, stock.supplier),
        Fact("Material", stock.material),
        Fact("Thickness", thickness, basis),
        *(
            [Fact("Joints made for", format_mm(joints_mm), "given for this job")]
            if joints_mm
            else []
        ),
        *(
            Fact("Sheets" if i == 0 else "", f"{count} × {name}")
            for i, (name, count) in enumerate(sizes.items())
        ),
        Fact(
            "Grain",
            "keep along x" if setup.grain_kept else "free",
            "panels turn by 180° only" if setup.grain_kept else "",
        ),
        Fact("Gap, margin", f"{setup.gap_mm:g} mm, {setup.margin_mm:g} mm"),
    ]
    if stock.masked:
        facts.append(Fact("Masking", "on both faces", "leave it on for the cut, peel afterwards"))
    if setup.units > 1:
        facts.append(Fact("Units to make", str(setup.units)))
    return facts


def beam_facts(part: Job, bench: Bench, *, joined: bool) -> list[Fact]:
    """How the part of one stock is cut, and what its kerf rests on."""
    stock, kerf = part.setup.cut_from()
    record = bench.records.get(stock.name)
    width = f"{kerf.mean_mm:.3f}"
    if not kerf.is_round:
        width = f"x {kerf.x_mm:.3f}, y {kerf.y_mm:.3f}"
    if kerf.u_mm is not None:
        width += f" ± {2 * kerf.u_mm:.3f}"
    basis = kerf.basis
    if record is not None:
        basis = f"{record.name}, {age_text(record, bench.on)}"
    facts = [Fact("Kerf, full width", f"{width} mm", basis), Fact("Machine", bench.machine.name)]
    settings = record.settings if record is not None else None
    speed = settings.speed_mm_per_s if settings and settings.speed_mm_per_s else None
    facts.append(
        Fact(
            "Cut speed",
            f"{speed or stock.cut_speed_mm_per_s:g} mm/s",
            "as the comb was cut" if speed else "of the stock; a starting value",
        )
    )
    if settings is not None:
        if settings.power_share is not None:
            facts.append(Fact("Power", f"{settings.power_share:.0%}", "as the comb was cut"))
        facts.append(Fact("Passes", str(settings.passes), "as the comb was cut"))
        if settings.lens:
            facts.append(Fact("Lens", settings.lens, "as the comb was cut"))
        if settings.machine and settings.machine != bench.machine.name:
            facts.append(Fact("Comb cut on", settings.machine, "another machine than this job"))
    facts.append(Fact("Zero", f"{bench.machine.profile.origin.value} corner of the sheet"))
    if joined:
        facts.append(Fact("Fit wanted", part.joint_rules.fit.value))
    return facts


def age_text(record: KerfRecord, on: date) -> str:
    """How old a record is."""
    days = (on - record.on).days
    return "cut today" if days == 0 else f"{days} {'day' if days == 1 else 'days'} old"


def job_figures(
    panels: Mapping[str, Panel], sheets: Sequence[SheetAtHand], bench: Bench
) -> list[Fact]:
    """The figures of the whole job."""
    areas = [sheet_areas(sheet, panels) for sheet in sheets]
    whole = together(areas)
    times = [sheet_time(sheet, bench.machine) for sheet in sheets]
    count = sum(len(s.plan.placements) for s in sheets)
    facts = [Fact(Figure.PANELS.value, str(count)), *area_facts(whole)]
    facts += way_facts(sheets)
    facts += time_facts(times, bench.machine)
    of_stock: dict[Stock, list[SheetAtHand]] = {}
    for sheet in sheets:
        of_stock.setdefault(sheet.stock, []).append(sheet)
    by_hand_s = math.fsum(
        bench.handling.by_hand_s(
            panels=sum(len(s.plan.placements) for s in own),
            masked=stock.masked,
            wood=family_of(stock.material).is_wooden,
        )
        for stock, own in of_stock.items()
    )
    load_s = bench.handling.load_per_sheet_s * len(sheets)
    facts.append(
        Fact(Figure.LOADING.value, format_time(load_s), f"{len(sheets)} × laying in and focusing")
    )
    facts.append(
        Fact(
            Figure.HAND_TIME.value,
            format_time(by_hand_s),
            "peel, wipe, deburr, look; common practice",
        )
    )
    weights = [
        weight_g(area.net_mm2, sheet.stock) for area, sheet in zip(areas, sheets, strict=True)
    ]
    if weights and all(grams is not None for grams in weights):
        densities = [f"{stock.density_g_per_cm3:g}" for stock in of_stock]
        grams = math.fsum(grams for grams in weights if grams is not None)
        facts.append(
            Fact(Figure.WEIGHT.value, _weight(grams), f"density {', '.join(densities)} g/cm³")
        )
    cost = bench.cost
    if cost is not None:
        parts = (
            f"material {cost.material:.2f}, machine {cost.machine:.2f}, hands {cost.hands:.2f}, "
            f"set-up {cost.setup:.2f}"
        )
        facts.append(Fact(Figure.UNIT_COST.value, f"{cost.per_unit_with_overhead:.2f}", parts))
    return facts


def area_facts(areas: SheetAreas) -> list[Fact]:
    """Where the area of sheets goes."""
    if not areas.sheet_mm2:
        return []
    return [
        Fact(Figure.YIELD.value, f"{areas.yield_share:.1%}", "net panels over whole sheets"),
        Fact(
            Figure.USED_YIELD.value,
            f"{areas.used_yield_share:.1%}",
            "net panels over what is not kept",
        ),
        Fact(Figure.KERF_LOSS.value, _area(areas.kerf_mm2), "cut length × kerf"),
        Fact(Figure.OFFCUT_KEPT.value, _area(areas.offcut_mm2) if areas.offcut_mm2 else "none"),
    ]


def way_facts(sheets: Sequence[SheetAtHand]) -> list[Fact]:
    """How far the beam goes."""
    travel_mm = math.fsum(math.fsum(travel_moves_mm(s.cut.paths)) for s in sheets)
    return [
        Fact(Figure.CUT_LENGTH.value, _metres(sum(s.cut.cut_length_mm for s in sheets))),
        Fact(Figure.PIERCES.value, str(sum(s.cut.pierces for s in sheets))),
        Fact(Figure.TRAVEL.value, _metres(travel_mm), "beam off"),
    ]


def time_facts(times: Sequence[CutTime], machine: Machine) -> list[Fact]:
    """How long the machine takes, and what was taken into account."""
    basis = (
        f"cutting {format_time(sum(t.cutting_s for t in times))}, marking "
        f"{format_time(sum(t.marking_s for t in times))}, piercing {machine.pierce_s:g} s each, "
        f"travel {machine.travel_mm_per_s:g} mm/s at {machine.acceleration_mm_per_s2:g} mm/s²"
    )
    return [Fact(Figure.CUT_TIME.value, format_time(sum(t.total_s for t in times)), basis)]


def _metres(length_mm: float) -> str:
    return f"{length_mm / 1000:.2f} m"


def _area(area_mm2: float) -> str:
    return f"{area_mm2 / 1e6:.3f} m²" if area_mm2 >= 1e4 else f"{area_mm2 / 100:.1f} cm²"


def _weight(grams: float) -> str:
    return f"{grams / 1000:.2f} kg" if grams >= 1000 else f"{grams:.0f} g"
