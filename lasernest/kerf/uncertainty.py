"""Uncertainty of measurement, after JCGM 100:2008 (the GUM); clauses named beside each rule.

A *standard uncertainty* `u` is one standard deviation of what is known about
a value; an interval of about 95 % is the value plus and minus twice that, or
Student's t times that where it rests on few readings.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from statistics import NormalDist

from lasernest.errors import BadValueError

COVERAGE = 0.95
NORMAL_FACTOR = 2.0
"""Coverage factor for about 95 % (JCGM 100, 6.2 and G.6.6)."""


def rectangular_u(half_width: float) -> float:
    """Anything within plus and minus `half_width` is as likely (JCGM 100, 4.3.7)."""
    return half_width / math.sqrt(3.0)


def step_u(step: float) -> float:
    """A value read to a step of a display or of a graded comb (JCGM 100, F.2.2.1)."""
    return step / math.sqrt(12.0)


def combined_u(*parts: float) -> float:
    """Root of the sum of squares of uncorrelated parts (JCGM 100, 5.1.2)."""
    return math.sqrt(math.fsum(part * part for part in parts))


@dataclass(frozen=True, slots=True)
class Calliper:
    """What is known of the calliper.

    Defaults: MPE 0.02 mm is typical of makers of 150 mm digital callipers
    (common practice; ISO 13385-1:2019 says it cannot be below the step), the
    step is 0.01 mm, repeatability 0.01 mm by common practice without source.
    """

    mpe_mm: float = 0.02
    """Largest permissible error, either way; it does not average out over repeats."""
    step_mm: float = 0.01
    repeatability_mm: float = 0.01

    def __post_init__(self) -> None:
        for value in (self.mpe_mm, self.step_mm, self.repeatability_mm):
            if not (math.isfinite(value) and 0.0 <= value <= 1.0):
                raise BadValueError(
                    f"a calliper error of {value:g} mm cannot be right",
                    todo="A shop calliper errs by about 0.02 mm and shows steps of 0.01 mm.",
                )

    @property
    def fixed_u_mm(self) -> float:
        """The part that stays the same when a length is measured again."""
        return rectangular_u(self.mpe_mm)

    @property
    def repeat_u_mm(self) -> float:
        """The part that differs from reading to reading."""
        return combined_u(step_u(self.step_mm), self.repeatability_mm)

    @property
    def u_mm(self) -> float:
        """Standard uncertainty of one length."""
        return combined_u(self.fixed_u_mm, self.repeat_u_mm)


@dataclass(frozen=True, slots=True)
class Sample:
    """Repeated readings of one thing (type A, JCGM 100, 4.2)."""

    mean: float
    s: float
    """Sample standard deviation."""
    count: int

    @classmethod
    def of(cls, values: Sequence[float]) -> Sample:
        """Mean and scatter of at least two readings."""
        count = len(values)
        if count < 2:
            raise BadValueError("one reading has no scatter", todo="Take two or more.")
        mean = math.fsum(values) / count
        return cls(mean, math.sqrt(math.fsum((v - mean) ** 2 for v in values) / (count - 1)), count)

    @property
    def u(self) -> float:
        """Standard uncertainty of the mean (JCGM 100, 4.2.3)."""
        return self.s / math.sqrt(self.count)

    @property
    def half_width_95(self) -> float:
        """Half the width of the 95 % interval of the mean, by Student's t."""
        return student_factor(self.count - 1) * self.u


def half_width_95(rectangular_u_part: float, normal_u: float) -> float:
    """Half the 95 % interval of one rectangular error and everything else taken as normal.

    Twice the standard uncertainty would be too wide where the calliper's own
    limits of error rule. Source: JCGM 101:2008 (propagation of distributions),
    for these two in closed form.

    Args:
        rectangular_u_part: standard uncertainty of the largest rectangular part.
        normal_u: of all other parts together.
    """
    a, s = math.sqrt(3.0) * rectangular_u_part, normal_u
    if s <= 1e-9 * a:
        return COVERAGE * a
    if a <= 1e-6 * s:
        return NormalDist().inv_cdf(0.5 + 0.5 * COVERAGE) * s
    normal = NormalDist()

    def below(z: float) -> float:
        """Integral of the normal distribution up to z."""
        return z * normal.cdf(z) + normal.pdf(z)

    low, high = 0.0, a + 6.0 * s
    for _ in range(60):
        middle = 0.5 * (low + high)
        share = s / (2.0 * a) * (below((middle + a) / s) - below((middle - a) / s))
        if 2.0 * share - 1.0 < COVERAGE:
            low = middle
        else:
            high = middle
    return 0.5 * (low + high)


