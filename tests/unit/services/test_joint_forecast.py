"""What joints promise before the cut, against the normal distribution by hand."""

from dataclasses import replace
from datetime import date

import pytest

from lasernest.domain.joints import JointKind
from lasernest.domain.stock import Kerf, SheetSize, Stock
from lasernest.job import Job, JobPanel, Setup
from lasernest.joints.edges import edge_near, line_of
from lasernest.services.joining import join_job
from lasernest.services.joint_forecast import forecast_joints, screw_words
from lasernest.services.stock_exchange import CutPanelsFrom
from lasernest.services.tuning import CUT_SCATTER_MM, FEEL_OF, tune
from tests.joint_kit import BOTTOM, TOP, face, mate, plate

STOCK = Stock(
    "birch 3", "birch plywood", 3.0, (SheetSize(600, 400),), Kerf.same(0.18, u_mm=0.004),
    measured_thickness_mm=3.0, thickness_u_mm=0.012,
)  # fmt: skip
LID, SIDE = plate("lid", 90, 40), plate("side", 90, 60)


def made(joint):
    job = Job(panels=(JobPanel(LID), JobPanel(SIDE)), joints=(joint,), setup=Setup(stock=STOCK))
    return job, join_job(job)


def slot(kind):
    edge = line_of(edge_near(LID, (45, 0)), LID)
    return replace(mate(LID, BOTTOM, SIDE, TOP), a=edge, b=face(SIDE, (0, 30), (90, 30)), kind=kind)


def test_fingers_lose_two_kerfs_and_slots_one_and_the_thickness():
    tunings = {STOCK.name: tune(STOCK, (), on=date(2026, 1, 1))}
    job, joined = made(mate(LID, BOTTOM, SIDE, TOP))
    (finger,) = forecast_joints(job, joined, tunings).values()
    # Uncorrelated parts add in squares: JCGM 100:2008, 5.1.2.
    assert finger.u_mm == pytest.approx((0.008**2 + CUT_SCATTER_MM**2) ** 0.5)
    job, joined = made(slot(JointKind.SLOT))
    (tab,) = forecast_joints(job, joined, tunings).values()
    assert tab.u_mm == pytest.approx((0.004**2 + 0.012**2 + CUT_SCATTER_MM**2) ** 0.5)
    assert 0.0 < finger.share_in_fit < 1.0


def test_joints_with_a_stock_that_nothing_is_known_of_are_left_out():
    tunings = {STOCK.name: tune(STOCK, (), on=date(2026, 1, 1))}
    job, joined = made(mate(LID, BOTTOM, SIDE, TOP))
    other = CutPanelsFrom(("lid",), replace(STOCK, name="thicker", thickness_mm=5.0)).apply(job)
    assert forecast_joints(other, joined, tunings) == {}


def test_where_two_stocks_meet_their_kerfs_err_apart_and_the_careful_one_is_told():
    """Uncorrelated parts add in squares (JCGM 100:2008, 5.1.2); the tabs' sheet is the lid's."""
    cast = replace(STOCK, name="cast 3", material="cast acrylic", kerf=Kerf.same(0.2, u_mm=0.003))
    day = date(2026, 1, 1)
    tunings = {one.name: tune(one, (), on=day) for one in (STOCK, cast)}
    job, joined = made(mate(LID, BOTTOM, SIDE, TOP))
    (alone,) = forecast_joints(job, joined, tunings).values()
    mixed = CutPanelsFrom(("side",), cast).apply(job)
    (finger,) = forecast_joints(mixed, joined, tunings).values()
    assert finger.u_mm == pytest.approx((0.004**2 + 0.003**2 + CUT_SCATTER_MM**2) ** 0.5)
    shares = [
        tunings[one.name].model.shares(finger.interference_mm, u_mm=finger.u_mm)
        for one in (STOCK, cast)
    ]
    assert finger.share_in_fit == min(s[FEEL_OF[job.joint_rules.fit]] for s in shares)
    assert finger.share_in_fit != alone.share_in_fit
    job, joined = made(slot(JointKind.SLOT))
    mixed = CutPanelsFrom(("side",), cast).apply(job)
    (tab,) = forecast_joints(mixed, joined, tunings).values()
    assert tab.u_mm == pytest.approx((0.003**2 + 0.012**2 + CUT_SCATTER_MM**2) ** 0.5)


def test_the_screw_is_named_by_thread_and_length():
    _, joined = made(slot(JointKind.NUT))
    # M3: 3 mm gone through, 6 mm to the nut, 2.4 mm of nut and one pitch of 0.5 mm make
    # 11.9 mm; the next length of ISO 888 is 12.
    assert screw_words(joined.joints[0]) == "M3 × 12"
