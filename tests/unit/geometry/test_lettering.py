from __future__ import annotations

import string

import pytest

from lasernest.domain.contours import Contour
from lasernest.errors import BadValueError
from lasernest.geometry.lettering import Align, lettering, text_width_mm


def box(runs: tuple[Contour, ...]) -> tuple[float, float, float, float]:
    boxes = [run.bounds_mm() for run in runs]
    return (
        min(b[0] for b in boxes),
        min(b[1] for b in boxes),
        max(b[2] for b in boxes),
        max(b[3] for b in boxes),
    )


SIGNS = string.digits + string.ascii_uppercase + "+-.,:/\\()=_#%±°'\"?!<>*&"


def test_every_sign_has_a_shape_of_its_own() -> None:
    shapes = {sign: lettering(sign, height_mm=6.0) for sign in SIGNS}
    assert len(set(shapes.values())) == len(SIGNS)
    boxed = lettering("☃", height_mm=6.0)
    assert boxed not in shapes.values()  # a sign without a shape is seen as a box
    assert boxed == (Contour.polyline([(0, 0), (0, 6), (4, 6), (4, 0), (0, 0)]),)


@pytest.mark.parametrize("sign", SIGNS)
def test_signs_keep_to_their_height_and_every_stroke_has_length(sign: str) -> None:
    runs = lettering(sign, height_mm=3.0)
    x0, y0, x1, y1 = box(runs)
    assert x0 == 0.0
    assert y0 >= 0.0
    assert x1 == pytest.approx(text_width_mm(sign, height_mm=3.0))
    assert y1 <= 3.0
    assert all(segment.chord_mm > 0 for run in runs for segment in run.segments())
    assert not any(run.closed for run in runs)


def test_capitals_and_digits_are_as_high_as_asked() -> None:
    for sign in string.digits + string.ascii_uppercase:
        _, y0, _, y1 = box(lettering(sign, height_mm=2.5))
        assert (y0, y1) == (0.0, pytest.approx(2.5))


def test_a_line_is_set_without_overlap() -> None:
    word = lettering("LX", height_mm=6.0)
    assert box(word[:1])[2] + 2.0 == pytest.approx(box(word[1:])[0])
    # L is 4 units, gap 2, X 4: by hand
    assert text_width_mm("LX", height_mm=6.0) == pytest.approx(10.0)
    assert text_width_mm("L X", height_mm=6.0) == pytest.approx(13.0)
    assert text_width_mm("", height_mm=6.0) == 0.0
    assert lettering("", height_mm=6.0) == ()
    assert lettering("  ", height_mm=6.0) == ()


def test_alignment_and_turn() -> None:
    centred = box(lettering("HH", height_mm=6.0, at=(100, 50), align=Align.CENTRE))
    assert centred == pytest.approx((95, 50, 105, 56))
    right = box(lettering("HH", height_mm=6.0, at=(100, 50), align=Align.RIGHT))
    assert right == pytest.approx((90, 50, 100, 56))
    up = box(lettering("HH", height_mm=6.0, at=(100, 50), turn_deg=90))
    assert up == pytest.approx((94, 50, 100, 60))


def test_small_letters_accents_and_dashes() -> None:
    assert lettering("lid é–2×", height_mm=2) == lettering("LID E-2X", height_mm=2)


def test_letters_need_a_height() -> None:
    with pytest.raises(BadValueError):
        lettering("A", height_mm=0.0)
