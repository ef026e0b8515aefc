"""Bolted joint with captive nut: a screw through the face pulls on a nut in the other edge.

A channel for the screw runs from the joint face into the first panel; across it
lies a pocket that holds a hexagon nut between its flats. Tabs on both sides of
each screw keep the panels in place. Design rules: derived here and common
practice, no source; sizes of hardware: see `hardware`.
"""

from __future__ import annotations

from dataclasses import dataclass

from lasernest.domain.contours import Contour
from lasernest.errors import Where
from lasernest.joints.edges import JointError
from lasernest.joints.hardware import Hardware, HoleFit, next_screw_length_mm
from lasernest.joints.laid import MatingPair
from lasernest.joints.profile import EdgeRun, ProfilePoint
from lasernest.joints.slot import SlotJoint, slot_at, slot_pair, tab_run, usable_span_mm
from lasernest.units import format_mm

POCKET_PLAY_MM = 0.1
"""Added to the nut's largest size, across flats and in height."""
BEYOND_SCREW_MM = 0.5
"""The channel is deeper than the screw reaches by this."""
GRIP_IN_DIAMETERS = 2.0
"""Joint face to nut, in nominal screw diameters."""
_MOST_TAB_IN_THICKNESSES = 6.0
_LENGTH_PER_BOLT_MM = 120.0


@dataclass(frozen=True, slots=True)
class NutPocket:
    """Sizes of the channel and pocket for one screw."""

    screw_length_mm: float
    grip_mm: float
    """From the joint face to the near face of the nut."""
    channel_width_mm: float
    channel_depth_mm: float
    pocket_width_mm: float
    """Across the channel: holds the nut by its flats."""
    pocket_length_mm: float
    """Along the screw."""
    hole_mm: float
    """Diameter of the hole through the mate."""


def nut_pocket(size: Hardware, *, through_mm: float, grip_mm: float | None = None) -> NutPocket:
    """Work out screw length, channel and pocket.

    Screw length >= thickness gone through + grip + nut height + one pitch, next
    in the series; the channel reaches half a millimetre beyond the screw's end.

    Args:
        size: thread.
        through_mm: thickness of the mate the screw goes through.
        grip_mm: joint face to the near face of the nut; None: two diameters.

    Raises:
        JointError: no screw is long enough, or the nut would turn in its pocket.
    """
    diameter_mm = float(size.name[1:])
    grip = GRIP_IN_DIAMETERS * diameter_mm if grip_mm is None else grip_mm
    length_mm = next_screw_length_mm(least_screw_mm(size, through_mm=through_mm, grip_mm=grip))
    pocket_mm = size.nut_across_flats_max_mm + POCKET_PLAY_MM
    if pocket_mm >= size.nut_across_corners_min_mm:
        raise JointError(
            f"a nut {size.name} would turn in a pocket of {format_mm(pocket_mm)}",
            todo="Use a larger bolt.",
        )
    return NutPocket(
        screw_length_mm=length_mm,
        grip_mm=grip,
        channel_width_mm=size.hole_mm(HoleFit.MEDIUM),
        channel_depth_mm=length_mm - through_mm + BEYOND_SCREW_MM,
        pocket_width_mm=pocket_mm,
        pocket_length_mm=size.nut_height_max_mm + POCKET_PLAY_MM,
        hole_mm=size.hole_mm(HoleFit.MEDIUM),
    )


def least_screw_mm(size: Hardware, *, through_mm: float, grip_mm: float) -> float:
    """Shortest screw that fills the nut and shows one pitch."""
    return through_mm + grip_mm + size.nut_height_max_mm + size.pitch_mm


def loosest_play_mm(size: Hardware) -> float:
    """Play of the smallest nut in its pocket."""
    return size.nut_across_flats_max_mm + POCKET_PLAY_MM - size.nut_across_flats_min_mm


@dataclass(frozen=True, slots=True)
class NutJoint:
    """A slot joint with screws between its tabs."""

    slot: SlotJoint
    size: Hardware
    bolts: int | None = None
    web_thicknesses: float = 1.5
    """Material on each side of a pocket: 1.5 thicknesses in wood, 2 in acrylic."""


