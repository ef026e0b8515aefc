"""Strip packing classics by the clock, against the best published averages.

    python tests/benchmarks/bench_nesting_classics.py --seconds 10 --seeds 101 102 103 104 105

Takes seconds x seeds x sets, and says the density of each seed as it comes. So the long
series are, on a machine with nothing else to do (35 minutes, and 2 1/2 hours a seed):

    python tests/benchmarks/bench_nesting_classics.py --seconds 60
    python tests/benchmarks/bench_nesting_classics.py --seconds 1200 --seeds 101

The gap is in points of density to the 2025 average (20 minutes on three fast
threads). Every layout is checked by the instances' own checker. `--work`
instead of `--seconds` counts places weighed. `--processor-time` is for busy
machines: one thread runs both lines of search, and seconds are of two free
cores. `--sets` takes any instance, sheets too (`ta001__slack4`); `--ablate`
switches one idea off at a time.
"""

from __future__ import annotations

import argparse
import importlib.util
import json
import math
import sys
import time
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path
from statistics import mean, pstdev
from types import SimpleNamespace
from typing import Any
from unittest import mock

SHARED = Path(__file__).resolve().parents[3] / "shared"
SETS = ("albano", "fu", "jakobs1", "marques", "shapes0", "shapes1", "trousers")
# Averages of Gardeyn, Vanden Berghe, Wauters 2025, tables 1 to 3.
PUBLISHED = {
    "albano": 89.47,
    "fu": 92.24,
    "jakobs1": 89.09,
    "marques": 90.93,
    "shapes0": 68.60,
    "shapes1": 75.69,
    "trousers": 91.73,
}


def checker() -> Callable[[dict[str, Any], dict[str, Any]], dict[str, Any]]:
    """The independent checker that comes with the instances."""
    spec = importlib.util.spec_from_file_location(
        "check_layout", SHARED / "nesting" / "check_layout.py"
    )
    assert spec is not None
    assert spec.loader is not None
    module = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(module)
    return module.check  # type: ignore[no-any-return]


def path_of(name: str) -> Path:
    """The instance, of a strip or of sheets."""
    paths = [SHARED / "nesting" / kind / f"{name}.json" for kind in ("instances", "sheets")]
    return next(path for path in paths if path.is_file())


def count_processor_time() -> None:
    """Make all clocks of a search count what this process used of the processor."""
    from lasernest.nesting import budget
    from lasernest.nesting.search import driver

    clock = SimpleNamespace(perf_counter=time.process_time)
    mock.patch.object(budget, "time", clock).start()
    mock.patch.object(driver, "time", clock).start()


def measure(
    name: str, seeds: list[int], arguments: argparse.Namespace, **tuning: Any
) -> list[float]:
    """Densities in percent over the seeds."""
    from lasernest.domain.control import QuietControl
    from lasernest.nesting import instances
    from lasernest.nesting.search.layout import Tuning

    data = json.loads(path_of(name).read_text(encoding="utf-8"))
    check = checker()
    found = []
    seconds, workers = arguments.seconds, arguments.workers
    if arguments.processor_time:
        seconds, workers = 2.0 * seconds, 1
    for seed in seeds:
        with mock.patch.object(instances, "Tuning", return_value=replace(Tuning(), **tuning)):
            layout, summary = instances.pack(
                instances.instance_of(data),
                control=QuietControl(),
                seconds=seconds,
                work=arguments.work,
                workers=workers,
                seed=seed,
            )
        verdict = check(data, layout)
        if not (verdict["valid"] and summary["valid"]):
            sys.exit(f"{name} with seed {seed} is not valid: {verdict['errors'][:3]}")
        found.append(100.0 * summary["density"])
        if not arguments.ablate:
            print(f"{name:10s} seed {seed}: {found[-1]:6.2f}", flush=True)
        if "known_optimal_sheets" in data:
            print(f"{name:18s} sheets {summary['sheets']}, optimum {data['known_optimal_sheets']}")
    return found


ABLATIONS: dict[str, dict[str, Any]] = {
    "all ideas": {},
    "no weights": {"weight_base": 1.0, "weight_rise": 0.0},
    "sizes not counted": {"size_power": 0.0},
    "no cooperation": {},
    "no compression": {"compress_share": 0.0},
    "no pool (only the latest failure)": {"pool_size": 1},
    "one descent": {"stale_times": math.inf},
    "one start refined": {"starts_refined": 1},
    "no samples nearby": {"near_samples": 0},
    "few samples anywhere": {"anywhere_samples": 10},
    "steps always 0.2 %": {"first_step": 0.002},
    "always refined to the end": {"fineness": 0.0},
}


def alone(streams: Any, best: Any, on_better: Callable[[Any], object]) -> Any:
    """Streams that report what they find, and keep it to themselves."""
    found = min((s.best for s in streams if s.best is not None), key=lambda f: f.rank, default=None)
    if found is None or (best is not None and found.rank >= best.rank):
        return best
    on_better(found)
    return found


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("--seconds", type=float)
    parser.add_argument("--work", type=int)
    parser.add_argument("--workers", type=int, default=2)
    parser.add_argument("--seeds", type=int, nargs="+", default=[101, 102, 103, 104, 105])
    parser.add_argument("--sets", nargs="+", default=list(SETS))
    parser.add_argument("--ablate", action="store_true")
    parser.add_argument("--processor-time", action="store_true")
    arguments = parser.parse_args()
    if arguments.processor_time:
        count_processor_time()
    from lasernest.nesting import warm_up
    from lasernest.nesting.search import driver

    warm_up()
    for title, tuning in ABLATIONS.items() if arguments.ablate else [("", {})]:
        gaps = []
        exchange = alone if title == "no cooperation" else driver._exchange
        for name in arguments.sets:
            with mock.patch.object(driver, "_exchange", exchange):
                densities = measure(name, arguments.seeds, arguments, **tuning)
            line = (
                f"{name:10s} mean {mean(densities):6.2f}  spread {pstdev(densities):4.2f}  "
                f"best {max(densities):6.2f}"
            )
            if name in PUBLISHED:
                gaps.append(PUBLISHED[name] - mean(densities))
                line += f"  gap {gaps[-1]:5.2f}"
            if not arguments.ablate:
                print(line, flush=True)
        if gaps:
            print(f"mean gap {mean(gaps):.2f} points  {title}", flush=True)


if __name__ == "__main__":
    main()
