"""How a finding is printed."""

from __future__ import annotations

import pytest

from lasernest.cli.output import say_error, say_finding
from lasernest.domain.findings import Choice, Finding, Severity
from lasernest.errors import UsageError


def test_advice_is_followed_by_the_words_for_it(capsys: pytest.CaptureFixture[str]) -> None:
    say_finding(
        Finding(
            Severity.NOTE,
            "unit-assumed",
            "Its numbers were taken as mm.",
            todo="Let the drawing state its unit.",
            on_command_line="--unit in",
        )
    )
    assert capsys.readouterr().out == (
        "  note: Its numbers were taken as mm. Let the drawing state its unit (--unit in).\n"
    )


def test_a_question_has_its_words_in_its_answers(capsys: pytest.CaptureFixture[str]) -> None:
    say_finding(
        Finding(
            Severity.ERROR,
            "open-outline",
            "An outline has a gap.",
            where_mm=(1.0, 2.0),
            todo="Close it.",
            on_command_line="--answer gaps=1",
            choices=(Choice("close it", "--answer", "gaps=1"),),
        )
    )
    assert capsys.readouterr().out == (
        "  error: An outline has a gap [at 1.00, 2.00 mm]. Close it.\n"
        "    --answer gaps=1: close it\n"
    )


def test_an_error_is_one_line_with_them(capsys: pytest.CaptureFixture[str]) -> None:
    say_error(UsageError("a job has\nno stock", todo="Choose one.", on_command_line="--stock NAME"))
    assert capsys.readouterr().err == "a job has no stock. Choose one (--stock NAME).\n"
