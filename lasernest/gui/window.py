"""The window: tiles on top, board and card below them, one quiet line at the bottom."""

from __future__ import annotations

from collections.abc import Callable
from functools import partial
from pathlib import Path

from PySide6.QtCore import Qt, Signal
from PySide6.QtGui import (
    QCloseEvent,
    QKeySequence,
    QResizeEvent,
    QShortcut,
    QShowEvent,
)
from PySide6.QtWidgets import QStackedWidget, QWidget

from lasernest.gui.asking import Asking
from lasernest.gui.board.frame import Board
from lasernest.gui.board.strip import PlanStrip
from lasernest.gui.command_search import CommandSearch
from lasernest.gui.compare.page import ComparePage
from lasernest.gui.desk import Desk
from lasernest.gui.filing import Filing
from lasernest.gui.job_sheet_writer import JobSheetWriter
from lasernest.gui.keeper import Keeper
from lasernest.gui.lengths import lengths
from lasernest.gui.look.theme import theme
from lasernest.gui.menu import Acts, MenuTile
from lasernest.gui.pages.cut_file import CutFilePage
from lasernest.gui.pages.joints import JointsPage
from lasernest.gui.pages.kerf import KerfPage
from lasernest.gui.pages.outlines import OutlinesPage
from lasernest.gui.pages.page import Page
from lasernest.gui.pages.sheets import SheetsPage
from lasernest.gui.parts.basics import give_focus_back, horizontal, vertical
from lasernest.gui.parts.card import card_width
from lasernest.gui.parts.notes import NoteList
from lasernest.gui.picture_saver import PictureSaver
from lasernest.gui.settings import Settings, save_settings
from lasernest.gui.stage import Stage
from lasernest.gui.status import StatusLine
from lasernest.gui.tab_order import first_stop
from lasernest.gui.template_writer import TemplateWriter
from lasernest.gui.tiles import Step, StepTiles
from lasernest.gui.tour import Rounds
from lasernest.gui.window_acts import window_acts
from lasernest.gui.window_frame import WindowFrame
from lasernest.gui.words import tr
from lasernest.gui.work_shown import WorkShown
from lasernest.job import SUFFIX
from lasernest.services.workbench import Workbench

_ROOM_FOR_BOTH = 900
"""From this width on, grown with the text, guide and settings leave the card beside them."""


