"""Drawn and finished widths: what the beam takes off a part and adds to a hole.

*Drawn* is the line the beam's middle follows, *finished* what is left. Kerf is
the full width of the cut; each edge loses half of it.
"""

from __future__ import annotations


def drawn_outer_mm(finished_mm: float, kerf_mm: float) -> float:
    """Line around a part, finger or plug of this finished width."""
    return finished_mm + kerf_mm


def drawn_inner_mm(finished_mm: float, kerf_mm: float) -> float:
    """Line inside a hole, slot or gap of this finished width."""
    return finished_mm - kerf_mm


def finished_outer_mm(drawn_mm: float, kerf_mm: float) -> float:
    """What is left of a part, finger or plug drawn this wide."""
    return drawn_mm - kerf_mm


def finished_inner_mm(drawn_mm: float, kerf_mm: float) -> float:
    """What a hole, slot or gap drawn this wide becomes."""
    return drawn_mm + kerf_mm


def drawn_slot_mm(thickness_mm: float, interference_mm: float, kerf_mm: float) -> float:
    """Line of a slot that a sheet of this thickness goes into with this interference."""
    return drawn_inner_mm(thickness_mm - interference_mm, kerf_mm)


def snug_kerf_mm(tongue_mm: float, drawn_mm: float) -> float:
    """Full kerf when a tongue just fills a slot drawn this wide."""
    return tongue_mm - drawn_mm
