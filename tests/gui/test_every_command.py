"""Each command of the menu is triggered as menu, key and search do it, and its effect is seen.

A command without a check here makes the last test fail.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path

import pytest
from pytestqt.qtbot import QtBot

from lasernest.gui.lengths import lengths
from lasernest.gui.look.theme import Brightness, theme
from lasernest.gui.tiles import Step
from lasernest.gui.window import Window
from lasernest.job import load_job
from lasernest.joints.case import CaseSpec
from lasernest.services.commands import RemoveJoint, SetQuantity
from lasernest.services.joint_making import AddCase
from tests.gui.conftest import Answers
from tests.gui.helpers import wait_for, wait_for_saves


@dataclass(frozen=True)
class Case:
    """A window that shows three feet on a sheet, and how its commands are triggered."""

    qtbot: QtBot
    window: Window
    answers: Answers
    folder: Path
    samples: Path

    def do(self, name: str) -> None:
        """Trigger a command."""
        action = self.window.acts.actions[name]
        assert action.isEnabled()
        action.trigger()

    def choose(self, name: str, text: str) -> None:
        """Trigger a line of a command's submenu."""
        (act,) = [a for a in self.window.acts.acts if a.name == name]
        assert act.choices is not None
        (run,) = [run for line, run in act.choices() if line.startswith(text)]
        run()

    def wait(self, *kinds: str) -> None:
        wait_for(self.qtbot, self.window, *kinds)

    @property
    def guide(self) -> str:
        """The page of the guide that is open."""
        shown = self.window.stage.guide
        return shown.page if shown is not None and shown.isVisible() else ""


Check = Callable[[Case], None]
CHECKS: dict[str, Check] = {}


def of(name: str) -> Callable[[Check], Check]:
    """The check of a command."""

    def keep(check: Check) -> Check:
        assert name not in CHECKS
        CHECKS[name] = check
        return check

    return keep


# --- the job -----------------------------------------------------------------------------


@of("new")
def _another_window_is_asked_for(case: Case) -> None:
    with case.qtbot.waitSignal(case.window.another_wanted) as asked:
        case.do("new")
    assert asked.args == [None]


@of("open drawings")
def _panels_come_in(case: Case) -> None:
    case.answers.paths = [case.samples / "drawer-pulls.dxf"]
    case.do("open drawings")
    case.wait("import")
    assert len(case.window.desk.job.panels) > 3


@of("open job")
def _a_window_in_use_is_left_alone(case: Case) -> None:
    case.answers.paths = [case.folder / "other.lasernest"]
    case.window.desk.workbench.save(case.answers.paths[0])
    case.window.desk.workbench.save(case.folder / "mine.lasernest")
    with case.qtbot.waitSignal(case.window.another_wanted) as asked:
        case.do("open job")
    assert asked.args == case.answers.paths


@of("recent")
def _a_recent_job_opens(case: Case) -> None:
    case.answers.paths = [case.folder / "feet.lasernest"]
    case.do("save as")
    wait_for_saves(case.qtbot, case.window)
    case.window.desk.workbench.save(case.folder / "mine.lasernest")
    with case.qtbot.waitSignal(case.window.another_wanted) as asked:
        case.choose("recent", "feet")
    assert asked.args == case.answers.paths


@of("sample")
def _the_sample_opens_elsewhere(case: Case) -> None:
    with case.qtbot.waitSignal(case.window.sample_wanted):
        case.do("sample")


@of("save")
def _the_job_is_written_where_it_belongs(case: Case) -> None:
    path = case.window.desk.workbench.save(case.folder / "feet.lasernest")
    case.window.desk.do(SetQuantity(case.window.desk.job.panels[0].name, 7))
    case.do("save")
    wait_for_saves(case.qtbot, case.window)
    assert load_job(path).panels[0].quantity == 7
    assert not case.window.isWindowModified()


@of("save as")
def _the_job_is_written_where_asked(case: Case) -> None:
    case.answers.paths = [case.folder / "feet.lasernest"]
    case.do("save as")
    wait_for_saves(case.qtbot, case.window)
    assert load_job(case.answers.paths[0]) == case.window.desk.job


