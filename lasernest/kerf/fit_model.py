"""From feel to interference: which interference gives slip, push and press in a stock.

Every rung of a comb was felt as one of six words. Between two neighbouring
words lies a *border*: the interference at which one feel turns into the next.
The model says that a rung of interference i is felt tighter than border c with
probability 1 / (1 + exp((c - i) / blur)): far above the border nearly always,
at it in half of the cases. The blur holds all that differs from joint to joint
and from hand to hand. Source: P. McCullagh, Regression models for ordinal
data, J. R. Statist. Soc. B 42 (1980) 109-142 (proportional odds).

Before the first comb the borders lie where common practice puts them for the
family of material (`lasernest.domain.fits`), each known to about 0.06 mm and
moving together; every comb draws them nearer to this stock. Kerf and
thickness are not known exactly: a comb may be shifted as a whole by as much as
their uncertainty allows.

For one blur the posterior is log-concave (J. Pratt, J. Am. Statist. Assoc. 76
(1981) 103-106), so Newton's method finds its top; the blurs of a grid are
weighed by the area under it (Laplace's method). Cost: milliseconds.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property
from statistics import NormalDist

import numpy as np
import numpy.typing as npt

from lasernest.domain.fits import FIT_RANGES, Family
from lasernest.domain.readings import Feel, FeelReading, Rung
from lasernest.domain.stock import Fit
from lasernest.kerf.uncertainty import NORMAL_FACTOR, combined_u

Array = npt.NDArray[np.float64]

FEEL_OF = {Fit.SLIP: Feel.SLIDES, Fit.PUSH: Feel.PUSH, Fit.PRESS: Feel.PRESS}
BORDERS = len(Feel) - 1
BORDER_MOVES_TOGETHER_MM = 0.06
BORDER_MOVES_ALONE_MM = 0.03
"""How well common practice knows the borders (our own judgement, no source)."""
USUAL_BLUR_MM = 0.012
BLUR_GRID_MM = tuple(0.003 * 10 ** (n / 8.0) for n in range(12))
"""From 0.003 to 0.07 mm; prior: lognormal about the usual one, a factor of two either way."""
MOST_STEPS = 100
"""Newton's method takes about ten."""
LOGISTIC_SD = math.pi / math.sqrt(3.0)
"""Standard deviation of the logistic distribution of scale one."""


@dataclass(frozen=True, slots=True)
class FeltComb:
    """One comb as it was felt; its slots, its gaps or both, each tried once or more."""

    felt: tuple[FeelReading, ...]
    kerf_mm: float
    """Best kerf known for it."""
    kerf_u_mm: float
    """Standard uncertainty; a gap and its finger have it twice, a slot once."""
    thickness_u_mm: float = 0.0
    """Standard uncertainty of the sheet's mean thickness; it matters to slots only."""
    thickness_spread_mm: float = 0.0
    """Standard deviation from place to place of the sheet; it matters to slots only."""


@dataclass(frozen=True, slots=True)
class FitWindow:
    """The interference that gives one fit, in mm."""

    fit: Fit
    low_mm: float
    high_mm: float
    target_mm: float
    """What to ask for: the middle, but never more than the material takes."""
    u_mm: float
    """Standard uncertainty of the middle."""
    capped: bool = False
    """True when the middle would be more than the material takes."""

    @property
    def half_width_95(self) -> float:
        return NORMAL_FACTOR * self.u_mm


