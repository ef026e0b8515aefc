"""start.py: what it says and does before anything is installed."""

from __future__ import annotations

import importlib.util
import os
import signal
import subprocess
import sys
from pathlib import Path
from types import ModuleType

import pytest

REPOSITORY = Path(__file__).resolve().parents[2]


@pytest.fixture
def start(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> ModuleType:
    """A fresh start.py that believes it lies in an empty project folder."""
    spec = importlib.util.spec_from_file_location("start", REPOSITORY / "start.py")
    assert spec is not None
    assert spec.loader is not None
    module = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(module)
    (tmp_path / "pyproject.toml").write_text("[project]\n")
    monkeypatch.setattr(module, "HERE", tmp_path)
    monkeypatch.setattr(module, "VENV", tmp_path / ".venv")
    monkeypatch.setattr(module, "STAMP", tmp_path / ".venv" / "lasernest-setup.json")
    return module


@pytest.fixture
def commands(start: ModuleType, monkeypatch: pytest.MonkeyPatch) -> list[list[str]]:
    """What start.py would have run; each pretends to have worked."""
    seen: list[list[str]] = []

    def call(command: list[object], **_: object) -> int:
        seen.append([str(word) for word in command])
        python = start.python_of(start.VENV)
        python.parent.mkdir(parents=True, exist_ok=True)
        python.touch()
        return 0

    monkeypatch.setattr(start.subprocess, "call", call)
    monkeypatch.setattr(start, "run", call)
    monkeypatch.setattr(start, "works", lambda python: python.exists())
    monkeypatch.setattr(start, "missing", lambda libraries: ())
    monkeypatch.setattr(start, "may_install", lambda: False)
    monkeypatch.setenv("DISPLAY", ":0")
    return seen


def test_first_start_makes_the_folder_then_installs_then_runs(
    start: ModuleType, commands: list[list[str]]
) -> None:
    assert start.main(["demo", "--out", "here"]) == 0
    make, install, run = commands
    assert make[1:4] == ["-m", "venv", "--clear"]
    assert install[1:3] == ["-m", "pip"]
    assert install[-3] == str(start.HERE)
    assert run[1:] == ["-m", "lasernest", "demo", "--out", "here"]


def test_second_start_only_runs(start: ModuleType, commands: list[list[str]]) -> None:
    start.main(["demo"])
    commands.clear()
    start.main(["demo"])
    assert [command[1:] for command in commands] == [["-m", "lasernest", "demo"]]


def test_nothing_opens_the_window(start: ModuleType, commands: list[list[str]]) -> None:
    start.main([])
    assert commands[-1][1:] == ["-m", "lasernest"]


def test_a_changed_project_file_installs_again(
    start: ModuleType, commands: list[list[str]]
) -> None:
    start.main(["demo"])
    (start.HERE / "pyproject.toml").write_text("[project]\nname = 'other'\n")
    commands.clear()
    start.main(["demo"])
    assert [command[1:3] for command in commands] == [["-m", "pip"], ["-m", "lasernest"]]


def test_test_adds_what_the_tests_need_and_keeps_it(
    start: ModuleType, commands: list[list[str]]
) -> None:
    start.main(["demo"])
    commands.clear()
    start.main(["test"])
    assert commands[0][-3] == f"{start.HERE}[test]"
    assert commands[1][1:] == ["-m", "pytest", "-n", "auto", "--dist", "worksteal"]
    commands.clear()
    start.main(["demo"])
    start.main(["test", "tests/unit"])
    assert [command[1:] for command in commands] == [
        ["-m", "lasernest", "demo"],
        ["-m", "pytest", "tests/unit"],
    ]


@pytest.mark.parametrize(
    ("word", "may_install", "installed"),
    [("test", True, [["xdotool"]]), ("test", False, []), ("demo", True, [])],
)
def test_tests_of_the_real_window_get_their_programs_where_that_may_be(
    start: ModuleType,
    commands: list[list[str]],
    monkeypatch: pytest.MonkeyPatch,
    word: str,
    may_install: bool,
    installed: list[list[str]],
) -> None:
    seen: list[list[str]] = []
    monkeypatch.setattr(start.sys, "platform", "linux")
    monkeypatch.setattr(start, "may_install", lambda: may_install)
    monkeypatch.setattr(start, "apt_install", seen.append)
    monkeypatch.setattr(start.shutil, "which", lambda name: None if name == "xdotool" else name)
    assert start.main([word]) == 0
    assert seen == installed


def test_a_failed_installation_is_not_taken_for_done(
    start: ModuleType,
    commands: list[list[str]],
    monkeypatch: pytest.MonkeyPatch,
    capsys: pytest.CaptureFixture[str],
) -> None:
    start.main(["demo"])
    (start.HERE / "pyproject.toml").write_text("[project]\nname = 'other'\n")
    monkeypatch.setattr(start.subprocess, "call", lambda command, **_: 1)
    assert start.main(["demo"]) == 1
    assert capsys.readouterr().err.splitlines()[-1] == (
        "start.py: the packages could not be installed; pip's own words stand above. "
        "Check the internet connection and start again."
    )
    assert start.read_stamp() is None


def test_a_damaged_stamp_is_no_stamp(start: ModuleType) -> None:
    start.VENV.mkdir()
    for text in ("", "[]", "{", '{"of": 3}', "null"):
        start.STAMP.write_text(text)
        assert start.read_stamp() is None


def test_missing_libraries_are_named_by_package(
    start: ModuleType, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    monkeypatch.setattr(start.sys, "platform", "linux")
    monkeypatch.setattr(start, "may_install", lambda: False)
    monkeypatch.setattr(start.shutil, "which", lambda name: "/usr/bin/apt-get")
    monkeypatch.setattr(
        start, "DRAWING_LIBRARIES", (("libno-such-1.so.9", "libno-such-1"), ("libc.so.6", "libc6"))
    )
    if start.missing((("libc.so.6", "libc6"),)):
        pytest.skip("this system has no libc.so.6 to be found")
    assert start.main(["test"]) == 1
    assert capsys.readouterr().err == (
        "start.py: Qt needs libraries that this system lacks. "
        "Run 'apt-get install libno-such-1' as root, then start again.\n"
    )


def test_without_a_display_the_window_says_so(
    start: ModuleType, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    monkeypatch.setattr(start.sys, "platform", "linux")
    for name in ("DISPLAY", "WAYLAND_DISPLAY", "QT_QPA_PLATFORM"):
        monkeypatch.delenv(name, raising=False)
    assert start.main([]) == 1
    assert capsys.readouterr().err == (
        "start.py: there is no display to open the window on. 'start.py demo' and the command "
        "line ('start.py --help') work without one.\n"
    )


@pytest.mark.skipif(os.name == "nt", reason="sends a POSIX signal to a process group")
def test_ctrl_c_leaves_the_command_time_to_keep_its_work() -> None:
    command = (
        "import signal, sys, time\n"
        "def stop(*_): time.sleep(0.6); print('kept', flush=True); sys.exit(7)\n"
        "signal.signal(signal.SIGINT, stop)\n"
        "print('ready', flush=True)\n"
        "time.sleep(30)\n"
    )
    script = f"import sys, start\nsys.exit(start.run([sys.executable, '-c', {command!r}]))"
    with subprocess.Popen(
        [sys.executable, "-c", script],
        cwd=REPOSITORY,
        stdout=subprocess.PIPE,
        text=True,
        start_new_session=True,
    ) as process:
        assert process.stdout is not None
        assert process.stdout.readline() == "ready\n"
        os.killpg(process.pid, signal.SIGINT)
        assert process.stdout.read() == "kept\n"
    assert process.returncode == 7


def test_an_old_python_is_told_before_anything_else() -> None:
    source = (REPOSITORY / "start.py").read_text("utf-8")
    old = "import sys\nsys.version_info = (3, 9, 2)\n"
    done = subprocess.run(
        [sys.executable, "-c", old + source], capture_output=True, text=True, check=False
    )
    assert done.returncode == 1
    assert done.stderr == (
        "lasernest needs Python 3.11 or newer; this is Python 3.9. "
        "Install a newer one and start again with it.\n"
    )


def test_it_needs_nothing_but_the_standard_library() -> None:
    done = subprocess.run(
        [sys.executable, "-I", "-S", "-c", "import runpy; runpy.run_path('start.py')"],
        cwd=REPOSITORY,
        capture_output=True,
        text=True,
        check=False,
    )
    assert (done.returncode, done.stderr) == (0, "")
