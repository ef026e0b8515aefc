from __future__ import annotations

import pytest

from lasernest.shop.values import natural_key, next_label


@pytest.mark.parametrize(
    ("used", "label"),
    [
        ([], "A01"),
        (["A01", "window piece", "a99"], "A02"),
        (["A99"], "B01"),
        (["Z99", "B03"], "AA01"),
        (["AA99"], "AB01"),
        (["ZZ99"], "AAA01"),
        (["A00", "X123"], "A01"),
    ],
)
def test_labels_run_on(used: list[str], label: str) -> None:
    assert next_label(used) == label


def test_names_are_sorted_as_people_do() -> None:
    names = ["ply 12 mm", "ply 3 mm", "Ply 3.5 mm", "MDF 3 mm", "acrylic"]
    assert sorted(names, key=natural_key) == [
        "acrylic",
        "MDF 3 mm",
        "ply 3 mm",
        "Ply 3.5 mm",
        "ply 12 mm",
    ]
