"""Work in a process of its own: results, news, Stop, Cancel, and what happens when it dies."""

from __future__ import annotations

import os
import subprocess
import sys
import threading
import time
from collections.abc import Iterator
from functools import partial
from pathlib import Path
from typing import Any

import pytest

from lasernest.domain.contours import Contour, Pose, Vertex
from lasernest.domain.control import Control, QuietControl
from lasernest.domain.panels import Panel
from lasernest.errors import BadValueError, Cancelled, Where
from lasernest.services import apart
from lasernest.services.apart import Helpers, LostHelperError
from lasernest.shop.book import ShopBook


class Watching(QuietControl):
    """Keeps what work told."""

    def __init__(self) -> None:
        super().__init__()
        self.reports: list[tuple[float, float, str]] = []
        self.offers: list[Any] = []
        self.offered = threading.Event()

    def report(self, done: float, total: float, note: str = "") -> None:
        self.reports.append((done, total, note))

    def offer(self, result: Any) -> None:
        self.offers.append(result)
        self.offered.set()


# What helpers do in these tests.


def where(*, control: Control) -> int:
    return os.getpid()


def moved(panel: Panel, *, control: Control) -> Panel:
    control.report(1, 2, "half way")
    control.offer(panel.name)
    return panel.posed(Pose(0.1, 0.2, 30.0))


def refuses(*, control: Control) -> None:
    raise BadValueError("no", where=Where(panel="lid", at_mm=(1.0, 2.0)), todo="Go.")


def breaks(*, control: Control) -> None:
    raise FileNotFoundError("gone")


def searches(*, control: Control) -> str:
    control.offer("first")
    while not control.stopped:
        time.sleep(0.005)
    control.check()
    return "the best"


def never_looks_up(*, control: Control) -> None:
    control.offer("on it")
    time.sleep(600.0)


def dies(*, control: Control) -> None:
    os._exit(7)


def stocks_of(shop: ShopBook, *, control: Control) -> int:
    return len(shop.stocks())


@pytest.fixture(scope="module")
def helpers() -> Iterator[Helpers]:
    made = Helpers()
    made.enable()
    yield made
    made.close()


def test_without_helpers_the_work_is_done_here() -> None:
    assert Helpers().do(where, control=QuietControl()) == os.getpid()


def test_work_is_done_in_another_process_that_is_used_again(helpers: Helpers) -> None:
    first = helpers.do(where, control=QuietControl())
    assert first != os.getpid()
    assert helpers.do(where, control=QuietControl()) == first


def test_values_progress_and_offers_come_over(helpers: Helpers) -> None:
    control = Watching()
    outer = Contour((Vertex(0.1, 0.0), Vertex(30.0, 1e-17, 0.3), Vertex(7.0, 20.0)))
    panel = Panel("lid", outer, (Contour.circle(10.0, 6.0, 2.0).reversed(),))
    found = helpers.do(moved, panel, control=control)
    assert found == moved(panel, control=QuietControl())
    assert control.reports == [(1, 2, "half way")]
    assert control.offers == ["lid"]


def test_a_shop_book_is_opened_again_over_there(helpers: Helpers, tmp_path: Path) -> None:
    shop = ShopBook.open(tmp_path / "book.sqlite")
    assert helpers.do(partial(stocks_of, shop), control=QuietControl()) == len(shop.stocks())


def test_errors_come_back_whole(helpers: Helpers) -> None:
    with pytest.raises(BadValueError) as caught:
        helpers.do(refuses, control=QuietControl())
    assert caught.value.sentence() == "panel lid, at 1.00, 2.00 mm: no. Go."
    # A bug is raised as what it is, and its traceback tells where it was.
    with pytest.raises(FileNotFoundError) as bug:
        helpers.do(breaks, control=QuietControl())
    assert "in breaks" in "".join(bug.value.__notes__)
    assert helpers.do(where, control=QuietControl()) != os.getpid()


def _done_in_thread(helpers: Helpers, work: Any, control: Watching) -> tuple[Any, list[Any]]:
    ended: list[Any] = []

    def run() -> None:
        try:
            ended.append(helpers.do(work, control=control))
        except (Cancelled, LostHelperError) as error:
            ended.append(error)

    thread = threading.Thread(target=run)
    thread.start()
    assert control.offered.wait(20.0)
    return thread, ended


def test_stop_keeps_the_best_and_cancel_drops_it(helpers: Helpers) -> None:
    control = Watching()
    thread, ended = _done_in_thread(helpers, searches, control)
    control.stop()
    thread.join(10.0)
    assert ended == ["the best"]
    control = Watching()
    thread, ended = _done_in_thread(helpers, searches, control)
    control.cancel()
    thread.join(10.0)
    assert isinstance(ended[0], Cancelled)


def test_work_that_never_looks_up_is_ended_with_its_process(
    helpers: Helpers, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(apart, "GRACE_S", 0.1)
    control = Watching()
    thread, ended = _done_in_thread(helpers, never_looks_up, control)
    control.cancel()
    thread.join(10.0)
    assert isinstance(ended[0], Cancelled)
    assert helpers.do(where, control=QuietControl()) != os.getpid()


def test_a_helper_that_dies_is_told_and_replaced(helpers: Helpers) -> None:
    with pytest.raises(LostHelperError, match="has ended before it was done"):
        helpers.do(dies, control=QuietControl())
    assert helpers.do(where, control=QuietControl()) != os.getpid()


def test_closing_ends_what_helpers_are_doing() -> None:
    made = Helpers()
    made.enable()
    control = Watching()
    thread, ended = _done_in_thread(made, never_looks_up, control)
    made.close()
    thread.join(10.0)
    assert isinstance(ended[0], LostHelperError)
    assert made.do(where, control=QuietControl()) == os.getpid()


def test_where_no_process_can_be_started_the_work_is_done_here(
    monkeypatch: pytest.MonkeyPatch, caplog: pytest.LogCaptureFixture
) -> None:
    def refuse(_method: str) -> Any:
        raise OSError("no more processes")

    monkeypatch.setattr(apart, "get_context", refuse)
    made = Helpers()
    made.enable()
    assert made.do(where, control=QuietControl()) == os.getpid()
    assert not made.enabled
    assert "no helper process can be started" in caplog.text


def test_a_helper_loads_nothing_that_draws() -> None:
    # What a helper loads: the entry of its program, and the modules of its work.
    loaded = (
        "import sys, lasernest.gui.main, lasernest.__main__, lasernest.gui.plan_figures\n"
        "import lasernest.gui.compare.pictured, lasernest.services.main_job\n"
        "sys.exit(any(name.startswith('PySide6') for name in sys.modules))"
    )
    assert subprocess.run([sys.executable, "-c", loaded], check=False).returncode == 0


def test_a_helper_whose_program_is_gone_ends_without_a_word() -> None:
    """It may have a result to send before it notices that nobody is there to take it."""
    code = (
        "from multiprocessing import Pipe\n"
        "from lasernest.services.apart import _Post\n"
        "ours, theirs = Pipe()\n"
        "ours.close()\n"
        "_Post(theirs).send(b'D', 1)\n"
        "raise SystemExit(3)\n"
    )
    ended = subprocess.run(
        [sys.executable, "-c", code], check=False, capture_output=True, text=True
    )
    assert (ended.returncode, ended.stderr) == (0, "")
