"""Outlines: the drawings with their panels, how many of each, and what was found."""

from __future__ import annotations

import time
from collections.abc import Iterator, Sequence
from dataclasses import replace
from functools import partial

from PySide6.QtCore import Qt, QTimer, Signal
from PySide6.QtWidgets import QSizePolicy, QWidget

from lasernest.domain.findings import Choice, Finding, Severity, worst
from lasernest.domain.line_uses import USE_OPTION, LineUses
from lasernest.domain.plan import Turns
from lasernest.gui.board.frame import Board
from lasernest.gui.board.legend import Sign
from lasernest.gui.board.outlines_scene import OutlinesScene
from lasernest.gui.board.scene import Scene
from lasernest.gui.board.shelves import DrawnFile, NumberedFinding
from lasernest.gui.desk import Desk
from lasernest.gui.keeper import Keeper, title_of, when
from lasernest.gui.look.signs import State
from lasernest.gui.look.theme import TextSize
from lasernest.gui.pages.disk_notes import notes_from_disk
from lasernest.gui.pages.page import Page
from lasernest.gui.panel_hands import PanelHands
from lasernest.gui.parts.basics import Text, button
from lasernest.gui.parts.change_list import ChangeList
from lasernest.gui.parts.chosen_box import ChosenBox, name_of
from lasernest.gui.parts.empty import EmptyPage
from lasernest.gui.parts.entries import PART, Entry
from lasernest.gui.parts.findings import FindingList, asked_alike, needs_the_maker
from lasernest.gui.parts.line_use_table import LineUseTable
from lasernest.gui.parts.notes import Answer, Note, NoteList
from lasernest.gui.parts.panel_finder import PanelFinder
from lasernest.gui.parts.panel_list import PanelList
from lasernest.gui.parts.panel_rows import PanelFacts
from lasernest.gui.parts.panel_sums import in_all, sums
from lasernest.gui.parts.recent import RecentJobs
from lasernest.gui.template_writer import Template
from lasernest.gui.tiles import Step, TileText
from lasernest.gui.words import count_of, tr
from lasernest.job import JobPanel, Source
from lasernest.services.drawing_names import names_apart

_MANY = 7
"""From so many panels on, finding and sorting are offered."""
_SLICE_S = 0.01
_WORST_FIRST = {severity: i for i, severity in enumerate(Severity)}


