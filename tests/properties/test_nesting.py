"""Random jobs: no overlap, gap and margin kept, all inside, turns allowed, none lost."""

from __future__ import annotations

import math
import random

import pytest
import shapely

from lasernest.domain.contours import Contour, Vertex
from lasernest.domain.control import QuietControl
from lasernest.domain.panels import Panel
from lasernest.domain.plan import Axis, NestRequest, PanelOrder, Plan, Sheet, Turns
from lasernest.nesting import Budget, arrange, plan_problems


def random_panel(rng: random.Random, name: str) -> Panel:
    kind = rng.randrange(6)
    size = rng.uniform(8.0, 90.0)
    x, y = rng.uniform(-50, 50), rng.uniform(-50, 50)
    if kind == 0:
        return Panel.of(name, Contour.rectangle(x, y, size, rng.uniform(5.0, 60.0)))
    if kind == 1:
        return Panel.of(name, Contour.circle(x, y, 0.4 * size))
    if kind == 2:
        leg = rng.uniform(0.2, 0.6) * size
        corners = [(0, 0), (size, 0), (size, leg), (leg, leg), (leg, size), (0, size)]
        return Panel.of(name, Contour.polygon([(x + a, y + b) for a, b in corners]))
    if kind == 3:
        inner = rng.uniform(0.4, 0.8) * size
        edge = 0.5 * (size - inner)
        hole = Contour.rectangle(x + edge, y + edge, inner, inner)
        return Panel.of(name, Contour.rectangle(x, y, size, size), [hole])
    if kind == 4:
        bulges = [rng.uniform(-0.4, 0.9) for _ in range(4)]
        corners = [(0, 0), (size, 0), (size, 0.7 * size), (0, 0.7 * size)]
        vertices = [Vertex(x + a, y + b, c) for (a, b), c in zip(corners, bulges, strict=True)]
        return Panel.of(name, Contour(tuple(vertices)))
    while True:
        angles = sorted(rng.uniform(0, 2 * math.pi) for _ in range(rng.randrange(5, 9)))
        radii = [size * rng.uniform(0.3, 0.6) for _ in angles]
        points = [
            (x + r * math.cos(t), y + r * math.sin(t)) for r, t in zip(radii, angles, strict=True)
        ]
        # With all corners on one side of the middle an outline may cross itself: no panel.
        if shapely.Polygon(points).is_valid:
            break
    return Panel.of(name, Contour.polygon(points))


def random_request(seed: int) -> NestRequest:
    rng = random.Random(seed)
    orders = tuple(
        PanelOrder(
            random_panel(rng, f"panel {k}"),
            rng.choice((0, 1, 1, 2, 3, 7, 12)),
            rng.choice(tuple(Turns)),
            rng.random() < 0.3,
            turn_step_deg=rng.choice((None, None, 15.0, 45.0)),
            priority=rng.choice((0, 0, 1)),
            as_many_as_fit=rng.random() < 0.05,
            product=rng.choice(("", "box", "lamp")),
            per_product=rng.choice((0, 1, 2)),
        )
        for k in range(rng.randrange(1, 6))
    )
    margin = rng.choice((0.0, 3.0, 5.0))
    sheets = [Sheet(rng.uniform(120, 400), rng.uniform(100, 300), margin)]
    if rng.random() < 0.4:
        outline = Contour.polygon([(0, 0), (180, 0), (180, 60), (110, 150), (0, 150)])
        holes = (Contour.circle(50, 60, 12),) if rng.random() < 0.5 else ()
        sheets.insert(0, Sheet(180, 150, margin, outline, holes, available=1, is_offcut=True))
    if rng.random() < 0.2:
        sheets[-1] = Sheet(sheets[-1].width_mm, sheets[-1].height_mm, margin, available=1)
    gap = rng.choice((0.0, 0.7, 2.0, 4.0))
    along = rng.choice((None, None, None, Axis.X, Axis.Y))
    together = rng.random() < 0.2
    return NestRequest(orders, tuple(sheets), gap, together=together, long_sides_along=along)


def hold_all_promises(seed: int, work: int) -> None:
    request = random_request(seed)
    offers: list[Plan] = []

    class Control(QuietControl):
        def offer(self, result: Plan) -> None:
            offers.append(result)

    plan = arrange(request, control=Control(), budget=Budget(work=work), seed=seed)
    for offer in (*offers, plan):
        assert plan_problems(request, offer) == (), seed
    for order in request.orders:
        placed = count_of(plan, order.panel.name)
        named = sum(left.count for left in plan.unplaced if left.panel_name == order.panel.name)
        assert placed + named == order.quantity or order.as_many_as_fit, seed
        assert placed + named >= order.quantity, seed
    missing = [sum(left.count for left in found.unplaced) for found in (plan, offers[0])]
    if missing[0] == missing[1] and not request.together:
        assert len(plan.sheets) <= len(offers[0].sheets), seed


def count_of(plan: Plan, name: str) -> int:
    return sum(p.panel_name == name for sheet in plan.sheets for p in sheet.placements)


@pytest.mark.parametrize("block", range(10))
def test_a_hundred_random_jobs(block: int) -> None:
    for seed in range(10 * block, 10 * block + 10):
        hold_all_promises(seed, 2000)


@pytest.mark.slow
@pytest.mark.parametrize("block", range(20))
def test_two_thousand_random_jobs(block: int) -> None:
    for seed in range(1000 + 100 * block, 1100 + 100 * block):
        hold_all_promises(seed, 20_000)
