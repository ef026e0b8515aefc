"""Paper templates: panels at full size on the printer's paper, tiled where they are larger.

Each page has a check line of 100 mm: only a page on which it measures 100 mm
is true. Tiles overlap by `OVERLAP_MM` and show where they join. Pages hold the
*finished* size, not the cut path.

PDF by hand, as the little that is needed is: lines, cubic curves, two of the
fonts every reader has. The same panels give the same bytes.

Source: ISO 32000-1, 8.3 (user space: 1/72 inch), 8.5 (paths), 9.6.2.2 (fonts).
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from pathlib import Path

from lasernest.domain.contours import Bounds
from lasernest.domain.panels import Panel
from lasernest.errors import BadValueError
from lasernest.exchange.writers.pdf.file import Paper, PdfPage, pdf_bytes
from lasernest.exchange.writers.pdf.operators import POINTS_PER_MM, number, path_of, string
from lasernest.files import write_atomically

CHECK_LINE_MM = 100.0
OVERLAP_MM = 10.0
EDGE_MM = 10.0
"""Kept free on every side: printers cannot reach the edge of the paper."""
FOOT_MM = 16.0
"""For the check line and the page's name."""
RIM_MM = 0.5
MOST_PAGES = 400


@dataclass(frozen=True, slots=True)
class _Tile:
    """One page: the part of the drawing it shows, and its place among the pages."""

    x_mm: float
    y_mm: float
    column: int
    row: int


@dataclass(frozen=True, slots=True)
class _Layout:
    """Pages of one size that cover the drawing."""

    page_width_mm: float
    page_height_mm: float
    columns: int
    rows: int

    @property
    def tile_width_mm(self) -> float:
        return self.page_width_mm - 2.0 * EDGE_MM

    @property
    def tile_height_mm(self) -> float:
        return self.page_height_mm - 2.0 * EDGE_MM - FOOT_MM


def write_template_pdf(
    panels: Sequence[Panel], path: Path, *, title: str, paper: Paper = Paper.A4
) -> int:
    """Write panels at full size.

    Args:
        panels: where they lie; a sheet plan's posed panels, or one panel.
        path: the file to make or replace; it is never left half written.
        title: stands on every page.
        paper: the printer's.

    Returns:
        The number of pages.

    Raises:
        BadValueError: no panels, or more than `MOST_PAGES` pages.
        UnwritableFileError: the file cannot be written there.
    """
    pages = _pages(panels, title, paper)
    write_atomically(path, _document(pages, title))
    return len(pages)


def template_pdf(panels: Sequence[Panel], *, title: str, paper: Paper = Paper.A4) -> bytes:
    """The template's bytes; see `write_template_pdf`.

    Raises:
        BadValueError: no panels, or more than `MOST_PAGES` pages.
    """
    return _document(_pages(panels, title, paper), title)


def _pages(panels: Sequence[Panel], title: str, paper: Paper) -> list[PdfPage]:
    if not panels:
        raise BadValueError("there are no panels for a template", todo="Choose one or more.")
    boxes = [panel.bounds_mm() for panel in panels]
    # The rim keeps lines on the very edge from being clipped to half their width.
    x0, y0 = (min(box[i] for box in boxes) - RIM_MM for i in (0, 1))
    x1, y1 = (max(box[i] for box in boxes) + RIM_MM for i in (2, 3))
    layout = _layout(x1 - x0, y1 - y0, paper)
    if layout.columns * layout.rows > MOST_PAGES:
        raise BadValueError(
            f"a template of {x1 - x0:.0f} x {y1 - y0:.0f} mm would take "
            f"{layout.columns * layout.rows} pages",
            todo="Print fewer panels, or larger paper.",
        )
    tiles = [
        _Tile(
            x0 + column * (layout.tile_width_mm - OVERLAP_MM),
            y1 - layout.tile_height_mm - row * (layout.tile_height_mm - OVERLAP_MM),
            column,
            row,
        )
        for row in range(layout.rows)
        for column in range(layout.columns)
    ]
    shown = [(tile, _on(tile, layout, panels, boxes)) for tile in tiles]
    filled = [(tile, there) for tile, there in shown if there]
    return [
        PdfPage(
            layout.page_width_mm,
            layout.page_height_mm,
            _content(tile, layout, there, f"{title}: page {page} of {len(filled)}"),
        )
        for page, (tile, there) in enumerate(filled, start=1)
    ]


def _layout(width_mm: float, height_mm: float, paper: Paper) -> _Layout:
    """Fewest pages, upright where both ways take as many."""

    def laid(page_width: float, page_height: float) -> _Layout:
        one = _Layout(page_width, page_height, 1, 1)
        columns = _count(width_mm, one.tile_width_mm)
        return _Layout(page_width, page_height, columns, _count(height_mm, one.tile_height_mm))

    upright = laid(paper.width_mm, paper.height_mm)
    across = laid(paper.height_mm, paper.width_mm)
    return min(upright, across, key=lambda layout: layout.columns * layout.rows)


