"""A screen of its own for tests: an X server in memory, with mouse, keys and pictures.

Needs the programs Xvfb and xdotool; `python3 start.py test` installs them where it may.
"""

from __future__ import annotations

import ctypes
import json
import os
import shutil
import struct
import subprocess
import sys
import time
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from PySide6.QtGui import QImage

REPOSITORY = Path(__file__).resolve().parents[2]
PICTURES = REPOSITORY / "out" / "real-window"
"""Pictures of the last run, to be looked at; not kept in the repository."""
NEEDED = ("Xvfb", "xdotool")


def lacking() -> list[str]:
    """Which of the needed programs, or of the libraries of Qt's windows, are not there."""
    absent = [name for name in NEEDED if shutil.which(name) is None]
    try:
        ctypes.CDLL("libxcb-cursor.so.0")
    except OSError:
        absent.append("libxcb-cursor")
    return absent


@dataclass(frozen=True)
class Part:
    """A part of the window: what it says, and where it is on the screen."""

    kind: str
    text: str
    name: str
    box: tuple[int, int, int, int]
    enabled: bool
    keys: bool

    @property
    def middle(self) -> tuple[int, int]:
        x, y, width, height = self.box
        return x + width // 2, y + height // 2


class Screen:
    """An X server with nothing on it but the program's windows."""

    def __init__(self, display: str, folder: Path) -> None:
        self.display, self._folder = display, folder

    def do(self, *words: str | int) -> None:
        """Mouse or keys, in the words of xdotool."""
        environment = os.environ | {"DISPLAY": self.display}
        subprocess.run(["xdotool", *map(str, words)], env=environment, check=True, timeout=30)

    def picture(self) -> QImage:
        """What is on the screen (the X server keeps it as an X window dump)."""
        data = (self._folder / "Xvfb_screen0").read_bytes()
        header = struct.unpack(">25I", data[:100])  # XWDFile.h of the X Window System
        size, width, height, line, colours = (header[n] for n in (0, 4, 5, 12, 19))
        pixels = data[size + 12 * colours :]
        return QImage(pixels, width, height, line, QImage.Format.Format_RGB32).copy()


@contextmanager
def screen(folder: Path, *, width: int = 1280, height: int = 800) -> Iterator[Screen]:
    """A screen on a display that nobody else has."""
    read, write = os.pipe()
    size = f"{width}x{height}x24"
    server = subprocess.Popen(
        [
            *("Xvfb", "-displayfd", str(write), "-screen", "0", size),
            *("-fbdir", str(folder), "-nolisten", "tcp"),
        ],
        pass_fds=[write],
        stderr=subprocess.DEVNULL,
    )
    os.close(write)
    try:
        with os.fdopen(read) as told:
            yield Screen(f":{told.readline().strip()}", folder)
    finally:
        server.terminate()
        server.wait(10)


