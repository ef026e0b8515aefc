"""Cases among the panels: which rectangles are the six sides of a box, or five of an open one.

Equal lengths say little in a case: front and back are as long as each other and
never meet. A case is known by three pairs of equal rectangles, or by two pairs
and a floor. How its sides are turned is told by the drawing where it is an
unfolded case, whose neighbours face each other across a gap; otherwise each
side is taken as it stands on the page, seen from outside, and the names that
makers give to sides are heard.

A *way* is a unit vector of the folded case: x to the right of the front, y up,
z towards the maker.
"""

from __future__ import annotations

import math
import re
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from itertools import combinations, permutations
from typing import TypeAlias

from lasernest.domain.panels import Panel
from lasernest.joints.edges import StraightEdge, face_each_other, sides_of, straight_edges

Way: TypeAlias = tuple[int, int, int]
Mates: TypeAlias = tuple[tuple[StraightEdge, StraightEdge], ...]

_RIGHT: Way = (1, 0, 0)
_UP: Way = (0, 1, 0)
_TO_MAKER: Way = (0, 0, 1)
_MOST_TEAMS = 40
"""With more sizes of panels than this no case is looked for; chance would find some."""
_SQUARE_WITHIN_RAD = math.radians(0.5)


def _against(way: Way) -> Way:
    return (-way[0], -way[1], -way[2])


def _across(a: Way, b: Way) -> Way:
    """The cross product."""
    return (
        a[1] * b[2] - a[2] * b[1],
        a[2] * b[0] - a[0] * b[2],
        a[0] * b[1] - a[1] * b[0],
    )


_AXES = (_TO_MAKER, _RIGHT, _UP)
_NAMES: dict[str, Way] = {
    "front": _TO_MAKER,
    "back": _against(_TO_MAKER),
    "rear": _against(_TO_MAKER),
    "right": _RIGHT,
    "left": _against(_RIGHT),
    "top": _UP,
    "lid": _UP,
    "roof": _UP,
    "bottom": _against(_UP),
    "floor": _against(_UP),
    "base": _against(_UP),
}
"""What makers call the sides of a case."""
_PAGE_RIGHT: dict[Way, Way] = {
    _TO_MAKER: _RIGHT,
    _against(_TO_MAKER): _against(_RIGHT),
    _RIGHT: _against(_TO_MAKER),
    _against(_RIGHT): _TO_MAKER,
    _UP: _RIGHT,
    _against(_UP): _RIGHT,
}
"""Where the right of the page points, for each side seen from outside."""


@dataclass(frozen=True, slots=True)
class _Plate:
    """A rectangular panel; its sides in the order right, top, left, bottom of the page."""

    panel: str
    sides: tuple[StraightEdge, ...]

    @property
    def size_mm(self) -> tuple[float, float]:
        """Width and height on the page."""
        return (self.sides[1].length_mm, self.sides[0].length_mm)

    @property
    def told(self) -> Way | None:
        """Where its name says that it looks."""
        words = re.findall(r"[a-z]+", self.panel.lower())
        return next((_NAMES[word] for word in words if word in _NAMES), None)


_Team: TypeAlias = tuple[_Plate, ...]
"""One plate or two of a size, which stand opposite each other."""


@dataclass(frozen=True, slots=True)
class _Face:
    """A plate that stands in the case."""

    plate: _Plate
    looks: Way
    right: Way
    """Where the right of its page points."""

    @property
    def ways(self) -> tuple[Way, Way, Way, Way]:
        """Where its sides point, in their order."""
        up = _across(self.looks, self.right)
        return (self.right, up, _against(self.right), _against(up))


def cases_among(panels: Sequence[Panel], *, same_length_mm: float) -> tuple[Mates, ...]:
    """For each case, the pairs of edges that meet in it.

    Args:
        panels: all panels of the job, in the coordinates of their drawings.
        same_length_mm: largest difference between lengths that are equal.

    Returns:
        Twelve pairs for each closed case, eight for each open one.
    """
    plates = [plate for panel in panels if (plate := _plate_of(panel)) is not None]
    cases: list[Mates] = []
    for count in (6, 5):
        while (found := _first_case(plates, count, same_length_mm)) is not None:
            used, mates = found
            cases.append(mates)
            plates = [plate for plate in plates if plate not in used]
    return tuple(cases)


