"""From a request to a plan: the first plan at once, then a search that improves it."""

from __future__ import annotations

import logging
import math
from collections import Counter
from collections.abc import Callable, Sequence
from concurrent.futures import Executor
from dataclasses import replace

import shapely

from lasernest.domain.contours import Pose
from lasernest.domain.control import Control
from lasernest.domain.plan import (
    NestRequest,
    PanelOrder,
    Placement,
    Plan,
    SearchPoint,
    Sheet,
    SheetPlan,
    Turns,
    Unplaced,
)
from lasernest.nesting.blocks import pattern_filling
from lasernest.nesting.budget import Budget, Clock
from lasernest.nesting.check import plan_problems
from lasernest.nesting.jobs import job_of, search_shapes, sheets_of, streams_of
from lasernest.nesting.objectives import score
from lasernest.nesting.outlines import Stance, covering_polygon, stances
from lasernest.nesting.rows import (
    SLACK_MM,
    Box,
    FilledSheet,
    Kind,
    Laid,
    fill_sheets,
    fits_somewhere,
    is_plain,
    kind_of,
)
from lasernest.nesting.search.driver import STREAMS, drive
from lasernest.nesting.search.layout import Tuning
from lasernest.nesting.search.stream import Feasible

MOST_PANELS = 3000
"""More copies than this are not searched all at once."""


def arrange(
    request: NestRequest,
    *,
    control: Control,
    budget: Budget,
    seed: int = 1,
    workers: int = 1,
    executor: Executor | None = None,
    start: Plan | None = None,
) -> Plan:
    """Arrange all panels of a request on few sheets.

    A first valid plan is offered at once; better ones follow while the budget
    lasts and nobody stops the search. The plan with the fewest (or cheapest)
    sheets wins, then the one with the shortest used length on the last sheet.

    Args:
        request: panels with quantities, sheets, gap.
        control: polled between short steps; improving plans are offered to it.
        budget: seconds or work, see `Budget`.
        seed: same seed and same work, same plan.
        workers: threads to search with.
        executor: a pool of threads to use instead of our own.
        start: a plan of the same request to go on from; the answer is never worse.

    Returns:
        A valid plan; panels that no sheet can take are named in `unplaced`.

    Raises:
        Cancelled: the maker pressed Cancel.
    """
    clock = Clock()
    control.check()
    stances = [order_stances(order) for order in request.orders]
    filled, unplaced = first_filling(request, stances, control=control)
    plan = plan_of(request, filled, unplaced=unplaced, clock=clock)
    if start is not None and not plan_problems(request, start):
        again = filling_of(request, start, stances)
        if again is not None and _rank(start, again, request) <= _rank(plan, filled, request):
            filled, unplaced, plan = again, start.unplaced, start
    control.offer(plan)
    count = plan.placed_count
    if not filled or budget.seconds == 0 or budget.work == 0 or count > MOST_PANELS:
        return plan
    copies = Counter(laid.order for one in filled for laid in one.laid)
    shapes = search_shapes(request, sorted(copies))
    blocks = pattern_filling(request, shapes, stances, copies, stopped=lambda: control.stopped)
    if blocks is not None and _score(blocks, request.sheets) < _score(filled, request.sheets):
        found = plan_of(request, blocks, unplaced=unplaced, clock=clock, log=plan.log)
        if _passes(request, found):
            filled, plan = blocks, found
            control.offer(plan)
    job = job_of(request, filled, shapes, stances)
    streams = streams_of(job, seed=seed, count=STREAMS, tuning=Tuning())
    best = [plan]

    def better(feasible: Feasible, evaluations: int) -> None:
        found = sheets_of(job, feasible)
        improved = plan_of(
            request,
            found,
            unplaced=unplaced,
            clock=clock,
            evaluations=evaluations,
            log=best[-1].log,
        )
        if _passes(request, improved):
            best.append(improved)
            control.offer(improved)

    evaluations = drive(
        streams,
        budget=budget,
        clock=clock,
        control=control,
        workers=workers,
        executor=executor,
        on_better=better,
    )
    before = start if plan is start else None
    return replace(
        best[-1],
        evaluations=evaluations + (before.evaluations if before else 0),
        seconds=clock.seconds + (before.seconds if before else 0.0),
    )


