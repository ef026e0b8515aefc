"""What the job asks of all its joints: meaning of the drawn edges, fit, interference, thickness."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

from PySide6.QtCore import Qt
from PySide6.QtWidgets import QWidget

from lasernest.domain.stock import Fit
from lasernest.gui.desk import Desk
from lasernest.gui.joining.joint_rows import signed
from lasernest.gui.joining.meaning import MEANING_WORDS, MeaningChoice
from lasernest.gui.lengths import lengths
from lasernest.gui.look.theme import TextSize
from lasernest.gui.parts.basics import SettingRow, Text, horizontal, link, vertical
from lasernest.gui.parts.fields import ChoiceField, LengthField
from lasernest.gui.tiles import Step
from lasernest.gui.words import tr
from lasernest.services.commands import SetJointRules, Together

_FITS = (
    (Fit.SLIP, "slip, comes apart"),
    (Fit.PUSH, "push, by hand"),
    (Fit.PRESS, "press, holds"),
)


class RulesBox(QWidget):
    """The rules of one job."""

    def __init__(self, desk: Desk) -> None:
        super().__init__()
        self._desk = desk
        self._unfolded = False
        outer = vertical(self, gap=6)
        self._summary_row = QWidget()
        line = horizontal(self._summary_row, gap=8)
        self.summary = Text("", wrap=True)
        line.addWidget(self.summary, 1)
        self.fold_button = link("", self._toggle)
        line.addWidget(self.fold_button, 0, Qt.AlignmentFlag.AlignTop)
        outer.addWidget(self._summary_row)
        self._fields = QWidget()
        outer.addWidget(self._fields)
        column = vertical(self._fields, gap=6)
        self.meaning = MeaningChoice()
        self.meaning.picked.connect(
            lambda meaning: self._set(
                tr("Drawn edges are the {what}", what=tr(meaning.value)),
                meaning=meaning,
                meaning_told=True,
            )
        )
        self.fit = ChoiceField()
        self.fit.picked.connect(
            lambda fit: self._set(tr("Set fit to {fit}", fit=tr(fit.value)), fit=fit)
        )
        self.interference = LengthField(
            least_mm=-2.0, most_mm=2.0, decimals=3, step_mm=0.01, empty=" "
        )
        self.interference.committed.connect(
            lambda mm: self._set(tr("Set interference"), interference_mm=mm, merge=True)
        )
        self.interference.cleared.connect(
            lambda: self._set(tr("Set interference"), interference_mm=None)
        )
        self.thickness = LengthField(least_mm=0.1, most_mm=50.0, step_mm=0.05, empty=" ")
        self.thickness.committed.connect(
            lambda mm: self._set(tr("Set thickness"), thickness_mm=mm, merge=True)
        )
        self.thickness.cleared.connect(lambda: self._set(tr("Set thickness"), thickness_mm=None))
        self._rests_on = Text("", size=TextSize.SMALL, kind="quiet", wrap=True)
        self._thick_on = Text("", size=TextSize.SMALL, kind="quiet", wrap=True)
        self._other_stocks = Text("", size=TextSize.SMALL, kind="quiet", wrap=True)
        column.addWidget(self.meaning)
        column.addSpacing(4)
        column.addWidget(
            SettingRow(
                tr("Fit"), self.fit, width=148, explain=tr("How the joints are to go together.")
            )
        )
        column.addWidget(
            SettingRow(
                tr("Interference"),
                self.interference,
                width=112,
                explain=tr(
                    "Finger minus gap after the cut; positive is tight. Empty: what the fit asks."
                ),
            )
        )
        column.addWidget(self._rests_on)
        column.addWidget(
            SettingRow(
                tr("Thickness"),
                self.thickness,
                width=112,
                explain=tr("Of the sheet, measured. Empty: that of the stock."),
            )
        )
        column.addWidget(self._thick_on)
        column.addWidget(self._other_stocks)

    def _toggle(self) -> None:
        self._unfolded = not self._unfolded
        self.refresh()

    def _set(self, label: str, *, merge: bool = False, **changes: Any) -> None:
        rules = replace(self._desk.job.joint_rules, **changes)
        key = label if merge else None
        self._desk.do(Together(label, (SetJointRules(rules),), key), Step.JOINTS)

    def refresh(self) -> None:
        """Show the job as it is."""
        from lasernest.services.joint_basis import (  # noqa: PLC0415 - heavy
            interference_basis,
            other_thicknesses,
            thickness_basis,
        )

        job = self._desk.job
        rules = job.joint_rules
        settled = bool(job.joints) and rules.meaning_told
        self._summary_row.setVisible(settled)
        self._fields.setVisible(self._unfolded or not settled)
        self.fold_button.setText(tr("Done") if self._unfolded else tr("Change"))
        self.meaning.setVisible(bool(job.panels))
        self.meaning.show_meaning(rules.meaning, asked=bool(job.panels) and not rules.meaning_told)
        self.fit.offer([(tr(text), fit) for fit, text in _FITS], rules.fit)
        tight, thick = interference_basis(job), thickness_basis(job)
        self.interference.set_mm(rules.interference_mm)
        self.interference.setPlaceholderText(lengths.text(tight.value_mm, 3))
        self._rests_on.setText(tight.words[:1].upper() + tight.words[1:])
        self._rests_on.set_kind("quiet" if tight.measured else "question")
        self.thickness.set_mm(rules.thickness_mm)
        if thick is None:
            self.thickness.setPlaceholderText("–")
            self._thick_on.setText(tr("Not known: choose a stock, or type what you measure."))
            self._thick_on.set_kind("bad")
        else:
            self.thickness.setPlaceholderText(lengths.text(thick.value_mm))
            stock = job.setup.stock
            words = thick.words if thick.measured else tr("nominal, not measured")
            of = f" ({stock.name})" if stock is not None and rules.thickness_mm is None else ""
            self._thick_on.setText(words[:1].upper() + words[1:] + of)
            self._thick_on.set_kind("quiet" if thick.measured else "question")
        thickness = lengths.text(thick.value_mm) if thick else tr("not known")
        others = other_thicknesses(job)
        self._other_stocks.setVisible(bool(others))
        told = [f"{n}: {lengths.text(b.value_mm)}, {tr(b.words)}." for n, b in others]
        told.append(tr("Where two stocks meet, the one that takes less interference decides."))
        self._other_stocks.setText(" ".join(told))
        self._other_stocks.set_kind(
            "quiet" if all(basis.measured for _, basis in others) else "question"
        )
        if others:
            thickness += ", " + ", ".join(lengths.text(basis.value_mm) for _, basis in others)
        self.summary.setText(
            tr(
                "{fit} fit, {tight}; thickness {thickness}; drawn edges {meaning}",
                fit=tr(rules.fit.value).capitalize(),
                tight=signed(tight.value_mm),
                thickness=thickness,
                meaning=tr(MEANING_WORDS[rules.meaning]),
            )
        )