def _plate_of(panel: Panel) -> _Plate | None:
    edges = straight_edges(panel)
    if len(edges) != 4 or len(sides_of(panel.outer)) != 4:
        return None
    for a, b in zip(edges, edges[1:] + edges[:1], strict=True):
        (ax, ay), (bx, by) = a.direction, b.direction
        if abs(ax * bx + ay * by) > math.sin(_SQUARE_WITHIN_RAD):
            return None
    first = max(range(4), key=lambda i: edges[i].outward[0])
    return _Plate(panel.name, edges[first:] + edges[:first])


def _first_case(
    plates: Sequence[_Plate], count: int, same_mm: float
) -> tuple[frozenset[_Plate], Mates] | None:
    """The first case of so many sides, in the order of the panels."""
    for teams in _fitting_teams(_teams(plates, same_mm), count, same_mm):
        chosen = [plate for team in teams for plate in team]
        for faces in (_unfolded(chosen, same_mm), _upright(teams, same_mm)):
            mates = _meeting(faces, same_mm)
            if mates is not None:
                return frozenset(chosen), mates
    return None


def _teams(plates: Sequence[_Plate], same_mm: float) -> list[_Team]:
    """Plates of a size by twos, those that names put opposite each other together."""
    alike: list[list[_Plate]] = []
    for plate in plates:
        group = next((g for g in alike if _same_size(g[0], plate, same_mm)), None)
        if group is None:
            alike.append([plate])
        else:
            group.append(plate)
    teams: list[_Team] = []
    for group in alike:
        group.sort(key=_axis_told)
        teams += [tuple(group[i : i + 2]) for i in range(0, len(group), 2)]
    return teams


def _same_size(a: _Plate, b: _Plate, same_mm: float) -> bool:
    pairs = zip(sorted(a.size_mm), sorted(b.size_mm), strict=True)
    return all(abs(x - y) <= same_mm for x, y in pairs)


def _axis_told(plate: _Plate) -> int:
    told = plate.told
    return len(_AXES) if told is None else next(i for i, a in enumerate(_AXES) if _on(told, a))


def _on(way: Way, axis: Way) -> bool:
    return way in (axis, _against(axis))


def _fitting_teams(
    teams: Sequence[_Team], count: int, same_mm: float
) -> Iterator[tuple[_Team, _Team, _Team]]:
    """Teams whose sizes are those of a box: each two share one length."""
    if len(teams) > _MOST_TEAMS:
        return
    for a, b in combinations(teams, 2):
        shared = _shared_lengths(a, b, same_mm)
        if not shared:
            continue
        for c in teams:
            if c is a or c is b or len(a) + len(b) + len(c) != count:
                continue
            if any(_has_size(c[0], rest, same_mm) for rest in shared):
                yield a, b, c


def _shared_lengths(a: _Team, b: _Team, same_mm: float) -> list[tuple[float, float]]:
    """For each length that two sizes share, what is left of both."""
    (a0, a1), (b0, b1) = a[0].size_mm, b[0].size_mm
    ways = ((a0, a1, b0, b1), (a0, a1, b1, b0), (a1, a0, b0, b1), (a1, a0, b1, b0))
    return [(p, q) for x, p, y, q in ways if abs(x - y) <= same_mm]


def _has_size(plate: _Plate, size_mm: tuple[float, float], same_mm: float) -> bool:
    pairs = zip(sorted(plate.size_mm), sorted(size_mm), strict=True)
    return all(abs(x - y) <= 2.0 * same_mm for x, y in pairs)


def _unfolded(plates: Sequence[_Plate], same_mm: float) -> list[_Face]:
    """The case folded up from neighbours in the drawing; fewer faces if they do not hang together.

    Neighbours face each other across a gap; the nearest count first, and each
    plate is reached by one of them.
    """
    links = sorted(
        (math.dist(p.sides[i].middle, q.sides[k].middle), m, n, i, k)
        for (m, p), (n, q) in combinations(enumerate(plates), 2)
        for i in range(4)
        for k in range(4)
        if abs(p.sides[i].length_mm - q.sides[k].length_mm) <= same_mm
        and face_each_other(p.sides[i], q.sides[k])
    )
    tree: list[tuple[int, int, int, int]] = []
    hangs = list(range(len(plates)))
    for _, m, n, i, k in links:
        if hangs[m] != hangs[n]:
            old, new = hangs[n], hangs[m]
            hangs = [new if h == old else h for h in hangs]
            tree += [(m, n, i, k), (n, m, k, i)]
    faces = {0: _Face(plates[0], _TO_MAKER, _RIGHT)}
    queue = [0]
    for here in queue:
        for m, n, i, k in tree:
            if m == here and n not in faces:
                faces[n] = _beyond(faces[here], i, plates[n], k)
                queue.append(n)
    return list(faces.values())


