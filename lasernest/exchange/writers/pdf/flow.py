"""Text that flows down pages: headings, facts in columns, lists, tables."""

from __future__ import annotations

from collections.abc import Sequence

from lasernest.domain.job_sheet import Fact
from lasernest.exchange.writers.pdf.page import DARK, LIGHT, Page, Pages, Side

EDGE_MM = 14.0
TOP_MM, BOTTOM_MM = 16.0, 16.0
LINE_MM = 4.4
SMALL_LINE_MM = 3.3
GUTTER_MM = 8.0
NAME_MM = 27.0
BODY_PT, SMALL_PT, HEAD_PT, TITLE_PT = 8.5, 6.8, 11.0, 18.0


class Flow:
    """A place on the pages that moves down as things are written."""

    def __init__(self, pages: Pages) -> None:
        self.pages = pages
        self.page: Page = pages.add()
        self.y_mm = TOP_MM

    @property
    def width_mm(self) -> float:
        return self.pages.width_mm - 2.0 * EDGE_MM

    @property
    def room_mm(self) -> float:
        """Height left on this page."""
        return self.pages.height_mm - BOTTOM_MM - self.y_mm

    def turn(self) -> None:
        """Go on at the top of a new page."""
        self.page = self.pages.add()
        self.y_mm = TOP_MM

    def need(self, height_mm: float) -> None:
        """Turn the page when there is less room than this."""
        if self.room_mm < height_mm:
            self.turn()

    def skip(self, height_mm: float) -> None:
        self.y_mm += height_mm

    def title(self, kind: str, title: str, below: str, *, room_mm: float) -> None:
        """The head of a paper: what it is, its title in large letters, when it was made."""
        self.page.text(kind, EDGE_MM, self.y_mm, size_pt=BODY_PT, grey=DARK)
        self.skip(8.0)
        for line in self.page.wrapped(title, room_mm, size_pt=TITLE_PT, strong=True)[:2]:
            self.page.text(line, EDGE_MM, self.y_mm, size_pt=TITLE_PT, strong=True)
            self.skip(7.5)
        self.page.text(below, EDGE_MM, self.y_mm, size_pt=BODY_PT, grey=DARK)

    def heading(self, words: str) -> None:
        """A heading, kept with what follows it."""
        self.need(4.0 * LINE_MM)
        self.y_mm += LINE_MM
        self.page.text(words, EDGE_MM, self.y_mm, size_pt=HEAD_PT, strong=True)
        self.y_mm += 2.0
        self.page.line(
            (EDGE_MM, self.y_mm), (EDGE_MM + self.width_mm, self.y_mm), width_mm=0.15, grey=LIGHT
        )
        self.y_mm += LINE_MM

    def paragraph(
        self, words: str, *, strong: bool = False, size_pt: float = BODY_PT, indent_mm: float = 0.0
    ) -> None:
        """Words over the whole width."""
        line_mm = LINE_MM * size_pt / BODY_PT
        for line in self.page.wrapped(
            words, self.width_mm - indent_mm, size_pt=size_pt, strong=strong
        ):
            self.need(line_mm)
            self.page.text(line, EDGE_MM + indent_mm, self.y_mm, size_pt=size_pt, strong=strong)
            self.y_mm += line_mm

    def list(self, items: Sequence[str], *, boxes: bool = False) -> None:
        """Items with a dash, or with boxes to tick and numbers."""
        indent = 10.0 if boxes else 4.0
        for number, item in enumerate(items, start=1):
            lines = self.page.wrapped(item, self.width_mm - indent, size_pt=BODY_PT)
            self.need(LINE_MM * len(lines))
            if boxes:
                self.page.box(EDGE_MM, self.y_mm - 2.5, 2.8, 2.8, edge=0.0, line_mm=0.2)
                self.page.text(
                    str(number), EDGE_MM + 8.0, self.y_mm, size_pt=BODY_PT, grey=DARK,
                    side=Side.RIGHT,
                )  # fmt: skip
            else:
                self.page.text("–", EDGE_MM, self.y_mm, size_pt=BODY_PT)
            for line in lines:
                self.page.text(line, EDGE_MM + indent, self.y_mm, size_pt=BODY_PT)
                self.y_mm += LINE_MM
            self.y_mm += 0.6

    def columns(self, columns: Sequence[tuple[str, Sequence[Fact]]]) -> None:
        """Groups of facts side by side, each under its title."""
        width = (self.width_mm - GUTTER_MM * (len(columns) - 1)) / len(columns)
        heights = [self._facts_height(facts, width) for _, facts in columns]
        self.need(min(max(heights) + 2.0 * LINE_MM, 120.0))
        top = self.y_mm
        ends = []
        for i, (title, facts) in enumerate(columns):
            left = EDGE_MM + i * (width + GUTTER_MM)
            y = top
            if title:
                y += LINE_MM
                self.page.text(title, left, y, size_pt=HEAD_PT, strong=True)
                self.page.line((left, y + 2.0), (left + width, y + 2.0), width_mm=0.15, grey=LIGHT)
                y += 2.0 + LINE_MM
            for fact in facts:
                y = self._fact(fact, left, y, width)
            ends.append(y)
        self.y_mm = max(ends)

    def _facts_height(self, facts: Sequence[Fact], width: float) -> float:
        return sum(
            LINE_MM * len(self._value_lines(fact, width))
            + SMALL_LINE_MM * len(self._basis_lines(fact, width))
            for fact in facts
        )

    def _value_lines(self, fact: Fact, width: float) -> Sequence[str]:
        room = width - NAME_MM
        return self.page.wrapped(fact.value, room, size_pt=BODY_PT, strong=True) or [""]

    def _basis_lines(self, fact: Fact, width: float) -> Sequence[str]:
        return self.page.wrapped(fact.rests_on, width - NAME_MM, size_pt=SMALL_PT)

    def _fact(self, fact: Fact, left: float, y: float, width: float) -> float:
        name = self.page.shortened(fact.name, NAME_MM - 1.0, size_pt=BODY_PT)
        self.page.text(name, left, y, size_pt=BODY_PT, grey=DARK)
        for line in self._value_lines(fact, width):
            self.page.text(line, left + NAME_MM, y, size_pt=BODY_PT, strong=True)
            y += LINE_MM
        basis = self._basis_lines(fact, width)
        if basis:
            y -= LINE_MM - SMALL_LINE_MM
            for line in basis:
                self.page.text(line, left + NAME_MM, y, size_pt=SMALL_PT, grey=DARK)
                y += SMALL_LINE_MM
            y += LINE_MM - SMALL_LINE_MM
        return y

    def table(
        self,
        head: Sequence[str],
        rows: Sequence[Sequence[str]],
        *,
        shares: Sequence[float],
        strong_values: bool = False,
    ) -> None:
        """A table; the first column is to the left, the others to the right.

        Args:
            head: titles of the columns; repeated at the top of a new page.
            rows: their cells.
            shares: of the width, summing to 1.
            strong_values: all but the first column in the strong weight.
        """
        self._row(head, shares, strong=True, small=True)
        for row in rows:
            if self.room_mm < LINE_MM:
                self.turn()
                self._row(head, shares, strong=True, small=True)
            self._row(row, shares, strong=strong_values)

    def _row(
        self, cells: Sequence[str], shares: Sequence[float], *, strong: bool, small: bool = False
    ) -> None:
        size = SMALL_PT + 0.7 if small else BODY_PT
        left = EDGE_MM
        for i, (cell, share) in enumerate(zip(cells, shares, strict=True)):
            width = share * self.width_mm
            bold = strong and (small or i > 0)
            words = self.page.shortened(cell, width - 2.0, size_pt=size, strong=bold)
            at, side = (left, Side.LEFT) if i == 0 else (left + width, Side.RIGHT)
            self.page.text(
                words, at, self.y_mm, size_pt=size, strong=bold, side=side,
                grey=DARK if small else 0.0,
            )  # fmt: skip
            left += width
        below = self.y_mm + 1.5
        self.page.line((EDGE_MM, below), (EDGE_MM + self.width_mm, below), width_mm=0.1, grey=LIGHT)
        self.y_mm += LINE_MM + 1.0


def put_feet(pages: Pages, left: str, middle: str = "") -> None:
    """What the foot of every page says, and which page it is."""
    y, room_mm = pages.height_mm - 8.0, 90.0 if middle else 120.0
    for number, page in enumerate(pages.pages, start=1):
        words = page.shortened(left, room_mm, size_pt=SMALL_PT)
        page.text(words, EDGE_MM, y, size_pt=SMALL_PT, grey=DARK)
        if middle:
            at = pages.width_mm / 2
            page.text(middle, at, y, size_pt=SMALL_PT, grey=DARK, side=Side.MIDDLE)
        page.text(
            f"page {number} of {len(pages.pages)}", pages.width_mm - EDGE_MM, y,
            size_pt=SMALL_PT, grey=DARK, side=Side.RIGHT,
        )  # fmt: skip
