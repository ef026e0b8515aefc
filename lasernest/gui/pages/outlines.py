"""Outlines: the drawings with their panels, how many of each, and what was found."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from functools import partial
from pathlib import Path

from PySide6.QtCore import Signal
from PySide6.QtWidgets import QSizePolicy, QWidget

from lasernest.domain.findings import Choice, Severity, worst
from lasernest.domain.line_uses import USE_OPTION, LineUses
from lasernest.domain.plan import Turns
from lasernest.gui.board.frame import Board
from lasernest.gui.board.legend import Sign
from lasernest.gui.board.outlines_scene import DrawnFile, NumberedFinding, OutlinesScene
from lasernest.gui.board.scene import Scene
from lasernest.gui.desk import Desk
from lasernest.gui.keeper import Keeper, title_of, when
from lasernest.gui.look.signs import State
from lasernest.gui.pages.page import Page
from lasernest.gui.parts.basics import SettingRow, Text, button, horizontal, vertical
from lasernest.gui.parts.empty import EmptyPage
from lasernest.gui.parts.fields import ChoiceField, CountField
from lasernest.gui.parts.findings import FindingList, needs_the_maker
from lasernest.gui.parts.line_use_table import LineUseTable
from lasernest.gui.parts.notes import Answer, Note, NoteList
from lasernest.gui.parts.panel_list import PanelList
from lasernest.gui.parts.recent import RecentJobs
from lasernest.gui.tiles import Step, TileText
from lasernest.gui.words import count_of, tr
from lasernest.job import JobPanel, Source
from lasernest.services.commands import RemovePanels, SetQuantity, SetTurns, Together

_WORST_FIRST = {severity: i for i, severity in enumerate(Severity)}


class OutlinesPage(Page):
    """The first step."""

    step = Step.OUTLINES
    open_wanted = Signal()
    sample_wanted = Signal()

    def __init__(self, desk: Desk, board: Board, keeper: Keeper) -> None:
        super().__init__(desk, board, tr("Outlines"))
        self._keeper = keeper
        keeper.offers_changed.connect(self.refresh)
        self.recent = RecentJobs()
        self._numbered: tuple[NumberedFinding, ...] = ()
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
        self._chosen_box = self._build_chosen_box()
        self.findings = FindingList()
        self.findings.pressed.connect(self.go_to_finding)
        self.findings.answered.connect(self._answer)
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
            self._hint,
            self.list,
            self._chosen_box,
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
        self.list.quantity_typed.connect(self._set_quantity)
        self.list.quantity_stepped.connect(self._step_quantity)
        self.list.removal_wanted.connect(self.remove_chosen)
        self.list.opened.connect(self._show_panel)

    def _build_chosen_box(self) -> QWidget:
        self.quantity = CountField(most=100_000)
        self.quantity.committed.connect(self._set_quantity)
        self.turns = ChoiceField()
        self.turns.picked.connect(self._set_turns)
        self.mirror = ChoiceField()
        self.mirror.picked.connect(self._set_mirror)
        made = QWidget()
        column = vertical(made, gap=8)
        head = horizontal(gap=8)
        self._chosen_name = Text("", strong=True)
        head.addWidget(self._chosen_name, 1)
        remove_tip = tr("Del; undo brings it back")
        head.addWidget(button(tr("Remove"), self.remove_chosen, kind="link", tip=remove_tip))
        column.addLayout(head)
        for name, field, width, explain in (
            (
                tr("Copies in one unit"),
                self.quantity,
                84,
                tr("How many of this panel one product takes; type it in the list too."),
            ),
            (
                tr("Turning"),
                self.turns,
                148,
                tr("Which turns the panel may be given on the sheet."),
            ),
            (
                tr("Mirroring"),
                self.mirror,
                148,
                tr("Mirrored panels lie face down; only for panels without a face side."),
            ),
        ):
            column.addWidget(SettingRow(name, field, explain=explain, width=width))
        return made

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
                return TileText(tr("nothing read"), troubled[0].what, State.BLOCKED, tr("look"))
            return TileText(
                tr("no drawing yet"), tr("drop DXF or SVG files"), State.NOTHING, tr("nothing yet")
            )
        figure = count_of(sum(p.quantity for p in job.panels), "panel", "panels")
        unmended = [n.finding for n in self._numbered if not n.finding.mended]
        mended = len(self._numbered) - len(unmended)
        rests = [count_of(len(job.sources), "file", "files")] if job.sources else []
        if mended:
            rests.append(tr("{count} mended", count=mended))
        asked = [n for n in self._numbered if needs_the_maker(n)]
        if worst(unmended) is Severity.ERROR or troubled:
            return TileText(figure, " · ".join(rests), State.BLOCKED, tr("look"))
        if asked:
            word = count_of(len(asked), "question", "questions")
            return TileText(figure, " · ".join(rests), State.QUESTION, word)
        return TileText(figure, " · ".join(rests), State.DONE, tr("done"))

    def refresh(self) -> None:
        job = self.desk.job
        files, self._numbered = drawn_files(job.panels, job.sources)
        size = count_of(len(job.panels), "panel", "panels")
        self._scene.show_files(files, left=job.name or "", right=size if job.panels else "")
        self.list.show_panels(job.panels)
        has_panels = bool(job.panels)
        self.list.setVisible(has_panels)
        self._hint.setVisible(not has_panels)
        self._tail.setVisible(not has_panels)
        self.arrange_button.setVisible(has_panels)
        self.arrange_button.setEnabled(job.panel_count > 0)
        self.findings.show_findings(self._numbered)
        self.line_uses.show_sources(job.sources)
        self.notes.show_notes([*self._offers(), *self.trouble_notes()])
        self.recent.show_jobs(self.desk.settings.recent_jobs)
        self._show_chosen()
        self.put_on_board()

    def _offers(self) -> list[Note]:
        """Jobs that were not saved before the program ended, while the window is blank."""
        if self.desk.job.panels:
            return []
        return [
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
                        tr("Let it go"),
                        partial(self._keeper.let_go, kept),
                        tr("It stays in the data folder for a month, but is offered no more"),
                    ),
                ),
            )
            for kept in self._keeper.offers
        ]

    def _show_chosen(self) -> None:
        chosen = self._chosen()
        self._chosen_box.setVisible(bool(chosen))
        self._scene.choose(chosen[0].name if len(chosen) == 1 else "")
        if not chosen:
            return
        self._chosen_name.setText(
            chosen[0].name if len(chosen) == 1 else count_of(len(chosen), "panel", "panels")
        )
        self.quantity.set_value(chosen[0].quantity)
        self.turns.offer(
            [
                (tr("as the grain asks"), "grain"),
                (tr("as drawn"), Turns.NONE),
                (tr("half turns"), Turns.HALF),
                (tr("quarter turns"), Turns.QUARTER),
                (tr("any angle"), Turns.FREE),
            ],
            chosen[0].turns or "grain",
        )
        self.mirror.offer(
            [(tr("face up only"), "no"), (tr("may be mirrored"), "yes")],
            "yes" if chosen[0].may_mirror else "no",
        )

    def _chosen(self) -> list[JobPanel]:
        names = set(self.list.chosen())
        return [p for p in self.desk.job.panels if p.name in names]

    # --- what the maker does -----------------------------------------------------------

    def _set_quantity(self, quantity: int) -> None:
        commands = [SetQuantity(p.name, quantity) for p in self._chosen()]
        self._for_chosen(tr("Set quantity"), commands, merge=True)

    def _step_quantity(self, by: int) -> None:
        commands = [SetQuantity(p.name, max(0, p.quantity + by)) for p in self._chosen()]
        self._for_chosen(tr("Set quantity"), commands, merge=True)

    def _set_turns(self, value: object) -> None:
        turns = value if isinstance(value, Turns) else None
        commands = [SetTurns(p.name, turns, p.may_mirror) for p in self._chosen()]
        self._for_chosen(tr("Set turning"), commands)

    def _set_mirror(self, value: object) -> None:
        commands = [SetTurns(p.name, p.turns, value == "yes") for p in self._chosen()]
        self._for_chosen(tr("Set mirroring"), commands)

    def _for_chosen(
        self, label: str, commands: Sequence[SetQuantity | SetTurns], *, merge: bool = False
    ) -> None:
        if not commands:
            return
        names = [c.panel_name for c in commands]
        what = names[0] if len(names) == 1 else count_of(len(names), "panel", "panels")
        key = f"{label} {' '.join(names)}" if merge else None
        self.desk.do(Together(f"{label} of {what}", tuple(commands), key))

    def remove_chosen(self) -> None:
        """Take the chosen panels out of the job."""
        names = tuple(self.list.chosen())
        if names:
            self.desk.do(RemovePanels(names))

    def _panel_clicked(self, name: str) -> None:
        self.list.choose([name] if name else [])

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

    def _answer(self, number: int, choice: Choice) -> None:
        """Read the drawing again with the answer to its question."""
        name = next((n.file for n in self._numbered if n.number == number), "")
        for source in self.desk.job.sources:
            if Path(source.path).name == name:
                self.desk.redrawer.read_again(
                    source,
                    source.choices.with_choice(choice),
                    remember=choice.option == USE_OPTION,
                )

    def _pick_uses(self, source: Source, uses: LineUses) -> None:
        """Read the drawing again with another table of what its lines are for."""
        choices = replace(source.choices, uses=uses)
        self.desk.redrawer.read_again(source, choices, remember=True)


def drawn_files(
    panels: Sequence[JobPanel], sources: Sequence[Source]
) -> tuple[list[DrawnFile], tuple[NumberedFinding, ...]]:
    """The job's drawings for the scene; findings numbered from 1, what needs a look first."""
    found = [
        NumberedFinding(0, finding, Path(source.path).name)
        for source in sources
        for finding in source.findings
    ]
    found.sort(key=lambda n: (not needs_the_maker(n), _WORST_FIRST[n.finding.severity]))
    numbered = tuple(replace(n, number=i) for i, n in enumerate(found, start=1))
    left = {p.name: p.panel for p in panels}
    files: list[DrawnFile] = []
    for source in sources:
        name = Path(source.path).name
        own = tuple(left.pop(n) for n in source.panel_names if n in left)
        files.append(
            DrawnFile(name, own, source.loose, tuple(n for n in numbered if n.file == name))
        )
    files += [DrawnFile(name, (panel,)) for name, panel in left.items()]
    return files, numbered
