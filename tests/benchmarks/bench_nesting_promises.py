"""First plan, growth with the number of panels, time to stop, 960 parts, capacities.

    python tests/benchmarks/bench_nesting_promises.py first growth stop many capacity

`first`: seconds to the first valid plan of 1000 panels of 30 kinds. `growth`: the
same for 50 to 5000 panels, and the exponent of a fitted power. `stop`: Stop pressed
at random moments of jobs like a maker's; how long the answer takes. `many`: a
classic multiplied to 960 parts, after 60 s (`--seconds`), against its few after a sixth.
`capacity`: how many equal panels a sheet takes, against closed forms.
`--processor-time` is for busy machines: `many` then counts seconds of two free cores.
"""

from __future__ import annotations

import argparse
import json
import math
import random
import sys
import threading
import time
from collections.abc import Callable
from pathlib import Path
from statistics import mean
from typing import Any
from unittest import mock

sys.path.insert(0, str(Path(__file__).parent))

from bench_nesting_classics import checker, count_processor_time, path_of
from bench_nesting_real_work import SHEETS, a_job, toothed

from lasernest.domain.contours import Contour
from lasernest.domain.control import QuietControl
from lasernest.domain.panels import Panel
from lasernest.domain.plan import NestRequest, PanelOrder, Plan, Sheet, Turns
from lasernest.nesting import Budget, arrange, plan_problems, warm_up
from lasernest.nesting.instances import instance_of, pack
from lasernest.nesting.search import windows


class FirstOffer(QuietControl):
    """Notes when the first plan is there, and stops."""

    def __init__(self) -> None:
        super().__init__()
        self.began = time.perf_counter()
        self.seconds = math.nan
        self.plan: Plan | None = None

    def offer(self, result: Plan) -> None:
        if self.plan is None:
            self.seconds = time.perf_counter() - self.began
            self.plan = result
        self.stop()


def mixed_job(panels: int, kinds: int = 30) -> NestRequest:
    """So many panels of several kinds from the invented jobs."""
    pool = [order for number in range(30) for order in a_job(number).orders]
    rng = random.Random(panels)
    chosen = rng.sample(pool, min(kinds, panels))
    orders = []
    for k, order in enumerate(chosen):
        share = panels // len(chosen) + (k < panels % len(chosen))
        panel = Panel.of(f"panel {k}", order.panel.outer, order.panel.inner)
        orders.append(PanelOrder(panel, share, order.turns))
    return NestRequest(tuple(orders), (SHEETS[1],), 2.0)


def first_seconds(request: NestRequest) -> float:
    control = FirstOffer()
    arrange(request, control=control, budget=Budget(seconds=60.0))
    assert control.plan is not None
    assert plan_problems(request, control.plan) == ()
    assert not control.plan.unplaced
    return control.seconds


def first() -> None:
    found = [first_seconds(mixed_job(1000)) for _ in range(3)]
    print(f"first plan of 1000 panels: best of three {min(found):.2f} s, mean {mean(found):.2f} s")


def growth() -> None:
    counts = (50, 100, 200, 500, 1000, 2000, 5000)
    times = []
    for count in counts:
        times.append(min(first_seconds(mixed_job(count)) for _ in range(2)))
        print(f"{count:5d} panels  first plan {times[-1]:7.3f} s", flush=True)
    x = [math.log(count) for count in counts]
    y = [math.log(seconds) for seconds in times]
    slope = sum((a - mean(x)) * (b - mean(y)) for a, b in zip(x, y, strict=True)) / sum(
        (a - mean(x)) ** 2 for a in x
    )
    print(f"exponent {slope:.2f}")


class Offered(QuietControl):
    """Knows when the first plan was there."""

    def __init__(self) -> None:
        super().__init__()
        self.first_s = math.inf

    def offer(self, result: Plan) -> None:
        self.first_s = min(self.first_s, time.perf_counter())


def stop() -> None:
    """Who presses Stop before there is any plan has to wait for the first one: told apart."""
    rng = random.Random(5)
    waits: dict[bool, list[float]] = {True: [], False: []}
    for number in (3, 8, 13, 18, 23, 28):
        request = a_job(number)
        for _ in range(6):
            control = Offered()
            pressed: list[float] = []
            timer = threading.Timer(rng.uniform(0.05, 4.0), _press, (control, pressed))
            timer.start()
            arrange(request, control=control, budget=Budget(seconds=30.0), workers=2)
            ended = time.perf_counter()
            timer.join()
            waits[pressed[0] >= control.first_s].append(1000.0 * (ended - pressed[0]))
    for after_first, title in ((True, "with a plan"), (False, "before the first plan")):
        found = sorted(waits[after_first])
        if found:
            print(
                f"stop {title}: {len(found)} times, median {found[len(found) // 2]:.0f} ms, nine "
                f"of ten within {found[int(0.9 * len(found))]:.0f} ms, worst {found[-1]:.0f} ms"
            )


