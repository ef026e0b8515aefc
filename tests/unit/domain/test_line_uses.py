from __future__ import annotations

import pytest

from lasernest.domain.drawing import LineUse
from lasernest.domain.line_uses import LineUses, preset_use


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
    assert uses.with_layer("B", LineUse.CUT).only_for(["b"]).layers == (("B", LineUse.CUT),)
