"""A drawing read again keeps what the maker decided."""

from __future__ import annotations

import math
import pickle
from dataclasses import replace
from pathlib import Path

import pytest

from lasernest.domain.contours import Contour
from lasernest.domain.control import QuietControl
from lasernest.domain.drawing import Drawing, Outlines
from lasernest.domain.findings import Severity
from lasernest.domain.joints import Joint, JointRules, PanelLine
from lasernest.domain.panel_changes import Change, said_of
from lasernest.domain.panels import Mark, Panel
from lasernest.errors import NotFoundError
from lasernest.job import Job
from lasernest.services.commands import AddDrawing, RenamePanel, SetQuantity
from lasernest.services.joining import join_job
from lasernest.services.main_job import read_inputs
from lasernest.services.redrawing import (
    OnlyChanged,
    ReadAgain,
    changed_on_disk,
    changes_since,
    read_source,
)
from tests.unit.exchange.drawings import dxf_text, write

_SIZES = {"lid": 10.0, "floor": 30.0, "shelf": 25.0, "knob": 5.0}


def _outlines(unit: str, mm_per_unit: float, *names: str, file: str = "case.dxf") -> Outlines:
    # Each panel has its own size and place.
    panels = tuple(
        Panel.of(
            name,
            Contour.rectangle(
                100.0 * len(name) * mm_per_unit, 0, _SIZES[name] * mm_per_unit, 10.0 * mm_per_unit
            ),
        )
        for name in names
    )
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


def _numbered(*sides: tuple[str, float]) -> Outlines:
    panels = tuple(Panel.of(n, Contour.rectangle(9 * k, 0, k, k)) for n, k in sides)
    return Outlines(Drawing(Path("case.dxf"), "DXF", "mm", 1.0, ()), panels, 0, ())


def _with_border() -> Job:
    """A border of 90 and two plates; the second one is wanted four times."""
    outlines = _numbered(("case-1", 90.0), ("case-2", 20.0), ("case-3", 40.0))
    return SetQuantity("case-3", 4).apply(AddDrawing(outlines, "digest").apply(Job()))


def test_numbers_are_no_relics_of_what_an_answer_left_out() -> None:
    job = _with_border()
    plates = _numbered(("case-1", 20.0), ("case-2", 40.0))
    again = ReadAgain(job.sources[0], plates, "digest").apply(job)
    assert [(p.name, p.quantity) for p in again.panels] == [("case-1", 1), ("case-2", 4)]
    assert again.panel("case-2").panel.size_mm == pytest.approx((40.0, 40.0))
    one = ReadAgain(again.sources[0], _numbered(("case", 40.0)), "digest").apply(again)
    assert [(p.name, p.quantity) for p in one.panels] == [("case", 4)]


@pytest.mark.parametrize("reason", ["changed", "named", "joined"])
def test_names_that_something_rests_on_stay(reason: str) -> None:
    job = _with_border()
    second = "case-2"
    if reason == "named":
        job, second = RenamePanel("case-2", "lid").apply(job), "lid"
    if reason == "joined":
        a = PanelLine("case-2", (180.0, 0.0), (200.0, 0.0), (180.0, 0.0, 200.0, 20.0))
        b = PanelLine("case-3", (360.0, 0.0), (380.0, 0.0), (360.0, 0.0, 400.0, 40.0))
        job = job.changed(joints=(Joint(a, b),))
    plates = _numbered(("case-1", 20.0), ("case-2", 40.0))
    digest = "other" if reason == "changed" else "digest"
    again = ReadAgain(job.sources[0], plates, digest).apply(job)
    assert [(p.name, p.quantity) for p in again.panels] == [(second, 1), ("case-3", 4)]


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


def _job_of(*panels: Panel) -> Job:
    drawing = Drawing(Path("case.dxf"), "DXF", "mm", 1.0, ())
    return AddDrawing(Outlines(drawing, panels, 0, ())).apply(Job())


def _again(job: Job, *panels: Panel) -> ReadAgain:
    drawing = Drawing(Path("case.dxf"), "DXF", "mm", 1.0, ())
    return ReadAgain(job.sources[0], Outlines(drawing, panels, 0, ()))


def _plate(name: str, x_mm: float, y_mm: float, wide_mm: float = 60.0, *, hole: float = 0) -> Panel:
    inner = [Contour.circle(x_mm + 20, y_mm + 20, hole)] if hole else []
    return Panel.of(name, Contour.rectangle(x_mm, y_mm, wide_mm, 40.0), inner)


def test_what_changed_is_told_panel_by_panel() -> None:
    job = _job_of(
        _plate("case-1", 0, 0, hole=4), _plate("case-2", 100, 0, 70), _plate("case-3", 200, 0, 80)
    )
    job = RenamePanel("case-2", "lid").apply(SetQuantity("case-2", 5).apply(job))
    # The first got a larger hole, the second moved and is now the third in the drawing,
    # the third is gone, one is new.
    again = _again(
        job,
        _plate("case-1", 0, 0, hole=5.5),
        _plate("case-2", 0, 200, 33),
        _plate("case-3", 300, 100, 70),
    )
    changes = again.changes(job)
    assert [(c.change, c.name) for c in changes] == [
        (Change.CHANGED, "case-1"),
        (Change.ADDED, "case-2"),
        (Change.SAME, "lid"),
        (Change.GONE, "case-3"),
    ]
    assert changes[0].off_mm == pytest.approx(1.5, abs=0.002)
    assert said_of(changes[0]) == "changed, by up to 1.50 mm"
    assert [said_of(c) for c in changes[1:]] == ["new", "as before", "gone"]
    taken_in = again.apply(job)
    assert [(p.name, p.quantity) for p in taken_in.panels] == [
        ("case-1", 1),
        ("case-2", 1),
        ("lid", 5),
    ]
    assert taken_in.panel("lid").panel.bounds_mm() == (300, 100, 370, 140)
    only = OnlyChanged(changes).apply(taken_in)
    assert [(p.name, p.quantity) for p in only.panels] == [("case-1", 1), ("case-2", 1), ("lid", 0)]


