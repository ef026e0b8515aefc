from __future__ import annotations

from dataclasses import replace
from datetime import date
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from lasernest.domain.contours import Contour, Vertex
from lasernest.domain.cutting import Corner, LayerStyle, MachineProfile, MarkUse
from lasernest.domain.offcuts import Offcut
from lasernest.domain.readings import Axis, Face, Feel, FeelReading, Method, Reading, Rung
from lasernest.domain.records import CombDrawn, CutSettings, KerfRecord
from lasernest.domain.stock import FitTargets, Kerf, Machine, SheetSize, Stock
from lasernest.errors import NotFoundError, UnreadableFileError
from lasernest.shop.book import ShopBook
from lasernest.shop.record_table import readings_in
from lasernest.shop.rows import read_rows, write_rows
from lasernest.shop.tables import TABLES, table_in

OAK = Stock(
    'oak "A", thin',
    "oak plywood",
    4.0,
    (SheetSize(609.6, 304.8, 9.5, 3), SheetSize(1220.0, 610.0)),
    Kerf(0.21, 0.19, 0.003, "comb of 1 May 2026"),
    3.93,
    0.012,
    True,
    0.71,
    8.5,
    0.07,
    "line one\nline two; with, marks",
    True,
    "yard 12",
    FitTargets(-0.05, 0.02, 0.08, 0.004, "comb of 1 May 2026"),
)
COMB = KerfRecord(
    "MDF 3 mm",
    date(2026, 5, 1),
    (
        Reading(Method.FRAME, (10.0, 2.09), Axis.X),
        Reading(Method.PAIR, (19.8, 20.2, 20.0), Axis.Y, Face.TOP, False, "a chip"),
    ),
    (FeelReading(Rung.SLOT, 3.05, 2.82, Feel.PRESS), FeelReading(Rung.GAP, 5.0, 4.6, Feel.FALLS)),
    CutSettings("big laser", "50 mm", 12.5, 0.07, 2),
    (3.02, 3.05),
    CombDrawn(3.04, 0.18, 0.17, (-0.1, 0.0, 0.05, 0.1, 0.2), True),
    note="a note, with a comma",
)


@pytest.fixture
def book(tmp_path: Path) -> ShopBook:
    return ShopBook.open(tmp_path / "book.sqlite")


def through_a_table(tmp_path: Path, kind: str, values: list[object]) -> tuple[object, ...]:
    table = next(t for t in TABLES if t.kind == kind)
    path = tmp_path / f"{kind}.csv"
    path.write_bytes(write_rows(table.columns, [r for v in values for r in table.rows_of(v)]))
    found, read = table_in(path)
    assert found is table
    return read


def test_values_come_back_from_their_table(tmp_path: Path) -> None:
    plain = Stock("plain", "MDF", 3.0, (SheetSize(600.0, 400.0),), Kerf.same(0.2))
    stocks = through_a_table(tmp_path, "stock", [OAK, plain])
    assert stocks == (OAK, replace(plain, kerf=replace(plain.kerf, basis="given")))
    assert stocks[0].note == OAK.note  # type: ignore[attr-defined]
    ring = Contour((Vertex(0, 0), Vertex(120, 0, 0.25), Vertex(120, 80), Vertex(0, 200.5)))
    holes = (Contour.circle(30.0, 30.0, 10.0).reversed(), Contour.circle(60.0, 30.0, 5.0))
    offcut = Offcut("A01", "oak", ring, holes, 3.9, 2.5, "clocks", "a burnt corner")
    assert through_a_table(tmp_path, "offcut", [offcut]) == (offcut,)
    profile = MachineProfile(
        inner=LayerStyle("holes first", 3, (1, 2, 255)),
        origin=Corner.UPPER_RIGHT,
        marks=MarkUse.ALL_SCORED,
    )
    machine = Machine("big laser", 1600.0, 1000.0, 350.0, 900.0, 0.3, 80.0, profile, "left")
    assert through_a_table(tmp_path, "machine", [machine, Machine()]) == (machine, Machine())
    bare = KerfRecord("oak", date(2026, 1, 2))
    assert through_a_table(tmp_path, "record", [COMB, bare]) == (COMB, bare)


texts = st.text(st.characters(codec="utf-8", exclude_characters="\r\0", exclude_categories=["Cs"]))
names = texts.map(lambda t: t.strip()).filter(bool)
sizes = st.floats(0.1, 5000.0)


