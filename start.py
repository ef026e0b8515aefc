#!/usr/bin/env python3
"""Set lasernest up beside itself and start it; needs nothing but Python.

    python3 start.py              opens the window
    python3 start.py demo         runs a sample job, no display needed
    python3 start.py test         runs the tests
    python3 start.py WORDS...     anything else goes to the lasernest command line

Everything is installed into the folder .venv beside this file, once, and again
only when pyproject.toml has changed. Delete .venv to start afresh.
"""

import sys

if sys.version_info < (3, 11):  # before any newer syntax can be met at run time
    sys.exit(
        "lasernest needs Python 3.11 or newer; this is Python {}.{}. "
        "Install a newer one and start again with it.".format(*sys.version_info[:2])
    )

import ctypes
import hashlib
import importlib.util
import json
import os
import shutil
import subprocess
from pathlib import Path

HERE = Path(__file__).resolve().parent
VENV = HERE / ".venv"
STAMP = VENV / "lasernest-setup.json"

Library = tuple[str, str]
"""The file the loader looks for, and the Debian package that brings it."""

DRAWING_LIBRARIES: tuple[Library, ...] = (
    ("libGL.so.1", "libgl1"),
    ("libEGL.so.1", "libegl1"),
    ("libX11.so.6", "libx11-6"),
    ("libdbus-1.so.3", "libdbus-1-3"),
    ("libfontconfig.so.1", "libfontconfig1"),
    ("libfreetype.so.6", "libfreetype6"),
    ("libglib-2.0.so.0", "libglib2.0-0"),
    ("libgthread-2.0.so.0", "libglib2.0-0"),
    ("libxkbcommon.so.0", "libxkbcommon0"),
)
"""What Qt's drawing half needs even without a display."""

WINDOW_LIBRARIES: tuple[Library, ...] = (
    *DRAWING_LIBRARIES,
    ("libX11-xcb.so.1", "libx11-xcb1"),
    ("libxcb-cursor.so.0", "libxcb-cursor0"),
    ("libxcb-icccm.so.4", "libxcb-icccm4"),
    ("libxcb-image.so.0", "libxcb-image0"),
    ("libxcb-keysyms.so.1", "libxcb-keysyms1"),
    ("libxcb-randr.so.0", "libxcb-randr0"),
    ("libxcb-render-util.so.0", "libxcb-render-util0"),
    ("libxcb-shape.so.0", "libxcb-shape0"),
    ("libxcb-sync.so.1", "libxcb-sync1"),
    ("libxcb-util.so.1", "libxcb-util1"),
    ("libxcb-xfixes.so.0", "libxcb-xfixes0"),
    ("libxcb-xkb.so.1", "libxcb-xkb1"),
    ("libxkbcommon-x11.so.0", "libxkbcommon-x11-0"),
)
"""What Qt needs to open a window on an X display (read off its platform plugin)."""

FONT_PACKAGE = "fonts-dejavu-core"

SCREEN_PROGRAMS: tuple[tuple[str, str], ...] = (("Xvfb", "xvfb"), ("xdotool", "xdotool"))
"""For tests that use the window by mouse and keys: each program, and its Debian package."""


class SetupError(Exception):
    """Something this script cannot do by itself; the text says what the user can do."""


def main(words: list[str]) -> int:
    """Set up what the words need, run it, and return its exit code."""
    what = words[0] if words else "window"
    try:
        if what == "window":
            need_display()
            need_libraries(WINDOW_LIBRARIES)
        elif what == "test":
            need_libraries(DRAWING_LIBRARIES)
            want_screen()
        python = set_up(extras={"test"} if what == "test" else set())
    except SetupError as error:
        print(f"start.py: {error}", file=sys.stderr)
        return 1
    except KeyboardInterrupt:
        print("start.py: stopped; start again to go on.", file=sys.stderr)
        return 130
    if what == "test":
        return run(
            [python, "-m", "pytest", *(words[1:] or ["-n", "auto", "--dist", "worksteal"])],
            folder=HERE,
            QT_QPA_PLATFORM="offscreen",
        )
    return run([python, "-m", "lasernest", *words])


def run(command: list[str | Path], *, folder: Path | None = None, **environment: str) -> int:
    """Run a command to its end, in the user's own folder unless told otherwise.

    Ctrl-C reaches the command as well, which may still have work to keep: wait for it.
    """
    with subprocess.Popen(command, cwd=folder, env=os.environ | environment) as process:
        while True:
            try:
                code = process.wait()
            except KeyboardInterrupt:
                continue
            return code if code >= 0 else 128 - code


# --- the folder .venv ---------------------------------------------------------------------


