"""The case beside the board: the picture, what it says of itself, and how it is shown."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from PySide6.QtCore import Qt, Signal
from PySide6.QtGui import QAction
from PySide6.QtWidgets import QHBoxLayout, QMenu, QSizePolicy, QSlider, QWidget

from lasernest.domain.findings import Severity
from lasernest.gui.board.inks import severity_colour
from lasernest.gui.board.shelves import NumberedFinding
from lasernest.gui.joining.assembler import Assembler
from lasernest.gui.joining.case_canvas import CaseCanvas, CaseSpot
from lasernest.gui.lengths import lengths
from lasernest.gui.look.theme import TextSize, theme
from lasernest.gui.parts.basics import Text, button, horizontal, link, rule, vertical
from lasernest.gui.parts.fields import ChoiceField
from lasernest.gui.parts.findings import as_sentence
from lasernest.gui.words import count_of, tr

_AXES = (("whole", None), ("cut across x", 0), ("cut across y", 1), ("cut across z", 2))
_STEPS = 100


class CaseBox(QWidget):
    """The case of one job."""

    larger_wanted = Signal()
    """Give the case the whole board, or take it back."""

    def __init__(self, assembler: Assembler) -> None:
        super().__init__()
        self._assembler = assembler
        self._numbered: tuple[NumberedFinding, ...] = ()
        self.setSizePolicy(QSizePolicy.Policy.Expanding, QSizePolicy.Policy.Expanding)
        self.canvas = CaseCanvas()
        self.canvas.hide_wanted.connect(self.hide_panel)
        self.canvas.all_wanted.connect(lambda: self._look(hidden=frozenset()))
        self._column = column = vertical(self, gap=4)
        head = horizontal(gap=8)
        self._title = Text(tr("The case"), strong=True)
        head.addWidget(self._title)
        head.addStretch(1)
        self.larger_button = link("", self.larger_wanted.emit)
        head.addWidget(self.larger_button)
        column.addLayout(head)
        self.report = Text("", size=TextSize.SMALL, wrap=True)
        column.addWidget(self.report)
        column.addWidget(self.canvas, 1)
        column.addWidget(rule())
        self.apart = _slider(tr("How far the panels are moved apart"), 0)
        self.apart.valueChanged.connect(lambda n: self._look(apart=n / _STEPS))
        column.addLayout(_line(tr("Apart"), self.apart))
        self.axis = ChoiceField()
        self.axis.setAccessibleName(tr("Where the case is cut open"))
        self.axis.offer([(tr(text), axis) for text, axis in _AXES], None)
        self.axis.picked.connect(lambda axis: self._look(axis=axis))
        self._size()
        theme.changed.connect(self._size)
        self.kept = _slider(tr("How much of the case is kept"), _STEPS // 2)
        self.kept.valueChanged.connect(lambda n: self._look(kept=n / _STEPS))
        row = horizontal(gap=8)
        row.addWidget(self.axis)
        row.addWidget(self.kept, 1)
        self._kept_gap = Text("")
        row.addWidget(self._kept_gap, 1)
        column.addLayout(row)
        self.hide_button = button("", tip=tr("Leave panels out of the picture"))
        self._menu = QMenu(self)
        self.hide_button.setMenu(self._menu)
        foot = horizontal(gap=8)
        foot.addWidget(self.hide_button)
        foot.addStretch(1)
        foot.addWidget(
            link(
                tr("As at first"),
                self._reset,
                tip=tr("Closed, whole and from the first side (0)"),
            )
        )
        column.addLayout(foot)
        self.show_larger(False)
        assembler.view_changed.connect(self.refresh_view)

    def show_larger(self, larger: bool) -> None:
        """Say whether it has the whole board; then it begins where the board's heading does."""
        self.larger_button.setText(tr("Smaller") if larger else tr("Larger"))
        self._column.setContentsMargins(16 if larger else 8, 0, 12, 4)

    def _size(self) -> None:
        self.axis.setFixedWidth(theme.pixels(128))

    # --- what is shown ---------------------------------------------------------------

    def refresh(
        self, numbered: Sequence[NumberedFinding], chosen: Sequence[str], *, panels: int
    ) -> None:
        """Show the case as the assembler has it.

        Args:
            numbered: findings with their numbers of the card.
            chosen: names of panels to mark.
            panels: of the job, with or without joints.
        """
        assembly = self._assembler.assembly
        self._numbered = tuple(numbered)
        self.canvas.choose(chosen)
        if assembly is None:
            self._say(tr("Being folded up…"), "quiet")
        else:
            findings = [f for f in assembly.findings if f.severity is not Severity.NOTE]
            if findings:
                what = count_of(len(findings), "finding", "findings")
                self._say(tr("It does not go together: {what}, see the card.", what=what), "bad")
            elif assembly.findings:
                self._say(lengths.retold(as_sentence(assembly.findings[0].message)), "question")
            elif left_out := panels - len(assembly.stances):
                what = count_of(left_out, "panel has", "panels have")
                self._say(tr("It goes together so far; {what} no joint.", what=what), "good")
            else:
                self._say(
                    tr("It goes together: every loop closes, nothing overlaps, no gap is open."),
                    "good",
                )
            self._fill_menu(list(assembly.stances))
        self.refresh_view()

    def _say(self, text: str, kind: str) -> None:
        self.report.setText(text)
        self.report.set_kind(kind)

    def refresh_view(self) -> None:
        """Show the picture as it was worked out last."""
        look = self._assembler.look
        self.kept.setVisible(look.axis is not None)
        self._kept_gap.setVisible(look.axis is None)
        self.axis.offer([(tr(text), axis) for text, axis in _AXES], look.axis)
        count = len(look.hidden)
        self.hide_button.setText(tr("{n} hidden", n=count) if count else tr("Hide…"))
        self.canvas.show_case(self._assembler.view, self._spots())

    def _spots(self) -> list[CaseSpot]:
        """Places of findings on the case, while it stands as it was checked."""
        assembly, look = self._assembler.assembly, self._assembler.look
        if assembly is None or look.apart > 0.0:
            return []
        spots: list[CaseSpot] = []
        of_case = set(assembly.findings)
        for numbered in self._numbered:
            finding = numbered.finding
            if finding not in of_case:
                continue  # what concerns one panel is shown on that panel
            stance = assembly.stances.get(finding.panel or "")
            if stance is None or finding.where_mm is None or finding.panel in look.hidden:
                continue
            x, y, z = (float(v) for v in stance.point(finding.where_mm))
            colour = severity_colour(finding.severity, mended=finding.mended)
            spots.append(CaseSpot(numbered.number, finding.panel or "", (x, y, z), colour))
        return spots

    def _fill_menu(self, names: list[str]) -> None:
        hidden = self._assembler.look.hidden
        known = [a.text() for a in self._menu.actions() if not a.isSeparator()]
        if known != [tr("Show all"), *names]:
            self._menu.clear()
            self._menu.addAction(tr("Show all"), lambda: self._look(hidden=frozenset()))
            self._menu.addSeparator()
            for name in names:
                action = QAction(name, self._menu)
                action.setCheckable(True)
                action.toggled.connect(lambda shown, n=name: self._hide(n, not shown))
                self._menu.addAction(action)
        for action in self._menu.actions():
            if action.isCheckable():
                action.blockSignals(True)
                action.setChecked(action.text() not in hidden)
                action.blockSignals(False)

    # --- what the maker does -----------------------------------------------------------

    def hide_panel(self, name: str) -> None:
        """Leave a panel out of the picture."""
        self._hide(name, True)

    def _hide(self, name: str, hide: bool) -> None:
        hidden = self._assembler.look.hidden
        self._look(hidden=hidden | {name} if hide else hidden - {name})

    def _look(self, **changes: object) -> None:
        self._assembler.show(replace(self._assembler.look, **changes))  # type: ignore[arg-type] # names are ours
        self.refresh_view()
        assembly = self._assembler.assembly
        if assembly is not None:
            self._fill_menu(list(assembly.stances))

    def _reset(self) -> None:
        self.canvas.reset()
        self.apart.setValue(0)
        self._look(axis=None, hidden=frozenset())


def _slider(name: str, value: int) -> QSlider:
    made = QSlider(Qt.Orientation.Horizontal)
    made.setRange(0, _STEPS)
    made.setValue(value)
    made.setPageStep(10)
    made.setAccessibleName(name)
    made.setToolTip(name)
    return made


def _line(name: str, control: QWidget) -> QHBoxLayout:
    row = horizontal(gap=8)
    label = Text(name, kind="quiet")
    label.setBuddy(control)
    row.addWidget(label)
    row.addWidget(control, 1)
    return row
