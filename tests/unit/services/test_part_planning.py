"""Panels of several stocks arranged as one plan."""

from __future__ import annotations

from collections import Counter
from dataclasses import replace

import pytest

from lasernest.domain.contours import Contour
from lasernest.domain.control import QuietControl
from lasernest.domain.panels import Panel
from lasernest.domain.plan import Plan
from lasernest.domain.stock import Kerf, SheetSize, Stock
from lasernest.errors import BadValueError
from lasernest.job import Job, JobPanel, Setup, parts_of
from lasernest.nesting import Budget, arrange, plan_problems
from lasernest.services.plan_commands import LockSheet, MoveToSheet, PinPanels, key_of
from lasernest.services.planning import arrange_job, plan_rank, request_of, requests_of
from lasernest.services.rearranging import arrange_around
from lasernest.services.stock_exchange import CutPanelsFrom

BIRCH = Stock("birch", "birch plywood", 3.0, (SheetSize(300, 200, 2.0),), Kerf.same(0.18))
CAST = Stock("cast", "cast acrylic", 3.0, (SheetSize(250, 150),), Kerf.same(0.2))
SHAPES = [
    Panel.of("ell", Contour.polygon([(0, 0), (80, 0), (80, 30), (30, 30), (30, 70), (0, 70)])),
    Panel.of("disc", Contour.circle(0, 0, 25)),
    Panel.of("tag", Contour.rectangle(0, 0, 55, 24)),
]
PANELS = {panel.name: panel for panel in SHAPES}
PLAIN = Job("case", tuple(JobPanel(p, n) for p, n in zip(SHAPES, (6, 5, 9), strict=True)),
            setup=Setup(BIRCH))  # fmt: skip
MIXED = CutPanelsFrom(("tag",), CAST).apply(PLAIN)


class Watching(QuietControl):
    """Keeps what is offered; stops after so many plans."""

    def __init__(self, stop_after: int = 10**6) -> None:
        super().__init__()
        self.offered: list[Plan] = []
        self.told: list[float] = []
        self._stop_after = stop_after

    def offer(self, result: Plan) -> None:
        self.offered.append(result)
        if len(self.offered) >= self._stop_after:
            self.stop()

    def report(self, done: float, total: float, note: str = "") -> None:
        self.told.append(done / total)


def arranged(job: Job, work: int = 0, control: QuietControl | None = None, **more) -> Plan:  # type: ignore[no-untyped-def]
    return arrange_job(
        job, control=control or QuietControl(), budget=Budget(work=work), panels=PANELS, **more
    )


def check(job: Job, plan: Plan) -> None:
    """Every part passes nesting's own exact check, and its sheets come one after the other."""
    for part in parts_of(job.changed(plan=plan)):
        assert part.plan is not None
        assert plan_problems(request_of(part, PANELS), part.plan) == ()
    stocks = [one.sheet.stock_name for one in plan.sheets]
    assert stocks == sorted(stocks)  # birch before cast
    placed = Counter(p.panel_name for one in plan.sheets for p in one.placements)
    assert placed == {p.name: job.copies_of(p) for p in job.panels}


def test_one_stock_is_arranged_as_nesting_does_it() -> None:
    plan = arranged(PLAIN, work=20_000)
    bare = arrange(request_of(PLAIN, PANELS), control=QuietControl(), budget=Budget(work=20_000))
    assert plan.sheets == bare.sheets
    assert (plan.evaluations, len(plan.log)) == (bare.evaluations, len(bare.log))


def test_each_stock_has_its_own_sheets() -> None:
    plan = arranged(MIXED, work=20_000)
    check(MIXED, plan)
    assert {(s.sheet.stock_name, s.sheet.width_mm) for s in plan.sheets} == {
        ("birch", 300.0), ("cast", 250.0),
    }  # fmt: skip
    again = arranged(MIXED, work=20_000)
    assert again.sheets == plan.sheets
    assert arranged(MIXED, work=20_000, seed=9).evaluations > 0


def test_whatever_is_offered_is_a_whole_plan_and_gets_better() -> None:
    control = Watching()
    plan = arranged(MIXED, work=60_000, control=control)
    requests = requests_of(MIXED, PANELS)
    for offered in control.offered:
        check(MIXED, offered)
    ranks = [plan_rank(offered, requests) for offered in control.offered]
    assert ranks == sorted(ranks, reverse=True)
    assert control.offered[-1].sheets == plan.sheets
    assert control.told == sorted(control.told)
    # The log tells of the whole: as many sheets as there are, later entries never more.
    assert plan.log[-1].sheets == len(plan.sheets)
    assert [p.seconds for p in plan.log] == sorted(p.seconds for p in plan.log)


