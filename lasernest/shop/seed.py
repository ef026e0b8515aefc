"""The stock a new shop book starts with, from `resources/stock.toml`."""

from __future__ import annotations

import tomllib
from pathlib import Path

import msgspec

from lasernest.domain.stock import Kerf, SheetSize, Stock
from lasernest.errors import UnreadableFileError, Where
from lasernest.units import parse_size_mm

UNMEASURED = "starting value, not measured in this shop"


class _SizeRow(msgspec.Struct, forbid_unknown_fields=True):
    size_mm: str
    invented_price: float | None = None


class _StockRow(msgspec.Struct, forbid_unknown_fields=True):
    name: str
    material: str
    thickness_mm: float
    kerf_mm: float
    interference_mm: float
    cut_speed_mm_per_s: float
    sizes: list[_SizeRow]
    density_g_per_cm3: float | None = None
    grain: bool = False
    masked: bool = False
    note: str = ""


class _File(msgspec.Struct, forbid_unknown_fields=True):
    stock: list[_StockRow]


def read_stock_file(path: Path) -> tuple[Stock, ...]:
    """The stocks of a file in the form of `resources/stock.toml`; every kerf is unmeasured.

    Raises:
        UnreadableFileError: not such a file.
        BadValueError: a row that cannot be.
    """
    try:
        rows = msgspec.convert(tomllib.loads(path.read_text("utf-8")), _File).stock
    except (OSError, tomllib.TOMLDecodeError, msgspec.ValidationError) as error:
        raise UnreadableFileError(
            f"the list of stocks cannot be read: {error}", where=Where(file=path)
        ) from error
    return tuple(_stock(row) for row in rows)


def _stock(row: _StockRow) -> Stock:
    return Stock(
        name=row.name,
        material=row.material,
        thickness_mm=row.thickness_mm,
        sizes=tuple(_size(size) for size in row.sizes),
        kerf=Kerf.same(row.kerf_mm, basis=UNMEASURED),
        grain=row.grain,
        density_g_per_cm3=row.density_g_per_cm3,
        cut_speed_mm_per_s=row.cut_speed_mm_per_s,
        interference_mm=row.interference_mm,
        note=row.note,
        masked=row.masked,
    )


def _size(row: _SizeRow) -> SheetSize:
    width_mm, height_mm = parse_size_mm(row.size_mm)
    priced = row.invented_price is not None
    return SheetSize(width_mm, height_mm, row.invented_price, price_invented=priced)
