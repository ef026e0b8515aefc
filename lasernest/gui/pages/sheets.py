"""Sheets: what the panels are cut from, and how they lie on it."""

from __future__ import annotations

from collections.abc import Sequence
from functools import partial

from PySide6.QtCore import QPoint, QRectF, Signal
from PySide6.QtGui import QPainterPath
from PySide6.QtWidgets import QWidget

from lasernest.domain.offcuts import LEAST_OFFCUT_MM
from lasernest.domain.plan import Plan, Sheet, SheetPlan
from lasernest.domain.stock import Kerf, Stock
from lasernest.gui.board.frame import Board
from lasernest.gui.board.handled_scene import HandledScene
from lasernest.gui.board.legend import Sign
from lasernest.gui.board.pictures import PictureSet, plot_picture
from lasernest.gui.board.progress_plot import ProgressPlot
from lasernest.gui.board.scene import Scene
from lasernest.gui.board.sheet_scene import PanelKey
from lasernest.gui.board.strip import PlanStrip, SmallText
from lasernest.gui.cut_player import CutPlayer, ToPlay
from lasernest.gui.desk import Desk
from lasernest.gui.lengths import lengths
from lasernest.gui.look.signs import State
from lasernest.gui.obstacles import judged_materials, refuses
from lasernest.gui.pages.left_out import copies_left_out, left_out_notes
from lasernest.gui.pages.material_notes import refusals
from lasernest.gui.pages.page import Page
from lasernest.gui.pages.plan_box import PlanBox, percent, sheets_text
from lasernest.gui.pages.sheet_settings import SheetSettings
from lasernest.gui.parts.basics import button
from lasernest.gui.parts.empty import EmptyPage
from lasernest.gui.parts.entries import PART, Entry, open_menu
from lasernest.gui.parts.notes import Answer, Note, NoteList
from lasernest.gui.parts.placed_box import PlacedBox
from lasernest.gui.plan_pictures import plan_pictures
from lasernest.gui.sheet_hands import SheetHands
from lasernest.gui.template_writer import Template
from lasernest.gui.tiles import Step, TileText
from lasernest.gui.words import count_of, tr
from lasernest.job import working_parts
from lasernest.services.plan_commands import key_of


