"""Compiled kernels are cached on disk by file: an edit must never be missed."""

from __future__ import annotations

import ast
import os
import subprocess
import sys
from pathlib import Path

import pytest

import lasernest

KERNELS = sorted(Path(lasernest.__file__).parent.rglob("_kernels.py"))

USE = """
import numpy as np, {module} as k
places, stance = np.zeros((1, 6)), np.zeros(1, dtype=np.int32)
grid = np.array([0.0, 0.0, 1.0, 1.0, 1.0, 1.0, 1.0, 1.0])
buckets = np.array([[1, 0], [0, 0]], dtype=np.int32)
k.put(0, 0, 2.0, 3.0, places, stance, buckets, grid, np.array([[-1.0, -1.0, 1.0, 1.0]]))
print(places[0, 2])
"""


@pytest.mark.parametrize("path", KERNELS, ids=lambda p: p.parent.name)
def test_kernels_call_nothing_of_ours_in_another_file(path: Path) -> None:
    """The cache of a kernel does not notice edits of what it calls elsewhere."""
    for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
        if isinstance(node, ast.ImportFrom):
            assert not (node.module or "").startswith("lasernest"), node.module
            assert node.level == 0
        if isinstance(node, ast.Import):
            assert not any(alias.name.startswith("lasernest") for alias in node.names)


def test_an_edit_of_a_helper_is_seen_although_the_caller_is_cached(tmp_path: Path) -> None:
    source = Path(lasernest.__file__).parent / "nesting" / "search" / "_kernels.py"
    text = source.read_text(encoding="utf-8")
    module = tmp_path / "copied_kernels.py"
    environment = os.environ | {"NUMBA_CACHE_DIR": str(tmp_path / "cache")}
    line = "places[i, 2], places[i, 3] = x + boxes[v, 0], y + boxes[v, 1]"
    assert text.count(line) == 1

    def left_side() -> str:
        done = subprocess.run(
            [sys.executable, "-c", USE.format(module="copied_kernels")],
            cwd=tmp_path, env=environment, capture_output=True, text=True, check=True,
        )  # fmt: skip
        return done.stdout.strip()

    module.write_text(text, encoding="utf-8")
    assert left_side() == "1.0"
    assert list((tmp_path / "cache").rglob("*.nbi"))
    module.write_text(text.replace(line, line.replace("boxes[v, 0]", "7.0")), encoding="utf-8")
    assert left_side() == "9.0"
