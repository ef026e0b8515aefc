"""Pictures: saved as PNG, SVG and PDF, read back by other readers."""

from __future__ import annotations

import re
from pathlib import Path

import pytest
from defusedxml import ElementTree
from PySide6.QtCore import QRectF
from PySide6.QtGui import QColor, QImage, QPainter
from PySide6.QtSvg import QSvgRenderer
from pytestqt.qtbot import QtBot

from lasernest.domain.control import QuietControl
from lasernest.domain.plan import Plan, SearchPoint, Sheet, SheetPlan
from lasernest.errors import UsageError
from lasernest.gui.board.legend import Sign
from lasernest.gui.board.pictures import Picture, PictureFile, PictureSet, sheet_picture
from lasernest.gui.board.progress_plot import progress_of
from lasernest.gui.look.palette import LIGHT
from lasernest.gui.look.theme import Brightness, theme
from lasernest.gui.tiles import Step
from lasernest.gui.window import Window
from lasernest.services.commands import KeepPlan
from tests.gui.conftest import Answers


def _saved(qtbot: QtBot, window: Window) -> None:
    qtbot.waitUntil(lambda: not window.picture_saver.busy, timeout=20_000)


def _set(window: Window, text: str) -> PictureSet:
    return next(s for s in window.page.pictures() if s.text == text)


def _drawn(*pictures: Picture, suffix: str) -> list[bytes]:
    file = PictureFile(pictures, suffix)
    while not file.work(1.0):
        pass
    return file.contents(QuietControl())


def test_a_sheet_is_saved_as_png(
    qtbot: QtBot, sheets: Window, answers: Answers, tmp_path: Path
) -> None:
    answers.paths = [tmp_path / "plan.png"]
    theme.choose(brightness=Brightness.DARK)
    (text, ask), *_ = sheets.picture_choices()
    assert text == "Sheet 1…"
    ask()
    _saved(qtbot, sheets)
    image = QImage(str(tmp_path / "plan.png"))
    assert image.width() == 2400  # 1200 px, drawn twice as fine
    # Pictures are light although the window is dark: this corner is bare paper.
    assert image.pixelColor(3, 3) == QColor(LIGHT.card)
    assert theme.palette.dark
    assert sheets.status.said() == "plan.png saved."


def test_a_sheet_as_svg_holds_its_names_and_lines(
    qtbot: QtBot, sheets: Window, answers: Answers, tmp_path: Path
) -> None:
    answers.paths = [tmp_path / "plan.svg"]
    sheets.picture_saver.ask(_set(sheets, "Sheet 1"))
    _saved(qtbot, sheets)
    root = ElementTree.parse(tmp_path / "plan.svg").getroot()
    assert root is not None
    box = [float(v) for v in root.attrib["viewBox"].split()]
    texts = ["".join(e.itertext()).strip() for e in root.iter() if e.tag.endswith("text")]
    size = sheets.desk.job.setup.chosen_size
    assert size is not None
    assert f"{size.width_mm:.2f} mm" in texts
    assert any("yield" in t for t in texts)
    assert box[2] == 1200
    paths = [e for e in root.iter() if e.tag.endswith("path")]
    assert len(paths) > 10
    assert QSvgRenderer(str(tmp_path / "plan.svg")).isValid()


def test_all_sheets_are_pages_of_one_pdf_or_numbered_files(
    qtbot: QtBot, sheets: Window, answers: Answers, tmp_path: Path
) -> None:
    plan = sheets.desk.job.plan
    assert plan is not None
    (sheet,) = plan.sheets
    halves = (
        SheetPlan(sheet.sheet, sheet.placements[:1]),
        SheetPlan(sheet.sheet, sheet.placements[1:]),
    )
    sheets.desk.do(KeepPlan(Plan(halves)))
    every = _set(sheets, "All sheets")
    answers.paths = [tmp_path / "plan.pdf"]
    sheets.picture_saver.ask(every)
    answers.paths = [tmp_path / "plan"]
    sheets.picture_saver.ask(every)
    _saved(qtbot, sheets)
    data = (tmp_path / "plan.pdf").read_bytes()
    assert data.startswith(b"%PDF-")
    # ISO 32000-1, 7.7.3.3: every page is an object of /Type /Page with its MediaBox.
    assert len(re.findall(rb"/Type\s*/Page\b(?!s)", data)) == 2
    boxes = re.findall(rb"/MediaBox\s*\[([^\]]*)\]", data)
    width_pt = float(boxes[0].split()[2])
    assert width_pt == pytest.approx(1200 * 72 / 96, abs=1.0)
    names = sorted(p.name for p in tmp_path.iterdir())
    assert names == ["plan-1.png", "plan-2.png", "plan.pdf"]
    assert sheets.status.said() == "plan-1.png to plan-2.png saved."


