"""What lines are for is told once and remembered for the next drawing with the same layers."""

from __future__ import annotations

from datetime import date
from pathlib import Path

import pytest

from lasernest.domain.control import QuietControl
from lasernest.domain.drawing import LineKind, LineUse
from lasernest.domain.import_choices import ImportChoices
from lasernest.domain.line_uses import LineUses
from lasernest.domain.panels import MarkKind
from lasernest.errors import UsageError
from lasernest.job import save_job
from lasernest.services.importing import bring_in, remember_uses, shop_book_if_any
from lasernest.services.main_job import read_inputs
from lasernest.shop.book import ShopBook
from tests.unit.exchange.drawings import dxf_text, write

_PLATE = "LWPOLYLINE 8 PLATE 90 4 70 1 10 0 20 0 10 100 20 0 10 100 20 60 10 0 20 60"
_RING = "CIRCLE 8 RINGS 62 1 10 50 20 30 40 5"
_ENGRAVED = ImportChoices(uses=LineUses().with_layer("rings", LineUse.ENGRAVE))


@pytest.fixture
def plate(tmp_path: Path) -> Path:
    return write(tmp_path, dxf_text(_PLATE, _RING), "plate.dxf")


def _shop() -> ShopBook:
    return ShopBook.open()


def test_uses_are_taken_again_for_the_same_layers(plate: Path, tmp_path: Path) -> None:
    shop = _shop()
    told = bring_in(plate, _ENGRAVED, control=QuietControl(), shop=shop)
    (panel,) = told.outlines.panels
    assert [mark.kind for mark in panel.marks] == [MarkKind.ENGRAVE]
    assert panel.inner == ()
    remember_uses(told, shop, on=date(2026, 3, 4))

    other = write(tmp_path, dxf_text(_PLATE, _RING.replace("40 5", "40 8")), "other.dxf")
    again = bring_in(other, control=QuietControl(), shop=_shop())
    assert [mark.kind for mark in again.outlines.panels[0].marks] == [MarkKind.ENGRAVE]
    assert again.choices.uses == LineUses((("rings", LineUse.ENGRAVE),))
    (said,) = [f for f in again.outlines.findings if f.code == "uses-remembered"]
    assert said.message == (
        "What lines are for was taken from plate.dxf of 2026-03-04, which has the same layers: "
        "rings = engrave."
    )


def test_other_layers_and_a_table_of_their_own_are_not_touched(plate: Path, tmp_path: Path) -> None:
    shop = _shop()
    remember_uses(bring_in(plate, _ENGRAVED, control=QuietControl()), shop)
    stranger = write(tmp_path, dxf_text(_PLATE, _RING.replace("RINGS", "BORES")), "stranger.dxf")
    assert len(bring_in(stranger, control=QuietControl(), shop=shop).outlines.panels[0].inner) == 1
    cut = ImportChoices(uses=LineUses().with_layer("RINGS", LineUse.CUT))
    assert (
        len(bring_in(plate, cut, control=QuietControl(), shop=shop).outlines.panels[0].inner) == 1
    )


def test_the_latest_table_counts_and_rows_of_other_drawings_are_not_kept(plate: Path) -> None:
    shop = _shop()
    remember_uses(bring_in(plate, _ENGRAVED, control=QuietControl()), shop)
    scored = LineUses().with_layer("RINGS", LineUse.SCORE).with_layer("LID", LineUse.IGNORE)
    scored = scored.with_colour("#123456", LineUse.IGNORE)
    remember_uses(bring_in(plate, ImportChoices(uses=scored), control=QuietControl()), shop)
    again = bring_in(plate, control=QuietControl(), shop=shop)
    assert again.choices.uses == LineUses((("RINGS", LineUse.SCORE),))


def test_a_row_that_speaks_of_no_line_is_said(plate: Path) -> None:
    slip = ImportChoices(uses=LineUses().with_layer("RNGS", LineUse.SCORE))
    outlines = bring_in(plate, slip, control=QuietControl()).outlines
    (said,) = [f for f in outlines.findings if f.code == "use-without-lines"]
    assert said.message == (
        "No line of the drawing is on RNGS, so what was told of it was not used."
    )
    assert said.todo == "The drawing's layers are PLATE, RINGS."


def test_all_lines_are_listed_with_their_use(plate: Path) -> None:
    outlines = bring_in(plate, _ENGRAVED, control=QuietControl()).outlines
    assert outlines.lines == (
        LineKind("PLATE", None, 1, LineUse.CUT),
        LineKind("RINGS", "#ff0000", 1, LineUse.ENGRAVE),
    )


def test_reading_makes_no_shop_book_and_a_job_keeps_how_it_was_read(
    plate: Path, tmp_path: Path
) -> None:
    assert shop_book_if_any() is None
    job = read_inputs([plate], control=QuietControl(), choices=_ENGRAVED)
    assert shop_book_if_any() is None
    assert job.sources[0].choices == _ENGRAVED
    assert [k.use for k in job.sources[0].lines] == [LineUse.CUT, LineUse.ENGRAVE]
    read_inputs([plate], control=QuietControl(), choices=_ENGRAVED, remember=True)
    assert read_inputs([plate], control=QuietControl()).panels == job.panels
    saved = tmp_path / "plate.lasernest"
    save_job(job, saved)
    assert read_inputs([saved], control=QuietControl()) == job
    with pytest.raises(UsageError) as caught:
        read_inputs([saved], control=QuietControl(), choices=_ENGRAVED)
    assert str(caught.value) == (
        "the drawings of a job are read already. "
        "Uses and answers belong to drawings: bring those in anew."
    )
