"""A stock as a maker enters it, and what the shop book is to keep of it.

What is entered may be incomplete or wrong; `wrongs_of` tells what stands against it, field
by field, and `stock_of` makes the stock once nothing does. What nobody enters (kerf, speed,
density) starts from the sheet on hand that is most like it, marked as unmeasured.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

from lasernest.domain.fits import Family, family_of
from lasernest.domain.offcuts import Offcut
from lasernest.domain.safety import Verdict, judge_material
from lasernest.domain.stock import Kerf, SheetSize, Stock
from lasernest.kerf.typical import scaled_speed, typical_kerf_mm
from lasernest.services.entries import Wrong, in_one_line, same_words, taken

COMMON_MATERIALS = (
    "birch plywood", "poplar plywood", "cast acrylic", "extruded acrylic", "MDF", "grey board",
)  # fmt: skip
"""Offered even where the shop holds none of them; all may be cut with a laser."""

ANOTHER_SHEET_SHARE = 0.2
"""A sheet sold as so much thicker or thinner than it was measured is another sheet (common
practice, no source: makers' tolerances of sheets from 2 mm on stay below)."""

MATERIAL, THICKNESS, NAME = "material", "thickness", "name"


@dataclass(frozen=True, slots=True)
class SheetEntry:
    """One size of sheet as entered; None where nothing was."""

    width_mm: float | None = None
    height_mm: float | None = None
    price: float | None = None
    count: int | None = None

    @property
    def is_empty(self) -> bool:
        return self == SheetEntry()


@dataclass(frozen=True, slots=True)
class StockEntry:
    """A stock as entered."""

    material: str = ""
    thickness_mm: float | None = None
    """What it is sold as."""
    name: str = ""
    """Empty: called after its material and thickness."""
    grain: bool = False
    sheets: tuple[SheetEntry, ...] = (SheetEntry(),)
    note: str = ""

    @classmethod
    def of(cls, stock: Stock) -> StockEntry:
        """A stock to be changed."""
        sheets = (SheetEntry(s.width_mm, s.height_mm, s.price, s.count) for s in stock.sizes)
        return cls(
            stock.material,
            stock.thickness_mm,
            stock.name,
            stock.grain,
            tuple(sheets),
            stock.note,
        )


@dataclass(frozen=True, slots=True)
class Caution:
    """What is to be known of a material before it is cut."""

    sentence: str
    refused: bool
    """True when no cut file is ever written for it."""


def sheet_field(number: int, part: str) -> str:
    """The name of a field of one sheet: `width`, `height`, `price` or `count`."""
    return f"sheet {number} {part}"


def materials_of(stocks: Sequence[Stock]) -> tuple[str, ...]:
    """Materials to choose from: those the shop holds, then the common ones."""
    return tuple(dict.fromkeys((*(stock.material for stock in stocks), *COMMON_MATERIALS)))


def usual_name(material: str, thickness_mm: float | None) -> str:
    """What a stock is called unless the shop calls it otherwise."""
    words = in_one_line(material)
    return f"{words} {thickness_mm:g} mm" if words and thickness_mm is not None else words


def caution_of(material: str, name: str = "") -> Caution | None:
    """What to tell of a material as soon as it is entered; None where it may simply be cut."""
    if not material.strip():
        return None
    judged = judge_material(f"{material} {name}")
    if judged.verdict is Verdict.ALLOWED:
        return None
    if judged.verdict is Verdict.REFUSED:
        return Caution(
            f"It must not be laser cut: no cut file is written for it. {judged.reason}",
            refused=True,
        )
    return Caution(judged.reason, refused=False)


def has_grain(material: str, stocks: Sequence[Stock]) -> bool:
    """Whether a new stock of this material keeps its grain: as those on hand do, else plywood."""
    like = [stock for stock in stocks if same_words(stock.material, material)]
    return like[0].grain if like else "ply" in material.casefold()


def wrongs_of(
    entry: StockEntry, stocks: Sequence[Stock], *, old: Stock | None = None
) -> tuple[Wrong, ...]:
    """What stands against an entry, in the order of its fields; empty when it can be kept.

    Args:
        entry: what was entered.
        stocks: those of the shop book.
        old: the one that is changed; None for a new one.
    """
    found: list[Wrong] = []
    if not entry.material.strip():
        found.append(Wrong(MATERIAL, "Say what it is made of."))
    if entry.thickness_mm is None:
        found.append(Wrong(THICKNESS, "The thickness it is sold as is missing."))
    name = _name(entry)
    others = [s.name for s in stocks if old is None or s.name != old.name]
    if other := taken(name, others):
        found.append(Wrong(NAME, f"There is a stock called {other} already. Choose another name."))
    return (*found, *_wrong_sheets(entry.sheets))


def _wrong_sheets(sheets: Sequence[SheetEntry]) -> list[Wrong]:
    found: list[Wrong] = []
    seen: set[tuple[float, float]] = set()
    filled = [sheet for sheet in sheets if not sheet.is_empty]
    for number, sheet in enumerate(sheets, start=1):
        if sheet.is_empty and (filled or number > 1):
            continue  # a row that was never filled in
        width, height = sheet_field(number, "width"), sheet_field(number, "height")
        if sheet.width_mm is None:
            found.append(Wrong(width, "The width of the sheet, along the grain, is missing."))
        if sheet.height_mm is None:
            found.append(Wrong(height, "The height of the sheet is missing."))
        if sheet.width_mm is None or sheet.height_mm is None:
            continue
        size = (sheet.width_mm, sheet.height_mm)
        if size in seen:
            found.append(Wrong(width, "This size is here twice; one row for each size is enough."))
        seen.add(size)
    return found


def is_another_sheet(old: Stock, thickness_mm: float | None) -> bool:
    """Whether a stock is sold as a thickness that what was measured of it cannot be of."""
    if thickness_mm is None or thickness_mm == old.thickness_mm:
        return False
    off_mm = abs(old.working_thickness_mm - thickness_mm)
    return off_mm > ANOTHER_SHEET_SHARE * thickness_mm


def stock_of(entry: StockEntry, stocks: Sequence[Stock], *, old: Stock | None = None) -> Stock:
    """The stock to keep.

    Args:
        entry: one that `wrongs_of` has nothing against.
        stocks: those of the shop book, to start from.
        old: the one that is changed; what is not entered stays as it has it, but what was
            measured goes when the thickness is that of another sheet.

    Raises:
        BadValueError: a value that cannot be.
    """
    material, thickness_mm = in_one_line(entry.material), entry.thickness_mm or 0.0
    before = old.sizes if old is not None else ()
    invented = {(s.width_mm, s.height_mm, s.price) for s in before if s.price_invented}
    sizes = tuple(
        SheetSize(
            sheet.width_mm or 0.0,
            sheet.height_mm or 0.0,
            sheet.price,
            sheet.count,
            price_invented=(sheet.width_mm, sheet.height_mm, sheet.price) in invented,
        )
        for sheet in entry.sheets
        if not sheet.is_empty
    )
    if old is None or is_another_sheet(old, entry.thickness_mm):
        start = _start(material, thickness_mm, stocks)
        start = start if old is None else replace(start, masked=old.masked, supplier=old.supplier)
    else:
        start = old
    return replace(
        start,
        name=_name(entry),
        material=material,
        thickness_mm=thickness_mm,
        sizes=sizes,
        grain=entry.grain,
        note=entry.note.strip(),
    )


@dataclass(frozen=True, slots=True)
class OffcutEntry:
    """A rectangular offcut as entered; without a label it gets the next free one."""

    label: str = ""
    width_mm: float | None = None
    """Along the grain."""
    height_mm: float | None = None


def wrongs_of_offcut(entry: OffcutEntry, labels: Sequence[str]) -> tuple[Wrong, ...]:
    """What stands against an offcut; fields are `width`, `height` and `label`.

    Args:
        entry: what was entered.
        labels: those on the shelf, as far as they are known.
    """
    found = []
    if entry.width_mm is None:
        found.append(Wrong("width", "The width, along the grain, is missing."))
    if entry.height_mm is None:
        found.append(Wrong("height", "The height is missing."))
    if other := taken(entry.label, labels):
        found.append(
            Wrong("label", f"There is an offcut labelled {other} already. Choose another label.")
        )
    return tuple(found)


def offcut_of(entry: OffcutEntry, stock_name: str) -> Offcut:
    """The offcut to put on the shelf, of an entry that `wrongs_of_offcut` has nothing against."""
    label = in_one_line(entry.label)
    return Offcut.rectangle(label, stock_name, entry.width_mm or 0.0, entry.height_mm or 0.0)


def _name(entry: StockEntry) -> str:
    return in_one_line(entry.name) or usual_name(entry.material, entry.thickness_mm)


def _start(material: str, thickness_mm: float, stocks: Sequence[Stock]) -> Stock:
    """What a new stock begins with: kerf in the middle of what is usual, unmeasured."""
    family = family_of(material)
    low_mm, high_mm = typical_kerf_mm(family, thickness_mm)
    new = Stock(
        "new",
        material,
        thickness_mm,
        (SheetSize(1.0, 1.0),),
        Kerf.same(round(0.5 * (low_mm + high_mm), 2), basis="unmeasured"),
    )
    same = [s for s in stocks if same_words(s.material, material)]
    kin = same or [s for s in stocks if family_of(s.material) is family is not Family.OTHER]
    if not kin:
        return new
    nearest = min(kin, key=lambda s: abs(s.thickness_mm - thickness_mm))
    speed = scaled_speed(
        nearest.cut_speed_mm_per_s,
        family=family,
        from_mm=nearest.thickness_mm,
        to_mm=thickness_mm,
    )
    return replace(
        new,
        density_g_per_cm3=nearest.density_g_per_cm3 if same else None,
        cut_speed_mm_per_s=float(f"{speed:.2g}"),
        interference_mm=nearest.interference_mm,
        masked=nearest.masked,
    )
