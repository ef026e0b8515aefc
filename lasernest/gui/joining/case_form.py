"""A plain case as a start without a drawing: its sizes, and what it will look like."""

from __future__ import annotations

from dataclasses import dataclass

from PySide6.QtCore import Qt, QTimer, Signal
from PySide6.QtGui import QShowEvent
from PySide6.QtWidgets import QSizePolicy, QWidget

from lasernest.domain.control import Control
from lasernest.domain.joints import EdgeMeaning
from lasernest.errors import LasernestError
from lasernest.gui.desk import Desk
from lasernest.gui.joining.assembler import CaseView
from lasernest.gui.joining.case_canvas import CaseCanvas
from lasernest.gui.lengths import lengths
from lasernest.gui.look.theme import TextSize, theme
from lasernest.gui.parts.basics import SettingRow, Text, button, horizontal, vertical
from lasernest.gui.parts.fields import ChoiceField, CountField, LengthField
from lasernest.gui.parts.side_by_side import SideBySide
from lasernest.gui.tiles import Step
from lasernest.gui.words import tr
from lasernest.job import Job
from lasernest.joints.case import CaseSpec
from lasernest.services.joint_basis import thickness_basis
from lasernest.services.joint_making import AddCase

_FIELDS_PX = 260
_BESIDE_FROM_PX = 430
"""From this width on, grown with the text, the picture stands beside the fields."""
_USUAL_THICKNESS_MM = 3.0
_MOST_DIVIDERS = 20


@dataclass(slots=True)
class CaseWishes:
    """What is typed so far."""

    length_mm: float = 200.0
    width_mm: float = 120.0
    height_mm: float = 80.0
    meaning: EdgeMeaning = EdgeMeaning.OUTSIDE
    lid: bool = True
    dividers_across: int = 0
    dividers_along: int = 0
    feet_mm: float = 0.0

    def spec(self, thickness_mm: float) -> CaseSpec:
        """The case for a thickness.

        Raises:
            BadValueError: no such case can be.
        """
        return CaseSpec(
            self.length_mm,
            self.width_mm,
            self.height_mm,
            thickness_mm,
            self.meaning,
            self.lid,
            self.dividers_across,
            self.dividers_along,
            self.feet_mm,
        )


