"""Fitting: many Bézier pieces at once to lines and arcs within a chord error.

Each piece (*span*) is cut into *heads*, from its start: the longest head that one
line, arc or biarc (`biarcs`) follows is taken, and the tail goes on the same way. Heads
that are whole spans are then joined with their neighbours where one arc or biarc serves
for all and there is no corner between them, so structure in the drawing (the quadrants of
a circle drawn as four Béziers) survives and few arcs are used. Tangents are kept at every
joint to within `biarcs.KINK_RAD`.

The deviation of a head is taken at samples; those are a share of the chord error
apart at most, and what lies between them is allowed for by `_BETWEEN`. It grows with the
third power of the head's length, so two or three tries find the longest one.

Spans go side by side through numpy: n of them, d the degree, m samples. Points are
complex numbers. Cost: some 5 microseconds per arc where there are thousands of spans,
some milliseconds for a single one.
"""

from __future__ import annotations

import math
from functools import cache
from typing import NamedTuple

import numpy as np

from lasernest.geometry.biarcs import POINT_MM, Ends, Fit, angle_rad, ends_of, laid

_CORNER_RAD = 2e-3
_FEWEST, _MOST = 12, 2400
_SHARP = 0.5
"""Cosine of a turn from one leg of the control points to the next: 60 degrees."""
_TIGHT = 0.25
"""Bulge of an arc of 56 degrees."""
_CLOSER_AT_TIPS = (12.0 / 8.0 / 0.15) ** 0.5
"""A parabola's rise over a step is an eighth of its bend; this makes it the rest of the error."""
_BETWEEN = 0.85
"""Share of the chord error that samples may use up; the rest is for what lies between them."""

_CLOSE = 0.8
"""A head that uses this share of what it may is long enough."""
_TRIES = 7


class Spans(NamedTuple):
    """Bézier pieces: weights times control points (n, d+1), weights or None, their curve (n,)."""

    tops: np.ndarray
    downs: np.ndarray | None
    curve: np.ndarray

    def at(self, rows: np.ndarray) -> Spans:
        return Spans(
            self.tops[rows],
            None if self.downs is None else self.downs[rows],
            self.curve[rows],
        )

    @property
    def control(self) -> np.ndarray:
        """Control points without their weights."""
        return self.tops if self.downs is None else self.tops / self.downs

    def points(self, count: int) -> np.ndarray:
        """Points at the equal steps of `count`, without the first: (n, count)."""
        basis, complex_basis = _basis(self.tops.shape[1] - 1, count)
        # Not by the matrix product: its threads cost more than they bring for so thin ones.
        tops: np.ndarray = np.einsum("nd,dm->nm", self.tops, complex_basis)
        if self.downs is not None:
            tops /= np.einsum("nd,dm->nm", self.downs, basis)
        return tops

    def cut(self, share: np.ndarray) -> tuple[Spans, Spans]:
        """Each span up to a share (n,) of its parameter, and from there on."""
        heads, tails = _cut(self.tops, share)
        if self.downs is None:
            return Spans(heads, None, self.curve), Spans(tails, None, self.curve)
        heads_down, tails_down = _cut(self.downs, share)
        return Spans(heads, heads_down, self.curve), Spans(tails, tails_down, self.curve)

    def put(self, rows: np.ndarray, others: Spans) -> None:
        """Take over these rows from others."""
        self.tops[rows] = others.tops
        if self.downs is not None:
            self.downs[rows] = others.downs


class Arcs(NamedTuple):
    """Lines and arcs of many curves one after the other."""

    starts: np.ndarray
    bulges: np.ndarray
    counts: np.ndarray
    """How many each curve has."""
    ends: np.ndarray
    """The last point of each curve."""


@cache
def _basis(degree: int, count: int) -> tuple[np.ndarray, np.ndarray]:
    """Bernstein polynomials at the equal steps of `count` without the first: (d+1, count).

    Once as complex numbers: a product of mixed types takes a hundred times as long.
    """
    t = np.arange(1, count + 1) / count
    basis = np.array(
        [math.comb(degree, i) * t**i * (1.0 - t) ** (degree - i) for i in range(degree + 1)]
    )
    return basis, basis.astype(complex)


