"""Kerf from any set of readings, along x and y, with scale and taper set apart.

How readings are combined:

1. Parts measured at three or more drawn sizes give one kerf by a straight line
   (measured = scale x drawn - kerf); every other reading gives one itself.
2. Readings of one method share the calliper's fixed error, so repeating them
   averages only what differs from reading to reading. Methods are weighted by
   the inverse square of their uncertainty. The 95 % interval takes the largest
   fixed error as rectangular and the rest as normal (JCGM 101:2008).
3. Where readings scatter more than that explains (chi-square at 95 %), the
   scatter itself is taken, with Student's t, if it is the larger. Source: R. T.
   Birge, The calculation of errors by the method of least squares, Phys. Rev.
   40 (1932) 207, and JCGM 100:2008, 4.2 and G.3.
4. A reading far from the rest is shown, never dropped in silence. Source of the
   limit 3.5: B. Iglewicz and D. Hoaglin, How to Detect and Handle Outliers, 1993.

The kerf meant is the one a calliper feels: the narrowest along the depth. How
kerf varies from cut to cut is not in `u_mm` unless readings show it.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace
from statistics import median

from lasernest.domain.readings import Axis, Face, Method, Reading
from lasernest.domain.stock import Kerf
from lasernest.errors import BadValueError
from lasernest.kerf.readings import SingleKerf, kerf_of, scale_of
from lasernest.kerf.uncertainty import (
    COVERAGE,
    NORMAL_FACTOR,
    Calliper,
    chi_square_limit,
    combined_u,
    half_width_95,
    student_factor,
)

OUTLIER_LIMIT = 3.5
SIZES_FOR_A_LINE = 3
SMALLEST_U_MM = 1e-9
"""Keeps a calliper without any error from dividing by zero."""


@dataclass(frozen=True, slots=True)
class Estimate:
    """A value with its standard uncertainty and 95 % interval."""

    value: float
    u: float
    half_width_95: float
    scattered: bool = False
    """True when the readings scatter more than the calliper explains."""

    @property
    def interval_95(self) -> tuple[float, float]:
        return (self.value - self.half_width_95, self.value + self.half_width_95)


@dataclass(frozen=True, slots=True)
class Taper:
    """A kerf that is wider at one face than at the other."""

    top_mm: float
    bottom_mm: float
    thickness_mm: float | None = None

    @property
    def lean_mm(self) -> float:
        """How far an edge leans out over the thickness."""
        return 0.5 * abs(self.top_mm - self.bottom_mm)

    @property
    def half_angle_deg(self) -> float | None:
        """Angle of an edge to the normal of the sheet; None without a thickness."""
        if self.thickness_mm is None:
            return None
        return math.degrees(math.atan2(self.lean_mm, self.thickness_mm))


@dataclass(frozen=True, slots=True)
class ReadingResult:
    """What one reading tells beside the others."""

    single: SingleKerf
    outlier: bool = False


@dataclass(frozen=True, slots=True)
class KerfEstimate:
    """What a set of readings tells; lengths in mm."""

    kerf: Estimate
    x: Estimate
    """Along x; as `kerf` when no reading names an axis."""
    y: Estimate
    has_x: bool
    """True when some reading was taken along x, and so on."""
    has_y: bool
    scale: Estimate | None
    """Size the machine draws over size asked for; None when no method tells."""
    taper: Taper | None
    readings: tuple[ReadingResult, ...]

    @property
    def outliers(self) -> tuple[ReadingResult, ...]:
        return tuple(r for r in self.readings if r.outlier)

    def as_kerf(self, *, basis: str) -> Kerf:
        """The kerf for a stock; the mean of x and y when they are alike.

        Raises:
            BadValueError: no kerf can be so wide or so narrow.
        """
        # The widest of the three: as the axes may differ, so may their uncertainty.
        all_three = (self.kerf, self.x, self.y)
        u_mm = max(max(e.u, e.half_width_95 / NORMAL_FACTOR) for e in all_three)
        kerf = Kerf(self.x.value, self.y.value, u_mm, basis)
        return Kerf.same(self.kerf.value, u_mm=u_mm, basis=basis) if kerf.is_round else kerf


def estimate_kerf(
    readings: Sequence[Reading],
    *,
    calliper: Calliper | None = None,
    thickness_mm: float | None = None,
) -> KerfEstimate:
    """Kerf, scale and taper from readings; those set aside are listed but not used.

    Args:
        readings: at least one in use.
        calliper: what they were taken with.
        thickness_mm: of the sheet, for the angle of a taper.

    Raises:
        BadValueError: no reading is in use.
    """
    c = calliper if calliper is not None else Calliper()
    used = [r for r in readings if r.used]
    if not used:
        raise BadValueError("there is no reading to work out a kerf from", todo="Take one.")
    taper, plain = _taper(used, c, thickness_mm)
    scale = _scale(plain, c)
    kinds = {axis: [r for r in plain if r.axis is axis] for axis in Axis}
    either = kinds[Axis.BOTH]
    if kinds[Axis.X] and kinds[Axis.Y]:
        x = _weighted(kinds[Axis.X] + either, c)
        y = _weighted(kinds[Axis.Y] + either, c)
        kerf = _mean_of(x, y)
    else:
        kerf = x = y = _weighted(plain, c)
    return KerfEstimate(
        kerf.estimate,
        x.estimate,
        y.estimate,
        bool(kinds[Axis.X]),
        bool(kinds[Axis.Y]),
        scale,
        taper,
        _results(readings, c),
    )


@dataclass(frozen=True, slots=True)
class _Weighted:
    estimate: Estimate
    members: tuple[tuple[float, SingleKerf], ...]
    """Weights, which add up to one, and what they weigh."""


def _weighted(readings: Sequence[Reading], calliper: Calliper) -> _Weighted:
    singles = _singles(readings, calliper)
    by_method: dict[Method, list[SingleKerf]] = {}
    for single in singles:
        by_method.setdefault(single.reading.method, []).append(single)
    groups: list[tuple[float, float]] = []
    members: list[tuple[float, SingleKerf]] = []
    chi_square = 0.0
    for group in by_method.values():
        inside = list(zip(_shares([s.u_mm for s in group]), group, strict=True))
        mean = math.fsum(share * s.kerf_mm for share, s in inside)
        u = max(_known_u(inside), SMALLEST_U_MM)
        chi_square += math.fsum(
            ((s.kerf_mm - mean) / max(s.u_mm, SMALLEST_U_MM)) ** 2 for s in group
        )
        groups.append((mean, u))
        members += [(share / u**2, single) for share, single in inside]
    total = math.fsum(weight for weight, _ in members)
    members = [(weight / total, single) for weight, single in members]
    value = math.fsum(weight * single.kerf_mm for weight, single in members)
    chi_square += math.fsum(((mean - value) / u) ** 2 for mean, u in groups)
    return _finish(value, members, chi_square)


def _mean_of(x: _Weighted, y: _Weighted) -> _Weighted:
    """The mean of both axes; a reading that belongs to both is counted once."""
    value = 0.5 * (x.estimate.value + y.estimate.value)
    members = [(0.5 * weight, single) for weight, single in x.members + y.members]
    known, half = _known_u(members), _known_half(members)
    scattered = x.estimate.scattered or y.estimate.scattered
    if scattered:
        known = max(known, 0.5 * combined_u(x.estimate.u, y.estimate.u))
        half = max(half, 0.5 * combined_u(x.estimate.half_width_95, y.estimate.half_width_95))
    return _Weighted(Estimate(value, known, half, scattered), tuple(members))


def _finish(value: float, members: list[tuple[float, SingleKerf]], chi_square: float) -> _Weighted:
    u, half, count = _known_u(members), _known_half(members), len(members)
    scattered = count > 1 and chi_square > chi_square_limit(count - 1, COVERAGE)
    if scattered:
        square = math.fsum(w * (s.kerf_mm - value) ** 2 for w, s in members) / (count - 1)
        u = max(u, math.sqrt(square))
        half = max(half, student_factor(count - 1) * math.sqrt(square))
    return _Weighted(Estimate(value, u, half, scattered), tuple(members))


def _known_u(members: Sequence[tuple[float, SingleKerf]]) -> float:
    return combined_u(*_fixed_parts(members), _repeat_part(members))


def _known_half(members: Sequence[tuple[float, SingleKerf]]) -> float:
    fixed = sorted(_fixed_parts(members))
    return half_width_95(fixed[-1], combined_u(*fixed[:-1], _repeat_part(members)))


def _fixed_parts(members: Sequence[tuple[float, SingleKerf]]) -> list[float]:
    """Each fixed error's share in a weighted mean; it is common to one method's readings."""
    by_length: dict[tuple[Method, int], float] = {}
    for weight, single in members:
        for n in range(single.lengths):
            key = (single.reading.method, n)
            part = weight * single.fixed_u_mm / math.sqrt(single.lengths)
            by_length[key] = by_length.get(key, 0.0) + part
    return list(by_length.values())


def _repeat_part(members: Sequence[tuple[float, SingleKerf]]) -> float:
    """What differs from reading to reading, in a weighted mean; a reading twice in it is one."""
    by_reading: dict[int, tuple[float, float]] = {}
    for weight, single in members:
        before = by_reading.get(id(single.reading), (0.0, 0.0))[0]
        by_reading[id(single.reading)] = (before + weight, single.repeat_u_mm)
    return combined_u(*(weight * u for weight, u in by_reading.values()))


def _shares(us: Sequence[float]) -> list[float]:
    weights = [1.0 / max(u, SMALLEST_U_MM) ** 2 for u in us]
    total = math.fsum(weights)
    return [weight / total for weight in weights]


def _singles(readings: Sequence[Reading], calliper: Calliper) -> list[SingleKerf]:
    """Each reading's kerf; parts at three or more sizes become one."""
    parts = [r for r in readings if r.method is Method.PART]
    singles = [kerf_of(r, calliper) for r in readings if r.method is not Method.PART]
    line = _line(parts, calliper)
    return singles + ([line[0]] if line else [kerf_of(r, calliper) for r in parts])


