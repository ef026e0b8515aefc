"""The file around a PDF's pages: objects, cross-reference table, trailer.

The same content gives the same bytes: nothing here knows the time.

Source: ISO 32000-1, 7.5 (file structure), 7.7 (document structure).
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from enum import Enum

from lasernest.exchange.writers.pdf.operators import POINTS_PER_MM, number


class Paper(Enum):
    """Paper sizes, upright: width and height in mm. Sources: ISO 216; ANSI/ASME Y14.1."""

    A4 = (210.0, 297.0)
    A3 = (297.0, 420.0)
    LETTER = (215.9, 279.4)

    @property
    def width_mm(self) -> float:
        return self.value[0]

    @property
    def height_mm(self) -> float:
        return self.value[1]


@dataclass(frozen=True, slots=True)
class PdfPage:
    """One page: its size in mm and its content stream."""

    width_mm: float
    height_mm: float
    content: str


Font = Callable[[int], Sequence[bytes]]
"""From the number of its first object to the bodies of a font's objects."""


def stream(data: bytes, entries: str = "") -> bytes:
    """The body of a stream object."""
    head = f"<< /Length {len(data)}{' ' + entries if entries else ''} >>\nstream\n"
    return head.encode("latin-1") + data + b"\nendstream"


def pdf_bytes(
    pages: Sequence[PdfPage], fonts: Mapping[str, Font], *, title: str, scaled: bool
) -> bytes:
    """A whole file.

    Args:
        pages: in their order.
        fonts: by the name that pages use, such as `F1`; the first object is the font.
        title: a PDF string, brackets included.
        scaled: False asks printers for actual size.
    """
    numbers: dict[str, int] = {}
    bodies: list[bytes] = [b"", b""]
    for name, font in fonts.items():
        numbers[name] = len(bodies) + 1
        bodies += font(len(bodies) + 1)
    named = " ".join(f"/{name} {n} 0 R" for name, n in numbers.items())
    kids = []
    for page in pages:
        kids.append(len(bodies) + 1)
        box = " ".join(number(v * POINTS_PER_MM) for v in (page.width_mm, page.height_mm))
        bodies.append(
            f"<< /Type /Page /Parent 2 0 R /MediaBox [0 0 {box}] "
            f"/Resources << /Font << {named} >> >> /Contents {len(bodies) + 2} 0 R >>".encode()
        )
        bodies.append(stream(page.content.encode("latin-1")))
    bodies.append(f"<< /Title {title} >>".encode("latin-1"))
    scaling = "" if scaled else " /ViewerPreferences << /PrintScaling /None >>"
    bodies[0] = f"<< /Type /Catalog /Pages 2 0 R{scaling} >>".encode()
    listed = " ".join(f"{n} 0 R" for n in kids)
    bodies[1] = f"<< /Type /Pages /Kids [{listed}] /Count {len(kids)} >>".encode()
    return _assembled(bodies)


def _assembled(bodies: Sequence[bytes]) -> bytes:
    """Objects, cross-reference table and trailer; the last object tells the title."""
    out = bytearray(b"%PDF-1.6\n%\xe2\xe3\xcf\xd3\n")
    offsets = []
    for n, body in enumerate(bodies, start=1):
        offsets.append(len(out))
        out += f"{n} 0 obj\n".encode() + body + b"\nendobj\n"
    table = len(out)
    out += f"xref\n0 {len(bodies) + 1}\n0000000000 65535 f \n".encode()
    out += "".join(f"{offset:010d} 00000 n \n" for offset in offsets).encode()
    out += (
        f"trailer\n<< /Size {len(bodies) + 1} /Root 1 0 R /Info {len(bodies)} 0 R >>\n"
        f"startxref\n{table}\n%%EOF\n"
    ).encode()
    return bytes(out)
