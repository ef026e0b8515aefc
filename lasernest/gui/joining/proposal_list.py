"""The pairs of edges that could be joined, each with a button to accept it."""

from __future__ import annotations

from collections.abc import Sequence
from functools import partial

from PySide6.QtCore import QEvent, Signal
from PySide6.QtGui import QEnterEvent
from PySide6.QtWidgets import QWidget

from lasernest.domain.joints import Joint
from lasernest.gui.joining.pair_names import PairText
from lasernest.gui.lengths import lengths
from lasernest.gui.look.theme import TextSize
from lasernest.gui.parts.basics import Text, button, horizontal, vertical
from lasernest.gui.parts.tailed_list import TailedList
from lasernest.gui.words import count_of, tr


class _Row(QWidget):
    """One pair."""

    pointed = Signal(bool)

    def __init__(self, letter: str, joint: Joint) -> None:
        super().__init__()
        row = horizontal(self, gap=8)
        row.addWidget(Text(letter, strong=True, kind="accent"))
        words = vertical(gap=0)
        words.addWidget(PairText(joint.a.panel, joint.b.panel))
        size = tr("both {length}", length=lengths.text(joint.a.length_mm))
        words.addWidget(Text(size, size=TextSize.SMALL, kind="quiet"))
        row.addLayout(words, 1)
        self.accept_button = button(tr("Accept"))
        self.accept_button.setAccessibleName(
            tr("Join {a} and {b}", a=joint.a.panel, b=joint.b.panel)
        )
        row.addWidget(self.accept_button)

    def enterEvent(self, event: QEnterEvent) -> None:  # noqa: N802 - Qt's name
        self.pointed.emit(True)

    def leaveEvent(self, event: QEvent) -> None:  # noqa: N802 - Qt's name
        self.pointed.emit(False)


class ProposalList(TailedList[Joint]):
    """All proposals."""

    accepted = Signal(int)
    pointed = Signal(int)
    """The pointer is over this proposal; -1 for none."""

    def __init__(self) -> None:
        super().__init__(first=8, gap=6)

    def show_proposals(self, joints: Sequence[Joint]) -> None:
        """Show these; accepting one of many leaves the list unfolded."""
        self.show_items(joints, unfold=True)

    def heading(self, count: int) -> str:
        return tr("{what} could be joined", what=count_of(count, "pair", "pairs"))

    def row(self, index: int, item: Joint) -> QWidget:
        made = _Row(letter(index), item)
        made.accept_button.clicked.connect(partial(self._accept, index))
        made.pointed.connect(partial(self._point, index))
        return made

    def _accept(self, index: int, _checked: bool = False) -> None:
        self.accepted.emit(index)

    def _point(self, index: int, on: bool) -> None:
        self.pointed.emit(index if on else -1)


def letter(index: int) -> str:
    """a to z, then aa, ab and so on."""
    text = ""
    index += 1
    while index:
        index, rest = divmod(index - 1, 26)
        text = chr(ord("a") + rest) + text
    return text