def _line(parts: Sequence[Reading], calliper: Calliper) -> tuple[SingleKerf, Estimate] | None:
    """Kerf and scale from parts of several sizes by least squares, or None.

    Measured = scale x drawn - kerf. The calliper's fixed error moves all alike.
    """
    drawn = [r.numbers[0] for r in parts]
    if len(set(drawn)) < SIZES_FOR_A_LINE:
        return None
    measured = [r.numbers[1] for r in parts]
    count = len(parts)
    mean_n, mean_d = math.fsum(drawn) / count, math.fsum(measured) / count
    spread = math.fsum((n - mean_n) ** 2 for n in drawn)
    products = zip(drawn, measured, strict=True)
    slope = math.fsum((n - mean_n) * (d - mean_d) for n, d in products) / spread
    kerf_mm = slope * mean_n - mean_d
    rest = math.fsum((d - slope * n + kerf_mm) ** 2 for n, d in zip(drawn, measured, strict=True))
    # What the line leaves over counts where it is more than the calliper's repeatability.
    s = max(calliper.repeat_u_mm, math.sqrt(rest / (count - 2)))
    repeat = s * math.sqrt(1.0 / count + mean_n**2 / spread)
    slope_u = s / math.sqrt(spread)
    single = SingleKerf(parts[0], kerf_mm, repeat, calliper.fixed_u_mm)
    return single, Estimate(slope, slope_u, student_factor(count - 2) * slope_u)


