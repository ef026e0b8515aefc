"""The list of everything a window can be told to do."""

from __future__ import annotations

from collections.abc import Callable
from functools import partial
from pathlib import Path
from typing import TYPE_CHECKING

from lasernest.files import file_is_there
from lasernest.gui import preferences
from lasernest.gui.lengths import lengths
from lasernest.gui.look.theme import Brightness, theme
from lasernest.gui.main_action import press_main
from lasernest.gui.menu import Act
from lasernest.gui.shop_acts import shop_acts
from lasernest.gui.tiles import Step
from lasernest.gui.words import tr

if TYPE_CHECKING:
    from lasernest.gui.window import Window


def window_acts(window: Window) -> list[Act]:
    """All acts, in the order of the menu."""
    desk, canvas, settings = window.desk, window.board.canvas, window.settings

    def brightness(which: Brightness) -> None:
        preferences.choose_brightness(settings, which)

    def contrast() -> None:
        preferences.choose_contrast(settings, not theme.high_contrast)

    def unit() -> None:
        preferences.choose_inches(settings, not lengths.inches)

    def recent() -> list[tuple[str, Callable[[], object]]]:
        there = [path for path in map(Path, settings.recent_jobs) if file_is_there(path)]
        return [(path.stem, partial(window.take_files, [path])) for path in there]

    job, edit, view, look, help_ = tr("Job"), tr("Edit"), tr("View"), tr("Looks"), tr("Help")
    acts = [
        Act(
            "new",
            job,
            tr("New job"),
            lambda: window.another_wanted.emit(None),
            "Ctrl+N",
            tr("Open a second window with an empty job"),
        ),
        Act(
            "open drawings",
            job,
            tr("Open drawings…"),
            window.open_drawings,
            "Ctrl+O",
            tr("Bring the panels of DXF or SVG files into this job"),
        ),
        Act(
            "open job",
            job,
            tr("Open job…"),
            window.ask_job,
            "Ctrl+Shift+O",
            tr("Go on with a job that was saved; a window in use is left alone"),
        ),
        Act(
            "recent",
            job,
            tr("Open recent"),
            _nothing,
            explain=tr("Jobs opened or saved most recently"),
            choices=recent,
        ),
        Act(
            "sample",
            job,
            tr("Open the sample job"),
            window.open_sample,
            explain=tr("A seed cabinet of six drawers, to try things on"),
        ),
        Act(
            "save",
            job,
            tr("Save job"),
            window.save,
            "Ctrl+S",
            tr("Keep panels, joints, choices and plan in a job file"),
        ),
        Act(
            "save as",
            job,
            tr("Save job as…"),
            window.save_as,
            "Ctrl+Shift+S",
            tr("Save under another name or in another folder"),
        ),
        Act(
            "arrange",
            job,
            tr("Arrange on sheets"),
            desk.arrange,
            "Ctrl+R",
            tr("Look for the plan with the fewest sheets; it shows the best so far"),
        ),
        Act(
            "longer",
            job,
            tr("Search longer"),
            window.sheets.search_longer,
            explain=tr("Go on from this plan, three times as long"),
        ),
        Act(
            "stop",
            job,
            tr("Stop, keep best"),
            desk.stop,
            "Ctrl+.",
            tr("End what is running and keep the best found so far"),
        ),
        Act(
            "cancel",
            job,
            tr("Cancel"),
            desk.cancel,
            explain=tr("End what is running and drop its result"),
        ),
        Act(
            "main",
            job,
            tr("Main action of this step"),
            lambda: press_main(window.page.card, window.stage),
            "Ctrl+Return | Ctrl+Enter",
            tr("The filled button: arrange, write, use what was measured, compare"),
        ),
        Act(
            "recut",
            job,
            tr("Cut chosen panels again"),
            window.sheets.recut_chosen,
            explain=tr("Panels of a sheet that were spoiled, planned anew in a second window"),
        ),
        Act(
            "write",
            job,
            tr("Write cut file"),
            window.write_cut_file,
            "Ctrl+E",
            tr("Write the plan, read the file back and prove it"),
        ),
        Act(
            "compare",
            job,
            tr("Compare stocks"),
            window.show_compare,
            "Ctrl+Shift+C",
            tr("This job on two or more stocks, side by side: sheets, time, cost"),
        ),
        Act(
            "comb",
            job,
            tr("Write the comb"),
            window.write_comb,
            explain=tr("A small test piece that tells kerf and fit of the chosen stock"),
        ),
        Act(
            "picture",
            job,
            tr("Save a picture"),
            _nothing,
            explain=tr("Sheet plans, drawings and plots as PNG, SVG or PDF"),
            choices=window.picture_choices,
        ),
        Act(
            "job sheet",
            job,
            tr("Job sheet…"),
            window.cut_file.ask_job_sheet,
            "Ctrl+P",
            tr("For the bench: plans, kerf, order of work, figures, proof and cautions"),
        ),
        Act(
            "template",
            job,
            tr("Paper template"),
            _nothing,
            explain=tr("Panels or a sheet at full size as PDF, tiled over A4, Letter or A3"),
            choices=window.template_choices,
        ),
        Act(
            "close",
            job,
            tr("Close window"),
            window.close,
            "Ctrl+W",
            tr("A job that was not saved is kept and offered at the next start"),
        ),
        Act("undo", edit, tr("Undo"), desk.undo, "Ctrl+Z", tr("Take back the last change")),
        Act(
            "redo",
            edit,
            tr("Redo"),
            desk.redo,
            "Ctrl+Shift+Z | Ctrl+Y",
            tr("Do again what was taken back"),
        ),
        Act(
            "find panels",
            edit,
            tr("Find panels"),
            window.find_panels,
            "Ctrl+L",
            tr("Words of a name, a drawing, or what a panel has"),
        ),
        Act(
            "remove",
            edit,
            tr("Remove chosen panels"),
            window.outlines.remove_chosen,
            explain=tr("Take the panels chosen in the list out of the job"),
        ),
        Act(
            "propose",
            edit,
            tr("Propose joints"),
            window.joints.propose,
            explain=tr("Look for free edges of the same length, neighbours first"),
        ),
    ]
    acts += shop_acts(window)
    acts += [
        Act(
            f"go {step.name}",
            view,
            tr(step.value),
            partial(window.go_to, step),
            f"Ctrl+{n}",
            tr("Go to the step {step}", step=tr(step.value)),
        )
        for n, step in enumerate(Step, start=1)
    ]
    acts += [
        Act(
            "fit",
            view,
            tr("Show everything"),
            canvas.fit,
            "Ctrl+0",
            tr("Fit the whole drawing into the board"),
        ),
        Act(
            "real size",
            view,
            tr("Real size (1:1)"),
            canvas.real_size,
            explain=tr("One millimetre here is one millimetre on the screen"),
        ),
        Act(
            "nearer",
            view,
            tr("Zoom in"),
            lambda: canvas.zoom(1.25),
            "Ctrl++ | Ctrl+=",
            tr("Show the drawing larger"),
        ),
        Act(
            "farther",
            view,
            tr("Zoom out"),
            lambda: canvas.zoom(0.8),
            "Ctrl+-",
            tr("Show the drawing smaller"),
        ),
        Act(
            "measure",
            view,
            tr("Measure a distance"),
            window.board.measure_button.toggle,
            "M",
            tr("Drag from point to point; corners attract the pointer"),
        ),
        Act(
            "play",
            view,
            tr("Play the cut, or pause"),
            window.play_cut,
            "F5",
            tr("Show the beam's way over the sheet in order"),
        ),
        Act(
            "swept kerf",
            view,
            tr("Swept kerf shown or hidden"),
            window.toggle_kerf,
            "K",
            tr("What the beam takes away, drawn as a band"),
        ),
        Act(
            "unit",
            view,
            tr("Inches or millimetres"),
            unit,
            "Ctrl+I",
            tr("Show and read all lengths in the other unit"),
        ),
        Act(
            "system",
            look,
            tr("Like the system"),
            lambda: brightness(Brightness.SYSTEM),
            explain=tr("Light or dark as the system is"),
        ),
        Act(
            "light",
            look,
            tr("Light"),
            lambda: brightness(Brightness.LIGHT),
            explain=tr("Dark lines on light paper"),
        ),
        Act(
            "dark",
            look,
            tr("Dark"),
            lambda: brightness(Brightness.DARK),
            explain=tr("Light lines on a dark ground"),
        ),
        Act(
            "contrast",
            look,
            tr("High contrast on or off"),
            contrast,
            explain=tr("Stronger colours and borders"),
        ),
        Act(
            "larger text",
            look,
            tr("Larger text"),
            partial(preferences.step_text_scale, settings, 1),
            "Ctrl+Alt++",
            tr("Make all texts and fields a step larger"),
        ),
        Act(
            "smaller text",
            look,
            tr("Smaller text"),
            partial(preferences.step_text_scale, settings, -1),
            "Ctrl+Alt+-",
            tr("Make all texts and fields a step smaller"),
        ),
        Act(
            "settings",
            look,
            tr("Settings…"),
            window.stage.show_settings,
            "Ctrl+,",
            tr("Looks, units, usual values, and where records lie"),
        ),
        Act(
            "find",
            help_,
            tr("Find a command…"),
            window.search.open,
            "Ctrl+K",
            tr("Type a few letters of what you want to do"),
        ),
        Act(
            "guide",
            help_,
            tr("Guide to this step"),
            window.show_guide,
            "F1",
            tr("What this step is for, and how it is done"),
        ),
        Act(
            "cautions",
            help_,
            tr("Cautions"),
            lambda: window.show_guide("cautions"),
            explain=tr("What holds for every job with a laser"),
        ),
        Act(
            "keys",
            help_,
            tr("Keys"),
            lambda: window.show_guide("keys"),
            explain=tr("Everything that has a key"),
        ),
        Act(
            "tour",
            help_,
            tr("Show me round"),
            window.rounds.start,
            explain=tr("Six short stops on the way from drawing to cut file"),
        ),
        Act(
            "changes",
            help_,
            tr("What changed"),
            lambda: window.show_guide("changes"),
            explain=tr("What is new in this version"),
        ),
    ]
    return acts


def _nothing() -> None:
    """An act that only opens its submenu."""
