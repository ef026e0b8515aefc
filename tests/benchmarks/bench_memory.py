"""Memory of a window over hundreds of edits; run by hand, like `bench_window.py`.

The sample job and one of 300 panels of 60 vertices, each in a process of its own, without a
screen: quantities, turns, kerf, gap, joints, another plan, other steps, undo and redo in turn.
Told is the resident memory after each hundred of 500 edits (another number may be given);
`--objects` adds which kinds of objects became more.
"""

from __future__ import annotations

import gc
import itertools
import os
import subprocess
import sys
import tempfile
from collections import Counter
from collections.abc import Callable, Iterator
from dataclasses import replace
from pathlib import Path

os.environ.setdefault("QT_QPA_PLATFORM", "offscreen")

import window_kit
from PySide6.QtWidgets import QApplication
from window_kit import job_of, wait

from lasernest.domain.control import QuietControl
from lasernest.domain.plan import Turns
from lasernest.domain.stock import Kerf
from lasernest.gui.look.theme import theme
from lasernest.gui.settings import Settings
from lasernest.gui.tiles import Step
from lasernest.gui.window import Window
from lasernest.services.commands import (
    KeepPlan,
    RemoveJoint,
    ReplaceJoint,
    SetGap,
    SetKerf,
    SetQuantity,
    SetTurns,
)
from lasernest.services.demo import demo_job
from lasernest.services.workbench import Workbench

_PAGE_BYTES = os.sysconf("SC_PAGE_SIZE")
_JOBS = ("sample", "stars")


def _measure(which: str, edits: int, *, objects: bool) -> None:
    app = QApplication.instance() or QApplication([])
    assert isinstance(app, QApplication)
    theme.install(app)
    window = Window(Workbench(), Settings(search_seconds=1.0))
    desk = window.desk
    window.show()
    desk.open_shop()
    wait(lambda: bool(desk.stocks) and not desk.tasks.running)
    if which == "stars":
        window_kit.COUNT = 300
        desk.workbench.new(job_of(desk.stocks[0], width_mm=900.0, height_mm=800.0))
    else:
        desk.workbench.new(demo_job(control=QuietControl(), shop=desk.workbench.shop))
        desk.arrange()
    wait(lambda: not desk.tasks.running and desk.job.plan is not None)
    before, told = _kinds(), [f"{_resident_mb():.0f}"]
    for n, act in enumerate(itertools.islice(_acts(window), edits), start=1):
        act()
        wait(lambda: not desk.tasks.running)
        if n % 100 == 0:
            told.append(f"{_resident_mb():.0f}")
    sys.stdout.write(f"{which}, MB at the start and after each 100 edits: {', '.join(told)}\n")
    if objects:
        more = _kinds() - before
        sys.stdout.write("".join(f"    {kind}: +{count}\n" for kind, count in more.most_common(25)))
    window.close()


def _acts(window: Window) -> Iterator[Callable[[], object]]:
    desk = window.desk
    plan, steps = desk.job.plan, itertools.cycle(Step)
    assert plan is not None
    placed = plan.sheets[0].placements
    for i in itertools.count():
        name = desk.job.panels[i % len(desk.job.panels)].name
        by_mm = 0.001 * (i + 1)
        moved = tuple(replace(p, pose=replace(p.pose, x_mm=p.pose.x_mm + by_mm)) for p in placed)
        sheet = replace(plan.sheets[0], placements=moved)
        turns = (Turns.HALF, Turns.FREE)[i % 2]
        yield lambda n=name, q=1 + i % 3: desk.do(SetQuantity(n, q))
        yield lambda n=name, t=turns: desk.do(SetTurns(n, t))
        yield lambda mm=0.15 + 0.0001 * i: desk.do(SetKerf(Kerf(mm, mm)))
        yield lambda mm=2.0 + 0.001 * i: desk.do(SetGap(mm))
        yield lambda s=sheet: desk.do(KeepPlan(replace(plan, sheets=(s, *plan.sheets[1:]))))
        if joints := desk.job.joints:
            first_joint = joints[0]
            other = replace(first_joint, interference_mm=0.05 + 0.0001 * i)
            yield lambda j=other: desk.do(ReplaceJoint(0, j))
            yield lambda: desk.do(RemoveJoint(len(desk.job.joints) - 1))
            yield desk.undo
        yield lambda: window.go_to(next(steps))
        yield desk.undo
        yield desk.redo
        yield desk.undo
        yield lambda: window.go_to(next(steps))


def _resident_mb() -> float:
    gc.collect()
    return int(Path("/proc/self/statm").read_text().split()[1]) * _PAGE_BYTES / 1e6


def _kinds() -> Counter[str]:
    gc.collect()
    return Counter(type(one).__name__ for one in gc.get_objects())


def main() -> None:
    words = sys.argv[1:]
    edits = next((word for word in words if word.isdigit()), "500")
    chosen = [word for word in words if word in _JOBS]
    if len(chosen) == 1:
        _measure(chosen[0], int(edits), objects="--objects" in words)
        return
    for which in _JOBS:
        with tempfile.TemporaryDirectory() as home:
            env = {**os.environ, "LASERNEST_HOME": home}
            subprocess.run([sys.executable, __file__, which, *words], check=True, env=env)


if __name__ == "__main__":
    main()