def test_what_cannot_be_written_is_said_and_leaves_nothing(
    qtbot: QtBot, sheets: Window, answers: Answers, tmp_path: Path
) -> None:
    answers.paths = [tmp_path / "missing" / "plan.png"]
    sheets.picture_saver.ask(_set(sheets, "Sheet 1"))
    _saved(qtbot, sheets)
    (trouble,) = sheets.desk.troubles
    assert trouble.step is Step.SHEETS
    assert "cannot be written" in trouble.sentence
    assert list(tmp_path.iterdir()) == []


def test_every_page_offers_what_it_shows(sheets: Window) -> None:
    offered = {}
    for step in Step:
        sheets.go_to(step)
        offered[step] = [s.text for s in sheets.page.pictures()]
    assert offered[Step.OUTLINES] == ["Outlines"]
    assert offered[Step.SHEETS] == ["Sheet 1"]
    assert offered[Step.CUT_FILE] == ["Sheet 1"]
    last = [entry.text for entry in sheets.sheets.scene_of_sheet.menu(None)[-2:]]
    assert last == ["Save a picture", "Paper template"]


def test_the_plots_of_kerf_are_offered_and_drawn(qtbot: QtBot, window: Window) -> None:
    window.go_to(Step.KERF)
    qtbot.waitUntil(lambda: len(window.page.pictures()) == 2, timeout=20_000)
    sets = window.page.pictures()
    assert [s.text for s in sets] == ["Kerf over time", "How joints feel"]
    for one in sets:
        (data,) = _drawn(*one.pictures, suffix=".png")
        image = QImage.fromData(data)
        colours = {image.pixel(x, y) for x in range(0, image.width(), 7) for y in range(0, 800, 7)}
        assert len(colours) > 5


def test_the_search_is_plotted(qtbot: QtBot, sheets: Window) -> None:
    # 600 mm long sheets: 1 + 450/600, then 300/600 of one sheet.
    log = (SearchPoint(0.2, 2, 450.0), SearchPoint(1.5, 1, 300.0))
    plan = Plan((SheetPlan(Sheet(600.0, 400.0), ()),), seconds=4.0, log=log)
    assert progress_of(plan) == ((0.2, 1.75), (1.5, 0.5))
    assert progress_of(None) == ()
    old = sheets.desk.job.plan
    assert old is not None
    assert not sheets.sheets.progress.isVisible()
    sheets.desk.do(KeepPlan(Plan(old.sheets, seconds=4.0, log=log)))
    assert sheets.sheets.progress.isVisible()
    width_mm = old.sheets[0].sheet.width_mm
    last = 300.0 / width_mm
    assert sheets.sheets.progress.points[1][1] == pytest.approx(last)
    said = sheets.sheets.progress.accessibleName()
    assert said == f"Search: from {1 + 450 / width_mm:.2f} to {last:.2f} sheets in 4 s"
    assert [s.text for s in sheets.sheets.pictures()] == ["Sheet 1", "The search"]
    before = sheets.sheets.progress.grab().toImage()
    assert before.width() > 100


def test_a_picture_is_drawn_in_slices(qtbot: QtBot) -> None:
    steps = 0

    def draw(painter: QPainter, area: QRectF):  # type: ignore[no-untyped-def]
        nonlocal steps
        for _ in range(5):
            steps += 1
            painter.fillRect(area, QColor("red"))
            yield

    file = PictureFile([Picture(20.0, 10.0, draw)], ".png")
    assert not file.work(0.0)
    assert steps == 1
    while not file.work(0.0):
        pass
    (data,) = file.contents(QuietControl())
    image = QImage.fromData(data)
    assert (image.width(), image.height()) == (40, 20)
    assert image.pixelColor(20, 10) == QColor("red")


def test_other_kinds_of_file_are_refused(qtbot: QtBot) -> None:
    plan = SheetPlan(Sheet(600.0, 400.0), ())
    picture = sheet_picture(plan, {}, left="", right="", signs=[Sign.OUTER])
    with pytest.raises(UsageError, match=r"pictures cannot be saved as \.bmp"):
        PictureFile([picture], ".bmp")
