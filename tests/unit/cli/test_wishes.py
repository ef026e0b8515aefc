"""The options that wish something of the plan."""

from __future__ import annotations

import pytest

from lasernest.cli.wishes import with_counts, with_wishes
from lasernest.domain.contours import Contour
from lasernest.domain.panels import Panel
from lasernest.domain.plan import Axis, Turns
from lasernest.domain.stock import Kerf, SheetSize, Stock
from lasernest.errors import NotFoundError, UsageError
from lasernest.job import Job, JobPanel, Setup
from lasernest.services.planning import request_of


@pytest.fixture
def job() -> Job:
    stock = Stock("ply", "birch plywood", 3.0, sizes=(SheetSize(600, 400),), kerf=Kerf.same(0.2))
    lid = JobPanel(Panel.of("lid", Contour.rectangle(0, 0, 90, 50)), 2)
    tag = JobPanel(Panel.of("tag", Contour.rectangle(0, 0, 40, 15)), 0)
    return Job("box", (lid, tag), setup=Setup(stock, units=5))


def wished(job: Job, **given: object) -> Job:
    nothing: dict[str, object] = {
        "priorities": [],
        "turns": None,
        "mirror": False,
        "together": False,
        "along": None,
    }
    return with_wishes(job, **{**nothing, **given})  # type: ignore[arg-type]


def test_nothing_wished_changes_nothing(job: Job) -> None:
    assert wished(job) == job


def test_counts_and_as_many_as_fit_reach_nesting(job: Job) -> None:
    job = with_counts(job, ["lid=3", "tag=fit"])
    lid, tag = request_of(job).orders
    assert (lid.quantity, lid.as_many_as_fit) == (15, False)
    assert (lid.product, lid.per_product) == ("box", 3)
    assert (tag.quantity, tag.as_many_as_fit) == (0, True)


def test_wishes_reach_nesting(job: Job) -> None:
    job = wished(job, priorities=["lid=2"], turns="any", mirror=True, together=True, along="x")
    request = request_of(job)
    assert [order.priority for order in request.orders] == [2]
    assert {order.turns for order in request.orders} == {Turns.FREE}
    assert all(order.may_mirror for order in request.orders)
    assert request.together
    assert request.long_sides_along is Axis.X
    # What is not given again stays.
    assert wished(job).setup == job.setup


@pytest.mark.parametrize(
    ("given", "message"),
    [
        ({"turns": "eighth"}, "--turns: 'eighth' is none of none, half, quarter, any"),
        ({"along": "z"}, "--along: 'z' is neither x nor y"),
        ({"priorities": ["lid"]}, "--priority: 'lid' is not PANEL=N"),
        ({"priorities": ["lid=high"]}, "--priority: 'high' is not a whole number"),
    ],
)
def test_what_cannot_be_understood_is_said(
    job: Job, given: dict[str, object], message: str
) -> None:
    with pytest.raises(UsageError) as raised:
        wished(job, **given)
    assert raised.value.what == message


@pytest.mark.parametrize("text", ["lid", "lid=many", "lid=-1"])
def test_counts_that_are_none(job: Job, text: str) -> None:
    with pytest.raises(UsageError, match="is not PANEL=N"):
        with_counts(job, [text])


def test_a_panel_that_is_not_there(job: Job) -> None:
    with pytest.raises(NotFoundError, match="there is no panel door"):
        with_counts(job, ["door=fit"])
