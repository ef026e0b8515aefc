"""The settings of the chosen joint, and what to expect of it."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from typing import Any

from PySide6.QtCore import Signal
from PySide6.QtWidgets import QWidget

from lasernest.domain.joints import Joint, JointKind
from lasernest.domain.stock import Fit
from lasernest.gui.joining.joint_rows import KIND_NAMES, JointRow, plus_minus, signed
from lasernest.gui.parts.basics import Elided, FigureRow, SettingRow, horizontal, link, vertical
from lasernest.gui.parts.fields import AngleField, ChoiceField, LengthField
from lasernest.gui.words import tr
from lasernest.services.joint_making import sibling_kinds

SCREWS = ("M2", "M2.5", "M3", "M4", "M5", "M6")
_MOST_BOLTS = 8


class JointBox(QWidget):
    """One joint."""

    changed = Signal(object, str)
    """The joint as it is to be from now on, and which setting of it is another."""
    removal_wanted = Signal()
    close_wanted = Signal()

    def __init__(self) -> None:
        super().__init__()
        self._row: JointRow | None = None
        self._more = False
        column = vertical(self, gap=6)
        head = horizontal(gap=8)
        self._name = Elided("", strong=True, middle=True)
        head.addWidget(self._name, 1)
        self.remove_button = link(
            tr("Remove"), self.removal_wanted.emit, tip=tr("Del; undo brings it back")
        )
        head.addWidget(self.remove_button)
        column.addLayout(head)
        self.expected = FigureRow(tr("Expected"), why="joints#expected-interference")
        self.share = FigureRow(tr("Chance of the fit"), why="joints#share-expected-to-fit")
        self.screws = FigureRow(
            tr("Bolts to buy"),
            explain=tr("With nuts of ISO 4032; through holes of ISO 273, medium."),
            why="joints#kinds",
        )
        for figure in (self.expected, self.share, self.screws):
            column.addWidget(figure)
        self._rows: dict[str, SettingRow] = {}
        self._build_fields()
        for row in self._rows.values():
            column.addWidget(row)
        self.more_button = link("", self._toggle_more)
        column.addWidget(self.more_button)
        self._show_rows()

    def _build_fields(self) -> None:
        self.kind = ChoiceField()
        self.kind.picked.connect(lambda kind: self._change(kind=kind))
        self.width_field = self._length("target_width_mm", empty=tr("3 × thickness"), least_mm=0.5)
        self.interference = self._length(
            "interference_mm",
            empty=tr("as the job"),
            least_mm=-2.0,
            most_mm=2.0,
            decimals=3,
            step_mm=0.01,
        )
        self.flush = self._length("flush_mm", most_mm=5.0, step_mm=0.1)
        self.chamfer = self._length("chamfer_mm", most_mm=5.0, step_mm=0.1)
        self.relief = self._length("relief_mm", empty=tr("by material"), most_mm=5.0, step_mm=0.1)
        self.shift = self._length("shift_mm", least_mm=-1e4, most_mm=1e4, step_mm=1.0)
        self.angle = AngleField(least_deg=1.0, most_deg=179.0, empty=tr("worked out"))
        self.angle.committed.connect(lambda deg: self._change(angle_deg=deg))
        self.angle.cleared.connect(lambda: self._change(angle_deg=None))
        self.side = ChoiceField()
        self.side.picked.connect(
            lambda side: self._change(flipped=None if side == "auto" else side == "other")
        )
        self.screw = ChoiceField()
        self.screw.picked.connect(lambda name: self._change(screw=name))
        self.bolts = ChoiceField()
        self.bolts.picked.connect(lambda count: self._change(bolts=count or None))
        for key, name, field, width, explain in (
            ("kind", tr("Kind"), self.kind, 172, tr("Another kind on the same lines.")),
            (
                "width",
                tr("Wanted width"),
                self.width_field,
                112,
                tr("Of fingers or tabs; an odd number of equal ones comes nearest to it."),
            ),
            (
                "interference",
                tr("Interference"),
                self.interference,
                112,
                tr("Finger minus gap after the cut; positive is tight. Empty: that of the job."),
            ),
            ("screw", tr("Thread"), self.screw, 96, tr("Of bolt and nut.")),
            (
                "bolts",
                tr("Number of bolts"),
                self.bolts,
                112,
                tr("By length: one for each 120 mm."),
            ),
            (
                "flush",
                tr("Fingers stand out by"),
                self.flush,
                96,
                tr("To be sanded flush with the mate afterwards."),
            ),
            ("chamfer", tr("Lead-in chamfer"), self.chamfer, 96, tr("At the tips of fingers.")),
            (
                "relief",
                tr("Corner relief"),
                self.relief,
                112,
                tr("Radius in inner corners, where acrylic starts to crack; 0 for none."),
            ),
            (
                "shift",
                tr("Shift along"),
                self.shift,
                96,
                tr("Moves the second panel along the edge of the first."),
            ),
            (
                "angle",
                tr("Inside angle"),
                self.angle,
                112,
                tr("Between the panels. Empty: from the corners, else 90°."),
            ),
            (
                "side",
                tr("Drawn from"),
                self.side,
                148,
                tr("Whether both panels are drawn as seen from the same side of the case."),
            ),
        ):
            self._rows[key] = SettingRow(name, field, explain=explain, width=width)

    def _length(self, name: str, **how: Any) -> LengthField:
        field = LengthField(**how)
        field.committed.connect(lambda mm: self._change(**{name: mm}))
        field.cleared.connect(lambda: self._change(**{name: None}))
        return field

    # --- what is shown ---------------------------------------------------------------

    def show_row(self, row: JointRow, fit: Fit, screw_words: Callable[[JointRow], str]) -> None:
        """Show a joint."""
        self._row = row
        joint = row.joint
        self._name.set_text(f"{row.index + 1}  {row.names}")
        self.kind.offer(
            [(tr(KIND_NAMES[kind]), kind) for kind in sibling_kinds(joint.kind)], joint.kind
        )
        self.width_field.set_mm(joint.target_width_mm)
        self.interference.set_mm(joint.interference_mm)
        self.flush.set_mm(joint.flush_mm)
        self.chamfer.set_mm(joint.chamfer_mm)
        self.relief.set_mm(joint.relief_mm)
        self.shift.set_mm(joint.shift_mm)
        self.angle.set_deg(joint.angle_deg)
        self.side.offer(
            [
                (tr("worked out"), "auto"),
                (tr("the same side"), "same"),
                (tr("opposite sides"), "other"),
            ],
            {None: "auto", False: "same", True: "other"}[joint.flipped],
        )
        self.screw.offer([(name, name) for name in SCREWS], joint.screw)
        counts = [(tr("by length"), 0), *((str(n), n) for n in range(1, _MOST_BOLTS + 1))]
        self.bolts.offer(counts, joint.bolts or 0)
        self._show_expected(row, fit)
        self.screws.setVisible(joint.kind is JointKind.NUT and row.laid is not None)
        if joint.kind is JointKind.NUT and row.laid is not None:
            self.screws.set_value(screw_words(row))
        self._show_rows()

    def _show_expected(self, row: JointRow, fit: Fit) -> None:
        forecast = row.forecast
        for figure in (self.expected, self.share):
            figure.setVisible(row.laid is not None)
        if row.laid is None:
            return
        if forecast is None:
            self.expected.set_value(signed(row.laid.interference_mm))
            self.share.set_value("–", explain=tr("Being worked out, or not known of this sheet."))
            return
        self.expected.set_value(
            plus_minus(forecast.interference_mm, 2.0 * forecast.u_mm),
            explain=tr("Interference after the cut; 95 of 100 joints come out within the ±."),
        )
        self.share.set_value(
            tr("{share} % {fit}", share=f"{100 * forecast.share_in_fit:.0f}", fit=tr(fit.value)),
            kind="" if forecast.share_in_fit >= 0.5 else "question",
            explain=tr(
                "How many of 100 such joints will feel as wished, by what is known of the kerf "
                "and the fit of this stock. A comb narrows it down."
            ),
        )

    def _show_rows(self) -> None:
        kind = self._row.joint.kind if self._row is not None else JointKind.FINGER
        shown = {"kind", "interference"}
        if kind is not JointKind.LAP:
            shown.add("width")
        if kind is JointKind.NUT:
            shown |= {"screw", "bolts"}
        if self._more:
            shown |= {"relief", "chamfer", "angle", "side"}
            if kind is not JointKind.LAP:
                shown |= {"flush", "shift"}
        for key, row in self._rows.items():
            row.setVisible(key in shown)
        self.more_button.setText(tr("Fewer settings") if self._more else tr("More settings"))

    def _toggle_more(self) -> None:
        self._more = not self._more
        self._show_rows()

    # --- what the maker does -----------------------------------------------------------

    def _change(self, **changes: Any) -> None:
        if self._row is not None:
            joint: Joint = self._row.joint
            self.changed.emit(replace(joint, **changes), " ".join(changes))
