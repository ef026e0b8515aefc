"""How long the command line takes; run by hand, see DEVELOPERS.md."""

from __future__ import annotations

import os
import subprocess
import sys
from pathlib import Path

import pytest

REPOSITORY = Path(__file__).resolve().parents[2]
SAMPLES = REPOSITORY / "sample_panels"


def _run(*words: object) -> None:
    subprocess.run(
        [sys.executable, "-m", "lasernest", *map(str, words)],
        env=os.environ | {"PYTHONPATH": str(REPOSITORY)},
        stdout=subprocess.DEVNULL,
        check=True,
    )


def bench_help(benchmark) -> None:
    """Goal: under 0.3 s."""
    benchmark.pedantic(_run, ("--help",), rounds=10, warmup_rounds=2)


@pytest.mark.parametrize("name", ["clock-dial.dxf", "plant-tags.svg"])
def bench_inspect(benchmark, name: str) -> None:
    """One small drawing, start of the program included."""
    benchmark.pedantic(_run, ("inspect", SAMPLES / name), rounds=5, warmup_rounds=1)


def bench_sheet(benchmark, tmp_path: Path) -> None:
    """The main job on a drawer for six bays, first plan only."""
    words = ["sheet", SAMPLES / "seed-drawer.dxf", "--sheet", "600x400", "--kerf", "0.2"]
    words += ["--copies", 6, "--seconds", 0, "--out", tmp_path / "cut.dxf"]
    benchmark.pedantic(_run, words, rounds=5, warmup_rounds=1)
