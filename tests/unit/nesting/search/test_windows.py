"""Many items: pieces that are repeated, and windows that leave alone what lies outside them."""

from __future__ import annotations

import numpy as np
import pytest
import shapely

from lasernest.domain.contours import Contour
from lasernest.domain.control import QuietControl
from lasernest.domain.panels import Panel
from lasernest.domain.plan import NestRequest, PanelOrder, Sheet, Turns
from lasernest.nesting import Budget, arrange, plan_problems
from lasernest.nesting.budget import Clock
from lasernest.nesting.instances import Instance, Item, pack
from lasernest.nesting.outlines import Stance
from lasernest.nesting.search.driver import drive
from lasernest.nesting.search.layout import Layout, Tuning, concatenated_kinds
from lasernest.nesting.search.model import Outline, build_model
from lasernest.nesting.search.repeats import chain_of
from lasernest.nesting.search.start import lay_boxes
from lasernest.nesting.search.stream import Feasible
from lasernest.nesting.search.windows import MANY, Window, _Sweep

ELL = shapely.Polygon([(0, 0), (3, 0), (3, 1), (1, 1), (1, 3), (0, 3)])
KITE = shapely.Polygon([(0, 0), (1.3, -0.7), (2.1, 0.4), (0.9, 1.8)])
STAR = shapely.Polygon([(0, 0), (2, 1), (4, 0), (3, 2), (4, 4), (2, 3), (0, 4), (1, 2)])


def a_layout(counts: list[int], left: float = 0.0) -> tuple[Layout, Feasible]:
    stances = (Stance(0.0), Stance(90.0))
    model = build_model([Outline(shape, stances) for shape in (ELL, KITE, STAR)])
    assert model is not None
    rooms = np.array([[left, 0.0, left + 4.0 * sum(counts), 9.0]])
    layout = Layout(model, concatenated_kinds(counts), rooms, seed=3, tuning=Tuning())
    start = lay_boxes(layout, rooms)
    assert start is not None
    return layout, start


def polygons(layout: Layout, feasible: Feasible) -> list[shapely.Polygon]:
    model, found = layout.model, []
    for kind, v, place in zip(
        layout.kinds, feasible.snapshot.stance, feasible.snapshot.places, strict=True
    ):
        shape = (ELL, KITE, STAR)[kind]
        turned = shapely.affinity.rotate(shape, model.stance_of[v].turn_deg, origin=(0, 0))
        x, y = place[:2] + model.origins[v]
        found.append(shapely.affinity.translate(turned, x, y))
    return found


def assert_apart(shapes: list[shapely.Polygon], length: float) -> None:
    """Told by shapely, which knows nothing of no-fit regions."""
    assert min(s.bounds[0] for s in shapes) >= -1e-7
    assert max(s.bounds[2] for s in shapes) <= length + 1e-7
    assert min(s.bounds[1] for s in shapes) >= -1e-7
    assert max(s.bounds[3] for s in shapes) <= 9.0 + 1e-7
    tree = shapely.STRtree(shapes)
    for a, b in tree.query(shapes, predicate="intersects").T:
        if a < b:
            assert shapes[a].intersection(shapes[b]).area <= 1e-6


def searched(part: object, seed: int, work: int) -> Feasible:
    lines = part.streams(seed, 2)  # type: ignore[attr-defined]
    start = min(line.best.length for line in lines)
    found: list[Feasible] = []
    drive(
        lines, budget=Budget(work=work), clock=Clock(), control=QuietControl(),
        on_better=lambda one, _: found.append(one),
    )  # fmt: skip
    assert found[-1].length < start
    return found[-1]


def test_what_lies_right_of_a_window_slides_as_a_whole() -> None:
    layout, start = a_layout([80, 80, 40])
    sweep = _Sweep(layout, start, 1, 2)
    checked = 0
    for number, (window, share) in enumerate(sweep.windows()):
        others = np.setdiff1d(np.arange(200), window.movable)
        left = np.setdiff1d(others, window.beyond)
        if len(left) > 10 and len(window.beyond) > 10:
            checked += 1
            before = sweep.best
            found = searched(window, number, 200_000)
            assert sweep.take(window.whole(found))
            after = sweep.best
            slide = float(window.rooms[0, 2] - found.snapshot.rooms[0, 2])
            assert slide > 0.0
            assert before.length - after.length == pytest.approx(slide)
            moved = after.snapshot.places[:, :2] - before.snapshot.places[:, :2]
            assert len(window.movable) > 10
            assert moved[left] == pytest.approx(0.0, abs=1e-9)
            assert moved[window.beyond, 0] == pytest.approx(-slide, abs=1e-9)
            assert moved[window.beyond, 1] == pytest.approx(0.0, abs=1e-9)
            assert_apart(polygons(layout, after), after.length)
            assert 0.0 < share < 1.0
        if checked == 2:
            return
    raise AssertionError("the layout has no window in its middle")