def _scale(readings: Sequence[Reading], calliper: Calliper) -> Estimate | None:
    """The machine's scale from pairs of known size and parts of several sizes."""
    found: list[tuple[float, float]] = []
    pairs = [(r.numbers[2], a) for r in readings if (a := scale_of(r)) is not None]
    if pairs:
        # Long pairs weigh more; the errors of the jaws stay the same from pair to pair.
        shares = _shares([1.0 / drawn_mm for drawn_mm, _ in pairs])
        per_mm = math.fsum(s / drawn_mm for s, (drawn_mm, _) in zip(shares, pairs, strict=True))
        each = (s / drawn_mm for s, (drawn_mm, _) in zip(shares, pairs, strict=True))
        u = combined_u(calliper.fixed_u_mm * per_mm, calliper.repeat_u_mm * combined_u(*each))
        value = math.fsum(s * a for s, (_, a) in zip(shares, pairs, strict=True))
        found.append((value, u / math.sqrt(2.0)))
    line = _line([r for r in readings if r.method is Method.PART], calliper)
    if line is not None:
        found.append((line[1].value, line[1].u))
    if not found:
        return None
    shares = _shares([u for _, u in found])
    value = math.fsum(share * a for share, (a, _) in zip(shares, found, strict=True))
    u = combined_u(*(share * u for share, (_, u) in zip(shares, found, strict=True)))
    return Estimate(value, u, NORMAL_FACTOR * u)


def _taper(
    readings: Sequence[Reading], calliper: Calliper, thickness_mm: float | None
) -> tuple[Taper | None, list[Reading]]:
    """The taper, and the readings that the kerf is to be worked out from."""
    top = [r for r in readings if r.face is Face.TOP]
    bottom = [r for r in readings if r.face is Face.BOTTOM]
    plain = [r for r in readings if r.face is Face.CALLIPER]
    if not (top and bottom):
        return None, list(readings)
    top_mm = _weighted(top, calliper).estimate.value
    bottom_mm = _weighted(bottom, calliper).estimate.value
    # Without a calliper's reading the narrower face is what one would feel.
    narrow = top if top_mm < bottom_mm else bottom
    return Taper(top_mm, bottom_mm, thickness_mm), plain or narrow


def _results(readings: Sequence[Reading], calliper: Calliper) -> tuple[ReadingResult, ...]:
    line = _line([r for r in readings if r.method is Method.PART and r.used], calliper)
    singles = [_beside_line(kerf_of(r, calliper), line) for r in readings]
    groups: dict[tuple[Axis, Face], list[SingleKerf]] = {}
    for single in singles:
        if single.reading.used:
            groups.setdefault((single.reading.axis, single.reading.face), []).append(single)
    return tuple(
        ReadingResult(
            single,
            single.reading.used
            and _is_outlier(single, groups[single.reading.axis, single.reading.face]),
        )
        for single in singles
    )


def _beside_line(single: SingleKerf, line: tuple[SingleKerf, Estimate] | None) -> SingleKerf:
    """A part's kerf with the scale that all parts together tell taken out."""
    if line is None or single.reading.method is not Method.PART:
        return single
    drawn_mm, measured_mm = single.reading.numbers
    return replace(single, kerf_mm=line[1].value * drawn_mm - measured_mm)


def _is_outlier(single: SingleKerf, group: Sequence[SingleKerf]) -> bool:
    if len(group) < 3:
        return False
    middle = median(s.kerf_mm for s in group)
    spread = 1.4826 * median(abs(s.kerf_mm - middle) for s in group)
    known = combined_u(single.u_mm, median(s.u_mm for s in group))
    return abs(single.kerf_mm - middle) > OUTLIER_LIMIT * max(spread, known)