def test_the_same_lines_begun_elsewhere_are_no_change() -> None:
    ring = Contour.circle(50, 50, 20)
    points = [(0, 0), (100, 0), (100, 100), (0, 100)]
    job = _job_of(Panel.of("plate", Contour.polygon(points), [ring]))
    again = _again(
        job,
        Panel.of(
            "other",
            Contour.polygon([*points[2:], (0, 50), *points[:2]]),
            [ring],
        ),
    )
    (change,) = again.changes(job)
    assert (change.change, change.name) == (Change.SAME, "plate")


def test_a_mark_more_or_less_is_a_change() -> None:
    plain = _plate("plate", 0, 0)
    marked = replace(plain, marks=(Mark(Contour.polyline([(5, 5), (50, 5)])),))
    for before, after in ((plain, marked), (marked, plain)):
        job = _job_of(before)
        (change,) = _again(job, after).changes(job)
        assert (change.change, change.off_mm) == (Change.CHANGED, math.inf)
        assert said_of(change) == "changed"


def test_copies_from_a_helper_are_the_jobs_own_panels_again() -> None:
    job = _job_of(_plate("case-1", 0, 0, hole=4), _plate("case-2", 100, 0, 70))
    again = _again(job, _plate("case-1", 0, 0, hole=5.5), _plate("case-2", 100, 0, 70))
    again = pickle.loads(pickle.dumps(replace(again, seen=again.changes(job))))
    own = [p.panel for p in job.panels]
    assert not any(c.old is panel for c, panel in zip(again.seen, own, strict=True))

    rooted = again.rooted_in(job)
    assert rooted == again
    assert [c.old is panel for c, panel in zip(rooted.seen, own, strict=True)] == [True, True]
    assert [c.new is c.old for c in rooted.seen] == [False, True]
    taken_in = rooted.apply(job)
    assert taken_in.panels[1] is job.panels[1]
    assert taken_in.panels[0].panel.inner != own[0].inner

    # A panel that the maker changed meanwhile is not passed off as the one that was read.
    other = _job_of(_plate("case-1", 0, 0, hole=9), _plate("case-2", 100, 0, 70))
    assert again.rooted_in(other).seen[0].old == own[0]


def test_an_added_panel_never_takes_the_name_of_a_kept_one() -> None:
    job = _job_of(_plate("case-1", 0, 0), _plate("case-2", 100, 0, 70))
    # A panel drawn in front of both shifts the numbers of the drawing.
    again = _again(
        job, _plate("case-1", -100, 0, 20), _plate("case-2", 0, 0), _plate("case-3", 100, 0, 70)
    )
    names = [(p.name, p.panel.size_mm[0]) for p in again.apply(job).panels]
    assert names == [("case-1-2", 20), ("case-1", 60), ("case-2", 70)]


def test_joints_stay_where_their_edges_are_and_are_told_where_not() -> None:
    a, b = _plate("a", 0, 0), _plate("b", 100, 0)
    line_a = PanelLine("a", (60, 0), (60, 40), a.bounds_mm())
    line_b = PanelLine("b", (100, 40), (100, 0), b.bounds_mm())
    job = _job_of(a, b).changed(
        joints=(Joint(line_a, line_b),), joint_rules=JointRules(thickness_mm=3.0)
    )

    def told(*panels: Panel) -> set[str]:
        again = _again(job, *panels).apply(job)
        assert again.joints == job.joints
        return {f.code for f in join_job(again).findings if f.severity is Severity.ERROR}

    assert told(a, b) == set()
    assert told(_plate("a", 0, 0, 66), _plate("b", 100, 300)) == set()  # wider, and moved
    assert told(a) == {"joint-panel-gone"}
    assert told(Panel.of("a", Contour.circle(30, 20, 20)), b) == {"joint-edge-gone"}


def test_a_file_that_changed_on_disk_is_noticed(tmp_path: Path) -> None:
    plate = "LWPOLYLINE 90 4 70 1 10 0 20 0 10 100 20 0 10 100 20 60 10 0 20 60"
    path = write(tmp_path, dxf_text(plate), "plate.dxf")
    job = read_inputs([path], control=QuietControl())
    assert changed_on_disk(job) == ()
    write(tmp_path, dxf_text(plate.replace("100", "120")), "plate.dxf")
    (source,) = changed_on_disk(job)
    again = read_source(source, job, control=QuietControl())
    (change,) = again.changes(job)
    assert again.changes(job) is again.seen
    gone = job.changed(panels=())
    assert [c.change for c in again.changes(gone)] == [Change.ADDED]  # seen anew
    assert (change.change, change.off_mm) == (Change.CHANGED, pytest.approx(20))
    taken_in = again.apply(job)
    assert changed_on_disk(taken_in) == ()
    path.unlink()
    assert changed_on_disk(taken_in) == ()


def test_of_drawings_called_alike_the_one_of_the_same_folder_is_meant() -> None:
    both = Job()
    for name, file in (("lid", "a/case.dxf"), ("floor", "b/case.dxf")):
        both = AddDrawing(_outlines("mm", 1.0, name, file=file)).apply(both)
    assert {c.name: c.change for c in changes_since(both, both)} == {
        "lid": Change.SAME,
        "floor": Change.SAME,
    }