def _beyond(face: _Face, side: int, plate: _Plate, its_side: int) -> _Face:
    """A plate folded round a side of a face; the side it touches points where the face looks."""
    looks, touching = face.ways[side], face.looks
    # A quarter turn of the page is a cross product with where the face looks.
    for _ in range(its_side):
        touching = _across(touching, looks)
    return _Face(plate, looks, touching)


def _upright(teams: tuple[_Team, _Team, _Team], same_mm: float) -> list[_Face]:
    """The case as its sides stand on the page: names first, then most sides upright."""
    stood = (
        _stood(order, turned, same_mm) for order in permutations(teams) for turned in (False, True)
    )
    return max(stood, key=_sense)


def _stood(order: tuple[_Team, ...], turned: bool, same_mm: float) -> list[_Face]:
    """Teams as front and back, sides, top and floor, each plate turned so that it fits.

    Args:
        order: the teams in the order of the axes.
        turned: whether the front lies on its side on the page.
        same_mm: largest difference between lengths that are equal.

    Returns:
        All faces, or none where the sizes do not fit.
    """
    width_mm, height_mm = _turned_size(order[0][0], turned)
    side_size = order[1][0].size_mm
    lying = abs(side_size[1] - height_mm) > same_mm
    depth_mm = side_size[1] if lying else side_size[0]
    wanted = ((width_mm, height_mm), (depth_mm, height_mm), (width_mm, depth_mm))
    faces: list[_Face] = []
    for axis, team, size_mm in zip(_AXES, order, wanted, strict=True):
        for plate, looks in zip(team, _looks(axis, team), strict=True):
            right = _PAGE_RIGHT[looks]
            if not _is_size(plate.size_mm, size_mm, same_mm):
                if not _is_size(plate.size_mm[::-1], size_mm, same_mm):
                    return []
                right = _across(looks, right)
            faces.append(_Face(plate, looks, right))
    return faces


def _turned_size(plate: _Plate, turned: bool) -> tuple[float, float]:
    width_mm, height_mm = plate.size_mm
    return (height_mm, width_mm) if turned else (width_mm, height_mm)


def _is_size(a: tuple[float, ...], b: tuple[float, float], same_mm: float) -> bool:
    return all(abs(x - y) <= 2.0 * same_mm for x, y in zip(a, b, strict=True))


def _looks(axis: Way, team: _Team) -> tuple[Way, ...]:
    """Where the plates of a team look: as their names say, else front, left and top first."""
    first = _against(axis) if axis == _RIGHT else axis
    if len(team) == 1:
        # Of an open case the front or the lid is the side that is left out.
        told = team[0].told
        return (told,) if told is not None and _on(told, axis) else (_against(axis),)
    if team[0].told == _against(first) or team[1].told == first:
        return (_against(first), first)
    return (first, _against(first))


def _sense(faces: Sequence[_Face]) -> tuple[int, int, bool]:
    """How well faces stand: by names, then upright, then whether an open case has a floor."""
    return (
        sum(face.plate.told == face.looks for face in faces),
        sum(face.right == _PAGE_RIGHT[face.looks] for face in faces),
        any(face.looks == _against(_UP) for face in faces),
    )


def _meeting(faces: Sequence[_Face], same_mm: float) -> Mates | None:
    """The pairs of sides that meet, or None where these faces are not a case.

    Five or six sides of a box that all look different ways meet in eight or twelve edges.
    """
    standing = {face.looks: face for face in faces}
    if len(standing) != len(faces) or len(faces) < 5:
        return None
    mates: list[tuple[StraightEdge, StraightEdge]] = []
    for face, other in combinations(faces, 2):
        if _on(face.looks, other.looks):
            continue
        a = face.plate.sides[face.ways.index(other.looks)]
        b = other.plate.sides[other.ways.index(face.looks)]
        if abs(a.length_mm - b.length_mm) > same_mm:
            return None
        mates.append((a, b))
    return tuple(mates)