def test_both_sides_of_a_window_never_come_nearer_than_their_boxes() -> None:
    layout, start = a_layout([80, 80, 40])
    window = next(iter(_Sweep(layout, start, 1, 2).windows()))[0]
    assert isinstance(window, Window)
    places = start.snapshot.places
    left = np.setdiff1d(np.arange(200), np.concatenate([window.movable, window.beyond]))
    room = places[window.beyond, 2].min() - max(0.0, places[left, 4].max(initial=0.0))
    width = float(window.rooms[0, 2] - window.rooms[0, 0])
    assert window.shortest == pytest.approx(width - room)


def test_a_window_over_everything_holds_still_nothing() -> None:
    # 0.1 cannot be written in binary: boxes that touch the walls lie a rounding beyond them.
    layout, start = a_layout([40, 40, 20], left=0.1)
    window = _Sweep(layout, start, 1, 2)._stretch(-1.0, 1e9)
    assert start.snapshot.places[:, 2].min() != 0.1
    assert len(window.movable) == 100


def test_a_piece_is_repeated_and_what_is_left_over_laid_behind() -> None:
    layout, _ = a_layout([9 * 20 + 3, 9 * 18 + 1, 9 * 8])
    chain = chain_of(layout)
    assert chain is not None
    assert chain.times == 9
    assert chain.piece.tolist() == [20, 18, 8]
    found = searched(chain, 1, 200_000)
    whole = chain.whole(found)
    length = float(whole.rooms[0, 2])
    assert 9 * found.length < length < 9 * found.length + 8.0
    assert_apart(polygons(layout, Feasible(whole, length)), length)


def test_what_would_leave_too_much_over_is_not_repeated() -> None:
    # The plank alone is three quarters of all area, and it comes once.
    outlines = [Outline(shape, (Stance(0.0),)) for shape in (ELL, shapely.box(0, 0, 200, 8))]
    model = build_model(outlines)
    assert model is not None
    rooms = np.array([[0.0, 0.0, 900.0, 9.0]])
    layout = Layout(model, concatenated_kinds([100, 1]), rooms, seed=1, tuning=Tuning())
    assert chain_of(layout) is None
    layout = Layout(model, concatenated_kinds([100, 0]), rooms, seed=1, tuning=Tuning())
    assert chain_of(layout) is not None


def test_many_items_keep_the_promises_of_a_search() -> None:
    items = (
        Item("ell", 80, (0.0, 90.0, 180.0, 270.0), ELL),
        Item("kite", 70, (0.0, 180.0), KITE),
        Item("star", 31, (0.0,), STAR),
    )
    strip = Instance("mixed", None, 9.0, items)
    assert sum(item.demand for item in items) > MANY
    _, boxes = pack(strip, control=QuietControl(), work=0)
    first, summary = pack(strip, control=QuietControl(), work=1_500_000, seed=5)
    again, _ = pack(strip, control=QuietControl(), work=1_500_000, seed=5, workers=2)
    assert again == first
    assert summary["valid"]
    assert summary["density"] > boxes["density"] + 0.1
    assert len(first["placements"]) == 181
    lengths = [point["length"] for point in summary["log"]]
    assert lengths == sorted(lengths, reverse=True)
    assert 1_000_000 < summary["evaluations"] < 2_000_000


def test_many_panels_on_the_only_sheet(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("lasernest.nesting.search.windows.MANY", 20)
    ell = Panel.of("ell", Contour.polygon([(0, 0), (60, 0), (60, 25), (22, 25), (22, 60), (0, 60)]))
    kite = Panel.of("kite", Contour.polygon([(0, 0), (42, -21), (60, 12), (28, 55)]))
    request = NestRequest(
        (PanelOrder(ell, 20, Turns.QUARTER), PanelOrder(kite, 15, Turns.QUARTER)),
        (Sheet(900, 200, 5),),
        2.0,
    )
    rows = arrange(request, control=QuietControl(), budget=Budget(work=0))
    plan = arrange(request, control=QuietControl(), budget=Budget(work=400_000))
    assert plan_problems(request, plan) == ()
    assert plan.placed_count == 35
    assert len(plan.sheets) == 1
    assert plan.log[-1].used_length_mm < rows.log[-1].used_length_mm
