"""Geometry and transforms from CSS, as browsers draw them.

Sources: SVG 2, chapter 7 (which property belongs to which element; rx and ry auto), 9.3.2
(d) and chapter 8 (transform of the outermost svg); CSS Values and Units 4, 6 (a length needs
its unit); CSS Cascade 4, 6 (style before attributes); CSS Transforms 1 and 2 (order of
translate, rotate, scale and transform). Sizes are closed forms: 1in = 96px = 25.4mm.
"""

from __future__ import annotations

from pathlib import Path

import pytest

from lasernest.domain.contours import Bounds, Circle
from lasernest.errors import UnreadableFileError

from .drawings import read, svg, write

MM = 'width="100mm" height="100mm" viewBox="0 0 100 100"'
PX_MM = 25.4 / 96.0


def strokes_of(tmp_path: Path, body: str, attributes: str = MM):  # type: ignore[no-untyped-def]
    return read(write(tmp_path, svg(body, attributes), "part.svg")).strokes


def box_of(tmp_path: Path, body: str, attributes: str = MM) -> Bounds:
    (stroke,) = strokes_of(tmp_path, body, attributes)
    bounds: Bounds = stroke.path.bounds_mm()
    return bounds


RECT = (10.0, 65.0, 40.0, 90.0)
"""x 10, y 10 down, 30 wide, 25 high on a page of 100."""


@pytest.mark.parametrize(
    "body",
    [
        '<rect style="x:10px;y:10px;width:30px;height:25px"/>',
        "<style>rect{x:10px;y:10px;width:30px;height:25px}</style><rect/>",
        '<style>.a{width:30px}#b{height:25px}</style><rect class="a" id="b" x="10" y="10"/>',
        '<rect x="1" y="10" width="99" height="25" style="width:30px;x:10px"/>',
        "<style>rect{width:30px !important}</style>"
        '<rect x="10" y="10" height="25" style="width:7px"/>',
        # Without a unit, or negative, a declaration is invalid: the attribute counts.
        '<rect x="10" y="10" width="30" height="25" style="x:3;width:50;height:-4px"/>',
        '<rect style="x:10%;y:10%;width:30%;height:25%"/>',
        """<path style="d:path('M10 10h30v25h-30z')"/>""",
        """<style>path{d:path("M10,10 H40 V35 H10 Z")}</style><path d="M0 0h9v9z"/>""",
        '<svg style="x:10px;y:10px;width:30px;height:25px" viewBox="0 0 6 5">'
        '<rect width="6" height="5"/></svg>',
        '<symbol id="s" viewBox="0 0 6 5"><rect width="6" height="5"/></symbol>'
        '<use href="#s" style="x:10px;y:10px;width:30px;height:25px"/>',
        '<rect id="r" width="30" height="25" style="transform:translate(10px,10px)"/>',
        '<rect width="30" height="25" style="translate:10px 10px"/>',
        '<rect width="15" height="25" style="translate:10px 10px;scale:2 1"/>',
        '<rect width="25" height="30" style="translate:40px 10px;rotate:90deg"/>',
        '<rect width="5" height="25" style="translate:10px 10px;scale:2 1;transform:scale(3,1)"/>',
    ],
)
def test_a_rectangle_however_it_is_stated(tmp_path: Path, body: str) -> None:
    assert box_of(tmp_path, body) == pytest.approx(RECT, abs=1e-9)


@pytest.mark.parametrize(
    "body",
    [
        '<circle style="cx:50px;cy:40px;r:20px"/>',
        "<style>circle{cx:50%;cy:40px;r:20px}</style><circle/>",
        '<ellipse style="cx:50px;cy:40px;rx:20px;ry:auto"/>',
        '<ellipse cx="50" cy="40" rx="3" ry="20" style="rx:20px"/>',
        '<circle cx="50" cy="40" r="20" style="r:3;d:path(\'M0 0h9v9z\');width:7px"/>',
    ],
)
def test_a_circle_however_it_is_stated(tmp_path: Path, body: str) -> None:
    (stroke,) = strokes_of(tmp_path, body)
    assert stroke.path.as_circle() == pytest.approx(Circle(50, 60, 20))


def test_what_transforms_carry_beyond_all_numbers_is_left_out_and_told(tmp_path: Path) -> None:
    body = (
        '<g transform="scale(1e200)"><g transform="scale(1e200)"><path d="M0 0H9V9C1 9 1 9 0 9z"/>'
        '<circle r="9"/></g></g><rect width="9" height="9"/>'
    )
    drawing = read(write(tmp_path, svg(body), "part.svg"))
    assert len(drawing.strokes) == 1
    (told,) = [f for f in drawing.findings if f.code == "left-out"]
    assert told.message == "Left out: 1 g too far away."


def test_corners_rounded_by_css(tmp_path: Path) -> None:
    body = '<rect width="30" height="20" style="rx:5px"/>'
    (stroke,) = strokes_of(tmp_path, body)
    assert {round(s.radius_mm, 9) for s in stroke.path.segments() if s.bulge} == {5.0}


def test_d_none_draws_nothing(tmp_path: Path) -> None:
    assert strokes_of(tmp_path, '<path d="M0 0h9v9z" style="d:none"/>') == ()


def test_lengths_that_need_a_layout_are_refused_with_their_line(tmp_path: Path) -> None:
    for value in ("calc(10px + 5%)", "var(--w)", "10vw"):
        path = write(tmp_path, svg(f'\n<rect height="9" style="width:{value}"/>', MM), "part.svg")
        with pytest.raises(UnreadableFileError, match=r"line 2: the rect cannot be drawn"):
            read(path)


@pytest.mark.parametrize(
    ("attributes", "width_mm"),
    [
        ('style="width:50mm;height:50mm" viewBox="0 0 100 100"', 50.0),
        ('style="width:2in;height:2in" viewBox="0 0 96 96"', 50.8 * 100 / 96),
        ('width="9mm" height="9mm" style="width:50mm;height:50mm" viewBox="0 0 100 100"', 50.0),
        # A share of the window says nothing of the size it is cut at.
        ('width="50mm" height="50mm" style="width:100%;height:auto" viewBox="0 0 100 100"', 50.0),
        (f'{MM} transform="scale(0.5)"', 50.0),
        (f'{MM} style="transform:scale(.5) rotate(90deg)"', 50.0),
    ],
)
def test_the_page_stated_in_css(tmp_path: Path, attributes: str, width_mm: float) -> None:
    x0, y0, x1, y1 = box_of(tmp_path, '<rect width="100" height="100"/>', attributes)
    assert (x1 - x0, y1 - y0) == pytest.approx((width_mm, width_mm), abs=1e-9)


def test_a_page_turned_about_its_middle(tmp_path: Path) -> None:
    body = '<rect x="10" y="10" width="30" height="25"/>'
    # A quarter turn clockwise (y down) about 50 50 takes x, y down to 100 - y, x down.
    assert box_of(tmp_path, body, f'{MM} transform="rotate(90)"') == pytest.approx(
        (65.0, 60.0, 90.0, 90.0), abs=1e-9
    )
    assert box_of(tmp_path, body, f'{MM} transform="scale(-1,1)"') == pytest.approx(
        (60.0, 65.0, 90.0, 90.0), abs=1e-9
    )
    moved = box_of(tmp_path, body, f'{MM} transform="translate(96,0)"')
    assert moved == pytest.approx((10 + 96 * PX_MM, 65.0, 40 + 96 * PX_MM, 90.0), abs=1e-9)
