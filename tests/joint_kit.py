"""What the tests of joints share: plates, joints by points, and measuring with shapely alone."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from itertools import pairwise

import shapely

from lasernest.domain.contours import Contour, Point
from lasernest.domain.joints import EdgeMeaning, Joint, JointKind, JointRules, PanelLine, PanelSheet
from lasernest.domain.panels import Panel
from lasernest.joints.edges import edge_near, line_of
from lasernest.joints.joined import Joined, apply_joints

BOTTOM, RIGHT, TOP, LEFT = (0.5, 0.0), (1.0, 0.5), (0.5, 1.0), (0.0, 0.5)


def plate(name: str, width: float, height: float, x: float = 0.0, y: float = 0.0) -> Panel:
    return Panel.of(name, Contour.rectangle(x, y, width, height))


def at(panel: Panel, share: Point) -> Point:
    x0, y0, x1, y1 = panel.bounds_mm()
    return (x0 + share[0] * (x1 - x0), y0 + share[1] * (y1 - y0))


def edge(panel: Panel, share: Point) -> PanelLine:
    return line_of(edge_near(panel, at(panel, share)), panel)


def mate(a: Panel, a_at: Point, b: Panel, b_at: Point, **choices: object) -> Joint:
    return Joint(edge(a, a_at), edge(b, b_at), JointKind.FINGER, **choices)  # type: ignore[arg-type]


def face(panel: Panel, start: Point, end: Point) -> PanelLine:
    return PanelLine(panel.name, start, end, panel.bounds_mm())


def join(
    panels: Sequence[Panel],
    joints: Iterable[Joint],
    *,
    thickness: float = 3.0,
    material: str = "",
    meaning: EdgeMeaning = EdgeMeaning.OUTSIDE,
    interference: float | None = 0.0,
    sheets: dict[str, PanelSheet] | None = None,
) -> Joined:
    return apply_joints(
        panels,
        list(joints),
        rules=JointRules(meaning=meaning, interference_mm=interference),
        sheets=sheets or {p.name: PanelSheet(thickness, material) for p in panels},
    )


def polygon_of(panel: Panel) -> shapely.Polygon:
    """For panels of straight lines only, so that no flattening comes in."""
    assert not any(ring.has_arcs for ring in panel.contours)
    outer, *inner = ([v[:2] for v in ring.vertices] for ring in panel.contours)
    return shapely.Polygon(outer, inner)


def runs_along(polygon: shapely.Polygon, start: Point, end: Point) -> list[tuple[float, float]]:
    """Stretches of a straight line that lie in a polygon, as distances from its start."""
    line = shapely.LineString([start, end])
    inside = polygon.intersection(line)
    ends = [
        sorted(line.project(shapely.Point(c)) for c in part.coords)
        for part in shapely.get_parts(inside)
        if part.length > 1e-12
    ]
    return sorted((e[0], e[-1]) for e in ends)


def gaps_between(runs: Sequence[tuple[float, float]]) -> list[tuple[float, float]]:
    return [(a[1], b[0]) for a, b in pairwise(runs)]


def widths(runs: Iterable[tuple[float, float]]) -> list[float]:
    return [end - start for start, end in runs]


CUBE = (
    ("floor", BOTTOM, "front", BOTTOM),
    ("floor", RIGHT, "right", BOTTOM),
    ("floor", TOP, "back", BOTTOM),
    ("floor", LEFT, "left", BOTTOM),
    ("front", RIGHT, "right", LEFT),
    ("right", RIGHT, "back", LEFT),
    ("back", RIGHT, "left", LEFT),
    ("left", RIGHT, "front", LEFT),
    ("lid", BOTTOM, "front", TOP),
    ("lid", RIGHT, "right", TOP),
    ("lid", TOP, "back", TOP),
    ("lid", LEFT, "left", TOP),
)
"""Six panels; floor and lid are drawn as seen from above, the walls from outside."""


def box_panels(length: float, width: float, height: float) -> dict[str, Panel]:
    sizes = {
        "floor": (length, width),
        "lid": (length, width),
        "front": (length, height),
        "back": (length, height),
        "left": (width, height),
        "right": (width, height),
    }
    return {name: plate(name, *size) for name, size in sizes.items()}


def box_joints(panels: dict[str, Panel], mates=CUBE, **choices: object) -> list[Joint]:
    return [mate(panels[a], pa, panels[b], pb, **choices) for a, pa, b, pb in mates]