@given(
    name=names,
    material=names,
    thickness=st.floats(0.1, 30.0),
    kerf=st.tuples(st.floats(0.0, 1.0), st.floats(0.0, 1.0)),
    sheets=st.lists(
        st.builds(
            SheetSize,
            sizes,
            sizes,
            st.none() | st.floats(0.01, 1e4),
            st.none() | st.integers(0, 500),
            st.booleans(),
        ),
        min_size=1,
        max_size=4,
    ),
    grain=st.booleans(),
    note=texts.map(str.strip),
)
def test_any_stock_comes_back(
    tmp_path_factory: pytest.TempPathFactory,
    name: str,
    material: str,
    thickness: float,
    kerf: tuple[float, float],
    sheets: list[SheetSize],
    grain: bool,
    note: str,
) -> None:
    stock = Stock(name, material, thickness, tuple(sheets), Kerf(*kerf), grain=grain, note=note)
    (back,) = through_a_table(tmp_path_factory.mktemp("t"), "stock", [stock])
    assert back == stock
    assert back.note == note  # type: ignore[attr-defined]


def test_tables_as_other_spreadsheets_write_them(tmp_path: Path) -> None:
    path = tmp_path / "stock.csv"
    path.write_text(
        "\ufeffMaterial;Name;thickness_mm;width_mm;height_mm;price;kerf_x_mm\r\n"
        "oak;oak 3;3,05;24in;12in;6,50;0,19\r\n\r\noak;oak 3;3,05;600;400;;\r\n",
        "utf-8",
    )
    _, (stock,) = table_in(path)
    assert stock.name == "oak 3"
    assert stock.thickness_mm == 3.05
    assert [s.width_mm for s in stock.sizes] == [pytest.approx(609.6), 600.0]
    assert [s.price for s in stock.sizes] == [6.5, None]
    assert (stock.kerf.x_mm, stock.kerf.y_mm) == (0.19, 0.19)
    assert not stock.kerf.measured


@pytest.mark.parametrize(
    ("text", "sentence"),
    [
        ("name,material,thickness_mm,width_mm,height_mm\noak,oak,3,wide,400\n",
         "t.csv, line 2: column width_mm: 'wide' is not a length. Write it like"),
        ("name,material,thickness_mm,width_mm,height_mm\noak,oak,,600,400\n",
         "t.csv, line 2: the column thickness_mm is empty. Fill it in."),
        ("name,material,thickness_mm,width_mm,height_mm,price\noak,oak,3,600,400,-2\n",
         "t.csv, line 2: a sheet price of -2 cannot be right."),
        ("name,material,thickness_mm,width_mm,height_mm,count\noak,oak,3,600,400,2.5\n",
         "t.csv, line 2: column count: 2.5 is not a whole number."),
        ("name,material,thickness_mm,width_mm,height_mm,grain\noak,oak,3,600,400,maybe\n",
         "t.csv, line 2: column grain: 'maybe' is neither yes nor no."),
        ("label,stock,outline\nA01,oak,0 0; 1 zwei\n",
         "t.csv, line 2: column outline: '0 0; 1 zwei' is not an outline. Write corners like"),
        ("label,stock,outline\nA01,oak,0 0; 100 0\n",
         "t.csv, line 2: a closed contour of two corners has no area"),
        ("machine,bed_width_mm\nbig,0\n", "t.csv, line 2: a bed width of 0 cannot be."),
        ("machine,bed_width_mm,inner_layer\nbig,900,CUT\n",
         "t.csv, line 2: column inner_layer: 'CUT' is not a layer with its colours."),
        ("stock,on,reading\noak,2026-13-01,frame=10:2\n",
         "t.csv, line 2: column on: '2026-13-01' is not a date. Write it like 2026-11-25."),
        ("stock,on,reading\noak,2026-11-01,frame=ten:2\n",
         "t.csv, line 2: 'ten' in 'frame=ten:2' is not a number."),
        ("stock,on,rung,finger_mm,gap_mm,feel\noak,2026-11-01,slot,3,2.8,snug\n",
         "t.csv, line 2: column feel: 'snug' is not known. Use one of falls through,"),
        ("stock,on,comb\noak,2026-11-01,3 0.2 C 0.1\n",
         "t.csv, line 2: column comb: '3 0.2 C 0.1' is not a comb."),
        ("colour,shape\nred,round\n",
         "t.csv: this is not a table of the shop book. Its header must name material (stock),"),
        ("", "t.csv: there is no row in this table."),
        ('name,"material\n', "t.csv, line 1: this is not a table: unexpected end of data."),
    ],
)  # fmt: skip
def test_a_bad_table_is_told_by_line_and_column_and_changes_nothing(
    book: ShopBook, tmp_path: Path, text: str, sentence: str
) -> None:
    path = tmp_path / "t.csv"
    path.write_text(text)
    before = book.changes()
    with pytest.raises(UnreadableFileError) as caught:
        book.take_in(path)
    assert caught.value.sentence().startswith(sentence)
    assert book.changes() == before


