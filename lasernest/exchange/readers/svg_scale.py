"""How large an SVG drawing is: stated by its size in mm or inches, or to be asked.

A page measured in pixels, or not at all, may have been drawn at 96, 90 or 72
pixels to the inch; the sizes are offered side by side. The preset is 96 (CSS),
or 90 where the file names a version of its editor from before that standard.

Source: CSS Values, absolute lengths; the editor's change from 90 to 96 pixels
per inch with its version 0.92: from memory of its release notes.
"""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import dataclass, replace

from lasernest.domain.contours import Bounds
from lasernest.domain.findings import Choice, Finding, Severity
from lasernest.domain.import_choices import UNIT_OPTION
from lasernest.exchange.readers.svg_lengths import (
    PHYSICAL,
    Length,
    parse_length,
    parse_view_box,
    transform_of,
    view_map,
)
from lasernest.exchange.readers.svg_xml import Node
from lasernest.geometry.affine import Affine
from lasernest.units import LengthUnit

_PIXELS = (LengthUnit.PX, LengthUnit.PX90, LengthUnit.POINT)
_OFFERED = (*_PIXELS, LengthUnit.MM, LengthUnit.INCH)
_PHYSICAL_MM = {
    "mm": 1.0,
    "cm": 10.0,
    "in": 25.4,
    "pt": 25.4 / 72.0,
    "pc": 25.4 / 6.0,
    "q": 0.25,
}


@dataclass(frozen=True, slots=True)
class RootView:
    """From the drawing's own units to millimetres, and what that rests on."""

    affine: Affine
    width: float
    height: float
    """The viewport in the drawing's own units, for percentages."""
    unit: str
    mm_per_user_unit: float
    stated: bool
    decided: bool
    taken: LengthUnit | None
    """The pixel that was assumed; None where the size is physical."""
    page_px_per_user_unit: float


def root_view(root: Node, unit: LengthUnit | None) -> RootView:
    """The scale of the outermost svg element.

    Raises:
        LengthError: a width, height or viewBox that is none.
    """
    box = parse_view_box(root.get("viewBox"))
    width, height = _side(root.get("width")), _side(root.get("height"))
    ratio = root.get("preserveAspectRatio")
    named = [side.unit for side in (width, height) if side is not None]
    physical = bool(named) and all(u in PHYSICAL for u in named)
    page = _page_px(box, width, height)
    if box is None:
        # Without a viewBox the drawing's own unit is the CSS pixel.
        inner = Affine()
        view_width, view_height = page
    else:
        inner = view_map(box, *page, ratio)
        view_width, view_height = box[2], box[3]
    px = inner.a
    if unit in _PIXELS:
        mm_per_px, name, stated, taken = unit.mm, unit.symbol, True, unit
    elif unit is not None:
        mm_per_px, name, stated, taken = unit.mm / px, unit.symbol, True, unit
    elif physical:
        mm_per_px, name, stated, taken = LengthUnit.PX.mm, named[0], True, None
    else:
        pixel = _likely_pixel(root)
        mm_per_px, name, stated, taken = pixel.mm, pixel.symbol, False, pixel
    to_mm = Affine(mm_per_px, 0.0, 0.0, -mm_per_px, 0.0, page[1] * mm_per_px)
    return RootView(
        affine=_exact(to_mm.after(inner), box, width, height, physical and unit is None),
        width=view_width,
        height=view_height,
        unit=name,
        mm_per_user_unit=abs(px * mm_per_px),
        stated=stated,
        decided=unit is not None,
        taken=taken,
        page_px_per_user_unit=abs(px),
    )