def _press(control: QuietControl, pressed: list[float]) -> None:
    pressed.append(time.perf_counter())
    control.stop()


def many(seconds: float, name: str = "shapes0", *, processor_time: bool = False) -> None:
    """A classic multiplied to 960 parts or more, against its few parts in a sixth of the time."""
    if processor_time:
        count_processor_time()
        seconds *= 2.0
    workers = 1 if processor_time else 2
    check = checker()
    data: dict[str, Any] = json.loads(path_of(name).read_text(encoding="utf-8"))
    total = sum(item["demand"] for item in data["items"])

    def density(part: float, **left_out: Any) -> float:
        with mock.patch.multiple(windows, **left_out):
            layout, summary = pack(
                instance_of(data),
                control=QuietControl(),
                seconds=part * seconds,
                workers=workers,
                seed=301,
            )
        verdict = check(data, layout)
        assert verdict["valid"], verdict["errors"][:3]
        return 100.0 * float(summary["density"])

    small = density(1.0 / 6.0)
    times = math.ceil(960 / total)
    for item in data["items"]:
        item["demand"] *= times
    print(f"{name}: {total} parts {small:.2f} %", flush=True)
    for title, left_out in (
        ("all ideas", {}),
        ("no piece repeated", {"chain_of": lambda _: None}),
        ("no windows", {"MANY": math.inf}),
    ):
        large = density(1.0, **left_out)
        print(
            f"{times * total} parts {large:.2f} %, {100 * large / small:.1f} % of it: {title}",
            flush=True,
        )


def capacity() -> None:
    """Panels of one kind a sheet takes, as many as fit, after a short search."""
    ell = Contour.polygon([(0, 0), (90, 0), (90, 30), (30, 30), (30, 90), (0, 90)])
    wedge = Contour.polygon([(0, 0), (80, 0), (0, 60)])
    # Closed forms: grids floor((W - 2m + g) / (w + g)) x ...; the others are counted by hand.
    cases: list[tuple[str, Contour, Sheet, float, int | None]] = [
        ("100 x 60", Contour.rectangle(0, 0, 100, 60), Sheet(600, 400, 5), 2.0, 30),
        ("150 x 100", Contour.rectangle(0, 0, 150, 100), Sheet(1220, 610, 10), 3.0, 35),
        ("50 x 50", Contour.rectangle(0, 0, 50, 50), Sheet(610, 305, 5), 2.0, 55),
        ("100 x 60 on 600 x 300", Contour.rectangle(0, 0, 100, 60), Sheet(600, 300, 5), 2.0, 20),
        ("100 x 100, no gap", Contour.rectangle(0, 0, 100, 100), Sheet(600, 400, 0), 0.0, 24),
        ("discs of 40", Contour.circle(0, 0, 20), Sheet(600, 400, 5), 2.0, None),
        ("wedges 80 x 60", wedge, Sheet(600, 400, 5), 2.0, None),
        ("ells of 90", ell, Sheet(600, 400, 5), 2.0, None),
        (
            "toothed 100 x 60",
            toothed(100, 60, 4, (True, False, True, False)),
            Sheet(600, 400, 5),
            2.0,
            None,
        ),
    ]
    for title, contour, sheet, gap, known in cases:
        panel = Panel.of("panel", contour)
        request = NestRequest(
            (PanelOrder(panel, 0, Turns.QUARTER, as_many_as_fit=True),), (sheet,), gap
        )
        plan = arrange(request, control=QuietControl(), budget=Budget(seconds=5.0), workers=2)
        assert plan_problems(request, plan) == ()
        room = (sheet.width_mm - 2 * sheet.margin_mm + gap) * (
            sheet.height_mm - 2 * sheet.margin_mm + gap
        )
        width, height = panel.size_mm
        boxes = max(
            math.floor((sheet.width_mm - 2 * sheet.margin_mm + gap) / (w + gap))
            * math.floor((sheet.height_mm - 2 * sheet.margin_mm + gap) / (h + gap))
            for w, h in ((width, height), (height, width))
        )
        share = plan.placed_count * panel.net_area_mm2 / room
        note = "" if known is None else f", closed form {known}"
        print(
            f"{title:24s} {plan.placed_count:4d} (boxes in a grid {boxes}{note}), "
            f"{100 * share:.1f} % of the free area",
            flush=True,
        )


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    chosen: dict[str, Callable[[], None]] = {
        "first": first,
        "growth": growth,
        "stop": stop,
        "capacity": capacity,
    }
    parser.add_argument("which", nargs="+", choices=[*chosen, "many"])
    parser.add_argument("--processor-time", action="store_true")
    parser.add_argument("--seconds", type=float, default=60.0)
    arguments = parser.parse_args()
    warm_up()
    for name in arguments.which:
        if name == "many":
            many(arguments.seconds, processor_time=arguments.processor_time)
        else:
            chosen[name]()


if __name__ == "__main__":
    main()
