"""Cut files as DXF: what the beam follows, in millimetres, on layers by kind of work.

Full circles become CIRCLE, closed paths LWPOLYLINE with bulges (POLYLINE in
R12, which knows no other), marks LINE, ARC or open polylines. Entities stand
in the order of work. The sheet's own outline lies on a layer that is not
plotted.

The same cut gives the same bytes: coordinates are rounded to a hundredth of a
nanometre, and dates and identifiers are fixed.

R12 cannot say its unit; by convention its numbers are millimetres here.
"""

from __future__ import annotations

import io
import logging
import math
import threading
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

from ezdxf import options  # type: ignore[attr-defined] # public, but not marked as exported
from ezdxf.document import Drawing
from ezdxf.filemanagement import new
from ezdxf.layouts.layout import Modelspace

from lasernest.domain.contours import Contour
from lasernest.domain.cutting import LayerStyle, MachineProfile, SheetCut
from lasernest.errors import UsageError
from lasernest.files import write_atomically

VERSIONS = ("R12", "R2000", "R2004", "R2007", "R2010", "R2013", "R2018")
"""DXF versions that can be written; R12 for old controllers."""

DEFAULT_VERSION = "R2000"

_MILLIMETRES = 4
_DIGITS = 8

_metadata_lock = threading.Lock()

# It warns with every R12 file that its form knows no units; whoever asks for R12 wants that form.
logging.getLogger("ezdxf").setLevel(logging.ERROR)


def refuse_version(version: str) -> None:
    """Raise UsageError for a version that cannot be written."""
    if version not in VERSIONS:
        raise UsageError(
            f"DXF version '{version}' cannot be written", todo=f"Use one of {', '.join(VERSIONS)}."
        )


def write_cut_dxf(
    cut: SheetCut,
    path: Path,
    *,
    profile: MachineProfile | None = None,
    version: str = DEFAULT_VERSION,
) -> None:
    """Write the paths of one sheet.

    Args:
        cut: paths in the order of work.
        path: the file to make or replace; it is never left half written.
        profile: layer names and colours; the usual ones when not given.
        version: one of `VERSIONS`.

    Raises:
        UsageError: a version that cannot be written.
        UnwritableFileError: the file cannot be written there.
    """
    write_atomically(path, cut_dxf(cut, profile=profile, version=version))


def cut_dxf(
    cut: SheetCut, *, profile: MachineProfile | None = None, version: str = DEFAULT_VERSION
) -> bytes:
    """The cut file's bytes; see `write_cut_dxf`.

    Raises:
        UsageError: a version that cannot be written.
    """
    refuse_version(version)
    styles = profile if profile is not None else MachineProfile()
    with _fixed_metadata():
        document = new(version, units=0 if version == "R12" else _MILLIMETRES)
        document.header["$MEASUREMENT"] = 1
        for style in (styles.sheet, styles.engrave, styles.score, styles.inner, styles.outer):
            _add_layer(document, style, plotted=style is not styles.sheet)
        space = document.modelspace()
        outline = cut.outline or Contour.rectangle(0.0, 0.0, cut.width_mm, cut.height_mm)
        _add_path(space, outline, styles.sheet.layer, version)
        for path in cut.paths:
            _add_path(space, path.path, styles.style(path.kind).layer, version)
        boxes = [outline.bounds_mm(), *(path.path.bounds_mm() for path in cut.paths)]
        low = (*(_tidy(min(box[i] for box in boxes)) for i in (0, 1)), 0.0)
        high = (*(_tidy(max(box[i] for box in boxes)) for i in (2, 3)), 0.0)
        # The layout overwrites the header's extents with its own when it is written.
        space.reset_extents(low, high)
        space.reset_limits(low[:2], high[:2])
        document.header["$EXTMIN"], document.header["$EXTMAX"] = low, high
        document.header["$LIMMIN"], document.header["$LIMMAX"] = low[:2], high[:2]
        stream = io.StringIO()
        document.write(stream)
    return document.encode(stream.getvalue())


@contextmanager
def _fixed_metadata() -> Iterator[None]:
    """Dates and identifiers that do not change from run to run.

    The library offers this as a switch for the whole process only.
    """
    with _metadata_lock:
        before = options.write_fixed_meta_data_for_testing
        options.write_fixed_meta_data_for_testing = True
        try:
            yield
        finally:
            options.write_fixed_meta_data_for_testing = before


def _add_layer(document: Drawing, style: LayerStyle, *, plotted: bool) -> None:
    if style.layer in document.layers:
        return
    layer = document.layers.add(style.layer, color=style.aci)
    layer.dxf.plot = int(plotted)
    if document.dxfversion >= "AC1018":
        layer.rgb = style.rgb


def _tidy(value: float) -> float:
    """Rounded, and without a negative zero."""
    return round(value, _DIGITS) + 0.0


def _add_path(space: Modelspace, path: Contour, layer: str, version: str) -> None:
    attributes = {"layer": layer}
    circle = path.as_circle()
    if circle is not None:
        space.add_circle(
            (_tidy(circle.x_mm), _tidy(circle.y_mm)), _tidy(circle.radius_mm), dxfattribs=attributes
        )
        return
    segments = list(path.segments())
    if not path.closed and len(segments) == 1:
        (only,) = segments
        if not only.is_arc:
            start, end = (tuple(map(_tidy, point)) for point in (only.start, only.end))
            space.add_line(start, end, dxfattribs=attributes)
            return
        # A DXF arc runs anticlockwise, whichever way the mark was drawn.
        upright = only if only.bulge > 0.0 else only.reversed()
        cx, cy = upright.centre
        from_deg, to_deg = (
            round(math.degrees(math.atan2(y - cy, x - cx)) % 360.0, 12)
            for x, y in (upright.start, upright.end)
        )
        space.add_arc(
            (_tidy(cx), _tidy(cy)),
            _tidy(upright.radius_mm),
            from_deg,
            to_deg,
            dxfattribs=attributes,
        )
        return
    points = [(_tidy(v.x_mm), _tidy(v.y_mm), round(v.bulge, 12) + 0.0) for v in path.vertices]
    if version == "R12":
        space.add_polyline2d(points, format="xyb", close=path.closed, dxfattribs=attributes)
    else:
        space.add_lwpolyline(points, format="xyb", close=path.closed, dxfattribs=attributes)
