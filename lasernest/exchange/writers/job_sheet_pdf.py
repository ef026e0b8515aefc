"""The job sheet as PDF, for a printer without colours: kinds of lines, greys and hatches.

The first page tells what, how, in which order, and the cautions; then one page
for each sheet with its plan; joints close it. The same sheet gives the
same bytes.
"""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path

from lasernest.domain.job_sheet import BenchSheet, Fact, JobSheet
from lasernest.exchange.writers.pdf.file import Paper
from lasernest.exchange.writers.pdf.flow import (
    BODY_PT,
    EDGE_MM,
    HEAD_PT,
    LINE_MM,
    SMALL_PT,
    Flow,
    put_feet,
)
from lasernest.exchange.writers.pdf.page import (
    BLACK,
    DARK,
    PALE,
    Frame,
    Pages,
    Side,
)
from lasernest.exchange.writers.pdf.plan import draw_legend, draw_plan, draw_scale, names_on
from lasernest.exchange.writers.square_code import code_rows, runs
from lasernest.files import write_atomically

CODE_MM = 22.0
PLAN_HEIGHT_MM = 150.0
FIXED = "\N{NO-BREAK SPACE}"


def write_job_sheet_pdf(sheet: JobSheet, path: Path, *, paper: Paper = Paper.A4) -> int:
    """Write a job sheet.

    Returns:
        The number of pages.

    Raises:
        UnwritableFileError: the file cannot be written there.
    """
    pages = _drawn(sheet, paper)
    write_atomically(path, pages.bytes())
    return len(pages.pages)


def job_sheet_pdf(sheet: JobSheet, *, paper: Paper = Paper.A4) -> bytes:
    """The file's bytes; see `write_job_sheet_pdf`."""
    return _drawn(sheet, paper).bytes()


def _drawn(sheet: JobSheet, paper: Paper) -> Pages:
    pages = Pages(f"Job sheet: {sheet.title}", paper)
    flow = Flow(pages)
    _head(flow, sheet)
    _doubts(flow, sheet)
    _facts(flow, sheet)
    flow.heading("Order of work")
    flow.list(sheet.steps, boxes=True)
    if sheet.left_out:
        flow.heading("On no sheet")
        flow.list(sheet.left_out)
    flow.heading("Cautions")
    flow.list(sheet.cautions)
    for one in sheet.sheets:
        flow.turn()
        _sheet_page(flow, one)
    _joints(flow, sheet)
    put_feet(pages, sheet.title, sheet.code)
    return pages


def _head(flow: Flow, sheet: JobSheet) -> None:
    page, right = flow.page, flow.pages.width_mm - EDGE_MM
    rows = code_rows(sheet.code_words)
    cell = CODE_MM / len(rows)
    page.blocks(
        [
            (right - CODE_MM + cell * first, EDGE_MM + cell * i, cell * count)
            for i, row in enumerate(rows)
            for first, count in runs(row)
        ],
        height_mm=cell,
    )
    page.text(
        sheet.code, right - CODE_MM / 2, EDGE_MM + CODE_MM + 4.5, size_pt=10, strong=True,
        side=Side.MIDDLE,
    )  # fmt: skip
    room = flow.width_mm - CODE_MM - 8.0
    flow.y_mm = EDGE_MM + 3.0
    printed = f"printed {sheet.made_on.isoformat()} · {sheet.program}"
    flow.title("Job sheet", sheet.title, printed, room_mm=room)
    flow.y_mm = max(flow.y_mm, EDGE_MM + CODE_MM + 5.0) + 4.0


def _doubts(flow: Flow, sheet: JobSheet) -> None:
    """A box with what to know before cutting."""
    if not sheet.doubts:
        return
    lines = [
        (line, i == 0)
        for doubt in sheet.doubts
        for i, line in enumerate(flow.page.wrapped(doubt, flow.width_mm - 12.0, size_pt=BODY_PT))
    ]
    height = LINE_MM * (len(lines) + 1) + 5.0
    if height > flow.room_mm:
        flow.heading("Before you cut")
        flow.list(sheet.doubts)
        return
    top = flow.y_mm
    flow.page.box(EDGE_MM, top, flow.width_mm, height, fill=PALE, edge=BLACK, line_mm=0.3)
    y = top + 5.5
    flow.page.text("Before you cut", EDGE_MM + 4.0, y, size_pt=BODY_PT, strong=True)
    for line, first in lines:
        y += LINE_MM
        if first:
            flow.page.text("–", EDGE_MM + 4.0, y, size_pt=BODY_PT)
        flow.page.text(line, EDGE_MM + 8.0, y, size_pt=BODY_PT)
    flow.y_mm = top + height + 3.0