class RealWindow:
    """The program's window on a screen, seen from outside."""

    def __init__(self, on: Screen, process: subprocess.Popen[bytes], told: Path) -> None:
        self.screen, self.process, self._told = on, process, told

    # --- what is seen ----------------------------------------------------------------

    def _all(self) -> dict[str, Any]:
        try:
            told: dict[str, Any] = json.loads(self._told.read_text())
        except FileNotFoundError:
            return {"titles": [], "active": "", "parts": []}
        return told

    @property
    def parts(self) -> list[Part]:
        """What is shown, as one reads it."""
        parts = [Part(**p | {"box": tuple(p["box"])}) for p in self._all()["parts"]]
        return sorted(parts, key=lambda part: (part.box[1], part.box[0]))

    @property
    def titles(self) -> list[str]:
        return [str(title) for title in self._all()["titles"]]

    @property
    def active(self) -> str:
        """The title of the window that has the keys; nothing while none has them."""
        return str(self._all()["active"])

    @property
    def field(self) -> Part | None:
        """The field that has the keys."""
        return next((p for p in self.parts if p.kind == "field" and p.keys), None)

    def find(self, words: str, kind: str = "") -> Part | None:
        """The first part that is called so, or whose name or text begins so."""
        parts = [p for p in self.parts if not kind or p.kind == kind]
        exact = [p for p in parts if words in (p.text, p.name)]
        begins = [p for p in parts if p.text.startswith(words) or p.name.startswith(words)]
        return next(iter(exact + begins), None)

    def wait(self, until: Callable[[], object], what: str, *, most_s: float = 90.0) -> None:
        """Look at the screen until something is so."""
        end = time.monotonic() + most_s
        while not until():
            assert self.process.poll() is None, f"the program has ended while waiting for {what}"
            if time.monotonic() > end:
                self.keep("given-up")
                said = [p.text or p.name for p in self.parts]
                raise AssertionError(f"{what} was not seen in {most_s:.0f} s; seen: {said}")
            time.sleep(0.05)

    def wait_for(self, words: str, kind: str = "", *, most_s: float = 90.0) -> Part:
        """Wait until a part that says so can be used."""
        found: list[Part] = []

        def is_there() -> bool:
            part = self.find(words, kind)
            if part is not None and part.enabled:
                found.append(part)
            return bool(found)

        self.wait(is_there, f"“{words}”", most_s=most_s)
        return found[0]

    def keep(self, name: str) -> QImage:
        """Keep a picture of the screen."""
        PICTURES.mkdir(parents=True, exist_ok=True)
        picture = self.screen.picture()
        assert picture.save(str(PICTURES / f"{name}.png"))
        return picture

    # --- what the maker does ---------------------------------------------------------

    def take_keys(self) -> None:
        """Give the keys to the window, as a window manager does."""

        def has_them() -> bool:
            if not self.active.endswith(" lasernest"):
                self.screen.do("search", "--onlyvisible", "--name", " lasernest$", "windowfocus")
            return self.active.endswith(" lasernest")

        self.wait(has_them, "the window with the keys")

    def click(self, words: str, kind: str = "") -> None:
        """Point at a part and click, once it is there and stays where it is."""
        before, now = None, self.wait_for(words, kind)
        while before is None or now.box != before.box:
            time.sleep(0.15)
            before, now = now, self.wait_for(words, kind)
        self.screen.do("mousemove", *now.middle, "click", 1)

    def press(self, *keys: str) -> None:
        """Press keys, as xdotool calls them, once a window has them."""
        self.wait(lambda: self.active, "a window with the keys")
        self.screen.do("key", *keys)

    def type(self, text: str) -> None:
        self.screen.do("type", "--delay", 8, text)

    def fill(self, text: str) -> None:
        """Type into the field that has the keys; once more where a busy screen lost a key."""
        for _ in range(3):
            self.wait(lambda: self.field, "a field with the keys")
            self.press("ctrl+a")
            self.type(text)
            end = time.monotonic() + 10.0
            while time.monotonic() < end:
                if self.field is not None and self.field.text == text:
                    return
                time.sleep(0.05)
        raise AssertionError(f"“{text}” was typed three times; there is {self.field}")

    def name_file(self, dialog: str, file: Path) -> None:
        """Type a file's whole name into the system's dialog."""
        self.wait(lambda: self.active == dialog, f"the dialog “{dialog}”")
        self.fill(str(file))


@contextmanager
def real_window(on: Screen, folder: Path, *arguments: str | Path) -> Iterator[RealWindow]:
    """The program on a screen, with a home of its own in a folder."""
    told, home = folder / "told.json", folder / "home"
    (home / "Documents").mkdir(parents=True)
    environment = os.environ | {
        "DISPLAY": on.display,
        "QT_QPA_PLATFORM": "xcb",
        "HOME": str(home),
        "XDG_DOCUMENTS_DIR": str(home / "Documents"),
        "LASERNEST_HOME": str(folder / "shop"),
        "PYTHONPATH": str(REPOSITORY),
    }
    log = (folder / "said.txt").open("wb")
    program = [sys.executable, str(Path(__file__).with_name("watched_window.py")), str(told)]
    process = subprocess.Popen(
        [*program, *map(str, arguments)], env=environment, cwd=folder, stdout=log, stderr=log
    )
    window = RealWindow(on, process, told)
    try:
        window.wait(lambda: window.titles, "a window")
        window.take_keys()
        yield window
    finally:
        if process.poll() is None:
            process.terminate()
        process.wait(30)
        log.close()
        said = (folder / "said.txt").read_text()
        assert "Traceback" not in said, said
