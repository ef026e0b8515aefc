"""How long reading and chaining take; run by hand: `python tests/benchmarks/bench_reading.py`.

Reading is compared with ezdxf's own load of the same file (goal: at most 1.5
times as long). Soups of 100 000 lines are measured three times over: joined end to
end (`chain`, goal 5 s), traced with all mends (`trace`), and made panels. Times are
processor time of the best of three runs, so that a busy machine counts little.
"""

from __future__ import annotations

import math
import random
import sys
import tempfile
import time
from collections.abc import Callable
from pathlib import Path
from typing import Any

import ezdxf

from lasernest.domain.contours import Contour
from lasernest.domain.control import QuietControl
from lasernest.domain.drawing import Drawing, Stroke
from lasernest.exchange.registry import read_drawing
from lasernest.geometry.chaining import JOINING_GAP_MM, chain
from lasernest.geometry.outlines import outlines_of
from lasernest.geometry.tracing import trace
from lasernest.memory import look_for_rings_seldom

SEED = 20


def best_s(work: Callable[[], Any], runs: int = 3) -> float:
    times = []
    for _ in range(runs):
        started = time.process_time()
        work()
        times.append(time.process_time() - started)
    return min(times)


def fitting(block: Any, rng: random.Random) -> None:
    """A small part as CAD draws it: an outline, a few holes, a slot, a centre cross."""
    w, h = rng.uniform(8, 30), rng.uniform(6, 20)
    if rng.random() < 0.5:
        block.add_lwpolyline(
            [(0, 0), (w, 0), (w, h - 2, 0.4), (w - 2, h), (0, h)], format="xyb", close=True
        )
    else:
        corners = [(0, 0), (w, 0), (w, h), (0, h)]
        for k in range(4):
            block.add_line(corners[k - 1], corners[k])
    for _ in range(rng.randrange(1, 5)):
        block.add_circle((rng.uniform(2, w - 2), rng.uniform(2, h - 2)), rng.uniform(0.5, 1.5))
    if rng.random() < 0.6:
        block.add_line((2, 2), (5, 2))
        block.add_arc((5, 3), 1, 270, 90)
        block.add_line((5, 4), (2, 4))
        block.add_arc((2, 3), 1, 90, 270)
    if rng.random() < 0.3:
        block.add_line((w / 2 - 1, h / 2), (w / 2 + 1, h / 2), dxfattribs={"layer": "SCORE"})
        block.add_line((w / 2, h / 2 - 1), (w / 2, h / 2 + 1), dxfattribs={"layer": "SCORE"})


def insert_library(doc: Any, space: Any, count: int, rng: random.Random) -> None:
    """Many references to 30 small parts and 10 groups of them; some scaled, mirrored, in rows."""
    names = [f"PART{k}" for k in range(30)]
    for name in names:
        fitting(doc.blocks.new(name), rng)
    for k in range(10):
        group = doc.blocks.new(f"GROUP{k}")
        for _ in range(3):
            group.add_blockref(
                rng.choice(names),
                (rng.uniform(0, 90), rng.uniform(0, 60)),
                dxfattribs={"rotation": rng.choice([0, 90, 180, 270])},
            )
    for _ in range(count):
        how = rng.random()
        name = f"GROUP{rng.randrange(10)}" if how < 0.1 else rng.choice(names)
        attribs: dict[str, float] = {"rotation": rng.choice([0, 90, rng.uniform(0, 360)])}
        if how > 0.8:
            attribs |= {"xscale": -1.0}
        elif how > 0.7:
            attribs |= {"xscale": 1.5, "yscale": 1.5, "zscale": 1.5}
        elif how > 0.67:
            attribs |= {"column_count": 3, "row_count": 2}
            attribs |= {"column_spacing": 40.0, "row_spacing": 25.0}
        space.add_blockref(name, (rng.uniform(0, 900), rng.uniform(0, 900)), dxfattribs=attribs)