def turned_view(view: RootView, style: Mapping[str, str]) -> RootView:
    """The view after the transform of the outermost svg itself, about the middle of the page.

    Source: SVG 2, chapter 8, and CSS Transforms Module Level 1, section 8: the outermost
    svg has a box, so its origin is 50% 50%. That only moves the drawing.

    Raises:
        LengthError: the transform is none.
    """
    turn = transform_of({**style, "transform-origin": ""}, view.width, view.height)
    if turn == Affine():
        return view
    mm = view.mm_per_user_unit / view.page_px_per_user_unit
    # In mm, y up.
    turn = Affine(turn.a, -turn.b, -turn.c, turn.d, turn.e * mm, -turn.f * mm)
    x, y = view.affine.apply(0.5 * view.width, 0.5 * view.height)
    turn = Affine.moving(x, y).after(turn).after(Affine.moving(-x, -y))
    return replace(view, affine=turn.after(view.affine))


def _exact(
    affine: Affine,
    box: tuple[float, float, float, float] | None,
    width: Length | None,
    height: Length | None,
    physical: bool,
) -> Affine:
    """The scale without the detour over pixels, where width and height are both physical."""
    if not physical or box is None or width is None or height is None:
        return affine
    width_mm = width.number * _PHYSICAL_MM[width.unit]
    height_mm = height.number * _PHYSICAL_MM[height.unit]
    sx, sy = width_mm / box[2], height_mm / box[3]
    if abs(sx - sy) > 1e-9 * sx or abs(affine.a - sx) > 1e-9 * sx:
        return affine
    return Affine(sx, 0.0, 0.0, -sx, -box[0] * sx, height_mm + box[1] * sx)


def _side(text: str) -> Length | None:
    """A stated side; None for none, auto or a percentage."""
    text = text.strip()
    if text in ("", "auto"):
        return None
    length = parse_length(text)
    return None if length.unit == "%" or length.number <= 0.0 else length


def _page_px(
    box: tuple[float, float, float, float] | None, width: Length | None, height: Length | None
) -> tuple[float, float]:
    """The page in CSS pixels; a missing side follows from the viewBox."""
    w = width.px(100.0) if width is not None else None
    h = height.px(100.0) if height is not None else None
    if box is not None:
        shape = box[2] / box[3]
        if w is None and h is None:
            return (box[2], box[3])
        if w is None and h is not None:
            return (h * shape, h)
        if h is None and w is not None:
            return (w, w / shape)
    return (w or 300.0, h or 150.0)


def _likely_pixel(root: Node) -> LengthUnit:
    match = re.match(r"(\d+)\.(\d+)", root.get("editor:version"))
    if match and (int(match[1]), int(match[2])) < (0, 92):
        return LengthUnit.PX90
    return LengthUnit.PX


def svg_questions(view: RootView, bounds_mm: Bounds | None) -> tuple[Finding, ...]:
    """Ask for the size of a pixel where the file does not settle it."""
    if view.decided or view.stated or bounds_mm is None or view.taken is None:
        return ()
    width, height = bounds_mm[2] - bounds_mm[0], bounds_mm[3] - bounds_mm[1]
    choices = []
    for unit in _OFFERED:
        per_user = unit.mm * (view.page_px_per_user_unit if unit in _PIXELS else 1.0)
        factor = per_user / view.mm_per_user_unit
        size = (width * factor, height * factor)
        choices.append(
            Choice(_described(unit), UNIT_OPTION, unit.symbol, size, preset=unit is view.taken)
        )
    return (
        Finding(
            Severity.WARNING,
            "unit-unknown",
            f"The drawing is measured in pixels; taken as {_described(view.taken)} it is "
            f"{width:.4g} x {height:.4g} mm.",
            where_mm=(bounds_mm[0], bounds_mm[1]),
            todo="Measure one known length, then choose the unit.",
            choices=tuple(choices),
        ),
    )


def _described(unit: LengthUnit) -> str:
    return {
        LengthUnit.PX: "96 pixels to the inch",
        LengthUnit.PX90: "90 pixels to the inch",
        LengthUnit.POINT: "72 points to the inch",
        LengthUnit.MM: "millimetres",
        LengthUnit.INCH: "inches",
    }[unit]
