"""Curves: ellipses, Béziers and splines turned into lines and arcs within a chord error.

Every curve is cut into smooth *runs* (no corner inside), a run into *spans*
(one Bézier piece, a quarter of an ellipse), a span into samples. Arcs are then
laid along a run: a straight line or a single arc where one serves, else a
*biarc*, the pair of arcs that meets both end tangents. The farthest span end
that keeps the chord error is taken, so structure in the drawing (the quadrants
of a circle drawn as four Béziers) survives and few arcs are used. Tangents are
kept at every joint to within `KINK_RAD`.

Points are complex numbers x + iy while curves are worked on; a path out is a
list of `Vertex`, open, its last bulge zero. Cost: a few microseconds per
sample, 12 to 400 samples per span.
"""

from __future__ import annotations

import cmath
import math
from collections.abc import Sequence
from itertools import pairwise
from typing import NamedTuple

from lasernest.domain.contours import Vertex

CHORD_ERROR_MM = 0.01
"""The default: largest distance between a drawn curve and the arcs that stand for it."""

KINK_RAD = 5e-3
"""Where one arc serves for both end tangents although they differ this little (0.3 degrees)."""

_CORNER_RAD = 2e-3
_FEWEST, _MOST = 12, 600
_BETWEEN = 0.85
"""Share of the chord error that samples may use up; the rest is for what lies between them."""


class Sampled(NamedTuple):
    """One span of a curve as points and unit tangents, both ends included."""

    points: list[complex]
    tangents: list[complex]


def bezier(control: Sequence[complex], *, chord_error_mm: float) -> Sampled:
    """Sample a Bézier curve of any degree from one up.

    Args:
        control: its control points, the degree plus one of them.
        chord_error_mm: sets how close the samples lie.
    """
    degree = len(control) - 1
    bend = max(
        (
            abs(control[i] - 2.0 * control[i + 1] + control[i + 2]) * degree * (degree - 1)
            for i in range(degree - 1)
        ),
        default=0.0,
    )
    if bend == 0.0:
        return _finished([control[0], control[-1]], [control[-1] - control[0]] * 2)
    count = min(_MOST, max(_FEWEST, math.ceil(math.sqrt(bend / (12.0 * chord_error_mm)))))
    slopes = [degree * (control[i + 1] - control[i]) for i in range(degree)]
    shares = [i / count for i in range(count + 1)]
    return _finished(
        [_casteljau(control, t) for t in shares], [_casteljau(slopes, t) for t in shares]
    )


def ellipse_spans(
    centre: complex,
    u: complex,
    v: complex,
    start_rad: float,
    sweep_rad: float,
    *,
    chord_error_mm: float,
) -> list[Sampled]:
    """Sample centre + u cos t + v sin t, t from start through the sweep.

    u and v may be any conjugate half diameters; the spans end at the ends of
    the axes, where the curvature is extreme.
    """
    phase = 0.5 * math.atan2(2.0 * (u.real * v.real + u.imag * v.imag), abs(u) ** 2 - abs(v) ** 2)
    cos, sin = math.cos(phase), math.sin(phase)
    u, v = u * cos + v * sin, v * cos - u * sin
    first, last = start_rad - phase, start_rad - phase + sweep_rad
    low, high = min(first, last), max(first, last)
    quarter = 0.5 * math.pi
    cuts = [
        k * quarter
        for k in range(math.floor(low / quarter) + 1, math.ceil(high / quarter))
        if low + 1e-9 < k * quarter < high - 1e-9
    ]
    ends = [low, *cuts, high] if sweep_rad > 0 else [high, *reversed(cuts), low]
    spans = []
    bend = max(abs(u), abs(v))
    for t0, t1 in pairwise(ends):
        step = t1 - t0
        count = max(_FEWEST, math.ceil(abs(step) * math.sqrt(bend / (12.0 * chord_error_mm))))
        count = min(_MOST, count)
        angles = [t0 + step * i / count for i in range(count + 1)]
        points = [centre + u * math.cos(t) + v * math.sin(t) for t in angles]
        tangents = [(v * math.cos(t) - u * math.sin(t)) * step for t in angles]
        spans.append(_finished(points, tangents))
    return spans


