"""What the beam leaves of every joint, as the proof of the written file measured it."""

from __future__ import annotations

from collections.abc import Sequence

from PySide6.QtWidgets import QWidget

from lasernest.domain.cutting import JointProof
from lasernest.gui.joining.joint_rows import plus_minus, signed
from lasernest.gui.look.theme import TextSize
from lasernest.gui.parts.basics import Elided, Text, button, horizontal, vertical
from lasernest.gui.words import count_of, tr

_FIRST = 4


class JointFigures(QWidget):
    """One line for each joint; a long list waits behind a button."""

    def __init__(self) -> None:
        super().__init__()
        self._column = vertical(self, gap=4)
        self._shown: tuple[JointProof, ...] = ()
        self._all = False
        self.hide()

    def show_proofs(self, proofs: Sequence[JointProof]) -> None:
        """Show these."""
        if tuple(proofs) != self._shown:
            self._shown, self._all = tuple(proofs), False
            self._fill()

    def _fill(self) -> None:
        while (item := self._column.takeAt(0)) is not None:
            widget = item.widget()
            if widget is not None:
                widget.hide()
                widget.deleteLater()
        count = count_of(len(self._shown), "joint", "joints")
        heading = Text(tr("{joints}, as the beam leaves them", joints=count), strong=True)
        self._column.addWidget(heading)
        shown = self._shown if self._all else self._shown[:_FIRST]
        for proof in shown:
            self._column.addWidget(_line(proof))
        if len(shown) < len(self._shown):
            more = tr("Show {n} more", n=len(self._shown) - len(shown))
            self._column.addWidget(button(more, self._show_all, kind="link"))
        self.setVisible(bool(self._shown))

    def _show_all(self) -> None:
        self._all = True
        self._fill()

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
