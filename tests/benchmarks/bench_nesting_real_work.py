"""Thirty invented jobs like a maker's, against panels laid plainly in rows.

    python tests/benchmarks/bench_nesting_real_work.py --seconds 20 --workers 2

Cases with finger joints, gears and discs, brackets, frames that leave room
inside; 10 to 300 panels on 600 x 400 and 1220 x 610 sheets, gap 2, margin 5.
The baseline lays boxes in rows as drawn, the highest first. Used area: whole
sheets, and of the last one its used length (for the baseline the better of
length and height). The area bound is the grown panels' area.
"""

from __future__ import annotations

import argparse
import math
import random
from statistics import mean
from unittest import mock

import shapely

from lasernest.domain.contours import Contour
from lasernest.domain.control import QuietControl
from lasernest.domain.panels import Panel
from lasernest.domain.plan import NestRequest, PanelOrder, Sheet, Turns
from lasernest.nesting import Budget, arrange, plan_problems, warm_up

GAP_MM, MARGIN_MM = 2.0, 5.0
SHEETS = (Sheet(600.0, 400.0, MARGIN_MM), Sheet(1220.0, 610.0, MARGIN_MM))


def toothed(width: float, height: float, thickness: float, teeth_out: tuple[bool, ...]) -> Contour:
    """A case panel: fingers along all four edges."""
    shape = shapely.box(0, 0, width, height)
    sides = ((width, 0.0), (height, 90.0), (width, 180.0), (height, 270.0))
    corners = ((0.0, 0.0), (width, 0.0), (width, height), (0.0, height))
    for (length, angle), corner, out in zip(sides, corners, teeth_out, strict=True):
        count = max(3, int(length / (3 * thickness)) | 1)
        step = length / count
        for k in range(0 if out else 1, count, 2):
            notch = shapely.box(k * step, -thickness, (k + 1) * step, thickness)
            turned = shapely.affinity.rotate(notch, angle, origin=(0, 0))
            shape = shape.difference(shapely.affinity.translate(turned, *corner))
    shape = shape if isinstance(shape, shapely.Polygon) else max(shape.geoms, key=lambda g: g.area)
    return Contour.polygon([tuple(c) for c in shapely.get_coordinates(shape.exterior)[:-1]])


def gear(radius: float, teeth: int) -> Contour:
    points = []
    for k in range(teeth):
        for share, reach in ((0.0, 1.0), (0.28, 1.0), (0.45, 0.86), (0.83, 0.86)):
            angle = 2.0 * math.pi * (k + share) / teeth
            points.append((radius * reach * math.cos(angle), radius * reach * math.sin(angle)))
    return Contour.polygon(points)


def bracket(rng: random.Random, size: float) -> Contour:
    leg = size * rng.uniform(0.25, 0.45)
    return Contour.polygon(
        [(0, 0), (size, 0), (size, leg), (leg * 1.3, leg), (leg, leg * 1.3), (leg, size), (0, size)]
    )


