"""What was spoiled is cut again by a job of its own."""

from __future__ import annotations

import pytest

from lasernest.domain.contours import Contour
from lasernest.domain.offcuts import Offcut
from lasernest.domain.panels import Panel
from lasernest.domain.stock import Kerf, SheetSize, Stock
from lasernest.errors import BadValueError, NotFoundError
from lasernest.job import Job, JobPanel, Setup
from lasernest.services.recutting import recut_job

STOCK = Stock("card", "card", 1.0, (SheetSize(600, 400),), Kerf.same(0.1))
JOB = Job(
    "tray",
    tuple(
        JobPanel(Panel.of(name, Contour.rectangle(0, 0, 50, 40)), quantity, as_many_as_fit=fills)
        for name, quantity, fills in (("side", 4, False), ("floor", 1, True))
    ),
    setup=Setup(
        STOCK,
        units=12,
        spares=1,
        scrap_share=0.1,
        gap_mm=3.0,
        offcuts=(Offcut.rectangle("B07", "card", 200, 150),),
        units_together=True,
    ),
)


def test_only_the_spoiled_copies_are_planned() -> None:
    again = recut_job(JOB, {"side": 3})
    assert again.name == "tray recut"
    assert {p.name: again.copies_of(p) for p in again.panels} == {"side": 3, "floor": 0}
    assert again.panel_count == 3
    assert (again.setup.stock, again.setup.gap_mm) == (STOCK, 3.0)
    assert again.setup.offcuts == ()
    assert not any(p.as_many_as_fit for p in again.panels)
    assert [p.panel for p in again.panels] == [p.panel for p in JOB.panels]


def test_nothing_or_an_unknown_panel_is_refused() -> None:
    with pytest.raises(BadValueError):
        recut_job(JOB, {})
    with pytest.raises(NotFoundError):
        recut_job(JOB, {"roof": 1})
