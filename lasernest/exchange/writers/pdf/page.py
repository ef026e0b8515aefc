"""A page to draw on, in millimetres from its upper left corner, y down.

Print in black and white is meant: greys, line kinds and hatches, no colours.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator, Sequence
from contextlib import contextmanager
from dataclasses import dataclass
from enum import Enum

from lasernest.domain.contours import Contour
from lasernest.exchange.writers.pdf.file import Paper, PdfPage, pdf_bytes
from lasernest.exchange.writers.pdf.operators import POINTS_PER_MM, number, path_of, text_string
from lasernest.exchange.writers.pdf.typeface import Typeface

BLACK, DARK, MIDDLE, LIGHT, PALE = 0.0, 0.3, 0.5, 0.78, 0.93
"""Greys, 0 black to 1 white; DARK is the palest that text is set in."""
MM_PER_PT = 1.0 / POINTS_PER_MM


class Side(Enum):
    """Where a line of text lies to the place it is given."""

    LEFT = 0.0
    MIDDLE = 0.5
    RIGHT = 1.0


@dataclass(frozen=True, slots=True)
class Frame:
    """How a drawing lies on a page: its zero, and millimetres of paper for one of its own."""

    left_mm: float
    bottom_mm: float
    """Of the drawing's zero, from the top of the page."""
    scale: float

    def place(self, x_mm: float, y_mm: float) -> tuple[float, float]:
        """The place on the page of a point of the drawing."""
        return (self.left_mm + self.scale * x_mm, self.bottom_mm - self.scale * y_mm)


class Pages:
    """A document that is being drawn."""

    def __init__(self, title: str, paper: Paper) -> None:
        self.title = title
        self.width_mm, self.height_mm = paper.width_mm, paper.height_mm
        self.regular, self.strong = Typeface.regular(), Typeface.strong()
        self.pages: list[Page] = []

    def add(self) -> Page:
        """A new page at the end."""
        self.pages.append(Page(self))
        return self.pages[-1]

    def bytes(self) -> bytes:
        """The file."""
        pages = [PdfPage(self.width_mm, self.height_mm, page.content()) for page in self.pages]
        fonts = {"R": self.regular.objects, "S": self.strong.objects}
        return pdf_bytes(pages, fonts, title=text_string(self.title), scaled=True)


