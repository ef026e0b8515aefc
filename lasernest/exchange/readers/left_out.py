"""What a reader says of entities that it did not take as they are."""

from __future__ import annotations

from lasernest.domain.contours import Point
from lasernest.domain.findings import Finding, Severity

MAY_CARRY_CONTOURS = frozenset(
    (
        *("REGION", "3DSOLID", "BODY", "SURFACE", "EXTRUDEDSURFACE", "REVOLVEDSURFACE"),
        *("PLANESURFACE", "MLINE", "HELIX", "SHAPE", "3DFACE", "MESH"),
        *("ACAD_PROXY_ENTITY", "PDFUNDERLAY", "DXFUNDERLAY"),
    )
)
"""Kinds of entity that may hold outlines which this program cannot get at."""


def flat_findings(lifted: list[Point], tilted: list[Point]) -> list[Finding]:
    """What was laid flat: one finding for heights, one for tilts."""
    found = []
    if lifted:
        found.append(
            Finding(
                Severity.NOTE,
                "flattened",
                f"{len(lifted)} entities above or below the drawing plane were laid flat on it.",
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
                f"{len(tilted)} entities are tilted in space; they were taken as seen from above.",
                where_mm=tilted[0],
                count=len(tilted),
                todo="Lay the part flat in the drawing program if its size is wrong.",
            )
        )
    return found


def left_out_findings(left_out: dict[str, list[Point]], may_carry: frozenset[str]) -> list[Finding]:
    """One finding for what is never a contour, one for what may carry some."""
    found = []
    for severity, code, kinds, advice in (
        (
            Severity.WARNING,
            "left-out-shapes",
            [k for k in left_out if k.split()[0] in may_carry or k.endswith("mesh")],
            "Explode them into lines in the drawing program if they are to be cut.",
        ),
        (
            Severity.NOTE,
            "left-out",
            [k for k in left_out if not (k.split()[0] in may_carry or k.endswith("mesh"))],
            "",
        ),
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