def spline_spans(
    control: Sequence[complex],
    degree: int,
    knots: Sequence[float],
    weights: Sequence[float] | None = None,
    *,
    chord_error_mm: float,
) -> list[Sampled]:
    """Sample a (rational) B-spline, one span per stretch between different knots.

    Args:
        control: control points.
        degree: one or more.
        knots: as many as control points, plus the degree, plus one; not falling.
        weights: one per control point, above zero, or None.

    Raises:
        ValueError: the counts do not fit together, a weight is not above zero,
            or the knots fall.
    """
    count = len(control)
    if degree < 1 or count <= degree or len(knots) != count + degree + 1:
        raise ValueError("control points, knots and degree do not fit together")
    if any(b < a for a, b in pairwise(knots)):
        raise ValueError("the knots fall")
    w = [1.0] * count if weights is None else list(weights)
    if len(w) != count or any(not value > 0.0 for value in w):
        raise ValueError("the weights do not fit the control points")
    rational = any(value != w[0] for value in w)
    homogeneous = [(p * value, value) for p, value in zip(control, w, strict=True)]
    spans = []
    for k in range(degree, count):
        if knots[k + 1] <= knots[k]:
            continue
        pieces = _span_as_bezier(homogeneous, degree, knots, k)
        if rational:
            spans.append(_rational_bezier(pieces, chord_error_mm))
        else:
            spans.append(bezier([p / q for p, q in pieces], chord_error_mm=chord_error_mm))
    if not spans:
        raise ValueError("the knots leave no stretch to draw")
    return spans


def arcs_along(spans: Sequence[Sampled], *, chord_error_mm: float) -> list[Vertex]:
    """Lay lines and arcs along sampled spans that follow on each other.

    Returns:
        An open path of vertices from the first point to the last.
    """
    vertices: list[Vertex] = []
    first = 0
    for i in range(1, len(spans) + 1):
        if i == len(spans) or _corner_between(spans[i - 1], spans[i]):
            _fit_run(spans[first:i], chord_error_mm, vertices)
            first = i
    end = spans[-1].points[-1]
    vertices.append(Vertex(end.real, end.imag))
    return vertices


def _casteljau(control: Sequence[complex], t: float) -> complex:
    if len(control) == 4:
        s = 1.0 - t
        a, b, c, d = control
        return s * s * s * a + 3.0 * s * s * t * b + 3.0 * s * t * t * c + t * t * t * d
    if len(control) == 3:
        s = 1.0 - t
        return s * s * control[0] + 2.0 * s * t * control[1] + t * t * control[2]
    row = list(control)
    while len(row) > 1:
        row = [p + t * (q - p) for p, q in pairwise(row)]
    return row[0]


def _span_as_bezier(
    control: list[tuple[complex, float]], degree: int, knots: Sequence[float], k: int
) -> list[tuple[complex, float]]:
    """Bézier control points of the stretch between knots k and k+1, by blossoming.

    Source: L. Ramshaw, Blossoms are polar forms, 1989: control point j of the
    Bézier piece on [a, b] is the blossom at (a repeated, b repeated j times).
    """
    a, b = knots[k], knots[k + 1]
    pieces = []
    for j in range(degree + 1):
        arguments = [a] * (degree - j) + [b] * j
        row = control[k - degree : k + 1]
        for level, t in enumerate(arguments, start=1):
            new = []
            for i in range(degree - level + 1):
                index = k - degree + i + level
                low, high = knots[index], knots[index + degree - level + 1]
                share = (t - low) / (high - low)
                p, q = row[i], row[i + 1]
                new.append((p[0] + share * (q[0] - p[0]), p[1] + share * (q[1] - p[1])))
            row = new
        pieces.append(row[0])
    return pieces


