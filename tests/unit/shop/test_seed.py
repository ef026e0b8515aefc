from __future__ import annotations

from pathlib import Path

import pytest

from lasernest.errors import BadValueError, UnreadableFileError
from lasernest.resources import resource
from lasernest.shop.seed import read_stock_file

ROW = """[[stock]]
name = "felt"
material = "wool felt"
thickness_mm = 3.0
kerf_mm = 0.2
interference_mm = 0.0
cut_speed_mm_per_s = 30.0
sizes = [{ size_mm = "24in x 12in" }]
"""


def test_the_shipped_list_can_be_read_and_names_each_stock_once() -> None:
    stocks = read_stock_file(resource("stock.toml"))
    assert len({s.name.casefold() for s in stocks}) == len(stocks) >= 12
    for stock in stocks:
        assert f"{stock.thickness_mm:g} mm" in stock.name
        assert len({(s.width_mm, s.height_mm) for s in stock.sizes}) == len(stock.sizes)


def test_a_row_without_a_price_has_none(tmp_path: Path) -> None:
    path = tmp_path / "stock.toml"
    path.write_text(ROW)
    (stock,) = read_stock_file(path)
    assert stock.sizes[0].width_mm == pytest.approx(609.6)
    assert (stock.sizes[0].price, stock.sizes[0].price_invented) == (None, False)


@pytest.mark.parametrize(
    ("text", "message"),
    [
        ("[[stock]\n", "the list of stocks cannot be read: "),
        (ROW.replace("kerf_mm", "kurf_mm"), "kurf_mm"),
        (ROW.replace("0.2\n", '"wide"\n'), "Expected `float`, got `str`"),
    ],
)
def test_a_bad_list_is_told(tmp_path: Path, text: str, message: str) -> None:
    path = tmp_path / "stock.toml"
    path.write_text(text)
    with pytest.raises(UnreadableFileError, match=message):
        read_stock_file(path)


def test_a_bad_value_is_told(tmp_path: Path) -> None:
    path = tmp_path / "stock.toml"
    path.write_text(ROW.replace("kerf_mm = 0.2", "kerf_mm = 3.4"))
    with pytest.raises(BadValueError, match=r"a kerf of 3\.4 mm cannot be right"):
        read_stock_file(path)
    with pytest.raises(UnreadableFileError):
        read_stock_file(tmp_path / "absent.toml")