class SheetsPage(Page):
    """The fourth step, and the heart of the main job."""

    step = Step.SHEETS
    write_wanted = Signal()
    kerf_wanted = Signal()
    compare_wanted = Signal()
    outlines_wanted = Signal()

    def __init__(self, desk: Desk, board: Board, strip: PlanStrip) -> None:
        super().__init__(desk, board, tr("Sheets"))
        self.scene_of_sheet = HandledScene()
        self.hands = SheetHands(desk, self.scene_of_sheet, lambda: self.index)
        self.hands.sheet_wanted.connect(self.show_sheet)
        self.scene_of_sheet.chosen_changed.connect(lambda _keys: self._show_chosen())
        self.scene_of_sheet.entries_for = self._entries
        self.scene_of_sheet.sheet_at = self._sheet_at
        self.player = CutPlayer(desk, self.scene_of_sheet, self.step, self._to_play)
        self.scene_of_sheet.put_away_wanted.connect(self.player.put_away)
        self.player.bar.kerf_toggled.connect(lambda _on: self.put_on_board())
        board.below.insertWidget(0, self.player.bar)
        self.strip = strip
        strip.chosen.connect(self.show_sheet)
        strip.menu_wanted.connect(self._open_strip_menu)
        self.index = 0
        self._kerf_accepted: set[str] = set()
        self._empty = EmptyPage(
            tr("No panels to arrange yet"),
            tr("Bring in the outlines first; then they can be arranged on sheets here."),
            button(tr("Go to Outlines"), self.outlines_wanted.emit, kind="main"),
        )
        self.settings = SheetSettings(desk)
        self.settings.picker.picked.connect(self._look_at_stock)
        self.first_notes = NoteList()
        self.card.add(self.first_notes, self.settings)
        self.figures = PlanBox(desk)
        self.card.add(self.figures)
        self.placed = PlacedBox()
        self.placed.place_typed.connect(self.hands.put_at)
        self.placed.pin_wanted.connect(self.hands.pin)
        self.placed.turn_wanted.connect(self.hands.turn)
        self.card.add(self.placed)
        self.notes = NoteList()
        self.progress = ProgressPlot()
        self.progress.entries = lambda: [self.picture_entry()]
        self.card.add(self.notes, self.progress)
        self.card.close_column()
        self.main_button = button("", self._main, kind="main")
        self.longer_button = button(
            tr("Search longer"),
            self.search_longer,
            tip=tr("Go on from this plan, three times as long; you can stop at any time"),
        )
        self.again_button = button(
            tr("Arrange again"),
            desk.arrange,
            tip=tr("Start afresh; this plan stays unless a better one is found (Ctrl+R)"),
        )
        self.compare_button = button(
            tr("Compare stocks"),
            self.compare_wanted.emit,
            tip=tr("This job on two or more stocks, side by side (Ctrl+Shift+C)"),
        )
        self.card.set_actions(
            self.main_button, self.again_button, self.longer_button, self.compare_button
        )
        self.refresh()

    # --- what is shown ---------------------------------------------------------------

    def scene(self) -> Scene | None:
        return self.scene_of_sheet if self.desk.job.panels else None

    def first_words(self) -> QWidget:
        return self._empty

    def signs(self) -> Sequence[Sign]:
        marks = {m.kind.value for p in self.desk.job.panels for m in p.panel.marks}
        signs = [Sign.OUTER, Sign.INNER]
        signs += [sign for sign in (Sign.SCORE, Sign.ENGRAVE) if sign.value in marks]
        if self.scene_of_sheet.kerf_shown:
            signs.append(Sign.KERF)
        return [*signs, Sign.OFFCUT] if self.scene_of_sheet.has_kept else signs

    def leave(self) -> None:
        super().leave()
        self.player.hide()
        self.strip.hide()

    def tile(self) -> TileText:
        desk, plan = self.desk, self.desk.shown_plan
        figures = desk.figures
        if desk.arranging:
            figure = sheets_text(figures, plan) if figures else tr("arranging…")
            return TileText(figure, self.figures.line(), State.RUNNING, tr("running"))
        troubled = [t for t in desk.troubles if t.step is self.step]
        if troubled:
            there = plan is not None and figures is not None
            figure = sheets_text(figures, plan) if there and figures else tr("not arranged")
            return TileText(figure, troubled[0].what, State.BLOCKED, tr("problem"))
        if plan is None or figures is None:
            stock = desk.job.setup.stock
            return TileText(
                tr("not arranged yet"),
                desk.in_view.count_words or (stock.name if stock else tr("no stock chosen")),
                State.NOTHING,
                tr("nothing yet"),
            )
        figure, rests = sheets_text(figures, plan), self.figures.line()
        if left := copies_left_out(plan):
            return TileText(figure, rests, State.BLOCKED, tr("{n} left out", n=left))
        return TileText(figure, rests, State.DONE, tr("done"))

    def refresh(self) -> None:
        self.refresh_plan()
        self.settings.refresh()
        self.put_on_board()

    def refresh_plan(self) -> None:
        """Show the plan as it is now; cheap enough for every improvement."""
        desk, plan = self.desk, self.desk.shown_plan
        count = len(plan.sheets) if plan else 0
        self.index = min(self.index, max(count - 1, 0))
        self._keep_stock_in_view(plan)
        self._show_scene(plan)
        self.figures.show_sheet(self.index)
        there = desk.job.plan is not None and not desk.arranging
        fresh = there and count > 0
        self.main_button.setText(
            tr("Stop, keep best")
            if desk.arranging
            else (tr("Write cut file") if fresh else tr("Arrange on sheets"))
        )
        self.main_button.setToolTip(
            "Ctrl+." if desk.arranging else ("Ctrl+E" if fresh else "Ctrl+R")
        )
        materials = judged_materials(desk.job)
        # What found no place is missed at the machine, so it is told before any figure.
        left_out = left_out_notes(plan) if plan is not None and there else []
        self.first_notes.show_notes([*self.trouble_notes(), *refusals(materials), *left_out])
        no_file = fresh and refuses(materials)
        ready = desk.job.has_work and desk.job.setup.stock is not None
        self.main_button.setEnabled(ready and not no_file)
        held = plan is not None and any(
            s.locked or any(p.pinned for p in s.placements) for s in plan.sheets
        )
        self.again_button.setText(tr("Arrange the rest") if held else tr("Arrange again"))
        self.again_button.setVisible(fresh)
        self.longer_button.setVisible(fresh)
        self.notes.show_notes(self._notes())
        self.progress.show_plan(plan)
        self._show_chosen()
        self._show_strip()
        self.player.refresh()
        if self.shown and self.scene() is not None:
            self.board.legend.explain(self.signs())

    def _keep_stock_in_view(self, plan: Plan | None) -> None:
        """Show a sheet of the stock in view; where there is none, the card follows the sheet."""
        setup, view = self.desk.job.setup, self.desk.in_view
        if plan is None or not plan.sheets or not setup.other_stocks:
            return
        names = [
            "" if setup.is_own(s.sheet.stock_name) else s.sheet.stock_name for s in plan.sheets
        ]
        if names[self.index] != view.name:
            if view.name in names:
                self.index = names.index(view.name)
            else:
                view.look(names[self.index])

    def _look_at_stock(self, name: str) -> None:
        """The card speaks of this stock, and its first sheet is shown."""
        self.desk.in_view.look(name)
        self.refresh()

    def _to_play(self) -> ToPlay | None:
        plan = self.desk.job.plan
        if not self.shown or self.desk.arranging or plan is None or self.index >= len(plan.sheets):
            return None
        return ToPlay(plan.sheets[self.index])

    def templates(self) -> Sequence[Template]:
        return self.sheet_templates(self.index)

    def pictures(self) -> Sequence[PictureSet]:
        plan = self.desk.shown_plan
        if plan is None or not plan.sheets:
            return ()
        sets = plan_pictures(self.desk, plan, self.index, self.signs())
        if len(self.progress.points) > 1:
            name = f"{self.desk.job.name or tr('job')}-search"
            sets.append(PictureSet(tr("The search"), name, (plot_picture(self.progress.draw),)))
        return sets

    def _sheet_at(self, x_mm: float, y_mm: float) -> int | None:
        """Another sheet whose small plan lies under a place of the canvas."""
        canvas = self.board.canvas
        at = self.strip.sheet_at(canvas.mapToGlobal(canvas.view.to_screen(x_mm, y_mm).toPoint()))
        return at if at in self.hands.targets() else None

    def _open_strip_menu(self, at: QPoint) -> None:
        if self.shown and (entries := self._entries(frozenset())):
            open_menu(self.strip, entries, at)

    def _entries(self, keys: frozenset[PanelKey]) -> Sequence[Entry]:
        entries = list(self.hands.entries(keys))
        if entries:
            text = (
                tr("Hide the swept kerf")
                if self.scene_of_sheet.kerf_shown
                else tr("Show the swept kerf")
            )
            entries.append(Entry(text, self.player.bar.kerf_button.toggle, "K"))
            if len(keys) == 1:
                play = partial(self.player.play_from, next(iter(keys)))
                entries.append(Entry(tr("Play the cut from here"), play))
            else:
                entries.append(Entry(tr("Play the cut"), self.player.toggle, "F5"))
            if keys and self.desk.job.plan is not None:
                entries.append(self.recut_entry(keys))
            entries += [PART, self.picture_entry(), self.template_entry()]
        return entries

    def _show_chosen(self) -> None:
        chosen = self.hands.chosen()
        name = ""
        if chosen:
            placed = self.scene_of_sheet.placed_at(key_of(chosen[0]))
            one = placed.label if placed is not None else chosen[0].panel_name
            name = one if len(chosen) == 1 else count_of(len(chosen), "panel", "panels")
        shows_first = bool(chosen) and self.placed.isHidden()
        self.placed.show_panels(
            name, self.hands.corner_mm(), pinned=bool(chosen) and all(p.pinned for p in chosen)
        )
        if shows_first:
            self.card.reveal(self.placed)

    def _show_scene(self, plan: Plan | None) -> None:
        setup, view = self.desk.job.setup, self.desk.in_view.setup
        size = view.chosen_size
        hint = ""
        if plan is not None and plan.sheets:
            sheet_plan = plan.sheets[self.index]
            right = tr("sheet {n} of {all}", n=self.index + 1, all=len(plan.sheets))
            if sheet_plan.locked:
                right += " · " + tr("locked")
        elif size is not None:
            of = self.desk.in_view.name
            sheet = Sheet(size.width_mm, size.height_mm, setup.margin_mm, stock_name=of)
            nothing_fits = plan is not None and bool(plan.unplaced) and not self.desk.arranging
            sheet_plan = SheetPlan(sheet, ())
            right = tr("nothing fits") if nothing_fits else tr("not arranged yet")
            panels = count_of(self.desk.job.panel_count, "panel", "panels")
            hint = (
                tr("No panel fits on sheets of this size; the card says why.")
                if nothing_fits
                else tr("Arranging {panels}; the first plan will show here.", panels=panels)
                if self.desk.arranging
                else tr(
                    "{panels} to arrange on sheets of this size: Ctrl+R, or the button at the "
                    "right.",
                    panels=panels,
                )
            )
        else:
            self.scene_of_sheet.show_plan(None, {})
            return
        sheet = sheet_plan.sheet
        own = setup.for_stock(sheet.stock_name)
        left = [
            sheet.label if sheet.is_offcut else (own.stock.name if own.stock else ""),
            lengths.size(sheet.width_mm, sheet.height_mm, 1),
        ]
        if own.grain_kept:
            left.append(tr("grain →"))
        self.scene_of_sheet.show_plan(
            sheet_plan,
            self.desk.panels,
            left=" · ".join(p for p in left if p),
            right=right,
            hint=hint if self.desk.job.has_work else self._no_work(),
        )
        figures = self.desk.figures
        if figures is not None and plan is not None and plan.sheets:
            self._show_kept(sheet, figures.sheets[self.index].used_length_mm)

    def _no_work(self) -> str:
        if not self.desk.job.panels:
            return ""
        return tr("No panel is to be cut: all have quantity 0. Give them one at Outlines.")

    def _show_kept(self, sheet: Sheet, used_length_mm: float) -> None:
        """Hatch what is left to the right of the panels, when it is worth keeping."""
        rest_mm = sheet.width_mm - used_length_mm
        if rest_mm < LEAST_OFFCUT_MM or sheet.outline is not None:
            return
        kept = QPainterPath()
        kept.addRect(QRectF(used_length_mm, 0.0, rest_mm, sheet.height_mm))
        self.scene_of_sheet.show_kept(kept)

    def _show_strip(self) -> None:
        plan, figures = self.desk.shown_plan, self.desk.figures
        if not self.shown or plan is None or figures is None:
            self.strip.hide()
            return
        mixed = len({one.sheet.stock_name for one in plan.sheets}) > 1
        texts = [
            SmallText(
                tr("Sheet {n}", n=i + 1),
                f"{percent(f.yield_share, 0)}, {count_of(f.panels, 'panel', 'panels')}",
                one.sheet.stock_name if mixed else "",
            )
            for i, (one, f) in enumerate(zip(plan.sheets, figures.sheets, strict=True))
        ]
        self.strip.show_plans(plan.sheets, self.desk.panels, texts, self.index)

    def show_sheet(self, index: int) -> None:
        """Look at another sheet."""
        self.index = index
        plan = self.desk.shown_plan
        if plan is not None and index < len(plan.sheets):
            self.desk.in_view.look(plan.sheets[index].sheet.stock_name)
        self.refresh_plan()
        self.settings.refresh()

    # --- questions ---------------------------------------------------------------------

    def _notes(self) -> list[Note]:
        desk = self.desk
        notes: list[Note] = []
        for setup in (part.setup for part in working_parts(desk.job)):
            kerf, stock = setup.used_kerf, setup.stock
            if kerf is None or stock is None or kerf.measured or setup.kerf is not None:
                continue
            key = f"{stock.name} {kerf.mean_mm}"
            if key not in self._kerf_accepted:
                notes.append(self._kerf_question(stock, kerf, key))
        return notes

    def _kerf_question(self, stock: Stock, kerf: Kerf, key: str) -> Note:
        def accept() -> None:
            self._kerf_accepted.add(key)
            self.refresh_plan()

        def measure() -> None:
            self.desk.in_view.look(stock.name)
            self.kerf_wanted.emit()

        width = lengths.fine(kerf.mean_mm)
        return Note(
            tr(
                "Nobody has measured the kerf of {stock} yet; {width} is a starting value. "
                "Measure it, or go on?",
                stock=stock.name,
                width=width,
            ),
            "question",
            (
                Answer(tr("Measure it"), measure),
                Answer(tr("Go on"), accept),
            ),
            why="kerf-and-fit#kerf",
        )

    # --- what the maker does -----------------------------------------------------------

    def recut_chosen(self) -> None:
        """Cut the chosen panels again, in a window of their own."""
        self.recut([placement.panel_name for placement in self.hands.chosen()])

    def search_longer(self) -> None:
        """Go on from the plan there is, three times as long."""
        if self.desk.job.plan is not None and not self.desk.arranging:
            self.desk.arrange(self.desk.settings.search_seconds * 3, go_on=True)

    def _main(self) -> None:
        if self.desk.arranging:
            self.desk.stop()
        elif self.desk.job.plan is None or not self.desk.job.plan.sheets:
            self.desk.arrange()
        else:
            self.write_wanted.emit()
