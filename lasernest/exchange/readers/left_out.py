"""What a reader says of entities that it did not take as they are."""

from __future__ import annotations

from collections.abc import Iterable

from lasernest.domain.contours import Point
from lasernest.domain.findings import Finding, Severity, counted
from lasernest.exchange.readers.dxf_tags import Structure

_NEVER_CONTOURS = frozenset(
    (
        *("TEXT", "MTEXT", "RTEXT", "ARCALIGNEDTEXT", "ATTRIB", "ATTDEF", "DIMENSION"),
        *("ARC_DIMENSION", "LARGE_RADIAL_DIMENSION", "LEADER", "MLEADER", "MULTILEADER"),
        *("TOLERANCE", "HATCH", "MPOLYGON", "IMAGE", "WIPEOUT", "POINT", "SOLID", "TRACE"),
        *("RAY", "XLINE", "VIEWPORT", "LIGHT", "SUN", "SECTION", "ACAD_TABLE", "OLEFRAME"),
        *("OLE2FRAME", "CAMERA", "GEOPOSITIONMARKER", "POSITIONMARKER"),
    )
)
"""Kinds of entity that hold no outline to cut."""


def flat_findings(lifted: list[Point], tilted: list[Point]) -> list[Finding]:
    """What was laid flat: one finding for heights, one for tilts."""
    found = []
    if lifted:
        found.append(
            Finding(
                Severity.NOTE,
                "flattened",
                counted(
                    len(lifted),
                    "entity above or below the drawing plane was laid flat on it.",
                    "entities above or below the drawing plane were laid flat on it.",
                ),
                where_mm=lifted[0],
                mended=True,
                count=len(lifted),
            )
        )
    if tilted:
        found.append(
            Finding(
                Severity.WARNING,
                "tilted",
                counted(
                    len(tilted),
                    "entity is tilted in space; it was taken as seen from above.",
                    "entities are tilted in space; they were taken as seen from above.",
                ),
                where_mm=tilted[0],
                count=len(tilted),
                todo="Lay the part flat in the drawing program if its size is wrong.",
            )
        )
    return found


def clip_findings(count: int) -> list[Finding]:
    """Blocks that the drawing shows only in part."""
    if not count:
        return []
    return [
        Finding(
            Severity.WARNING,
            "clip-ignored",
            counted(
                count,
                "block is clipped in the drawing; what its boundary hides is there.",
                "blocks are clipped in the drawing; what their boundaries hide is there.",
            ),
            count=count,
            todo="Explode the block and trim its lines in the drawing program.",
        )
    ]


def filling_findings(closed: list[Point], backdrop_at: Point | None) -> list[Finding]:
    """What follows from fillings: outlines that they close, and a page drawn behind all."""
    found = []
    if closed:
        found.append(
            Finding(
                Severity.NOTE,
                "filling-closed",
                counted(
                    len(closed),
                    "filled shape without a line is open in the file; it was closed as shown.",
                    "filled shapes without a line are open in the file; they were closed as shown.",
                ),
                where_mm=closed[0],
                count=len(closed),
                mended=True,
            )
        )
    if backdrop_at is not None:
        found.append(
            Finding(
                Severity.WARNING,
                "page-left-out",
                "A white rectangle without a line covers the page, behind everything; it was taken "
                "for the page and left out.",
                where_mm=backdrop_at,
                todo="Give it a line in the drawing program if it is to be cut.",
            )
        )
    return found


def trouble_findings(troubles: Iterable[tuple[str, str, int | None, int]]) -> list[Finding]:
    """What could not be drawn: code, what is wrong, the line of the first, and how many."""
    return [
        Finding(
            Severity.ERROR,
            code,
            f"{message}{'' if line is None else f' (line {line})'}.",
            count=count,
            todo="Redraw or explode it in the drawing program, then export again.",
        )
        for code, message, line, count in troubles
    ]


def unseen_findings(hidden: int, on_paper: int, *, alone: bool) -> list[Finding]:
    """What the drawing does not show, and what is drawn around it on a page.

    Args:
        hidden: entities that are not shown.
        on_paper: entities on paper layouts.
        alone: there is nothing else in the drawing.
    """
    found = []
    if hidden:
        found.append(
            Finding(
                Severity.WARNING,
                "hidden-left-out",
                counted(hidden, "hidden entity was left out.", "hidden entities were left out."),
                count=hidden,
            )
        )
    if on_paper:
        found.append(
            Finding(
                Severity.WARNING if alone else Severity.NOTE,
                "paper-left-out",
                counted(
                    on_paper,
                    "entity on a paper layout was left out.",
                    "entities on paper layouts were left out.",
                ),
                count=on_paper,
                todo="Export the layout to model space in the drawing program." if alone else "",
            )
        )
    return found


def left_out_findings(left_out: dict[str, list[Point]]) -> list[Finding]:
    """What was left out by kind and count.

    Kinds that never hold an outline are a note; those that may, and those this
    program has never heard of, are a warning.
    """
    found = []
    for severity, code, kinds, advice in (
        (
            Severity.WARNING,
            "left-out-shapes",
            [k for k in left_out if not _is_harmless(k)],
            "Explode them into lines in the drawing program if they are to be cut.",
        ),
        (Severity.NOTE, "left-out", [k for k in left_out if _is_harmless(k)], ""),
    ):
        if kinds:
            listed = ", ".join(f"{len(left_out[k])} {k}" for k in sorted(kinds))
            found.append(
                Finding(
                    severity,
                    code,
                    f"Left out: {listed}.",
                    where_mm=left_out[kinds[0]][0],
                    count=sum(len(left_out[k]) for k in kinds),
                    todo=advice,
                )
            )
    return found


def _is_harmless(kind: str) -> bool:
    return kind in _NEVER_CONTOURS or kind.endswith("without length")


def structure_findings(structure: Structure) -> list[Finding]:
    """What was put straight in the records of a DXF file."""
    tags = structure.tags
    found: list[Finding] = []
    if structure.missing_end:
        found.append(
            Finding(
                Severity.NOTE,
                "end-marker-missing",
                "An end marker of the file was missing and was taken as there.",
                mended=True,
            )
        )
    if structure.emptied:
        first = tags.line(structure.emptied[0])
        place = "" if first is None else f", first in line {first}"
        found.append(
            Finding(
                Severity.NOTE,
                "empty-number",
                counted(
                    len(structure.emptied),
                    f"whole number left empty was taken as not set{place}.",
                    f"whole numbers left empty were taken as not set{place}.",
                ),
                mended=True,
                count=len(structure.emptied),
            )
        )
    return found
