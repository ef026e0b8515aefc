"""A drawing read again keeps what the maker decided."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import pytest

from lasernest.domain.contours import Contour
from lasernest.domain.drawing import Drawing, Outlines
from lasernest.domain.panels import Panel
from lasernest.errors import NotFoundError
from lasernest.job import Job
from lasernest.services.commands import AddDrawing, RenamePanel, SetQuantity
from lasernest.services.redrawing import ReadAgain


def _outlines(unit: str, mm_per_unit: float, *names: str, file: str = "case.dxf") -> Outlines:
    side = 10.0 * mm_per_unit
    panels = tuple(Panel.of(name, Contour.rectangle(0, 0, side, side)) for name in names)
    return Outlines(Drawing(Path(file), "DXF", unit, mm_per_unit, ()), panels, 0, ())


@pytest.fixture
def job() -> Job:
    job = AddDrawing(_outlines("mm", 1.0, "lid", "floor")).apply(Job())
    job = AddDrawing(_outlines("mm", 1.0, "knob", file="knob.dxf")).apply(job)
    job = SetQuantity("floor", 7).apply(job)
    return RenamePanel("lid", "top").apply(job)


def test_another_unit_keeps_names_quantities_and_places(job: Job) -> None:
    again = ReadAgain(job.sources[0], _outlines("in", 25.4, "lid", "floor")).apply(job)
    assert [(p.name, p.quantity) for p in again.panels] == [("top", 1), ("floor", 7), ("knob", 1)]
    assert again.panel("top").panel.size_mm == pytest.approx((254.0, 254.0))
    assert again.panel("knob") == job.panel("knob")
    assert (again.sources[0].unit, again.sources[0].panel_names) == ("in", ("top", "floor"))


def test_another_number_of_panels_is_matched_by_name(job: Job) -> None:
    outlines = _outlines("mm", 1.0, "floor", "shelf", "knob")
    again = ReadAgain(job.sources[0], outlines).apply(job)
    assert [(p.name, p.quantity) for p in again.panels] == [
        ("floor", 7),
        ("shelf", 1),
        ("knob-2", 1),
        ("knob", 1),
    ]


def test_a_drawing_that_is_gone_is_told(job: Job) -> None:
    with pytest.raises(NotFoundError) as caught:
        ReadAgain(job.sources[0], _outlines("mm", 1.0, "lid")).apply(Job())
    assert str(caught.value) == "the drawing case.dxf is not in the job any more. Open it again."


def test_lines_on_no_panel_stay_with_the_drawing() -> None:
    loose = (Contour.polyline([(0, 0), (5, 5)]),)
    outlines = replace(_outlines("mm", 1.0, "lid"), loose=loose)
    job = AddDrawing(outlines).apply(Job())
    assert job.sources[0].loose == loose
    again = ReadAgain(job.sources[0], _outlines("mm", 1.0, "lid")).apply(job)
    assert again.sources[0].loose == ()
