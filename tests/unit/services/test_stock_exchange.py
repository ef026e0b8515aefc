"""Panels moved from stock to stock, and stocks exchanged."""

from __future__ import annotations

from dataclasses import replace

import pytest

from lasernest.domain.contours import Contour
from lasernest.domain.panels import Panel
from lasernest.domain.plan import Plan
from lasernest.domain.stock import Kerf, SheetSize, Stock
from lasernest.errors import NotFoundError
from lasernest.job import Job, JobPanel, Setup
from lasernest.services.commands import (
    ChooseStock,
    RemovePanels,
    RenamePanel,
    SetGrain,
    SetKerf,
    SetSheetSize,
)
from lasernest.services.stock_exchange import CutPanelsFrom

SIZES = (SheetSize(600, 400), SheetSize(300, 200))
BIRCH, CAST, CORK = (
    Stock(name, name, 3.0, SIZES, Kerf.same(0.2)) for name in ("birch", "cast", "cork")
)


def job_of(**stock_names: Stock) -> Job:
    panels = [Panel.of(n, Contour.rectangle(0, 0, 50, 40)) for n in ("side", "front", "foot")]
    job = Job("case", tuple(JobPanel(p) for p in panels), setup=Setup(BIRCH))
    for name, stock in stock_names.items():
        job = CutPanelsFrom((name,), stock).apply(job)
    return job


def stocks_of(job: Job) -> dict[str, str]:
    return {p.name: p.stock_name for p in job.panels}


def test_a_panel_takes_its_stock_into_the_job_and_out_again() -> None:
    planned = job_of().changed(plan=Plan(()))
    job = CutPanelsFrom(("front",), CAST, SIZES[1]).apply(planned)
    assert stocks_of(job) == {"side": "", "front": "cast", "foot": ""}
    assert job.plan is None
    assert job.setup.for_stock("cast").chosen_size == SIZES[1]
    assert job.setup.chosen_size == SIZES[0]
    assert CutPanelsFrom(("front",), None).apply(job) == job_of()
    assert CutPanelsFrom(("front",), BIRCH).apply(job) == job_of()
    with pytest.raises(NotFoundError):
        CutPanelsFrom(("lid",), CAST).apply(job)


def test_a_second_panel_keeps_what_was_chosen_for_the_stock() -> None:
    job = SetKerf(Kerf.same(0.3), "cast").apply(job_of(front=CAST))
    job = SetSheetSize(SIZES[1], "cast").apply(SetGrain(True, "cast").apply(job))
    job = CutPanelsFrom(("foot",), CAST).apply(job)
    setup = job.setup.for_stock("cast")
    assert (setup.used_kerf, setup.chosen_size) == (Kerf.same(0.3), SIZES[1])
    assert setup.grain_kept
    assert (job.setup.used_kerf, job.setup.grain_kept) == (BIRCH.kerf, False)


def test_the_jobs_own_stock_is_exchanged_and_others_stay() -> None:
    job = ChooseStock(CORK).apply(job_of(front=CAST))
    assert [s.name for s in job.setup.stocks] == ["cork", "cast"]
    assert stocks_of(job) == {"side": "", "front": "cast", "foot": ""}


def test_the_own_stock_becomes_one_of_the_others() -> None:
    job = ChooseStock(CAST).apply(job_of(front=CAST, foot=CORK))
    assert [s.name for s in job.setup.stocks] == ["cast", "cork"]
    assert stocks_of(job) == {"side": "", "front": "", "foot": "cork"}


@pytest.mark.parametrize(
    ("new", "stocks", "of_panels"),
    [
        (CORK, ["birch", "cork"], {"side": "", "front": "cork", "foot": "cork"}),
        (BIRCH, ["birch", "cork"], {"side": "", "front": "", "foot": "cork"}),
        (replace(CAST, thickness_mm=4.0), ["birch", "cast", "cork"],
         {"side": "", "front": "cast", "foot": "cork"}),
    ],
)  # fmt: skip
def test_another_stock_is_exchanged(
    new: Stock, stocks: list[str], of_panels: dict[str, str]
) -> None:
    job = ChooseStock(new, "cast").apply(job_of(front=CAST, foot=CORK))
    assert [s.name for s in job.setup.stocks] == stocks
    assert stocks_of(job) == of_panels
    if new.name == "cast":
        assert job.setup.for_stock("cast").stock == new


def test_where_all_panels_leave_the_job_itself_moves() -> None:
    job = SetKerf(Kerf.same(0.3), "cast").apply(job_of(front=CAST, foot=CORK))
    job = CutPanelsFrom(("side",), CORK).apply(job)
    assert [s.name for s in job.setup.stocks] == ["cast", "cork"]
    assert stocks_of(job) == {"side": "cork", "front": "", "foot": "cork"}
    # With what was chosen for it.
    assert job.setup.used_kerf == Kerf.same(0.3)
    alone = CutPanelsFrom(("side", "front", "foot"), CORK).apply(job)
    assert alone.setup == Setup(CORK)


def test_names_and_removal() -> None:
    job = RenamePanel("front", "window").apply(job_of(front=CAST))
    assert stocks_of(job)["window"] == "cast"
    gone = RemovePanels(("window",)).apply(job)
    assert stocks_of(gone) == {"side": "", "foot": ""}
