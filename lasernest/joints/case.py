"""Panels made here: a plain case as a start when there is no drawing.

Floor and walls, if wanted a lid, dividers that cross in half-laps, and feet.
The panels are ordinary drawn outlines with ordinary joints: everything that can
be done to an imported drawing can be done to them.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

from lasernest.domain.contours import Contour, Point
from lasernest.domain.joints import EdgeMeaning, Joint, JointKind, PanelLine
from lasernest.domain.panels import Panel
from lasernest.errors import BadValueError
from lasernest.joints.edges import edge_near, line_of
from lasernest.units import format_mm

LEAST_FOOT_IN_THICKNESSES = 3.0
_WEB_UNDER_FLOOR_IN_THICKNESSES = 2.0
"""More than the least web in acrylic, 1.5: reliefs and a loose fit take some of it."""
_FOOT_SHARE = 0.2
"""Length of a foot, as a share of its wall."""


@dataclass(frozen=True, slots=True)
class CaseSpec:
    """What case is wanted. Length runs along the front, width goes to the back."""

    length_mm: float
    width_mm: float
    height_mm: float
    thickness_mm: float
    """Measured."""
    meaning: EdgeMeaning = EdgeMeaning.OUTSIDE
    """Whether the sizes are those of the outside, the inside, or between middles."""
    lid: bool = True
    dividers_across: int = 0
    """Standing from front to back."""
    dividers_along: int = 0
    """Standing from left to right."""
    feet_mm: float = 0.0
    """How high the floor stands; added to the height."""

    def __post_init__(self) -> None:
        t = self.thickness_mm
        if not (math.isfinite(t) and t > 0):
            raise BadValueError(f"a thickness of {t:g} mm cannot be")
        for name, size in (
            ("length", self.length_mm),
            ("width", self.width_mm),
            ("height", self.height_mm),
        ):
            least_mm = 5.0 * t
            if not (math.isfinite(size) and size >= least_mm):
                raise BadValueError(
                    f"a case with a {name} of {size:g} mm is too small for panels of "
                    f"{format_mm(t)}",
                    todo=f"Make it {format_mm(least_mm)} or more, five times the thickness.",
                )
        if self.dividers_across < 0 or self.dividers_along < 0:
            raise BadValueError("a case cannot have fewer than no dividers")
        if self.feet_mm and not self.feet_mm >= LEAST_FOOT_IN_THICKNESSES * t:
            raise BadValueError(
                f"feet of {self.feet_mm:g} mm are too low for the floor's slots above them",
                todo=f"Make them {format_mm(LEAST_FOOT_IN_THICKNESSES * t)} or higher, or leave "
                "them out.",
            )
        for count, inner_mm, name in (
            (self.dividers_across, self.length_mm - 2 * self.outer_offset_mm, "length"),
            (self.dividers_along, self.width_mm - 2 * self.outer_offset_mm, "width"),
        ):
            if count and (inner_mm - count * t) / (count + 1) < 3.0 * t:
                raise BadValueError(
                    f"{count} dividers do not fit into the {name} of this case",
                    todo="Use fewer dividers, or a larger case.",
                )

    @property
    def outer_offset_mm(self) -> float:
        """From the drawn edge inward to the inner face of the mate."""
        return (
            self.thickness_mm
            * {
                EdgeMeaning.OUTSIDE: 1.0,
                EdgeMeaning.CENTRE: 0.5,
                EdgeMeaning.INSIDE: 0.0,
            }[self.meaning]
        )


@dataclass(frozen=True, slots=True)
class Case:
    """Panels of a case, as drawn, and their joints."""

    panels: tuple[Panel, ...]
    joints: tuple[Joint, ...]


_BOTTOM, _RIGHT, _TOP, _LEFT = (0.5, 0.0), (1.0, 0.5), (0.5, 1.0), (0.0, 0.5)
_WALLS = (("front", _BOTTOM), ("right", _RIGHT), ("back", _TOP), ("left", _LEFT))
"""Walls around the floor, with the edge of the floor (seen from above) they stand on."""


def plain_case(spec: CaseSpec) -> Case:
    """Make the panels and joints of a plain case.

    Walls, floor and lid are drawn as seen from outside, but the floor as seen
    from above.
    """
    floor = _rectangle("floor", spec.length_mm, spec.width_mm)
    walls = {name: _wall(name, spec) for name, _ in _WALLS}
    panels: dict[str, Panel] = {"floor": floor, **walls}
    joints: list[Joint] = []
    for name, side in _WALLS:
        floor_edge = _edge(floor, side)
        if spec.feet_mm:
            joints.append(Joint(floor_edge, _floor_line(walls[name], spec), JointKind.SLOT))
        else:
            joints.append(Joint(floor_edge, _edge(walls[name], _BOTTOM)))
    names = [name for name, _ in _WALLS]
    for name, after in zip(names, [*names[1:], names[0]], strict=True):
        joints.append(Joint(_edge(walls[name], _RIGHT), _edge(walls[after], _LEFT)))
    if spec.lid:
        panels["lid"] = lid = _rectangle("lid", spec.length_mm, spec.width_mm)
        joints += [Joint(_edge(lid, side), _edge(walls[name], _TOP)) for name, side in _WALLS]
    dividers, divider_joints = _dividers(spec, walls)
    return Case((*panels.values(), *dividers), (*joints, *divider_joints))


def _rectangle(name: str, length_mm: float, height_mm: float) -> Panel:
    return Panel.of(name, Contour.rectangle(0.0, 0.0, length_mm, height_mm))


def _edge(panel: Panel, share: Point) -> PanelLine:
    x0, y0, x1, y1 = panel.bounds_mm()
    at = (x0 + share[0] * (x1 - x0), y0 + share[1] * (y1 - y0))
    return line_of(edge_near(panel, at), panel)


def _floor_bottom_mm(spec: CaseSpec) -> float:
    """Height of the floor's lower face on a wall's drawing."""
    if not spec.feet_mm:
        return spec.outer_offset_mm - spec.thickness_mm
    return spec.feet_mm


def _wall_height_mm(spec: CaseSpec) -> float:
    if not spec.feet_mm:
        return spec.height_mm
    return spec.feet_mm + spec.height_mm + spec.thickness_mm - spec.outer_offset_mm


def _wall(name: str, spec: CaseSpec) -> Panel:
    length_mm = spec.length_mm if name in ("front", "back") else spec.width_mm
    height_mm = _wall_height_mm(spec)
    if not spec.feet_mm:
        return _rectangle(name, length_mm, height_mm)
    foot_mm = max(_FOOT_SHARE * length_mm, 3.0 * spec.thickness_mm)
    arch_mm = spec.feet_mm - _WEB_UNDER_FLOOR_IN_THICKNESSES * spec.thickness_mm
    return Panel.of(
        name,
        Contour.polygon(
            [
                (0.0, 0.0),
                (foot_mm, 0.0),
                (foot_mm, arch_mm),
                (length_mm - foot_mm, arch_mm),
                (length_mm - foot_mm, 0.0),
                (length_mm, 0.0),
                (length_mm, height_mm),
                (0.0, height_mm),
            ]
        ),
    )


def _floor_line(wall: Panel, spec: CaseSpec) -> PanelLine:
    """Where the middle of the floor meets a wall that goes down to the feet."""
    x0, _, x1, _ = wall.bounds_mm()
    level_mm = spec.feet_mm + 0.5 * spec.thickness_mm
    return PanelLine(wall.name, (x0, level_mm), (x1, level_mm), wall.bounds_mm())


def _places_mm(drawn_mm: float, count: int, spec: CaseSpec) -> list[float]:
    """Middles of dividers that make equal compartments, on the drawn length of a wall."""
    first_mm, t = spec.outer_offset_mm, spec.thickness_mm
    clear_mm = (drawn_mm - 2.0 * first_mm - count * t) / (count + 1)
    return [first_mm + k * (clear_mm + t) - 0.5 * t for k in range(1, count + 1)]


def _dividers(spec: CaseSpec, walls: dict[str, Panel]) -> tuple[Sequence[Panel], Sequence[Joint]]:
    low_mm = _floor_bottom_mm(spec) + spec.thickness_mm
    high_mm = _wall_height_mm(spec) - (spec.outer_offset_mm if spec.lid else 0.0)
    panels: list[Panel] = []
    joints: list[Joint] = []
    across = _places_mm(spec.length_mm, spec.dividers_across, spec)
    along = _places_mm(spec.width_mm, spec.dividers_along, spec)
    kinds = (
        ("across", across, along, spec.width_mm, ("front", "back")),
        ("along", along, across, spec.length_mm, ("left", "right")),
    )
    for kind, places, _, length_mm, (one, other) in kinds:
        for k, place_mm in enumerate(places, start=1):
            panel = _rectangle(f"divider-{kind}-{k}", length_mm, high_mm - low_mm)
            panels.append(panel)
            # Front and right are drawn with the place growing to the right, their
            # opposites the other way round.
            for wall, side, grows in (
                (one, _LEFT, one == "front"),
                (other, _RIGHT, one != "front"),
            ):
                drawn_mm = walls[wall].size_mm[0]
                x_mm = place_mm if grows else drawn_mm - place_mm
                line = PanelLine(wall, (x_mm, low_mm), (x_mm, high_mm), walls[wall].bounds_mm())
                joints.append(Joint(_edge(panel, side), line, JointKind.SLOT))
    for i, x_mm in enumerate(across, start=1):
        for k, y_mm in enumerate(along, start=1):
            first = next(p for p in panels if p.name == f"divider-across-{i}")
            second = next(p for p in panels if p.name == f"divider-along-{k}")
            joints.append(
                Joint(
                    _crossing(first, _TOP, 1.0 - y_mm / first.size_mm[0]),
                    _crossing(second, _BOTTOM, x_mm / second.size_mm[0]),
                    JointKind.LAP,
                )
            )
    return panels, joints


def _crossing(panel: Panel, side: Point, share: float) -> PanelLine:
    line = _edge(panel, side)
    return PanelLine(line.panel, line.start, line.end, line.panel_bounds_mm, share)
