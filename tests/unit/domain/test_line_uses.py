from __future__ import annotations

from datetime import date

import pytest

from lasernest.domain.answers import Answers
from lasernest.domain.drawing import LineUse
from lasernest.domain.findings import Choice
from lasernest.domain.import_choices import ImportChoices
from lasernest.domain.line_uses import LineUses, RememberedUses, preset_use
from lasernest.errors import BadValueError
from lasernest.units import LengthUnit


@pytest.mark.parametrize(
    ("layer", "use"),
    [
        ("0", LineUse.CUT),
        ("CUT-INNER", LineUse.CUT),
        ("CUT-OUTER", LineUse.CUT),
        ("SCORE", LineUse.SCORE),
        ("fold_lines", LineUse.SCORE),
        ("ENGRAVE", LineUse.ENGRAVE),
        ("Etched-Text", LineUse.ENGRAVE),
        ("SHEET", LineUse.IGNORE),
        ("Defpoints", LineUse.IGNORE),
        ("Construction 2", LineUse.IGNORE),
        ("scoreboard", LineUse.CUT),
        ("sheet metal", LineUse.CUT),
    ],
)
def test_the_preset_knows_whole_words_of_the_trade(layer: str, use: LineUse) -> None:
    assert preset_use(layer) is use


def test_the_table_counts_before_the_preset_and_layers_before_colours() -> None:
    uses = LineUses().with_layer("score", LineUse.CUT).with_colour("#FF0000", LineUse.ENGRAVE)
    assert uses.use_of("SCORE", "#ff0000") is LineUse.CUT
    assert uses.use_of("plate", "#ff0000") is LineUse.ENGRAVE
    assert uses.use_of("plate", "#00ff00") is LineUse.CUT
    assert uses.stated_for("plate", "#00ff00") is None


def test_changing_a_row_replaces_it_and_remembering_keeps_only_what_is_named() -> None:
    uses = LineUses().with_layer("A", LineUse.CUT).with_layer("a", LineUse.SCORE)
    assert uses.layers == (("a", LineUse.SCORE),)
    assert uses.with_layer("B", LineUse.CUT).only_for(["b"], []).layers == (("B", LineUse.CUT),)


def test_a_remembered_table_fits_the_same_layers_and_no_others() -> None:
    uses = LineUses().with_layer("Fold", LineUse.SCORE).with_colour("#ff0000", LineUse.ENGRAVE)
    layers = RememberedUses.layers_of(["Fold", "CUT", "fold"])
    kept = RememberedUses(layers, uses, "box.dxf", date(2026, 1, 2))
    assert kept.layers == ("cut", "fold")
    assert kept.fits({"CUT", "FOLD"}, {"#FF0000", None})
    assert not kept.fits({"CUT", "FOLD"}, {"#00ff00"})  # a colour it speaks of is missing
    assert not kept.fits({"CUT", "FOLD", "TEXT"}, {"#ff0000"})
    assert not kept.fits({"CUT"}, {"#ff0000"})


def test_answers_to_questions_become_choices_for_reading_again() -> None:
    choices = ImportChoices()
    for option, value in (
        ("--unit", "inch"),
        ("--use", "#ff0000=score"),
        ("--answer", "border=keep"),
    ):
        choices = choices.with_choice(Choice("", option, value))
    assert choices.length_unit is LengthUnit.INCH
    assert choices.uses == LineUses((), (("#ff0000", LineUse.SCORE),))
    assert choices.answers == Answers(border="keep")
    with pytest.raises(BadValueError) as caught:
        choices.with_choice(Choice("", "--sheet", "600x400"))
    assert str(caught.value) == "--sheet 600x400 answers no question of an import."
    with pytest.raises(BadValueError):
        ImportChoices(unit="furlong")
