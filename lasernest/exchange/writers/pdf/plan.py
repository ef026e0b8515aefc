"""The plan of a sheet on a page: kinds of lines told apart without colour, names, scale."""

from __future__ import annotations

from lasernest.domain.contours import Contour
from lasernest.domain.cutting import PathKind
from lasernest.domain.job_sheet import SheetPicture
from lasernest.exchange.writers.pdf.flow import EDGE_MM, SMALL_PT
from lasernest.exchange.writers.pdf.page import (
    BLACK,
    DARK,
    LIGHT,
    MIDDLE,
    MM_PER_PT,
    Frame,
    Page,
    Pages,
    Side,
)
from lasernest.exchange.writers.plan_labels import PlanLabels, place_labels

NAME_SIZES_PT = (9.0, 7.0, 5.5)
_LINES: dict[PathKind, tuple[float, float, tuple[float, ...]]] = {
    PathKind.CUT_OUTER: (0.35, BLACK, ()),
    PathKind.CUT_INNER: (0.18, BLACK, ()),
    PathKind.SCORE: (0.2, BLACK, (2.0, 1.2)),
    PathKind.ENGRAVE: (0.25, BLACK, (0.01, 0.8)),
}
"""Width on paper, grey, dashes on paper; a dash without length is a round dot."""


def names_on(pages: Pages, picture: SheetPicture, scale: float) -> PlanLabels:
    """Where the names of a plan stand when it is drawn to a scale."""
    return place_labels(
        picture.panels,
        scale=scale,
        width_of=pages.strong.width,
        cap_share=pages.strong.cap_height,
        sizes=[pt * MM_PER_PT for pt in NAME_SIZES_PT],
    )


def draw_plan(page: Page, picture: SheetPicture, frame: Frame, labels: PlanLabels) -> None:
    """The plan of a sheet with its names."""
    outline = picture.cut.outline or Contour.rectangle(
        0.0, 0.0, picture.cut.width_mm, picture.cut.height_mm
    )
    for kept in picture.kept:
        x0, y0, x1, y1 = kept.bounds_mm()
        left, bottom = frame.place(x0, y0)
        right, top = frame.place(x1, y1)
        page.hatch(left, top, right - left, bottom - top, step_mm=2.2, grey=MIDDLE, line_mm=0.12)
    with page.drawing(frame):
        page.contours([outline, *picture.holes], width_mm=0.3 / frame.scale, grey=MIDDLE)
        for kind, (width, grey, dashes) in _LINES.items():
            page.contours(
                [p.path for p in picture.cut.paths if p.kind is kind],
                width_mm=width / frame.scale,
                grey=grey,
                dashes_mm=[d / frame.scale for d in dashes],
            )
    for label in labels.placed:
        x, y = frame.place(label.x_mm, label.y_mm)
        size_pt = label.size / MM_PER_PT
        page.text(
            label.text, x, y + 0.5 * page.cap_mm(size_pt), size_pt=size_pt, strong=True,
            side=Side.MIDDLE,
        )  # fmt: skip


def draw_scale(page: Page, frame: Frame, width_mm: float, height_mm: float) -> None:
    """The size of the sheet along its edges, zero at its corner."""
    y = frame.bottom_mm + 3.6
    for at, side in ((0.0, Side.LEFT), (0.5 * width_mm, Side.MIDDLE), (width_mm, Side.RIGHT)):
        x, _ = frame.place(at, 0.0)
        page.text(f"{at:g}", x, y, size_pt=SMALL_PT, grey=DARK, side=side)
    left, top = frame.place(0.0, height_mm)
    if left > EDGE_MM + 6.0:
        page.text(f"{height_mm:g}", left - 1.0, top + 2.4, size_pt=SMALL_PT, side=Side.RIGHT)


def draw_legend(page: Page, picture: SheetPicture, y: float) -> None:
    """What the kinds of lines mean, those that the plan has."""
    x = EDGE_MM
    kinds = {p.kind for p in picture.cut.paths}
    for kind in (PathKind.CUT_OUTER, PathKind.CUT_INNER, PathKind.SCORE, PathKind.ENGRAVE):
        if kind not in kinds:
            continue
        width, grey, dashes = _LINES[kind]
        with page.drawing(Frame(x, y - 1.0, 1.0)):
            sample = Contour.polyline([(0.0, 0.0), (9.0, 0.0)])
            page.contours([sample], width_mm=width, grey=grey, dashes_mm=dashes)
        page.text(kind.value, x + 11.0, y, size_pt=SMALL_PT + 0.7)
        x += 14.0 + page.width_mm(kind.value, size_pt=SMALL_PT + 0.7)
    if picture.kept:
        page.box(x, y - 2.6, 9.0, 3.2, edge=LIGHT, line_mm=0.15)
        page.hatch(x, y - 2.6, 9.0, 3.2, step_mm=1.6, grey=MIDDLE, line_mm=0.12)
        page.text("kept offcut", x + 11.0, y, size_pt=SMALL_PT + 0.7)
