from __future__ import annotations

from dataclasses import replace

import pytest

from lasernest.domain.readings import parse_reading
from lasernest.errors import BadValueError
from lasernest.kerf.estimate import KerfEstimate, estimate_kerf
from lasernest.kerf.slips import findings_of
from lasernest.kerf.uncertainty import Calliper


def estimate(*texts: str) -> KerfEstimate:
    return estimate_kerf([parse_reading(text) for text in texts])


def codes(*texts: str, typical: tuple[float, float] | None = None) -> list[str]:
    return [f.code for f in findings_of(estimate(*texts), typical=typical)]


def test_repeats_average_only_what_repeats() -> None:
    c = Calliper()
    one, four = estimate("frame=10:2.09"), estimate(*["frame=10:2.09"] * 4)
    assert one.kerf.u == pytest.approx(c.u_mm / 11)
    expected = (c.fixed_u_mm**2 + c.repeat_u_mm**2 / 4) ** 0.5 / 11  # JCGM 100, 5.2.2
    assert four.kerf.u == pytest.approx(expected)


def test_the_better_method_weighs_more() -> None:
    # weights by the inverse square of u: frame 0.00141, pair 0.01099
    both = estimate("frame=10:2.20", "pair=49.81:50.19")
    weight = (1 / 0.00141324**2) / (1 / 0.00141324**2 + 1 / 0.0109924**2)
    assert both.kerf.value == pytest.approx(weight * 0.20 + (1 - weight) * 0.19, abs=1e-6)
    assert both.kerf.u < estimate("frame=10:2.20").kerf.u


def test_axes_are_kept_apart() -> None:
    result = estimate("x:frame=10:2.42", "y:frame=10:1.76", "y:frame=10:1.76")
    assert (result.x.value, result.y.value) == pytest.approx((0.22, 0.16))
    assert result.kerf.value == pytest.approx(0.19)
    assert (result.has_x, result.has_y) == (True, True)
    kerf = result.as_kerf(basis="comb of today")
    assert not kerf.is_round
    assert kerf.basis == "comb of today"
    assert kerf.u_mm == pytest.approx(result.x.u)
    alike = estimate("x:frame=10:2.03", "y:frame=10:1.87").as_kerf(basis="")
    assert (alike.x_mm, alike.y_mm) == pytest.approx((0.1772727, 0.1772727))


def test_one_axis_serves_both_and_is_told() -> None:
    result = estimate("y:frame=10:1.76")
    assert result.x == result.y == result.kerf
    assert codes("y:frame=10:1.76") == ["one-axis"]
    (finding,) = findings_of(result)
    assert finding.message == ("kerf was measured along y only and is taken to be the same along x")


def test_readings_set_aside_are_listed_but_not_used() -> None:
    bad = replace(parse_reading("frame=10:9.90"), used=False)
    result = estimate_kerf([parse_reading("frame=10:2.09"), bad])
    assert result.kerf.value == pytest.approx(0.19)
    assert [r.single.kerf_mm for r in result.readings] == pytest.approx([0.19, 0.9])
    with pytest.raises(BadValueError, match="there is no reading"):
        estimate_kerf([bad])
    with pytest.raises(BadValueError, match="there is no reading"):
        estimate_kerf([])


def test_an_outlier_is_shown_and_stays_in() -> None:
    texts = ["frame=10:2.09", "frame=10:2.10", "frame=10:2.08", "frame=10:2.60"]
    result = estimate(*texts)
    assert [o.single.reading.text() for o in result.outliers] == ["frame=10:2.6"]
    assert result.kerf.value == pytest.approx((2.09 + 2.10 + 2.08 + 2.60) / 44)
    assert result.kerf.scattered
    assert codes(*texts) == ["outlier", "scatter"]


def test_scale_from_parts_and_pairs_together() -> None:
    # exact line: 1.002 n - 0.18
    parts = [f"part={n}:{1.002 * n - 0.18:.4f}" for n in (20, 60, 100)]
    result = estimate(*parts)
    assert result.kerf.value == pytest.approx(0.18, abs=1e-9)
    assert result.scale is not None
    assert result.scale.value == pytest.approx(1.002, abs=1e-9)
    assert codes(*parts) == ["scale"]
    assert findings_of(result)[0].message == "the machine draws 0.20% too big"
    both = estimate(*parts, "pair=19.86:20.22:20")
    assert both.scale is not None
    assert both.scale.value == pytest.approx(1.002, abs=1e-6)


@pytest.mark.parametrize(
    ("texts", "typical", "expected"),
    [
        (["frame=10:2.09"], (0.15, 0.25), []),
        (["frame=10:0.037"], None, ["inches"]),
        (["frame=10:0.04"], (0.1, 0.25), ["machine-compensates"]),
        (["frame=10:0.11"], None, ["inches", "machine-compensates"]),
        (["pair=20.00:20.02:20"], (0.15, 0.30), ["inches", "machine-compensates"]),
        (["pair=20.01:20.00:20"], (0.15, 0.25), ["machine-compensates"]),
        (["pair=50.19:49.82:50"], None, ["kerf-negative"]),
        (["part=100:99.136"], None, ["kerf-out-of-range", "scale-unknown"]),
        (["part=10:8"], None, ["kerf-out-of-range", "scale-unknown"]),
        (["pair=49.96:50.04:50"], (0.05, 0.25), ["kerf-out-of-range"]),
        (["part=50:49.9"], (0.15, 0.25), ["half-kerf", "scale-unknown"]),
        (["pair=19.8:20.0"], (0.15, 0.25), ["half-kerf"]),
        (["pair=19.6:20.4"], (0.15, 0.25), ["kerf-unusual"]),
        (["frame=10:2.2", "part=50:49.9"], None, ["half-kerf", "scatter"]),
        # 11 pieces have 10 cuts: taken for 10 pieces, 9 cuts
        (["frame=10:2.20"] * 3 + ["block=100:98:10"], None, ["cut-count", "outlier", "scatter"]),
    ],
)  # fmt: skip
def test_slips_are_caught(
    texts: list[str], typical: tuple[float, float] | None, expected: list[str]
) -> None:
    assert codes(*texts, typical=typical) == expected


def test_the_sentence_of_a_miscounted_block() -> None:
    result = estimate("frame=10:2.20", "frame=10:2.20", "frame=10:2.20", "block=100:98:10")
    found = next(f for f in findings_of(result) if f.code == "cut-count")
    assert found.message == (
        "block=100:98:10 was taken as 9 cuts; with one more it would agree with the rest (0.200 mm)"
    )


def test_a_kerf_that_cannot_be_is_refused_for_a_stock() -> None:
    with pytest.raises(BadValueError, match=r"a kerf of -0\.185 mm cannot be right"):
        estimate("pair=50.19:49.82").as_kerf(basis="x")
