"""What the step Kerf and fit asks and tells, and how it writes a kerf."""

from __future__ import annotations

from functools import partial

from lasernest.domain.findings import Severity
from lasernest.gui.desk import Desk
from lasernest.gui.lengths import lengths
from lasernest.gui.parts.notes import Answer, Note
from lasernest.gui.tiles import Step
from lasernest.gui.tuner import Tuner
from lasernest.gui.words import tr
from lasernest.services.commands import SetKerf

NORMAL_FACTOR = 1.96
"""Standard uncertainty to half the 95 % interval (JCGM 100:2008, G.1.3)."""


def kerf_notes(desk: Desk, tuner: Tuner) -> list[Note]:
    """The written comb, a kerf of this job only, and what is odd about the readings."""
    view, written = tuner.view, tuner.written
    notes: list[Note] = []
    if written is not None:
        proof = (
            tr("The proof passed.") if written.proof.passed else tr("The proof failed: do not cut.")
        )
        notes.append(
            Note(
                tr(
                    "{name} is written. {proof} Cut it in {stock}, then enter here what "
                    "you read and felt.",
                    name=written.file.name,
                    proof=proof,
                    stock=view.stock.name if view else "",
                ),
                "note" if written.proof.passed else "error",
            )
        )
    given = desk.in_view.setup.kerf
    if given is not None:
        notes.append(
            Note(
                tr(
                    "This job was given a kerf of {mm}; the stock's own is not used in it.",
                    mm=lengths.text(given.mean_mm, 3),
                ),
                "question",
                (
                    Answer(
                        tr("Use the stock's kerf"),
                        partial(desk.do, SetKerf(None, desk.in_view.name), Step.KERF),
                    ),
                ),
            )
        )
    if view is not None:
        for finding in (*view.thickness_findings, *view.tuning.findings):
            if finding.code == "kerf-unmeasured" and written is not None:
                continue
            text = f"{finding.message[:1].upper()}{finding.message[1:]}. {finding.todo}"
            text = lengths.retold(text)
            kind = "note" if finding.severity is Severity.NOTE else "question"
            notes.append(Note(text, kind, why=f"findings#{finding.code}"))
    return notes


def with_u(value_mm: float, u_mm: float | None) -> str:
    """A kerf with half its 95 % interval, or alone while nothing was measured."""
    if u_mm is None:
        return lengths.fine(value_mm)
    return f"{lengths.number(value_mm, 3)} ± {lengths.text(NORMAL_FACTOR * u_mm, 3)}"
