from __future__ import annotations

from pathlib import Path

import pytest

from lasernest.errors import UnwritableFileError
from lasernest.files import numbered, refuse_folder, write_atomically


def test_replaces_the_whole_file(tmp_path: Path) -> None:
    target = tmp_path / "cut.dxf"
    write_atomically(target, b"old")
    write_atomically(target, b"new")
    assert target.read_bytes() == b"new"
    assert [p.name for p in tmp_path.iterdir()] == ["cut.dxf"]


def test_a_missing_folder_is_said_in_one_sentence(tmp_path: Path) -> None:
    target = tmp_path / "nowhere" / "cut.dxf"
    with pytest.raises(UnwritableFileError) as caught:
        write_atomically(target, b"x")
    assert caught.value.sentence().startswith("cut.dxf: the file cannot be written: ")


def test_a_folder_that_is_not_there_is_refused_before_the_work(tmp_path: Path) -> None:
    refuse_folder(tmp_path / "cut.dxf")
    refuse_folder(Path("cut.dxf"))
    folder, file = tmp_path / "missing", tmp_path / "notes.txt"
    file.write_text("")
    for path, told in (
        (folder / "cut.dxf", f"the folder {folder} does not exist. Make the folder, or choose"),
        (file / "cut.dxf", f"the folder {file} is no folder. Make the folder, or choose"),
        (tmp_path, "this is a folder. Add the name of the file to write."),
    ):
        with pytest.raises(UnwritableFileError) as caught:
            refuse_folder(path)
        assert told in caught.value.sentence()


def test_a_failed_replacement_leaves_the_old_file(tmp_path: Path) -> None:
    target = tmp_path / "taken"
    target.mkdir()
    (target / "inside").write_text("kept")
    with pytest.raises(UnwritableFileError):
        write_atomically(target, b"x")
    assert (target / "inside").read_text() == "kept"
    assert [p.name for p in tmp_path.iterdir()] == ["taken"]


def test_several_files_are_numbered():
    assert numbered(Path("a/cut.dxf"), 1) == (Path("a/cut.dxf"),)
    assert numbered(Path("a/cut.dxf"), 2) == (Path("a/cut-1.dxf"), Path("a/cut-2.dxf"))