def _count(size_mm: float, tile_mm: float) -> int:
    return max(1, math.ceil((size_mm - OVERLAP_MM) / (tile_mm - OVERLAP_MM) - 1e-9))


def _on(
    tile: _Tile, layout: _Layout, panels: Sequence[Panel], boxes: Sequence[Bounds]
) -> list[Panel]:
    x1, y1 = tile.x_mm + layout.tile_width_mm, tile.y_mm + layout.tile_height_mm
    return [
        panel
        for panel, box in zip(panels, boxes, strict=True)
        if box[0] <= x1 and box[2] >= tile.x_mm and box[1] <= y1 and box[3] >= tile.y_mm
    ]


def _content(tile: _Tile, layout: _Layout, panels: Sequence[Panel], label: str) -> str:
    """The page's drawing: scaled so that one unit is a millimetre."""
    left, bottom = EDGE_MM, EDGE_MM + FOOT_MM
    width, height = layout.tile_width_mm, layout.tile_height_mm
    lines = [
        "q",
        f"{number(POINTS_PER_MM, 12)} 0 0 {number(POINTS_PER_MM, 12)} 0 0 cm",
        "q",
        # Panels are drawn within the tile only.
        f"{number(left)} {number(bottom)} {number(width)} {number(height)} re W n",
        f"1 0 0 1 {number(left - tile.x_mm)} {number(bottom - tile.y_mm)} cm",
        "0.2 w",
    ]
    for panel in panels:
        for contour in panel.contours:
            lines += [*path_of(contour), "S"]
        if panel.marks:
            lines.append("[2 1] 0 d")
            for mark in panel.marks:
                lines += [*path_of(mark.path), "S"]
            lines.append("[] 0 d")
    lines += ["Q", "0.1 w", *_joins(tile, layout), *_check_line(left), "Q"]
    at = (left + CHECK_LINE_MM + 8.0, EDGE_MM + 4.0)
    lines += _text(label, *at, size_pt=8.0)
    lines += _text("This line is 100 mm long. Print at actual size.", left, EDGE_MM, size_pt=8.0)
    x0, y1 = left + 2.0, bottom + height - 4.0
    if layout.columns * layout.rows > 1:
        name = f"row {tile.row + 1}, column {tile.column + 1} of {layout.rows} x {layout.columns}"
        lines += _text(name, *at[:1], EDGE_MM, size_pt=8.0)
    lines.append("0.45 g")
    for panel in panels:
        box = panel.bounds_mm()
        x, y = (box[0] + box[2]) / 2 - tile.x_mm + left, (box[1] + box[3]) / 2 - tile.y_mm + bottom
        if x0 <= x <= left + width - 20.0 and bottom <= y <= y1:
            lines += _text(panel.name, x, y, size_pt=7.0)
    return "\n".join(lines) + "\n"


def _joins(tile: _Tile, layout: _Layout) -> Iterator[str]:
    """Where this page ends under the next one: thin dashed lines."""
    left, bottom = EDGE_MM, EDGE_MM + FOOT_MM
    right, top = left + layout.tile_width_mm, bottom + layout.tile_height_mm
    yield "[1 2] 0 d"
    joins = []
    if tile.column + 1 < layout.columns:
        joins.append(((right - OVERLAP_MM, bottom), (right - OVERLAP_MM, top)))
    if tile.row + 1 < layout.rows:
        joins.append(((left, bottom + OVERLAP_MM), (right, bottom + OVERLAP_MM)))
    for (x0, y0), (x1, y1) in joins:
        yield f"{number(x0)} {number(y0)} m {number(x1)} {number(y1)} l S"
    yield "[] 0 d"


def _check_line(left: float) -> Iterator[str]:
    y = EDGE_MM + 6.0
    yield f"{number(left)} {number(y)} m {number(left + CHECK_LINE_MM)} {number(y)} l S"
    for i in range(11):
        x, half = left + 10.0 * i, 2.0 if i % 5 == 0 else 1.0
        yield f"{number(x)} {number(y - half)} m {number(x)} {number(y + half)} l S"


def _text(words: str, x_mm: float, y_mm: float, *, size_pt: float) -> Iterator[str]:
    x, y = x_mm * POINTS_PER_MM, y_mm * POINTS_PER_MM
    yield f"BT /F1 {number(size_pt)} Tf {number(x)} {number(y)} Td {string(words)} Tj ET"


def _document(pages: Sequence[PdfPage], title: str) -> bytes:
    font = b"<< /Type /Font /Subtype /Type1 /BaseFont /Helvetica /Encoding /WinAnsiEncoding >>"
    return pdf_bytes(pages, {"F1": lambda _first: (font,)}, title=string(title), scaled=False)