def student_factor(degrees: float, coverage: float = COVERAGE) -> float:
    """Student's t that holds this share between minus and plus itself.

    Args:
        degrees: of freedom, above zero; infinite for the normal distribution.
        coverage: share within, 0 to 1.
    """
    if not degrees > 0:
        raise BadValueError("Student's t needs one degree of freedom or more")
    if math.isinf(degrees):
        return NormalDist().inv_cdf(0.5 + 0.5 * coverage)
    low, high = 0.0, 1.0
    while _student_within(high, degrees) < coverage:
        high *= 2.0
    for _ in range(80):
        middle = 0.5 * (low + high)
        if _student_within(middle, degrees) < coverage:
            low = middle
        else:
            high = middle
    return 0.5 * (low + high)


def chi_square_limit(degrees: int, share: float) -> float:
    """The value a chi-square of these degrees stays below with this probability."""
    low, high = 0.0, 10.0 + 10.0 * degrees
    for _ in range(80):
        middle = 0.5 * (low + high)
        if _gamma_below(0.5 * degrees, 0.5 * middle) < share:
            low = middle
        else:
            high = middle
    return 0.5 * (low + high)


def readings_needed(scatter: float, half_width: float, *, scatter_is_known: bool = False) -> int:
    """How many readings bring the mean to plus and minus `half_width` at 95 %.

    Args:
        scatter: standard deviation from reading to reading.
        half_width: what is wanted.
        scatter_is_known: then twice the standard uncertainty is enough; else
            Student's t of so many readings is used.
    """
    if not (math.isfinite(half_width) and half_width > 0 and scatter >= 0):
        raise BadValueError(
            f"plus and minus {half_width:g} cannot be reached", todo="Ask for more than zero."
        )
    if scatter_is_known:
        # Rounded first: 16.000000000000004 readings are 16.
        return max(1, math.ceil(round((NORMAL_FACTOR * scatter / half_width) ** 2, 9)))
    # Never fewer than with a known scatter, so the search starts there.
    count = max(2, math.floor((NormalDist().inv_cdf(0.975) * scatter / half_width) ** 2))
    while student_factor(count - 1) * scatter / math.sqrt(count) > half_width * (1.0 + 1e-12):
        count += 1
    return count


def _student_within(t: float, degrees: float) -> float:
    """Probability between -t and t. Source: DLMF 8.17(i) with Student's distribution."""
    return 1.0 - _beta_below(0.5 * degrees, 0.5, degrees / (degrees + t * t))


def _beta_below(a: float, b: float, x: float) -> float:
    """Regularised incomplete beta function by its continued fraction (DLMF 8.17.22)."""
    if x <= 0.0 or x >= 1.0:
        return 0.0 if x <= 0.0 else 1.0
    if x > (a + 1.0) / (a + b + 2.0):
        return 1.0 - _beta_below(b, a, 1.0 - x)
    front = math.exp(
        a * math.log(x) + b * math.log1p(-x) + math.lgamma(a + b) - math.lgamma(a) - math.lgamma(b)
    )
    # Evaluated from the tail: 200 terms are far more than double precision needs here.
    value = 1.0
    for m in range(200, 0, -1):
        even = m * (b - m) * x / ((a + 2 * m - 1) * (a + 2 * m))
        odd = -(a + m - 1) * (a + b + m - 1) * x / ((a + 2 * m - 2) * (a + 2 * m - 1))
        value = 1.0 + odd / (1.0 + even / value)
    return front / (a * value)


def _gamma_below(a: float, x: float) -> float:
    """Regularised lower incomplete gamma function by its series (DLMF 8.11.4)."""
    if x <= 0.0:
        return 0.0
    term = total = 1.0 / a
    n = a
    while term > total * 1e-16:
        n += 1.0
        term *= x / n
        total += term
    return min(1.0, total * math.exp(a * math.log(x) - x - math.lgamma(a)))