def _cut(control: np.ndarray, share: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    """Both parts of Béziers, (n, d+1), cut at a share (n,) each. Source: de Casteljau."""
    degree = control.shape[1] - 1
    heads, tails = np.empty_like(control), np.empty_like(control)
    s = share[:, None]
    row = control
    for i in range(degree + 1):
        heads[:, i], tails[:, degree - i] = row[:, 0], row[:, -1]
        row = row[:, :-1] + s * (row[:, 1:] - row[:, :-1])
    return heads, tails


def arcs_along(spans: Spans, curves: int, *, chord_error_mm: float) -> Arcs:
    """Lines and arcs along curves.

    Args:
        spans: their spans in order; without length or end they are passed over.
        curves: how many there are.
        chord_error_mm: largest distance between a curve and its lines and arcs.
    """
    last = np.zeros(curves, dtype=complex)
    control = spans.control
    last[spans.curve] = control[:, -1]
    size_mm = np.abs(control - control[:, :1]).max(axis=1)
    longer = (size_mm > POINT_MM) & np.isfinite(size_mm)
    heads, fits, whole = _heads(spans.at(np.flatnonzero(longer)), chord_error_mm)
    kept = _joined(heads, fits, whole, chord_error_mm)
    heads, fits = heads.at(kept), fits.at(kept)
    used = np.stack([np.ones(len(kept), dtype=bool), fits.double], axis=1)
    starts = np.stack([heads.control[:, 0], fits.joint], axis=1)[used]
    bulges = np.stack([fits.first, fits.second], axis=1)[used]
    counts = np.bincount(heads.curve, weights=1.0 + fits.double, minlength=curves)
    return Arcs(starts, bulges, counts.astype(int), last)


def _heads(spans: Spans, chord_error_mm: float) -> tuple[Spans, Fit, np.ndarray]:
    """All heads in order, what fits them, and whether each is a whole span."""
    n = len(spans.curve)
    rest = Spans(
        spans.tops.copy(), None if spans.downs is None else spans.downs.copy(), spans.curve
    )
    good, bad, guess = np.zeros(n), np.full(n, np.inf), np.ones(n)
    tries = np.zeros(n, dtype=int)
    best = Fit(
        np.zeros(n, complex), np.zeros(n), np.zeros(n), np.zeros(n, bool), np.full(n, np.inf)
    )
    taken: list[tuple[np.ndarray, np.ndarray, Spans, Fit]] = []
    may_mm = _BETWEEN * chord_error_mm
    active = np.arange(n)
    step = 0
    while len(active):
        step += 1
        share = guess[active]
        heads, _ = rest.at(active).cut(share)
        fit = _fitted(heads, may_mm, chord_error_mm)
        tries[active] += 1
        fits = fit.off <= may_mm
        better, worse = active[fits], active[~fits]
        good[better] = share[fits]
        best.put(better, fit.at(fits))
        bad[worse] = share[~fits]
        # The deviation grows with the third power of the length.
        off = np.maximum(fit.off / may_mm, 1e-3)
        next_share = share * np.clip(np.cbrt(0.9 / off), 0.3, 2.0)
        low, high = good[active], np.minimum(bad[active], 1.0)
        room = high - low
        next_share = np.clip(next_share, low + 0.15 * room, high - 0.15 * room)
        full = good[active] >= 1.0
        close = fits & (fit.off >= _CLOSE * may_mm)
        tired = (tries[active] >= _TRIES) & (low > 0.0) | (room < 0.03 * high)
        done = full | close | tired
        flat = ~done & (low == 0.0) & (tries[active] >= _TRIES)
        if flat.any():
            rows = np.flatnonzero(flat)
            rows = rows[_hug(heads.at(rows).control, chord_error_mm)]
            line = active[rows]
            best.first[line], best.double[line], best.off[line] = 0.0, False, 0.0
            good[line] = share[rows]
            done[rows] = True
        guess[active] = next_share
        rows = active[done]
        if not len(rows):
            continue
        reached = good[rows]
        heads, tails = rest.at(rows).cut(reached)
        taken.append((rows, np.full(len(rows), step), heads, best.at(rows)))
        ended = reached >= 1.0
        goes_on, reached = rows[~ended], reached[~ended]
        rest.put(goes_on, tails.at(~ended))
        # Heads of one span are alike: the next one is tried as long as this one.
        off = np.maximum(best.off[goes_on] / may_mm, 0.2)
        ahead = reached * np.cbrt(0.9 / off) / (1.0 - reached)
        guess[goes_on] = np.where(ahead > 0.8, 1.0, ahead)
        # A line that was laid over a cusp says nothing of what comes after it.
        guess[goes_on[best.off[goes_on] == 0.0]] = 1.0
        good[goes_on], bad[goes_on], tries[goes_on] = 0.0, np.inf, 0
        # Before a cusp ever shorter heads would be taken: what is left is at last one line.
        last = goes_on[_hug(tails.at(~ended).control, chord_error_mm)]
        guess[last], tries[last] = 1.0, _TRIES
        finished = np.zeros(n, dtype=bool)
        finished[rows[ended]] = True
        active = active[~finished[active]]
    return _in_order(taken, spans)


def _in_order(
    taken: list[tuple[np.ndarray, np.ndarray, Spans, Fit]], spans: Spans
) -> tuple[Spans, Fit, np.ndarray]:
    """The heads taken in each step, along the curves."""
    if not taken:
        empty = np.zeros(0)
        none = np.zeros(0, dtype=bool)
        return spans, Fit(empty.astype(complex), empty, empty, none, empty), none
    rows = np.concatenate([part[0] for part in taken])
    order = np.lexsort((np.concatenate([part[1] for part in taken]), rows))
    downs = None
    if spans.downs is not None:
        downs = np.concatenate([part[2].downs for part in taken if part[2].downs is not None])
    heads = Spans(np.concatenate([part[2].tops for part in taken]), downs, spans.curve[rows])
    fits = Fit(*map(np.concatenate, zip(*(part[3] for part in taken), strict=True)))
    whole = np.bincount(rows)[rows] == 1
    return heads.at(order), fits.at(order), whole[order]


def _hug(control: np.ndarray, chord_error_mm: float) -> np.ndarray:
    """Rows of control points that all lie within half the chord error of their chord."""
    start, chord = control[:, :1], control[:, -1:] - control[:, :1]
    size = np.abs(chord)
    along = (control - start) * chord.conj()
    close = np.abs(along.imag) <= 0.5 * chord_error_mm * size
    between = (along.real >= 0.0) & (along.real <= size * size)
    tiny = np.abs(control - start) <= 0.5 * chord_error_mm
    return np.flatnonzero((close & between).all(axis=1) | tiny.all(axis=1))


def _fitted(heads: Spans, may_mm: float, chord_error_mm: float) -> Fit:
    """One line, arc or biarc for each head; where it serves, looked at closely."""
    control = heads.control
    fit = _laid_side_by_side(control, heads.points(_FEWEST)[:, :-1], may_mm)
    fits = np.flatnonzero(fit.off <= may_mm)
    degree = control.shape[1] - 1
    if degree > 1 and len(fits):
        bend = np.abs(np.diff(control[fits], n=2, axis=1)).max(axis=1) * degree * (degree - 1)
        wanted = np.sqrt(bend / (12.0 * chord_error_mm))
        # Where a head turns sharply or back, all that lies between samples can be its tip.
        legs = np.diff(control[fits], axis=1)
        ahead = (legs[:, 1:] * legs[:, :-1].conj()).real
        turns = ahead < _SHARP * np.abs(legs[:, 1:] * legs[:, :-1])
        wanted[turns.any(axis=1)] *= _CLOSER_AT_TIPS
        # Two tight arcs that bend opposite ways may leave a smooth head between its samples.
        first, second = fit.first[fits], np.where(fit.double[fits], fit.second[fits], 0.0)
        swings = (first * second < 0.0) & (np.maximum(np.abs(first), np.abs(second)) > _TIGHT)
        wanted[swings] = np.maximum(wanted[swings], 4.0 * _FEWEST)
        count = 2 * _FEWEST
        while len(fits := fits[wanted > 0.5 * count]) and count <= _MOST:
            wanted = wanted[wanted > 0.5 * count]
            closer = heads.at(fits)
            points = closer.points(count)[:, :-1]
            fit.put(fits, _laid_side_by_side(closer.control, points, may_mm))
            count *= 2
    return fit


def _laid_side_by_side(control: np.ndarray, samples: np.ndarray, may_mm: float) -> Fit:
    """What fits heads with the same number of samples each, (n, m)."""
    rows = np.repeat(np.arange(len(samples)), samples.shape[1])
    return laid(ends_of(control), samples.reshape(-1), rows, may_mm)


def _joined(heads: Spans, fits: Fit, whole: np.ndarray, chord_error_mm: float) -> np.ndarray:
    """Join heads of neighbouring spans where one arc or biarc serves; the rows that are left.

    `fits` is changed in the rows that stand for several heads.
    """
    n = len(whole)
    ends = ends_of(heads.control)
    kept = np.ones(n, dtype=bool)
    smooth = np.abs(angle_rad(ends.leaving[1:], ends.arriving[:-1])) <= _CORNER_RAD
    # Whether a head may be joined with the next: that must be a whole span, as one that had
    # to be cut is too much already.
    linked = np.zeros(n, dtype=bool)
    linked[:-1] = (heads.curve[1:] == heads.curve[:-1]) & whole[1:] & smooth
    linked[:-1] &= (ends.leaving[1:] != 0) & (ends.arriving[:-1] != 0)
    here = np.flatnonzero(linked)
    if not len(here):
        return np.arange(n)
    samples = heads.points(_FEWEST)
    may_mm = _BETWEEN * chord_error_mm

    def together(first: np.ndarray, last: np.ndarray) -> Fit:
        count = last - first + 1
        rows = np.repeat(np.arange(len(first)), count)
        which = first[rows] + np.arange(len(rows)) - np.repeat(np.cumsum(count) - count, count)
        flat = samples[which].reshape(-1)
        rows = np.repeat(rows, _FEWEST)
        between = np.ones(len(flat), dtype=bool)
        between[np.cumsum(count) * _FEWEST - 1] = False
        outer = Ends(ends.start[first], ends.leaving[first], ends.end[last], ends.arriving[last])
        return laid(outer, flat[between], rows[between], may_mm)

    pairs = together(here, here + 1)
    serves = pairs.off <= may_mm
    linked[here[~serves]] = False
    found = Fit(*(np.zeros(n, dtype=values.dtype) for values in pairs))
    found.put(here, pairs)
    # From each head that no link leads to, as far as links and arcs go; then anew from there.
    first = np.flatnonzero(linked & ~np.concatenate([[False], linked[:-1]]))
    last = first + 1
    fits.put(first, found.at(first))
    kept[last] = False
    while len(first):
        more = linked[last]
        first, last = first[more], last[more]
        if not len(first):
            break
        longer = together(first, last + 1)
        serves = longer.off <= may_mm
        fits.put(first[serves], longer.at(serves))
        last = last + 1
        kept[last[serves]] = False
        # What could not be taken in begins anew, with its own next one.
        first = np.where(serves, first, last)
        anew = np.flatnonzero(~serves)
        alone = ~linked[first[anew]]
        begun = anew[~alone]
        fits.put(first[begun], found.at(first[begun]))
        last = last.copy()
        last[begun] += 1
        kept[last[begun]] = False
        stay = np.ones(len(first), dtype=bool)
        stay[anew[alone]] = False
        first, last = first[stay], last[stay]
    return np.flatnonzero(kept)
