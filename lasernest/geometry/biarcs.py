"""Biarcs: one line, one arc or two arcs laid on each of many pieces of curves at once.

A *biarc* is the pair of arcs that meets both end tangents of a piece. How far it is off
is taken at samples of the piece. Pieces go side by side through numpy; points are
complex numbers.
"""

from __future__ import annotations

from typing import NamedTuple

import numpy as np

KINK_RAD = 5e-3
"""Where one arc serves for both end tangents although they differ this little (0.3 degrees)."""

POINT_MM = 1e-12
"""What is no longer than this is a point."""

_HALF_RAD = 0.5 * np.pi + 1e-9


class Fit(NamedTuple):
    """One line or arc (second bulge not used), or two of them that meet at a joint."""

    joint: np.ndarray
    first: np.ndarray
    second: np.ndarray
    double: np.ndarray
    off: np.ndarray
    """Largest deviation of the samples; infinite where no biarc can be laid."""

    def at(self, rows: np.ndarray) -> Fit:
        return Fit(*(values[rows] for values in self))

    def put(self, rows: np.ndarray, others: Fit) -> None:
        for mine, theirs in zip(self, others, strict=True):
            mine[rows] = theirs


class Ends(NamedTuple):
    """Both ends of pieces: points and unit tangents, 0 where a piece has no direction."""

    start: np.ndarray
    leaving: np.ndarray
    end: np.ndarray
    arriving: np.ndarray


def ends_of(control: np.ndarray) -> Ends:
    """Ends of Béziers; the tangent points to the first control point that is elsewhere."""
    start, end = control[:, 0], control[:, -1]
    size = np.abs(np.diff(control, axis=1)).max(axis=1)
    tangents = []
    for row, base in ((control, start), (control[:, ::-1], end)):
        way = row[:, 1] - base
        for i in range(2, row.shape[1]):
            way = np.where(np.abs(way) > 1e-9 * size, way, row[:, i] - base)
        length = np.abs(way)
        tangents.append(np.divide(way, length, out=np.zeros_like(way), where=length > 0.0))
    return Ends(start, tangents[0], end, -tangents[1])


def laid(ends: Ends, samples: np.ndarray, rows: np.ndarray, may_mm: float) -> Fit:
    """A line or an arc from end to end where it serves, else a biarc.

    Args:
        ends: of n pieces.
        samples: points between the ends, of one piece after the other.
        rows: whose each sample is, 0 to n - 1; each piece has one at least.
        may_mm: deviation that a line or an arc may have.
    """
    start, leaving, end, arriving = ends
    chord = end - start
    far = (np.abs(chord) > POINT_MM) & (leaving != 0) & (arriving != 0)
    leave, arrive = angle_rad(chord, leaving), angle_rad(arriving, chord)
    fit = _biarc(ends, far)
    lone = far & (np.abs(leave - arrive) <= KINK_RAD) & (np.abs(leave) <= _HALF_RAD)
    if lone.any():
        bulge = np.tan(0.25 * (leave + arrive))
        bulge[(np.abs(leave) <= 1e-7) & (np.abs(arrive) <= 1e-7)] = 0.0
        arc = Fit(end, bulge, np.zeros_like(bulge), np.zeros_like(lone), np.zeros_like(bulge))
        some = np.flatnonzero(lone)
        number = np.full(len(start), -1)
        number[some] = np.arange(len(some))
        mine = number[rows] >= 0
        off = _off(
            Ends(*(values[some] for values in ends)),
            arc.at(some),
            samples[mine],
            number[rows[mine]],
            may_mm,
        )
        serves = some[off <= may_mm]
        fit.put(serves, arc.at(serves))
    fit.off[:] = np.where(np.isinf(fit.off), np.inf, _off(ends, fit, samples, rows, may_mm))
    return fit


