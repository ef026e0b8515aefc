"""What joints rest on: which number is taken, and what is said of it."""

from dataclasses import replace

import pytest

from lasernest.domain.joints import JointRules
from lasernest.domain.stock import Fit, FitTargets, Kerf, SheetSize, Stock
from lasernest.job import Job, Setup
from lasernest.services.joint_basis import Basis, interference_basis, thickness_basis

PLY = Stock("birch 3", "birch plywood", 3.0, (SheetSize(600, 400),), Kerf.same(0.18))


def job(stock=PLY, **rules):
    return Job(setup=Setup(stock=stock), joint_rules=JointRules(**rules))


def test_thickness_is_the_given_one_then_the_measured_then_the_nominal():
    assert thickness_basis(job(stock=None)) is None
    assert thickness_basis(job()) == Basis(3.0, "nominal", False)
    measured = replace(PLY, measured_thickness_mm=3.05)
    assert thickness_basis(job(measured)) == Basis(3.05, "measured", True)
    assert thickness_basis(job(measured, thickness_mm=2.9)) == Basis(
        2.9, "given for this job", True
    )


def test_interference_is_the_given_one_then_the_combs_then_a_start():
    # Starting values of plywood: common practice, no source (domain.fits).
    assert interference_basis(job(fit=Fit.PRESS)) == Basis(
        0.05, "a starting value for plywood", False
    )
    felt = replace(PLY, fits=FitTargets(-0.04, 0.01, 0.07, 0.01, "comb of 19 Nov"))
    assert interference_basis(job(felt, fit=Fit.PUSH)) == Basis(0.01, "comb of 19 Nov", True)
    assert interference_basis(job(felt, interference_mm=0.1)).value_mm == pytest.approx(0.1)
    assert interference_basis(job(None)).words == "a starting value for an unknown material"
