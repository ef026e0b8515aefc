"""The shipped typeface in a PDF: measured, cut down to the letters used, embedded.

Names may be in any of the alphabets that the typeface knows (Latin, Greek,
Cyrillic). A letter it lacks shows as an empty box, so that its absence is
seen. All digits are equally wide, so that columns of figures line up.

Source: ISO 32000-1, 9.7 (composite fonts), 9.9 (embedding), 9.10.3 (text that
can be searched and copied).
"""

from __future__ import annotations

import io
import zlib
from collections.abc import Mapping, Sequence
from functools import cached_property
from pathlib import Path
from typing import Any

from fontTools import subset
from fontTools.ttLib import TTFont

from lasernest.exchange.writers.pdf.file import stream
from lasernest.resources import resource

REGULAR_FILE, STRONG_FILE = "fonts/Inter-Regular.otf", "fonts/Inter-SemiBold.otf"
_PER_EM = 1000.0
"""A PDF's font units."""
_RUN = 100
"""The most entries of one block of a character map."""


class Typeface:
    """One weight, and the letters that a document has used of it."""

    def __init__(self, path: Path) -> None:
        self._data = path.read_bytes()
        font: Any = TTFont(io.BytesIO(self._data), lazy=True)
        even = _even_digits(font)
        self._glyphs: dict[int, str] = {
            sign: even.get(name, name) for sign, name in font.getBestCmap().items()
        }
        self._numbers: Mapping[str, int] = font.getReverseGlyphMap()
        self._widths: Mapping[str, tuple[int, int]] = font["hmtx"].metrics
        self._unit: float = _PER_EM / font["head"].unitsPerEm
        self._name: str = font["name"].getDebugName(6)
        head = font["head"]
        self._box = [self._unit * v for v in (head.xMin, head.yMin, head.xMax, head.yMax)]
        self.cap_height: float = self._unit * font["OS/2"].sCapHeight / _PER_EM
        """Height of capitals over the size of the type."""
        self._used: dict[int, str] = {}

    @classmethod
    def regular(cls) -> Typeface:
        return cls(resource(REGULAR_FILE))

    @classmethod
    def strong(cls) -> Typeface:
        return cls(resource(STRONG_FILE))

    def width(self, words: str) -> float:
        """Width of a line over the size of the type."""
        return sum(self._width(self._glyph(sign)) for sign in words) / _PER_EM

    def shown(self, words: str) -> str:
        """A line as the string that shows it; `objects` then holds its letters."""
        numbers = []
        for sign in words:
            number = self._numbers[self._glyph(sign)]
            self._used.setdefault(number, sign)
            numbers.append(number)
        return "<" + "".join(f"{number:04X}" for number in numbers) + ">"

    def objects(self, first: int) -> Sequence[bytes]:
        """The font's objects, with the letters shown so far only; `first` is their number."""
        used = dict(sorted(self._used.items()))
        names = self._names
        widths = " ".join(f"{n} [{self._width(names[n]):.0f}]" for n in used)
        base = f"LASERN+{self._name}"
        box = " ".join(f"{v:.0f}" for v in self._box)
        return (
            f"<< /Type /Font /Subtype /Type0 /BaseFont /{base} /Encoding /Identity-H "
            f"/DescendantFonts [{first + 1} 0 R] /ToUnicode {first + 4} 0 R >>".encode(),
            f"<< /Type /Font /Subtype /CIDFontType0 /BaseFont /{base} /CIDSystemInfo "
            "<< /Registry (Adobe) /Ordering (Identity) /Supplement 0 >> "
            f"/FontDescriptor {first + 2} 0 R /DW 1000 /W [{widths}] >>".encode(),
            f"<< /Type /FontDescriptor /FontName /{base} /Flags 4 /FontBBox [{box}] "
            f"/ItalicAngle 0 /Ascent {self._box[3]:.0f} /Descent {self._box[1]:.0f} "
            f"/CapHeight {self.cap_height * _PER_EM:.0f} /StemV 80 "
            f"/FontFile3 {first + 3} 0 R >>".encode(),
            stream(
                zlib.compress(self._program(list(used)), 9),
                "/Subtype /CIDFontType0C /Filter /FlateDecode",
            ),
            stream(_unicode_map(used)),
        )

    @cached_property
    def _names(self) -> dict[int, str]:
        return {number: name for name, number in self._numbers.items()}

    def _glyph(self, sign: str) -> str:
        return self._glyphs.get(ord(sign), ".notdef")

    def _width(self, glyph: str) -> float:
        return self._unit * self._widths[glyph][0]

    def _program(self, numbers: list[int]) -> bytes:
        """The outlines of some glyphs; they keep their numbers, the others are emptied."""
        font: Any = TTFont(io.BytesIO(self._data), recalcTimestamp=False)
        choices: Any = subset.Options(
            retain_gids=True, layout_features=[], notdef_outline=True, hinting=False
        )
        cutter: Any = subset.Subsetter(choices)
        cutter.populate(gids=numbers)
        cutter.subset(font)
        saved = io.BytesIO()
        font.save(saved)
        program: bytes = TTFont(io.BytesIO(saved.getvalue())).getTableData("CFF ")
        return program


def _even_digits(font: Any) -> dict[str, str]:
    """From each digit to its form of common width, where the typeface has them."""
    table = font["GSUB"].table
    for feature in table.FeatureList.FeatureRecord:
        if feature.FeatureTag == "tnum":
            found: dict[str, str] = {}
            for index in feature.Feature.LookupListIndex:
                for lookup in table.LookupList.Lookup[index].SubTable:
                    found |= getattr(getattr(lookup, "ExtSubTable", lookup), "mapping", {})
            cmap = font.getBestCmap()
            return {cmap[ord(d)]: found.get(cmap[ord(d)], cmap[ord(d)]) for d in "0123456789"}
    return {}


def _unicode_map(used: Mapping[int, str]) -> bytes:
    """From glyph numbers back to letters."""
    pairs = [f"<{n:04X}> <{sign.encode('utf-16-be').hex().upper()}>" for n, sign in used.items()]
    blocks = [pairs[i : i + _RUN] for i in range(0, len(pairs), _RUN)]
    lines = [
        "/CIDInit /ProcSet findresource begin 12 dict begin begincmap",
        "/CIDSystemInfo << /Registry (Adobe) /Ordering (UCS) /Supplement 0 >> def",
        "/CMapName /Adobe-Identity-UCS def /CMapType 2 def",
        "1 begincodespacerange <0000> <FFFF> endcodespacerange",
    ]
    for block in blocks:
        lines += [f"{len(block)} beginbfchar", *block, "endbfchar"]
    lines.append("endcmap CMapName currentdict /CMap defineresource pop end end")
    return "\n".join(lines).encode()