def _biarc(ends: Ends, far: np.ndarray) -> Fit:
    """The biarc with equal tangent lengths; infinitely off where there is none.

    Source: closed form, from |p + d t0 - (q - d t1)| = 2 d.
    """
    p, t0, q, t1 = ends
    v = q - p
    total = t0 + t1
    along = v.real * total.real + v.imag * total.imag
    square = v.real * v.real + v.imag * v.imag
    apart = _square(t0 - t1)
    root = np.sqrt(along * along + apart * square)
    # Of the two ways to write the root, the one whose terms do not cancel.
    near = along > 0.0
    there = far & (near | (apart > 1e-12))
    with np.errstate(divide="ignore", invalid="ignore"):
        d = np.where(near, square / (along + root), (root - along) / apart)
    d = np.where(there, d, 0.0)
    joint = 0.5 * (p + q + d * (t0 - t1))
    first, second = joint - p, q - joint
    leave, arrive = angle_rad(first, t0), angle_rad(t1, second)
    there &= (_square(first) > POINT_MM**2) & (_square(second) > POINT_MM**2)
    there &= np.maximum(np.abs(leave), np.abs(arrive)) <= _HALF_RAD
    return Fit(
        joint,
        _bulge(leave),
        _bulge(arrive),
        np.ones_like(there),
        np.where(there, 0.0, np.inf),
    )


def _off(ends: Ends, fit: Fit, samples: np.ndarray, rows: np.ndarray, may_mm: float) -> np.ndarray:
    """Largest distance of each piece's samples from its arcs; infinite where lengths differ."""
    first = fit.joint - ends.start
    second = np.where(fit.double, ends.end - fit.joint, 0.0)
    first_mm, second_mm = np.abs(first), np.abs(second)
    first = np.where(first_mm > 0.0, first, 1.0)
    second = np.where(second_mm > 0.0, second, 1.0)
    # The gate through the joint, across the biarc's common tangent there.
    gate = np.where(fit.double, first * (1.0 + 1j * fit.first) ** 2, 0.0)
    away = samples - fit.joint[rows]
    across = gate[rows]
    later = away.real * across.real + away.imag * across.imag > 0.0
    arc = rows + len(first) * later
    start = np.concatenate([ends.start, fit.joint])
    chord = np.concatenate([first, second])
    bulge = np.concatenate([fit.first, fit.second])
    size = np.abs(chord)
    z = (samples - start[arc]) * (1.0 / chord)[arc]
    x, y = z.real, z.imag
    # The circle through 0 and 1: its implicit form over twice its radius, in chords.
    over = 1.0 / (1.0 + bulge * bulge)
    sine, cosine = (2.0 * bulge * over)[arc], ((1.0 - bulge * bulge) * over)[arc]
    form = sine * (x * x - x + y * y) - cosine * y
    bent = 1.0 + 4.0 * sine * form
    off = 2.0 * np.abs(form) / (1.0 + np.sqrt(np.maximum(bent, 0.0)))
    # Past an end of the arc, told from the nearer one, only that end is near.
    inwards = np.minimum(x, 1.0 - x)
    past = np.flatnonzero(inwards * cosine < y * sine)
    off[past] = np.hypot(inwards[past], y[past])
    off *= size[arc]
    firsts = np.flatnonzero(np.diff(rows, prepend=-1))
    most = np.maximum.reduceat(off, firsts)
    most[first_mm == 0.0] = np.inf
    length = _arc_mm(first_mm, fit.first) + _arc_mm(second_mm, fit.second)
    before = np.concatenate([[0j], samples[:-1]])
    before[firsts] = ends.start
    walked = np.add.reduceat(np.abs(samples - before), firsts)
    lasts = np.append(firsts[1:], len(samples)) - 1
    walked += np.abs(ends.end - samples[lasts])
    most[np.abs(walked - length) > 0.1 * length + may_mm] = np.inf
    return most


def _arc_mm(chord_mm: np.ndarray, bulge: np.ndarray) -> np.ndarray:
    size: np.ndarray = np.maximum(np.abs(bulge), 1e-9)
    length_mm: np.ndarray = chord_mm * (1.0 + size * size) * np.arctan(size) / size
    return length_mm


def angle_rad(a: np.ndarray, b: np.ndarray) -> np.ndarray:
    """The angle from b to a."""
    product = a * b.conj()
    angle: np.ndarray = np.arctan2(product.imag, product.real)
    return angle


def _bulge(half_sweep_rad: np.ndarray) -> np.ndarray:
    """Bulge of an arc whose tangent and chord differ by this angle; straight below rounding."""
    return np.where(np.abs(half_sweep_rad) > 1e-9, np.tan(0.5 * half_sweep_rad), 0.0)


def _square(z: np.ndarray) -> np.ndarray:
    square: np.ndarray = z.real * z.real + z.imag * z.imag
    return square
