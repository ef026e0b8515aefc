"""Kerf records as a CSV table: one row for each reading and each felt rung.

Rows of one record share its number; rows without a number belong to one
record when stock, day and settings are the same.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import replace
from pathlib import Path

from lasernest.domain.readings import Feel, FeelReading, Reading, Rung, parse_reading
from lasernest.domain.records import CombDrawn, CutSettings, KerfRecord
from lasernest.errors import UnreadableFileError, Where
from lasernest.shop.rows import Cells, Row, made, needed_mm, read_rows

_SHARED = (
    "record", "stock", "on", "machine", "lens", "speed_mm_per_s", "power_percent", "passes",
    "thickness_mm", "comb", "note",
)  # fmt: skip
RECORD_COLUMNS = (
    *_SHARED[:-1], "reading", "used", "reading_note", "rung", "finger_mm", "gap_mm", "feel", "note",
)  # fmt: skip


def readings_in(path: Path) -> tuple[Reading, ...]:
    """The readings in a table with a column `reading`, such as `frame=10:2.09`.

    Raises:
        UnreadableFileError: no such table, or a reading that cannot be; the
            line is named.
    """
    rows = read_rows(path)
    readings = tuple(made(_reading, row, row) for row in rows if row.text("reading"))
    if not readings:
        raise UnreadableFileError(
            "there is no reading in this table",
            where=Where(file=path),
            todo="Give it a column called reading, with entries like frame=10:2.09.",
        )
    return readings


def record_rows(record: KerfRecord) -> Iterable[Cells]:
    """The rows of one record."""
    settings, comb = record.settings, record.comb
    shared: dict[str, object] = {
        "record": record.number or None,
        "stock": record.stock_name,
        "on": record.on.isoformat(),
        "machine": settings.machine,
        "lens": settings.lens,
        "speed_mm_per_s": settings.speed_mm_per_s,
        "power_percent": settings.power_share and round(100.0 * settings.power_share, 6),
        "passes": settings.passes,
        "thickness_mm": " ".join(repr(t) for t in record.thickness_mm),
        "comb": comb and _comb_text(comb),
        "note": record.note,
    }
    if not record.readings and not record.felt:
        yield shared
    for reading in record.readings:
        yield shared | {
            "reading": reading.text(),
            "used": reading.used,
            "reading_note": reading.note,
        }
    for felt in record.felt:
        yield shared | {
            "rung": felt.rung.value,
            "finger_mm": felt.finger_mm,
            "gap_mm": felt.gap_mm,
            "feel": felt.feel.value,
        }


def records_of(rows: Sequence[Row]) -> tuple[KerfRecord, ...]:
    """The records in a table.

    Raises:
        UnreadableFileError: a cell that cannot be; line and column are named.
    """
    groups: dict[tuple[str, ...], list[Row]] = {}
    for row in rows:
        groups.setdefault(tuple(row.text(column) for column in _SHARED), []).append(row)
    return tuple(made(_record, group, group[0]) for group in groups.values())


def _record(rows: Sequence[Row]) -> KerfRecord:
    row = rows[0]
    power = row.number("power_percent")
    thickness = row.text("thickness_mm")
    comb = row.text("comb")
    return KerfRecord(
        row.must("stock"),
        row.day("on"),
        tuple(made(_reading, r, r) for r in rows if r.text("reading")),
        tuple(made(_felt, r, r) for r in rows if r.text("feel")),
        CutSettings(
            row.text("machine"),
            row.text("lens"),
            row.number("speed_mm_per_s"),
            None if power is None else power / 100.0,
            row.whole("passes") or 1,
        ),
        _numbers(row, "thickness_mm", thickness) if thickness else (),
        _comb(row, comb) if comb else None,
        row.whole("record") or 0,
        row.text("note"),
    )


def _reading(row: Row) -> Reading:
    reading = parse_reading(row.must("reading"))
    return replace(reading, used=row.flag("used", True), note=row.text("reading_note"))


def _felt(row: Row) -> FeelReading:
    return FeelReading(
        row.choice("rung", Rung),
        needed_mm(row, "finger_mm"),
        needed_mm(row, "gap_mm"),
        row.choice("feel", Feel),
    )


def _comb_text(comb: CombDrawn) -> str:
    """Thickness, kerf x and y, C or U for (un)compensated, then the interferences."""
    kind = "C" if comb.compensated else "U"
    numbers = " ".join(repr(i) for i in comb.interferences_mm)
    return f"{comb.thickness_mm!r} {comb.kerf_x_mm!r} {comb.kerf_y_mm!r} {kind} {numbers}"


def _comb(row: Row, text: str) -> CombDrawn:
    head, kind, tail = text.upper().partition(" C ")
    if not kind:
        head, kind, tail = text.upper().partition(" U ")
    sizes = _numbers(row, "comb", head)
    if not kind or len(sizes) != 3:
        raise row.error(
            f"column comb: '{text}' is not a comb",
            "Write thickness, kerf x, kerf y, C or U, then the interferences.",
        )
    return CombDrawn(*sizes, _numbers(row, "comb", tail), compensated=kind == " C ")


def _numbers(row: Row, column: str, text: str) -> tuple[float, ...]:
    try:
        return tuple(float(number) for number in text.split())
    except ValueError:
        raise row.error(f"column {column}: '{text}' is not a list of numbers") from None