@dataclass(frozen=True, slots=True)
class ShapedNut:
    """The new course of the edge, slots and holes of the mate, and where to measure."""

    run: EdgeRun
    holes: tuple[Contour, ...]
    tabs: int
    tab_mm: float
    bolts: int
    pocket: NutPocket
    span_mm: tuple[float, float]
    pairs: tuple[MatingPair, ...]


def shape_nut(spec: NutJoint) -> ShapedNut:
    """Cut tabs, channels and pockets into the edge, slots and holes into the face.

    The edge is shared by half a shoulder, then tab, shoulder with its screw, tab
    and so on, then half a shoulder.

    Raises:
        JointError: the edge is too short, or the panels do not meet at 90 degrees.
    """
    slot = spec.slot
    edge = slot.tabs.edge
    where = Where(panel=edge.panel, at_mm=edge.middle)
    if abs(slot.angle_deg - 90.0) > 1e-6:
        raise JointError(
            f"a bolt cannot pull panels together that meet at {slot.angle_deg:.1f} degrees",
            where=where,
            todo="Bolted joints need 90 degrees; use tabs and slots here.",
        )
    pocket = nut_pocket(spec.size, through_mm=slot.mate_thickness_mm)
    span = usable_span_mm(slot.tabs)
    length_mm = span[1] - span[0]
    thickness_mm = slot.tabs.thickness_mm
    shoulder_mm = pocket.pocket_width_mm + 2.0 * spec.web_thicknesses * thickness_mm
    tab_mm = min(
        max(slot.target_width_mm or 3.0 * thickness_mm, 2.0 * thickness_mm),
        _MOST_TAB_IN_THICKNESSES * thickness_mm,
    )
    bolts = spec.bolts or max(1, round(length_mm / _LENGTH_PER_BOLT_MM))
    needed_mm = (bolts + 1) * (tab_mm + shoulder_mm)
    if needed_mm > length_mm + 1e-9:
        raise JointError(
            f"an edge of {format_mm(length_mm)} is too short for {bolts} "
            f"{'bolt' if bolts == 1 else 'bolts'} {spec.size.name} between tabs",
            where=where,
            todo=f"It needs {format_mm(needed_mm)}: use fewer or smaller bolts or shorter tabs.",
        )
    pitch_mm = length_mm / (bolts + 1)
    middles = [span[0] + (k + 0.5) * pitch_mm for k in range(bolts + 1)]
    places = [(m - 0.5 * tab_mm, m + 0.5 * tab_mm) for m in middles]
    screws = [span[0] + (k + 1) * pitch_mm for k in range(bolts)]
    root_mm = slot.tabs.levels.root_mm
    notches = [nut_notch(s, root_mm, pocket) for s in screws]
    holes = [slot_at(slot, m, tab_mm) for m in middles]
    holes += [
        Contour.circle(*slot.line.point(slot.line_station_mm(s)), 0.5 * pocket.hole_mm).reversed()
        for s in screws
    ]
    return ShapedNut(
        tab_run(slot.tabs, places, notches),
        tuple(holes),
        len(places),
        tab_mm,
        bolts,
        pocket,
        span,
        tuple(slot_pair(slot, m) for m in middles),
    )


def nut_notch(station_mm: float, root_mm: float, pocket: NutPocket) -> tuple[ProfilePoint, ...]:
    """The course of channel and pocket, from the joint face in and back."""
    channel_mm, pocket_mm = 0.5 * pocket.channel_width_mm, 0.5 * pocket.pocket_width_mm
    near_mm = root_mm - pocket.grip_mm
    far_mm = near_mm - pocket.pocket_length_mm
    deep_mm = root_mm - pocket.channel_depth_mm
    half = [
        (channel_mm, root_mm),
        (channel_mm, near_mm),
        (pocket_mm, near_mm),
        (pocket_mm, far_mm),
        (channel_mm, far_mm),
        (channel_mm, deep_mm),
    ]
    left = [ProfilePoint(station_mm - side, level) for side, level in half]
    right = [ProfilePoint(station_mm + side, level) for side, level in reversed(half)]
    return (*left, *right)
