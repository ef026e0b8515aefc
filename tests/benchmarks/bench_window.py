"""How quickly the window draws and answers; run by hand: `python tests/benchmarks/bench_window.py`.

One thousand panels of 60 vertices lie on one sheet, all different. Frames are
timed while the sheet is panned and zoomed, each with the events that are due
between two frames (goal: 60 a second in the median, 16.7 ms). Stalls are the
longest time between two beats of a timer of the event loop, while the window
goes through its pages, plays a cut, arranges, brings in 5 MB of drawing,
writes and proves a cut file and saves a picture (goal: below 0.1 s). Beside
them stands the processor time of the window's own thread, which a busy machine
lengthens less.

It draws without a screen unless QT_QPA_PLATFORM says otherwise; with Xvfb set
it to `xcb`. Names of single parts may be given, as in `bench_window.py frames`.
"""

from __future__ import annotations

import math
import os
import random
import statistics
import sys
import tempfile
import time
from collections.abc import Callable
from pathlib import Path

os.environ.setdefault("QT_QPA_PLATFORM", "offscreen")

import ezdxf
from PySide6.QtCore import QEventLoop, QPointF, QTimer
from PySide6.QtWidgets import QApplication

from lasernest.domain.contours import Contour, Pose
from lasernest.domain.panels import Panel
from lasernest.domain.plan import Placement, Plan, Sheet, SheetPlan
from lasernest.domain.stock import SheetSize, Stock
from lasernest.gui.look.theme import theme
from lasernest.gui.settings import Settings
from lasernest.gui.tiles import Step
from lasernest.gui.window import Window
from lasernest.job import Job, JobPanel, Setup
from lasernest.memory import look_for_rings_seldom
from lasernest.services.apart import helpers
from lasernest.services.workbench import Workbench

COUNT, VERTICES, SEED = 1000, 60, 11
FRAMES = 150
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