class CaseForm(QWidget):
    """The first words of the page while there are no panels."""

    made = Signal()
    """The case was put into the job."""

    def __init__(self, desk: Desk) -> None:
        super().__init__()
        self._desk = desk
        self.wishes = CaseWishes()
        outer = vertical(self, gap=8)
        outer.setContentsMargins(24, 20, 24, 16)
        heading = Text(tr("No panels to join yet"), size=TextSize.LARGE, strong=True, wrap=True)
        outer.addWidget(heading)
        row = horizontal(gap=12)
        words = Text(
            tr("Bring in outlines and join their edges here, or start with a plain case."),
            kind="quiet",
            wrap=True,
        )
        row.addWidget(words, 1)
        row.addWidget(button(tr("Go to Outlines"), lambda: desk.step_wanted.emit(Step.OUTLINES)))
        outer.addLayout(row)
        outer.addSpacing(8)
        middle = SideBySide(_BESIDE_FROM_PX, gap=24)
        self._fields = QWidget()
        self._fields.setSizePolicy(QSizePolicy.Policy.Fixed, QSizePolicy.Policy.Preferred)
        self._column = vertical(self._fields, gap=8)
        self._build_fields()
        middle.row.addWidget(self._fields, 0, Qt.AlignmentFlag.AlignTop)
        self.canvas = CaseCanvas()
        middle.row.addWidget(self.canvas, 1)
        outer.addWidget(middle, 1)
        self._timer = QTimer(self)
        self._timer.setSingleShot(True)
        self._timer.setInterval(60)
        self._timer.timeout.connect(self._preview)
        self._size()
        theme.changed.connect(self._size)
        # Only then is it known which stock a new job has.
        desk.stocks_changed.connect(lambda: self.refresh() if self.isVisible() else None)

    def _build_fields(self) -> None:
        self._column.addWidget(Text(tr("A plain case"), strong=True))
        self.length_field = self._length("length_mm")
        self.width_field = self._length("width_mm")
        self.height_field = self._length("height_mm")
        self.sizes = ChoiceField()
        self.sizes.offer(
            [(tr("outside"), EdgeMeaning.OUTSIDE), (tr("inside"), EdgeMeaning.INSIDE)],
            self.wishes.meaning,
        )
        self.sizes.picked.connect(lambda meaning: self._wish(meaning=meaning))
        self.lid = ChoiceField()
        self.lid.offer([(tr("with a lid"), True), (tr("open"), False)], self.wishes.lid)
        self.lid.picked.connect(lambda lid: self._wish(lid=lid))
        self.across = CountField(most=_MOST_DIVIDERS)
        self.across.set_value(0)
        self.across.committed.connect(lambda n: self._wish(dividers_across=n))
        self.along = CountField(most=_MOST_DIVIDERS)
        self.along.set_value(0)
        self.along.committed.connect(lambda n: self._wish(dividers_along=n))
        self.feet = LengthField(most_mm=500.0, step_mm=1.0, empty=tr("none"))
        self.feet.committed.connect(lambda mm: self._wish(feet_mm=mm))
        self.feet.cleared.connect(lambda: self._wish(feet_mm=0.0))
        for name, field, explain in (
            (tr("Length"), self.length_field, tr("Along the front.")),
            (tr("Width"), self.width_field, tr("From front to back.")),
            (tr("Height"), self.height_field, tr("Without the feet.")),
            (tr("Sizes are"), self.sizes, tr("Whether outer or inner sizes are given.")),
            (tr("Top"), self.lid, ""),
            (tr("Dividers across"), self.across, tr("Standing from front to back.")),
            (tr("Dividers along"), self.along, tr("Standing from left to right.")),
            (tr("Feet"), self.feet, tr("How high the floor stands.")),
        ):
            self._column.addWidget(SettingRow(name, field, explain=explain, width=116))
        self._thickness = Text("", size=TextSize.SMALL, kind="quiet", wrap=True)
        self._column.addWidget(self._thickness)
        self.problem = Text("", kind="bad", wrap=True)
        self._column.addWidget(self.problem)
        self.make_button = button(tr("Make this case"), self.make, kind="main")
        self._column.addWidget(self.make_button)

    def _length(self, name: str) -> LengthField:
        field = LengthField(most_mm=3000.0, step_mm=5.0)
        field.set_mm(getattr(self.wishes, name))
        field.committed.connect(lambda mm: self._wish(**{name: mm}))
        return field

    def _size(self) -> None:
        self._fields.setFixedWidth(theme.pixels(_FIELDS_PX))

    # --- what is shown ---------------------------------------------------------------

    def showEvent(self, event: QShowEvent) -> None:  # noqa: N802 - Qt's name
        super().showEvent(event)
        self.refresh()

    def refresh(self) -> None:
        """Show what the wishes make of the job's stock."""
        basis = thickness_basis(self._desk.job)
        if basis is None:
            text = tr(
                "No stock is chosen yet: {size} is taken for the thickness.",
                size=lengths.text(_USUAL_THICKNESS_MM),
            )
        else:
            text = tr(
                "Thickness {size}, {words}. All of it can be changed afterwards.",
                size=lengths.text(basis.value_mm),
                words=basis.words,
            )
        self._thickness.setText(text)
        try:
            self.spec()
        except LasernestError as error:
            self._timer.stop()
            sentence = error.sentence()
            self.problem.setText(sentence[:1].upper() + sentence[1:])
        else:
            self.problem.setText("")
            self._timer.start()
        self.problem.setVisible(bool(self.problem.text()))
        self.make_button.setEnabled(not self.problem.text())

    def spec(self) -> CaseSpec:
        """The case as it is wished for.

        Raises:
            BadValueError: no such case can be.
        """
        basis = thickness_basis(self._desk.job)
        return self.wishes.spec(basis.value_mm if basis else _USUAL_THICKNESS_MM)

    def _preview(self) -> None:
        """Work out the picture in the background."""
        spec, setup, rules = self.spec(), self._desk.job.setup, self._desk.job.joint_rules
        if not self.isVisible():
            return

        def work(_control: Control) -> CaseView:
            from lasernest.joints.solids import middle_of, size_of, stand_up  # noqa: PLC0415
            from lasernest.services.joining import assemble_job, join_job  # noqa: PLC0415 - heavy

            job = AddCase(spec).apply(Job(setup=setup, joint_rules=rules))
            joined = join_job(job)
            standing = stand_up(joined, assemble_job(job, joined))
            x, y, z = (float(v) for v in middle_of(standing.faces()))
            return CaseView(standing, size_of(standing.faces()), (x, y, z))

        self._desk.tasks.run(
            "preview",
            tr("Drawing the case"),
            work,
            on_done=self.canvas.show_case,
            on_failed=lambda e: self._desk.trouble(Step.JOINTS, tr("Drawing the case"), e),
        )

    # --- what the maker does -----------------------------------------------------------

    def _wish(self, **changes: object) -> None:
        for name, value in changes.items():
            setattr(self.wishes, name, value)
        self.refresh()

    def make(self) -> None:
        """Put the case into the job, as one step."""
        if self._desk.do(AddCase(self.spec()), Step.JOINTS):
            self.made.emit()