def test_what_is_no_text_is_told(tmp_path: Path) -> None:
    (tmp_path / "t.csv").write_bytes(b"\xff\xfe\x00name")
    with pytest.raises(UnreadableFileError, match="the table cannot be read"):
        read_rows(tmp_path / "t.csv")
    with pytest.raises(UnreadableFileError, match="the table cannot be read"):
        read_rows(tmp_path / "absent.csv")


def test_a_table_is_taken_in_as_one_change(book: ShopBook, tmp_path: Path) -> None:
    mdf = book.stock("MDF 3 mm")
    path = tmp_path / "stock.csv"
    path.write_bytes(book.table("stock"))
    everything = book.take_in(path)
    assert (everything.added, everything.changed) == (0, 0)
    assert everything.same == len(book.stocks())
    text = path.read_text().replace(",8.8,", ",9.9,")
    path.write_text(text + "walnut,walnut ply,4,,,yes,,,,,,,,,,,,,,,,600,400,,,\n")
    taken = book.take_in(path)
    assert (taken.kind, taken.added, taken.changed) == ("stock", 1, 1)
    assert book.stock("walnut").grain
    assert book.stock("MDF 3 mm").sizes[1].price == 9.9
    book.undo(taken.change_number)
    assert book.stock("MDF 3 mm") == mdf
    with pytest.raises(NotFoundError):
        book.stock("walnut")


def test_offcuts_and_machines_are_taken_in(book: ShopBook, tmp_path: Path) -> None:
    path = tmp_path / "offcuts.csv"
    path.write_text(
        "label,stock,outline\n,mdf 3 mm,0 0; 300 0; 300 140; 0 140\nwindow,MDF 6 mm,0 0; 9 0; 0 9\n"
    )
    assert book.take_in(path).added == 2
    assert [(o.label, o.stock_name) for o in book.offcuts()] == [
        ("A01", "MDF 3 mm"),
        ("window", "MDF 6 mm"),
    ]
    path.write_bytes(book.table("offcut").replace(b"window", b"Window"))
    taken = book.take_in(path)
    assert (taken.added, taken.changed, taken.same) == (0, 1, 1)
    assert [o.label for o in book.offcuts()] == ["A01", "Window"]
    path.write_text("label,stock,outline\n,gold,0 0; 300 0; 300 140; 0 140\n")
    with pytest.raises(NotFoundError):
        book.take_in(path)
    machines = tmp_path / "machines.csv"
    machines.write_bytes(book.table("machine").replace(b"workshop", b"school"))
    assert book.take_in(machines).added == 1
    assert [m.name for m in book.machines()] == ["school laser", "workshop laser"]


def test_records_of_another_shop_get_numbers_of_their_own(book: ShopBook, tmp_path: Path) -> None:
    mine = book.add_record(replace(COMB, note="mine"))
    path = tmp_path / "records.csv"
    table = next(t for t in TABLES if t.kind == "record")
    theirs = replace(COMB, number=1, note="theirs")
    path.write_bytes(write_rows(table.columns, list(table.rows_of(theirs))))
    assert book.take_in(path).added == 1
    again = book.take_in(path)
    assert (again.added, again.same) == (0, 1)
    assert [(r.number, r.note) for r in book.records()] == [(2, "theirs"), (1, "mine")]
    path.write_bytes(book.table("record"))
    assert book.take_in(path).same == 2
    assert mine in book.records()


def test_readings_from_a_table(tmp_path: Path) -> None:
    path = tmp_path / "readings.csv"
    path.write_text("reading;used;note\nx:frame=10:2,09;yes;a\npair=0.785in:0.795in;no;b\n;;\n")
    first, second = readings_in(path)
    assert first == Reading(Method.FRAME, (10.0, 2.09), Axis.X)
    assert (second.used, second.numbers[0]) == (False, pytest.approx(19.939))
    path.write_text("weight,colour\n1,2\n")
    with pytest.raises(UnreadableFileError) as caught:
        readings_in(path)
    assert caught.value.sentence() == (
        "readings.csv: there is no reading in this table. Give it a column called reading, "
        "with entries like frame=10:2.09."
    )
