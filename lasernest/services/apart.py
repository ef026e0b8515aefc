"""Long work in a process of its own, so that the window keeps this one for itself.

One Python process runs one thread of Python at a time: while a worker thread plans a
cut, the window waits at every turn. What takes long is therefore handed to a helper: a
process that is started once, does one piece of work after the other, and sends back
progress, better results and the end. What goes over and comes back must be frozen
values and functions of modules, which can be pickled.

Until `helpers.enable()` was called, which only the window's entry does, and where no
process can be started, the work is done in the calling thread: same functions, same
results, less calm.

*Stop* and *Cancel* are handed on. Work that does not end within `GRACE_S` of a Cancel
is ended with its process; files are written whole or not at all, so nothing is left
half done. A helper whose window is gone ends by itself.

Cost: a second or so and 100 to 250 MB for each helper, at its first work of a kind;
a millisecond for each piece of work, and about 5 microseconds for each corner of a
contour that goes over or comes back.
"""

from __future__ import annotations

import logging
import os
import pickle
import queue
import signal
import sys
import threading
import time
from collections.abc import Callable
from multiprocessing import get_context
from multiprocessing.connection import Connection
from multiprocessing.process import BaseProcess
from typing import Any, TypeVar

from lasernest.domain.control import Control, QuietControl
from lasernest.errors import Cancelled, LasernestError
from lasernest.memory import look_for_rings_seldom

log = logging.getLogger(__name__)

T = TypeVar("T")

MOST_HELPERS = 2
"""One may search for a plan while another writes and proves a cut file."""

GRACE_S = 2.0
START_S = 60.0
_LOOK_EVERY_S = 0.02
_REPORT_EVERY_S = 0.05
_NICER = 2
"""The window goes first when there is more to do than there are processors."""


class LostHelperError(LasernestError):
    """The process that did the work is gone."""


class Helpers:
    """The helper processes of this program; safe from any thread."""

    def __init__(self) -> None:
        self._turn = threading.Condition()
        self._enabled = False
        self._idle: list[_Helper] = []
        self._busy: list[_Helper] = []

    @property
    def enabled(self) -> bool:
        return self._enabled

    def enable(self) -> None:
        """Do work apart from now on; processes are started when they are needed."""
        self._enabled = True

    def close(self) -> None:
        """End all helpers; what they were doing is lost."""
        with self._turn:
            self._enabled = False
            ending = [*self._idle, *self._busy]
            self._idle.clear()
            self._turn.notify_all()
        for helper in ending:
            helper.kill()

    def do(self, function: Callable[..., T], *given: Any, control: Control) -> T:
        """What `function(*given, control=control)` gives, done in a helper where there is one.

        Args:
            function: of a module, so that the helper finds it by its name.
            given: values that can be pickled.
            control: who watches.

        Raises:
            Cancelled: the maker pressed Cancel.
            LostHelperError: the helper ended before its work did.
            Exception: whatever the function raises.
        """
        helper = self._borrow(control)
        if helper is None:
            return function(*given, control=control)
        try:
            result: T = helper.do(function, given, control)
        finally:
            with self._turn:
                self._busy.remove(helper)
                kept = self._enabled and helper.alive
                if kept:
                    self._idle.append(helper)
                self._turn.notify_all()
            if not kept:
                helper.end()
        return result

    def _borrow(self, control: Control) -> _Helper | None:
        """A helper for one piece of work; None when it is to be done here."""
        with self._turn:
            while self._enabled:
                if self._idle:
                    helper = self._idle.pop(0)
                    self._busy.append(helper)
                    return helper
                if len(self._busy) < MOST_HELPERS:
                    break
                self._turn.wait(_LOOK_EVERY_S)
                control.check()
            if not self._enabled:
                return None
            helper = _Helper()
            self._busy.append(helper)
        try:
            helper.start()
        except (OSError, EOFError, RuntimeError):
            log.warning("no helper process can be started; work is done in this one", exc_info=True)
            with self._turn:
                self._enabled = False
                self._busy.remove(helper)
                self._turn.notify_all()
            return None
        return helper


helpers = Helpers()
"""Those of this program."""


