"""What a maker drops: files, folders, folders that may not be looked into."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import pytest

from lasernest.errors import UnreadableFileError
from lasernest.services.dropped import drawings_in


def test_a_folder_stands_for_its_drawings(tmp_path: Path) -> None:
    for name in ("lid.DXF", "front.svg", "notes.txt"):
        (tmp_path / name).touch()
    assert drawings_in(tmp_path) == [tmp_path / "front.svg", tmp_path / "lid.DXF"]
    assert drawings_in(tmp_path / "lid.DXF") == [tmp_path / "lid.DXF"]


def test_a_closed_folder_is_told(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    def closed(_folder: Path) -> Iterator[Path]:
        raise PermissionError(13, "Permission denied")  # root may open all: it is played

    monkeypatch.setattr(Path, "iterdir", closed)
    with pytest.raises(UnreadableFileError) as caught:
        drawings_in(tmp_path)
    assert caught.value.sentence() == (
        f"{tmp_path.name}: the folder cannot be looked into: Permission denied. See that you may "
        "open it, or copy the drawings to another folder."
    )