def _rational_bezier(pieces: list[tuple[complex, float]], chord_error_mm: float) -> Sampled:
    degree = len(pieces) - 1
    tops = [p for p, _ in pieces]
    downs = [complex(q) for _, q in pieces]
    top_slopes = [degree * (b - a) for a, b in pairwise(tops)]
    down_slopes = [degree * (b - a) for a, b in pairwise(downs)]
    hull = [p / q for p, q in pieces]
    reach = sum(abs(b - a) for a, b in pairwise(hull))
    uneven = max(q for _, q in pieces) / min(q for _, q in pieces)
    count = math.ceil(math.sqrt(reach * uneven / (2.0 * chord_error_mm)))
    count = min(_MOST, max(_FEWEST, count))
    points, tangents = [], []
    for i in range(count + 1):
        t = i / count
        top, down = _casteljau(tops, t), _casteljau(downs, t)
        points.append(top / down)
        slope_top = _casteljau(top_slopes, t)
        tangents.append((slope_top * down - top * _casteljau(down_slopes, t)) / (down * down))
    return _finished(points, tangents)


def _finished(points: list[complex], tangents: list[complex]) -> Sampled:
    """Unit tangents; where the speed is zero, the direction of the neighbouring samples."""
    last = len(points) - 1
    scale = max(map(abs, tangents))
    units = []
    for i, tangent in enumerate(tangents):
        way = tangent
        if abs(way) <= 1e-9 * scale:
            way = points[min(i + 1, last)] - points[max(i - 1, 0)]
            if i == 0 and last > 1:
                way = _end_direction(points)
            elif i == last and last > 1:
                way = -_end_direction(points[::-1])
        units.append(way / abs(way) if way else 0j)
    return Sampled(points, units)


def _end_direction(points: list[complex]) -> complex:
    """Direction at the first point, extrapolated from the two chords after it."""
    near, far = points[1] - points[0], points[2] - points[0]
    if abs(near) == 0.0:
        return far
    if abs(far) == 0.0:
        return near
    guess = near / abs(near) * 2.0 - far / abs(far)
    return guess if abs(guess) > 1e-6 else near


def _corner_between(a: Sampled, b: Sampled) -> bool:
    out, into = a.tangents[-1], b.tangents[0]
    return not (out and into) or abs(cmath.phase(into / out)) > _CORNER_RAD


def _fit_run(spans: Sequence[Sampled], chord_error_mm: float, vertices: list[Vertex]) -> None:
    """Append the arcs of one smooth run, without its last point."""
    points = list(spans[0].points)
    tangents = list(spans[0].tangents)
    ends = [len(points) - 1]
    for span in spans[1:]:
        points.extend(span.points[1:])
        tangents.extend(span.tangents[1:])
        ends.append(len(points) - 1)
    along = [0.0]
    for p, q in pairwise(points):
        along.append(along[-1] + abs(q - p))
    run = _Run(points, tangents, along, _BETWEEN * chord_error_mm)
    here, last = 0, len(points) - 1
    while here < last:
        reach, arcs = _farthest(run, here, [e for e in ends if e > here])
        for p, bulge in arcs:
            vertices.append(Vertex(p.real, p.imag, bulge))
        here = reach


class _Run(NamedTuple):
    points: list[complex]
    tangents: list[complex]
    along: list[float]
    tolerance: float


_Arcs = list[tuple[complex, float]]
"""Start point and bulge of one arc or of two."""


def _farthest(run: _Run, here: int, ends: list[int]) -> tuple[int, _Arcs]:
    """The farthest sample that one arc or biarc from `here` reaches."""
    arcs = _arcs_between(run, here, ends[0])
    if arcs is not None:
        good = 0
        for k in range(1, len(ends)):
            more = _arcs_between(run, here, ends[k])
            if more is None:
                break
            good, arcs = k, more
        return ends[good], arcs
    low, high = here, ends[0]
    best: _Arcs | None = None
    while high - low > 1:
        middle = (low + high) // 2
        more = _arcs_between(run, here, middle)
        if more is None:
            high = middle
        else:
            low, best = middle, more
    if best is None:
        return here + 1, [(run.points[here], 0.0)]
    return low, best


