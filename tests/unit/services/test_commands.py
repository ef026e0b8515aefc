"""Names that commands give out."""

from __future__ import annotations

from lasernest.services.commands import FreeNames


def test_a_taken_name_gets_the_first_free_number() -> None:
    free = FreeNames(["lid", "lid-2", "lid-4", "floor"])
    assert [free.take("lid") for _ in range(3)] == ["lid-3", "lid-5", "lid-6"]
    assert [free.take(name) for name in ("wall", "wall", "floor", "lid-2", "lid")] == [
        "wall",
        "wall-2",
        "floor-2",
        "lid-2-2",
        "lid-7",
    ]


def test_a_number_taken_as_a_name_is_not_given_out_again() -> None:
    free = FreeNames([])
    assert [free.take(name) for name in ("lid-2", "lid", "lid")] == ["lid-2", "lid", "lid-3"]