def filling_of(
    request: NestRequest, plan: Plan, stances: Sequence[Sequence[Stance]]
) -> list[FilledSheet] | None:
    """The sheets of a plan as the search sees them; None when a panel lies in no stance of its.

    Args:
        request: what the plan answers.
        plan: without problems.
        stances: per order, the ways its panel may be laid.
    """
    orders = {order.panel.name: index for index, order in enumerate(request.orders)}
    filled: list[FilledSheet] = []
    for sheet_plan in plan.sheets:
        one = FilledSheet(request.sheets.index(sheet_plan.sheet))
        for placement in sheet_plan.placements:
            order = orders[placement.panel_name]
            pose = placement.pose
            stance = next(
                (
                    s
                    for s in stances[order]
                    if s.mirrored == pose.mirrored
                    and abs((s.turn_deg - pose.turn_deg + 180.0) % 360.0 - 180.0) < 1e-9
                ),
                None,
            )
            if stance is None:
                return None
            one.laid.append(Laid(order, stance, pose.x_mm, pose.y_mm))
            right_mm = request.orders[order].panel.posed(pose).bounds_mm()[2]
            one.used_length_mm = max(one.used_length_mm, right_mm)
        if one.laid:
            filled.append(one)
    return filled


def _rank(plan: Plan, filled: Sequence[FilledSheet], request: NestRequest) -> tuple[float, ...]:
    left = float(sum(entry.count for entry in plan.unplaced))
    return (left, *_score(filled, request.sheets))


def _passes(request: NestRequest, plan: Plan) -> bool:
    """Whether a plan passes the exact check; if not, that is our bug and goes to the log."""
    problems = plan_problems(request, plan)
    if problems:
        logging.getLogger(__name__).error("a plan failed its check: %s", problems[0])
    return not problems


def first_filling(
    request: NestRequest, stances: Sequence[Sequence[Stance]], *, control: Control
) -> tuple[list[FilledSheet], tuple[Unplaced, ...]]:
    """Sheets filled with rows of boxes, the best of a few ways to lay them; and what is left."""
    gap_mm = request.gap_mm
    kinds = [
        kind_of(index, order.panel, ways, gap_mm)
        for index, (order, ways) in enumerate(zip(request.orders, stances, strict=True))
    ]
    impossible = {
        kind.order
        for kind, order in zip(kinds, request.orders, strict=True)
        if order.quantity
        and not any(fits_somewhere(kind, sheet, gap_mm) for sheet in request.sheets)
    }
    copies = [
        kind.order
        for kind, order in zip(kinds, request.orders, strict=True)
        if kind.order not in impossible
        for _ in range(order.quantity)
    ]
    best: tuple[tuple[float, ...], list[FilledSheet], list[int]] | None = None
    for size, box_cost in _ways(kinds, request):
        if best is not None and control.stopped:
            break
        sizes = [size(kind) for kind in kinds]
        filled, left = fill_sheets(
            kinds,
            sorted(copies, key=lambda k, sizes=sizes: (-sizes[k], k)),  # type: ignore[misc]
            request.sheets,
            gap_mm,
            box_cost=box_cost,
            stopped=_never if best is None else lambda: control.stopped,
        )
        rank = (len(left), *_score(filled, request.sheets))
        if best is None or rank < best[0]:
            best = (rank, filled, left)
    assert best is not None  # _ways is never empty
    _, filled, left = best
    return filled, _unplaced(request, impossible, Counter(left))


def order_stances(order: PanelOrder) -> tuple[Stance, ...]:
    """An order's stances; with any angle allowed, also those that make its box smallest."""
    extra: tuple[float, ...] = ()
    if order.turns is Turns.FREE:
        box = shapely.minimum_rotated_rectangle(covering_polygon(order.panel))
        (x0, y0), (x1, y1) = shapely.get_coordinates(box)[:2]
        along = float(shapely.Point(x0, y0).distance(shapely.Point(x1, y1)))
        if along > 0.0:
            angle = -_angle_deg(x1 - x0, y1 - y0)
            extra = (angle, angle + 90.0, angle + 180.0, angle + 270.0)
    return stances(order, extra_turns_deg=extra)


def _never() -> bool:
    return False


def _angle_deg(dx: float, dy: float) -> float:
    return math.degrees(math.atan2(dy, dx))