@of("arrange")
def _there_is_another_plan(case: Case) -> None:
    before = case.window.desk.job.plan
    case.do("arrange")
    assert case.window.desk.arranging
    case.wait("arrange")
    assert case.window.desk.job.plan not in (None, before)


@of("longer")
def _the_search_goes_on(case: Case) -> None:
    case.do("longer")
    assert case.window.desk.arranging
    case.window.desk.cancel()
    case.wait("arrange")


@of("stop")
def _the_best_is_kept(case: Case) -> None:
    before = case.window.desk.job.plan
    case.window.desk.arrange(60.0)
    case.qtbot.waitUntil(lambda: case.window.desk.figures is not None, timeout=240_000)
    case.do("stop")
    case.wait("arrange")
    assert case.window.desk.job.plan not in (None, before)


@of("cancel")
def _the_plan_stays_as_it_was(case: Case) -> None:
    before = case.window.desk.job.plan
    case.window.desk.arrange(60.0)
    case.do("cancel")
    case.wait("arrange")
    assert case.window.desk.job.plan is before


@of("main")
def _the_filled_button_of_the_step_is_pressed(case: Case) -> None:
    case.window.go_to(Step.OUTLINES)
    case.do("main")
    assert case.window.desk.arranging
    case.window.desk.cancel()
    case.wait("arrange")


@of("recut")
def _chosen_panels_are_cut_again_elsewhere(case: Case) -> None:
    key = case.window.sheets.scene_of_sheet.placed[1].key
    case.window.sheets.scene_of_sheet.choose(frozenset({key}))
    with case.qtbot.waitSignal(case.window.job_wanted) as asked:
        case.do("recut")
    assert asked.args is not None
    assert [p.name for p in asked.args[0].panels if p.quantity] == [key[0]]


@of("write")
def _the_cut_is_written_and_proved(case: Case) -> None:
    case.window.cut_file.choose_path(case.folder / "feet.dxf")
    case.do("write")
    case.wait("write")
    written = case.window.desk.written
    assert written is not None
    assert written.proof.passed
    assert (case.folder / "feet.dxf").stat().st_size > 0


@of("compare")
def _the_comparison_fills_the_board(case: Case) -> None:
    case.do("compare")
    assert case.window.compare.isVisible()
    assert not case.window.board.isVisible()


@of("comb")
def _the_comb_is_written(case: Case) -> None:
    case.window.kerf.choose_path(case.folder / "comb.dxf")
    case.do("comb")
    case.qtbot.waitUntil(lambda: case.window.kerf.tuner.written is not None, timeout=60_000)
    assert case.window.page is case.window.kerf
    assert (case.folder / "comb.dxf").read_text().startswith("  0")


@of("picture")
def _the_plan_becomes_a_picture(case: Case) -> None:
    case.answers.paths = [case.folder / "plan.png"]
    case.choose("picture", "Sheet")
    case.qtbot.waitUntil(lambda: not case.window.picture_saver.busy, timeout=30_000)
    assert case.answers.paths[0].read_bytes().startswith(b"\x89PNG")


@of("job sheet")
def _the_bench_gets_its_paper(case: Case) -> None:
    case.answers.paths = [case.folder / "bench.html"]
    case.do("job sheet")
    case.wait("job sheet")
    assert "Not proved" in case.answers.paths[0].read_text()


@of("template")
def _a_sheet_is_tiled_over_paper(case: Case) -> None:
    case.answers.paths = [case.folder / "sheet.pdf"]
    text, _run = case.window.template_choices()[0]
    case.choose("template", text)
    case.qtbot.waitUntil(case.answers.paths[0].exists, timeout=30_000)
    case.wait("template")
    assert case.answers.paths[0].read_bytes().startswith(b"%PDF")


@of("close")
def _the_window_closes(case: Case) -> None:
    with case.qtbot.waitSignal(case.window.closed):
        case.window.acts.actions["close"].trigger()
    assert not case.window.isVisible()


# --- editing -----------------------------------------------------------------------------


@of("undo")
def _a_change_is_taken_back(case: Case) -> None:
    before = case.window.desk.job
    case.window.desk.do(SetQuantity(before.panels[0].name, 5))
    case.do("undo")
    assert case.window.desk.job == before