def a_job(number: int) -> NestRequest:
    """Job 0 to 29; the same every time."""
    rng = random.Random(9000 + number)
    target = int(10 * 30 ** (number / 29))
    sheet = SHEETS[number % 2]
    orders: list[PanelOrder] = []
    units = max(1, target // rng.choice((8, 12, 20)))
    left = max(2, target // units)

    def add(name: str, panel: Panel, count: int, turns: Turns = Turns.QUARTER) -> None:
        orders.append(PanelOrder(panel, count * units, turns))

    if number % 3 != 2:  # a case
        a, b, c = rng.uniform(50, 170), rng.uniform(40, 110), rng.uniform(25, 80)
        t = rng.choice((3.0, 4.0, 6.0))
        turns = rng.choice((Turns.HALF, Turns.QUARTER))
        add("front", Panel.of("front", toothed(a, c, t, (True, False, True, False))), 2, turns)
        add("side", Panel.of("side", toothed(b, c, t, (False, True, False, True))), 2, turns)
        top = toothed(a, b, t, (True, True, False, False))
        add(
            "top",
            Panel.of("top", top, [Contour.circle(a / 2, b / 2, rng.uniform(4, 12))]),
            2,
            turns,
        )
        left -= 6
    k = 0
    while left > 0:
        k += 1
        count = min(left, rng.choice((1, 2, 4, 6)))
        kind = rng.randrange(4)
        name = f"part {k}"
        if kind == 0:
            radius = rng.uniform(12, 45)
            panel = Panel.of(name, gear(radius, rng.randrange(10, 26)), [Contour.circle(0, 0, 3)])
        elif kind == 1:
            radius = rng.uniform(8, 40)
            panel = Panel.of(
                name, Contour.circle(0, 0, radius), [Contour.circle(0, 0, 0.3 * radius)]
            )
        elif kind == 2:
            panel = Panel.of(name, bracket(rng, rng.uniform(40, 110)))
        else:
            w, h = rng.uniform(80, 200), rng.uniform(70, 150)
            rim = rng.uniform(10, 18)
            hole = Contour.rectangle(rim, rim, w - 2 * rim, h - 2 * rim)
            panel = Panel.of(name, Contour.rectangle(0, 0, w, h), [hole])
        add(name, panel, count)
        left -= count
    return NestRequest(tuple(orders), (sheet,), GAP_MM)


def rows_area_mm2(request: NestRequest) -> float:
    """Sheet area that plain rows of boxes take."""
    sheet, gap = request.sheets[0], request.gap_mm
    x1, y1 = sheet.width_mm - sheet.margin_mm, sheet.height_mm - sheet.margin_mm
    boxes = [o.panel.size_mm for o in request.orders for _ in range(o.quantity)]
    boxes = [(w, h) if w <= x1 and h <= y1 - sheet.margin_mm else (h, w) for w, h in boxes]
    sheets, x, y, row = 1, sheet.margin_mm, sheet.margin_mm, 0.0
    right = top = 0.0
    for w, h in sorted(boxes, key=lambda box: -box[1]):
        if x + w > x1 + 1e-9:
            x, y, row = sheet.margin_mm, y + row + gap, 0.0
        if y + h > y1 + 1e-9:
            sheets, x, y, row, right, top = sheets + 1, sheet.margin_mm, sheet.margin_mm, 0.0, 0, 0
        right, top, row = max(right, x + w), max(top, y + h), max(row, h)
        x += w + gap
    last = min(right * sheet.height_mm, top * sheet.width_mm)
    return (sheets - 1) * sheet.width_mm * sheet.height_mm + last


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("--seconds", type=float)
    parser.add_argument("--work", type=int)
    parser.add_argument("--workers", type=int, default=2)
    parser.add_argument("--no-patterns", action="store_true", help="what lattices are worth")
    parser.add_argument("--jobs", type=int, nargs="+", default=list(range(30)))
    arguments = parser.parse_args()
    warm_up()
    if arguments.no_patterns:
        mock.patch("lasernest.nesting.arranging.pattern_filling", return_value=None).start()
    shares = []
    for number in arguments.jobs:
        request = a_job(number)
        sheet = request.sheets[0]
        plan = arrange(
            request,
            control=QuietControl(),
            budget=Budget(arguments.seconds, arguments.work),
            workers=arguments.workers,
            seed=77,
        )
        assert plan_problems(request, plan) == ()
        assert not plan.unplaced
        whole = (len(plan.sheets) - 1) * sheet.area_mm2
        used = whole + plan.log[-1].used_length_mm * sheet.height_mm
        rows = rows_area_mm2(request)
        bound = sum(o.quantity * o.panel.net_area_mm2 for o in request.orders)
        shares.append(used / rows)
        print(
            f"job {number:2d}  {request.panel_count:4d} panels  {len(request.orders):2d} kinds  "
            f"sheets {len(plan.sheets):2d}  {used / rows:6.3f} of rows  yield {bound / used:5.3f}  "
            f"{plan.seconds:5.1f} s",
            flush=True,
        )
    print(f"mean saving {100 * (1 - mean(shares)):.1f} %, worst {100 * (1 - max(shares)):.1f} %")


if __name__ == "__main__":
    main()