class Window(WindowFrame):
    """One job on the screen."""

    another_wanted = Signal(object)
    """Open another window, with a job file (a `Path`) or empty (None)."""
    job_wanted = Signal(object)
    """Open another window with this `Job` and arrange it."""
    sample_wanted = Signal()
    """Open another window with the sample job."""
    closed = Signal()

    def __init__(
        self, workbench: Workbench, settings: Settings, asking: Asking | None = None
    ) -> None:
        super().__init__()
        self.setObjectName("window")
        self.setMinimumSize(920, 600)
        self.settings = settings
        self.desk = Desk(workbench, settings)
        self.tiles = StepTiles()
        self.menu_tile = MenuTile()
        self.board = Board()
        self.asking = asking or Asking(self.board.canvas)
        self.strip = PlanStrip()
        self.board.below.addWidget(self.strip)
        self.stage = Stage(self.board, settings)
        self.stage.back_wanted.connect(self._back_from_guide)
        self.stage.folder_wanted.connect(self.show_folder)
        self.stage.usual_changed.connect(self.desk.begin_afresh)
        self.status = StatusLine()
        self.work = WorkShown(self.desk, self.status, self.board)
        self.keeper = Keeper(self.desk)
        self.filing = Filing(self.desk, lambda: self.asking, lambda: self.page.step)
        self.question = NoteList()
        self._before_question: QWidget | None = None
        """What had the keys before the question took them."""
        self.outlines = OutlinesPage(self.desk, self.board, self.keeper)
        self.joints = JointsPage(self.desk, self.board)
        self.kerf = KerfPage(self.desk, self.board)
        self.sheets = SheetsPage(self.desk, self.board, self.strip)
        self.cut_file = CutFilePage(self.desk, self.board, self.strip)
        self.compare = ComparePage(self.desk)
        self.pages: dict[Step, Page] = {
            page.step: page
            for page in (self.outlines, self.joints, self.kerf, self.sheets, self.cut_file)
        }
        self.page: Page = self.outlines
        for page in self.pages.values():
            self.board.hold(*page.all_words())
        self._came_from_compare = False
        self.picture_saver = PictureSaver(self.desk, self.asking)
        self.template_writer = TemplateWriter(self.desk, self.asking)
        self.job_sheet_writer = JobSheetWriter(self.desk, self.asking)
        self.rounds = Rounds(self)
        self._lay_out()
        self.search = CommandSearch(self, lambda: self.acts.hits() + self.stage.hits())
        self.acts = Acts(self, window_acts(self))
        self.acts.fill(self.menu_tile.menu)
        self.stage.acts = self.acts.acts
        for room in (
            *(self.tiles, self.menu_tile, self.question, self.board, self.compare),
            *(page.card for page in self.pages.values()),
            *(self.status, self.search),
        ):
            theme.rooms.add(room)
        self._connect()
        self.resize(settings.width, settings.height)
        self.go_to(Step.OUTLINES)
        self._refresh()

    def _lay_out(self) -> None:
        outer = vertical(self, gap=8)
        outer.setContentsMargins(12, 12, 12, 4)
        top = horizontal(gap=8)
        top.addWidget(self.tiles, 1)
        top.addWidget(self.menu_tile)
        outer.addLayout(top)
        outer.addWidget(self.question)
        middle = horizontal(gap=12)
        self.stage.addWidget(self.compare)
        middle.addWidget(self.stage, 1)
        self.drop_sign.over = self.stage
        self._cards = QStackedWidget()
        for page in self.pages.values():
            self._cards.addWidget(page.card)
        self._size_cards()
        middle.addWidget(self._cards)
        outer.addLayout(middle, 1)
        outer.addWidget(self.status)

    def _size_cards(self) -> None:
        width = card_width(self.width())
        if width != self._cards.width():
            self._cards.setFixedWidth(width)
            for page in self.pages.values():
                page.card.setFixedWidth(width)

    def _connect(self) -> None:
        desk, status = self.desk, self.status
        desk.job_changed.connect(self._refresh)
        desk.plan_changed.connect(self._refresh_plan)
        desk.troubles_changed.connect(self._refresh)
        desk.stocks_changed.connect(self._refresh)
        desk.said.connect(status.tell)
        desk.step_wanted.connect(self.go_to)
        self.work.begun.connect(self._show_tiles)
        self.work.ended.connect(self._refresh)
        desk.workbench.saved_changed.connect(self._show_title)
        desk.redrawer.news_changed.connect(self._show_tiles)
        self.filing.asks.connect(self._show_question)
        self.filing.opened.connect(lambda: self.go_to(Step.OUTLINES))
        self.filing.saved.connect(self._refresh)
        self.filing.may_leave.connect(self.close)
        self.filing.elsewhere.connect(self.another_wanted)
        lengths.changed.connect(self._refresh)
        theme.changed.connect(self._size_cards)
        theme.changed.connect(self._show_cards)
        for part in (self.tiles, self.menu_tile, self.board, self.strip):
            self.low_changed.connect(part.set_low)
        self.tiles.chosen.connect(self.go_to)
        self.board.canvas.pointer_moved.connect(status.show_pointer)
        self.outlines.open_wanted.connect(self.open_drawings)
        self.outlines.sample_wanted.connect(self.open_sample)
        self.outlines.tour_answered.connect(self.rounds.answer)
        self.outlines.recent.wanted.connect(lambda path: self.take_files([path]))
        self.stage.currentChanged.connect(lambda _index: self._show_cards())
        self.compare.back_wanted.connect(lambda: self.go_to(Step.SHEETS))
        self.compare.picture_wanted.connect(self.picture_saver.ask)
        self.compare.path_wanted.connect(self._ask_comparison_path)
        self.sheets.compare_wanted.connect(self.show_compare)
        self.sheets.write_wanted.connect(self.write_cut_file)
        self.sheets.kerf_wanted.connect(lambda: self.go_to(Step.KERF))
        self.sheets.outlines_wanted.connect(lambda: self.go_to(Step.OUTLINES))
        self.kerf.comb_path_wanted.connect(self._ask_comb_path)
        self.cut_file.sheets_wanted.connect(lambda: self.go_to(Step.SHEETS))
        self.cut_file.path_wanted.connect(self._ask_cut_path)
        self.cut_file.job_sheet_wanted.connect(self.job_sheet_writer.ask)
        for page in self.pages.values():
            page.picture_wanted.connect(self.picture_saver.ask)
            page.template_wanted.connect(self.template_writer.ask)
            page.job_wanted.connect(self.job_wanted)
        for place in (self.kerf.place, self.cut_file.place):
            place.folder_wanted.connect(self.show_folder)
        QShortcut(QKeySequence("F10"), self, self.menu_tile.open_menu)

    # --- what is shown ---------------------------------------------------------------

    def go_to(self, step: Step) -> None:
        """Open a step."""
        page = self.pages[step]
        changed = page is not self.page
        if changed:
            self.page.leave()
        self.page = page
        self._cards.setCurrentWidget(page.card)
        self.stage.show_board()
        self._came_from_compare = False
        self.tiles.show_step(step)
        page.enter()
        asked = changed or self.acts.running  # the key of the open step leads to its drawing
        if asked and self.focusWidget() not in self.tiles.tiles.values():
            self._give_keys(page)
        self._show_tiles()

    def showEvent(self, event: QShowEvent) -> None:  # noqa: N802 - Qt's name
        super().showEvent(event)
        if self.focusWidget() in (None, *self.tiles.tiles.values()):
            self._give_keys(self.page)

    def _give_keys(self, page: Page) -> None:
        """Let keys go to the board, or to the card where nothing on the board takes them."""
        takes = None if self.board.focus_canvas() else first_stop(page.card)
        if takes is not None:
            takes.setFocus(Qt.FocusReason.OtherFocusReason)

    def _refresh(self) -> None:
        self.page.refresh()
        self._show_tiles()
        self._show_title()

    def _refresh_plan(self) -> None:
        if self.page is self.sheets:
            self.sheets.refresh_plan()
        elif self.page is self.cut_file:
            self.cut_file.refresh()
        self._show_tiles()

    def _show_tiles(self) -> None:
        for step, page in self.pages.items():
            self.tiles.show_text(step, page.tile())

    def _show_title(self) -> None:
        workbench = self.desk.workbench
        name = workbench.path.stem if workbench.path else self.desk.job.name or tr("new job")
        self.setWindowTitle(f"{name}[*] – lasernest")
        self.setWindowModified(not workbench.is_saved)
        undo, redo = workbench.undo_label, workbench.redo_label
        self.status.show_undo(undo or "")
        for act, label, text in (
            ("undo", undo, tr("Undo")),
            ("redo", redo, tr("Redo")),
        ):
            action = self.acts.actions[act]
            action.setEnabled(label is not None)
            action.setText(f"{text} {label}" if label else text)

    def show_guide(self, place: str = "", about: str = "") -> None:
        """Open the guide over the board; a step's tile leads back.

        Args:
            place: `page` or `page#anchor`.
            about: what to explain, where no place is known. Without either, the
                page of the step that is open.
        """
        self._came_from_compare = self.compare.isVisible()
        self.stage.show_guide(place or ("" if about else self.page.guide_page()), about)

    def picture_choices(self) -> list[tuple[str, Callable[[], object]]]:
        """What of the open step, or of the comparison, can be saved as a picture."""
        ask = self.picture_saver.ask
        shown = self.compare if self.compare.isVisible() else self.page
        return [(f"{one.text}…", partial(ask, one)) for one in shown.pictures()]

    def template_choices(self) -> list[tuple[str, Callable[[], object]]]:
        """What of the open step can be written at full size on paper."""
        ask = self.template_writer.ask
        return [(f"{one.text}…", partial(ask, one)) for one in self.page.templates()]

    def find_panels(self) -> None:
        """Go to the list of panels and let the maker type what to find."""
        self.go_to(Step.OUTLINES)
        self.outlines.find_panels()

    def show_compare(self) -> None:
        """Open the comparison of stocks; it takes the place of board and card."""
        if self.page is not self.sheets:
            self.go_to(Step.SHEETS)
        self.stage.setCurrentWidget(self.compare)
        self.compare.enter()

    def _back_from_guide(self) -> None:
        if self._came_from_compare:
            self.show_compare()
        else:
            self.go_to(self.page.step)

    def resizeEvent(self, event: QResizeEvent) -> None:  # noqa: N802 - Qt's name
        super().resizeEvent(event)
        self._size_cards()
        self._show_cards()

    def _show_cards(self) -> None:
        shown = self.stage.currentWidget()
        # With large text a guide beside a card would have a few words in a line.
        narrow = self.width() < theme.pixels(_ROOM_FOR_BOTH)
        self._cards.setVisible(shown is self.board or (shown is not self.compare and not narrow))

    def play_cut(self) -> None:
        """Play the cut of the sheet that is shown, or pause; from other steps, go to Sheets."""
        page = self.page
        if not isinstance(page, SheetsPage | CutFilePage):
            self.go_to(Step.SHEETS)
            page = self.sheets
        page.player.toggle()

    def toggle_kerf(self) -> None:
        """Show the swept kerf on this page's sheet, or hide it."""
        if isinstance(self.page, SheetsPage | CutFilePage):
            self.page.player.bar.kerf_button.toggle()

    # --- files -------------------------------------------------------------------------

    def open_drawings(self) -> None:
        """Ask for drawings and read them."""
        paths = self.asking.drawings(Path(self.settings.last_folder or Path.home()))
        if paths:
            self.take_files(paths)

    def take_files(self, paths: list[Path]) -> None:
        """Take dropped or chosen files: drawings into the job, a job file as the job."""
        self.settings.last_folder = str(paths[0].parent)
        jobs = [p for p in paths if p.suffix.lower() == SUFFIX]
        drawings = [p for p in paths if p not in jobs]
        if drawings:
            self.desk.importer.import_files(drawings)
        for path in jobs:
            if path is jobs[0] and not drawings and self._is_blank():
                self.open_job(path)
            else:
                self.another_wanted.emit(path)

    def open_sample(self) -> None:
        """Put the sample job on the desk; a window in use is left alone."""
        if self._is_blank():
            self.desk.importer.open_sample()
        else:
            self.sample_wanted.emit()

    def _is_blank(self) -> bool:
        workbench = self.desk.workbench
        return not workbench.job.panels and workbench.is_saved and not self.filing.saving

    def ask_job(self) -> None:
        """Ask for a job file and open it: here when this window is blank, else in another."""
        path = self.filing.ask_job()
        if path is not None:
            self.take_files([path])

    def open_job(self, path: Path) -> None:
        """Open a job file in this window."""
        self.filing.open(path)

    def save(self) -> None:
        """Save the job where it belongs, or ask where."""
        self.filing.save()

    def save_as(self) -> None:
        """Ask where to save the job."""
        self.filing.save_as()

    def _show_question(self) -> None:
        """What is asked about the job's file stands below the tiles, whatever is open."""
        question, had_keys = self.filing.question, self.focusWidget()
        within = had_keys is not None and self.question.isAncestorOf(had_keys)
        self.question.show_notes([question] if question is not None else [])
        if question is not None and question.heading:
            # Its answer is what the maker waits for; the keys come back after it.
            self._before_question = self._before_question if within else had_keys
            self.question.ask(question.text)
        elif within:
            give_focus_back(self, self._before_question)

    def write_cut_file(self) -> None:
        """Write the cut file to where the step Cut file says."""
        self.go_to(Step.CUT_FILE)
        if self.desk.job.plan is not None:
            self.cut_file.write()

    def write_comb(self) -> None:
        """Write a comb for the chosen stock to where the step Kerf and fit says."""
        self.go_to(Step.KERF)
        if self.desk.in_view.setup.stock is not None:
            self.kerf.write()

    def _ask_comb_path(self, usual: Path) -> None:
        path = self.asking.cut_file(usual)
        if path is not None:
            self.kerf.choose_path(path)

    def _ask_comparison_path(self, usual: Path) -> None:
        path = self.asking.comparison(usual)
        if path is not None:
            self.compare.save_to(path)

    def show_folder(self, folder: Path) -> None:
        """Show a folder in the system's file manager."""
        if not self.asking.show_folder(folder):
            self.status.say(tr("No program opens folders here; it is {folder}.", folder=folder))

    def _ask_cut_path(self) -> None:
        path = self.asking.cut_file(self.cut_file.target())
        if path is not None:
            self.cut_file.choose_path(path)

    # --- the end -------------------------------------------------------------------------

    def closeEvent(self, event: QCloseEvent) -> None:  # noqa: N802 - Qt's name
        if not self.filing.lets_close():
            event.ignore()
            return
        self.settings.width, self.settings.height = self.width(), self.height()
        save_settings(self.settings)
        self.desk.workbench.saved_changed.disconnect(self._show_title)
        self.desk.close()
        self.keeper.close()
        self.filing.close()
        self.closed.emit()
        event.accept()
