"""A machine as entered: what stands against it, word for word, and what becomes of it."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import ezdxf
import pytest

from lasernest.domain.contours import Contour
from lasernest.domain.cutting import Corner, CutPath, MarkUse, PathKind, SheetCut
from lasernest.domain.stock import Machine
from lasernest.exchange.writers.dxf import write_cut_dxf
from lasernest.services.machine_entry import MachineEntry, machine_of, wrongs_of_machine

USUAL = replace(MachineEntry.usual(), name="bench laser")
OTHERS = (Machine(),)


def test_the_usual_values_can_be_kept() -> None:
    assert wrongs_of_machine(USUAL, OTHERS) == ()
    assert machine_of(USUAL) == replace(Machine(), name="bench laser")


def test_all_of_a_machine_that_is_entered_is_kept_and_the_rest_stays() -> None:
    old = replace(Machine(), profile=replace(Machine().profile, marks=MarkUse.ALL_SCORED))
    entry = MachineEntry(
        " big  one ", 600.0, 400.0, Corner.UPPER_LEFT, 80.0, 500.0, 0.0, 40.0,
        "IN", "OUT", "FOLD", "LETTERS", " by the window ",
    )  # fmt: skip
    assert wrongs_of_machine(entry, (old,), old=old) == ()
    kept = machine_of(entry, old=old)
    assert MachineEntry.of(kept) == replace(entry, name="big one", note="by the window")
    assert kept.profile.marks is MarkUse.ALL_SCORED
    assert kept.profile.outer.rgb == old.profile.outer.rgb


@pytest.mark.parametrize(
    ("changes", "field", "sentence"),
    [
        ({"name": " "}, "name", "Say what the shop calls it."),
        (
            {"name": "Workshop  LASER"},
            "name",
            "There is a machine called workshop laser already. Choose another name.",
        ),
        ({"bed_width_mm": None}, "bed width", "The width of the bed is missing."),
        ({"pierce_s": None}, "pierce", "The pierce time is missing; it may be 0 s."),
        (
            {"outer": ""},
            "outer",
            "The layer needs a name: the one that the machine's program looks for.",
        ),
        (
            {"score": "cut-outer"},
            "score",
            "cut-outer holds outer cuts already. Each kind of line needs a layer of its own.",
        ),
        (
            {"inner": "sheet"},
            "inner",
            "sheet holds the edge of the sheet, which is not cut. "
            "Each kind of line needs a layer of its own.",
        ),
        ({"inner": "a/b"}, "inner", "A layer's name cannot hold the sign /"),
        (
            {"inner": "x" * 32},
            "inner",
            "A layer's name has 31 letters at most; this has 32.",
        ),
        (
            {"engrave": "切"},
            "engrave",
            "A layer's name can hold Latin letters, digits and signs such as - and _ only.",
        ),
        ({"outer": "0"}, "outer", "Layer 0 is special in every drawing. Choose another name."),
    ],
)
def test_what_stands_against_it_is_told_of_its_field(
    changes: dict[str, object], field: str, sentence: str
) -> None:
    entry = replace(USUAL, **changes)  # type: ignore[arg-type] # names are the entry's
    (wrong,) = wrongs_of_machine(entry, OTHERS)
    assert (wrong.field, wrong.sentence) == (field, sentence)


def test_a_machine_may_keep_its_own_name() -> None:
    assert wrongs_of_machine(MachineEntry.of(Machine()), OTHERS, old=Machine()) == ()


@pytest.mark.parametrize("version", ["R2000", "R12"])
@pytest.mark.parametrize("name", ["Cut 1", "ä-Schnitt", "a'b", "#1", "x" * 31, "a%b", "{a}"])
def test_a_name_that_is_taken_is_read_back_from_the_file(
    tmp_path: Path, version: str, name: str
) -> None:
    entry = replace(USUAL, outer=name)
    assert wrongs_of_machine(entry, OTHERS) == ()
    cut = SheetCut(99, 99, (CutPath(PathKind.CUT_OUTER, Contour.rectangle(1, 1, 5, 5)),))
    file = tmp_path / "cut.dxf"
    write_cut_dxf(cut, file, profile=machine_of(entry).profile, version=version)
    drawing = ezdxf.readfile(file)  # type: ignore[attr-defined] # the library re-exports it
    assert [e.dxf.layer for e in drawing.modelspace()] == ["SHEET", name]
