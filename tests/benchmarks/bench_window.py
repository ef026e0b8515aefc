"""How quickly the window draws and answers; run by hand: `python tests/benchmarks/bench_window.py`.

One thousand panels of 60 vertices lie on one sheet, all different. Frames are
timed while the sheet is panned and zoomed, each with the events that are due
between two frames (goal: 60 a second in the median, 16.7 ms). Stalls are the
longest time between two beats of a timer of the event loop, while the window
does whatever it can be asked to do (goal: below 0.1 s). Beside them stands the
processor time of the window's own thread, which a busy machine lengthens less.

It draws without a screen unless QT_QPA_PLATFORM says otherwise; with Xvfb set
it to `xcb`. Names of single parts may be given, as in `bench_window.py frames`:
they are those of `Bench` that begin with `part_`. `BENCH_FAST=1` searches and
compares for a second only.
"""

from __future__ import annotations

import math
import os
import statistics
import sys
import tempfile
import time
from collections.abc import Callable
from pathlib import Path

os.environ.setdefault("QT_QPA_PLATFORM", "offscreen")

from PySide6.QtCore import QEventLoop, QPointF
from PySide6.QtWidgets import QApplication
from window_kit import (
    COUNT,
    VERTICES,
    Beat,
    cases_of,
    drawing_of_megabytes,
    engraved_drawing,
    holed_drawing,
    job_of,
    long_outline_drawing,
    nudged,
    on_sheets,
    wait,
)

from lasernest.gui import preferences
from lasernest.gui.look.theme import Brightness, theme
from lasernest.gui.settings import Settings
from lasernest.gui.tidying import Tidier
from lasernest.gui.tiles import Step
from lasernest.gui.window import Window
from lasernest.services.apart import helpers
from lasernest.services.commands import KeepPlan, SetQuantity
from lasernest.services.workbench import Workbench

FRAMES = 150
SECONDS = 1.0 if os.environ.get("BENCH_FAST") else 8.0


