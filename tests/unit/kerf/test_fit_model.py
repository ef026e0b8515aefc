from __future__ import annotations

import math

import numpy as np
import pytest

from lasernest.domain.fits import FIT_RANGES, Family
from lasernest.domain.readings import Feel, FeelReading, Rung
from lasernest.domain.stock import Fit
from lasernest.kerf import fit_model
from lasernest.kerf.fit_model import FeltComb, learn_fit, usual_borders_mm

FEELS = list(Feel)


def comb_with_borders(
    borders_mm: tuple[float, ...], rungs_mm: list[float], *, rung: Rung = Rung.GAP
) -> FeltComb:
    """A comb felt without any doubt, cut with a kerf of 0.2."""
    cuts = 1 if rung is Rung.SLOT else 2
    felt = tuple(
        FeelReading(rung, 5.0, 5.0 - i - cuts * 0.2, FEELS[sum(i > b for b in borders_mm)])
        for i in rungs_mm
    )
    return FeltComb(felt, kerf_mm=0.2, kerf_u_mm=0.001)


@pytest.mark.parametrize("family", Family)
def test_common_practice_alone(family: Family) -> None:
    borders = usual_borders_mm(family)
    assert list(borders) == sorted(set(borders))
    model = learn_fit([], family)
    assert model.rung_count == 0
    assert model.borders_mm == pytest.approx(borders, abs=5e-3)
    assert all(0.05 < u < 0.08 for u in model.border_u_mm)
    for fit in Fit:
        window = model.window(fit)
        assert window.low_mm < window.high_mm
        assert window.target_mm <= FIT_RANGES[family].most_mm


def test_a_press_fit_starts_where_practice_puts_it() -> None:
    # plywood: press 0.05 to 0.15 (common practice, no source); its middle
    window = learn_fit([], Family.PLYWOOD).window(Fit.PRESS)
    assert window.target_mm == pytest.approx(0.10, abs=2e-3)
    assert not window.capped


def test_acrylic_is_never_asked_for_more_than_it_takes() -> None:
    # F16: more than 0.05 mm cracks acrylic (common practice, no source)
    tight = comb_with_borders((0.0, 0.05, 0.10, 0.20, 0.30), [0.03 * n for n in range(-5, 12)])
    window = learn_fit([tight], Family.CAST_ACRYLIC).window(Fit.PRESS)
    assert 0.5 * (window.low_mm + window.high_mm) > 0.10
    assert (window.target_mm, window.capped) == (0.05, True)


def test_borders_move_to_where_the_feel_changed() -> None:
    truth = (-0.02, 0.05, 0.11, 0.19, 0.26)
    rungs = [round(-0.10 + 0.02 * n, 3) for n in range(22)]
    model = learn_fit([comb_with_borders(truth, rungs)], Family.PLYWOOD)
    assert model.borders_mm == pytest.approx(truth, abs=0.02)  # the step of the comb
    assert all(u < 0.012 for u in model.border_u_mm)
    assert model.blur_mm < fit_model.USUAL_BLUR_MM


def test_slots_and_gaps_speak_of_the_same_interference() -> None:
    truth = (-0.02, 0.05, 0.11, 0.19, 0.26)
    rungs = [round(-0.10 + 0.02 * n, 3) for n in range(22)]
    gaps = learn_fit([comb_with_borders(truth, rungs)], Family.PLYWOOD)
    slots = learn_fit([comb_with_borders(truth, rungs, rung=Rung.SLOT)], Family.PLYWOOD)
    assert slots.borders_mm == pytest.approx(gaps.borders_mm, abs=1e-3)


def test_an_unsure_thickness_widens_what_slots_tell_and_not_what_gaps_tell() -> None:
    truth = (-0.02, 0.05, 0.11, 0.19, 0.26)
    rungs = [round(-0.10 + 0.02 * n, 3) for n in range(22)]

    def u_mm(rung: Rung, thickness_u_mm: float) -> float:
        comb = comb_with_borders(truth, rungs, rung=rung)
        unsure = FeltComb(comb.felt, 0.2, 0.001, thickness_u_mm=thickness_u_mm)
        return learn_fit([unsure], Family.PLYWOOD).window(Fit.PUSH).u_mm

    assert u_mm(Rung.SLOT, 0.03) > 2.0 * u_mm(Rung.SLOT, 0.0)
    assert u_mm(Rung.GAP, 0.03) == pytest.approx(u_mm(Rung.GAP, 0.0))


