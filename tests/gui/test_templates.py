"""Paper templates written from the window: chosen panels, all of them, a sheet of the plan."""

from __future__ import annotations

import re
from pathlib import Path

import pytest
from pytestqt.qtbot import QtBot

from lasernest.domain.contours import Contour
from lasernest.domain.panels import Panel
from lasernest.gui.tiles import Step
from lasernest.gui.window import Window
from lasernest.job import Job, JobPanel
from tests.gui.conftest import Answers
from tests.gui.helpers import wait_for

LETTER_PT = (612.0, 792.0)
"""8.5 x 11 inches of 72 points (ANSI/ASME Y14.1)."""


def boxes(path: Path) -> list[tuple[float, float]]:
    """Width and height in points of every page."""
    found = re.findall(rb"/MediaBox\s*\[([^\]]*)\]", path.read_bytes())
    return [(float(w), float(h)) for _, _, w, h in (box.split() for box in found)]


def run(window: Window, name: str) -> None:
    """Run a choice of the act by what the menu calls it."""
    dict(window.template_choices())[name]()


def test_chosen_panels_from_the_card_and_the_menu(
    qtbot: QtBot, window: Window, answers: Answers, tmp_path: Path
) -> None:
    # 170 x 20 fits on one Letter page inside its border, 400 x 20 does not.
    panels = tuple(
        JobPanel(Panel.of(name, Contour.rectangle(0, 0, width, 20)))
        for name, width in (("rib", 170.0), ("shelf", 400.0))
    )
    window.desk.workbench.new(Job("rack", panels))
    assert [name for name, _ in window.template_choices()] == ["All panels…"]
    window.outlines.list.choose(["rib"])
    assert [name for name, _ in window.template_choices()] == ["rib…", "All panels…"]
    answers.paths = [tmp_path / "rib"]
    window.outlines.chosen_box.template_wanted.emit()
    wait_for(qtbot, window, "template")
    (page,) = boxes(tmp_path / "rib.pdf")
    assert page in (pytest.approx(LETTER_PT), pytest.approx(LETTER_PT[::-1]))
    assert window.status.said().startswith("rib.pdf: 1 panel on 1 page.")
    answers.paths = [tmp_path / "all.pdf"]
    run(window, "All panels…")
    wait_for(qtbot, window, "template")
    assert len(boxes(tmp_path / "all.pdf")) > 1
    assert window.status.said().startswith("all.pdf: 2 panels on ")


def test_a_sheet_as_the_plan_lays_it(
    qtbot: QtBot, sheets: Window, answers: Answers, tmp_path: Path
) -> None:
    entry = sheets.sheets.template_entry()
    assert [e.text for e in entry.entries] == ["Sheet 1…", "All panels…"]
    sheets.go_to(Step.CUT_FILE)
    answers.paths = [tmp_path / "sheet.pdf"]
    sheets.cut_file.template_button.click()
    wait_for(qtbot, sheets, "template")
    assert sheets.status.said().startswith("sheet.pdf: 3 panels on ")
    assert boxes(tmp_path / "sheet.pdf")


def test_what_cannot_be_written_is_said_where_it_was_asked(
    qtbot: QtBot, sheets: Window, answers: Answers, tmp_path: Path
) -> None:
    sheets.go_to(Step.OUTLINES)
    answers.paths = [tmp_path / "missing" / "all.pdf"]
    run(sheets, "All panels…")
    wait_for(qtbot, sheets, "template")
    (trouble,) = sheets.desk.troubles
    assert trouble.step is Step.OUTLINES
    assert "cannot be written" in trouble.sentence
