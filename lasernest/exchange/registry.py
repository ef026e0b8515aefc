"""Which drawings can be read, and the one function that reads them.

The kind of a file is told from its content; its ending only decides what a
message calls it. A picture, page or archive under a drawing's ending is
refused by name.
"""

from __future__ import annotations

import zlib
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path

from lasernest.domain.control import Control
from lasernest.domain.drawing import Drawing
from lasernest.domain.findings import Finding, Severity
from lasernest.errors import UnreadableFileError, Where
from lasernest.exchange.readers import dxf, svg
from lasernest.exchange.readers.dxf_tags import BINARY_SENTINEL
from lasernest.geometry.curves import CHORD_ERROR_MM
from lasernest.units import LengthUnit

Reader = Callable[..., Drawing]

READERS: dict[str, Reader] = {"dxf": dxf.read, "svg": svg.read}
"""Readers by format; each takes path and data, and by name control, unit, chord_error_mm."""

ENDINGS: dict[str, str] = {".dxf": "dxf", ".svg": "svg", ".svgz": "svg"}
"""Formats by file name ending, in lower case."""

BIGGEST_BYTES = 100_000_000

_STRANGERS: tuple[tuple[bytes, str], ...] = (
    (b"\x89PNG", "a PNG picture"),
    (b"\xff\xd8\xff", "a JPEG picture"),
    (b"GIF8", "a GIF picture"),
    (b"BM", "a BMP picture"),
    (b"II*\x00", "a TIFF picture"),
    (b"MM\x00*", "a TIFF picture"),
    (b"RIFF", "a picture or sound"),
    (b"%PDF", "a PDF document"),
    (b"%!PS", "a PostScript document"),
    (b"PK\x03\x04", "a ZIP archive"),
    (b"7z\xbc\xaf", "a 7z archive"),
    (b"AC10", "a DWG drawing"),
    (b"ISO-10303-21", "a STEP model"),
    (b"solid ", "an STL model"),
    (b"{", "a JSON file"),
)


def read_drawing(
    path: Path,
    *,
    control: Control,
    unit: LengthUnit | None = None,
    chord_error_mm: float = CHORD_ERROR_MM,
) -> Drawing:
    """Read a drawing from disk.

    Args:
        path: a DXF or SVG file.
        control: who watches.
        unit: the unit to take, whatever the file says.
        chord_error_mm: largest distance between drawn curves and the arcs for them.

    Raises:
        UnreadableFileError: no such file, no drawing, or a damaged one.
    """
    data = _bytes_of(path)
    wanted = ENDINGS.get(path.suffix.lower())
    found = _format_of(path, data)
    if found == "gzip":
        data = _unpacked(path, data)
        found = _format_of(path, data)
    reader = READERS[found]
    try:
        drawing = reader(path, data, control=control, unit=unit, chord_error_mm=chord_error_mm)
    except (RecursionError, MemoryError) as error:
        raise UnreadableFileError(
            "the drawing is nested deeper than can be read",
            where=Where(file=path),
            todo="Explode its blocks or groups in the drawing program.",
        ) from error
    if wanted is not None and wanted != found:
        note = Finding(
            Severity.NOTE,
            "wrong-ending",
            f"The file is called {path.suffix} but is {found.upper()}; it was read as that.",
        )
        drawing = replace(drawing, findings=(note, *drawing.findings))
    return drawing


def _bytes_of(path: Path) -> bytes:
    try:
        size = path.stat().st_size
        if path.is_dir():
            raise UnreadableFileError(
                "this is a folder, not a drawing",
                where=Where(file=path),
                todo="Name the drawings in it.",
            )
        if not path.is_file():  # a pipe or a device: reading could wait for ever
            raise UnreadableFileError(
                "this is no ordinary file", where=Where(file=path), todo="Name a drawing."
            )
        if size > BIGGEST_BYTES:
            raise UnreadableFileError(
                f"the file has {size / 1e6:.0f} MB, more than {BIGGEST_BYTES / 1e6:.0f} MB",
                where=Where(file=path),
                todo="Split the drawing or purge what is not needed from it.",
            )
        return path.read_bytes()
    except FileNotFoundError:
        raise UnreadableFileError(
            f"there is no file '{path}'", todo="Check the name and the folder."
        ) from None
    except OSError as error:
        raise UnreadableFileError(
            f"the file cannot be opened: {error.strerror or error}",
            where=Where(file=path),
            todo="Check that it may be read and is not in use.",
        ) from error


def _format_of(path: Path, data: bytes) -> str:
    head = data[:4096]
    if head.startswith(BINARY_SENTINEL):
        return "dxf"
    if head.startswith(b"\x1f\x8b"):
        return "gzip"
    text = head.lstrip(b"\xef\xbb\xbf \t\r\n")
    if not text:
        raise UnreadableFileError(
            "the file is empty", where=Where(file=path), todo="Export the drawing again."
        )
    for start, name in _STRANGERS:
        if head.startswith(start):
            raise _stranger(path, name)
    if text.startswith(b"<") or head.startswith((b"\xff\xfe<", b"\xfe\xff\x00<")):
        lowered = text.lower()
        if b"<!doctype html" in lowered or b"<html" in lowered:
            raise _stranger(path, "a web page")
        return "svg"
    if path.suffix.lower() in (".svg", ".svgz"):
        if text[:1].isdigit() and b"SECTION" in head:
            return "dxf"
        raise _stranger(path, "no SVG drawing")
    return "dxf"


def _stranger(path: Path, name: str) -> UnreadableFileError:
    return UnreadableFileError(
        f"this is {name}" if name.startswith("no ") else f"this is {name}, not a drawing to cut",
        where=Where(file=path),
        todo="Export the outlines as DXF or SVG.",
    )


def _unpacked(path: Path, data: bytes) -> bytes:
    try:
        unpacker = zlib.decompressobj(16 + zlib.MAX_WBITS)
        plain = unpacker.decompress(data, BIGGEST_BYTES)
    except zlib.error as error:
        raise UnreadableFileError(
            "the compressed file is damaged", where=Where(file=path), todo="Get a fresh copy."
        ) from error
    if unpacker.unconsumed_tail or not unpacker.eof:
        raise UnreadableFileError(
            "the compressed file is cut off or unfolds to more than can be read",
            where=Where(file=path),
            todo="Get a fresh copy, or export it uncompressed.",
        )
    return plain