class OutlinesPage(Page):
    """The first step."""

    step = Step.OUTLINES
    open_wanted = Signal()
    sample_wanted = Signal()
    tour_answered = Signal(bool)
    """Whether the maker wants to be shown round."""

    def __init__(self, desk: Desk, board: Board, keeper: Keeper) -> None:
        super().__init__(desk, board, tr("Outlines"))
        self._keeper = keeper
        keeper.offers_changed.connect(self.refresh)
        self.recent = RecentJobs()
        self._numbered: tuple[NumberedFinding, ...] = ()
        self._sums: Iterator[str] = iter(())
        desk.beam.changed.connect(self.refresh)
        self._scene = OutlinesScene()
        self._scene.panel_clicked.connect(self._panel_clicked)
        self._scene.finding_clicked.connect(self.go_to_finding)
        self._empty = EmptyPage(
            tr("Drop your drawings here"),
            tr(
                "DXF or SVG files, or a folder of them. Each closed outline becomes a panel; "
                "holes, slots and marks stay where they are."
            ),
            button(tr("Open drawings…"), self.open_wanted.emit, kind="main", tip="Ctrl+O"),
            button(tr("Try the sample job"), self.sample_wanted.emit),
            drop_sign=True,
            after=tr("Nothing is changed in your drawings. Everything here can be undone."),
            below=self.recent,
        )
        self._build_list()
        self.chosen_box = ChosenBox(self.hands, desk)
        self.chosen_box.removal_wanted.connect(self.remove_chosen)
        self.chosen_box.template_wanted.connect(
            lambda: self.template_wanted.emit(self.templates()[0])
        )
        self.findings = FindingList()
        self.findings.pressed.connect(self.go_to_finding)
        self.findings.answered.connect(self._answer)
        self.changes = ChangeList()
        self.desk.redrawer.news_changed.connect(self.refresh)
        self.line_uses = LineUseTable()
        self.line_uses.picked.connect(self._pick_uses)
        self.notes = NoteList()
        self._hint = Text(
            tr("No panels yet. Drop drawings on the window, or open them."),
            kind="quiet",
            wrap=True,
        )
        self._tail = QWidget()
        self._tail.setSizePolicy(QSizePolicy.Policy.Preferred, QSizePolicy.Policy.Expanding)
        self.card.add(
            self.notes,
            self.changes,
            self._hint,
            self.stock_line,
            self.finder,
            self.list,
            self.chosen_box,
            self.findings,
            self.line_uses,
            self._tail,
        )
        self.card.column.setStretchFactor(self.list, 1)
        self.arrange_button = button(
            tr("Arrange on sheets"), self.desk.arrange, kind="main", tip="Ctrl+R"
        )
        self.open_button = button(tr("Open drawings…"), self.open_wanted.emit, tip="Ctrl+O")
        self.card.set_actions(self.arrange_button, self.open_button)
        self.refresh()

    def _build_list(self) -> None:
        self.list = PanelList()
        self.list.setMinimumHeight(132)
        self.list.setSizePolicy(QSizePolicy.Policy.Expanding, QSizePolicy.Policy.Expanding)
        self.list.chosen_changed.connect(self._show_chosen)
        self.list.opened.connect(self._show_panel)
        self.hands = PanelHands(self.desk, self.list)
        self.hands.look_wanted.connect(self._show_panel)
        self._scene.entries_for = self._entries
        self.desk.shelf.changed.connect(self._show_list)
        self.finder = PanelFinder()
        self.finder.changed.connect(self._show_list)
        self.finder.list_wanted.connect(self._to_list)
        self.stock_line = Text("", size=TextSize.SMALL, kind="quiet", wrap=True)

    # --- what is shown ---------------------------------------------------------------

    def scene(self) -> Scene | None:
        return self._scene if self.desk.job.panels or self._numbered else None

    def first_words(self) -> QWidget:
        return self._empty

    def signs(self) -> Sequence[Sign]:
        marks = {m.kind.value for p in self.desk.job.panels for m in p.panel.marks}
        signs = [Sign.OUTER, Sign.INNER]
        signs += [sign for sign in (Sign.SCORE, Sign.ENGRAVE) if sign.value in marks]
        return [*signs, Sign.OPEN] if any(s.loose for s in self.desk.job.sources) else signs

    def guide_page(self) -> str:
        return super().guide_page() if self.desk.job.panels else "first-job"

    def tile(self) -> TileText:
        job = self.desk.job
        if self.desk.tasks.task("import") is not None:
            return TileText(tr("reading…"), "", State.RUNNING, tr("running"))
        troubled = [t for t in self.desk.troubles if t.step is self.step]
        if not job.panels:
            if troubled:
                return TileText(tr("nothing read"), troubled[0].what, State.BLOCKED, tr("problem"))
            return TileText(
                tr("no drawing yet"), tr("drop DXF or SVG"), State.NOTHING, tr("nothing yet")
            )
        figure = count_of(sum(p.quantity for p in job.panels), "panel", "panels")
        unmended = [n.finding for n in self._numbered if not n.finding.mended]
        mended = len(self._numbered) - len(unmended)
        of = count_of(len(job.sources), "file", "files") if job.sources else tr("made here")
        rests = [of]
        if mended:
            rests.append(tr("{count} mended", count=mended))
        questions = sum(f.is_question for f in unmended) + len(self.desk.redrawer.news)
        warnings = sum(needs_the_maker(n) for n in self._numbered if not n.finding.is_question)
        if worst(unmended) is Severity.ERROR or troubled:
            return TileText(figure, " · ".join(rests), State.BLOCKED, tr("problem"))
        if questions or warnings:
            word = (
                count_of(questions, "question", "questions")
                if questions
                else count_of(warnings, "warning", "warnings")
            )
            return TileText(figure, " · ".join(rests), State.QUESTION, word)
        if not job.has_work:
            return TileText(figure, " · ".join(rests), State.QUESTION, tr("none to cut"))
        return TileText(figure, " · ".join(rests), State.DONE, tr("done"))

    def refresh(self) -> None:
        job = self.desk.job
        if job.panels:
            self.desk.shelf.look()
        narrow = self.desk.beam.follow(job)
        files, self._numbered = drawn_files(job.panels, job.sources, narrow)
        self._scene.show_files(
            files, left=job.name or "", right=in_all(job.panels) if job.panels else ""
        )
        self._show_list()
        has_panels = bool(job.panels)
        self.list.setVisible(has_panels)
        self.stock_line.setVisible(has_panels)
        looked_for = bool(self.finder.wanted()) or self.finder.field.hasFocus()
        self.finder.setVisible(len(job.panels) >= _MANY or looked_for)
        self._hint.setVisible(not has_panels)
        self._tail.setVisible(not has_panels)
        self.arrange_button.setVisible(has_panels)
        self.arrange_button.setEnabled(job.has_work)
        self.findings.show_findings(self._numbered)
        self.line_uses.show_sources(job.sources)
        news = self.desk.redrawer.news
        self.changes.show_changes([change for told in news for change in told.changes])
        self.notes.show_notes(
            [*self._offers(), *notes_from_disk(self.desk.redrawer), *self.trouble_notes()]
        )
        self.recent.show_jobs(self.desk.settings.recent_jobs)
        self._show_chosen()
        self.put_on_board()

    def _offers(self) -> list[Note]:
        """Jobs that were not saved before the program ended, while the window is blank."""
        if self.desk.job.panels:
            return []
        kept_jobs = [
            Note(
                tr(
                    "{name} was not saved; the last change was {when}.",
                    name=title_of(kept),
                    when=when(kept),
                ),
                "question",
                (
                    Answer(tr("Go on with it"), partial(self._keeper.take, kept)),
                    Answer(
                        tr("Stop offering it"),
                        partial(self._keeper.let_go, kept),
                        tr("It stays in the data folder for a month, but is offered no more"),
                    ),
                ),
            )
            for kept in self._keeper.offers
        ]
        return kept_jobs or self._tour_offer()

    def _tour_offer(self) -> list[Note]:
        if self.desk.settings.tour_seen:
            return []
        return [
            Note(
                tr("Six short stops on the sample job show the way from drawing to cut file."),
                "note",
                (
                    Answer(tr("Show me round"), partial(self.tour_answered.emit, True)),
                    Answer(tr("Not now"), partial(self.tour_answered.emit, False)),
                ),
                heading=tr("New here?"),
            )
        ]

    def _show_chosen(self) -> None:
        chosen = self.hands.chosen()
        self.chosen_box.show_panels(chosen, self.hands.stocks())
        self._sums = sums(chosen)
        self._scene.choose(p.name for p in chosen)
        self._sum_up()

    def _sum_up(self) -> None:
        """Measure the chosen panels for so long; go on when other events had their turn."""
        until = time.perf_counter() + _SLICE_S
        for text in self._sums:
            if text:
                self._scene.tell_about(text)
            elif time.perf_counter() > until:
                QTimer.singleShot(0, self, self._sum_up)
                return

    def _show_list(self) -> None:
        job, setup = self.desk.job, self.desk.job.setup
        drawings = zip(names_apart(job.sources), job.sources, strict=True)
        facts = PanelFacts(
            {n: drawing for drawing, source in drawings for n in source.panel_names},
            {
                name: Turns.HALF if setup.for_stock(name).grain_kept else Turns.QUARTER
                for name in {panel.stock_name for panel in job.panels}
            },
            setup.stock.name if setup.stock else "",
            self.desk.shelf.orders,
            self.desk.shelf.name,
        )
        words = self.desk.in_view.count_words
        orders = any(facts.order(p) for p in job.panels)
        self.finder.offer_sorts(orders=orders, stocks=bool(words))
        self.list.show_panels(
            job.panels, facts, wanted=self.finder.wanted(), sort=self.finder.sort.value()
        )
        if words:
            names = ", ".join(self.desk.in_view.names)
            self.stock_line.setText(tr("From {stocks}: {names}", stocks=words, names=names))
            return
        grain = tr("grain along x") if setup.grain_kept else tr("turned freely")
        self.stock_line.setText(
            tr("All from {stock}, {grain}", stock=setup.stock.name, grain=grain)
            if setup.stock is not None
            else tr("No stock is chosen yet; see Sheets.")
        )

    # --- what the maker does -----------------------------------------------------------

    def remove_chosen(self) -> None:
        """Take the chosen panels out of the job."""
        self.hands.remove()

    def _panel_clicked(self, name: str, adding: bool) -> None:
        names = self.list.chosen() if adding else []
        if name in names:
            names.remove(name)
        elif name:
            names.append(name)
        self.list.choose(names)

    def _entries(self) -> Sequence[Entry]:
        entries = self.hands.entries()
        entries = [*entries, *([PART] if entries else []), self.picture_entry()]
        return [*entries, self.template_entry()] if self.desk.job.panels else entries

    def templates(self) -> Sequence[Template]:
        everything = super().templates()
        chosen = self.hands.chosen()
        if not chosen:
            return everything
        names = tuple(p.name for p in chosen)
        text = name_of(chosen) if len(chosen) == 1 else tr("The {n} chosen", n=len(chosen))
        return (Template(text, self.step, names), *everything)

    def _to_list(self) -> None:
        """From the words to find, on to the list."""
        self.list.setFocus(Qt.FocusReason.OtherFocusReason)
        if not self.list.chosen() and self.list.panel_model.rowCount():
            self.list.choose([self.list.panel_model.panel(0).name])

    def find_panels(self) -> None:
        """Let the maker type what to find, in a short list, too."""
        if self.desk.job.panels:
            self.finder.setVisible(True)
            self.finder.field.setFocus(Qt.FocusReason.ShortcutFocusReason)
            self.finder.field.selectAll()

    def _show_panel(self, name: str) -> None:
        place = self._scene.place_of_panel(name)
        if place.isValid():
            self.board.canvas.show_rect(place)

    def go_to_finding(self, number: int) -> None:
        """Zoom to a finding's place."""
        place = self._scene.place_of_finding(number)
        self._scene.choose_finding(number)
        if place is not None:
            self.board.canvas.show_place(*place)

    def _answer(self, number: int, choice: Choice, alike: bool) -> None:
        """Read the drawing again with the answer to its question; others that ask it alike too."""
        asked = next((n for n in self._numbered if n.number == number), None)
        if asked is None:
            return
        files = {asked.file}
        if alike:
            files |= {n.file for n in asked_alike(asked, self._numbered)}
        sources = self.desk.job.sources
        wanted = [
            (source, source.choices.with_choice(choice))
            for source, name in zip(sources, names_apart(sources), strict=True)
            if name in files
        ]
        self.desk.redrawer.read_again(wanted, remember=choice.option == USE_OPTION)

    def _pick_uses(self, source: Source, uses: LineUses) -> None:
        """Read the drawing again with another table of what its lines are for."""
        choices = replace(source.choices, uses=uses)
        self.desk.redrawer.read_again([(source, choices)], remember=True)