def test_stop_keeps_the_best_of_all_parts() -> None:
    check(MIXED, arranged(MIXED, work=10**9, control=Watching(stop_after=1)))


def test_going_on_is_never_worse() -> None:
    first = arranged(MIXED)
    requests = requests_of(MIXED, PANELS)
    longer = arranged(MIXED, work=60_000, start=first)
    check(MIXED, longer)
    assert plan_rank(longer, requests) <= plan_rank(first, requests)
    assert longer.evaluations > first.evaluations
    assert longer.seconds > first.seconds
    assert longer.log[: len(first.log)] == first.log


def test_a_plan_better_for_one_stock_is_better_as_a_whole() -> None:
    # Birch has prices and acrylic none: a dearer birch sheet must still count as worse.
    plan = arranged(MIXED)
    requests = requests_of(MIXED, PANELS)
    (birch,) = requests[0].sheets
    dearer = tuple(
        replace(s, sheet=replace(birch, price=9.0)) if s.sheet == birch else s for s in plan.sheets
    )
    assert plan_rank(plan, requests) < plan_rank(replace(plan, sheets=dearer), requests)


def test_priorities_of_different_parts_are_compared_level_by_level() -> None:
    tag, disc = MIXED.panel("tag"), MIXED.panel("disc")
    job = MIXED.with_panel("tag", replace(tag, priority=2))
    job = job.with_panel("disc", replace(disc, priority=1))
    plan, requests = arranged(job), requests_of(job, PANELS)

    def without(name: str) -> Plan:
        kept = (
            replace(s, placements=tuple(p for p in s.placements if p.panel_name != name))
            for s in plan.sheets
        )
        return replace(plan, sheets=tuple(kept))

    # Nine tags of the highest priority weigh more than all others, whatever their part.
    assert plan_rank(plan, requests) < plan_rank(without("ell"), requests)
    assert plan_rank(without("ell"), requests) < plan_rank(without("disc"), requests)
    assert plan_rank(without("disc"), requests) < plan_rank(without("tag"), requests)


def around(job: Job, work: int = 0) -> Plan:
    budget = Budget(work=work)
    return arrange_around(job, control=QuietControl(), budget=budget, panels=PANELS)


def test_pins_and_locked_sheets_stay_and_other_parts_move() -> None:
    planned = MIXED.changed(plan=arranged(MIXED))
    assert planned.plan is not None
    last = len(planned.plan.sheets) - 1
    first = planned.plan.sheets[0].placements[0]
    job = LockSheet(last, locked=True).apply(planned)
    job = PinPanels(0, (key_of(first),), pinned=True).apply(job)
    plan = around(job, work=20_000)
    check(MIXED, plan)
    assert replace(planned.plan.sheets[last], locked=True) in plan.sheets
    assert replace(first, pinned=True) in plan.sheets[0].placements
    for index in range(last + 1):
        job = LockSheet(index, locked=True).apply(job)
    with pytest.raises(BadValueError, match="every panel is pinned or on a locked sheet"):
        around(job)


def test_a_panel_never_goes_to_a_sheet_of_another_stock() -> None:
    job = MIXED.changed(plan=arranged(MIXED))
    assert job.plan is not None
    birch = [i for i, s in enumerate(job.plan.sheets) if s.sheet.stock_name == "birch"]
    cast, count = birch[-1] + 1, len(job.plan.sheets)
    one = job.plan.sheets[birch[0]].placements[0]
    with pytest.raises(BadValueError, match=f"sheet {cast + 1} is another stock than sheet 1"):
        MoveToSheet(birch[0], cast, (one,)).apply(job)
    moved = MoveToSheet(birch[0], count, (one,)).apply(job).plan
    assert moved is not None
    assert moved.sheets[birch[-1] + 1].placements == (one,)
    assert [s.sheet.stock_name for s in moved.sheets] == sorted(
        s.sheet.stock_name for s in moved.sheets
    )


def test_a_stock_of_which_nothing_is_cut_takes_no_sheet() -> None:
    job = MIXED.with_panel("tag", replace(MIXED.panel("tag"), quantity=0))
    plan = arranged(job)
    assert {one.sheet.stock_name for one in plan.sheets} == {"birch"}
