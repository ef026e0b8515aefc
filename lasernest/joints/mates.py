"""Which edges of a job's panels look made for each other.

Owns the order in which pairs are proposed; `boxes` knows whole cases.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from itertools import combinations
from typing import TypeAlias

from lasernest.domain.panels import Panel
from lasernest.joints.boxes import cases_among
from lasernest.joints.edges import StraightEdge, face_each_other, straight_edges


@dataclass(frozen=True, slots=True)
class MateProposal:
    """Two edges that look made for each other."""

    a: StraightEdge
    b: StraightEdge
    length_difference_mm: float
    facing: bool
    """True when the edges lie opposite each other in the drawing."""


def propose_mates(
    panels: Sequence[Panel],
    *,
    same_length_mm: float = 0.05,
    least_length_mm: float = 10.0,
) -> tuple[MateProposal, ...]:
    """Pairs of edges that could be joined: equal in length, best neighbours first.

    Of panels that make a case, the edges that meet when it stands are proposed and
    no others. For the rest equal lengths count. Edges that face each other across a
    gap of the drawing (an unfolded case) come first, then the nearest. Each edge is
    proposed once, each pair of panels once.

    Args:
        panels: all panels of the job, in the coordinates of their drawings.
        same_length_mm: largest difference between mating edges.
        least_length_mm: shorter edges are not worth a joint.
    """
    cases = cases_among(panels, same_length_mm=same_length_mm)
    edges = [e for panel in panels for e in straight_edges(panel) if e.length_mm >= least_length_mm]
    of_case = {e.panel: i for i, mates in enumerate(cases) for pair in mates for e in pair}
    certain = sorted(
        (_candidate(a, b) for mates in cases for a, b in mates if a.length_mm >= least_length_mm),
        key=lambda c: c[:2],
    )
    guessed = sorted(_candidates(edges, same_length_mm, of_case), key=lambda c: c[:2])
    used: set[tuple[str, int]] = set()
    paired: set[frozenset[str]] = set()
    proposals: list[MateProposal] = []
    for unfacing, _, a, b in [*certain, *guessed]:
        pair = frozenset((a.panel, b.panel))
        if pair in paired or {(a.panel, a.index), (b.panel, b.index)} & used:
            continue
        used |= {(a.panel, a.index), (b.panel, b.index)}
        paired.add(pair)
        proposals.append(MateProposal(a, b, abs(a.length_mm - b.length_mm), not unfacing))
    return tuple(proposals)


_Candidate: TypeAlias = tuple[bool, float, StraightEdge, StraightEdge]
"""Whether they do not face each other, how far apart they are, and both edges."""


def _candidate(a: StraightEdge, b: StraightEdge) -> _Candidate:
    return (not face_each_other(a, b), math.dist(a.middle, b.middle), a, b)


def _candidates(
    edges: Sequence[StraightEdge], same_length_mm: float, of_case: Mapping[str, int]
) -> Iterator[_Candidate]:
    """Edges of equal length on two panels, unless one case has settled what these share."""
    for a, b in combinations(edges, 2):
        if a.panel == b.panel or abs(a.length_mm - b.length_mm) > same_length_mm:
            continue
        if a.panel in of_case and of_case[a.panel] == of_case.get(b.panel):
            continue
        yield _candidate(a, b)
