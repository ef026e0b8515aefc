"""The job sheet written from the window: before the cut file and after, and where it cannot be."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

from pytestqt.qtbot import QtBot

from lasernest.gui.tiles import Step
from lasernest.gui.window import Window
from lasernest.services.commands import ChooseStock
from tests.gui.conftest import Answers
from tests.gui.helpers import wait_for


def test_it_says_what_is_proved(
    qtbot: QtBot, sheets: Window, answers: Answers, tmp_path: Path
) -> None:
    sheets.go_to(Step.CUT_FILE)
    answers.paths = [tmp_path / "bench.html"]
    sheets.cut_file.job_sheet_button.click()
    wait_for(qtbot, sheets, "job sheet")
    assert "Not proved: there is no cut file yet." in answers.paths[0].read_text()
    assert sheets.status.said() == "bench.html written: 1 page. Nothing is proved yet."

    sheets.cut_file.choose_path(tmp_path / "cut.dxf")
    sheets.cut_file.write()
    wait_for(qtbot, sheets, "write")
    sheets.acts.actions["job sheet"].trigger()
    wait_for(qtbot, sheets, "job sheet")
    assert "Proof passed. 3 of 3 panels found" in answers.paths[0].read_text()
    assert sheets.status.said() == "bench.html written: 1 page."

    answers.paths = [tmp_path / "bench"]
    sheets.cut_file.job_sheet_button.click()
    wait_for(qtbot, sheets, "job sheet")
    assert (tmp_path / "bench.pdf").read_bytes().startswith(b"%PDF")
    assert not sheets.desk.troubles


def test_without_a_plan_it_is_said_what_to_do(window: Window, answers: Answers) -> None:
    window.acts.actions["job sheet"].trigger()
    (trouble,) = window.desk.troubles
    assert trouble.sentence == "There is no plan for the bench yet. Arrange the panels first."
    assert window.page is window.cut_file


def test_none_is_written_for_what_must_not_be_cut(
    sheets: Window, answers: Answers, tmp_path: Path
) -> None:
    stock = sheets.desk.job.setup.stock
    assert stock is not None
    sheets.desk.do(ChooseStock(replace(stock, name="foam board", material="PVC")))
    answers.paths = [tmp_path / "bench.html"]
    sheets.acts.actions["job sheet"].trigger()
    assert sheets.desk.tasks.task("job sheet") is None
    assert sheets.cut_file.job_sheet_button.isHidden()
    assert sheets.page is sheets.cut_file
