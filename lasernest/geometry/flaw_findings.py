"""What is said about contours that cannot be cut as drawn, or hardly."""

from __future__ import annotations

import math
from collections.abc import Sequence

from lasernest.domain.answers import ANSWER_OPTION
from lasernest.domain.contours import Point
from lasernest.domain.findings import Choice, Finding, Severity, counted
from lasernest.domain.import_choices import UNIT_OPTION
from lasernest.units import plain_mm


def gap_finding(at: Point, gap_mm: float, layer: str, *, gaps: int = 1) -> Finding:
    """An outline that does not close; closing it is for the maker to say."""
    # A thousandth more, so that the gap is within it however it is rounded.
    close_mm = math.ceil(1000.0 * gap_mm + 1.0) / 1000.0
    return Finding(
        Severity.ERROR,
        "open-outline",
        f"An outline has a gap of {plain_mm(gap_mm)}; it is not cut."
        if gaps == 1
        else f"An outline has {gaps} gaps of up to {plain_mm(gap_mm)}; it is not cut.",
        where_mm=at,
        layer=layer,
        todo="Close it in the drawing, or let the program close it.",
        on_command_line=f"{ANSWER_OPTION} gaps={close_mm:g}",
        choices=(
            Choice("leave it open", ANSWER_OPTION, "gaps=0", preset=True),
            Choice("close it", ANSWER_OPTION, f"gaps={close_mm:g}"),
        ),
    )


def small_ring_finding(places: Sequence[Point]) -> Finding:
    """Rings without area."""
    return Finding(
        Severity.WARNING,
        "ring-too-small",
        counted(
            len(places),
            "closed contour without any area to speak of was left out.",
            "closed contours without any area to speak of were left out.",
        ),
        where_mm=places[0],
        count=len(places),
    )


def island_finding(names: Sequence[str], at: Point) -> Finding:
    """Small parts inside holes."""
    shown = ", ".join(names[:6]) + (", ..." if len(names) > 6 else "")
    return Finding(
        Severity.NOTE,
        "small-islands",
        counted(
            len(names),
            "small piece inside a hole is",
            "small pieces inside holes are",
        )
        + f" probably waste: {shown}.",
        where_mm=at,
        panel=names[0],
        count=len(names),
        todo="Set their quantity to 0 if they are not wanted.",
    )


def crossing_finding(code: str, places: Sequence[Point]) -> Finding:
    """Contours that run over themselves or each other."""
    if code == "self-crossing":
        text = counted(
            len(places),
            "contour crosses or touches itself; it cannot be cut as drawn.",
            "contours cross or touch themselves; they cannot be cut as drawn.",
        )
        return Finding(
            Severity.ERROR,
            code,
            text,
            where_mm=places[0],
            count=len(places),
            todo="Draw the contour so that it does not cross itself.",
        )
    return Finding(
        Severity.WARNING,
        code,
        counted(
            len(places),
            "pair of contours crosses each other.",
            "pairs of contours cross each other.",
        ),
        where_mm=places[0],
        count=len(places),
        todo="Join or move them in the drawing; what is cut there is no clean panel.",
    )


def web_finding(count: int, at: Point, width_mm: float, kerf_mm: float) -> Finding:
    """Holes so near to each other or to the outline that nothing stays between them."""
    return Finding(
        Severity.WARNING,
        "thin-web",
        counted(
            count,
            f"web between two cuts is thinner than {kerf_mm:g} mm: {width_mm:.2f} mm.",
            f"webs between two cuts are thinner than {kerf_mm:g} mm; the thinnest is "
            f"{width_mm:.2f} mm.",
        ),
        where_mm=at,
        count=count,
        todo="Move the holes apart, or draw them as one; a web like that burns away.",
    )


def huge_finding(places: Sequence[Point], largest_mm: float) -> Finding:
    """Lines longer than any sheet, or farther away than numbers can tell."""
    return Finding(
        Severity.ERROR,
        "line-too-long",
        counted(
            len(places),
            f"line is longer than {largest_mm / 1000:.0f} m, or too far away, and was left out.",
            f"lines are longer than {largest_mm / 1000:.0f} m, or too far away, and were left out.",
        ),
        where_mm=places[0],
        count=len(places),
        todo="Remove them in the drawing, or let it state another unit.",
        on_command_line=f"or give {UNIT_OPTION}",
    )


def no_panels_finding() -> Finding:
    """Nothing to cut."""
    return Finding(
        Severity.ERROR,
        "no-panels",
        "There is no closed contour to cut in the drawing.",
        todo="Check which layers cut, and close the outlines in the drawing.",
    )