def _ways(
    kinds: Sequence[Kind], request: NestRequest
) -> list[tuple[Callable[[Kind], float], Callable[[Box, float], float]]]:
    """Orders of laying and costs of stances to try; the first is the usual winner."""
    sheet = request.sheets[0]
    width_mm = sheet.width_mm - 2.0 * sheet.margin_mm + request.gap_mm
    height_mm = sheet.height_mm - 2.0 * sheet.margin_mm + request.gap_mm

    def long_side(kind: Kind) -> float:
        return max(max(box.width_mm, box.height_mm) for box in kind.boxes)

    def area(kind: Kind) -> float:
        return kind.boxes[0].width_mm * kind.boxes[0].height_mm

    def leftmost(box: Box, right_mm: float) -> float:
        return right_mm

    def fullest_grid(box: Box, right_mm: float) -> float:
        across = math.floor((width_mm + SLACK_MM) / box.width_mm)
        up = math.floor((height_mm + SLACK_MM) / box.height_mm)
        return right_mm - 1e6 * across * up

    def upright(box: Box, right_mm: float) -> float:
        return right_mm + 1e6 * box.width_mm

    def lying(box: Box, right_mm: float) -> float:
        return right_mm + 1e6 * box.height_mm

    if not any(is_plain(s) for s in request.sheets):
        return [(long_side, leftmost)]
    return [
        (long_side, fullest_grid),
        (long_side, leftmost),
        (long_side, upright),
        (long_side, lying),
        (area, leftmost),
    ]


def _score(filled: Sequence[FilledSheet], sheets: Sequence[Sheet]) -> tuple[float, ...]:
    return score([sheets[one.kind] for one in filled], filled[-1].used_length_mm if filled else 0.0)


def _unplaced(
    request: NestRequest, impossible: set[int], left: Counter[int]
) -> tuple[Unplaced, ...]:
    found: list[Unplaced] = []
    for index, order in enumerate(request.orders):
        count = order.quantity if index in impossible else left[index]
        if count:
            reason = (
                _too_large(order, request)
                if index in impossible
                else "there are no more sheets; allow more of them or order fewer copies"
            )
            found.append(Unplaced(order.panel.name, count, reason))
    return tuple(found)


def _too_large(order: PanelOrder, request: NestRequest) -> str:
    """Why no sheet can take a panel, with what would be free on the largest."""
    width_mm, height_mm = order.panel.size_mm
    sheet = max(request.sheets, key=lambda s: s.area_mm2)
    free_width_mm = max(0.0, sheet.width_mm - 2.0 * sheet.margin_mm)
    free_height_mm = max(0.0, sheet.height_mm - 2.0 * sheet.margin_mm)
    turned = {
        Turns.NONE: " as drawn",
        Turns.HALF: " along the grain",
        Turns.QUARTER: " in any quarter turn",
        Turns.FREE: "",
    }[order.turns]
    shaped = "" if is_plain(sheet) else " and shape"
    return (
        f"its size of {width_mm:g} x {height_mm:g} mm fits on no sheet{turned}; "
        f"the largest leaves {free_width_mm:g} x {free_height_mm:g} mm{shaped} inside its margin"
    )


def plan_of(
    request: NestRequest,
    filled: Sequence[FilledSheet],
    *,
    unplaced: tuple[Unplaced, ...],
    clock: Clock,
    evaluations: int = 0,
    log: tuple[SearchPoint, ...] = (),
) -> Plan:
    """The plan as the rest of the program knows it; copies are numbered along the sheets."""
    copies: Counter[int] = Counter()
    sheet_plans: list[SheetPlan] = []
    for one in filled:
        placements: list[Placement] = []
        for laid in sorted(one.laid, key=lambda p: (p.order, p.x_mm, p.y_mm)):
            copies[laid.order] += 1
            pose = Pose(laid.x_mm, laid.y_mm, laid.stance.turn_deg, laid.stance.mirrored)
            name = request.orders[laid.order].panel.name
            placements.append(Placement(name, copies[laid.order], pose))
        sheet_plans.append(SheetPlan(request.sheets[one.kind], tuple(placements)))
    if filled:
        point = SearchPoint(clock.seconds, len(filled), float(filled[-1].used_length_mm))
        log = (*log, point)
    return Plan(tuple(sheet_plans), unplaced, evaluations, clock.seconds, log)