def set_up(*, extras: set[str]) -> Path:
    """Make .venv and install lasernest into it unless that is done already.

    Returns:
        The Python of .venv.
    """
    python = python_of(VENV)
    done = read_stamp()
    if done is not None and python.exists():
        if extras <= done:
            return python
        extras = extras | done
    if not works(python):
        need_venv_module()
        say("Setting up in .venv (once; this takes a few minutes and needs the internet) ...")
        make: list[str | Path] = [sys.executable, "-m", "venv", "--clear", VENV]
        if subprocess.call(make) != 0:
            raise SetupError("Python could not make the folder .venv; its own words stand above.")
    else:
        say("Installing what lasernest needs into .venv ...")
    STAMP.unlink(missing_ok=True)
    wanted = f"{HERE}[{','.join(sorted(extras))}]" if extras else str(HERE)
    install: list[str | Path] = [python, "-m", "pip", "install", "--quiet", "--editable", wanted]
    # Without the second, pip reminds root of virtual environments although it runs in one.
    install += ["--disable-pip-version-check", "--root-user-action=ignore"]
    if subprocess.call(install) != 0:
        raise SetupError(
            "the packages could not be installed; pip's own words stand above. "
            "Check the internet connection and start again."
        )
    STAMP.write_text(json.dumps({"of": fingerprint(), "extras": sorted(extras)}))
    return python


def python_of(venv: Path) -> Path:
    """Where a virtual environment keeps its Python."""
    return venv / ("Scripts/python.exe" if os.name == "nt" else "bin/python")


def works(python: Path) -> bool:
    """True when this Python is there and runs with pip (an interrupted setup lacks it)."""
    if not python.exists():
        return False
    probe = subprocess.run([python, "-c", "import pip"], capture_output=True, check=False)
    return probe.returncode == 0


def fingerprint() -> str:
    """Changes when pyproject.toml, this folder's place or the Python changes."""
    digest = hashlib.sha256((HERE / "pyproject.toml").read_bytes())
    digest.update(f"\n{HERE}\n{sys.version_info[:2]}".encode())
    return digest.hexdigest()


def read_stamp() -> set[str] | None:
    """The extras that are installed, or None when the setup is missing or out of date."""
    try:
        stamp = json.loads(STAMP.read_text())
        return set(stamp["extras"]) if stamp["of"] == fingerprint() else None
    except (OSError, ValueError, KeyError, TypeError):
        return None


# --- what the system has to bring ---------------------------------------------------------


def need_venv_module() -> None:
    """Debian parts the module that fills a new .venv from Python itself."""
    if importlib.util.find_spec("ensurepip") is not None:
        return
    if may_install():
        apt_install(["python3-venv"])
        importlib.invalidate_caches()
        if importlib.util.find_spec("ensurepip") is not None:
            return
    raise SetupError(
        "this Python cannot make virtual environments. On Debian or Ubuntu run "
        "'apt-get install python3-venv' as root, then start again."
    )


def need_display() -> None:
    """A window needs a display; say so rather than let Qt abort."""
    if sys.platform.startswith("linux") and not (
        os.environ.get("DISPLAY")
        or os.environ.get("WAYLAND_DISPLAY")
        or os.environ.get("QT_QPA_PLATFORM")
    ):
        raise SetupError(
            "there is no display to open the window on. 'start.py demo' and the command line "
            "('start.py --help') work without one."
        )


def need_libraries(libraries: tuple[Library, ...]) -> None:
    """Make sure that Qt's system libraries are there; only Linux leaves them to the system."""
    if not sys.platform.startswith("linux"):
        return
    absent = missing(libraries)
    if absent and may_install():
        apt_install([*packages_of(absent), FONT_PACKAGE])
        absent = missing(libraries)
    if not absent:
        return
    if shutil.which("apt-get"):
        todo = f"Run 'apt-get install {' '.join(packages_of(absent))}' as root"
    else:
        todo = f"Install the packages that bring {', '.join(name for name, _ in absent)}"
    raise SetupError(f"Qt needs libraries that this system lacks. {todo}, then start again.")


def want_screen() -> None:
    """Install what tests of the real window need where that may be done.

    Without it these tests are skipped, and say so.
    """
    absent = [package for program, package in SCREEN_PROGRAMS if shutil.which(program) is None]
    if absent and sys.platform.startswith("linux") and may_install():
        apt_install([*absent, *packages_of(missing(WINDOW_LIBRARIES))])


def missing(libraries: tuple[Library, ...]) -> tuple[Library, ...]:
    """Those that the system's loader does not find."""

    def is_missing(name: str) -> bool:
        try:
            ctypes.CDLL(name)
        except OSError:
            return True
        return False

    return tuple(library for library in libraries if is_missing(library[0]))


def packages_of(libraries: tuple[Library, ...]) -> list[str]:
    """The Debian packages that bring them, each once."""
    return sorted({package for _, package in libraries})


def may_install() -> bool:
    """True for root on a system with apt-get."""
    return hasattr(os, "geteuid") and os.geteuid() == 0 and shutil.which("apt-get") is not None


def apt_install(packages: list[str]) -> None:
    """Install Debian packages; what failed shows when the caller looks again."""
    say(f"Installing system packages: {' '.join(packages)} ...")
    quiet = os.environ | {"DEBIAN_FRONTEND": "noninteractive"}
    for command in (["update"], ["install", "--yes", "--no-install-recommends", *packages]):
        done = subprocess.run(
            ["apt-get", "-qq", *command],
            env=quiet,
            stdin=subprocess.DEVNULL,
            capture_output=True,
            text=True,
            check=False,
        )
        if done.returncode != 0:
            print(done.stderr.strip(), file=sys.stderr)


def say(text: str) -> None:
    """Tell what is going on, beside the program's own output."""
    print(text, file=sys.stderr, flush=True)


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