def drawn_files(
    panels: Sequence[JobPanel], sources: Sequence[Source], of_panels: Sequence[Finding] = ()
) -> tuple[list[DrawnFile], tuple[NumberedFinding, ...]]:
    """The job's drawings for the scene; findings numbered from 1, what needs a look first.

    Args:
        panels: the job's.
        sources: its drawings, with their findings.
        of_panels: findings that name a panel, whatever it came from.
    """
    file_names = names_apart(sources)
    drawn_in = {
        panel: name
        for source, name in zip(sources, file_names, strict=True)
        for panel in source.panel_names
    }
    found = [
        NumberedFinding(0, finding, drawn_in.get(finding.panel or "", finding.panel or ""))
        for finding in of_panels
    ]
    found += [
        NumberedFinding(0, finding, name)
        for source, name in zip(sources, file_names, strict=True)
        for finding in source.findings
    ]
    found.sort(key=lambda n: (not needs_the_maker(n), _WORST_FIRST[n.finding.severity]))
    numbered = tuple(replace(n, number=i) for i, n in enumerate(found, start=1))
    found_in: dict[str, list[NumberedFinding]] = {}
    for one in numbered:
        found_in.setdefault(one.file, []).append(one)
    left = {p.name: p.panel for p in panels}
    files: list[DrawnFile] = []
    for source, name in zip(sources, file_names, strict=True):
        own = tuple(left.pop(n) for n in source.panel_names if n in left)
        files.append(DrawnFile(name, own, source.loose, tuple(found_in.get(name, ()))))
    files += [
        DrawnFile(name, (panel,), (), tuple(found_in.get(name, ()))) for name, panel in left.items()
    ]
    return files, numbered