def _facts(flow: Flow, sheet: JobSheet) -> None:
    """Two groups side by side; a single one in two halves."""
    groups = list(sheet.groups)
    while groups:
        if len(groups) >= 2:
            pair, groups = groups[:2], groups[2:]
            flow.columns([(group.title, group.facts) for group in pair])
        else:
            _halves(flow, groups[0].title, groups[0].facts)
            groups = []
        flow.skip(2.0)


def _halves(flow: Flow, title: str, facts: Sequence[Fact]) -> None:
    if title:
        flow.heading(title)
    half = (len(facts) + 1) // 2
    flow.columns([("", facts[:half]), ("", facts[half:])])


def _sheet_page(flow: Flow, sheet: BenchSheet) -> None:
    page = flow.page
    page.text(sheet.title, EDGE_MM, flow.y_mm + 2.0, size_pt=HEAD_PT + 2.0, strong=True)
    flow.skip(7.5)
    page.text(sheet.file_name or "no cut file yet", EDGE_MM, flow.y_mm, size_pt=BODY_PT, grey=DARK)
    width, height = sheet.picture.cut.width_mm, sheet.picture.cut.height_mm
    scale = min(flow.width_mm / width, PLAN_HEIGHT_MM / height)
    page.text(
        f"scale 1 : {1.0 / scale:.2g}" if scale < 1 else f"scale {scale:.2g} : 1",
        EDGE_MM + flow.width_mm, flow.y_mm, size_pt=BODY_PT, grey=DARK, side=Side.RIGHT,
    )  # fmt: skip
    flow.skip(3.0)
    left = EDGE_MM + 0.5 * (flow.width_mm - scale * width)
    frame = Frame(left, flow.y_mm + scale * height, scale)
    labels = names_on(flow.pages, sheet.picture, scale)
    draw_plan(page, sheet.picture, frame, labels)
    flow.y_mm = frame.bottom_mm + 4.0
    draw_scale(page, frame, width, height)
    flow.skip(4.0)
    draw_legend(page, sheet.picture, flow.y_mm)
    flow.skip(6.0)
    if labels.key:
        flow.paragraph(
            "Numbers: " + ", ".join(f"{n}{FIXED}{name}" for n, name in labels.key) + ".",
            size_pt=SMALL_PT,
        )
        flow.skip(1.0)
    _verdict(flow, sheet)
    flow.skip(1.0)
    _halves(flow, "", sheet.facts)
    flow.skip(2.0)
    counts = ", ".join(
        f"{count}{FIXED}×{FIXED}{name}" for name, count in sheet.picture.counts.items()
    )
    flow.heading("To take out of this sheet")
    flow.paragraph(counts or "nothing")


def _verdict(flow: Flow, sheet: BenchSheet) -> None:
    flow.paragraph(sheet.verdict, strong=True)
    if sheet.problems:
        flow.list(sheet.problems)


def _joints(flow: Flow, sheet: JobSheet) -> None:
    if not sheet.joints:
        return
    flow.heading("Joints and fits")
    rows = [
        (
            joint.name,
            joint.kind,
            joint.size,
            f"{joint.meant_mm:+.3f}",
            "–" if joint.left_mm is None else f"{joint.left_mm:+.3f}",
            "–" if joint.worst_mm is None else f"{joint.worst_mm:+.3f}",
            "–" if joint.u_mm is None else f"± {2 * joint.u_mm:.3f}",
            joint.fit or "–",
        )
        for joint in sheet.joints
    ]
    flow.table(
        ("joint", "kind", "size", "meant", "left", "worst", "95 %", "fit"),
        rows,
        shares=(0.25, 0.09, 0.27, 0.08, 0.08, 0.08, 0.08, 0.07),
    )
    flow.paragraph(
        "Interference in mm, positive is tight: as it was meant, as the beam leaves it, at the "
        "worst finger; and how far it can be trusted.",
        size_pt=SMALL_PT,
    )
