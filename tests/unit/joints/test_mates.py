"""Which edges are proposed; whether cases close is measured by folding them up."""

from __future__ import annotations

from itertools import combinations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from lasernest.domain.contours import Contour, Point, Pose
from lasernest.domain.joints import Joint
from lasernest.domain.panels import Panel
from lasernest.joints.assembly import assemble
from lasernest.joints.edges import line_of
from lasernest.joints.mates import MateProposal, propose_mates
from tests.joint_kit import join, plate

WIDE, DEEP, HIGH = 120.0, 90.0, 55.0
SIDES = {
    "front": (WIDE, HIGH),
    "back": (WIDE, HIGH),
    "left": (DEEP, HIGH),
    "right": (DEEP, HIGH),
    "top": (WIDE, DEEP),
    "bottom": (WIDE, DEEP),
}
MEETING = {
    frozenset(pair)
    for pair in combinations(SIDES, 2)
    if set(pair) not in ({"front", "back"}, {"left", "right"}, {"top", "bottom"})
}
"""Opposite sides never meet; each two others share an edge: twelve of a box (Euler)."""


def in_a_row(sizes: dict[str, tuple[float, float]]) -> list[Panel]:
    panels, x = [], 0.0
    for name, (w, h) in sizes.items():
        panels.append(plate(name, w, h, x))
        x += w + 10.0
    return panels


def names(proposals: tuple[MateProposal, ...]) -> list[frozenset[str]]:
    return [frozenset((p.a.panel, p.b.panel)) for p in proposals]


def meeting_edges(panels: list[Panel]) -> dict[tuple[str, str], tuple[Point, Point]]:
    """Which way the meeting edges of two panels face on the page."""
    return {
        (p.panel, q.panel): (p.outward, q.outward)
        for m in propose_mates(panels)
        for p, q in ((m.a, m.b), (m.b, m.a))
    }


def closes(panels: list[Panel]) -> bool:
    """Whether the case goes together with a joint at each proposal: nothing misses or overlaps."""
    by_name = {p.name: p for p in panels}
    joints = [
        Joint(line_of(m.a, by_name[m.a.panel]), line_of(m.b, by_name[m.b.panel]))
        for m in propose_mates(panels)
    ]
    assembly = assemble(panels, join(panels, joints))
    return not [f for f in assembly.findings if f.severity.value != "note"]


def test_mates_are_proposed_across_the_gaps_of_an_unfolded_case():
    floor = plate("floor", 100, 60)
    front = plate("front", 100, 40, 0, -50)
    back = plate("back", 100, 40, 0, 70)
    left = plate("left", 40, 60, -50, 0)
    right = plate("right", 40, 60, 110, 0)
    panels = [floor, front, back, left, right]
    proposals = propose_mates(panels)
    assert set(names(proposals)[:4]) == {
        frozenset(("floor", n)) for n in ("front", "back", "left", "right")
    }
    assert set(names(proposals)[4:]) == {
        frozenset((w, s)) for w in ("front", "back") for s in ("left", "right")
    }
    assert closes(panels)


def test_an_unfolding_says_which_edge_is_meant():
    """The front drawn below the floor hangs on it by its upper edge."""
    panels = [
        plate("floor", 100, 60),
        plate("front", 100, 40, 0, -50),
        plate("back", 100, 40, 0, 70),
        plate("left", 40, 60, -50, 0),
        plate("right", 40, 60, 110, 0),
    ]
    pair = next(p for p in propose_mates(panels) if {p.a.panel, p.b.panel} == {"floor", "front"})
    front = pair.a if pair.a.panel == "front" else pair.b
    assert front.outward == (0.0, 1.0)


def test_six_panels_side_by_side_make_a_case_of_twelve_edges():
    proposals = propose_mates(in_a_row(SIDES))
    assert len(proposals) == 12
    assert set(names(proposals)) == MEETING
    assert closes(in_a_row(SIDES))


def test_sides_stand_as_they_are_drawn():
    """The front's right edge meets the right side's left one; the lid's lower one the front."""
    edges = meeting_edges(in_a_row(SIDES))
    assert edges["front", "right"] == ((1.0, 0.0), (-1.0, 0.0))
    assert edges["front", "left"] == ((-1.0, 0.0), (1.0, 0.0))
    assert edges["front", "top"] == ((0.0, 1.0), (0.0, -1.0))
    assert edges["front", "bottom"] == ((0.0, -1.0), (0.0, 1.0))
    assert edges["back", "bottom"] == ((0.0, -1.0), (0.0, -1.0))
    assert edges["right", "top"] == ((0.0, 1.0), (1.0, 0.0))


def test_names_say_which_side_is_which():
    """In reverse order the back would be taken for the front, were it not for its name."""
    edges = meeting_edges(in_a_row(dict(reversed(SIDES.items()))))
    assert edges["front", "right"] == ((1.0, 0.0), (-1.0, 0.0))
    assert edges["front", "top"] == ((0.0, 1.0), (0.0, -1.0))


def test_an_open_case_has_eight_edges_and_its_rim_stays_free():
    sizes = {n: s for n, s in SIDES.items() if n != "top"}
    proposals = propose_mates(in_a_row(sizes))
    assert set(names(proposals)) == {pair for pair in MEETING if "top" not in pair}
    assert closes(in_a_row(sizes))


def test_two_cases_in_one_job_are_told_apart():
    small = {f"inner {n}": (0.5 * w, 0.5 * h) for n, (w, h) in SIDES.items()}
    pairs = names(propose_mates(in_a_row({**SIDES, **small})))
    assert len(pairs) == 24
    assert not [p for p in pairs if len({n.startswith("inner") for n in p}) > 1]


def test_what_is_no_case_is_paired_by_length():
    panels = [plate("a", 80, 30), plate("b", 80, 50, 0, 40)]
    assert names(propose_mates(panels)) == [frozenset(("a", "b"))]


@pytest.mark.parametrize("missing", ["top", "front", "left"])
def test_each_side_may_be_the_open_one(missing):
    panels = in_a_row({n: s for n, s in SIDES.items() if n != missing})
    assert set(names(propose_mates(panels))) == {p for p in MEETING if missing not in p}


_LENGTHS = st.integers(min_value=40, max_value=160).map(float)


@given(
    sizes=st.tuples(_LENGTHS, _LENGTHS, _LENGTHS),
    order=st.permutations(range(6)),
    turned=st.lists(st.integers(0, 3), min_size=6, max_size=6),
)
def test_any_six_sides_of_a_box_are_proposed_as_one(sizes, order, turned):
    """However they are ordered and turned; cubes and square floors are among them."""
    w, d, h = sizes
    all_sides = [(w, h), (w, h), (d, h), (d, h), (w, d), (w, d)]
    panels = []
    for place, (index, quarter) in enumerate(zip(order, turned, strict=True)):
        ring = Contour.rectangle(0, 0, *all_sides[index]).posed(
            Pose(400.0 * place, 0, 90 * quarter)
        )
        panels.append(Panel.of(f"p{place}", ring))
    proposals = propose_mates(panels)
    assert len(proposals) == 12
    assert len(set(names(proposals))) == 12
    assert len({(e.panel, e.index) for p in proposals for e in (p.a, p.b)}) == 24
    assert all(p.length_difference_mm < 1e-6 for p in proposals)
    met = {frozenset(p) for p in names(proposals)}
    apart = [
        pair for pair in combinations(range(6), 2) if frozenset(f"p{i}" for i in pair) not in met
    ]
    assert len(apart) == 3
    assert len({i for pair in apart for i in pair}) == 6
