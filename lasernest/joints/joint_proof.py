"""What the beam leaves of each joint: widths, interference, and how sure that is.

Looks only at finished polygons, as the simulated cut leaves them, and measures
every finger and gap (or slot) across its middle. The cut file is not trusted:
a file compensated with half or double the kerf fails here.

Uncertainty (JCGM 100:2008, 5.1.2): a kerf that is off by e makes each finger
narrower and each gap wider by e, so u = 2 u(kerf) for fingers; for a slot, whose
tongue is the sheet itself, u^2 = u(thickness)^2 + u(kerf)^2.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence

import shapely

from lasernest.domain.cutting import JointProof
from lasernest.domain.fits import FIT_RANGES, family_of
from lasernest.domain.joints import PanelSheet
from lasernest.joints.laid import Gauge, LaidJoint, MatingPair
from lasernest.units import format_mm

UNMEASURED_KERF_U_MM = 0.05
"""Of a kerf that nobody measured. Common practice, no source."""
CALLIPER_U_MM = 0.02 / math.sqrt(3.0)
"""Of a thickness given without uncertainty: a calliper good to 0.02 mm, rectangular."""
INTERFERENCE_WITHIN_MM = 0.01
"""Largest difference from the wanted interference that passes."""

Finished = Mapping[str, Sequence[shapely.Polygon]]
"""By panel name the copies that the beam leaves, each in the panel's own drawing."""


def prove_joints(
    joints: Sequence[LaidJoint],
    finished: Finished,
    sheets: Mapping[str, PanelSheet],
    *,
    within_mm: float = INTERFERENCE_WITHIN_MM,
) -> tuple[tuple[JointProof, ...], tuple[str, ...]]:
    """Measure all joints whose panels were both cut.

    Args:
        joints: as laid, for the panels as they were cut.
        finished: what the beam leaves; panels that are not on it are skipped.
        sheets: by panel name, for the uncertainty.
        within_mm: largest difference from the wanted interference that passes.

    Returns:
        One proof for each joint that could be measured, and sentences that say
        what is wrong.
    """
    proofs: list[JointProof] = []
    problems: list[str] = []
    for joint in joints:
        if not (finished.get(joint.joint.a.panel) and finished.get(joint.joint.b.panel)):
            continue
        found, missing = _interferences(joint, finished)
        problems += missing
        if not found:
            continue
        worst_mm = max(found, key=lambda value: abs(value - joint.interference_mm))
        proofs.append(
            JointProof(
                joint.joint.a.panel,
                joint.joint.b.panel,
                math.fsum(found) / len(found),
                worst_mm,
                uncertainty_mm(joint, sheets),
                fit_name(joint, worst_mm, sheets),
            )
        )
        if abs(worst_mm - joint.interference_mm) > within_mm:
            problems.append(
                f"the joint of {joint.joint.a.panel} and {joint.joint.b.panel} comes out with "
                f"an interference of {format_mm(worst_mm, 3)} where "
                f"{format_mm(joint.interference_mm, 3)} is wanted"
            )
    return tuple(proofs), tuple(problems)


def fit_name(joint: LaidJoint, interference_mm: float, sheets: Mapping[str, PanelSheet]) -> str:
    """The fit that an interference gives in the more delicate of the two materials."""
    ranges = min(
        (
            FIT_RANGES[family_of(sheets[name].material)]
            for name in (joint.joint.a.panel, joint.joint.b.panel)
        ),
        key=lambda r: r.most_mm,
    )
    fit = ranges.fit_of(interference_mm)
    if fit is not None:
        return fit.value
    return "too tight" if interference_mm > ranges.most_mm else "loose"


def uncertainty_mm(joint: LaidJoint, sheets: Mapping[str, PanelSheet]) -> float:
    """Standard uncertainty of the interference."""
    pair = [sheets[name] for name in (joint.joint.a.panel, joint.joint.b.panel)]
    kerf_mm = [UNMEASURED_KERF_U_MM if s.kerf_u_mm is None else s.kerf_u_mm for s in pair]
    if any(p.finger is not None for p in joint.pairs):
        return sum(kerf_mm)
    tongues_mm = [CALLIPER_U_MM if s.thickness_u_mm is None else s.thickness_u_mm for s in pair]
    return max(math.hypot(t, k) for t, k in zip(tongues_mm, reversed(kerf_mm), strict=True))


def _interferences(joint: LaidJoint, finished: Finished) -> tuple[list[float], list[str]]:
    """Finger minus gap of every pair: the loosest and the tightest over all copies."""
    found: list[float] = []
    missing: list[str] = []
    for pair in joint.pairs:
        tongues = _tongues(pair, finished)
        gaps = [width_mm(p, pair.gap, solid=False) for p in finished[pair.gap.panel]]
        if None in tongues or None in gaps:
            gauge = pair.gap if None in gaps else pair.finger
            assert gauge is not None
            what = "gap" if None in gaps else "finger"
            x, y = gauge.middle
            missing.append(
                f"panel {gauge.panel}: there is no {what} at {x:.2f}, {y:.2f} mm after the cut"
            )
            continue
        tongue_mm = [t for t in tongues if t is not None]
        gap_mm = [g for g in gaps if g is not None]
        found += [min(tongue_mm) - max(gap_mm), max(tongue_mm) - min(gap_mm)]
    return found, missing


def _tongues(pair: MatingPair, finished: Finished) -> list[float | None]:
    if pair.finger is None:
        return [pair.tongue_mm]
    return [width_mm(p, pair.finger, solid=True) for p in finished[pair.finger.panel]]


def width_mm(panel: shapely.Polygon, gauge: Gauge, *, solid: bool) -> float | None:
    """Width of the finger (solid) or gap under a gauge; None if there is none.

    A gap counts only with material on both sides.
    """
    reach_mm = 2.0 * gauge.width_mm + 5.0
    (x, y), (ux, uy) = gauge.middle, gauge.along
    line = shapely.LineString(
        [(x - reach_mm * ux, y - reach_mm * uy), (x + reach_mm * ux, y + reach_mm * uy)]
    )
    runs: list[tuple[float, float]] = []
    for part in shapely.get_parts(panel.intersection(line)):
        if part.geom_type != "LineString":
            continue
        ends = [(cx - x) * ux + (cy - y) * uy for cx, cy in part.coords]
        runs.append((min(ends), max(ends)))
    for start, end in runs:
        if start <= 0.0 <= end:
            return end - start if solid else None
    before = [end for _, end in runs if end < 0.0]
    after = [start for start, _ in runs if start > 0.0]
    if solid or not before or not after:
        return None
    return min(after) - max(before)