def drawing_of_megabytes(path: Path, megabytes: float) -> None:
    """A DXF of closed outlines, about so large."""
    rng = random.Random(SEED)
    doc = ezdxf.new("R2000", units=4)
    space = doc.modelspace()
    per_outline = 60 * 46.0  # bytes of one outline, near enough
    for i in range(int(megabytes * 1e6 / per_outline)):
        outline = star("x", rng).outer
        dx, dy = 44.0 * (i % 60), 44.0 * (i // 60)
        points = [(v.x_mm + dx, v.y_mm + dy) for v in outline.vertices]
        space.add_lwpolyline(points, close=True)
    doc.saveas(path)


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


def frames(window: Window, app: QApplication) -> None:
    """Time of a frame while panning and zooming."""
    canvas = window.board.canvas
    wait(lambda: canvas.settled)

    def timed(name: str, move: Callable[[int], None]) -> None:
        times, own = [], []
        for i in range(FRAMES):
            started, own_started = time.perf_counter(), time.thread_time()
            move(i)
            canvas.repaint()
            app.processEvents(QEventLoop.ProcessEventsFlag.AllEvents)
            times.append(1000.0 * (time.perf_counter() - started))
            own.append(1000.0 * (time.thread_time() - own_started))
        times.sort()
        print(
            f"{name:32s} median {statistics.median(times):6.1f} ms   "
            f"95 % {times[int(0.95 * len(times))]:6.1f} ms   longest {times[-1]:6.1f} ms   "
            f"processor, median {statistics.median(own):6.1f} ms"
        )
        wait(lambda: canvas.settled)

    def about() -> QPointF:
        return canvas.drawing_area().center()

    def pan(i: int) -> None:
        canvas.pan(6.0 * math.cos(i / 12.0), 5.0 * math.sin(i / 9.0))

    def zoom(i: int) -> None:
        factor = 1.04 if i % 50 < 25 else 1.0 / 1.04
        canvas.zoom_to(canvas.view.scale * factor, about())

    timed("pan, everything shown", pan)
    timed("zoom, everything shown", zoom)
    canvas.zoom_to(canvas.view.scale * 6.0, about())
    timed("pan, zoomed in", pan)
    canvas.fit()


def stalls(beat: Beat, name: str, act: Callable[[], object], until: Callable[[], bool]) -> None:
    """The longest silence of the event loop from an act to its end."""
    beat.start()
    started = time.perf_counter()
    act()
    wait(until)
    seconds = time.perf_counter() - started
    beat.stop()
    worst = sorted(beat.silences)[-3:]
    print(
        f"{name:32s} longest silence {1000 * worst[-1][0]:6.0f} ms   "
        f"next {', '.join(f'{1000 * w:.0f}' for w, _ in reversed(worst[:-1])):>10s} ms   "
        f"most own work {1000 * max(own for _, own in beat.silences):6.0f} ms   "
        f"took {seconds:5.1f} s"
    )


def main() -> None:
    wanted = set(sys.argv[1:])
    folder = Path(tempfile.mkdtemp())
    os.environ["LASERNEST_HOME"] = str(folder / "home")
    look_for_rings_seldom()
    app = QApplication(sys.argv[:1])
    sys.setswitchinterval(0.001)  # as the window's own entry does
    helpers.enable()
    theme.install(app)
    window = Window(Workbench(), Settings(search_seconds=8.0))
    window.resize(1280, 800)
    window.show()
    desk = window.desk
    desk.open_shop()
    desk.warm_up()
    wait(lambda: bool(desk.stocks) and not desk.tasks.running)
    plywood = next(s for s in desk.stocks if "plywood" in s.name)
    job = job_of(plywood)
    beat = Beat()
    canvas = window.board.canvas

    def part(name: str) -> bool:
        return not wanted or name in wanted

    def quiet() -> bool:
        return not desk.tasks.running and canvas.settled and not window.picture_saver.busy

    print(f"{app.platformName()}, {COUNT} panels of {VERTICES} vertices")
    # What the machine itself costs while others work on it.
    idle_until = time.perf_counter() + 5.0
    stalls(beat, "doing nothing", lambda: None, lambda: time.perf_counter() > idle_until)
    if part("pages"):
        stalls(beat, "opening the job", lambda: window.desk.workbench.new(job), quiet)
        for step in (Step.SHEETS, Step.CUT_FILE, Step.JOINTS, Step.OUTLINES):
            stalls(beat, f"going to {step.value}", lambda s=step: window.go_to(s), quiet)
        first = job.panels[0].name
        stalls(beat, "choosing a panel", lambda: window.outlines.list.choose([first]), quiet)
        stalls(beat, "one copy more", lambda: window.outlines.hands.step_quantity(1), quiet)
        desk.undo()
    desk.workbench.new(job)
    window.go_to(Step.SHEETS)
    wait(quiet)
    if part("frames"):
        frames(window, app)
    if part("play"):
        bar = window.sheets.player.bar
        bar.speed.pick(64)
        stalls(beat, "playing the cut for a while", bar.toggle, lambda: bar.seconds > 300.0)
        bar.pause()
        stalls(beat, "scrubbing to the end", lambda: bar.go_to(1e9), quiet)
        bar.put_away()
    if part("picture"):
        for suffix in (".png", ".svg", ".pdf"):
            one = window.page.pictures()[0]
            path = folder / f"plan{suffix}"
            stalls(
                beat,
                f"saving a picture as {suffix[1:].upper()}",
                lambda p=path, o=one: window.picture_saver.save(o, p, Step.SHEETS),
                quiet,
            )
    if part("hand"):
        hands, scene = window.sheets.hands, window.sheets.scene_of_sheet
        key = scene.placed[500].key
        scene.choose(frozenset({key}))
        stalls(beat, "turning a panel by hand", hands.turn, quiet)
        stalls(beat, "pinning it", hands.pin, quiet)
        desk.workbench.new(job)
        wait(quiet)
    if part("write"):
        stalls(
            beat,
            "writing and proving the cut",
            lambda: desk.write_cut_files(folder / "cut.dxf"),
            quiet,
        )
    if part("nest"):
        window.go_to(Step.SHEETS)
        stalls(beat, "arranging", desk.arrange, quiet)
    if part("import"):
        drawing = folder / "large.dxf"
        drawing_of_megabytes(drawing, 5.0)
        desk.workbench.new(desk.fresh_job())
        wait(lambda: not desk.tasks.running)  # nothing is drawn, so the canvas never settles
        megabytes = drawing.stat().st_size / 1e6
        stalls(
            beat,
            f"bringing in {megabytes:.1f} MB",
            lambda: window.take_files([drawing]),
            lambda: quiet() and bool(desk.job.panels),
        )
    for trouble in desk.troubles:
        print(trouble.sentence)
    window.close()
    helpers.close()


if __name__ == "__main__":
    main()
