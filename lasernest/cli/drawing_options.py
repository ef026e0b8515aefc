"""The options of every command that reads drawings: unit, uses of lines, answers to questions."""

from __future__ import annotations

from typing import TYPE_CHECKING, Annotated

import typer

from lasernest.errors import BadValueError, UsageError

if TYPE_CHECKING:
    from lasernest.domain.import_choices import ImportChoices

Unit = Annotated[
    str | None,
    typer.Option("--unit", help="The drawings' unit, when they do not say it right: mm, in, ..."),
]
Uses = Annotated[
    list[str] | None,
    typer.Option(
        "--use",
        help="What lines are for: LAYER=USE or #rrggbb=USE; cut, score, engrave or ignore. "
        "May be repeated.",
    ),
]
AnswersGiven = Annotated[
    list[str] | None,
    typer.Option(
        "--answer",
        help="The answer to a question that inspect shows, such as border=keep. May be repeated.",
    ),
]
Remember = Annotated[
    bool,
    typer.Option(
        "--remember",
        help="Keep --use for the next drawings with the same layers, in the shop book.",
    ),
]


def import_choices(
    unit: str | None, uses: list[str] | None, answers: list[str] | None
) -> ImportChoices:
    """The choices that these options give.

    Raises:
        UsageError: one of them cannot be understood.
    """
    from lasernest.domain.answers import Answers
    from lasernest.domain.import_choices import ImportChoices
    from lasernest.domain.line_uses import LineUses
    from lasernest.units import unit_named

    option = "--unit"
    try:
        symbol = None if unit is None else unit_named(unit).symbol
        option, table = "--use", LineUses()
        for row in uses or ():
            table = table.with_row(row)
        option = "--answer"
        return ImportChoices(symbol, Answers.of(answers or ()), table)
    except BadValueError as error:
        raise UsageError(f"{option}: {error.what}", todo=error.todo) from error