@dataclass(frozen=True)
class FitModel:
    """What is known of a stock's borders between feels."""

    family: Family
    borders_mm: tuple[float, ...]
    """From `Feel.FALLS` to `Feel.SLIDES`, and so on."""
    covariance_mm2: tuple[tuple[float, ...], ...]
    blur_mm: float
    """Scale of the logistic curve; the best of the grid's mean."""
    rung_count: int
    """Rungs it rests on; 0 for common practice alone."""

    @cached_property
    def border_u_mm(self) -> tuple[float, ...]:
        return tuple(math.sqrt(self.covariance_mm2[j][j]) for j in range(BORDERS))

    def window(self, fit: Fit) -> FitWindow:
        """The interference that gives a fit."""
        j = FEEL_OF[fit].rank
        low, high = self.borders_mm[j - 1], self.borders_mm[j]
        c = self.covariance_mm2
        u = 0.5 * math.sqrt(max(0.0, c[j - 1][j - 1] + c[j][j] + 2.0 * c[j - 1][j]))
        most = FIT_RANGES[self.family].most_mm
        middle = 0.5 * (low + high)
        return FitWindow(fit, low, high, min(middle, most), u, capped=middle > most)

    def shares(self, interference_mm: float, *, u_mm: float = 0.0) -> dict[Feel, float]:
        """The share of joints that would be felt each way.

        Args:
            interference_mm: what is asked for.
            u_mm: standard deviation of what the joints really get.
        """
        above = [self._tighter_share(j, interference_mm, u_mm) for j in range(BORDERS)]
        edges = [1.0, *above, 0.0]
        return {feel: max(0.0, edges[j] - edges[j + 1]) for j, feel in enumerate(Feel)}

    def share_in(self, fit: Fit, interference_mm: float, *, u_mm: float = 0.0) -> float:
        """The share of joints that would have this fit."""
        return self.shares(interference_mm, u_mm=u_mm)[FEEL_OF[fit]]

    def curve(
        self, interferences_mm: Sequence[float], *, u_mm: float = 0.0
    ) -> dict[Feel, list[float]]:
        """The shares over a range of interferences, for a plot."""
        rows = [self.shares(i, u_mm=u_mm) for i in interferences_mm]
        return {feel: [row[feel] for row in rows] for feel in Feel}

    def _tighter_share(self, border: int, interference_mm: float, u_mm: float) -> float:
        """The share felt tighter than a border; all three sources of doubt as one normal one."""
        sd = combined_u(LOGISTIC_SD * self.blur_mm, u_mm, self.border_u_mm[border])
        return NormalDist(self.borders_mm[border], sd).cdf(interference_mm)


def usual_borders_mm(family: Family) -> tuple[float, ...]:
    """Where common practice puts the borders: between the ranges of neighbouring fits."""
    ranges = FIT_RANGES[family]
    press = ranges.press if ranges.press is not None else (ranges.push[1], ranges.most_mm)
    borders = [
        ranges.slip[0],
        0.5 * (ranges.slip[1] + ranges.push[0]),
        0.5 * (ranges.push[1] + press[0]),
        press[1],
        max(ranges.most_mm, press[1]) + BORDER_MOVES_ALONE_MM,
    ]
    # Ranges of some families overlap; their borders still come one after the other.
    for j in range(1, BORDERS):
        borders[j] = max(borders[j], borders[j - 1] + 0.01)
    return tuple(borders)


def learn_fit(combs: Sequence[FeltComb], family: Family) -> FitModel:
    """The borders of a stock from all combs ever felt for it.

    Args:
        combs: any number; none gives common practice.
        family: of the stock's material.
    """
    prior = np.array(usual_borders_mm(family))
    data = _Data.of(combs)
    logs: list[float] = []
    tops: list[Array] = []
    covariances: list[Array] = []
    start = np.concatenate([prior, np.zeros(len(data.u))])
    for blur in BLUR_GRID_MM:
        height, start, covariance = _top(data, prior, blur, start)
        logs.append(height - 0.5 * (math.log(blur / USUAL_BLUR_MM) / math.log(2.0)) ** 2)
        tops.append(start[:BORDERS])
        covariances.append(covariance)
    weights = np.exp(np.array(logs) - max(logs))
    weights /= weights.sum()
    mean = sum(w * top for w, top in zip(weights, tops, strict=True))
    spread = sum(
        w * (cov + np.outer(top - mean, top - mean))
        for w, top, cov in zip(weights, tops, covariances, strict=True)
    )
    assert isinstance(mean, np.ndarray)
    assert isinstance(spread, np.ndarray)
    blur = math.exp(
        sum(w * math.log(b) for w, b in zip(weights.tolist(), BLUR_GRID_MM, strict=True))
    )
    return FitModel(
        family,
        tuple(mean.tolist()),
        tuple(tuple(row) for row in spread.tolist()),
        blur,
        len(data.x),
    )


@dataclass(frozen=True)
class _Data:
    """All rungs; what shifts them: the thickness (all slots alike) and each comb's kerf."""

    x: Array
    """Interference of each rung, shape (n,)."""
    rank: npt.NDArray[np.intp]
    spread: Array
    """Known from rung to rung, as the scale of a logistic curve, shape (n,)."""
    moves: Array
    """How much each shift moves each rung, shape (n, m + 1)."""
    u: Array
    """Standard uncertainty of each shift, shape (m + 1,)."""

    @classmethod
    def of(cls, combs: Sequence[FeltComb]) -> _Data:
        rows = [(comb, n, felt) for n, comb in enumerate(combs, 1) for felt in comb.felt]
        slot = np.array([felt.rung is Rung.SLOT for _, _, felt in rows], bool)
        moves = np.zeros((len(rows), len(combs) + 1))
        moves[slot, 0] = 1.0
        moves[np.arange(len(rows)), [n for _, n, _ in rows]] = np.where(slot, 1.0, 2.0)
        spread = np.array([comb.thickness_spread_mm for comb, _, _ in rows], float)
        # One calliper measured all sheets, so its error moves all slots alike.
        thickness_u = max((comb.thickness_u_mm for comb in combs), default=0.0)
        return cls(
            np.array([felt.interference_mm(comb.kerf_mm) for comb, _, felt in rows], float),
            np.array([felt.feel.rank for _, _, felt in rows], np.intp),
            np.where(slot, spread, 0.0) / LOGISTIC_SD,
            moves,
            # Never quite zero: what cannot move at all would be divided by.
            np.maximum([thickness_u, *(comb.kerf_u_mm for comb in combs)], 1e-5),
        )


