"""The review of rings before they are nested: circles, double lines, a drawn sheet border."""

from __future__ import annotations

from dataclasses import dataclass

from lasernest.domain.answers import Answers
from lasernest.domain.contours import Contour, Point
from lasernest.domain.findings import Finding
from lasernest.geometry import outline_findings as say
from lasernest.geometry.chaining import Chain
from lasernest.geometry.nesting_depth import Nest, nested
from lasernest.geometry.suspects import NearCircle, double_lines, near_circle, sheet_border

_MOST_FRAMES = 3


@dataclass(frozen=True, slots=True)
class Review:
    """The rings that are left, and what was said about the others."""

    rings: tuple[Chain, ...]
    nest: Nest
    """How they hold each other."""
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
    nest = nested([c.path for c in kept])
    gone = _doubled(nest, answers, kerf_mm, findings)
    if gone:
        kept = [ring for i, ring in enumerate(kept) if i not in gone]
        nest = nested([c.path for c in kept])
    for _ in range(_MOST_FRAMES):
        border = _border(nest, answers, findings)
        if border is None:
            break
        kept = [ring for i, ring in enumerate(kept) if i != border]
        nest = nested([c.path for c in kept])
    return Review(tuple(kept), nest, tuple(findings))


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


def _doubled(nest: Nest, answers: Answers, kerf_mm: float, findings: list[Finding]) -> set[int]:
    """Rings to leave out because they are the other side of a line drawn as two."""
    pairs = double_lines(nest, kerf_mm)
    if not pairs:
        return set()
    keep = answers.double_lines or "outer"
    if answers.double_lines is None:
        places = [nest.rings[p.outer].start for p in pairs]
        findings.append(say.double_line_finding(places, max(p.apart_mm for p in pairs), keep))
    gone: set[int] = set()
    for pair in pairs if keep != "both" else ():
        if pair.outer not in gone and pair.inner not in gone:
            gone.add(pair.inner if keep == "outer" else pair.outer)
    return gone


def _border(nest: Nest, answers: Answers, findings: list[Finding]) -> int | None:
    """A rectangle around everything, or a frame inside it, that is to be left out."""
    border = sheet_border(nest)
    if border is None:
        return None
    drop = border.likely if answers.border is None else answers.border == "drop"
    if answers.border is None:
        x0, y0, x1, y1 = nest.rings[border.ring].bounds_mm()
        findings.append(say.border_finding((x0, y0), (x1 - x0, y1 - y0), drop))
    return border.ring if drop else None
