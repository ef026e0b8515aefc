from __future__ import annotations

import os
import time
from pathlib import Path

import pytest

from lasernest.errors import UnwritableFileError
from lasernest.files import (
    digest_of,
    file_is_there,
    folder_is_there,
    numbered,
    put_together,
    refuse_folder,
    write_atomically,
)


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


def test_the_longest_name_a_folder_takes_can_be_written(tmp_path: Path) -> None:
    target = (
        tmp_path / f"{'n' * 251}.dxf"
    )  # 255 bytes: NAME_MAX of POSIX.1-2017, limits.h, on Linux
    write_atomically(target, b"x")
    assert target.read_bytes() == b"x"


def test_a_protected_file_stays_even_for_root(tmp_path: Path) -> None:
    target = tmp_path / "cut.dxf"
    target.write_bytes(b"keep")
    target.chmod(0o444)
    with pytest.raises(UnwritableFileError) as caught:
        write_atomically(target, b"new")
    assert caught.value.sentence() == (
        "cut.dxf: this file is write-protected. Choose another name, or allow writing to the file."
    )
    assert target.read_bytes() == b"keep"


def test_files_that_belong_together_are_all_replaced_or_none(tmp_path: Path) -> None:
    files = [tmp_path / "cut-1.dxf", tmp_path / "cut-2.dxf"]
    for file in files:
        file.write_bytes(b"old")
    files[0].chmod(0o600)

    def fail() -> None:
        with put_together(files) as made:
            write_atomically(made[0], b"new")
            made[1].mkdir()
            write_atomically(made[1], b"new")

    with pytest.raises(UnwritableFileError) as caught:
        fail()
    assert caught.value.sentence().startswith("cut-2.dxf: the file cannot be written: ")
    assert caught.value.sentence().endswith(
        f"Choose another folder than {tmp_path}, or make room there."
    )
    assert [file.read_bytes() for file in files] == [b"old", b"old"]

    with put_together(files) as made:
        for file in made:
            write_atomically(file, b"new")
        assert [file.read_bytes() for file in files] == [b"old", b"old"]
    assert [file.read_bytes() for file in files] == [b"new", b"new"]
    assert files[0].stat().st_mode & 0o777 == 0o600
    assert sorted(p.name for p in tmp_path.iterdir()) == ["cut-1.dxf", "cut-2.dxf"]


def test_a_folder_where_a_file_is_to_be_is_told_before_the_work(tmp_path: Path) -> None:
    (tmp_path / "cut-2.dxf").mkdir()
    with (
        pytest.raises(UnwritableFileError, match="this is a folder"),
        put_together([tmp_path / "cut-1.dxf", tmp_path / "cut-2.dxf"]),
    ):
        pytest.fail("the work was begun")


def test_what_a_killed_program_left_is_swept_and_what_runs_is_not(tmp_path: Path) -> None:
    left, running = tmp_path / ".cut [1].dxf.abcdefgh.part", tmp_path / ".cut [1].dxf.ijklmnop.part"
    other = tmp_path / ".another.dxf.abcdefgh.part"
    for folder in (left, running, other):
        folder.mkdir()
        (folder / "cut [1].dxf").write_text("half")
    for folder in (left, other):
        os.utime(folder, (time.time() - 7200, time.time() - 7200))
    with put_together([tmp_path / "cut [1].dxf"]) as made:
        write_atomically(made[0], b"new")
    assert not left.exists()
    assert running.exists()
    assert other.exists()


def test_what_may_not_be_looked_at_is_not_there(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    assert file_is_there(Path(__file__))
    assert folder_is_there(tmp_path)

    def closed(_path: Path) -> bool:
        raise PermissionError(13, "Permission denied")  # root may look at all: it is played

    monkeypatch.setattr(Path, "is_file", closed)
    monkeypatch.setattr(Path, "is_dir", closed)
    assert not file_is_there(Path(__file__))
    assert not folder_is_there(tmp_path)
    assert digest_of(Path(__file__)) == ""
