"""Copies made in one pass, against the same ones made and asked one by one."""

from __future__ import annotations

import math
import random

import pytest

from lasernest.domain.contours import Contour, Vertex
from lasernest.domain.control import Cancelled, QuietControl
from lasernest.geometry.affine import Affine
from lasernest.geometry.copies import Shape, copies_of
from lasernest.geometry.mapping import contour_of, map_path


def one_by_one(groups: list[list[Shape]], copies: list[tuple[int, Affine]]) -> list[Contour | None]:
    """The slow twin: each path mapped for itself, each contour through its constructor."""
    made: list[Contour | None] = []
    for group, affine in copies:
        for path, closed in groups[group]:
            mapped = map_path(path, closed, affine)
            made.append(contour_of([Vertex(*v) for v in mapped], closed))  # type: ignore[misc]
    return made


def some_path(rng: random.Random) -> Shape:
    """A path as files have them: doubled corners, ends that meet, bends after the last."""
    path = [
        Vertex(rng.uniform(-50, 50), rng.uniform(-50, 50), rng.choice([0.0, 0.4, -1.0]))
        for _ in range(rng.randint(1, 6))
    ]
    odd = rng.random()
    if odd < 0.2:
        k = rng.randrange(len(path))
        path.insert(k, path[k]._replace(bulge=rng.choice([0.0, 0.3])))
    elif odd < 0.4:
        path.append(path[0])
    elif odd < 0.6:
        path[-1] = path[-1]._replace(bulge=0.0)
    return Shape(path, rng.random() < 0.5)


def similarity(rng: random.Random) -> Affine:
    size, turn = rng.choice([1.0, 25.4, 0.01]), rng.uniform(0, 6.3)
    a, b = size * math.cos(turn), size * math.sin(turn)
    side = rng.choice([1.0, -1.0])
    return Affine(a, b, -side * b, side * a, rng.uniform(-900, 900), rng.uniform(-900, 900))


@pytest.mark.parametrize("seed", range(5))
def test_copies_are_those_made_one_by_one(seed: int) -> None:
    rng = random.Random(seed)
    groups = [[some_path(rng) for _ in range(rng.randint(0, 5))] for _ in range(12)]
    copies = [(rng.randrange(12), similarity(rng)) for _ in range(300)]
    assert copies_of(groups, copies, control=QuietControl()) == one_by_one(groups, copies)


def test_groups_of_nothing_make_nothing() -> None:
    assert copies_of([[], []], [(0, Affine()), (1, Affine())], control=QuietControl()) == []
    assert copies_of([], [], control=QuietControl()) == []


def test_copies_beyond_one_batch_are_all_made() -> None:
    line = [Shape([Vertex(0.0, 0.0), Vertex(1.0, 0.0)], False)]
    copies = [(k % 2, Affine.moving(float(k), 0.0)) for k in range(120_000)]
    made = copies_of([line, [*line, *line]], copies, control=QuietControl())
    assert len(made) == 180_000
    assert made[-1] == Contour.polyline([(119_999.0, 0.0), (120_000.0, 0.0)])


def test_what_a_copy_carries_beyond_all_numbers_is_no_contour() -> None:
    line = [Shape([Vertex(0.0, 0.0), Vertex(1e200, 0.0)], False)]
    assert copies_of([line], [(0, Affine.scaling(1e200, 1e200))], control=QuietControl()) == [None]


def test_copying_can_be_cancelled() -> None:
    class Impatient(QuietControl):
        def check(self) -> None:
            raise Cancelled

    line = [Shape([Vertex(0.0, 0.0), Vertex(1.0, 0.0)], False)]
    with pytest.raises(Cancelled):
        copies_of([line], [(0, Affine())], control=Impatient())
