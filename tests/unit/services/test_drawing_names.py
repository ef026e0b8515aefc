"""Names that tell a job's drawings apart."""

from __future__ import annotations

from pathlib import Path

import pytest

from lasernest.job import Source
from lasernest.services.drawing_names import names_apart


@pytest.mark.parametrize(
    ("paths", "names"),
    [
        (["a/front.dxf", "a/back.dxf"], ["front.dxf", "back.dxf"]),
        (["a/front.dxf", "b/front.dxf", "a/lid.dxf"], ["a/front.dxf", "b/front.dxf", "lid.dxf"]),
        (["a/x/f.dxf", "b/x/f.dxf", "c/f.dxf"], ["a/x/f.dxf", "b/x/f.dxf", "c/f.dxf"]),
        (["f.dxf", "a/f.dxf"], ["f.dxf", "a/f.dxf"]),
        (["a/f.dxf", "a/f.dxf"], ["f.dxf (1)", "f.dxf (2)"]),
        (
            ["a/f.dxf", "a/f.dxf", "b/f.dxf", "b/f.dxf"],
            ["a/f.dxf (1)", "a/f.dxf (2)", "b/f.dxf (1)", "b/f.dxf (2)"],
        ),
        ([], []),
    ],
)
def test_as_much_of_the_folder_as_is_needed(paths: list[str], names: list[str]) -> None:
    sources = [Source(str(Path(path)), "DXF", "mm", 1.0) for path in paths]
    assert names_apart(sources) == [str(Path(name)) for name in names]
