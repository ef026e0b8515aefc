"""From a plan to files on disk that are read back and proved."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import pytest

from lasernest.domain.contours import Contour, Pose
from lasernest.domain.control import QuietControl
from lasernest.domain.cutting import (
    Corner,
    CutChoices,
    HoldingTabs,
    MachineProfile,
    MarkUse,
    PathKind,
    WorkOrder,
)
from lasernest.domain.panels import Mark, MarkKind, Panel
from lasernest.domain.plan import Placement, Plan, Sheet, SheetPlan
from lasernest.domain.stock import Kerf, Machine, SheetSize, Stock
from lasernest.errors import (
    BadValueError,
    Cancelled,
    NotFoundError,
    RefusedMaterialError,
    UnwritableFileError,
    VanishedContourError,
)
from lasernest.job import Setup
from lasernest.services import cutting
from lasernest.services.cutting import prove_written, read_cut_file, write_cut_files
from tests.cut_kit import finger_panel, front, plate

KERF = Kerf.same(0.2)
PLY = Stock("birch 3", "birch plywood", 3.0, (SheetSize(600, 400),), KERF)
LID = Panel.of(
    "lid",
    Contour.rectangle(0, 0, 80, 40),
    [Contour.circle(20, 20, 5)],
    [
        Mark(Contour.polyline([(40, 5), (40, 35)])),
        Mark(Contour.circle(60, 20, 6), MarkKind.ENGRAVE),
    ],
)
PANELS = {panel.name: panel for panel in (finger_panel(), front(), LID, plate())}
FIRST = SheetPlan(
    Sheet(600, 400),
    (
        Placement("fingers", 1, Pose(10, 10)),
        Placement("fingers", 2, Pose(10, 80)),
        Placement("front", 1, Pose(200, 10, 90)),
        Placement("lid", 1, Pose(250, 200, 30)),
        Placement("lid", 2, Pose(500, 150, 0, mirrored=True)),
    ),
)
SECOND = SheetPlan(Sheet(300, 200), (Placement("plate", 1, Pose(10, 10)),))


def write(out: Path, *sheets: SheetPlan, **options: object) -> tuple[cutting.WrittenSheet, ...]:
    stock, kerf = options.pop("stock", PLY), options.pop("kerf", KERF)
    accepted = (PLY.material, stock.material) if options.pop("accepted", False) else ()  # type: ignore[attr-defined]
    setup = Setup(stock, kerf=kerf, materials_accepted=accepted)  # type: ignore[arg-type]
    given = {"setup": setup, "machine": Machine(), "control": QuietControl()} | options
    return write_cut_files(Plan(sheets), PANELS, out, **given)  # type: ignore[arg-type]


def test_one_sheet(tmp_path: Path) -> None:
    (sheet,) = write(tmp_path / "cut.dxf", FIRST)
    assert sheet.file == tmp_path / "cut.dxf"
    assert sheet.proof.problems == ()
    assert sheet.proof.passed
    assert (sheet.proof.panels_found, sheet.proof.panels_expected) == (5, 5)
    assert sheet.proof.max_deviation_mm <= 0.002
    assert sheet.cut.pierces == 2 + 17 + 4
    assert sheet.time_s == pytest.approx(sheet.time.total_s)
    assert sheet.time.cutting_s == pytest.approx(sheet.cut.cut_length_mm / PLY.cut_speed_mm_per_s)
    assert sorted(name for name, _, _ in sheet.finished) == [
        "fingers", "fingers", "front", "lid", "lid",
    ]  # fmt: skip
    assert [p.name for p in tmp_path.iterdir()] == ["cut.dxf"]


@pytest.mark.parametrize("version", ["R12", "R2000", "R2018"])
@pytest.mark.parametrize("kerf", [Kerf.same(0.1), Kerf.same(0.37)])
def test_versions_and_kerfs(tmp_path: Path, version: str, kerf: Kerf) -> None:
    (sheet,) = write(tmp_path / "cut.dxf", FIRST, version=version, kerf=kerf)
    assert sheet.proof.problems == ()
    assert sheet.proof.passed


def test_several_sheets_are_numbered(tmp_path: Path) -> None:
    sheets = write(tmp_path / "cut.dxf", FIRST, SECOND)
    assert [s.file.name for s in sheets] == ["cut-1.dxf", "cut-2.dxf"]
    assert all(s.proof.passed for s in sheets)


def test_same_plan_same_bytes(tmp_path: Path) -> None:
    write(tmp_path / "a.dxf", FIRST)
    write(tmp_path / "b.dxf", FIRST)
    assert (tmp_path / "a.dxf").read_bytes() == (tmp_path / "b.dxf").read_bytes()


def test_a_tampered_file_fails(tmp_path: Path) -> None:
    (sheet,) = write(tmp_path / "cut.dxf", SECOND)
    text = sheet.file.read_text("cp1252")
    assert text.count("110.1\n") == 2  # the right edge of the path
    sheet.file.write_text(text.replace("110.1\n", "110.0\n"), "cp1252")
    profile, control = MachineProfile(), QuietControl()
    proved = prove_written(sheet.file, SECOND, PANELS, kerf=KERF, profile=profile, control=control)
    assert not proved.proof.passed
    assert proved.proof.max_deviation_mm == pytest.approx(0.1, abs=1e-3)


def test_reading_back_keeps_order_and_kinds(tmp_path: Path) -> None:
    (sheet,) = write(tmp_path / "cut.dxf", FIRST)
    read = read_cut_file(sheet.file, profile=MachineProfile(), control=QuietControl())
    assert [kind for kind, _ in read] == [path.kind for path in sheet.cut.paths]
    assert [contour.length_mm for _, contour in read] == pytest.approx(
        [path.path.length_mm for path in sheet.cut.paths], abs=1e-6
    )
    assert read[0][0] is PathKind.ENGRAVE


@pytest.mark.parametrize("material", ["PVC foam", "vinyl", "PTFE"])
def test_forbidden_materials_get_no_file(tmp_path: Path, material: str) -> None:
    stock = replace(PLY, material=material)
    with pytest.raises(RefusedMaterialError, match=f"{material} must not be laser cut"):
        write(tmp_path / "cut.dxf", FIRST, stock=stock, accepted=True)
    assert list(tmp_path.iterdir()) == []


def test_doubtful_materials_wait_for_the_maker(tmp_path: Path) -> None:
    stock = replace(PLY, material="polycarbonate")
    with pytest.raises(RefusedMaterialError, match="polycarbonate needs a decision"):
        write(tmp_path / "cut.dxf", SECOND, stock=stock)
    assert list(tmp_path.iterdir()) == []
    (sheet,) = write(tmp_path / "cut.dxf", SECOND, stock=stock, accepted=True)
    assert sheet.proof.passed


def test_nothing_is_written_when_a_later_sheet_cannot_be(tmp_path: Path) -> None:
    slotted = Panel.of(
        "slotted", Contour.rectangle(0, 0, 50, 50), [Contour.rectangle(20, 10, 0.15, 30)]
    )
    bad = SheetPlan(Sheet(300, 200), (Placement("slotted", 1, Pose(10, 10)),))
    plan = Plan((SECOND, bad))
    with pytest.raises(VanishedContourError, match=r"panel slotted, at 20\.07, 25\.00 mm") as error:
        write_cut_files(
            plan,
            PANELS | {"slotted": slotted},
            tmp_path / "cut.dxf",
            setup=Setup(PLY, kerf=KERF),
            machine=Machine(),
            control=QuietControl(),
        )
    assert error.value.where.panel == "slotted"
    assert list(tmp_path.iterdir()) == []


def test_plans_that_cannot_be_cut(tmp_path: Path) -> None:
    out = tmp_path / "cut.dxf"
    with pytest.raises(BadValueError, match="there is nothing to cut"):
        write(out)
    strange = SheetPlan(Sheet(300, 200), (Placement("gone", 1, Pose(10, 10)),))
    with pytest.raises(NotFoundError, match="the plan names a panel gone that is not there"):
        write(out, strange)
    with pytest.raises(UnwritableFileError):
        write(tmp_path / "nowhere" / "cut.dxf", SECOND)


def test_cancel_writes_nothing(tmp_path: Path) -> None:
    control = QuietControl()
    control.cancel()
    with pytest.raises(Cancelled):
        write(tmp_path / "cut.dxf", FIRST, control=control)
    assert list(tmp_path.iterdir()) == []


def test_sheets_of_two_plans_never_stand_side_by_side(tmp_path: Path) -> None:
    """Cancel between two sheets, after the first was written: both stay as they were."""
    before = [sheet.file.read_bytes() for sheet in write(tmp_path / "cut.dxf", SECOND, SECOND)]
    control = CancelledAt("Writing and proving sheet 2")
    with pytest.raises(Cancelled):
        write(tmp_path / "cut.dxf", FIRST, FIRST, control=control)
    files = sorted(tmp_path.iterdir())
    assert [file.name for file in files] == ["cut-1.dxf", "cut-2.dxf"]
    assert [file.read_bytes() for file in files] == before


class CancelledAt(QuietControl):
    """Cancelled as soon as the work reports this."""

    def __init__(self, note: str) -> None:
        super().__init__()
        self._at = note

    def report(self, done: float, total: float, note: str = "") -> None:
        if note == self._at:
            self.cancel()


def test_svg_by_its_ending(tmp_path: Path) -> None:
    (sheet,) = write(tmp_path / "cut.svg", FIRST)
    assert sheet.file.read_bytes().startswith(b"<?xml")
    assert sheet.proof.problems == ()
    assert sheet.proof.passed
    assert sheet.proof.max_deviation_mm <= 0.002


@pytest.mark.parametrize("ending", ["dxf", "svg"])
@pytest.mark.parametrize("origin", list(Corner))
def test_any_corner_may_be_zero(tmp_path: Path, origin: Corner, ending: str) -> None:
    (sheet,) = write(tmp_path / f"cut.{ending}", FIRST, profile=MachineProfile(origin=origin))
    assert sheet.proof.problems == ()
    assert sheet.proof.passed
    if ending == "dxf":
        lines = read_cut_file(sheet.file, profile=MachineProfile(), control=QuietControl())
        x0 = min(contour.bounds_mm()[0] for _, contour in lines)
        y0 = min(contour.bounds_mm()[1] for _, contour in lines)
        dx, dy = origin.offset_mm(600, 400)
        assert (x0 - dx > 0, y0 - dy > 0) == (True, True)
        assert (x0 < 0, y0 < 0) == (dx < 0, dy < 0)


CHOICES = [
    CutChoices(lead_mm=1.5),
    CutChoices(tabs=HoldingTabs(below_mm=45.0, count=3)),
    CutChoices(lead_mm=1.0, tabs=HoldingTabs(below_mm=45.0), order=WorkOrder.SPREAD_HEAT),
    CutChoices(order=WorkOrder.BY_KIND),
]


@pytest.mark.parametrize("choices", CHOICES)
@pytest.mark.parametrize("ending", ["dxf", "svg"])
def test_choices_are_proved_too(tmp_path: Path, choices: CutChoices, ending: str) -> None:
    (sheet,) = write(tmp_path / f"cut.{ending}", FIRST, choices=choices)
    assert sheet.proof.problems == ()
    assert sheet.proof.passed
    assert sheet.proof.max_deviation_mm <= 0.003
    cuts = [path for path in sheet.cut.paths if path.kind.is_cut]
    if choices.lead_mm:
        assert any(not p.path.closed for p in cuts if p.kind is PathKind.CUT_INNER)
    if choices.tabs:
        notes = [p.note for p in sheet.proof.panels if p.panel_name == "lid"]
        assert all(note.startswith("held by") for note in notes)


@pytest.mark.parametrize(
    ("use", "kinds"),
    [
        (MarkUse.KEEP, {PathKind.SCORE, PathKind.ENGRAVE}),
        (MarkUse.ALL_SCORED, {PathKind.SCORE}),
        (MarkUse.ALL_ENGRAVED, {PathKind.ENGRAVE}),
        (MarkUse.LEFT_OUT, set()),
    ],
)
def test_marks_as_the_machine_makes_them(
    tmp_path: Path, use: MarkUse, kinds: set[PathKind]
) -> None:
    machine = Machine(profile=MachineProfile(marks=use))
    (sheet,) = write(tmp_path / "cut.dxf", FIRST, machine=machine)
    assert {p.kind for p in sheet.cut.paths if not p.kind.is_cut} == kinds
    assert sheet.proof.passed


def test_a_cut_beyond_the_bed_is_said(tmp_path: Path) -> None:
    small = Machine(name="desk laser", bed_width_mm=300, bed_height_mm=200)
    (sheet,) = write(tmp_path / "cut.dxf", FIRST, machine=small)
    (finding,) = sheet.findings
    assert finding.code == "beyond-the-bed"
    assert finding.message.startswith("Sheet 1 is cut up to ")
    assert finding.message.endswith("the bed of desk laser is 300 x 200 mm.")
    (fits,) = write(tmp_path / "cut.dxf", SECOND, machine=small)
    assert fits.findings == ()
    right = replace(small, profile=MachineProfile(origin=Corner.UPPER_RIGHT))
    (sheet,) = write(tmp_path / "cut.dxf", SECOND, machine=right)
    assert [f.code for f in sheet.findings] == []
    (sheet,) = write(tmp_path / "cut.dxf", SECOND, machine=replace(right, bed_width_mm=285))
    assert [f.code for f in sheet.findings] == ["beyond-the-bed"]