@of("redo")
def _it_is_done_again(case: Case) -> None:
    case.window.desk.do(SetQuantity(case.window.desk.job.panels[0].name, 5))
    after = case.window.desk.job
    case.window.desk.undo()
    case.do("redo")
    assert case.window.desk.job == after


@of("find panels")
def _the_keys_are_in_the_finder(case: Case) -> None:
    case.do("find panels")
    assert case.window.page is case.window.outlines
    assert case.window.focusWidget() is case.window.outlines.finder.field


@of("remove")
def _chosen_panels_leave_the_job(case: Case) -> None:
    case.window.go_to(Step.OUTLINES)
    first = case.window.desk.job.panels[0].name
    case.window.outlines.list.choose([first])
    case.do("remove")
    assert first not in [p.name for p in case.window.desk.job.panels]


@of("propose")
def _joints_are_proposed(case: Case) -> None:
    case.window.desk.do(AddCase(CaseSpec(120.0, 80.0, 60.0, 3.0)))
    while case.window.desk.job.joints:
        case.window.desk.do(RemoveJoint(0))
    case.do("propose")
    case.wait("propose")
    assert len(case.window.joints.assembler.proposals) > 3


# --- seeing ------------------------------------------------------------------------------


def _goes_to(step: Step) -> None:
    @of(f"go {step.name}")
    def check(case: Case) -> None:
        case.window.go_to(Step.KERF if step is not Step.KERF else Step.SHEETS)
        case.do(f"go {step.name}")
        assert case.window.page.step is step


for _step in Step:
    _goes_to(_step)


@of("nearer")
def _the_drawing_grows(case: Case) -> None:
    before = case.window.board.canvas.view.scale
    case.do("nearer")
    assert case.window.board.canvas.view.scale == pytest.approx(1.25 * before)


@of("farther")
def _the_drawing_shrinks(case: Case) -> None:
    before = case.window.board.canvas.view.scale
    case.do("farther")
    assert case.window.board.canvas.view.scale == pytest.approx(0.8 * before)


@of("fit")
def _all_is_seen_again(case: Case) -> None:
    before = case.window.board.canvas.view
    case.window.board.canvas.zoom(3.0)
    case.do("fit")
    assert case.window.board.canvas.view == before


@of("real size")
def _a_millimetre_is_one_on_the_screen(case: Case) -> None:
    lengths.screen_px_per_mm = 3.5
    case.do("real size")
    assert case.window.board.canvas.view.scale == pytest.approx(3.5)


@of("measure")
def _the_pointer_measures(case: Case) -> None:
    case.do("measure")
    assert case.window.board.measure_button.isChecked()
    case.do("measure")
    assert not case.window.board.measure_button.isChecked()


@of("play")
def _the_cut_plays(case: Case) -> None:
    bar = case.window.sheets.player.bar
    case.do("play")
    case.qtbot.waitUntil(lambda: bar.playing, timeout=20_000)
    case.do("play")
    assert not bar.playing


@of("swept kerf")
def _the_band_is_switched(case: Case) -> None:
    shown = case.window.sheets.player.bar.kerf_button
    before = shown.isChecked()
    case.do("swept kerf")
    assert shown.isChecked() is not before


@of("unit")
def _lengths_are_in_inches(case: Case) -> None:
    case.do("unit")
    assert lengths.inches
    case.do("unit")
    assert not lengths.inches


# --- looks -------------------------------------------------------------------------------


@of("light")
def _it_is_light(case: Case) -> None:
    case.do("light")
    assert not theme.palette.dark
    assert theme.brightness is Brightness.LIGHT


@of("dark")
def _it_is_dark(case: Case) -> None:
    case.do("dark")
    assert theme.palette.dark
    assert case.window.settings.brightness == "DARK"


@of("system")
def _it_is_as_the_system(case: Case) -> None:
    case.do("dark")
    case.do("system")
    assert theme.brightness is Brightness.SYSTEM
    assert not theme.palette.dark  # as a screen that is none says


@of("contrast")
def _contrast_is_high(case: Case) -> None:
    case.do("contrast")
    assert theme.high_contrast
    case.do("contrast")
    assert not theme.high_contrast