class Bench:
    """A window with its job, and what it is asked to do."""

    def __init__(self, app: QApplication, folder: Path) -> None:
        self.app, self.folder, self.beat = app, folder, Beat()
        self.window = Window(Workbench(), Settings(search_seconds=SECONDS))
        self.window.resize(1280, 800)
        self.window.show()
        self.desk, self.canvas = self.window.desk, self.window.board.canvas
        self.desk.open_shop()
        self.desk.warm_up()
        wait(lambda: bool(self.desk.stocks) and not self.desk.tasks.running)
        self.plywood = next(s for s in self.desk.stocks if "plywood" in s.name)
        self.job = job_of(self.plywood)

    def quiet(self) -> bool:
        """Nothing runs and all is drawn."""
        saving = self.window.picture_saver.busy
        return not self.desk.tasks.running and self.canvas.settled and not saving

    def stalls(
        self,
        name: str,
        act: Callable[[], object],
        until: Callable[[], bool] | None = None,
    ) -> None:
        """The longest silence of the event loop from an act to its end."""
        self.beat.start()
        started = time.perf_counter()
        act()
        wait(until or self.quiet)
        seconds = time.perf_counter() - started
        self.beat.stop()
        worst = sorted(self.beat.silences)[-3:]
        print(
            f"{name:36s} longest silence {1000 * worst[-1][0]:6.0f} ms   "
            f"next {', '.join(f'{1000 * w:.0f}' for w, _ in reversed(worst[:-1])):>10s} ms   "
            f"most own work {1000 * max(own for _, own in self.beat.silences):6.0f} ms   "
            f"took {seconds:5.1f} s",
            flush=True,
        )

    def begin(self, step: Step = Step.SHEETS) -> None:
        """The job as it was, with a step open."""
        self.desk.workbench.new(self.job)
        self.window.go_to(step)
        wait(self.quiet)

    def frame_times(self, name: str, move: Callable[[int], None]) -> None:
        """What frames take while something moves, each with the events due after it."""
        times, own = [], []
        for i in range(FRAMES):
            started, own_started = time.perf_counter(), time.thread_time()
            move(i)
            self.canvas.repaint()
            self.app.processEvents(QEventLoop.ProcessEventsFlag.AllEvents)
            times.append(1000.0 * (time.perf_counter() - started))
            own.append(1000.0 * (time.thread_time() - own_started))
        times.sort()
        print(
            f"{name:36s} median {statistics.median(times):6.1f} ms   "
            f"95 % {times[int(0.95 * len(times))]:6.1f} ms   longest {times[-1]:6.1f} ms   "
            f"processor, median {statistics.median(own):6.1f} ms",
            flush=True,
        )
        wait(lambda: self.canvas.settled)

    # --- the parts -------------------------------------------------------------------

    def part_nothing(self) -> None:
        """What the machine itself costs while others work on it."""
        until = time.perf_counter() + 5.0
        self.stalls("doing nothing", lambda: None, lambda: time.perf_counter() > until)

    def part_pages(self) -> None:
        window = self.window
        self.stalls("opening the job", lambda: self.desk.workbench.new(self.job))
        for step in (Step.SHEETS, Step.CUT_FILE, Step.JOINTS, Step.OUTLINES):
            self.stalls(f"going to {step.value}", lambda s=step: window.go_to(s))
        first = self.job.panels[0].name
        self.stalls("choosing a panel", lambda: window.outlines.list.choose([first]))
        self.stalls("one copy more", lambda: window.outlines.hands.step_quantity(1))
        self.stalls("undoing that", self.desk.undo)

    def part_all(self) -> None:
        self.begin(Step.OUTLINES)
        outlines = self.window.outlines
        self.stalls("choosing all panels", outlines.list.selectAll)
        self.stalls("one copy more of all", lambda: outlines.hands.step_quantity(1))
        self.stalls("two copies of all", lambda: outlines.hands.set_quantity(2))
        names = [p.name for p in self.job.panels[:900]]
        self.stalls("choosing 900 by name", lambda: outlines.list.choose(names))
        self.stalls("undoing the quantity", self.desk.undo)
        self.stalls("taking them out", outlines.hands.remove)

    def part_frames(self) -> None:
        """Time of a frame while panning and zooming."""
        self.begin()
        canvas, timed = self.canvas, self.frame_times

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

    def part_play(self) -> None:
        self.begin()
        bar = self.window.sheets.player.bar
        bar.speed.pick(64)
        self.stalls("playing the cut for a while", bar.toggle, lambda: bar.seconds > 300.0)
        bar.pause()
        self.stalls("scrubbing to the end", lambda: bar.go_to(1e9))
        bar.put_away()

    def part_picture(self) -> None:
        self.begin()
        saver = self.window.picture_saver

        def save(which: int, name: str) -> None:
            one = self.window.page.pictures()[which]
            saver.save(one, self.folder / name, Step.SHEETS)

        for suffix in ("png", "svg", "pdf"):
            text = f"saving a picture as {suffix.upper()}"
            self.stalls(text, lambda s=suffix: save(0, f"plan.{s}"))
        self.desk.do(KeepPlan(on_sheets(self.job, 6)))
        wait(self.quiet)
        for suffix in ("png", "pdf"):
            text = f"saving six sheets as {suffix.upper()}"
            self.stalls(text, lambda s=suffix: save(1, f"plans.{s}"))

    def part_hand(self) -> None:
        self.begin()
        hands, scene = self.window.sheets.hands, self.window.sheets.scene_of_sheet
        key = scene.placed[500].key
        scene.choose(frozenset({key}))
        self.stalls("turning a panel by hand", hands.turn)
        self.stalls("pinning it", hands.pin)

    def part_undo(self) -> None:
        self.begin()
        self.stalls("another plan", lambda: self.desk.do(KeepPlan(nudged(self.job, 0.5))))
        self.stalls("undoing it", self.desk.undo)
        self.stalls("doing it again", self.desk.redo)
        self.stalls("a plan of six sheets", lambda: self.desk.do(KeepPlan(on_sheets(self.job, 6))))
        self.stalls("undoing that", self.desk.undo)

    def part_file(self) -> None:
        window, path = self.window, self.folder / "stars.lasernest"
        self.begin()
        window.asking.save_job = lambda _usual: path  # type: ignore[method-assign]
        self.stalls("saving the job", window.save)
        self.desk.do(KeepPlan(nudged(self.job, 0.5)))
        wait(self.quiet)
        self.stalls("saving it again", window.save)
        self.desk.do(KeepPlan(nudged(self.job, 1.0)))
        wait(self.quiet)
        self.stalls("keeping it, not saved", window.keeper.keep)
        self.desk.workbench.new(self.desk.fresh_job())
        wait(self.quiet)
        opened = path.stat().st_size / 1e6
        self.stalls(
            f"opening a job file of {opened:.1f} MB",
            lambda: window.open_job(path),
            lambda: self.quiet() and bool(self.desk.job.panels),
        )

    def part_look(self) -> None:
        self.begin()
        settings = self.window.settings
        for step in (Step.SHEETS, Step.OUTLINES):
            self.window.go_to(step)
            wait(self.quiet)
            for which in (Brightness.DARK, Brightness.LIGHT):
                self.stalls(
                    f"{which.value}, on {step.value}",
                    lambda w=which: preferences.choose_brightness(settings, w),
                )
            for scale in (1.5, 1.0):
                self.stalls(
                    f"text of {scale:g}, on {step.value}",
                    lambda s=scale: preferences.choose_text_scale(settings, s),
                )
            for inches in (True, False):
                self.stalls(
                    f"{'inches' if inches else 'millimetres'}, on {step.value}",
                    lambda i=inches: preferences.choose_inches(settings, i),
                )

    def part_search(self) -> None:
        self.begin()
        search = self.window.search
        self.stalls("finding a command: all of them", search.open)
        self.stalls("a letter", lambda: search.field.setText("a"))
        self.stalls("putting it away", search.close_search)
        self.stalls("the guide", self.window.show_guide)
        self.stalls("the settings", self.window.stage.show_settings)

    def part_write(self) -> None:
        self.begin()
        cut = self.folder / "cut.dxf"
        self.stalls("writing and proving the cut", lambda: self.desk.write_cut_files(cut))

    def part_nest(self) -> None:
        self.begin()
        self.stalls("arranging", self.desk.arrange)
        for trouble in self.desk.troubles:
            print(trouble.sentence)

    def part_import(self) -> None:
        drawing = self.folder / "large.dxf"
        drawing_of_megabytes(drawing, 5.0)
        self.desk.workbench.new(self.desk.fresh_job())
        wait(self.quiet)
        megabytes = drawing.stat().st_size / 1e6
        self.stalls(
            f"bringing in {megabytes:.1f} MB",
            lambda: self.window.take_files([drawing]),
            lambda: self.quiet() and bool(self.desk.job.panels),
        )
        redrawer = self.desk.redrawer
        drawing_of_megabytes(drawing, 5.0, seed=12)
        self.stalls(
            "seeing that it changed on disk",
            redrawer.look,
            lambda: self.quiet() and bool(redrawer.news),
        )
        self.stalls("taking in what changed", lambda: redrawer.take_in(redrawer.news[0]))
        (source,) = self.desk.job.sources
        self.stalls("reading it again", lambda: redrawer.read_again([(source, source.choices)]))

    def part_engraved(self) -> None:
        """Few panels with a great many lines each."""
        self.heavy("engraved", engraved_drawing)

    def part_holes(self) -> None:
        """Few panels with a great many holes each."""
        self.heavy("many holes", holed_drawing)

    def part_outline(self) -> None:
        """A panel whose outline has a great many corners."""
        self.heavy("a long outline", long_outline_drawing)

    def heavy(self, what: str, draw: Callable[[Path], None]) -> None:
        """A drawing of few panels that are much to draw, from file to sheet."""
        window, desk, canvas = self.window, self.desk, self.canvas
        drawing = self.folder / f"{draw.__name__}.dxf"
        draw(drawing)
        desk.workbench.new(desk.fresh_job())
        wait(self.quiet)
        megabytes = drawing.stat().st_size / 1e6
        self.stalls(
            f"bringing in {megabytes:.1f} MB, {what}",
            lambda: window.take_files([drawing]),
            lambda: self.quiet() and bool(desk.job.panels),
        )
        first = desk.job.panels[0].name
        self.stalls(f"choosing one, {what}", lambda: window.outlines.list.choose([first]))
        self.stalls(f"one copy more, {what}", lambda: desk.do(SetQuantity(first, 2)))
        self.frame_times(f"pan, {what}", lambda i: canvas.pan(6.0 * math.cos(i / 12.0), 0.0))
        self.stalls(f"arranging, {what}", desk.arrange)
        hands, scene = window.sheets.hands, window.sheets.scene_of_sheet
        self.stalls(
            f"choosing it on its sheet, {what}",
            lambda: scene.choose(frozenset({scene.placed[0].key})),
        )
        self.stalls(f"turning it, {what}", hands.turn)
        self.stalls(f"putting it elsewhere, {what}", lambda: hands.put_at(40.0, None))
        self.stalls(f"undoing that, {what}", desk.undo)
        canvas.zoom(4.0)
        self.frame_times(f"zoomed in, {what}", lambda i: canvas.pan(6.0 * math.cos(i / 12.0), 0.0))

    def part_joints(self) -> None:
        window, desk = self.window, self.desk
        case = cases_of(10, self.plywood)
        desk.workbench.new(case.changed(joints=()))
        window.go_to(Step.JOINTS)
        wait(self.quiet)
        self.stalls("proposing joints over 60 panels", window.joints.propose)
        self.stalls(f"taking {len(case.joints)} joints in", window.joints._main)
        desk.workbench.new(desk.fresh_job())
        wait(self.quiet)
        case = cases_of(5, self.plywood)
        self.stalls("30 panels with joints, folded up", lambda: desk.workbench.new(case))
        self.stalls("choosing a joint", lambda: window.joints.choose_joint(5))
        self.stalls("moving the case apart", lambda: window.joints.drawing.case.apart.setValue(50))
        self.stalls("going to Sheets", lambda: window.go_to(Step.SHEETS))
        self.stalls("and back", lambda: window.go_to(Step.JOINTS))

    def part_compare(self) -> None:
        self.begin()
        comparer = self.window.compare.comparer
        self.stalls("opening Compare", self.window.show_compare)
        found: list[object] = []
        comparer.changed.connect(lambda: found.append(comparer.shown))
        self.stalls("comparing until one is done", comparer.compare, lambda: bool(found[-1]))
        self.stalls("stopping it", self.desk.stop)
        self.stalls("telling other costs", lambda: self.window.compare.show_count(50))
        self.stalls("going back to Sheets", lambda: self.window.go_to(Step.SHEETS))
        self.stalls("opening Compare again", self.window.show_compare)
        self.window.go_to(Step.SHEETS)
        for trouble in self.desk.troubles:
            print(trouble.sentence)


def main() -> None:
    folder = Path(tempfile.mkdtemp())
    os.environ["LASERNEST_HOME"] = str(folder / "home")
    app = QApplication(sys.argv[:1])
    sys.setswitchinterval(0.0001)  # this and the next two as the window's own entry does
    helpers.enable()
    tidier = Tidier(app)
    theme.install(app)
    parts = {name[5:]: name for name in vars(Bench) if name.startswith("part_")}
    unknown = set(sys.argv[1:]) - set(parts)
    if unknown:
        sys.exit(f"no part {', '.join(sorted(unknown))}; there are {', '.join(parts)}")
    bench = Bench(app, folder)
    print(f"{app.platformName()}, {COUNT} panels of {VERTICES} vertices")
    for name, method in parts.items():
        if len(sys.argv) == 1 or name in sys.argv[1:]:
            getattr(bench, method)()
    for trouble in bench.desk.troubles:
        print(trouble.sentence)
    bench.window.close()
    helpers.close()
    tidier.stop()


if __name__ == "__main__":
    main()
