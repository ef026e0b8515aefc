"""Plays the cut of the sheet that is shown, and shows what the beam sweeps away.

The cut is worked out in the background when it is first asked for, from the
plan as it is now; a written cut file brings its own.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from functools import partial
from typing import TYPE_CHECKING

from PySide6.QtCore import QObject

from lasernest.domain.control import Control
from lasernest.domain.cutting import SheetCut
from lasernest.domain.plan import SheetPlan
from lasernest.gui.board.play_bar import PlayBar
from lasernest.gui.board.played import PlayedCut
from lasernest.gui.board.sheet_scene import PanelKey, SheetScene
from lasernest.gui.desk import Desk
from lasernest.gui.tiles import Step
from lasernest.gui.words import tr
from lasernest.job import Setup
from lasernest.services.apart import helpers

if TYPE_CHECKING:
    from lasernest.services.cut_timeline import CutTimeline


@dataclass(frozen=True, slots=True)
class ToPlay:
    """A sheet whose cut can be played."""

    plan: SheetPlan
    cut: SheetCut | None = None
    """As it was written; None when it is still to be worked out."""


class CutPlayer(QObject):
    """Plays one page's sheet.

    Args:
        desk: runs the work.
        scene: shows the cut.
        step: where problems are shown.
        shown: the sheet on the page, None while there is none to be cut.
    """

    def __init__(
        self, desk: Desk, scene: SheetScene, step: Step, shown: Callable[[], ToPlay | None]
    ) -> None:
        super().__init__()
        self._desk, self._scene, self._step, self._shown_sheet = desk, scene, step, shown
        self._kind = f"cut paths {step.name}"
        self.bar = PlayBar()
        self.bar.prepared_wanted.connect(self._prepare)
        self.bar.moved.connect(scene.play_at)
        self.bar.paths_wanted.connect(self._step_paths)
        self.bar.kerf_toggled.connect(self._show_kerf)
        scene.show_kerf(False)
        self._timeline: CutTimeline | None = None
        self._for: tuple[object, ...] = ()
        self._play_from: PanelKey | None = None

    @property
    def timeline(self) -> CutTimeline | None:
        """The cut that is worked out."""
        return self._timeline

    def _shown(self) -> ToPlay | None:
        """Nothing can be timed without a machine."""
        return None if self._desk.machines.lacking else self._shown_sheet()

    def _key(self) -> tuple[object, ...]:
        job = self._desk.job
        machine = self._desk.machines.chosen
        return (self._shown(), self._setup(), job.cutting, self._desk.panels, machine)

    def _setup(self) -> Setup:
        """What holds for the stock of the sheet that is shown."""
        to_play, setup = self._shown(), self._desk.job.setup
        return setup.for_stock(to_play.plan.sheet.stock_name) if to_play is not None else setup

    def refresh(self) -> None:
        """The page shows its sheet anew: take the cut along when it is still that one."""
        to_play = self._shown()
        self.bar.setVisible(to_play is not None)
        key = self._key()
        if key == self._for:
            if self._timeline is not None:
                self._hand_over(self._timeline, at_s=self.bar.seconds)
            return
        self._for = key
        self._timeline = None
        self._desk.tasks.drop(self._kind)
        self.bar.forget()
        self._scene.show_played(None)
        if to_play is not None and self.bar.kerf_button.isChecked():
            self._prepare()

    def hide(self) -> None:
        """Another page is shown."""
        self.bar.pause()
        self.bar.hide()

    def toggle(self) -> None:
        """Play, or pause."""
        if self._shown() is not None:
            self.bar.toggle()

    def put_away(self) -> bool:
        """Stop showing a moment; False when none was shown."""
        shown = self._scene.is_played
        if shown:
            self.bar.put_away()
        return shown

    def play_from(self, key: PanelKey) -> None:
        """Play from where a copy's first line is begun."""
        self._play_from = key
        if self._timeline is None:
            self._prepare()
        else:
            self._start_there()

    def _start_there(self) -> None:
        key, self._play_from = self._play_from, None
        first = self._timeline.first_of(*key) if self._timeline is not None and key else None
        if first is None or self._timeline is None:
            return
        self.bar.go_to(max(self._timeline.start_s(first), 0.001))
        if not self.bar.playing:
            self.bar.toggle()

    # --- working it out ------------------------------------------------------------------

    def _prepare(self) -> None:
        to_play, desk = self._shown(), self._desk
        setup, panels = self._setup(), desk.panels
        stock, kerf = setup.stock, setup.used_kerf
        if to_play is None or stock is None or kerf is None:
            return
        plan, cut, workbench = to_play.plan, to_play.cut, desk.workbench
        job = desk.job

        def work(control: Control) -> CutTimeline:
            from lasernest.services.cut_timeline import CutTimeline  # noqa: PLC0415 - heavy
            from lasernest.services.planned_cut import planned_timeline  # noqa: PLC0415 - heavy

            machine, speed = workbench.machine_of(job), stock.cut_speed_mm_per_s
            if cut is not None:
                return CutTimeline(cut, machine, cut_speed_mm_per_s=speed)
            used = {p.panel_name: panels[p.panel_name] for p in plan.placements}
            timing = partial(
                planned_timeline,
                plan,
                used,
                kerf=kerf,
                machine=machine,
                cut_speed_mm_per_s=speed,
                choices=job.cutting,
            )
            return helpers.do(timing, control=control)

        desk.tasks.run(
            self._kind,
            tr("Working out the cut"),
            work,
            on_done=self._take,
            on_failed=lambda e: desk.trouble(self._step, tr("Working out the cut"), e),
        )

    def _take(self, timeline: CutTimeline) -> None:
        self._timeline = timeline
        self._hand_over(timeline, at_s=0.0)
        self.bar.take(timeline.total_s)
        if self._play_from is not None:
            self._start_there()

    def _hand_over(self, timeline: CutTimeline, *, at_s: float) -> None:
        kerf = self._setup().used_kerf
        if kerf is not None:
            self._scene.show_cut(timeline.cut, kerf.mean_mm)
        if self._scene.played is None or self._scene.played.timeline is not timeline:
            played = PlayedCut(timeline)
            played.go_to(at_s)
            self._scene.show_played(played)

    def _show_kerf(self, shown: bool) -> None:
        self._scene.show_kerf(shown)
        if shown and self._timeline is None:
            self._prepare()

    def _step_paths(self, by: int) -> None:
        """To the beginning of the next path, or of the one before."""
        timeline = self._timeline
        if timeline is None:
            return
        moment = timeline.moment(self.bar.seconds)
        here_s = timeline.start_s(moment.path)
        at = moment.path + by
        if by < 0 and self.bar.seconds - here_s > 0.5:
            at = moment.path
        at = min(max(at, 0), len(timeline.paths))
        self.bar.go_to(timeline.start_s(at))