def _top(data: _Data, prior: Array, blur: float, at: Array) -> tuple[float, Array, Array]:
    """Top of the posterior for one blur: log evidence, place, covariance of the borders.

    The search starts at `at`: the top for the blur before is never far.
    """
    own, common = BORDER_MOVES_ALONE_MM**2, BORDER_MOVES_TOGETHER_MM**2
    prior_cov = own * np.eye(BORDERS) + common * np.ones((BORDERS, BORDERS))
    size = BORDERS + len(data.u)
    precision = np.zeros((size, size))
    precision[:BORDERS, :BORDERS] = np.linalg.inv(prior_cov)
    precision[np.arange(BORDERS, size), np.arange(BORDERS, size)] = 1.0 / data.u**2
    centre = np.concatenate([prior, np.zeros(len(data.u))])
    value, slope, curve = _log_likelihood(data, at, blur)
    for _ in range(MOST_STEPS):
        off = at - centre
        height = value - 0.5 * float(off @ precision @ off)
        uphill = slope - precision @ off
        step = np.linalg.solve(precision - curve, uphill)
        if float(step @ uphill) < 1e-10:
            break
        share = 1.0
        while share > 1e-9:
            trial = at + share * step
            if np.all(np.diff(trial[:BORDERS]) > 0.0):
                new = _log_likelihood(data, trial, blur)
                off = trial - centre
                if new[0] - 0.5 * float(off @ precision @ off) > height:
                    break
            share *= 0.5
        else:
            break  # as high as the numbers can tell
        at, (value, slope, curve) = trial, new
    off = at - centre
    _, log_det = np.linalg.slogdet(precision - curve)
    _, log_prior = np.linalg.slogdet(precision)
    log_evidence = value - 0.5 * float(off @ precision @ off) + 0.5 * float(log_prior - log_det)
    covariance = np.asarray(np.linalg.inv(precision - curve), np.float64)
    return log_evidence, at, covariance[:BORDERS, :BORDERS]


def _log_likelihood(data: _Data, at: Array, blur: float) -> tuple[float, Array, Array]:
    """Log likelihood, slope and curvature in borders and shifts.

    With F the logistic curve, a word between borders a and b has the probability
    F(b) - F(a) = F(b) (1 - F(a)) (1 - exp(a - b)), whose parts never cancel.
    """
    size = len(at)
    slope, curve = np.zeros(size), np.zeros((size, size))
    value = 0.0
    scale = np.hypot(blur, data.spread)
    for upper in (True, False):
        chosen = np.flatnonzero(data.rank < BORDERS if upper else data.rank > 0)
        # Row by row the derivative of (border - interference - shifts).
        terms = np.hstack([np.zeros((len(chosen), BORDERS)), -data.moves[chosen]])
        border = data.rank[chosen] - (0 if upper else 1)
        terms[np.arange(len(chosen)), border] = 1.0
        s = scale[chosen] if upper else -scale[chosen]
        z = (terms @ at - data.x[chosen]) / s
        value -= float(np.logaddexp(0.0, -z).sum())
        beyond = np.exp(-np.logaddexp(0.0, z))  # 1 - F(z)
        slope += terms.T @ (beyond / s)
        curve -= terms.T @ ((beyond * (1.0 - beyond) / s**2)[:, None] * terms)
    # Once for each rung between two borders, and once more so that borders stay in order.
    between = np.flatnonzero((data.rank > 0) & (data.rank < BORDERS))
    high = np.concatenate([data.rank[between], np.arange(1, BORDERS)])
    terms = np.zeros((len(high), size))
    terms[np.arange(len(high)), high] = 1.0
    terms[np.arange(len(high)), high - 1] = -1.0
    s = np.concatenate([scale[between], np.full(BORDERS - 1, blur)])
    small = np.exp(-(terms @ at) / s)
    value += float(np.log1p(-small).sum())
    slope += terms.T @ (small / (1.0 - small) / s)
    curve -= terms.T @ ((small / (1.0 - small) ** 2 / s**2)[:, None] * terms)
    return value, slope, curve
