from __future__ import annotations

from PySide6.QtCore import QPointF

from lasernest.gui.board.rings import ROOM_PX, gathered


def test_the_gravest_ring_stands_for_those_it_would_cover() -> None:
    spots = [(QPointF(10, 10), 7), (QPointF(14, 10), 2), (QPointF(10, 14), 5), (QPointF(90, 10), 4)]
    rings = gathered(spots)
    assert [(ring.number, ring.hidden) for ring in rings] == [(2, 2), (4, 0)]
    assert [ring.label for ring in rings] == ["2 +2", "4"]


def test_the_chosen_finding_always_has_its_ring() -> None:
    spots = [(QPointF(10, 10), 1), (QPointF(12, 10), 9)]
    assert [ring.number for ring in gathered(spots, chosen=9)] == [9]


def test_rings_come_apart_when_there_is_room() -> None:
    apart = ROOM_PX[0] + 0.1
    beside = [(QPointF(apart * k - 60.0, -5.0), k + 1) for k in range(6)]
    below = [(QPointF(0.0, (ROOM_PX[1] + 0.1) * k), k + 1) for k in range(6)]
    assert [ring.hidden for ring in gathered(beside) + gathered(below)] == [0] * 12
