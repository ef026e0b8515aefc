"""What the beam leaves of every joint, as the proof of the written file measured it."""

from __future__ import annotations

from collections.abc import Sequence

from PySide6.QtWidgets import QWidget

from lasernest.domain.cutting import JointProof
from lasernest.gui.joining.joint_rows import plus_minus, signed
from lasernest.gui.look.theme import TextSize
from lasernest.gui.parts.basics import Elided, Text, horizontal
from lasernest.gui.parts.tailed_list import TailedList
from lasernest.gui.words import count_of, tr


class JointFigures(TailedList[JointProof]):
    """One line for each joint; a long list waits behind a button."""

    def __init__(self) -> None:
        super().__init__(first=4, gap=4)

    def show_proofs(self, proofs: Sequence[JointProof]) -> None:
        """Show these."""
        self.show_items(proofs)

    def heading(self, count: int) -> str:
        joints = count_of(count, "joint", "joints")
        return tr("{joints}, as the beam leaves them", joints=joints)

    def row(self, index: int, item: JointProof) -> QWidget:
        return _line(item)

    def texts(self) -> list[str]:
        """What the lines say."""
        lines = [w for w in self.findChildren(QWidget, "joint line") if not w.isHidden()]
        return [w.accessibleName() for w in lines]


def _line(proof: JointProof) -> QWidget:
    made = QWidget()
    made.setObjectName("joint line")
    row = horizontal(made, gap=8)
    row.addWidget(Elided(f"{proof.a} = {proof.b}", size=TextSize.SMALL, colour="quiet"), 1)
    value = f"{plus_minus(proof.interference_mm, 2.0 * proof.u_mm)}, {tr(proof.fit)}"
    row.addWidget(Text(value, size=TextSize.SMALL, strong=True))
    made.setToolTip(
        tr(
            "Mean of all fingers after the cut, and how far it may be off (95 %); "
            "the worst finger has {worst}.",
            worst=signed(proof.worst_mm, 3),
        )
    )
    made.setAccessibleName(f"{proof.a} = {proof.b}: {value}")
    return made
