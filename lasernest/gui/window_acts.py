"""The list of everything a window can be told to do."""

from __future__ import annotations

from collections.abc import Callable
from functools import partial
from pathlib import Path
from typing import TYPE_CHECKING

from lasernest.gui.lengths import lengths
from lasernest.gui.look.theme import Brightness, theme
from lasernest.gui.menu import Act
from lasernest.gui.tiles import Step
from lasernest.gui.words import tr

if TYPE_CHECKING:
    from lasernest.gui.window import Window

TEXT_SCALES = (0.9, 1.0, 1.15, 1.3, 1.5)


def window_acts(window: Window) -> list[Act]:
    """All acts, in the order of the menu."""
    desk, canvas, settings = window.desk, window.board.canvas, window.settings

    def brightness(which: Brightness) -> None:
        settings.brightness = which.name
        theme.choose(brightness=which)

    def contrast() -> None:
        settings.high_contrast = not theme.high_contrast
        theme.choose(high_contrast=settings.high_contrast)

    def text(step: int) -> None:
        nearest = min(TEXT_SCALES, key=lambda s: abs(s - theme.text_scale))
        at = min(max(TEXT_SCALES.index(nearest) + step, 0), len(TEXT_SCALES) - 1)
        settings.text_scale = TEXT_SCALES[at]
        theme.choose(text_scale=settings.text_scale)

    def unit() -> None:
        settings.inches = not lengths.inches
        lengths.show_inches(settings.inches)

    def recent() -> list[tuple[str, Callable[[], object]]]:
        there = [path for path in map(Path, settings.recent_jobs) if path.is_file()]
        return [(path.stem, partial(window.take_files, [path])) for path in there]

    job, edit, view, look, help_ = tr("Job"), tr("Edit"), tr("View"), tr("Looks"), tr("Help")
    acts = [
        Act("new", job, tr("New job"), lambda: window.another_wanted.emit(None), "Ctrl+N"),
        Act("open drawings", job, tr("Open drawings…"), window.open_drawings, "Ctrl+O"),
        Act("open job", job, tr("Open job…"), window.ask_job, "Ctrl+Shift+O"),
        Act("recent", job, tr("Open recent"), _nothing, choices=recent),
        Act("sample", job, tr("Open the sample job"), window.open_sample),
        Act("save", job, tr("Save job"), window.save, "Ctrl+S"),
        Act("save as", job, tr("Save job as…"), window.save_as, "Ctrl+Shift+S"),
        Act("arrange", job, tr("Arrange on sheets"), desk.arrange, "Ctrl+R"),
        Act("stop", job, tr("Stop, keep best"), desk.stop, "Ctrl+."),
        Act("write", job, tr("Write cut file"), window.write_cut_file, "Ctrl+E"),
        Act("close", job, tr("Close window"), window.close, "Ctrl+W"),
        Act("undo", edit, tr("Undo"), desk.undo, "Ctrl+Z"),
        Act("redo", edit, tr("Redo"), desk.redo, "Ctrl+Shift+Z | Ctrl+Y"),
        Act("remove", edit, tr("Remove chosen panels"), window.outlines.remove_chosen),
        Act("propose", edit, tr("Propose joints"), window.joints.propose),
    ]
    acts += [
        Act(f"go {step.name}", view, step.value, partial(window.go_to, step), f"Ctrl+{n}")
        for n, step in enumerate(Step, start=1)
    ]
    acts += [
        Act("fit", view, tr("Show everything"), canvas.fit, "Ctrl+0"),
        Act("real size", view, tr("Real size (1:1)"), canvas.real_size),
        Act("nearer", view, tr("Nearer"), lambda: canvas.zoom(1.25), "Ctrl++ | Ctrl+="),
        Act("farther", view, tr("Farther"), lambda: canvas.zoom(0.8), "Ctrl+-"),
        Act("measure", view, tr("Measure a distance"), window.board.measure_button.toggle, "M"),
        Act("play", view, tr("Play the cut, or pause"), window.play_cut, "F5"),
        Act("swept kerf", view, tr("Swept kerf shown or hidden"), window.toggle_kerf, "K"),
        Act("unit", view, tr("Inches or millimetres"), unit, "Ctrl+I"),
        Act("system", look, tr("Like the system"), lambda: brightness(Brightness.SYSTEM)),
        Act("light", look, tr("Light"), lambda: brightness(Brightness.LIGHT)),
        Act("dark", look, tr("Dark"), lambda: brightness(Brightness.DARK)),
        Act("contrast", look, tr("High contrast on or off"), contrast),
        Act("larger text", look, tr("Larger text"), lambda: text(1), "Ctrl+Alt++"),
        Act("smaller text", look, tr("Smaller text"), lambda: text(-1), "Ctrl+Alt+-"),
        Act("guide", help_, tr("Guide to this step"), window.show_guide, "F1"),
        Act("cautions", help_, tr("Cautions"), lambda: window.show_guide("cautions")),
        Act("keys", help_, tr("Keys"), lambda: window.show_guide("keys")),
        Act("changes", help_, tr("What changed"), lambda: window.show_guide("changes")),
    ]
    return acts


def _nothing() -> None:
    """An act that only opens its submenu."""
