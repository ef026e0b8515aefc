"""Joints: which edges meet, how they hold each other, and whether the case goes together."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from PySide6.QtWidgets import QWidget

from lasernest.domain.findings import Finding, Severity, worst
from lasernest.domain.joints import Joint, JointKind
from lasernest.errors import LasernestError
from lasernest.gui.board.frame import Board
from lasernest.gui.board.legend import Sign
from lasernest.gui.board.outlines_scene import NumberedFinding
from lasernest.gui.board.scene import Scene
from lasernest.gui.desk import Desk
from lasernest.gui.joining.assembler import Assembler
from lasernest.gui.joining.edge_scene import EdgeScene, MarkedPair, hint
from lasernest.gui.joining.joint_box import JointBox
from lasernest.gui.joining.joint_list import JointList
from lasernest.gui.joining.joint_rows import KIND_NAMES, JointRow, joint_rows
from lasernest.gui.joining.picker import Picker
from lasernest.gui.joining.rules_box import RulesBox
from lasernest.gui.lengths import lengths
from lasernest.gui.look.signs import State
from lasernest.gui.pages.outlines import drawn_files
from lasernest.gui.pages.page import Page
from lasernest.gui.parts.basics import SettingRow, Text, button
from lasernest.gui.parts.empty import EmptyPage
from lasernest.gui.parts.fields import ChoiceField
from lasernest.gui.parts.findings import FindingList, needs_the_maker
from lasernest.gui.parts.notes import NoteList
from lasernest.gui.tiles import Step, TileText
from lasernest.gui.words import count_of, tr
from lasernest.services.commands import RemoveJoint, ReplaceJoint, Together

_WORST_FIRST = {severity: i for i, severity in enumerate(Severity)}


class JointsPage(Page):
    """The second step."""

    step = Step.JOINTS

    def __init__(self, desk: Desk, board: Board) -> None:
        super().__init__(desk, board, tr("Joints"))
        self.assembler = Assembler(desk)
        self.assembler.changed.connect(self._case_changed)
        self.edges = EdgeScene()
        self.picker = Picker(desk, self.edges)
        self.picker.joined.connect(self.choose_joint)
        self.edges.joint_clicked.connect(self.choose_joint)
        self.edges.proposal_clicked.connect(self._accept_one)
        self.edges.finding_clicked.connect(self.go_to_finding)
        self.edges.let_go.connect(self.let_go)
        self.edges.hint_changed.connect(self._show_hint)
        self.chosen: int | None = None
        """Index of the joint that is looked at."""
        self._numbered: tuple[NumberedFinding, ...] = ()
        self._rows: tuple[JointRow, ...] = ()
        self._empty = EmptyPage(
            tr("No panels to join yet"),
            tr("Bring in the outlines first; then edges can be joined here."),
            button(tr("Go to Outlines"), lambda: desk.step_wanted.emit(Step.OUTLINES), kind="main"),
        )
        self._build_card()
        self.refresh()

    def _build_card(self) -> None:
        self.notes = NoteList()
        self.rules = RulesBox(self.desk)
        self.kind = ChoiceField()
        self.kind.picked.connect(self._set_next_kind)
        self.list = JointList()
        self.list.chosen_changed.connect(self._list_chosen)
        self.list.removal_wanted.connect(self.remove_chosen)
        self.box = JointBox()
        self.box.changed.connect(self._replace_chosen)
        self.box.removal_wanted.connect(self.remove_chosen)
        self.findings = FindingList()
        self.findings.pressed.connect(self.go_to_finding)
        self._words = Text("", kind="quiet", wrap=True)
        self.card.add(self.notes, self.rules)
        self.card.add_rule()
        self.card.add(
            SettingRow(
                tr("Join with"),
                self.kind,
                explain=tr("What the next pick makes. Tabs go from an edge through a face."),
                width=164,
            ),
            self._words,
            self.list,
            self.box,
            self.findings,
        )
        self.card.close_column()
        self.main_button = button("", self._main, kind="main")
        self.away_button = button(tr("Put away"), self.assembler.drop_proposals)
        self.propose_button = button(
            tr("Propose joints"),
            self.assembler.propose,
            tip=tr("Look for free edges of the same length, neighbours first"),
        )
        self.card.set_actions(self.main_button, self.propose_button, self.away_button)

    # --- what is shown ---------------------------------------------------------------

    def scene(self) -> Scene | None:
        return self.edges if self.desk.job.panels else None

    def first_words(self) -> QWidget:
        return self._empty

    def signs(self) -> Sequence[Sign]:
        marks = {m.kind.value for p in self.desk.job.panels for m in p.panel.marks}
        signs = [Sign.OUTER, Sign.INNER]
        signs += [sign for sign in (Sign.SCORE, Sign.ENGRAVE) if sign.value in marks]
        signs += [Sign.JOINT] if self.desk.job.joints else []
        return [*signs, Sign.PROPOSED] if self.assembler.proposals else signs

    def tile(self) -> TileText:
        from lasernest.services.joint_basis import thickness_basis  # noqa: PLC0415 - heavy

        job = self.desk.job
        if not job.joints:
            return TileText(
                tr("none"), tr("edges are cut as drawn"), State.NOTHING, tr("nothing yet")
            )
        joints = count_of(len(job.joints), "joint", "joints")
        figure = f"{joints}, {tr(job.joint_rules.fit.value)}"
        thick = thickness_basis(job)
        rests = (
            tr("thickness {size}, {words}", size=lengths.text(thick.value_mm), words=thick.words)
            if thick
            else tr("thickness not known")
        )
        found = [f for f in self._all_findings() if f.severity is not Severity.NOTE]
        troubled = any(t.step is self.step for t in self.desk.troubles)
        if troubled or worst(found) is Severity.ERROR:
            return TileText(figure, rests, State.BLOCKED, tr("look"))
        if not job.joint_rules.meaning_told:
            return TileText(figure, rests, State.QUESTION, tr("1 question"))
        if self.desk.joined is None:
            return TileText(figure, rests, State.RUNNING, tr("running"))
        if found:
            word = count_of(len(found), "warning", "warnings")
            return TileText(figure, rests, State.QUESTION, word)
        return TileText(figure, rests, State.DONE, tr("done"))

    def _all_findings(self) -> list[Finding]:
        joined = self.desk.joined
        return [*(joined.findings if joined else ()), *self.assembler.findings]

    def enter(self) -> None:
        super().enter()
        self.refresh()

    def leave(self) -> None:
        super().leave()
        self.picker.let_go()

    def refresh(self) -> None:
        job = self.desk.job
        self.assembler.forget_stale_proposals()
        if self.shown:
            self.assembler.follow_job()
        if self.chosen is not None and self.chosen >= len(job.joints):
            self.chosen = None
        self._rows = joint_rows(job, self.desk.joined, self.assembler.forecasts)
        self._number_findings()
        self._show_scene()
        self._show_card()
        self.put_on_board()

    def _number_findings(self) -> None:
        found = sorted(
            (NumberedFinding(0, finding) for finding in self._all_findings()),
            key=lambda n: (not needs_the_maker(n), _WORST_FIRST[n.finding.severity]),
        )
        self._numbered = tuple(replace(n, number=i) for i, n in enumerate(found, start=1))

    def _show_scene(self) -> None:
        job = self.desk.job
        files, _ = drawn_files(job.panels, job.sources)
        shown = [
            replace(
                drawn,
                findings=tuple(
                    n for n in self._numbered if n.finding.panel in {p.name for p in drawn.panels}
                ),
                loose=(),
            )
            for drawn in files
        ]
        self.edges.show_panels(shown, self.desk.panels)
        self.picker.forget_stale()
        self.edges.show_joints(
            [MarkedPair(str(r.index + 1), r.joint.a, r.joint.b, r.tip) for r in self._rows],
            self.chosen,
        )
        self.edges.show_proposals(
            [
                MarkedPair(_letter(i), joint.a, joint.b, _proposal_tip(joint))
                for i, joint in enumerate(self.assembler.proposals)
            ]
        )
        self._show_hint()

    def _show_hint(self) -> None:
        count = count_of(len(self.desk.job.panels), "panel", "panels")
        self.edges.set_caption(hint(self.edges), count)

    def _show_card(self) -> None:
        job, proposals = self.desk.job, self.assembler.proposals
        self.notes.show_notes(self.trouble_notes())
        self.rules.refresh()
        self.kind.offer([(tr(KIND_NAMES[kind]), kind) for kind in JointKind], self.picker.kind)
        self.kind.setEnabled(bool(job.panels))
        self._words.setText(
            tr("Press an edge on the board, then the edge it meets, or let them be proposed.")
        )
        self._words.setVisible(not job.joints and bool(job.panels))
        self.list.setVisible(bool(self._rows))
        self.list.show_rows(self._rows, self.chosen)
        self.box.setVisible(self.chosen is not None)
        if self.chosen is not None:
            self.box.show_row(self._rows[self.chosen], job.joint_rules.fit, _screws)
        self.findings.show_findings(self._numbered)
        busy = self.desk.tasks.task("propose") is not None
        if proposals:
            count = len(proposals)
            self.main_button.setText(
                tr("Accept it") if count == 1 else tr("Accept all {n}", n=count)
            )
        else:
            self.main_button.setText(
                tr("Arrange on sheets") if job.joints else tr("Propose joints")
            )
        self.main_button.setEnabled(bool(job.panels) and not busy)
        self.away_button.setVisible(bool(proposals))
        self.propose_button.setVisible(bool(job.joints) and not proposals)
        self.propose_button.setEnabled(not busy)

    def _case_changed(self) -> None:
        if self.shown:
            self.refresh()

    # --- what the maker does -----------------------------------------------------------

    def _main(self) -> None:
        if self.assembler.proposals:
            self.assembler.accept(self.assembler.proposals)
        elif self.desk.job.joints:
            self.desk.arrange()
        else:
            self.assembler.propose()

    def _accept_one(self, index: int) -> None:
        self.assembler.accept((self.assembler.proposals[index],))

    def _set_next_kind(self, kind: JointKind) -> None:
        self.picker.set_kind(kind)
        self.board.focus_canvas()

    def let_go(self) -> None:
        """Forget the first edge; failing that, look at no joint."""
        if not self.picker.let_go() and self.chosen is not None:
            self.chosen = None
            self.refresh()

    def choose_joint(self, index: int) -> None:
        """Look at a joint."""
        if 0 <= index < len(self.desk.job.joints):
            self.chosen = index
            self.refresh()

    def _list_chosen(self) -> None:
        chosen = self.list.chosen()
        if chosen != self.chosen:
            self.chosen = chosen
            self.refresh()

    def remove_chosen(self) -> None:
        """Take the chosen joint away."""
        if self.chosen is not None:
            index, self.chosen = self.chosen, None
            self.desk.do(RemoveJoint(index), self.step)

    def _replace_chosen(self, joint: Joint, what: str) -> None:
        if self.chosen is None:
            return
        label = tr("Change joint {n}", n=self.chosen + 1)
        command = ReplaceJoint(self.chosen, joint)
        self.desk.do(Together(label, (command,), f"joint {self.chosen} {what}"), self.step)

    def go_to_finding(self, number: int) -> None:
        """Zoom to a finding's place."""
        place = self.edges.place_of_finding(number)
        self.edges.choose_finding(number)
        if place is not None:
            self.board.canvas.show_place(*place)


def _letter(index: int) -> str:
    """a to z, then aa, ab and so on."""
    text = ""
    index += 1
    while index:
        index, rest = divmod(index - 1, 26)
        text = chr(ord("a") + rest) + text
    return text


def _proposal_tip(joint: Joint) -> str:
    return tr(
        "{a} = {b}, both {length}: press to accept",
        a=joint.a.panel,
        b=joint.b.panel,
        length=lengths.text(joint.a.length_mm),
    )


def _screws(row: JointRow) -> str:
    from lasernest.services.joint_forecast import screw_words  # noqa: PLC0415 - heavy

    try:
        return screw_words(row.laid) if row.laid is not None else "–"
    except LasernestError as error:
        return error.sentence()
