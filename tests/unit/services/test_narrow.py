"""What the beam does not fit into, for a whole job."""

from __future__ import annotations

from dataclasses import replace

from lasernest.domain.contours import Contour
from lasernest.domain.control import QuietControl
from lasernest.domain.panels import Panel
from lasernest.domain.stock import Kerf, SheetSize, Stock
from lasernest.job import Job, JobPanel, Setup
from lasernest.job.document import StockChoice
from lasernest.services.commands import SetKerf
from lasernest.services.narrow import narrow_findings

PLATE = Contour.rectangle(0, 0, 50, 50)
SLOTTED = Panel.of("side", PLATE, [Contour.rectangle(20, 10, 0.15, 30)])
TWICE = Panel.of("lid", PLATE, [Contour.circle(9, 9, 0.04), Contour.circle(30, 9, 0.07)])


def stock(name: str, kerf_mm: float) -> Stock:
    return Stock(name, "birch plywood", 3.0, (SheetSize(600, 400),), Kerf.same(kerf_mm))


def test_the_finding_names_panel_place_width_and_remedy() -> None:
    job = Job(panels=(JobPanel(SLOTTED),), setup=Setup(stock("birch", 0.2)))
    (finding,) = narrow_findings(job, control=QuietControl())
    assert finding.code == "narrower-than-kerf"
    assert finding.panel == "side"
    assert finding.where_mm is not None
    assert finding.message == (
        "1 hole or slot is 0.15 mm wide, narrower than the kerf of 0.20 mm, so the beam does not "
        "fit in."
    )
    assert finding.todo == (
        "Make it wider than 0.20 mm, draw it as a score line, or cut with a finer beam."
    )


def test_several_places_of_a_panel_are_one_finding_at_the_narrowest() -> None:
    job = Job(panels=(JobPanel(TWICE),), setup=Setup(stock("birch", 0.2)))
    (finding,) = narrow_findings(job, control=QuietControl())
    assert (finding.count, finding.where_mm) == (2, (9.0, 9.0))
    assert finding.message == (
        "2 holes, slots or gaps are narrower than the kerf of 0.20 mm, so the beam does not fit "
        "in; the narrowest is 0.08 mm wide."
    )


def test_it_is_gone_where_the_kerf_allows_it() -> None:
    job = Job(panels=(JobPanel(SLOTTED),), setup=Setup(stock("birch", 0.2)))
    finer = SetKerf(Kerf.same(0.12)).apply(job)
    assert narrow_findings(finer, control=QuietControl()) == ()
    assert narrow_findings(replace(job, setup=Setup()), control=QuietControl()) == ()


def test_each_panel_is_held_against_the_stock_it_is_cut_from() -> None:
    other = replace(SLOTTED, name="front")
    setup = Setup(stock("birch", 0.2), other_stocks=(StockChoice(stock("acrylic", 0.1)),))
    job = Job(panels=(JobPanel(SLOTTED), JobPanel(other, stock_name="acrylic")), setup=setup)
    assert [f.panel for f in narrow_findings(job, control=QuietControl())] == ["side"]
    none = job.changed(panels=(replace(job.panels[0], quantity=0), job.panels[1]))
    assert narrow_findings(none, control=QuietControl()) == ()