class _Helper:
    """One helper process, seen from the program."""

    def __init__(self) -> None:
        self._process: BaseProcess | None = None
        self._connection: Connection | None = None

    @property
    def alive(self) -> bool:
        return self._process is not None and self._process.is_alive()

    def start(self) -> None:
        """Start the process and wait until it listens.

        Raises:
            OSError, EOFError, RuntimeError: it cannot be started.
        """
        context = get_context("spawn")
        ours, theirs = context.Pipe()
        self._process = context.Process(
            target=_serve, args=(theirs,), name="lasernest helper", daemon=True
        )
        self._process.start()
        theirs.close()
        self._connection = ours
        if not ours.poll(START_S):
            self.end()
            raise OSError("the helper process does not answer")
        ours.recv_bytes()

    def kill(self) -> None:
        """End the process at once; whoever waits for it is told."""
        if self._process is not None:
            self._process.kill()
            self._process.join()

    def end(self) -> None:
        """End the process; nobody waits for it."""
        self.kill()
        if self._connection is not None:
            self._connection.close()

    def do(self, function: Callable[..., Any], given: tuple[Any, ...], control: Control) -> Any:
        work = b"W" + pickle.dumps((function, given))
        try:
            kind, value = self._answer(work, control)
        except (EOFError, OSError) as error:
            self.kill()
            raise LostHelperError(
                "the process that did this work has ended before it was done",
                todo="Try again; if it happens again, close other programs to free memory.",
            ) from error
        if kind == b"E":
            raise value
        return value

    def _answer(self, work: bytes, control: Control) -> tuple[bytes, Any]:
        """How the work ended, and with what; news on the way go to the control."""
        connection = self._connection
        if connection is None:
            raise EOFError
        connection.send_bytes(work)
        stopped = False
        cancelled_s: float | None = None
        while True:
            while not connection.poll(_LOOK_EVERY_S):
                if cancelled_s is not None:
                    if time.monotonic() - cancelled_s > GRACE_S:
                        self.kill()
                        return (b"E", Cancelled())
                    continue
                try:
                    control.check()
                except Cancelled:
                    cancelled_s = time.monotonic()
                    connection.send_bytes(b"C")
                if control.stopped and not stopped:
                    stopped = True
                    connection.send_bytes(b"S")
            news = connection.recv_bytes()
            kind, value = news[:1], pickle.loads(news[1:])
            if kind == b"R":
                control.report(*value)
            elif kind == b"O":
                control.offer(value)
            else:
                return (kind, value)


def load_all() -> None:
    """Load what everyday work is told with, in the process that asks."""
    import lasernest.services.importing  # noqa: PLC0415 - loading is the purpose
    import lasernest.services.main_job  # noqa: F401, PLC0415 - loading is the purpose


def get_ready(*, control: Control) -> None:
    """Load what everyday work needs, and compile the search when that was never done."""
    load_all()
    from lasernest.nesting import warm_up  # noqa: PLC0415 - heavy

    control.check()
    warm_up()


# --- in the helper ------------------------------------------------------------------------


class _HelpersControl(QuietControl):
    """Sends what work tells to the program that asked for it."""

    def __init__(self, send: Callable[[bytes, Any], None]) -> None:
        super().__init__()
        self._send = send
        self._reported_s = 0.0

    def report(self, done: float, total: float, note: str = "") -> None:
        now = time.monotonic()
        if now - self._reported_s >= _REPORT_EVERY_S:
            self._reported_s = now
            self._send(b"R", (done, total, note))

    def offer(self, result: Any) -> None:
        self._send(b"O", result)


class _Post:
    """The helper's end of the line."""

    def __init__(self, connection: Connection) -> None:
        self._connection = connection
        self._lock = threading.Lock()
        self.work: queue.SimpleQueue[tuple[bytes, _HelpersControl]] = queue.SimpleQueue()
        self.control = _HelpersControl(self.send)

    def send(self, kind: bytes, value: Any) -> None:
        news = kind + pickle.dumps(value)
        try:
            with self._lock:
                self._connection.send_bytes(news)
        except OSError:
            os._exit(0)  # the program is gone, which `listen` may not have noticed yet

    def listen(self) -> None:
        """Take work, Stop and Cancel, until the program is gone."""
        try:
            while True:
                told = self._connection.recv_bytes()
                if told[:1] == b"W":
                    self.control = _HelpersControl(self.send)
                    self.work.put((told[1:], self.control))
                elif told[:1] == b"S":
                    self.control.stop()
                else:
                    self.control.cancel()
        except (EOFError, OSError):
            os._exit(0)  # nobody waits for the work any more, and it may never look up


def _serve(connection: Connection) -> None:
    """The life of a helper: work by work until the program is gone."""
    # Ctrl-C in a terminal goes to all processes; what it means is the program's to say.
    signal.signal(signal.SIGINT, signal.SIG_IGN)
    look_for_rings_seldom()
    if sys.platform != "win32":
        os.nice(_NICER)
    post = _Post(connection)
    post.send(b"H", None)
    threading.Thread(target=post.listen, name="listen", daemon=True).start()
    while True:
        told, control = post.work.get()
        try:
            function, given = pickle.loads(told)
            result = function(*given, control=control)
            control.check()
            post.send(b"D", result)
        except Exception as error:  # told to the program, which raises it there
            if not isinstance(error, (LasernestError, Cancelled)):
                error.add_note(_traceback_of(error))
            _send_error(post, error)


def _traceback_of(error: Exception) -> str:
    import traceback  # noqa: PLC0415 - for bugs only

    return "in the helper process:\n" + "".join(traceback.format_exception(error))


def _send_error(post: _Post, error: Exception) -> None:
    try:
        post.send(b"E", error)
    except (pickle.PicklingError, TypeError, AttributeError):
        post.send(b"E", RuntimeError(f"{type(error).__name__}: {error}"))
