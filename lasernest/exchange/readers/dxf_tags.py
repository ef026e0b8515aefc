"""The tags of a DXF file: split, checked and handed out record by record.

A general DXF loader may hide damage: skip a line, invent a unit, return an
empty drawing for a file that was cut off. An expensive sheet hangs on the
numbers, so here every value that is used is checked, what is damaged is
refused with its line, and what is merely odd is put straight and told.

Terms: a *tag* is a group code and its value, two lines of text; a *record* is
the run of tags from one group 0 to the next. Source: the published DXF
reference, "DXF file structure" and "Group codes". ezdxf serves for binary
files, code pages, colours and coordinate systems; the tests hold this reader
against ezdxf's own loader.

Cost: less than half of what ezdxf needs to load the same file.
"""

from __future__ import annotations

import codecs
import math
import re
import struct
from dataclasses import dataclass, field
from pathlib import Path

from ezdxf.lldxf.const import DXFError
from ezdxf.lldxf.tagger import binary_tags_loader
from ezdxf.tools.codepage import toencoding

from lasernest.errors import UnreadableFileError, Where

BINARY_SENTINEL = b"AutoCAD Binary DXF\r\n\x1a\x00"

Value = float | int | str
Groups = dict[int, list[Value]]
"""Values of a record by group code, in file order."""

_BIGGEST = 1e15
_ESCAPED = re.compile(r"\\U\+([0-9A-Fa-f]{4})")
"""How text of files before 2007 writes what its code page lacks."""
_PAGES = {
    "mac-roman": "mac_roman",
    "ksc5601": "cp949",
    **{name: name for name in ("big5", "gb2312", "johab")},
}
_SEND_AGAIN = "Export the drawing again, or get a fresh copy of the file."


@dataclass(slots=True)
class Tags:
    """All tags of a file in order."""

    path: Path
    codes: list[int]
    values: list[str]
    binary: bool

    def line(self, index: int) -> int | None:
        """Line number of a tag's value, from one; None in a binary file."""
        return None if self.binary else 2 * index + 2

    def refuse(self, index: int, what: str, todo: str = _SEND_AGAIN) -> UnreadableFileError:
        """The error to raise about this tag."""
        return UnreadableFileError(
            what, where=Where(file=self.path, line=self.line(index)), todo=todo
        )


@dataclass(slots=True)
class Structure:
    """Where the records of a DXF file lie, and what they are."""

    tags: Tags
    header: dict[str, str] = field(default_factory=dict)
    tables: list[int] = field(default_factory=list)
    """Positions in `starts` of the records in the TABLES section."""
    blocks: list[int] = field(default_factory=list)
    entities: list[int] = field(default_factory=list)
    starts: list[int] = field(default_factory=list)
    """Index of the first tag of each record, and one past the end."""
    clips: int = 0
    """Block references of which a boundary shows only a part."""
    missing_end: bool = False
    """The end marker, or one of a section, was missing though nothing else was."""
    emptied: list[int] = field(default_factory=list)
    """Indices of whole numbers that were left empty and taken as 0."""

    def record(self, position: int) -> range:
        """Indices of the tags of a record."""
        return range(self.starts[position], self.starts[position + 1])

    def followers(self, position: int, kind: str) -> list[int]:
        """Positions of the records of this kind right after a record."""
        last = position + 1
        while last + 1 < len(self.starts) and self.kind(last) == kind:
            last += 1
        return list(range(position + 1, last))

    def kind(self, position: int) -> str:
        return self.tags.values[self.starts[position]].strip().upper()

    def first(self, position: int, code: int) -> str | None:
        """The first value of a group in a record."""
        tags = self.tags
        for i in self.record(position):
            if tags.codes[i] == code:
                return tags.values[i].strip()
        return None