def drawing_of(kind: str, count: int, rng: random.Random) -> Any:
    doc = ezdxf.new("R12" if kind == "old polylines" else "R2010", units=4)
    space = doc.modelspace()
    if kind.startswith("references"):
        insert_library(doc, space, count, rng)
        return doc
    block = doc.blocks.new("B")
    for i in range(10):
        block.add_line((i, 0), (i, 5))
    for i in range(count):
        x, y = rng.uniform(0, 900), rng.uniform(0, 900)
        if kind == "lines, arcs, circles":
            (space.add_line, space.add_arc, space.add_circle)[i % 3](
                *(((x, y), (x + 5, y + 3)), ((x, y), 3, 10, 200), ((x, y), 2))[i % 3]
            )
        elif kind == "polylines":
            corners = [
                (x + rng.uniform(0, 9), y + rng.uniform(0, 9), rng.choice([0, 0.3]))
                for _ in range(40)
            ]
            space.add_lwpolyline(corners, format="xyb", close=True)
        elif kind == "old polylines":
            corners = [
                (x + rng.uniform(0, 9), y + rng.uniform(0, 9), rng.choice([0, 0.3]))
                for _ in range(12)
            ]
            space.add_polyline2d(corners, format="xyb", close=True)
        elif kind == "splines":
            space.add_open_spline([(x + 3 * k, y + 2 * math.sin(k), 0) for k in range(12)])
        elif kind == "rough splines":
            space.add_open_spline([(x + 8 * k, y + rng.uniform(0, 8), 0) for k in range(10)])
        elif kind == "ellipses":
            space.add_ellipse((x, y), (rng.uniform(3, 9), 2), rng.uniform(0.3, 0.9))
        else:
            space.add_blockref("B", (x, y), dxfattribs={"rotation": rng.uniform(0, 360)})
    return doc


def bench_reading() -> None:
    kinds = {
        "lines, arcs, circles": 15000,
        "polylines": 1200,
        "old polylines": 1500,
        "splines": 2500,
        "rough splines": 2500,
        "ellipses": 8000,
        "block references of 10 lines": 5000,
        "references to 40 blocks": 8000,
    }
    with tempfile.TemporaryDirectory() as folder:
        for kind, count in kinds.items():
            path = Path(folder) / "bench.dxf"
            drawing_of(kind, count, random.Random(SEED)).saveas(path)
            theirs = best_s(lambda path=path: ezdxf.readfile(path))
            ours = best_s(lambda path=path: read_drawing(path, control=QuietControl()))
            size = path.stat().st_size / 1e6
            print(
                f"{kind:30} {size:4.1f} MB  library {theirs:5.2f} s  ours {ours:5.2f} s"
                f"  ratio {ours / theirs:4.2f}"
            )


def soup(kind: str) -> list[Contour]:
    rng = random.Random(SEED)
    lines = []
    if kind == "scattered":
        for _ in range(100_000):
            x, y = rng.uniform(0, 1000), rng.uniform(0, 1000)
            lines.append(Contour.polyline([(x, y), (x + rng.uniform(0, 1), y + rng.uniform(0, 1))]))
    elif kind == "circles of 100 chords":
        for i in range(1000):
            cx, cy = i % 40 * 30.0, i // 40 * 30.0
            points = [
                (cx + 10 * math.cos(k * math.pi / 50), cy + 10 * math.sin(k * math.pi / 50))
                for k in range(100)
            ]
            lines += [Contour.polyline([points[k - 1], points[k]]) for k in range(100)]
    else:
        for i in range(223):
            for j in range(223):
                lines.append(Contour.polyline([(i * 4.0, j * 4.0), (i * 4.0 + 4, j * 4.0)]))
                lines.append(Contour.polyline([(i * 4.0, j * 4.0), (i * 4.0, j * 4.0 + 4)]))
    rng.shuffle(lines)
    return lines


def bench_chaining() -> None:
    for kind in ("scattered", "circles of 100 chords", "grid of shared edges"):
        lines = soup(kind)
        drawing = Drawing(
            Path("soup.dxf"), "DXF", "mm", 1.0, tuple(Stroke(line, "0") for line in lines)
        )
        segments = [segment for line in lines for segment in line.segments()]
        chained = best_s(lambda segments=segments: chain(segments))
        traced = best_s(lambda lines=lines: trace(lines, joining_gap_mm=JOINING_GAP_MM))
        whole = best_s(lambda drawing=drawing: outlines_of(drawing, control=QuietControl()))
        print(
            f"{len(lines)} lines, {kind:24} chained {chained:5.2f} s  traced {traced:5.2f} s"
            f"  to panels {whole:5.2f} s"
        )


if __name__ == "__main__":
    look_for_rings_seldom()
    sys.stdout.reconfigure(line_buffering=True)  # type: ignore[union-attr]
    bench_reading()
    bench_chaining()