def test_contradictions_blur_the_borders() -> None:
    truth = (-0.02, 0.05, 0.11, 0.19, 0.26)
    clear = comb_with_borders(truth, [0.02 * n - 0.1 for n in range(22)])
    shaken = tuple(
        FeelReading(f.rung, f.finger_mm, f.gap_mm, FEELS[min(5, max(0, f.feel.rank + (-1) ** n))])
        for n, f in enumerate(clear.felt)
    )
    unclear = FeltComb(shaken, 0.2, 0.001)
    assert (
        learn_fit([unclear], Family.PLYWOOD).blur_mm
        > 2.0 * learn_fit([clear], Family.PLYWOOD).blur_mm
    )


def test_combs_add_up() -> None:
    truth = (-0.02, 0.05, 0.11, 0.19, 0.26)
    first = comb_with_borders(truth, [0.05 * n - 0.1 for n in range(9)])
    finer = comb_with_borders(truth, [0.01 * n for n in range(22)])
    one = learn_fit([first], Family.PLYWOOD)
    two = learn_fit([first, finer], Family.PLYWOOD)
    assert two.rung_count == 31
    assert two.window(Fit.PRESS).u_mm < 0.6 * one.window(Fit.PRESS).u_mm


def test_shares_are_shares() -> None:
    model = learn_fit([], Family.PLYWOOD)
    loose, tight = model.shares(-0.5), model.shares(0.8)
    assert loose[Feel.FALLS] > 0.999
    assert tight[Feel.REFUSES] > 0.999
    for i in (-0.1, 0.0, 0.1):
        assert sum(model.shares(i, u_mm=0.02).values()) == pytest.approx(1.0)
    curve = model.curve([0.01 * n for n in range(-20, 40)])
    press = curve[Feel.PRESS]
    assert press.index(max(press)) == pytest.approx(30, abs=2)  # about 0.10 mm
    certain = model.share_in(Fit.PRESS, 0.10)
    assert model.share_in(Fit.PRESS, 0.10, u_mm=0.1) < certain


def test_likelihood_by_its_definition_and_its_derivatives_by_differences() -> None:
    felt = tuple(
        FeelReading(rung, 5.0, 5.0 - i, feel)
        for rung in Rung
        for i, feel in zip((0.1, 0.35, 0.45, 0.5, 0.6, 0.7), FEELS, strict=True)
    )
    comb = FeltComb(felt, 0.2, 0.01, thickness_u_mm=0.02, thickness_spread_mm=0.03)
    data = fit_model._Data.of([comb])
    at = np.array([-0.11, -0.02, 0.05, 0.15, 0.22, 0.004, -0.003])
    blur = 0.02
    value, slope, curve = fit_model._log_likelihood(data, at, blur)

    def curve_of(z: float) -> float:
        return 1.0 / (1.0 + math.exp(-z))

    expected = sum(
        math.log(1.0 - math.exp(-(at[j] - at[j - 1]) / blur)) for j in range(1, 5)
    )  # what keeps borders in order
    for f in felt:
        slot = f.rung is Rung.SLOT
        scale = math.hypot(blur, 0.03 * math.sqrt(3.0) / math.pi) if slot else blur
        i = f.interference_mm(0.2) + (at[5] + at[6] if slot else 2.0 * at[6])
        edges = [-math.inf, *at[:5].tolist(), math.inf]
        above, below = edges[f.feel.rank + 1], edges[f.feel.rank]
        p = (1.0 if math.isinf(above) else curve_of((above - i) / scale)) - (
            0.0 if math.isinf(below) else curve_of((below - i) / scale)
        )
        expected += math.log(p)
    assert value == pytest.approx(expected, rel=1e-9)
    step = 1e-6
    for k in range(len(at)):
        ahead, back = at.copy(), at.copy()
        ahead[k] += step
        back[k] -= step
        more, less = (fit_model._log_likelihood(data, p, blur) for p in (ahead, back))
        assert (more[0] - less[0]) / (2 * step) == pytest.approx(slope[k], rel=1e-5, abs=1e-4)
        assert (more[1] - less[1]) / (2 * step) == pytest.approx(curve[k], rel=1e-4, abs=1e-2)
