"""How a drawing is brought in: the maker's decisions, kept so that it can be read again."""

from __future__ import annotations

from dataclasses import dataclass, field, replace

from lasernest.domain.answers import ANSWER_OPTION, Answers
from lasernest.domain.findings import Choice
from lasernest.domain.line_uses import USE_OPTION, LineUses
from lasernest.errors import BadValueError
from lasernest.units import LengthUnit, unit_named

UNIT_OPTION = "--unit"
"""The option of the command line that takes a unit."""


@dataclass(frozen=True, slots=True)
class ImportChoices:
    """What was decided for one drawing; presets decide where it is silent."""

    unit: str | None = None
    """Symbol of the unit to take, whatever the file says."""
    answers: Answers = field(default_factory=Answers)
    uses: LineUses = field(default_factory=LineUses)

    def __post_init__(self) -> None:
        if self.unit is not None:
            unit_named(self.unit)

    @property
    def length_unit(self) -> LengthUnit | None:
        return None if self.unit is None else unit_named(self.unit)

    def with_choice(self, choice: Choice) -> ImportChoices:
        """The choices with the answer to one more question.

        Raises:
            BadValueError: the answer is not to a question of an import.
        """
        if choice.option == UNIT_OPTION:
            return replace(self, unit=unit_named(choice.value).symbol)
        if choice.option == USE_OPTION:
            return replace(self, uses=self.uses.with_row(choice.value))
        if choice.option == ANSWER_OPTION:
            return replace(self, answers=self.answers.with_answer(choice.value))
        raise BadValueError(f"{choice.option} {choice.value} answers no question of an import")