def read_tags(path: Path, data: bytes) -> Tags:
    """Split a file into tags.

    Raises:
        UnreadableFileError: it is no DXF file, or a group code is none.
    """
    if data.startswith(BINARY_SENTINEL):
        return _read_binary(path, data)
    if b"\x00" in data:
        line = len(data[: data.index(b"\x00")].splitlines()) or 1
        raise UnreadableFileError(
            "there are NUL bytes in the text, so the file is damaged",
            where=Where(file=path, line=line),
            todo=_SEND_AGAIN,
        )
    text = _decoded(data).replace("\r\r\n", "\n").replace("\r\n", "\n").replace("\r", "\n")
    lines = text.split("\n")
    while lines and not lines[-1].strip():
        lines.pop()
    raw_codes, values = lines[0::2], lines[1::2]
    end = next(
        (
            i
            for i, value in enumerate(values)
            if value.strip() == "EOF" and raw_codes[i].strip() == "0"
        ),
        None,
    )
    if end is not None:
        raw_codes, values = raw_codes[: end + 1], values[: end + 1]
    known: dict[str, int] = {}
    for raw in dict.fromkeys(raw_codes):
        try:
            code = int(raw)
        except ValueError:
            code = 9999
        if not -5 <= code <= 1071:
            line = 2 * raw_codes.index(raw) + 1
            raise UnreadableFileError(
                f"a group code should stand here, not '{_shortened(raw)}'",
                where=Where(file=path, line=line),
                todo=f"The file is damaged or is no DXF drawing. {_SEND_AGAIN}",
            )
        known[raw] = code
    codes = [known[raw] for raw in raw_codes]
    if len(codes) > len(values):
        codes.pop()
    return Tags(path, codes, values, binary=False)


def _decoded(data: bytes) -> str:
    if data.startswith(b"\xef\xbb\xbf"):
        data = data[3:]
    try:
        text = data.decode("utf-8")
    except UnicodeDecodeError:
        page = re.search(rb"\$DWGCODEPAGE\s+3\s+(\S+)", data[:65536])
        encoding = _encoding_of(page[1].decode("ascii", "ignore")) if page else "cp1252"
        text = data.decode(encoding, errors="replace")
    return _ESCAPED.sub(_unescaped, text) if "\\U+" in text else text


def _encoding_of(page: str) -> str:
    """Python's name of a code page as DXF files call it: ANSI_1252, dos850, 8859_1, gb2312."""
    page = page.lower()
    dos = re.fullmatch(r"(?:dos|cp)_?(\d+)", page)
    iso = re.fullmatch(r"(?:iso[-_]?)?8859[-_](\d+)", page)
    found = f"cp{dos[1]}" if dos else f"iso8859-{iso[1]}" if iso else _PAGES.get(page)
    if found is None:
        return str(toencoding(page))
    try:
        return codecs.lookup(found).name
    except LookupError:
        return "cp1252"


def _unescaped(found: re.Match[str]) -> str:
    """The character behind `\\U+00DF`; what would break lines stays as it is."""
    character = chr(int(found[1], 16))
    return character if character.isprintable() else found[0]


def _read_binary(path: Path, data: bytes) -> Tags:
    codes: list[int] = []
    values: list[str] = []
    try:
        for tag in binary_tags_loader(data, errors="replace"):
            value = tag.value
            codes.append(tag.code)
            if isinstance(value, float):
                values.append(repr(value))
            else:
                values.append("" if isinstance(value, bytes) else str(value))
    except (DXFError, struct.error, IndexError, ValueError, LookupError) as error:
        raise UnreadableFileError(
            "the binary DXF file is cut off or damaged", where=Where(file=path), todo=_SEND_AGAIN
        ) from error
    return Tags(path, codes, values, binary=True)


def structure_of(tags: Tags) -> Structure:
    """Find the sections and records of a DXF file.

    Raises:
        UnreadableFileError: no DXF file, cut off midway, or without a drawing.
    """
    found = Structure(tags)
    codes, values = tags.codes, tags.values
    found.starts = [i for i, code in enumerate(codes) if code == 0]
    kinds = [values[i].strip() for i in found.starts]
    if "SECTION" not in kinds:
        raise tags.refuse(0, "this is no DXF drawing: it has no sections")
    found.starts.append(len(codes))
    ended = kinds[-1] == "EOF"
    section: str | None = None
    seen: set[str] = set()
    for position, kind in enumerate(kinds):
        if kind == "SECTION":
            if section is not None:
                found.missing_end = True
            section = (found.first(position, 2) or "").upper()
            seen.add(section)
            if section == "HEADER":
                _read_header(found, position)
        elif kind == "ENDSEC":
            section = None
        elif kind == "EOF":
            break
        elif section == "ENTITIES":
            found.entities.append(position)
        elif section == "BLOCKS":
            found.blocks.append(position)
        elif section == "TABLES":
            found.tables.append(position)
        elif kind == "SPATIAL_FILTER" and (found.first(position, 71) or "1").strip() != "0":
            found.clips += 1
    if section is not None and not ended:
        raise tags.refuse(
            max(0, len(codes) - 1),
            f"the file breaks off inside its {section or 'unnamed'} section",
            f"Part of the drawing is missing. {_SEND_AGAIN}",
        )
    if "ENTITIES" not in seen:
        raise tags.refuse(
            max(0, len(codes) - 1),
            "the file has no ENTITIES section, so there is no drawing in it",
        )
    found.missing_end = found.missing_end or not ended or section is not None
    return found