class Page:
    """One page."""

    def __init__(self, document: Pages) -> None:
        self._document = document
        self._lines: list[str] = []

    def content(self) -> str:
        scale = number(POINTS_PER_MM, 12)
        return "\n".join(["q", f"{scale} 0 0 {scale} 0 0 cm", *self._lines, "Q", ""])

    def width_mm(self, words: str, *, size_pt: float, strong: bool = False) -> float:
        """Width of a line of text."""
        return self._face(strong=strong).width(words) * size_pt * MM_PER_PT

    def cap_mm(self, size_pt: float) -> float:
        """Height of capitals."""
        return self._document.regular.cap_height * size_pt * MM_PER_PT

    def text(
        self,
        words: str,
        x_mm: float,
        y_mm: float,
        *,
        size_pt: float = 9.0,
        strong: bool = False,
        grey: float = BLACK,
        side: Side = Side.LEFT,
    ) -> None:
        """A line of text; y is its baseline."""
        face = self._face(strong=strong)
        size_mm = size_pt * MM_PER_PT
        left_mm = x_mm - side.value * face.width(words) * size_mm
        self._lines.append(
            f"{number(grey, 3)} g BT /{'S' if strong else 'R'} {number(size_mm)} Tf "
            f"{self._at(left_mm, y_mm)} Td {face.shown(words)} Tj ET"
        )

    def wrapped(
        self, words: str, width_mm: float, *, size_pt: float = 9.0, strong: bool = False
    ) -> list[str]:
        """Words broken into lines of a width, not at no-break spaces; a wider word is cut."""
        lines: list[str] = []
        line = ""
        for word in filter(None, words.replace("\n", " ").split(" ")):
            longer = f"{line} {word}" if line else word
            if self.width_mm(longer, size_pt=size_pt, strong=strong) <= width_mm:
                line = longer
                continue
            if line:
                lines.append(line)
            line = word
            while self.width_mm(line, size_pt=size_pt, strong=strong) > width_mm:
                fits = len(line) - 1
                while fits > 1 and (
                    self.width_mm(line[:fits], size_pt=size_pt, strong=strong) > width_mm
                ):
                    fits -= 1
                lines.append(line[: max(1, fits)])
                line = line[max(1, fits) :]
        return [*lines, line] if line else lines

    def shortened(
        self, words: str, width_mm: float, *, size_pt: float = 9.0, strong: bool = False
    ) -> str:
        """Words cut with an ellipsis where they are wider."""
        if self.width_mm(words, size_pt=size_pt, strong=strong) <= width_mm:
            return words
        while words and self.width_mm(words + "…", size_pt=size_pt, strong=strong) > width_mm:
            words = words[:-1]
        return words.rstrip() + "…"

    def line(
        self,
        start: tuple[float, float],
        end: tuple[float, float],
        *,
        width_mm: float = 0.2,
        grey: float = BLACK,
    ) -> None:
        self._lines.append(
            f"{number(grey, 3)} G {number(width_mm)} w {self._at(*start)} m {self._at(*end)} l S"
        )

    def box(
        self,
        left_mm: float,
        top_mm: float,
        width_mm: float,
        height_mm: float,
        *,
        fill: float | None = None,
        edge: float | None = None,
        line_mm: float = 0.2,
    ) -> None:
        """A rectangle, filled, edged or both."""
        paint = {(True, False): "f", (False, True): "S", (True, True): "B"}[
            (fill is not None, edge is not None)
        ]
        colours = "".join(
            f"{number(grey, 3)} {operator} "
            for grey, operator in ((fill, "g"), (edge, "G"))
            if grey is not None
        )
        rectangle = self._rectangle(left_mm, top_mm, width_mm, height_mm)
        self._lines.append(f"{colours}{number(line_mm)} w {rectangle} re {paint}")

    def hatch(
        self,
        left_mm: float,
        top_mm: float,
        width_mm: float,
        height_mm: float,
        *,
        step_mm: float,
        turn_deg: float = 45.0,
        grey: float = BLACK,
        line_mm: float = 0.15,
    ) -> None:
        """A rectangle filled with slanted lines."""
        self._lines += [
            "q",
            f"{self._rectangle(left_mm, top_mm, width_mm, height_mm)} re W n",
            f"{number(grey, 3)} G {number(line_mm)} w",
        ]
        cos, sin = math.cos(math.radians(turn_deg)), math.sin(math.radians(turn_deg))
        reach = math.hypot(width_mm, height_mm)
        middle = (left_mm + 0.5 * width_mm, top_mm + 0.5 * height_mm)
        for i in range(-math.ceil(reach / step_mm / 2), math.ceil(reach / step_mm / 2) + 1):
            x, y = middle[0] + i * step_mm * sin, middle[1] + i * step_mm * cos
            start, end = (x - reach * cos, y + reach * sin), (x + reach * cos, y - reach * sin)
            self._lines.append(f"{self._at(*start)} m {self._at(*end)} l S")
        self._lines.append("Q")

    def blocks(self, cells: Iterable[tuple[float, float, float]], *, height_mm: float) -> None:
        """Black blocks, each from a left and a top and so wide, such as those of a code."""
        self._lines.append("0 g")
        for left, top, width in cells:
            self._lines.append(f"{self._rectangle(left, top, width, height_mm)} re")
        self._lines.append("f")

    @contextmanager
    def drawing(self, frame: Frame) -> Iterator[None]:
        """What is drawn within lies in the frame's millimetres, y up."""
        scale = number(frame.scale, 9)
        self._lines += ["q", f"{scale} 0 0 {scale} {self._at(frame.left_mm, frame.bottom_mm)} cm"]
        yield
        self._lines.append("Q")

    def contours(
        self,
        contours: Sequence[Contour],
        *,
        width_mm: float,
        grey: float = BLACK,
        dashes_mm: Sequence[float] = (),
        fill: float | None = None,
    ) -> None:
        """Contours of a drawing; widths and dashes are in its own millimetres."""
        if not contours:
            return
        self._lines.append(
            f"{number(grey, 3)} G {number(width_mm)} w 1 J 1 j "
            f"[{' '.join(number(d) for d in dashes_mm)}] 0 d"
        )
        if fill is not None:
            self._lines.append(f"{number(fill, 3)} g")
        for contour in contours:
            self._lines += [*path_of(contour), "S" if fill is None else "B"]
        self._lines.append("[] 0 d 0 J 0 j")

    def _face(self, *, strong: bool) -> Typeface:
        return self._document.strong if strong else self._document.regular

    def _at(self, x_mm: float, y_mm: float) -> str:
        return f"{number(x_mm)} {number(self._document.height_mm - y_mm)}"

    def _rectangle(self, left: float, top: float, width: float, height: float) -> str:
        return f"{self._at(left, top + height)} {number(width)} {number(height)}"
