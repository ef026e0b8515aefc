"""A comb as a cut file: placed on an offcut or sheet, written, read back and proved."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import numpy as np
import shapely

from lasernest.domain.contours import Point
from lasernest.domain.control import Control
from lasernest.domain.cutting import MachineProfile
from lasernest.domain.plan import Sheet
from lasernest.domain.stock import Machine, Stock
from lasernest.errors import BadValueError
from lasernest.exchange.writers.dxf import DEFAULT_VERSION
from lasernest.geometry.flatten import ring_polygon
from lasernest.kerf.comb import HEIGHT_MM, WIDTH_MM, CombSpec, draw_comb
from lasernest.kerf.cut_time import cut_time
from lasernest.services.cutting import (
    WrittenSheet,
    prove_against,
    refuse_material,
    with_mark_use,
    write_cut_file,
)

ROOM_MM = 1.0
"""Kept free around a comb: its edges are cut, not the sheet's own."""
SMALLEST_SHEET = Sheet(WIDTH_MM + 2.0 * ROOM_MM, HEIGHT_MM + 2.0 * ROOM_MM, margin_mm=ROOM_MM)
"""What a comb needs: 150 x 100 mm."""
STEP_MM = 2.0
"""Grid on which a free place is looked for on an offcut."""


def write_comb(
    spec: CombSpec,
    out: Path,
    *,
    stock: Stock,
    machine: Machine,
    control: Control,
    sheet: Sheet = SMALLEST_SHEET,
    profile: MachineProfile | None = None,
    version: str = DEFAULT_VERSION,
    material_acknowledged: bool = False,
) -> WrittenSheet:
    """Write the cut file of a comb and prove it for the kerf it is drawn for.

    Args:
        spec: what the comb tries.
        out: the file to make or replace; `.svg` writes SVG, anything else DXF.
        stock: its material is judged before anything is written.
        machine: speeds and times.
        control: progress and Cancel.
        sheet: or offcut to cut it from; the least that will do when not given.
        profile: layer names and colours; the machine's when not given.
        version: of the DXF.
        material_acknowledged: the maker has seen the warning on this material.

    Raises:
        RefusedMaterialError: a material that must not be lasered, or one whose
            warning was not acknowledged.
        BadValueError: the comb does not fit the sheet, or cannot be drawn.
        UnwritableFileError: the file cannot be written.
    """
    refuse_material(stock, acknowledged=material_acknowledged)
    styles = profile if profile is not None else machine.profile
    comb = draw_comb(spec)
    comb = replace(comb, body=with_mark_use(comb.body, styles.marks))
    at = free_place(sheet)
    cut = comb.sheet_cut(sheet.width_mm, sheet.height_mm, at=at, outline=sheet.outline)
    control.check()
    write_cut_file(cut, out, profile=styles, version=version)
    proved = prove_against(
        out, sheet, comb.placed(at), kerf=spec.kerf, profile=styles, control=control
    )
    time = cut_time(cut, machine, cut_speed_mm_per_s=stock.cut_speed_mm_per_s)
    return WrittenSheet(out, cut, time, proved.proof, proved.finished)


def free_place(sheet: Sheet) -> Point:
    """Where a comb fits on a sheet or offcut, as low and as far left as there is room.

    Raises:
        BadValueError: nowhere.
    """
    margin_mm = max(sheet.margin_mm, ROOM_MM)
    if sheet.outline is None and not sheet.holes:
        if (
            WIDTH_MM + 2.0 * margin_mm <= sheet.width_mm + 1e-9
            and HEIGHT_MM + 2.0 * margin_mm <= sheet.height_mm + 1e-9
        ):
            return (margin_mm, margin_mm)
        raise _too_small(sheet)
    shape = (
        ring_polygon(sheet.outline, chord_error_mm=0.05)
        if sheet.outline is not None
        else shapely.box(0.0, 0.0, sheet.width_mm, sheet.height_mm)
    )
    for hole in sheet.holes:
        shape = shape.difference(ring_polygon(hole, chord_error_mm=0.05))
    free = shape.buffer(-margin_mm)
    x = np.arange(0.0, sheet.width_mm - WIDTH_MM + 1e-9, STEP_MM)
    y = np.arange(0.0, sheet.height_mm - HEIGHT_MM + 1e-9, STEP_MM)
    at_y, at_x = (grid.ravel() for grid in np.meshgrid(y, x, indexing="ij"))
    shapely.prepare(free)
    boxes = shapely.box(at_x, at_y, at_x + WIDTH_MM, at_y + HEIGHT_MM)
    fits = np.flatnonzero(shapely.contains(free, boxes))
    if not fits.size:
        raise _too_small(sheet)
    return (float(at_x[fits[0]]), float(at_y[fits[0]]))


def _too_small(sheet: Sheet) -> BadValueError:
    name = sheet.label or f"a sheet of {sheet.width_mm:g} x {sheet.height_mm:g} mm"
    return BadValueError(
        f"the comb does not fit on {name}",
        todo=f"It needs {WIDTH_MM + 2 * ROOM_MM:g} x {HEIGHT_MM + 2 * ROOM_MM:g} mm: choose a "
        "larger piece, or a smaller margin.",
    )
