"""News from worker threads."""

from __future__ import annotations

import gc
import threading
import time
import weakref
from typing import Any

import pytest
from pytestqt.qtbot import QtBot

from lasernest.domain.control import Control
from lasernest.errors import BadValueError
from lasernest.gui.task_bridge import TaskBridge


class Ear:
    """Remembers what was heard, and on which thread."""

    def __init__(self) -> None:
        self.heard: list[tuple[str, Any]] = []
        self.threads: set[threading.Thread] = set()

    def hear(self, what: str) -> Any:
        def take(value: Any = None) -> None:
            self.heard.append((what, value))
            self.threads.add(threading.current_thread())

        return take


@pytest.fixture
def bridge() -> Any:
    made = TaskBridge()
    yield made
    assert made.close()


def _run(bridge: TaskBridge, ear: Ear, work: Any, **more: Any) -> Any:
    return bridge.run(
        "kind",
        "name",
        work,
        on_done=ear.hear("done"),
        on_failed=ear.hear("failed"),
        on_offer=ear.hear("offer"),
        on_cancelled=ear.hear("cancelled"),
        **more,
    )


def test_result_comes_on_the_main_thread(qtbot: QtBot, bridge: TaskBridge) -> None:
    ear = Ear()
    with qtbot.waitSignal(bridge.ended):
        _run(bridge, ear, lambda control: threading.current_thread() is threading.main_thread())
    assert ear.heard == [("done", False)]
    assert ear.threads == {threading.main_thread()}
    assert bridge.running == []


def test_many_reports_become_few_and_the_last_wins(qtbot: QtBot, bridge: TaskBridge) -> None:
    ear = Ear()

    def work(control: Control) -> str:
        for i in range(5000):
            control.report(i, 4999, f"{i}")
        return "end"

    started = time.monotonic()
    task = _run(bridge, ear, work)
    task.progressed.connect(lambda share, note: ear.heard.append((note, share)))
    qtbot.waitSignal(bridge.ended).wait()
    assert ear.heard[-2:] == [("4999", 1.0), ("done", "end")]
    # Ten a second, the first, and the last with the end.
    assert len(ear.heard) <= 10.0 * (time.monotonic() - started) + 3


def test_a_report_that_was_held_back_is_told_while_the_work_goes_on(
    qtbot: QtBot, bridge: TaskBridge
) -> None:
    """Two files in quick succession, of which the second takes long, or never ends."""
    ear, go_on = Ear(), threading.Event()

    def work(control: Control) -> None:
        control.report(1, 3, "first")
        control.report(2, 3, "second")
        assert go_on.wait(10)

    task = _run(bridge, ear, work)
    task.progressed.connect(lambda _share, note: ear.heard.append(("told", note)))
    qtbot.waitUntil(lambda: ("told", "second") in ear.heard)
    go_on.set()
    qtbot.waitUntil(lambda: ("done", None) in ear.heard)


def test_stop_keeps_the_best(qtbot: QtBot, bridge: TaskBridge) -> None:
    ear = Ear()
    offered = threading.Event()

    def work(control: Control) -> str:
        control.offer("good")
        offered.wait(5)
        return "best" if control.stopped else "not stopped"

    task = _run(bridge, ear, work, keeps_best=True)
    task.stop()
    offered.set()
    qtbot.waitSignal(bridge.ended).wait()
    assert ear.heard == [("offer", "good"), ("done", "best")]


def test_cancel_drops_the_result_and_is_no_error(qtbot: QtBot, bridge: TaskBridge) -> None:
    ear = Ear()
    go = threading.Event()

    def work(control: Control) -> str:
        go.wait(5)
        return "too late"

    task = _run(bridge, ear, work)
    task.cancel()
    go.set()
    qtbot.waitSignal(bridge.ended).wait()
    assert ear.heard == [("cancelled", None)]


def test_errors_are_handed_over(qtbot: QtBot, bridge: TaskBridge) -> None:
    ear = Ear()

    def work(control: Control) -> None:
        raise BadValueError("a gap of -1 mm cannot be")

    with qtbot.waitSignal(bridge.ended):
        _run(bridge, ear, work)
    ((what, error),) = ear.heard
    assert (what, str(error)) == ("failed", "a gap of -1 mm cannot be.")


def test_a_replaced_task_is_never_heard_again(qtbot: QtBot, bridge: TaskBridge) -> None:
    ear = Ear()
    go, begun = threading.Event(), threading.Event()

    def slow(control: Control) -> str:
        begun.set()
        go.wait(5)
        control.offer("old")
        return "old"

    old = _run(bridge, ear, slow)
    qtbot.waitUntil(begun.is_set)
    with qtbot.waitSignal(bridge.ended):
        _run(bridge, ear, lambda control: "new")
    with qtbot.waitSignal(old.ended):
        go.set()
    assert ear.heard == [("done", "new")]


def test_a_task_replaced_before_it_began_never_runs(qtbot: QtBot, bridge: TaskBridge) -> None:
    # Work begins when the window has shown what it is showing, not in the middle of that.
    ear = Ear()
    ran: list[str] = []
    old = _run(bridge, ear, lambda control: ran.append("old"))
    assert ran == []
    with qtbot.waitSignal(old.ended):
        _run(bridge, ear, lambda control: ran.append("new"))
    qtbot.waitUntil(lambda: bridge.running == [])
    assert ran == ["new"]


def test_closing_does_not_wait_for_a_task_that_never_began(bridge: TaskBridge) -> None:
    ran: list[str] = []
    task = _run(bridge, Ear(), lambda control: ran.append("ran"))
    assert bridge.close(seconds=0.0)
    assert bridge.running == []
    assert task.wait(0.0)
    assert ran == []


def test_what_ended_work_held_is_let_go(qtbot: QtBot, bridge: TaskBridge) -> None:
    """Plans of jobs long gone stayed in memory with the work that had measured them."""

    class Plan:
        pass

    plans = [Plan() for _ in range(4)]
    gone = [weakref.ref(plan) for plan in plans]
    for plan in plans:  # the first ones are dropped, the last one ends
        _run(bridge, Ear(), lambda control, plan=plan: None)
    del plan, plans
    qtbot.waitUntil(lambda: bridge.running == [])

    def all_gone() -> bool:
        gc.collect()
        return not any(ref() for ref in gone)

    qtbot.waitUntil(all_gone)
