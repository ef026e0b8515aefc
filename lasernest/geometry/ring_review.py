"""The review of rings before they are nested: circles, double lines, a drawn sheet border."""

from __future__ import annotations

from dataclasses import dataclass

from lasernest.domain.answers import Answers
from lasernest.domain.contours import Contour, Point
from lasernest.domain.findings import Finding
from lasernest.geometry import outline_findings as say
from lasernest.geometry.chaining import Chain
from lasernest.geometry.nesting_depth import nested
from lasernest.geometry.suspects import NearCircle, double_lines, near_circle, sheet_border

_MOST_FRAMES = 3


@dataclass(frozen=True, slots=True)
class Review:
    """The rings that are left, and what was said about the others."""

    rings: tuple[Chain, ...]
    findings: tuple[Finding, ...]


def reviewed(rings: list[Chain], answers: Answers, kerf_mm: float, chord_error_mm: float) -> Review:
    """Judge rings and change what answers and presets say.

    Args:
        rings: closed contours.
        answers: the maker's.
        kerf_mm: two rings nearer than this are one line drawn twice.
        chord_error_mm: a ring nearer to a circle than this is made one.
    """
    findings: list[Finding] = []
    kept = _with_circles(rings, answers, chord_error_mm, findings)
    kept = _without_double_lines(kept, answers, kerf_mm, findings)
    kept = _without_border(kept, answers, findings)
    return Review(tuple(kept), tuple(findings))


def _with_circles(
    rings: list[Chain], answers: Answers, chord_error_mm: float, findings: list[Finding]
) -> list[Chain]:
    made: list[Chain] = []
    restored: list[tuple[Point, float]] = []
    doubtful: list[tuple[Point, float]] = []
    for ring in rings:
        exact = ring.path.as_circle()
        if exact is not None:
            path = ring.path if len(ring.path.vertices) == 2 else Contour.circle(*exact)
            made.append(Chain(path, ring.members))
            continue
        near = near_circle(ring.path)
        if near is None:
            made.append(ring)
            continue
        sure = not near.polygon and near.off_mm <= chord_error_mm
        at = (near.circle.x_mm, near.circle.y_mm)
        (restored if sure else doubtful).append((at, _change_mm(near, ring.path)))
        restore = answers.circles == "restore" or (sure and answers.circles != "keep")
        made.append(Chain(Contour.circle(*near.circle), ring.members) if restore else ring)
    if restored and answers.circles != "keep":
        findings.append(
            say.circle_finding([at for at, _ in restored], max(off for _, off in restored))
        )
    if doubtful and answers.circles is None:
        findings.append(
            say.near_circle_finding(
                [at for at, _ in doubtful], max(off for _, off in doubtful), restored=False
            )
        )
    return made


def _change_mm(near: NearCircle, path: Contour) -> float:
    """How far the ring lies from the circle at most."""
    if not near.polygon:
        return near.off_mm
    longest = max(s.chord_mm for s in path.segments())
    radius = near.circle.radius_mm
    sagitta = radius - (radius * radius - 0.25 * longest * longest) ** 0.5
    return near.off_mm + float(sagitta)


def _without_double_lines(
    rings: list[Chain], answers: Answers, kerf_mm: float, findings: list[Finding]
) -> list[Chain]:
    nest = nested([c.path for c in rings])
    pairs = double_lines(nest, kerf_mm)
    if not pairs:
        return rings
    keep = answers.double_lines or "outer"
    if answers.double_lines is None:
        places = [nest.rings[p.outer].start for p in pairs]
        findings.append(say.double_line_finding(places, max(p.apart_mm for p in pairs), keep))
    if keep == "both":
        return rings
    gone: set[int] = set()
    for pair in pairs:
        if pair.outer not in gone and pair.inner not in gone:
            gone.add(pair.inner if keep == "outer" else pair.outer)
    return [ring for i, ring in enumerate(rings) if i not in gone]


def _without_border(rings: list[Chain], answers: Answers, findings: list[Finding]) -> list[Chain]:
    """Leave out the rectangle around everything, and a frame inside it."""
    for _ in range(_MOST_FRAMES):
        nest = nested([c.path for c in rings])
        border = sheet_border(nest)
        if border is None:
            break
        drop = border.likely if answers.border is None else answers.border == "drop"
        if answers.border is None:
            x0, y0, x1, y1 = nest.rings[border.ring].bounds_mm()
            findings.append(say.border_finding((x0, y0), (x1 - x0, y1 - y0), drop))
        if not drop:
            break
        rings = [ring for i, ring in enumerate(rings) if i != border.ring]
    return rings
