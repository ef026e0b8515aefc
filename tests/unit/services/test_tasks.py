from __future__ import annotations

import threading
from typing import Any

from lasernest.domain.control import Control
from lasernest.errors import BadValueError, LasernestError
from lasernest.services.tasks import Task


class Heard:
    """Keeps what a task said."""

    def __init__(self) -> None:
        self.news: list[tuple[Any, ...]] = []

    def on_progress(self, done: float, total: float, note: str) -> None:
        self.news.append(("progress", done, total, note))

    def on_offer(self, result: Any) -> None:
        self.news.append(("offer", result))

    def on_done(self, result: Any) -> None:
        self.news.append(("done", result))

    def on_error(self, error: LasernestError) -> None:
        self.news.append(("error", error.what))

    def on_bug(self, error: Exception) -> None:
        self.news.append(("bug", str(error)))

    def on_cancelled(self) -> None:
        self.news.append(("cancelled",))


def searching(started: threading.Event):  # type: ignore[no-untyped-def]
    def work(control: Control) -> str:
        control.offer("first")
        started.set()
        ticks = threading.Event()
        while not control.stopped:
            ticks.wait(0.001)
        return "best"

    return work


def test_progress_offer_and_end() -> None:
    heard = Heard()

    def work(control: Control) -> int:
        control.report(1, 2, "half")
        control.offer(41)
        return 42

    task = Task("count", work, heard)
    task.start()
    assert task.wait(10)
    assert heard.news == [("progress", 1, 2, "half"), ("offer", 41), ("done", 42)]


def test_stop_keeps_the_best() -> None:
    heard, started = Heard(), threading.Event()
    task = Task("search", searching(started), heard)
    task.start()
    assert started.wait(10)
    task.stop()
    assert task.wait(10)
    assert heard.news == [("offer", "first"), ("done", "best")]


def test_cancel_drops_the_result() -> None:
    heard, started = Heard(), threading.Event()
    task = Task("search", searching(started), heard)
    task.start()
    assert started.wait(10)
    task.cancel()
    assert task.wait(10)
    assert heard.news == [("offer", "first"), ("cancelled",)]


def test_errors_for_the_maker_and_bugs_of_ours_are_told_apart() -> None:
    heard = Heard()

    def refuse(control: Control) -> None:
        raise BadValueError("no")

    def fail(control: Control) -> None:
        raise ZeroDivisionError("ours")

    for work in (refuse, fail):
        task = Task("work", work, heard)
        task.start()
        assert task.wait(10)
    assert heard.news == [("error", "no"), ("bug", "ours")]
