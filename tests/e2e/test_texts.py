"""The README says what the program says, and names only what is there."""

from __future__ import annotations

import re
from pathlib import Path

import pytest

from lasernest.domain.safety import CAUTIONS

REPOSITORY = Path(__file__).resolve().parents[2]


def _text(name: str) -> str:
    return " ".join((REPOSITORY / name).read_text("utf-8").split())


@pytest.mark.parametrize("caution", CAUTIONS)
def test_readme_carries_the_cautions_word_for_word(caution: str) -> None:
    assert f"- {caution}" in _text("README.md")


@pytest.mark.parametrize("name", ["README.md", "DEVELOPERS.md", "sample_panels/README.md"])
def test_links_lead_somewhere(name: str) -> None:
    page = REPOSITORY / name
    for target in re.findall(r"\]\(([^)#]+)\)", page.read_text("utf-8")):
        if target == "resources/pictures/window.png":
            continue  # the picture is made from the running window
        assert (page.parent / target).exists(), target


def test_stocks_named_in_the_readme_are_in_the_shop_book() -> None:
    named = set(re.findall(r'"([a-z ]+ \d mm)"', _text("README.md")))
    stocks = (REPOSITORY / "resources" / "stock.toml").read_text("utf-8")
    assert named
    assert all(f'name = "{name}"' in stocks for name in named)
