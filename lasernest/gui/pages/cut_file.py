"""Cut file: what was written, and the proof of what the beam will leave."""

from __future__ import annotations

from collections.abc import Sequence
from functools import partial
from pathlib import Path
from typing import TYPE_CHECKING

from PySide6.QtCore import QPoint, Signal
from PySide6.QtWidgets import QWidget

from lasernest.domain.cutting import CutChoices
from lasernest.domain.safety import CAUTIONS
from lasernest.files import numbered
from lasernest.gui.board.frame import Board
from lasernest.gui.board.legend import Sign
from lasernest.gui.board.pictures import PictureSet
from lasernest.gui.board.scene import Scene
from lasernest.gui.board.sheet_scene import PanelKey, SheetScene
from lasernest.gui.board.strip import PlanStrip, SmallText
from lasernest.gui.cut_player import CutPlayer, ToPlay
from lasernest.gui.desk import Desk
from lasernest.gui.happened import Written
from lasernest.gui.lengths import lengths
from lasernest.gui.look.signs import State
from lasernest.gui.look.theme import TextSize
from lasernest.gui.obstacles import is_forbidden, judged_materials
from lasernest.gui.pages.left_out import copies_left_out, left_out_notes
from lasernest.gui.pages.material_notes import cautions, refusals
from lasernest.gui.pages.page import Page
from lasernest.gui.parts.basics import FigureRow, Text, button
from lasernest.gui.parts.booking_box import BookingBox
from lasernest.gui.parts.cutting_form import CuttingForm
from lasernest.gui.parts.empty import EmptyPage
from lasernest.gui.parts.entries import Entry, open_menu
from lasernest.gui.parts.joint_figures import JointFigures
from lasernest.gui.parts.machine_box import MachineBox
from lasernest.gui.parts.notes import Answer, Note, NoteList
from lasernest.gui.parts.place import FilePlace, file_name, folder_of_drawings, usual_folder
from lasernest.gui.plan_pictures import plan_pictures
from lasernest.gui.redrawer import News
from lasernest.gui.template_writer import Template
from lasernest.gui.tiles import Step, TileText
from lasernest.gui.words import count_of, tr
from lasernest.services.commands import SetCutting
from lasernest.units import format_time

if TYPE_CHECKING:
    from lasernest.services.cutting import WrittenSheet


