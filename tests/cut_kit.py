"""Panels to cut, and a plain reader of our own cut files for tests of what was written."""

from __future__ import annotations

import math
from pathlib import Path

import ezdxf

from lasernest.domain.contours import Contour, Pose, Vertex
from lasernest.domain.cutting import CutPath, MachineProfile, PathKind, SheetCut
from lasernest.domain.panels import Panel
from lasernest.domain.stock import Kerf
from lasernest.kerf.compensate import cut_paths
from lasernest.kerf.order import order_paths

QUARTER = math.tan(math.pi / 8)
FINGERS = [(0, 0), (100, 0), (100, 60), (80, 60), (80, 57), (60, 57), (60, 60), (40, 60), (40, 57)]
FINGERS += [(20, 57), (20, 60), (0, 60)]


def plate(name: str = "plate") -> Panel:
    """100 x 60 with nothing in it."""
    return Panel.of(name, Contour.rectangle(0, 0, 100, 60))


def finger_panel(name: str = "fingers") -> Panel:
    """100 x 60, five places of 20 on the upper edge, two of them gaps 3 deep (area 5880)."""
    return Panel.of(name, Contour.polygon(FINGERS))


def front(name: str = "front") -> Panel:
    """Rounded corners, fingers, ten holes, six slots."""
    corners = [Vertex(5, 0), Vertex(95, 0, QUARTER), Vertex(100, 5), Vertex(100, 60)]
    corners += [Vertex(x, y) for x, y in FINGERS[3:]] + [Vertex(0, 5, QUARTER)]
    holes = [Contour.circle(10 + i * 8, 30, 1.6) for i in range(10)]
    slots = [Contour.rectangle(10 + i * 12, 10, 10, 3) for i in range(6)]
    return Panel.of(name, Contour(tuple(corners)), [*holes, *slots])


def posed_sheet(
    panels: list[tuple[Panel, Pose]], kerf: Kerf, *, width: float = 600, height: float = 400
) -> tuple[SheetCut, list[tuple[Panel, int]]]:
    """The cut of panels laid by hand, and what it should leave."""
    posed = [(panel.posed(pose), i + 1) for i, (panel, pose) in enumerate(panels)]
    paths = [path for panel, copy in posed for path in cut_paths(panel, kerf, copy=copy)]
    return SheetCut(width, height, order_paths(paths)), posed


def lines_of(cut: SheetCut) -> list[tuple[PathKind, Contour]]:
    return [(path.kind, path.path) for path in cut.paths]


def with_paths(cut: SheetCut, paths: list[CutPath]) -> SheetCut:
    return SheetCut(cut.width_mm, cut.height_mm, tuple(paths), cut.outline)


def read_back(path: Path) -> list[tuple[PathKind, Contour]]:
    """Kinds and contours of a cut file, by ezdxf, apart from the product's own reader."""
    profile = MachineProfile()
    lines = []
    for entity in ezdxf.readfile(path).modelspace():
        kind = profile.kind_of_layer(entity.dxf.layer)
        if kind is None:
            continue
        name = entity.dxftype()
        if name == "CIRCLE":
            lines.append((kind, Contour.circle(*entity.dxf.center.vec2, entity.dxf.radius)))
        elif name == "LINE":
            lines.append(
                (
                    kind,
                    Contour.polyline([tuple(p.vec2) for p in (entity.dxf.start, entity.dxf.end)]),
                )
            )
        elif name == "ARC":
            sweep = math.radians((entity.dxf.end_angle - entity.dxf.start_angle) % 360)
            start, end = (
                Vertex(point.x, point.y) for point in (entity.start_point, entity.end_point)
            )
            bent = start._replace(bulge=math.tan(sweep / 4))
            lines.append((kind, Contour((bent, end), closed=False)))
        elif name == "LWPOLYLINE":
            corners = tuple(Vertex(*v) for v in entity.get_points("xyb"))
            lines.append((kind, Contour(corners, closed=entity.closed)))
        elif name == "POLYLINE":
            corners = tuple(Vertex(*v.dxf.location.vec2, v.dxf.bulge) for v in entity.vertices)
            lines.append((kind, Contour(corners, closed=entity.is_closed)))
        else:
            raise AssertionError(f"a {name} in a cut file")
    return lines
