"""The board of the Joints page: all panels or the chosen joint, and the case beside them."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from PySide6.QtCore import QObject, Signal

from lasernest.domain.joints import Joint
from lasernest.gui.board.frame import Board
from lasernest.gui.board.legend import Sign
from lasernest.gui.board.scene import Scene
from lasernest.gui.board.shelves import DrawnFile, NumberedFinding
from lasernest.gui.desk import Desk
from lasernest.gui.joining.assembler import Assembler
from lasernest.gui.joining.case_box import CaseBox
from lasernest.gui.joining.edge_scene import EdgeScene, hint
from lasernest.gui.joining.edge_spots import MarkedPair, TagSpot
from lasernest.gui.joining.joint_rows import JointRow, plus_minus, signed
from lasernest.gui.joining.pair_scene import PairScene
from lasernest.gui.joining.picker import Picker
from lasernest.gui.joining.proposal_list import letter
from lasernest.gui.lengths import lengths
from lasernest.gui.pages.outlines import drawn_files
from lasernest.gui.parts.basics import button
from lasernest.gui.parts.panel_sums import in_all
from lasernest.gui.words import tr


class JointBoard(QObject):
    """What the board shows of the joints."""

    joint_wanted = Signal(int, bool)
    """Look at a joint: its index, and whether to draw it large."""
    finding_wanted = Signal(int)
    refresh_wanted = Signal()
    none_wanted = Signal()
    """Look at no joint any more."""

    def __init__(self, desk: Desk, board: Board, assembler: Assembler) -> None:
        super().__init__()
        self._desk = desk
        self._board = board
        self._assembler = assembler
        self.edges = EdgeScene()
        self.picker = Picker(desk, self.edges)
        self.picker.joined.connect(lambda index: self.joint_wanted.emit(index, False))
        self.edges.joint_clicked.connect(lambda index: self.joint_wanted.emit(index, True))
        self.edges.proposal_clicked.connect(self.accept_one)
        self.edges.finding_clicked.connect(self.finding_wanted)
        self.edges.let_go.connect(self._let_go)
        self.edges.hint_changed.connect(self._show_hint)
        self.pair = PairScene()
        self.pair.closed.connect(self.toggle_closely)
        self.pair.step_wanted.connect(self._step)
        self.case = CaseBox(assembler)
        self.case.canvas.finding_clicked.connect(self.finding_wanted)
        self.case.canvas.panel_clicked.connect(self.edges.choose)
        self.case.larger_wanted.connect(self._toggle_larger)
        self.case.hide()
        board.beside.addWidget(self.case, 2)
        self.switch = button("", self.toggle_closely, kind="link")
        self.switch.hide()
        board.head.insertWidget(0, self.switch)
        self.closely = False
        """True while the chosen joint is drawn large instead of all panels."""
        self._chosen: JointRow | None = None
        self._count = 0
        self._larger = False
        """True while the case has the whole board."""

    def scene(self) -> Scene | None:
        """What the canvas shows; None without panels."""
        if self.closely and self._chosen is not None and self.pair.has_pair:
            return self.pair
        return self.edges if self._desk.job.panels else None

    def signs(self) -> Sequence[Sign]:
        """What the legend explains."""
        job = self._desk.job
        marks = {m.kind.value for p in job.panels for m in p.panel.marks}
        signs = [Sign.OUTER, Sign.INNER]
        signs += [sign for sign in (Sign.SCORE, Sign.ENGRAVE) if sign.value in marks]
        if self.scene() is self.pair:
            return [*signs, Sign.LOOSE if self.pair.is_loose else Sign.TIGHT]
        signs += [Sign.JOINT] if job.joints else []
        return [*signs, Sign.PROPOSED] if self._assembler.proposals else signs

    # --- what is shown ---------------------------------------------------------------

    def refresh(
        self,
        rows: Sequence[JointRow],
        chosen: int | None,
        numbered: Sequence[NumberedFinding],
        *,
        shown: bool,
    ) -> None:
        """Show the job as it is; `shown` while the page is open."""
        self._chosen = rows[chosen] if chosen is not None else None
        self._count = len(rows)
        self.edges.show_panels(self._files(numbered), self._desk.panels)
        self.picker.forget_stale()
        self.edges.show_joints(
            [MarkedPair(str(r.index + 1), r.joint.a, r.joint.b, r.tip) for r in rows], chosen
        )
        self.edges.show_proposals(
            [
                MarkedPair(letter(i), joint.a, joint.b, _proposal_tip(joint))
                for i, joint in enumerate(self._assembler.proposals)
            ]
        )
        self._show_hint()
        self._show_pair()
        if shown:
            self._show_beside(numbered)

    def _files(self, numbered: Sequence[NumberedFinding]) -> list[DrawnFile]:
        """The drawings with the findings of joints; a panel made here needs no second name."""
        job = self._desk.job
        files, _ = drawn_files(job.panels, job.sources)
        shown: list[DrawnFile] = []
        for drawn in files:
            names = {p.name for p in drawn.panels}
            own = tuple(n for n in numbered if n.finding.panel in names)
            name = "" if names == {drawn.name} else drawn.name
            shown.append(replace(drawn, name=name, findings=own, loose=()))
        return shown

    def _show_hint(self) -> None:
        self.edges.set_caption(hint(self.edges), in_all(self._desk.job.panels))

    def _show_pair(self) -> None:
        row = self._chosen
        if row is None:
            self.pair.clear()
        elif row.laid is not None or not row.waiting:
            # While it is worked out anew the last picture stands.
            self.pair.show_row(row, self._desk.joined, self._measured(row))

    def _measured(self, row: JointRow) -> str:
        """What the proof of the cut file that was written last says of a joint."""
        written = self._desk.written_of(self._desk.job.plan)
        if written is None:
            return ""
        for proof in written.proof.joints:
            if (proof.a, proof.b) == (row.joint.a.panel, row.joint.b.panel):
                return tr(
                    "In the cut file: {mean}, worst finger {worst}, {fit}",
                    mean=plus_minus(proof.interference_mm, 2.0 * proof.u_mm),
                    worst=signed(proof.worst_mm),
                    fit=proof.fit,
                )
        return ""

    def _show_beside(self, numbered: Sequence[NumberedFinding]) -> None:
        """The case, and the way between all panels and the chosen joint."""
        has_joints = self._count > 0
        self.case.setVisible(has_joints)
        if not has_joints:
            self._show_larger(False)
        row = self._chosen
        names = (row.joint.a.panel, row.joint.b.panel) if row is not None else ()
        self.case.refresh(numbered, names, panels=len(self._desk.job.panels))
        self.switch.setVisible(row is not None and not self._larger)
        if row is not None:
            close = self.scene() is self.pair
            self.switch.setText(
                tr("‹ All panels") if close else tr("Joint {n} large ›", n=row.index + 1)
            )
            self.switch.setToolTip(
                tr("Show all panels again (Esc)") if close else tr("Draw the chosen joint large")
            )

    def leave(self) -> None:
        """The maker went to another page: leave the board as it was found."""
        self.picker.let_go()
        self.case.hide()
        self._show_larger(False)
        self.switch.hide()

    # --- what the maker does -----------------------------------------------------------

    def show_place(self, number: int) -> None:
        """Zoom to a finding's place."""
        self._show_larger(False)
        place = self.edges.place_of_finding(number)
        self.edges.choose_finding(number)
        if place is not None:
            self._board.canvas.show_place(*place)

    def toggle_closely(self) -> None:
        """Draw the chosen joint large, or show all panels again."""
        self.closely = not self.closely
        self.refresh_wanted.emit()
        self._board.focus_canvas()

    def point_at_proposal(self, index: int) -> None:
        """Mark a proposal as if the pointer were over its tag; -1 for none."""
        self.edges.hover(TagSpot(index, proposed=True) if index >= 0 else None)

    def accept_one(self, index: int) -> None:
        """Take one proposal into the job."""
        self._assembler.accept((self._assembler.proposals[index],))

    def _let_go(self) -> None:
        if not self.picker.let_go():
            self.none_wanted.emit()

    def _step(self, by: int) -> None:
        if self._chosen is not None:
            self.joint_wanted.emit((self._chosen.index + by) % self._count, True)

    def _toggle_larger(self) -> None:
        """Let the case have the whole board, or give the drawing its place back."""
        self._show_larger(not self._larger)

    def _show_larger(self, larger: bool) -> None:
        self._larger = larger
        self._board.show_drawing(not larger)
        self.switch.setVisible(self._chosen is not None and not larger)
        self.case.show_larger(larger)


def _proposal_tip(joint: Joint) -> str:
    return tr(
        "{a} = {b}, both {length}: press to accept",
        a=joint.a.panel,
        b=joint.b.panel,
        length=lengths.text(joint.a.length_mm),
    )
