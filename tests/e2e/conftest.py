"""The real command in a process of its own, and drawings to feed it."""

from __future__ import annotations

import json
import os
import subprocess
import sys
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import ezdxf
import pytest

_REPOSITORY = Path(__file__).resolve().parents[2]


@dataclass(frozen=True)
class Done:
    """What a command left behind."""

    code: int
    out: str
    err: str

    @property
    def json(self) -> Any:
        """The one JSON object on standard output."""
        assert self.code == 0, self.err
        return json.loads(self.out)

    @property
    def sentence(self) -> str:
        """The one line that a refusal is told in."""
        assert self.code == 1, f"exit {self.code}: {self.out}{self.err}"
        assert "Traceback" not in self.err + self.out
        assert self.out == ""
        (line,) = self.err.strip().splitlines()
        return line


Run = Callable[..., Done]


@pytest.fixture
def lasernest(tmp_path: Path) -> Run:
    """Run `lasernest WORDS...` in an empty folder."""
    environment = os.environ | {"PYTHONPATH": str(_REPOSITORY), "COLUMNS": "200"}

    # The first search on a machine compiles its kernels, half a minute and more under load.
    def run(*words: object, timeout_s: float = 400) -> Done:
        if words[:1] == ("sheet",) and not {"--seconds", "--work"} & set(words):
            words = (*words, "--seconds", 0)  # the first plan serves these tests
        done = subprocess.run(
            [sys.executable, "-m", "lasernest", *map(str, words)],
            cwd=tmp_path,
            env=environment,
            capture_output=True,
            text=True,
            encoding="utf-8",
            timeout=timeout_s,
            check=False,
        )
        return Done(done.returncode, done.stdout, done.stderr)

    return run


@pytest.fixture
def draw(tmp_path: Path) -> Callable[..., Path]:
    """Write a DXF of closed rings (corners with bulges) and circles, in mm."""

    def write(
        name: str,
        *rings: list[tuple[float, ...]],
        circles: tuple[tuple[float, float, float], ...] = (),
    ) -> Path:
        document = ezdxf.new("R2000")
        document.header["$INSUNITS"] = 4
        for ring in rings:
            corners = [(*corner, 0.0)[:3] for corner in ring]
            document.modelspace().add_lwpolyline(corners, format="xyb", close=True)
        for x, y, radius in circles:
            document.modelspace().add_circle((x, y), radius)
        path = tmp_path / name
        document.saveas(path)
        return path

    return write
