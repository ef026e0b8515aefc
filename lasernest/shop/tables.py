"""The shop book as CSV tables: stock, offcuts, machines and kerf records.

Columns may stand in any order, and what is missing or empty keeps its usual
value. Lengths may carry a unit (`24in`); a bare number is millimetres. A stock
has one row for each size, a kerf record one for each reading and each felt
rung. What is written is read back as the same values.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from lasernest.domain.contours import Contour, Vertex
from lasernest.domain.cutting import Corner, LayerStyle, MachineProfile, MarkUse
from lasernest.domain.offcuts import Offcut
from lasernest.domain.stock import FitTargets, Kerf, Machine, SheetSize, Stock
from lasernest.errors import UnreadableFileError, Where
from lasernest.shop.record_table import RECORD_COLUMNS, record_rows, records_of
from lasernest.shop.rows import Cells, Row, either, made, needed_mm, read_rows
from lasernest.shop.values import MACHINE, OFFCUT, RECORD, STOCK

STOCK_COLUMNS = (
    "name", "material", "thickness_mm", "measured_thickness_mm", "thickness_u_mm", "grain",
    "masked", "density_g_per_cm3", "cut_speed_mm_per_s", "kerf_x_mm", "kerf_y_mm", "kerf_u_mm",
    "kerf_basis", "interference_mm", "slip_mm", "push_mm", "press_mm", "fit_u_mm", "fit_basis",
    "supplier", "note", "width_mm", "height_mm", "price", "price_invented", "count",
)  # fmt: skip
OFFCUT_COLUMNS = (
    "label", "stock", "outline", "holes", "measured_thickness_mm", "price", "cut_from", "note",
)  # fmt: skip
MACHINE_COLUMNS = (
    "machine", "bed_width_mm", "bed_height_mm", "travel_mm_per_s", "acceleration_mm_per_s2",
    "pierce_s", "mark_speed_mm_per_s", "inner_layer", "outer_layer", "score_layer",
    "engrave_layer", "sheet_layer", "origin", "marks", "note",
)  # fmt: skip


@dataclass(frozen=True, slots=True)
class Table:
    """One kind of table: its columns and both ways between rows and values."""

    kind: str
    columns: tuple[str, ...]
    sign: str
    """A column that only this table has."""
    rows_of: Callable[[Any], Iterable[Cells]]
    values_of: Callable[[Sequence[Row]], tuple[Any, ...]]


def table_in(path: Path) -> tuple[Table, tuple[Any, ...]]:
    """Which table a file holds, and its values.

    Raises:
        UnreadableFileError: not a table of the shop book, or a cell that cannot
            be; line and column are named.
    """
    rows = read_rows(path)
    columns = set(rows[0].cells) if rows else set()
    for table in TABLES:
        if table.sign in columns:
            return table, table.values_of(rows)
    raise UnreadableFileError(
        "this is not a table of the shop book",
        where=Where(file=path),
        todo=f"Its header must name {', '.join(f'{t.sign} ({t.kind})' for t in TABLES)}.",
    )


def _stock_rows(stock: Stock) -> Iterable[Cells]:
    fits = stock.fits
    shared: dict[str, object] = {
        "name": stock.name,
        "material": stock.material,
        "thickness_mm": stock.thickness_mm,
        "measured_thickness_mm": stock.measured_thickness_mm,
        "thickness_u_mm": stock.thickness_u_mm,
        "grain": stock.grain,
        "masked": stock.masked,
        "density_g_per_cm3": stock.density_g_per_cm3,
        "cut_speed_mm_per_s": stock.cut_speed_mm_per_s,
        "kerf_x_mm": stock.kerf.x_mm,
        "kerf_y_mm": stock.kerf.y_mm,
        "kerf_u_mm": stock.kerf.u_mm,
        "kerf_basis": stock.kerf.basis,
        "interference_mm": stock.interference_mm,
        "slip_mm": fits and fits.slip_mm,
        "push_mm": fits and fits.push_mm,
        "press_mm": fits and fits.press_mm,
        "fit_u_mm": fits and fits.u_mm,
        "fit_basis": fits and fits.basis,
        "supplier": stock.supplier,
        "note": stock.note,
    }
    for size in stock.sizes:
        yield shared | {
            "width_mm": size.width_mm,
            "height_mm": size.height_mm,
            "price": size.price,
            "price_invented": size.price_invented,
            "count": size.count,
        }


def _stocks(rows: Sequence[Row]) -> tuple[Stock, ...]:
    by_name: dict[str, list[Row]] = {}
    for row in rows:
        by_name.setdefault(row.must("name"), []).append(row)
    return tuple(made(_stock, group, group[0]) for group in by_name.values())


def _stock(rows: Sequence[Row]) -> Stock:
    row = rows[0]
    usual = Stock("usual", "usual", 1.0, (SheetSize(1.0, 1.0),), Kerf.same(0.2))
    kerf_x = either(row.length_mm("kerf_x_mm"), usual.kerf.x_mm)
    press = row.length_mm("press_mm")
    return Stock(
        row.must("name"),
        row.must("material"),
        needed_mm(row, "thickness_mm"),
        tuple(
            SheetSize(
                needed_mm(r, "width_mm"),
                needed_mm(r, "height_mm"),
                r.number("price"),
                r.whole("count"),
                r.flag("price_invented"),
            )
            for r in rows
        ),
        Kerf(
            kerf_x,
            either(row.length_mm("kerf_y_mm"), kerf_x),
            row.length_mm("kerf_u_mm"),
            row.text("kerf_basis", "unmeasured"),
        ),
        row.length_mm("measured_thickness_mm"),
        row.length_mm("thickness_u_mm"),
        row.flag("grain"),
        row.number("density_g_per_cm3"),
        either(row.number("cut_speed_mm_per_s"), usual.cut_speed_mm_per_s),
        either(row.length_mm("interference_mm"), usual.interference_mm),
        row.text("note"),
        row.flag("masked"),
        row.text("supplier"),
        None
        if press is None
        else FitTargets(
            needed_mm(row, "slip_mm"),
            needed_mm(row, "push_mm"),
            press,
            needed_mm(row, "fit_u_mm"),
            row.text("fit_basis"),
        ),
    )


def _offcut_rows(offcut: Offcut) -> Iterable[Cells]:
    yield {
        "label": offcut.label,
        "stock": offcut.stock_name,
        "outline": _ring_text(offcut.outline),
        "holes": " | ".join(_ring_text(hole) for hole in offcut.holes),
        "measured_thickness_mm": offcut.measured_thickness_mm,
        "price": offcut.price,
        "cut_from": offcut.cut_from,
        "note": offcut.note,
    }


def _offcuts(rows: Sequence[Row]) -> tuple[Offcut, ...]:
    return tuple(made(_offcut, row, row) for row in rows)


def _offcut(row: Row) -> Offcut:
    holes = row.text("holes")
    return Offcut(
        row.text("label"),
        row.must("stock"),
        _ring(row, "outline", row.must("outline")),
        tuple(_ring(row, "holes", text) for text in holes.split("|")) if holes else (),
        row.length_mm("measured_thickness_mm"),
        row.number("price"),
        row.text("cut_from"),
        row.text("note"),
    )


def _ring_text(ring: Contour) -> str:
    """Corners as `x y` or `x y bulge` in mm, parted by semicolons."""
    return "; ".join(
        " ".join(repr(number) for number in (v if v.bulge else v[:2])) for v in ring.vertices
    )


def _ring(row: Row, column: str, text: str) -> Contour:
    try:
        corners = [[float(n) for n in corner.split()] for corner in text.split(";")]
        vertices = tuple(Vertex(*corner) for corner in corners)
    except (ValueError, TypeError):
        raise row.error(
            f"column {column}: '{text}' is not an outline",
            "Write corners like 0 0; 300 0; 300 140; 0 140.",
        ) from None
    return Contour(vertices)


def _machine_rows(machine: Machine) -> Iterable[Cells]:
    yield {
        "machine": machine.name,
        "bed_width_mm": machine.bed_width_mm,
        "bed_height_mm": machine.bed_height_mm,
        "travel_mm_per_s": machine.travel_mm_per_s,
        "acceleration_mm_per_s2": machine.acceleration_mm_per_s2,
        "pierce_s": machine.pierce_s,
        "mark_speed_mm_per_s": machine.mark_speed_mm_per_s,
        "origin": machine.profile.origin.value,
        "marks": machine.profile.marks.value,
        "note": machine.note,
    } | {f"{use}_layer": _style_text(getattr(machine.profile, use)) for use in _LAYERS}


_LAYERS = ("inner", "outer", "score", "engrave", "sheet")


def _machines(rows: Sequence[Row]) -> tuple[Machine, ...]:
    return tuple(made(_machine, row, row) for row in rows)


def _machine(row: Row) -> Machine:
    usual = Machine()
    profile = MachineProfile()
    inner, outer, score, engrave, sheet = (
        _style(row, f"{use}_layer") if row.text(f"{use}_layer") else getattr(profile, use)
        for use in _LAYERS
    )
    origin = row.choice("origin", Corner) if row.text("origin") else profile.origin
    marks = row.choice("marks", MarkUse) if row.text("marks") else profile.marks
    return Machine(
        row.must("machine"),
        either(row.length_mm("bed_width_mm"), usual.bed_width_mm),
        either(row.length_mm("bed_height_mm"), usual.bed_height_mm),
        either(row.number("travel_mm_per_s"), usual.travel_mm_per_s),
        either(row.number("acceleration_mm_per_s2"), usual.acceleration_mm_per_s2),
        either(row.number("pierce_s"), usual.pierce_s),
        either(row.number("mark_speed_mm_per_s"), usual.mark_speed_mm_per_s),
        MachineProfile(inner, outer, score, engrave, sheet, origin, marks),
        row.text("note"),
    )


def _style_text(style: LayerStyle) -> str:
    red, green, blue = style.rgb
    return f"{style.layer} {style.aci} #{red:02x}{green:02x}{blue:02x}"


def _style(row: Row, column: str) -> LayerStyle:
    text = row.text(column)
    try:
        layer, aci, colour = text.rsplit(maxsplit=2)
        red, green, blue = bytes.fromhex(colour.removeprefix("#"))
        return LayerStyle(layer, int(aci), (red, green, blue))
    except ValueError:
        raise row.error(
            f"column {column}: '{text}' is not a layer with its colours",
            "Write name, colour number and colour, like CUT-INNER 5 #0072b2.",
        ) from None


TABLES = (
    Table(STOCK, STOCK_COLUMNS, "material", _stock_rows, _stocks),
    Table(OFFCUT, OFFCUT_COLUMNS, "outline", _offcut_rows, _offcuts),
    Table(MACHINE, MACHINE_COLUMNS, "bed_width_mm", _machine_rows, _machines),
    Table(RECORD, RECORD_COLUMNS, "on", record_rows, records_of),
)
