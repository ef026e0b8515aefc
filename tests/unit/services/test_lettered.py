from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import ezdxf
import pytest
import shapely

from lasernest.domain.contours import Contour
from lasernest.domain.control import QuietControl
from lasernest.domain.cutting import CutChoices, NamePlace
from lasernest.domain.drawing import Drawing, Outlines
from lasernest.domain.panels import Mark, MarkKind, Panel
from lasernest.domain.stock import Kerf, SheetSize, Stock
from lasernest.geometry.flatten import ring_points, ring_polygon
from lasernest.job import Job
from lasernest.nesting import Budget
from lasernest.services.commands import AddDrawing, ChooseStock, SetQuantity
from lasernest.services.joining import join_job
from lasernest.services.lettered import lettered
from lasernest.services.main_job import run_main_job

WINDOW = Panel.of("frame", Contour.rectangle(0, 0, 80, 60), [Contour.rectangle(15, 15, 50, 30)])
PLATE = Panel.of(
    "base", Contour.rectangle(0, 0, 100, 60), [Contour.circle(50, 30, 8)],
    [Mark(Contour.polyline([(10, 45), (90, 45)]))],
)  # fmt: skip
PIN = Panel.of("pin", Contour.rectangle(0, 0, 40, 1.5))
BIRCH = Stock("birch", "birch plywood", 3.0, (SheetSize(300, 200),), Kerf.same(0.2))


def engraved(panel: Panel) -> shapely.MultiLineString:
    runs = [m.path for m in panel.marks if m.kind is MarkKind.ENGRAVE]
    return shapely.MultiLineString([ring_points(run, chord_error_mm=0.01) for run in runs])


def material(panel: Panel) -> shapely.Polygon:
    solid = ring_polygon(panel.outer, chord_error_mm=0.01)
    for hole in panel.inner:
        solid = solid.difference(ring_polygon(hole, chord_error_mm=0.01))
    return solid


def test_names_stand_on_the_panel_clear_of_edges_and_marks() -> None:
    (plate, pin), findings = lettered([PLATE, PIN], NamePlace.ON_PANELS)
    name = engraved(plate)
    assert material(PLATE).buffer(-0.5).contains(name)
    assert name.distance(shapely.LineString([(10, 45), (90, 45)])) > 0.5
    assert 2.0 <= name.bounds[3] - name.bounds[1] <= 6.0
    assert plate.marks[0] == PLATE.marks[0]
    assert pin == PIN
    assert [f.message for f in findings] == ["1 panel has no room of their own for the name: pin."]


def test_names_in_holes_stand_in_waste_that_no_panel_could_fill() -> None:
    (frame, plate), _ = lettered([WINDOW, PLATE], NamePlace.IN_HOLES)
    assert shapely.box(15, 15, 65, 45).buffer(-0.5).contains(engraved(frame))
    assert shapely.Point(50, 30).buffer(8).contains(engraved(plate))
    # a panel smaller than the window could lie in it: then nothing is engraved there
    small = Panel.of("small", Contour.rectangle(0, 0, 30, 20))
    (frame, *_), findings = lettered([WINDOW, small], NamePlace.IN_HOLES)
    assert frame == WINDOW
    assert "frame, small" in findings[0].message


@pytest.mark.parametrize("place", [NamePlace.ON_PANELS, NamePlace.IN_HOLES])
def test_engraved_names_are_written_and_proved(tmp_path: Path, place: NamePlace) -> None:
    drawing = Drawing(Path("case.dxf"), "DXF R2000", "mm", 1.0, ())
    job = AddDrawing(Outlines(drawing, (WINDOW, PLATE), 0, ())).apply(Job())
    job = SetQuantity("frame", 2).apply(ChooseStock(BIRCH).apply(job))
    job = job.changed(cutting=CutChoices(names=place))
    result = run_main_job(
        job, tmp_path / "case.dxf", control=QuietControl(), budget=Budget(seconds=0)
    )
    assert result.passed, result
    (frame, plate) = join_job(job).panels
    wanted = 2 * len(frame.marks) + len(plate.marks)
    written = [
        entity.dxf.layer
        for file in tmp_path.glob("*.dxf")
        for entity in ezdxf.readfile(file).modelspace()
    ]
    assert written.count("SCORE") == 1
    assert written.count("ENGRAVE") == wanted - 1
    bare = job.changed(cutting=replace(job.cutting, names=NamePlace.NOWHERE))
    assert [p.marks for p in join_job(bare).panels] == [(), PLATE.marks]
