from __future__ import annotations

import gzip
import os
from pathlib import Path

import pytest

from lasernest.errors import UnreadableFileError
from lasernest.files import digest_of

from .drawings import codes, dxf_text, read, svg, write

CIRCLE = "CIRCLE 8 0 10 0 20 0 40 20"


@pytest.mark.parametrize(
    ("data", "says"),
    [
        (b"", "the file is empty"),
        (b"\x89PNG\r\n\x1a\n", "this is a PNG picture, not a drawing to cut"),
        (b"<!DOCTYPE html><html></html>", "this is a web page, not a drawing to cut"),
        (b"%PDF-1.4", "this is a PDF document, not a drawing to cut"),
        (b"AC1032\x00\x00", "this is a DWG drawing, not a drawing to cut"),
    ],
)
@pytest.mark.parametrize("name", ["part.dxf", "part.svg"])
def test_strangers_are_refused_by_name(tmp_path: Path, data: bytes, says: str, name: str) -> None:
    with pytest.raises(UnreadableFileError) as caught:
        read(write(tmp_path, data, name))
    assert caught.value.sentence().startswith(f"{name}: {says}.")


def test_a_missing_file_and_a_folder(tmp_path: Path) -> None:
    with pytest.raises(UnreadableFileError, match="there is no file"):
        read(tmp_path / "none.dxf")
    with pytest.raises(UnreadableFileError, match="this is a folder"):
        read(tmp_path)


@pytest.mark.skipif(not hasattr(os, "mkfifo"), reason="no named pipes here")
def test_a_pipe_is_refused_instead_of_waiting_for_ever(tmp_path: Path) -> None:
    os.mkfifo(tmp_path / "pipe.dxf")
    with pytest.raises(UnreadableFileError, match="this is no ordinary file"):
        read(tmp_path / "pipe.dxf")
    assert digest_of(tmp_path / "pipe.dxf") == ""


def test_a_drawing_under_the_other_ending_is_read_and_said(tmp_path: Path) -> None:
    drawing = read(write(tmp_path, svg("<rect width='5' height='5'/>"), "part.dxf"))
    assert drawing.format == "SVG"
    assert codes(drawing) == ["wrong-ending"]
    drawing = read(write(tmp_path, dxf_text(CIRCLE), "part.svg"))
    assert codes(drawing) == ["wrong-ending"]


def test_a_compressed_svg_is_read_and_a_bomb_refused(tmp_path: Path) -> None:
    plain = svg("<rect width='5' height='5'/>").encode()
    assert len(read(write(tmp_path, gzip.compress(plain), "part.svgz")).strokes) == 1
    with pytest.raises(UnreadableFileError, match="unfolds to more"):
        read(write(tmp_path, gzip.compress(b" " * 100_000_001), "bomb.svgz"))
    with pytest.raises(UnreadableFileError, match="cut off"):
        read(write(tmp_path, gzip.compress(plain)[:40], "cut.svgz"))
