"""What `bench_window.py` measures with: jobs of a thousand panels, the beat of the event loop."""

from __future__ import annotations

import math
import random
import time
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path

import ezdxf
from PySide6.QtCore import QEventLoop, QTimer

from lasernest.domain.contours import Contour, Pose
from lasernest.domain.panels import Panel
from lasernest.domain.plan import Placement, Plan, Sheet, SheetPlan
from lasernest.domain.stock import SheetSize, Stock
from lasernest.job import Job, JobPanel, Setup
from lasernest.joints.case import CaseSpec
from lasernest.services.joint_making import AddCase

COUNT, VERTICES, SEED = 1000, 60, 11
CELL_MM = 44.0


def star(name: str, rng: random.Random) -> Panel:
    """A closed outline of 60 vertices, about 40 mm across, with a round hole."""
    points = []
    for i in range(VERTICES):
        far = 20.0 if i % 2 == 0 else rng.uniform(13.0, 18.0)
        angle = 2.0 * math.pi * i / VERTICES
        points.append((far * math.cos(angle), far * math.sin(angle)))
    return Panel(name, Contour.polygon(points), (Contour.circle(0.0, 0.0, 4.0).reversed(),))


def job_of(stock: Stock, *, width_mm: float = 1500.0, height_mm: float = 1400.0) -> Job:
    """The job with its plan: a raster of all panels on one sheet."""
    rng = random.Random(SEED)
    panels = [star(f"star-{i}", rng) for i in range(COUNT)]
    size = SheetSize(width_mm, height_mm)
    setup = Setup(stock=stock, sheet_size=size)
    sheet = Sheet(width_mm, height_mm, setup.margin_mm, label=stock.name)
    across = int((width_mm - 10.0) // CELL_MM)
    placements = tuple(
        Placement(
            panel.name, 1, Pose(27.0 + CELL_MM * (i % across), 27.0 + CELL_MM * (i // across))
        )
        for i, panel in enumerate(panels)
    )
    job = Job(name="stars", panels=tuple(JobPanel(p) for p in panels), setup=setup)
    return job.changed(plan=Plan((SheetPlan(sheet, placements),)))


def drawing_of_megabytes(path: Path, megabytes: float, *, seed: int = SEED) -> None:
    """A DXF of closed outlines, about so large."""
    rng = random.Random(seed)
    doc = ezdxf.new("R2000", units=4)
    space = doc.modelspace()
    per_outline = 60 * 46.0  # bytes of one outline, near enough
    for i in range(int(megabytes * 1e6 / per_outline)):
        outline = star("x", rng).outer
        dx, dy = 44.0 * (i % 60), 44.0 * (i // 60)
        points = [(v.x_mm + dx, v.y_mm + dy) for v in outline.vertices]
        space.add_lwpolyline(points, close=True)
    doc.saveas(path)


def engraved_drawing(path: Path) -> None:
    """Five plates, each with an engraving of 20 500 corners in runs all over it."""
    rng = random.Random(1)
    doc = ezdxf.new("R2010")
    doc.header["$INSUNITS"] = 4  # millimetres
    doc.layers.add("engrave")
    space = doc.modelspace()
    for k in range(5):
        dx = 220.0 * k
        corners = [(dx, 0), (dx + 200, 0), (dx + 200, 120), (dx, 120)]
        space.add_lwpolyline(corners, close=True)
        for _ in range(500):
            x, y = dx + rng.uniform(20, 180), rng.uniform(20, 100)
            run = [(x + rng.uniform(-2, 2), y + rng.uniform(-2, 2)) for _ in range(41)]
            space.add_lwpolyline(run, dxfattribs={"layer": "engrave"})
    doc.saveas(path)


def holed_drawing(path: Path) -> None:
    """Five plates with 1500 round holes each, each hole of two arcs, as CAD draws a slot's ends."""
    doc = ezdxf.new("R2010", units=4)
    space = doc.modelspace()
    for k in range(5):
        dx = 320.0 * k
        corners = [(dx, 0), (dx + 310, 0), (dx + 310, 190), (dx, 190)]
        space.add_lwpolyline(corners, close=True)
        for i in range(1500):
            x, y = dx + 8.0 + 6.0 * (i % 50), 6.0 + 6.0 * (i // 50)
            radius = 1.5 + 0.01 * (i % (7 + k))
            bulged = [(x - radius, y, 0, 0, 1.0), (x + radius, y, 0, 0, 1.0)]
            space.add_lwpolyline(bulged, close=True)
    doc.saveas(path)


def long_outline_drawing(path: Path) -> None:
    """A plate whose outline has 20 000 corners, and a plain one beside it."""
    rng = random.Random(2)
    doc = ezdxf.new("R2010", units=4)
    space = doc.modelspace()
    corners = []
    for i in range(20_000):
        angle = 2.0 * math.pi * i / 20_000
        far = 180.0 + 6.0 * math.sin(40.0 * angle) + rng.uniform(-0.01, 0.01)
        corners.append((far * math.cos(angle), far * math.sin(angle)))
    space.add_lwpolyline(corners, close=True)
    space.add_lwpolyline([(200, 0), (300, 0), (300, 50), (200, 50)], close=True)
    doc.saveas(path)


def cases_of(count: int, stock: Stock) -> Job:
    """A job of so many plain cases of six panels, jointed, all of different sizes."""
    job = Job(setup=Setup(stock=stock))
    for i in range(count):
        spec = CaseSpec(120.0 + 13.0 * i, 80.0 + 7.0 * i, 60.0 + 5.0 * i, 3.0)
        job = AddCase(spec).apply(job)
    return job


def on_sheets(job: Job, count: int) -> Plan:
    """The job's plan dealt out to so many sheets, each panel where it lay."""
    assert job.plan is not None
    (one,) = job.plan.sheets
    return Plan(tuple(SheetPlan(one.sheet, one.placements[first::count]) for first in range(count)))


def nudged(job: Job, by_mm: float) -> Plan:
    """The job's plan with every panel a little further to the right."""
    assert job.plan is not None
    (one,) = job.plan.sheets
    moved = tuple(
        replace(p, pose=replace(p.pose, x_mm=p.pose.x_mm + by_mm)) for p in one.placements
    )
    return Plan((SheetPlan(one.sheet, moved),))


class Beat:
    """Beats with the event loop and keeps the longest silence."""

    def __init__(self) -> None:
        self._timer = QTimer()
        self._timer.setInterval(1)
        self._timer.timeout.connect(self._beat)
        self.silences: list[tuple[float, float]] = []
        """Each with the processor time that the window's thread used in it."""
        self._last = self._last_own = 0.0

    def start(self) -> None:
        self.silences.clear()
        self._last, self._last_own = time.perf_counter(), time.thread_time()
        self._timer.start()

    def _beat(self) -> None:
        now, own = time.perf_counter(), time.thread_time()
        self.silences.append((now - self._last, own - self._last_own))
        self._last, self._last_own = now, own

    def stop(self) -> None:
        self._beat()
        self._timer.stop()


def wait(until: Callable[[], bool], *, most_s: float = 150.0) -> None:
    """Let the event loop run until something is so."""
    loop = QEventLoop()
    timer = QTimer()
    timer.setInterval(5)
    timer.timeout.connect(lambda: loop.quit() if until() else None)
    timer.start()
    QTimer.singleShot(int(most_s * 1000), loop.quit)
    loop.exec()