def _arcs_between(run: _Run, i: int, j: int) -> _Arcs | None:
    """A line, an arc or a biarc from sample i to sample j within the chord error, or None."""
    p, q = run.points[i], run.points[j]
    chord = q - p
    if abs(chord) <= 1e-12 or not (run.tangents[i] and run.tangents[j]):
        return None
    leave = cmath.phase(chord / run.tangents[i])
    arrive = cmath.phase(run.tangents[j] / chord)
    half = 0.5 * math.pi + 1e-9
    if abs(leave) <= 1e-7 and abs(arrive) <= 1e-7:
        arcs: _Arcs = [(p, 0.0)]
        return arcs if _within(run, i, j, arcs) else None
    if abs(leave - arrive) <= KINK_RAD and abs(leave) <= half:
        arcs = [(p, math.tan(0.25 * (leave + arrive)))]
        if _within(run, i, j, arcs):
            return arcs
    t0, t1 = run.tangents[i], run.tangents[j]
    joint = _biarc_joint(p, t0, q, t1)
    if joint is None:
        return None
    first, second = joint - p, q - joint
    if abs(first) <= 1e-12 or abs(second) <= 1e-12:
        return None
    leave, arrive = cmath.phase(first / t0), cmath.phase(t1 / second)
    if max(abs(leave), abs(arrive)) > half:
        return None
    arcs = [(p, _bulge(leave)), (joint, _bulge(arrive))]
    return arcs if _within(run, i, j, arcs) else None


def _bulge(half_sweep_rad: float) -> float:
    """Bulge of an arc whose tangent and chord differ by this angle; straight below rounding."""
    return math.tan(0.5 * half_sweep_rad) if abs(half_sweep_rad) > 1e-9 else 0.0


def _biarc_joint(p: complex, t0: complex, q: complex, t1: complex) -> complex | None:
    """Where the two arcs of the biarc with equal tangent lengths meet.

    Source: closed form, from |p + d t0 - (q - d t1)| = 2 d.
    """
    v = q - p
    total = t0 + t1
    along = v.real * total.real + v.imag * total.imag
    square = v.real * v.real + v.imag * v.imag
    apart = abs(t0 - t1) ** 2
    root = math.sqrt(along * along + apart * square)
    # Of the two ways to write the root, the one whose terms do not cancel.
    if along > 0.0:
        d = square / (along + root)
    elif apart > 1e-12:
        d = (root - along) / apart
    else:
        return None
    return 0.5 * (p + q + d * (t0 - t1))


def _within(run: _Run, i: int, j: int, arcs: _Arcs) -> bool:
    """True when the samples between i and j lie on the arcs within the chord error."""
    points, tolerance = run.points, run.tolerance
    ends = [start for start, _ in arcs] + [points[j]]
    length = 0.0
    k = i + 1
    for (start, bulge), end in zip(arcs, ends[1:], strict=True):
        chord = end - start
        size = abs(chord)
        is_last = end is ends[-1]
        # The gate through the joint, across the biarc's common tangent there.
        gate = chord / size * cmath.exp(2j * math.atan(bulge))
        if bulge == 0.0:
            length += size
            unit = (chord / size).conjugate()
            while k < j:
                away = points[k] - end
                if not is_last and away.real * gate.real + away.imag * gate.imag > 0.0:
                    break
                if abs(((points[k] - start) * unit).imag) > tolerance:
                    return False
                k += 1
            continue
        radius = size * (1.0 + bulge * bulge) / (4.0 * abs(bulge))
        length += 4.0 * math.atan(abs(bulge)) * radius
        centre = 0.5 * (start + end) + 1j * chord * (1.0 - bulge * bulge) / (4.0 * bulge)
        while k < j:
            away = points[k] - end
            if not is_last and away.real * gate.real + away.imag * gate.imag > 0.0:
                break
            if abs(abs(points[k] - centre) - radius) > tolerance:
                return False
            k += 1
    walked = run.along[j] - run.along[i]
    return abs(walked - length) <= 0.1 * length + tolerance