def _read_header(found: Structure, position: int) -> None:
    tags = found.tags
    record = found.record(position)
    for i in record:
        if tags.codes[i] == 9 and i + 1 in record:
            found.header.setdefault(tags.values[i].strip().upper(), tags.values[i + 1].strip())


def groups_of(structure: Structure, position: int, wanted: frozenset[int]) -> Groups:
    """The values of the wanted groups of a record, as numbers and text, in file order.

    Bracketed application data (group 102) and extended data (from group 1000)
    are passed over.

    Raises:
        UnreadableFileError: a number is none, or is not finite.
    """
    tags = structure.tags
    codes, values = tags.codes, tags.values
    groups: Groups = {}
    bracketed = False
    for i in range(structure.starts[position] + 1, structure.starts[position + 1]):
        code = codes[i]
        if code == 102:
            bracketed = not bracketed
        elif code >= 1000 or code == 101:
            break
        elif code in wanted and not bracketed:
            value: Value
            if 10 <= code <= 59 or 210 <= code <= 239:
                try:
                    value = float(values[i])
                except ValueError:
                    value = math.nan
                if not -_BIGGEST < value < _BIGGEST:
                    raise _no_number(tags, i)
            elif code >= 60:
                try:
                    value = int(values[i])
                except ValueError:
                    value = _mended_whole(structure, i)
            else:
                value = values[i].strip()
            if code in groups:
                groups[code].append(value)
            else:
                groups[code] = [value]
    return groups


def vertex_bulges(structure: Structure, position: int) -> list[float]:
    """The bulge (group 42) of each vertex of an LWPOLYLINE, 0 where it has none.

    A bulge belongs to the vertex (group 10) before it. Passes over what
    `groups_of` passes over, which also checks the numbers.
    """
    tags = structure.tags
    bulges: list[float] = []
    early = 0.0
    bracketed = False
    for i in range(structure.starts[position] + 1, structure.starts[position + 1]):
        code = tags.codes[i]
        if code == 102:
            bracketed = not bracketed
        elif code >= 1000 or code == 101:
            break
        elif bracketed:
            continue
        elif code == 10:
            bulges.append(early)
            early = 0.0
        elif code == 42 and bulges:
            bulges[-1] = float(tags.values[i])
        elif code == 42:
            early = float(tags.values[i])
    return bulges


def _no_number(tags: Tags, index: int) -> UnreadableFileError:
    value = tags.values[index]
    shown = _shortened(value)
    if re.fullmatch(r"\s*[-+]?\d*,\d+\s*", value):
        return tags.refuse(
            index,
            f"'{shown}' has a decimal comma, which DXF does not know",
            "Export the drawing again with decimal points.",
        )
    return tags.refuse(index, f"a finite number should stand here, not '{shown}'")


def _mended_whole(structure: Structure, index: int) -> int:
    """A whole number written as nothing or as 1.0; anything else is refused."""
    tags = structure.tags
    value = tags.values[index].strip()
    if not value:
        structure.emptied.append(index)
        # A colour left empty is the layer's, anything else is off.
        return 256 if tags.codes[index] == 62 else 0
    try:
        number = float(value)
        if number == int(number):
            return int(number)
    except (ValueError, OverflowError):
        pass
    raise tags.refuse(index, f"a whole number should stand here, not '{_shortened(value)}'")


def _shortened(text: str) -> str:
    text = text.strip()
    return text if len(text) <= 40 else text[:37] + "..."
