"""Help on the board: the cautions, the guide and the list of keys."""

from __future__ import annotations

from collections.abc import Sequence

from PySide6.QtCore import Qt, Signal
from PySide6.QtGui import QKeyEvent
from PySide6.QtWidgets import QTextBrowser, QWidget

from lasernest.domain.safety import CAUTIONS
from lasernest.gui.look.theme import TextSize, theme
from lasernest.gui.menu import Act
from lasernest.gui.parts.basics import Text, button, horizontal, vertical
from lasernest.gui.words import tr

_STEPS = (
    "**Outlines** – drop DXF or SVG drawings. Every closed outline is a panel; rings with numbers "
    "mark what needs a look. Choose panels in the list and type how many one product takes.",
    "**Joints** – which edges meet, and how they hold each other.",
    "**Kerf and fit** – what the beam takes away in this sheet. Until somebody measures it, it is "
    "a starting value and says so.",
    "**Sheets** – choose stock and sheet, then *Arrange on sheets*. It gets better while it runs; "
    "*Stop, keep best* ends it.",
    "**Cut file** – *Write cut file* writes the file, reads it back and proves it: the beam is "
    "swept along every line, and what is left is held against the drawing.",
)
_CANVAS = (
    ("Wheel", "nearer and farther, about the pointer"),
    ("Drag", "move the drawing"),
    ("Arrow keys", "move the drawing"),
    ("+  −", "nearer, farther"),
    ("0", "show everything"),
    ("1", "real size"),
    ("M", "measure by dragging"),
)


def guide_text(acts: Sequence[Act]) -> str:
    """The whole help as Markdown."""
    lines = [f"## {tr('Before you cut')}", ""]
    lines += [f"- {caution}" for caution in CAUTIONS]
    lines += ["", f"## {tr('The five steps')}", ""]
    lines += [f"{i}. {step}" for i, step in enumerate(_STEPS, start=1)]
    lines += ["", f"## {tr('Keys on the drawing')}", "", "| | |", "|---|---|"]
    lines += [f"| {keys} | {what} |" for keys, what in _CANVAS]
    lines += ["", f"## {tr('Keys everywhere')}", "", "| | |", "|---|---|"]
    for act in acts:
        if act.keys:
            keys = act.keys.replace(" | ", " or ").replace("|", "")
            lines.append(f"| {keys} | {act.text} |")
    return "\n".join(lines)


class HelpPage(QWidget):
    """The guide, in place of the drawing."""

    back_wanted = Signal()

    def __init__(self, acts: Sequence[Act]) -> None:
        super().__init__()
        self._acts = acts
        column = vertical(self, gap=8)
        column.setContentsMargins(24, 16, 16, 16)
        head = horizontal(gap=8)
        head.addWidget(Text(tr("Guide"), size=TextSize.LARGE, strong=True), 1)
        head.addWidget(button(tr("Back to the job"), self.back_wanted.emit, tip="Esc"))
        column.addLayout(head)
        self.browser = QTextBrowser()
        self.browser.setOpenExternalLinks(True)
        self.browser.setFrameShape(QTextBrowser.Shape.NoFrame)
        column.addWidget(self.browser, 1)
        self.setFocusProxy(self.browser)
        theme.changed.connect(self._fill)
        self._fill()

    def _fill(self) -> None:
        self.browser.setFont(theme.font())
        ground = f"background: {theme.palette.board};"
        self.browser.setStyleSheet(f"QTextBrowser {{ {ground} border: none; }}")
        self.browser.document().setDefaultStyleSheet("td { padding: 2px 16px 2px 0; }")
        self.browser.setMarkdown(guide_text(self._acts))

    def keyPressEvent(self, event: QKeyEvent) -> None:  # noqa: N802 - Qt's name
        if event.key() == Qt.Key.Key_Escape:
            self.back_wanted.emit()
        else:
            super().keyPressEvent(event)
