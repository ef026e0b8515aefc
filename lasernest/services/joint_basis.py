"""What a job's joints rest on: thickness and interference, each with where it comes from."""

from __future__ import annotations

from dataclasses import dataclass

from lasernest.domain.fits import FIT_RANGES, family_of
from lasernest.job import Job


@dataclass(frozen=True, slots=True)
class Basis:
    """A number and what it rests on."""

    value_mm: float
    words: str
    measured: bool


def thickness_basis(job: Job) -> Basis | None:
    """The thickness of the job's own stock; None when neither it nor a stock is known."""
    given_mm, stock = job.joint_rules.thickness_mm, job.setup.stock
    if given_mm is not None:
        return Basis(given_mm, "given for this job", True)
    if stock is None:
        return None
    if stock.measured_thickness_mm is not None:
        return Basis(stock.measured_thickness_mm, "measured", True)
    return Basis(stock.thickness_mm, "nominal", False)


def other_thicknesses(job: Job) -> tuple[tuple[str, Basis], ...]:
    """By stock name, the thickness of panels that are not cut from the job's own stock."""
    found = []
    for stock in (choice.stock for choice in job.setup.other_stocks):
        measured = stock.measured_thickness_mm is not None
        words = "measured" if measured else "nominal"
        found.append((stock.name, Basis(stock.working_thickness_mm, words, measured)))
    return tuple(found)


def interference_basis(job: Job) -> Basis:
    """The interference of joints that have none of their own, in the job's own stock.

    Where two stocks meet, the one that takes less decides, see `joints.sizing`.
    """
    rules, stock = job.joint_rules, job.setup.stock
    if rules.interference_mm is not None:
        return Basis(rules.interference_mm, "given for this job", True)
    if stock is not None and stock.fits is not None:
        return Basis(stock.fits.of(rules.fit), stock.fits.basis or "combs of this stock", True)
    family = family_of(stock.material if stock is not None else "")
    start_mm = FIT_RANGES[family].start_mm(rules.fit)
    material = family.value if stock is not None else "an unknown material"
    return Basis(start_mm, f"a starting value for {material}", False)
