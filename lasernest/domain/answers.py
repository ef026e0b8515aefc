"""The maker's answers to the questions that an import asks.

A question is a finding with choices; each choice has a value such as
`border=drop`. What nobody answered stays with the preset of the question.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, replace
from typing import Any

from lasernest.errors import BadValueError
from lasernest.units import parse_length_mm

ANSWER_OPTION = "--answer"
"""The option of the command line that takes these values."""

EVERY_LAYER = "*"

WIDEST_GAP_MM = 10.0
"""A wider gap in an outline is no slip of drawing."""

_ALLOWED: dict[str, tuple[str, ...]] = {
    "border": ("keep", "drop"),
    "double-lines": ("outer", "inner", "both"),
    "circles": ("restore", "keep"),
    "dividing-lines": ("mark", "cut"),
    "shared-edges": ("split", "mark"),
    "colours": ("cut",),
}


@dataclass(frozen=True, slots=True)
class Answers:
    """One answer per question; None where the preset is to decide."""

    border: str | None = None
    """`drop` leaves out a rectangle around everything, `keep` makes it a panel."""
    double_lines: str | None = None
    """Of two outlines closer than the kerf: `outer`, `inner` or `both`."""
    circles: str | None = None
    """`restore` makes circles of what is almost one, `keep` leaves it as drawn."""
    dividing_lines: str | None = None
    """Open lines from edge to edge: `mark` them or `cut` the panel in two."""
    shared_edges: str | None = None
    """Lines between two closed areas: `split` into two panels, or `mark` one."""
    colours: str | None = None
    """`cut`: lines of several colours all cut, and nobody need ask again."""
    gaps_mm: float | None = None
    """Gaps in outlines up to this width are closed; 0 leaves them open."""
    layers: tuple[str, ...] | None = None
    """Layers to import, hidden ones too; `*` is all of them."""

    def with_answer(self, answer: str) -> Answers:
        """The answers with one more, written `border=drop` or `layers=FRONT,BACK`.

        Raises:
            BadValueError: no such question, or no such answer to it.
        """
        name, equals, value = answer.partition("=")
        name, value = name.strip().lower(), value.strip()
        if name == "layers" and equals:
            layers = tuple(part.strip() for part in value.split(",") if part.strip())
            return replace(self, layers=layers or None)
        if name == "gaps" and equals:
            return replace(self, gaps_mm=_gap_mm(value))
        allowed = _ALLOWED.get(name)
        if allowed is None or value.lower() not in allowed:
            known = "; ".join(f"{n}={'|'.join(v)}" for n, v in _ALLOWED.items())
            raise BadValueError(
                f"'{answer}' answers no question of an import",
                todo=f"Possible are {known}; gaps=WIDTH; layers=NAME,NAME.",
            )
        chosen: dict[str, Any] = {name.replace("-", "_"): value.lower()}
        return replace(self, **chosen)

    @classmethod
    def of(cls, answers: Iterable[str]) -> Answers:
        """The answers from their written form, later ones winning.

        Raises:
            BadValueError: one of them answers no question.
        """
        made = cls()
        for answer in answers:
            made = made.with_answer(answer)
        return made


def _gap_mm(text: str) -> float:
    width_mm = parse_length_mm(text)
    if not 0.0 <= width_mm <= WIDEST_GAP_MM:
        raise BadValueError(
            f"gaps of {text} cannot be closed",
            todo=f"Give a width from 0 to {WIDEST_GAP_MM:g} mm.",
        )
    return width_mm
