"""A comparison of stocks as PDF: the table, the cost by its parts, the plans; black and white."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from pathlib import Path

from lasernest.domain.comparison import ComparisonPaper
from lasernest.domain.costs import Cost
from lasernest.domain.job_sheet import SheetPicture
from lasernest.exchange.writers.pdf.file import Paper
from lasernest.exchange.writers.pdf.flow import (
    BODY_PT,
    BOTTOM_MM,
    EDGE_MM,
    GUTTER_MM,
    LINE_MM,
    SMALL_PT,
    Flow,
    put_feet,
)
from lasernest.exchange.writers.pdf.page import BLACK, DARK, MIDDLE, Frame, Page, Pages, Side
from lasernest.exchange.writers.pdf.plan import draw_legend, draw_plan, names_on
from lasernest.exchange.writers.plan_labels import PlanLabels
from lasernest.files import write_atomically

BAR_MM, BAR_STEP_MM = 4.0, 6.0
NAME_SHARE = 0.34
"""Of the width, for the names of rows and bars."""
MOST_PLAN_MM = 110.0
_GREYS: dict[str, float] = {
    "material": 0.25,
    "machine": 0.55,
    "work": 0.8,
    "set-up": 1.0,
    "overhead": 0.93,
}


def write_comparison_pdf(paper: ComparisonPaper, path: Path, *, size: Paper = Paper.A4) -> int:
    """Write a comparison.

    Returns:
        The number of pages.

    Raises:
        UnwritableFileError: the file cannot be written there.
    """
    pages = _drawn(paper, size)
    write_atomically(path, pages.bytes())
    return len(pages.pages)


def _drawn(paper: ComparisonPaper, size: Paper) -> Pages:
    pages = Pages(f"Comparison: {paper.title}", size)
    flow = Flow(pages)
    made = f"made {paper.made_on.isoformat()} · {paper.program}"
    flow.title("Comparison of stocks", paper.title, made, room_mm=flow.width_mm)
    flow.skip(2.5 * LINE_MM)
    columns = len(paper.heads)
    flow.table(
        ("", *paper.heads),
        [("Sheet", *paper.sheets), *((row.name, *row.texts) for row in paper.rows)],
        shares=(NAME_SHARE, *[(1.0 - NAME_SHARE) / columns] * columns),
        strong_values=True,
    )
    _bars(flow, paper)
    if paper.notes:
        flow.heading("What it rests on")
        flow.list(paper.notes)
    _plans(flow, paper.pictures)
    put_feet(pages, paper.title)
    return pages


def _bars(flow: Flow, paper: ComparisonPaper) -> None:
    """Cost per unit by its parts, to one scale for all numbers of units."""
    counts = sorted({count for costs in paper.costs for count in costs})
    told = [c for costs in paper.costs for c in costs.values() if not c.unpriced]
    dearest = max((cost.per_unit_with_overhead for cost in told), default=0.0)
    if not dearest:
        return
    flow.heading("Cost per unit by its parts")
    name_mm = NAME_SHARE * flow.width_mm
    scale = (flow.width_mm - name_mm - 22.0) / dearest
    for count in counts:
        flow.need(LINE_MM + BAR_STEP_MM * len(paper.heads))
        flow.page.text(f"{count} made", EDGE_MM, flow.y_mm, size_pt=BODY_PT, strong=True)
        flow.skip(2.0)
        for head, costs in zip(paper.heads, paper.costs, strict=True):
            _bar(flow, head, costs, count, name_mm, scale)
        flow.skip(LINE_MM)
    _bar_legend(flow.page, flow.y_mm, [name for cost in told for name, _ in cost.parts_per_unit])
    flow.skip(LINE_MM)


def _bar(
    flow: Flow, head: str, costs: Mapping[int, Cost], count: int, name_mm: float, scale: float
) -> None:
    page, top = flow.page, flow.y_mm
    base = top + BAR_MM - 1.0
    words = page.shortened(head, name_mm - 4.0, size_pt=BODY_PT)
    page.text(words, EDGE_MM, base, size_pt=BODY_PT, grey=DARK)
    left = EDGE_MM + name_mm
    cost = costs.get(count)
    if cost is None or cost.unpriced:
        page.text("not known", left, base, size_pt=BODY_PT, grey=DARK)
    else:
        for name, value in cost.parts_per_unit:
            width = scale * value
            page.box(left, top, width, BAR_MM, fill=_GREYS[name], edge=BLACK, line_mm=0.15)
            left += width
        page.text(
            f"{cost.per_unit_with_overhead:.2f}", left + 2.0, base, size_pt=BODY_PT, strong=True
        )
    flow.skip(BAR_STEP_MM)


def _bar_legend(page: Page, y: float, parts: Sequence[str]) -> None:
    x = EDGE_MM
    for name in (n for n in _GREYS if n in parts):
        page.box(x, y - 2.6, 6.0, 3.2, fill=_GREYS[name], edge=BLACK, line_mm=0.15)
        page.text(name, x + 8.0, y, size_pt=SMALL_PT + 0.7)
        x += 12.0 + page.width_mm(name, size_pt=SMALL_PT + 0.7)


def _plans(flow: Flow, pictures: Sequence[tuple[str, SheetPicture]]) -> None:
    """Plans two by two, all to one scale, so that sheets compare by eye."""
    if not pictures:
        return
    room = (flow.width_mm - GUTTER_MM) / 2.0
    widest = max(picture.cut.width_mm for _, picture in pictures)
    highest = max(picture.cut.height_mm for _, picture in pictures)
    scale = min(room / widest, MOST_PLAN_MM / highest)
    flow.turn()
    flow.page.text("Plans", EDGE_MM, flow.y_mm, size_pt=BODY_PT + 4, strong=True)
    ratio = f"1 : {1.0 / scale:.2g}" if scale < 1 else f"{scale:.2g} : 1"
    flow.page.text(
        f"scale {ratio}", EDGE_MM + flow.width_mm, flow.y_mm, size_pt=BODY_PT, grey=DARK,
        side=Side.RIGHT,
    )  # fmt: skip
    flow.skip(6.0)
    _, richest = max(pictures, key=lambda entry: len({p.kind for p in entry[1].cut.paths}))
    draw_legend(flow.page, richest, flow.y_mm)
    flow.skip(8.0)
    for start in range(0, len(pictures), 2):
        pair = pictures[start : start + 2]
        height = scale * max(picture.cut.height_mm for _, picture in pair)
        if flow.pages.height_mm - BOTTOM_MM - flow.y_mm < height + LINE_MM:
            flow.turn()
        for column, (title, picture) in enumerate(pair):
            left = EDGE_MM + column * (room + GUTTER_MM)
            words = flow.page.shortened(title, room, size_pt=BODY_PT, strong=True)
            flow.page.text(words, left, flow.y_mm, size_pt=BODY_PT, strong=True)
            size = f"{picture.cut.width_mm:g} × {picture.cut.height_mm:g} mm"
            flow.page.text(size, left, flow.y_mm + 3.6, size_pt=SMALL_PT, grey=MIDDLE - 0.2)
            bottom = flow.y_mm + 5.5 + scale * picture.cut.height_mm
            frame = Frame(left, bottom, scale)
            draw_plan(flow.page, picture, frame, _whole_names(names_on(flow.pages, picture, scale)))
        flow.skip(height + 5.5 + 2.0 * LINE_MM)


def _whole_names(labels: PlanLabels) -> PlanLabels:
    """Without the numbers of small panels, which nobody looks up here."""
    numbers = {str(number) for number, _ in labels.key}
    return PlanLabels(tuple(p for p in labels.placed if p.text not in numbers), ())