class CutFilePage(Page):
    """The last step."""

    step = Step.CUT_FILE
    path_wanted = Signal()
    """The maker wants to choose where to write."""
    sheets_wanted = Signal()
    job_sheet_wanted = Signal(list)
    """The maker wants paper for the bench; with the cut files of the plan as it is."""

    def __init__(self, desk: Desk, board: Board, strip: PlanStrip) -> None:
        super().__init__(desk, board, tr("Cut file"))
        self.scene_of_sheet = SheetScene()
        self.player = CutPlayer(desk, self.scene_of_sheet, self.step, self._to_play)
        self.player.bar.kerf_button.setChecked(True)
        self.scene_of_sheet.put_away_wanted.connect(self.player.put_away)
        self.player.bar.kerf_toggled.connect(lambda _on: self.put_on_board())
        self.scene_of_sheet.entries_for = self._menu_entries
        board.below.insertWidget(0, self.player.bar)
        self.strip = strip
        strip.chosen.connect(self.show_sheet)
        strip.menu_wanted.connect(self._open_strip_menu)
        self.index = 0
        self.path: Path | None = None
        self._overwrite: Path | None = None
        desk.redrawer.news_changed.connect(lambda: self.refresh() if self.shown else None)
        self._empty = EmptyPage(
            tr("Nothing to write yet"),
            tr("Arrange the panels on sheets first. Then the cut file is written and proved here."),
            button(tr("Go to Sheets"), self.sheets_wanted.emit, kind="main"),
        )
        self.place = FilePlace()
        self.place.change_wanted.connect(self.path_wanted)
        self.card.add(self.place)
        self.card.add_rule()
        self.verdict = Text("", strong=True, wrap=True)
        self.card.add(self.verdict)
        self.found = FigureRow(
            tr("Panels found"), explain=tr("Panels that are left when the beam has passed.")
        )
        self.deviation = FigureRow(
            tr("Largest deviation"),
            explain=tr(
                "From the drawn contour; inner corners keep the beam's radius, not counted."
            ),
        )
        self.length = FigureRow(tr("Cut length"))
        self.pierces = FigureRow(tr("Pierces"))
        self.time = FigureRow(
            tr("Cut time"),
            explain=tr("From the stock's speed and the machine's travel; estimated."),
        )
        self._rows = (self.found, self.deviation, self.length, self.pierces, self.time)
        self.joints = JointFigures()
        self.cutting = CuttingForm()
        self.cutting.committed.connect(self._set_cutting)
        self.machine_box = MachineBox(desk, self.step)
        self.card.add(*self._rows, self.joints, self.machine_box, self.cutting)
        self.booking = BookingBox(desk, desk.shelf)
        self.card.add_rule()
        self.card.add(self.booking)
        self.notes = NoteList()
        self.card.add(self.notes)
        self._caution = Text(CAUTIONS[0], size=TextSize.SMALL, kind="quiet", wrap=True)
        self.card.add(self._caution)
        self.card.close_column()
        self.write_button = button(tr("Write cut file"), self.write, kind="main", tip="Ctrl+E")
        self.template_button = button(
            tr("Paper template"),
            lambda: self.template_wanted.emit(self.templates()[0]),
            tip=tr("This sheet at full size on paper, to be laid on the machine before the cut"),
        )
        self.job_sheet_button = button(
            tr("Job sheet"),
            self.ask_job_sheet,
            tip=tr("For the bench: plans, kerf, order of work, figures, proof and cautions")
            + " (Ctrl+P)",
        )
        self.card.set_actions(self.write_button, self.job_sheet_button, self.template_button)
        self.refresh()

    # --- what is shown ---------------------------------------------------------------

    def scene(self) -> Scene | None:
        return self.scene_of_sheet if self._has_sheets() else None

    def _has_sheets(self) -> bool:
        """Whether there is something to write: a plan may have found no place for any panel."""
        plan = self.desk.job.plan
        return plan is not None and len(plan.sheets) > 0

    def first_words(self) -> QWidget:
        return self._empty

    def signs(self) -> Sequence[Sign]:
        signs = [Sign.OUTER, Sign.INNER]
        marks = {m.kind.value for p in self.desk.job.panels for m in p.panel.marks}
        signs += [s for s in (Sign.SCORE, Sign.ENGRAVE) if s.value in marks]
        return [*signs, Sign.KERF] if self.scene_of_sheet.kerf_shown else signs

    def _to_play(self) -> ToPlay | None:
        plan, entries = self.desk.job.plan, self._entries()
        if not self.shown or plan is None or self.index >= len(plan.sheets) or self._refused():
            return None
        return ToPlay(plan.sheets[self.index], entries[self.index].cut if entries else None)

    def templates(self) -> Sequence[Template]:
        return self.sheet_templates(self.index)

    def pictures(self) -> Sequence[PictureSet]:
        plan = self.desk.job.plan
        if plan is None or not plan.sheets:
            return ()
        return plan_pictures(self.desk, plan, self.index, self.signs())

    def _open_strip_menu(self, at: QPoint) -> None:
        if self.shown and (entries := self._menu_entries(frozenset())):
            open_menu(self.strip, entries, at)

    def _menu_entries(self, keys: frozenset[PanelKey]) -> Sequence[Entry]:
        if self._to_play() is None:
            return ()
        entries = [self.picture_entry(), self.template_entry()]
        if len(keys) == 1:
            play = partial(self.player.play_from, next(iter(keys)))
            entries.insert(0, Entry(tr("Play the cut from here"), play))
        if keys:
            entries.insert(0, self.recut_entry(keys))
        return entries

    def _entries(self) -> tuple[WrittenSheet, ...]:
        """What was written of this very plan for this very machine."""
        written = self._written()
        return written.files if written is not None else ()

    def _written(self) -> Written | None:
        return self.desk.written_of(self.desk.job.plan)

    def _time(self) -> str:
        """How long the beam takes for what was written; empty while that is worked out."""
        written = self._written()
        times_s = self.desk.machines.times_s(written) if written is not None else None
        return "" if times_s is None else format_time(sum(times_s))

    def enter(self) -> None:
        super().enter()
        if self.desk.stocks:
            self.desk.till.look()  # another window may have changed the machine

    def leave(self) -> None:
        super().leave()
        self.player.hide()
        self.strip.hide()

    def default_path(self) -> Path:
        """Beside the job, else beside the first drawing, else in the maker's documents."""
        desk = self.desk
        job_path = desk.workbench.path
        stem = job_path.stem if job_path else file_name(desk.job.name or "job")
        folder = usual_folder(
            job_path.parent if job_path else None,
            folder_of_drawings(source.path for source in desk.job.sources),
        )
        return folder / f"{stem}-cut.dxf"

    def target(self) -> Path:
        """Where the cut file goes."""
        return self.path or self.default_path()

    def refresh(self) -> None:
        desk, plan = self.desk, self.desk.job.plan
        self.index = min(self.index, max(len(plan.sheets) - 1, 0) if plan else 0)
        entries = self._entries()
        files = numbered(self.target(), max(len(plan.sheets), 1) if plan else 1)
        self.place.show_path(entries[self.index].file if entries else files[self.index])
        self._show_figures(entries)
        self._show_scene(entries)
        busy = desk.tasks.task("write") is not None
        self.write_button.setText(tr("Write again") if entries else tr("Write cut file"))
        may_write = not (busy or self._refused() or desk.machines.lacking)
        self.write_button.setEnabled(self._has_sheets() and may_write)
        self.machine_box.refresh()
        self.cutting.show_choices(desk.job.cutting)
        self.cutting.setVisible(plan is not None)
        self.template_button.setVisible(self._has_sheets())
        self.job_sheet_button.setVisible(self._has_sheets() and not self._refused())
        self.booking.refresh()
        desk.shelf.look()
        self.notes.show_notes(self._notes())
        self._show_strip()
        self.player.refresh()
        self.put_on_board()

    def _show_figures(self, entries: Sequence[WrittenSheet]) -> None:
        for row in self._rows:
            row.setVisible(bool(entries))
        written = self._written()
        self.joints.show_proofs(written.proof.joints if written is not None else ())
        if written is None:
            self.verdict.setText(tr("Not written yet. The file is read back and proved at once."))
            self.verdict.set_kind("quiet")
            return
        proof = written.proof
        passed = proof.passed
        files = count_of(len(entries), "file", "files")
        self.verdict.setText(
            tr("{files} written. The proof passed.", files=files)
            if passed
            else tr("{files} written, but the proof failed. Do not cut.", files=files)
        )
        self.verdict.set_kind("good" if passed else "bad")
        found, expected = proof.panels_found, proof.panels_expected
        self.found.set_value(
            tr("{found} of {expected}", found=found, expected=expected),
            kind="" if found == expected else "bad",
        )
        self.deviation.set_value(lengths.text(proof.max_deviation_mm, 4))
        self.length.set_value(lengths.path(written.cut_length_mm))
        self.pierces.set_value(str(written.pierces))
        self.time.set_value(self._time() or "–")

    def _show_scene(self, entries: Sequence[WrittenSheet]) -> None:
        plan = self.desk.job.plan
        if plan is None or not plan.sheets:
            self.scene_of_sheet.show_plan(None, {})
            return
        sheet_plan = plan.sheets[self.index]
        entry = entries[self.index] if entries else None
        name = entry.file.name if entry else tr("not written yet")
        sheet = sheet_plan.sheet
        stock = sheet.stock_name if self.desk.in_view.count_words else ""
        size = lengths.size(sheet.width_mm, sheet.height_mm, 1)
        left = " · ".join(part for part in (name, stock, size) if part)
        right = tr("sheet {n} of {all}", n=self.index + 1, all=len(plan.sheets))
        self.scene_of_sheet.show_plan(sheet_plan, self.desk.panels, left=left, right=right)

    def _show_strip(self) -> None:
        plan = self.desk.job.plan
        if not self.shown or plan is None:
            self.strip.hide()
            return
        entries = self._entries()
        words = [(tr("proved") if e.proof.passed else tr("proof failed")) for e in entries] or [
            tr("not written")
        ] * len(plan.sheets)
        mixed = len({one.sheet.stock_name for one in plan.sheets}) > 1
        texts = [
            SmallText(tr("Sheet {n}", n=i + 1), word, one.sheet.stock_name if mixed else "")
            for i, (word, one) in enumerate(zip(words, plan.sheets, strict=True))
        ]
        self.strip.show_plans(plan.sheets, self.desk.panels, texts, self.index)

    def show_sheet(self, index: int) -> None:
        """Look at another sheet."""
        if self.shown:
            self.index = index
            self.refresh()

    def tile(self) -> TileText:
        desk, entries = self.desk, self._entries()
        if desk.tasks.task("write") is not None:
            return TileText(tr("writing…"), "", State.RUNNING, tr("running"))
        troubled = [t for t in desk.troubles if t.step is self.step]
        if troubled:
            there = count_of(len(entries), "file", "files") if entries else tr("not written")
            return TileText(there, troubled[0].what, State.BLOCKED, tr("problem"))
        if self._refused():
            return TileText(
                tr("no cut file"), tr("this material must not be cut"), State.BLOCKED, tr("blocked")
            )
        if desk.machines.lacking and desk.job.plan is not None:
            return TileText(
                tr("not written yet"), desk.machines.lacking, State.QUESTION, tr("no machine")
            )
        asked = cautions(judged_materials(desk.job), desk, self.step)
        if not entries and asked and desk.job.plan is not None:
            return TileText(
                tr("not written yet"),
                tr("a material to decide on"),
                State.QUESTION,
                count_of(len(asked), "question", "questions"),
            )
        if not entries:
            return TileText(
                tr("not written yet"),
                tr("proved when written"),
                State.NOTHING,
                tr("nothing yet"),
            )
        files = count_of(len(entries), "file", "files")
        time_s, written = self._time(), self._written()
        if written is not None and written.proof.passed:
            if (changed := len(desk.redrawer.news)) > 0:
                since = tr("{what} changed since", what=count_of(changed, "drawing", "drawings"))
                return TileText(
                    tr("{files} proved", files=files), since, State.QUESTION, tr("outdated?")
                )
            if left := copies_left_out(written.plan):
                return TileText(
                    tr("{files} proved", files=files),
                    time_s,
                    State.QUESTION,
                    tr("{n} left out", n=left),
                )
            return TileText(tr("{files} proved", files=files), time_s, State.DONE, tr("done"))
        return TileText(tr("proof failed"), files, State.BLOCKED, tr("do not cut"))

    def _set_cutting(self, cutting: CutChoices) -> None:
        self.desk.do(SetCutting(cutting), self.step)

    # --- questions ---------------------------------------------------------------------

    def _changed_note(self, news: News) -> Note:
        to_outlines = partial(self.desk.step_wanted.emit, Step.OUTLINES)
        return Note(
            tr("{name} changed on disk; this cut file is of the drawing before.", name=news.name),
            "question",
            (Answer(tr("See what changed"), to_outlines),),
            why="drawings#when-a-drawing-changes",
        )

    def _refused(self) -> bool:
        return is_forbidden(self.desk.job)

    def _notes(self) -> list[Note]:
        materials = judged_materials(self.desk.job)
        notes = [
            *self.trouble_notes(),
            *refusals(materials),
            *cautions(materials, self.desk, self.step),
        ]
        if self._overwrite is not None:
            notes.append(
                Note(
                    _already_there(self._overwrite),
                    "question",
                    (
                        Answer(tr("Write over it"), self._write_over),
                        Answer(tr("Choose another name"), self.path_wanted.emit),
                    ),
                )
            )
        if (plan := self.desk.job.plan) is not None:
            notes += left_out_notes(plan)
        written = self._written()
        if written is not None:
            notes += [
                Note(
                    lengths.retold(f"{found.message} {found.todo}".strip()),
                    "question",
                    why=f"findings#{found.code}",
                )
                for entry in written.files
                for found in entry.findings
            ]
            notes += [self._changed_note(news) for news in self.desk.redrawer.news]
            notes += [
                Note(
                    lengths.retold(problem), "error", heading=tr("Proof"), why="cut-file#the-proof"
                )
                for problem in dict.fromkeys(written.proof.problems)
            ]
        return notes

    # --- what the maker does -----------------------------------------------------------

    def choose_path(self, path: Path) -> None:
        """Write there; the maker has chosen it, so what is there may go."""
        self.path = path if path.suffix.lower() == ".dxf" else path.with_name(path.name + ".dxf")
        self._overwrite = None
        self.refresh()

    def write(self) -> None:
        """Write, unless a file that is not ours is in the way, or nothing may be written."""
        if self._refused() or self.desk.machines.lacking:
            self.desk.step_wanted.emit(self.step)  # where it is said
            return
        target, plan = self.target(), self.desk.job.plan
        files = numbered(target, len(plan.sheets)) if plan is not None else ()
        allowed = self._may_be_written_anew() | {self.path}
        taken = next((f for f in files if f.exists() and f not in allowed), None)
        if taken is not None:
            self._overwrite = taken
            self.desk.step_wanted.emit(self.step)
            self.refresh()
            self.notes.ask(_already_there(taken))
            return
        self._overwrite = None
        self.desk.write_cut_files(target)

    def _may_be_written_anew(self) -> set[Path | None]:
        """Cut files that may be written anew.

        Those of another stock, or of another machine, may still be wanted.
        """
        written, plan = self.desk.written, self.desk.job.plan
        if written is None or plan is None:
            return set()
        now = {sheet.sheet.stock_name for sheet in plan.sheets}
        then = {sheet.sheet.stock_name for sheet in written.plan.sheets}
        same = now == then and self._is_of_this_machine(written)
        return {entry.file for entry in written.files} if same else set()

    def _is_of_this_machine(self, written: Written) -> bool:
        machine = self.desk.machines.chosen
        return machine is None or machine.name == written.machine.name or written.is_for(machine)

    def ask_job_sheet(self) -> None:
        """Write the job sheet, with the proof of what was written."""
        if self._refused():
            self.desk.step_wanted.emit(self.step)
            return
        self.job_sheet_wanted.emit([entry.file for entry in self._entries()])

    def _write_over(self) -> None:
        self._overwrite = None
        self.desk.write_cut_files(self.target())


def _already_there(file: Path) -> str:
    return tr("{name} is already there.", name=file.name)
