"""How long the way with the beam off is; run by hand: `python tests/benchmarks/bench_travel.py`.

The way goes from the machine's zero to every path of a sheet. It hops from path to path,
and the hops link all paths, so that it cannot be shorter than the shortest tree that links
the zero and all paths, each hop measured between the nearest points of two paths (the
minimum spanning tree bound of the travelling salesman problem; Held and Karp, The
traveling-salesman problem and minimum spanning trees, 1970). Rules of work (holes first,
each panel finished before the next, starts on straight runs) make the way longer than that.
"""

from __future__ import annotations

import math
import random
import sys
import time

import numpy as np
import shapely

from lasernest.domain.contours import Contour
from lasernest.domain.cutting import CutPath, PathKind, WorkOrder
from lasernest.geometry.flatten import line_string
from lasernest.kerf.order import order_paths

SEED = 20


def panels(kind: str) -> list[CutPath]:
    rng = random.Random(SEED)
    paths = []
    across, up, pitch = (20, 12, 28.0) if kind == "small parts" else (6, 4, 95.0)
    for i in range(across * up):
        x, y = i % across * pitch, i // across * pitch
        wide = rng.uniform(0.5, 0.9) * pitch
        high = rng.uniform(0.5, 0.9) * pitch
        name = f"panel-{i}"
        outer = Contour.rectangle(x, y, wide, high)
        paths.append(CutPath(PathKind.CUT_OUTER, outer, name, 1))
        for _ in range(rng.randint(0, 6)):
            at = (x + rng.uniform(0.2, 0.8) * wide, y + rng.uniform(0.2, 0.8) * high)
            paths.append(CutPath(PathKind.CUT_INNER, Contour.circle(*at, 1.5), name, 1))
    rng.shuffle(paths)
    return paths


def travel_mm(paths: tuple[CutPath, ...]) -> float:
    """Length of the way with the beam off, from 0, 0 to the last start."""
    here, total = (0.0, 0.0), 0.0
    for path in paths:
        total += math.dist(here, path.path.start)
        here = path.path.start if path.path.closed else path.path.end
    return total


def least_mm(paths: list[CutPath]) -> float:
    """Length of the shortest tree that links 0, 0 and all paths (Prim's algorithm)."""
    shapes = np.array(
        [shapely.Point(0, 0), *(line_string(p.path, chord_error_mm=0.01) for p in paths)]
    )
    nearest = shapely.distance(shapes[0], shapes)
    left = np.ones(len(shapes), dtype=bool)
    left[0] = False
    total = 0.0
    while left.any():
        k = int(np.where(left, nearest, np.inf).argmin())
        total += float(nearest[k])
        left[k] = False
        nearest = np.minimum(nearest, shapely.distance(shapes[k], shapes))
    return total


def bench_travel() -> None:
    for kind in ("small parts", "large panels"):
        paths = panels(kind)
        least = least_mm(paths)
        for order in WorkOrder:
            started = time.process_time()
            ordered = order_paths(paths, order=order)
            took = time.process_time() - started
            way = travel_mm(ordered)
            print(
                f"{kind:13} {len(paths):4} paths  {order.value:36} {way / 1000:6.2f} m  "
                f"at least {least / 1000:5.2f} m  ratio {way / least:4.2f}  {took:4.2f} s"
            )


if __name__ == "__main__":
    sys.stdout.reconfigure(line_buffering=True)  # type: ignore[union-attr]
    bench_travel()
