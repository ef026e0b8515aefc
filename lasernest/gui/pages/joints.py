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
from lasernest.gui.board.scene import Scene
from lasernest.gui.board.shelves import NumberedFinding
from lasernest.gui.desk import Desk
from lasernest.gui.joining.assembler import Assembler
from lasernest.gui.joining.case_form import CaseForm
from lasernest.gui.joining.joint_board import JointBoard
from lasernest.gui.joining.joint_box import JointBox
from lasernest.gui.joining.joint_list import JointList
from lasernest.gui.joining.joint_rows import (
    KIND_NAMES,
    JointRow,
    joint_rows,
)
from lasernest.gui.joining.proposal_list import ProposalList
from lasernest.gui.joining.rules_box import RulesBox
from lasernest.gui.lengths import lengths
from lasernest.gui.look.signs import State
from lasernest.gui.pages.page import Page
from lasernest.gui.parts.basics import SettingRow, Text, button
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
        self.drawing = JointBoard(desk, board, self.assembler)
        self.drawing.joint_wanted.connect(self._look_at)
        self.drawing.finding_wanted.connect(self.go_to_finding)
        self.drawing.refresh_wanted.connect(self.refresh)
        self.drawing.none_wanted.connect(self.choose_none)
        self.chosen: int | None = None
        """Index of the joint that is looked at."""
        self._numbered: tuple[NumberedFinding, ...] = ()
        self._rows: tuple[JointRow, ...] = ()
        self.form = CaseForm(desk)
        self._build_card()
        self.refresh()

    def _build_card(self) -> None:
        self.notes = NoteList()
        self.rules = RulesBox(self.desk)
        self.kind = ChoiceField()
        self.kind.picked.connect(self._set_next_kind)
        self.proposals = ProposalList()
        self.proposals.accepted.connect(self.drawing.accept_one)
        self.proposals.pointed.connect(self.drawing.point_at_proposal)
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
        self._kind_row = SettingRow(
            tr("Join with"),
            self.kind,
            explain=tr("What the next pick makes. Tabs go from an edge through a face."),
            width=164,
        )
        self.card.add(
            self._kind_row,
            self._words,
            self.proposals,
            self.list,
            self.box,
            self.findings,
        )
        self.card.column.setStretchFactor(self.list, 1)
        self.card.column.addStretch(0)  # what the list leaves
        self.main_button = button("", self._main, kind="main")
        self.away_button = button(tr("Dismiss"), self.assembler.drop_proposals)
        self.propose_button = button(
            tr("Propose joints"),
            self.assembler.propose,
            tip=tr("Look for free edges of the same length, neighbours first"),
        )
        self.card.set_actions(self.main_button, self.propose_button, self.away_button)

    # --- what is shown ---------------------------------------------------------------

    def scene(self) -> Scene | None:
        return self.drawing.scene()

    def first_words(self) -> QWidget:
        return self.form

    def signs(self) -> Sequence[Sign]:
        return self.drawing.signs()

    def tile(self) -> TileText:
        from lasernest.services.joint_basis import (  # noqa: PLC0415 - heavy
            other_thicknesses,
            thickness_basis,
        )

        job = self.desk.job
        if not job.joints:
            return TileText(tr("none"), tr("edges as drawn"), State.NOTHING, tr("nothing yet"))
        joints = count_of(len(job.joints), "joint", "joints")
        figure = f"{joints}, {tr(job.joint_rules.fit.value)}"
        thick = thickness_basis(job)
        rests = (
            tr(
                "thickness {size}, {words}",
                size=lengths.text(thick.value_mm),
                words=thick.words.removesuffix(" for this job"),  # the tile is narrow
            )
            if thick
            else tr("thickness not known")
        )
        others = other_thicknesses(job)
        if others and thick is not None:
            sizes = [thick.value_mm, *(basis.value_mm for _, basis in others)]
            each = " · ".join(dict.fromkeys(lengths.number(mm) for mm in sizes))
            rests = tr("thickness {size}", size=f"{each} {lengths.unit}")
        found = [f for f in self._all_findings() if f.severity is not Severity.NOTE]
        troubled = any(t.step is self.step for t in self.desk.troubles)
        if troubled or worst(found) is Severity.ERROR:
            return TileText(figure, rests, State.BLOCKED, tr("problem"))
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

    def leave(self) -> None:
        super().leave()
        self.drawing.leave()

    def refresh(self) -> None:
        job = self.desk.job
        self.assembler.forget_stale_proposals()
        if self.shown:
            self.assembler.follow_job()
        if self.chosen is not None and self.chosen >= len(job.joints):
            self.chosen = None
        self._rows = joint_rows(job, self.desk.joined, self.assembler.forecasts)
        self._number_findings()
        self.drawing.refresh(self._rows, self.chosen, self._numbered, shown=self.shown)
        self._show_card()
        self.put_on_board()

    def _number_findings(self) -> None:
        found = sorted(
            (NumberedFinding(0, finding) for finding in self._all_findings()),
            key=lambda n: (not needs_the_maker(n), _WORST_FIRST[n.finding.severity]),
        )
        self._numbered = tuple(replace(n, number=i) for i, n in enumerate(found, start=1))

    def _show_card(self) -> None:
        job, proposals = self.desk.job, self.assembler.proposals
        self.notes.show_notes(self.trouble_notes())
        self.rules.refresh()
        self.kind.offer(
            [(tr(KIND_NAMES[kind]), kind) for kind in JointKind], self.drawing.picker.kind
        )
        self._kind_row.setVisible(bool(job.panels))
        self._words.setText(
            tr(
                "Press an edge on the board, then the one it meets; arrow keys and Enter do the "
                "same. Or let joints be proposed."
            )
        )
        self._words.setVisible(not job.joints and bool(job.panels) and not proposals)
        self.proposals.show_proposals(proposals)
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

    def propose(self) -> None:
        """Look for edges that seem made for each other, and show them."""
        if self.desk.job.panels:
            self.desk.step_wanted.emit(self.step)
            self.assembler.propose()

    def _set_next_kind(self, kind: JointKind) -> None:
        self.drawing.picker.set_kind(kind)
        self.board.focus_canvas()

    def choose_joint(self, index: int, *, closely: bool = True) -> None:
        """Look at a joint, drawn large or among all panels."""
        if 0 <= index < len(self.desk.job.joints):
            self.chosen, self.drawing.closely = index, closely
            self.refresh()
            self.card.reveal(self.box)

    def choose_none(self) -> None:
        """Look at no joint."""
        if self.chosen is not None:
            self.chosen = None
            self.refresh()

    def _look_at(self, index: int, closely: bool) -> None:
        self.choose_joint(index, closely=closely)

    def _list_chosen(self) -> None:
        chosen = self.list.chosen()
        if chosen != self.chosen:
            self.chosen, self.drawing.closely = chosen, chosen is not None
            self.refresh()
            self.card.reveal(self.box)

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
        if self.drawing.closely:
            self.drawing.closely = False
            self.refresh()
        self.drawing.show_place(number)


def _screws(row: JointRow) -> str:
    from lasernest.services.joint_forecast import screw_words  # noqa: PLC0415 - heavy

    try:
        return screw_words(row.laid) if row.laid is not None else "–"
    except LasernestError as error:
        return error.sentence()