@of("larger text")
def _text_grows(case: Case) -> None:
    case.do("larger text")
    assert theme.text_scale == 1.15


@of("smaller text")
def _text_shrinks(case: Case) -> None:
    case.do("smaller text")
    assert theme.text_scale == 0.9


@of("settings")
def _the_settings_open(case: Case) -> None:
    case.do("settings")
    assert case.window.stage.currentWidget() is case.window.stage.settings_view


# --- help --------------------------------------------------------------------------------


@of("find")
def _a_command_can_be_typed(case: Case) -> None:
    case.do("find")
    assert case.window.search.isVisible()
    assert case.window.focusWidget() is case.window.search.field


@of("guide")
def _the_guide_tells_of_this_step(case: Case) -> None:
    case.do("guide")
    assert case.guide == "sheets"


@of("cautions")
def _the_cautions_open(case: Case) -> None:
    case.do("cautions")
    assert case.guide == "cautions"


@of("keys")
def _the_keys_are_listed(case: Case) -> None:
    case.do("keys")
    assert case.guide == "keys"


@of("changes")
def _what_is_new_is_told(case: Case) -> None:
    case.do("changes")
    assert case.guide == "changes"


# --- the shop book -----------------------------------------------------------------------


@of("new stock")
def _a_stock_can_be_entered(case: Case) -> None:
    case.window.go_to(Step.OUTLINES)
    case.do("new stock")
    form = case.window.sheets.settings.stock_box.form
    assert form.isVisible()
    assert form.heading.text() == "New stock"
    assert case.window.focusWidget() is form.material
    form.close_form()
    assert case.window.focusWidget() is case.window.board.canvas


@of("change stock")
def _the_stock_in_view_can_be_changed(case: Case) -> None:
    case.do("change stock")
    form = case.window.sheets.settings.stock_box.form
    assert form.heading.text() == "Change birch plywood 3 mm"
    assert len(form.sheets.rows) == 5


@of("remove stock")
def _the_stock_in_view_leaves_the_book(case: Case) -> None:
    case.do("remove stock")
    case.wait("shop book")
    assert "birch plywood 3 mm" not in [stock.name for stock in case.window.desk.stocks]


@of("put offcut")
def _an_offcut_can_be_entered(case: Case) -> None:
    case.window.go_to(Step.CUT_FILE)
    case.do("put offcut")
    form = case.window.sheets.settings.offcuts.put_form
    assert form.heading.text() == "Offcut of birch plywood 3 mm"
    assert case.window.focusWidget() is form.width_field


@of("take off")
def _an_offcut_can_leave_the_shelf(case: Case) -> None:
    case.do("take off")
    assert case.window.status.said() == "No offcut of this stock is on the shelf."


@of("new machine")
def _a_machine_can_be_entered(case: Case) -> None:
    case.do("new machine")
    form = case.window.cut_file.machine_box.form
    assert form.isVisible()
    assert form.heading.text() == "New machine"
    assert case.window.focusWidget() is form.name


@of("change machine")
def _the_machine_of_the_job_can_be_changed(case: Case) -> None:
    case.wait("till")
    case.do("change machine")
    form = case.window.cut_file.machine_box.form
    assert form.heading.text() == "Change workshop laser"
    assert form.layers["outer"].words() == "CUT-OUTER"


@of("remove machine")
def _the_machine_of_the_job_leaves_the_book(case: Case) -> None:
    case.wait("till")
    case.do("remove machine")
    case.wait("shop book")
    assert case.window.desk.machines.all == ()


@of("tour")
def _the_tour_begins(case: Case) -> None:
    case.do("tour")
    tour = case.window.rounds.tour
    assert tour is not None
    assert tour.isVisible()
    tour.end()


@pytest.mark.parametrize("name", sorted(CHECKS))
def test_a_command_does_what_it_says(
    qtbot: QtBot,
    sheets: Window,
    answers: Answers,
    tmp_path: Path,
    sample_panels: Path,
    name: str,
) -> None:
    CHECKS[name](Case(qtbot, sheets, answers, tmp_path, sample_panels))
    assert not sheets.desk.troubles


def test_every_command_is_checked_here(window: Window) -> None:
    assert {act.name for act in window.acts.acts} == set(CHECKS)
