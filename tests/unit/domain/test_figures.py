"""Every figure that is told has its definition in the guide, and the definition's numbers hold."""

from __future__ import annotations

import re

import pytest

from lasernest.domain.figures import Figure
from lasernest.domain.offcuts import LEAST_OFFCUT_MM
from lasernest.domain.orders import start_count
from lasernest.domain.rates import HandlingTimes
from lasernest.kerf.cut_time import move_time_s
from lasernest.resources import resource


def _definitions() -> dict[str, str]:
    text = resource("guide/figures.md").read_text(encoding="utf-8")
    parts = re.split(r"^#{2,3} (.+)$", text, flags=re.MULTILINE)[1:]
    pairs = zip(parts[::2], parts[1::2], strict=True)
    return {name: " ".join(words.split()) for name, words in pairs}


@pytest.mark.parametrize("figure", Figure)
def test_every_figure_is_defined(figure: Figure) -> None:
    assert len(_definitions()[figure.value]) > 60


def test_numbers_of_the_definitions_are_those_of_the_program() -> None:
    told, usual = _definitions(), HandlingTimes()
    by_hand = told["Work by hand"]
    assert f"{usual.peel_per_panel_s:g} s to peel" in by_hand
    assert f"{usual.wipe_per_panel_s:g} s to wipe" in by_hand
    assert f"{usual.deburr_per_panel_s:g} s to deburr" in by_hand
    assert f"{usual.inspect_per_panel_s:g} s to look at every tenth" in by_hand
    assert usual.inspected_share == 0.1
    assert told["Loading"].startswith(f"{usual.load_per_sheet_s:g} s for each sheet")
    assert usual.setup_per_order_s == 600.0  # "ten minutes once"
    assert "ten minutes once for each order" in told["Cost per unit"]
    assert f"Ends shorter than {LEAST_OFFCUT_MM:g} mm are waste" in told["Offcut kept"]
    assert "100 wanted at 5 % are 106" in told["Scrap"]
    assert start_count(100, 0.05) == 106
    # the two branches that the page tells: 1000 mm at 200 mm/s and 1000 mm/s2; 20 mm likewise
    assert move_time_s(1000, 200, 1000) == pytest.approx(1000 / 200 + 200 / 1000)
    assert move_time_s(20, 200, 1000) == pytest.approx(2 * (20 / 1000) ** 0.5)
