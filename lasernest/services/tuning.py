"""Kerf and fit of a stock: from its records to the numbers a job uses, and what to expect.

The newest record that applies gives the kerf; all combs ever felt give the fit
together, each with the kerf it told itself. Nothing here changes the shop book
but `use_for_stock`.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import date

from lasernest.domain.findings import Finding, Severity
from lasernest.domain.fits import family_of
from lasernest.domain.readings import Feel, FeelReading, Rung
from lasernest.domain.records import CombDrawn, CutSettings, KerfRecord
from lasernest.domain.stock import Fit, FitTargets, Kerf, Stock
from lasernest.errors import BadValueError
from lasernest.kerf.comb import CombSpec, even_rungs, finer_rungs
from lasernest.kerf.estimate import KerfEstimate, estimate_kerf
from lasernest.kerf.fit_model import FEEL_OF, FeltComb, FitModel, learn_fit, usual_borders_mm
from lasernest.kerf.slips import findings_of
from lasernest.kerf.thickness import Thickness, thickness_findings, thickness_of
from lasernest.kerf.typical import Range, typical_kerf_mm
from lasernest.kerf.uncertainty import combined_u, rectangular_u
from lasernest.shop.book import ShopBook
from lasernest.units import format_mm

OLD_DAYS = 180
"""A record is old after half a year: lenses age, boards dry (common practice, no source)."""
OTHER_THICKNESS_MM = 0.2
OTHER_SPEED_SHARE = 0.10
CUT_SCATTER_MM = 0.01
"""Kerf differs by this from cut to cut (standard deviation; common practice, no source)."""
FIRST_COMB_SLACK_MM = 0.06
"""A first comb reaches beyond the usual borders, because its kerf is a guess."""


@dataclass(frozen=True, slots=True)
class Tuning:
    """What is known of a stock on one day."""

    stock: Stock
    record: KerfRecord | None
    """The one its kerf rests on; None while nothing was measured."""
    estimate: KerfEstimate | None
    model: FitModel
    findings: tuple[Finding, ...]

    @property
    def kerf(self) -> Kerf:
        """The kerf to use: the record's, or the stock's own."""
        if self.record is None or self.estimate is None:
            return self.stock.kerf
        return self.estimate.as_kerf(basis=self.record.name)


@dataclass(frozen=True, slots=True)
class KerfPoint:
    """One record on the plot of kerf over time."""

    record: KerfRecord
    kerf_mm: float
    low_mm: float
    high_mm: float
    """Bounds of the 95 % interval."""


@dataclass(frozen=True, slots=True)
class Forecast:
    """What a joint is expected to become."""

    interference_mm: float
    u_mm: float
    """Standard deviation of what the single joint gets."""
    share_in_fit: float
    feels: dict[Feel, float]
    """Share of joints that will feel each way."""


def tune(
    stock: Stock,
    records: Sequence[KerfRecord],
    *,
    on: date,
    machine: str = "",
    speed_mm_per_s: float | None = None,
) -> Tuning:
    """What the records of a stock tell, with warnings where they may not apply.

    Args:
        stock: as it lies in the shop.
        records: its test cuts, in any order; those of other stocks are passed over.
        on: today, for the age of records.
        machine: that will cut; empty when the shop has one.
        speed_mm_per_s: it will cut at; None for the stock's own.
    """
    own = [r for r in records if r.stock_name == stock.name]
    measured = sorted(
        (r for r in own if any(reading.used for reading in r.readings)),
        key=lambda r: (not _other_machine(r, machine), r.on, r.number),
    )
    model = learn_fit(felt_combs(stock, own), family_of(stock.material))
    if measured:
        record = measured[-1]
        estimate = estimate_record(record)
        odd = _impossible(record, estimate)
        if odd is not None:
            return Tuning(stock, None, None, model, (odd,))
        found = (
            *_applies(record, stock, on, machine, speed_mm_per_s or stock.cut_speed_mm_per_s),
            *findings_of(estimate, typical=typical_of(stock)),
        )
        return Tuning(stock, record, estimate, model, found)
    unmeasured = _finding(
        "kerf-unmeasured",
        f"the kerf of {stock.name} was never measured; "
        f"{format_mm(stock.kerf.mean_mm)} is a starting value",
        "Cut a comb and measure it.",
    )
    return Tuning(stock, None, None, model, (unmeasured,) if not stock.kerf.measured else ())


def estimate_record(record: KerfRecord) -> KerfEstimate:
    """The kerf that one record tells.

    Raises:
        BadValueError: it has no reading in use.
    """
    return estimate_kerf(record.readings, thickness_mm=record.mean_thickness_mm)


def typical_of(stock: Stock) -> Range:
    """The kerf that is usual for a stock's material and thickness."""
    return typical_kerf_mm(family_of(stock.material), stock.working_thickness_mm)


def kerf_history(records: Sequence[KerfRecord]) -> tuple[KerfPoint, ...]:
    """Kerf over time with its band, oldest first, for a plot."""
    points = []
    for record in sorted(records, key=lambda r: (r.on, r.number)):
        if any(reading.used for reading in record.readings):
            kerf = estimate_record(record).kerf
            points.append(KerfPoint(record, kerf.value, *kerf.interval_95))
    return tuple(points)


def felt_combs(stock: Stock, records: Sequence[KerfRecord]) -> list[FeltComb]:
    """All combs and reports of how joints felt, each with the kerf known for it."""
    combs = []
    for record in records:
        if not record.felt:
            continue
        if any(reading.used for reading in record.readings):
            kerf = estimate_record(record).x
            kerf_mm, kerf_u_mm = kerf.value, kerf.u
        else:
            kerf_mm, kerf_u_mm = stock.kerf.x_mm, _kerf_u_mm(stock)
        thickness = thickness_of(record.thickness_mm) if record.thickness_mm else None
        combs.append(
            FeltComb(
                record.felt,
                kerf_mm,
                kerf_u_mm,
                thickness.u_mm if thickness else 0.0,
                thickness.spread_mm if thickness else 0.0,
            )
        )
    return combs


def next_comb(
    stock: Stock,
    tuning: Tuning,
    *,
    fit: Fit = Fit.PRESS,
    span_mm: Range | None = None,
    compensated: bool | None = None,
    lines: Sequence[str] = (),
) -> CombSpec:
    """The comb to cut next: over the whole range first, then closely around one fit.

    Args:
        stock: to cut it from.
        tuning: what is known of it.
        fit: that a second comb is to make sure of.
        span_mm: interference from loosest to tightest, instead of the usual choice.
        compensated: None: a first comb is not, a later one is.
        lines: written on the piece.
    """
    later = tuning.model.rung_count > 0
    if span_mm is not None:
        rungs = even_rungs(*span_mm)
    elif later:
        window = tuning.model.window(fit)
        rungs = finer_rungs(window.low_mm, window.high_mm)
    else:
        borders = usual_borders_mm(family_of(stock.material))
        rungs = even_rungs(borders[0] - FIRST_COMB_SLACK_MM, borders[-1] + FIRST_COMB_SLACK_MM)
    return CombSpec(
        stock.working_thickness_mm,
        tuning.kerf,
        rungs,
        later if compensated is None else compensated,
        (stock.name, *lines),
    )


def comb_drawn(spec: CombSpec) -> CombDrawn:
    """What a record keeps of the comb it was read from."""
    return CombDrawn(
        spec.thickness_mm,
        spec.kerf.x_mm,
        spec.kerf.y_mm,
        spec.interferences_mm,
        spec.compensated,
    )


def comb_again(drawn: CombDrawn, lines: Sequence[str] = ()) -> CombSpec:
    """The comb of a record, to be drawn again beside its readings."""
    return CombSpec(
        drawn.thickness_mm,
        Kerf(drawn.kerf_x_mm, drawn.kerf_y_mm, basis="drawn for"),
        drawn.interferences_mm,
        drawn.compensated,
        tuple(lines),
    )


def use_for_stock(book: ShopBook, tuning: Tuning) -> Stock:
    """Let the stock take over what its records tell: kerf, fit and measured thickness.

    Raises:
        BadValueError: nothing was measured and nothing felt.
        ChangedMeanwhileError: the stock was changed since it was read.
    """
    if tuning.record is None and tuning.model.rung_count == 0:
        raise BadValueError(
            f"there is no record of {tuning.stock.name} to use", todo="Cut a comb and measure it."
        )
    stock = replace(tuning.stock, kerf=tuning.kerf)
    if tuning.model.rung_count > 0:
        stock = replace(stock, fits=(fits := fit_targets(tuning)), interference_mm=fits.press_mm)
    if tuning.record is not None and tuning.record.thickness_mm:
        thickness = thickness_of(tuning.record.thickness_mm)
        stock = replace(
            stock,
            measured_thickness_mm=round(thickness.mean_mm, 3),
            thickness_u_mm=thickness.local_u_mm,
        )
    book.save_stock(stock, instead_of=tuning.stock)
    return stock


def fit_targets(tuning: Tuning) -> FitTargets:
    """The interference to ask for each fit, to a thousandth."""
    slip, push, press = (tuning.model.window(fit) for fit in (Fit.SLIP, Fit.PUSH, Fit.PRESS))
    return FitTargets(
        round(slip.target_mm, 3),
        round(push.target_mm, 3),
        round(press.target_mm, 3),
        u_mm=max(slip.u_mm, push.u_mm, press.u_mm),
        basis=tuning.record.name if tuning.record is not None else "how joints felt",
    )


def thickness_for_stock(
    stock: Stock, readings_mm: Sequence[float]
) -> tuple[Stock, Thickness, tuple[Finding, ...]]:
    """The stock with a newly measured thickness, and what is odd about it.

    Raises:
        BadValueError: no reading, or one that no sheet has.
    """
    thickness = thickness_of(readings_mm)
    found = thickness_findings(thickness, material=stock.material, nominal_mm=stock.thickness_mm)
    changed = replace(
        stock,
        measured_thickness_mm=round(thickness.mean_mm, 3),
        thickness_u_mm=thickness.local_u_mm,
    )
    return changed, thickness, found


def forecast(
    tuning: Tuning,
    interference_mm: float,
    fit: Fit,
    *,
    rung: Rung = Rung.GAP,
    thickness_u_mm: float | None = None,
    mate: Tuning | None = None,
) -> Forecast:
    """How a joint of a job will go together.

    Args:
        tuning: of the stock; of its fingers or tabs where the mate is of another.
        interference_mm: asked for.
        fit: wished for.
        rung: a finger in a gap loses a kerf on each; a sheet in a slot one only,
            but its thickness matters.
        thickness_u_mm: of the sheet at one joint; None for the stock's own.
        mate: of the stock that the gap or slot is cut from, where it is another one. Its
            kerf errs on its own, and of the two stocks the one is told that promises less.
    """
    kerf_u_mm, other = _known_kerf_u_mm(tuning), mate or tuning
    if rung is Rung.GAP and mate is None:
        u_mm = combined_u(2.0 * kerf_u_mm, CUT_SCATTER_MM)
    elif rung is Rung.GAP:
        u_mm = combined_u(kerf_u_mm, _known_kerf_u_mm(other), CUT_SCATTER_MM)
    else:
        own = thickness_u_mm if thickness_u_mm is not None else tuning.stock.thickness_u_mm
        sheet_u_mm = own or _unmeasured_u_mm(tuning.stock)
        u_mm = combined_u(_known_kerf_u_mm(other), sheet_u_mm, CUT_SCATTER_MM)
    told = [one.model.shares(interference_mm, u_mm=u_mm) for one in (tuning, other)]
    feels = min(told, key=lambda shares: shares[FEEL_OF[fit]])
    return Forecast(interference_mm, u_mm, feels[FEEL_OF[fit]], feels)


def _known_kerf_u_mm(tuning: Tuning) -> float:
    return tuning.kerf.u_mm if tuning.kerf.u_mm is not None else _kerf_u_mm(tuning.stock)


def report_feel(
    stock: Stock, interference_mm: float, feel: Feel, *, on: date, settings: CutSettings, note: str
) -> KerfRecord:
    """A record of how a joint of a finished job felt, for the fit to learn from.

    Args:
        stock: with the kerf the job was cut with.
        interference_mm: that the job asked for.
        feel: how it went together.
        on: the day.
        settings: how it was cut.
        note: which job and joint.
    """
    finger_mm = 10.0
    gap_mm = finger_mm - interference_mm - 2.0 * stock.kerf.x_mm
    felt = FeelReading(Rung.GAP, finger_mm, gap_mm, feel)
    return KerfRecord(stock.name, on, felt=(felt,), settings=settings, note=note)


def _impossible(record: KerfRecord, estimate: KerfEstimate) -> Finding | None:
    """A finding when no kerf can be what a record tells."""
    try:
        estimate.as_kerf(basis=record.name)
    except BadValueError as error:
        return _finding(
            "record-odd", f"the {record.name} is not used: {error.what}", "Measure again."
        )
    return None


def _applies(
    record: KerfRecord, stock: Stock, on: date, machine: str, speed_mm_per_s: float
) -> list[Finding]:
    """Why a record may not hold for this cut."""
    found: list[Finding] = []
    age_days = (on - record.on).days
    if age_days > OLD_DAYS:
        found.append(
            _finding("record-old", f"the {record.name} is {age_days} days old", "Cut a new comb.")
        )
    if _other_machine(record, machine):
        found.append(
            _finding(
                "record-other-machine",
                f"the {record.name} was cut on {record.settings.machine}, not on {machine}",
                f"Cut a comb on {machine}.",
            )
        )
    thickness_mm = record.mean_thickness_mm
    if thickness_mm is not None and (
        abs(thickness_mm - stock.working_thickness_mm) > OTHER_THICKNESS_MM
    ):
        found.append(
            _finding(
                "record-other-thickness",
                f"the {record.name} is of a sheet of {format_mm(thickness_mm)}, this one is "
                f"{format_mm(stock.working_thickness_mm)}",
                "Kerf grows with thickness: cut a comb of this sheet.",
            )
        )
    speed = record.settings.speed_mm_per_s
    if speed is not None and abs(speed - speed_mm_per_s) > OTHER_SPEED_SHARE * speed_mm_per_s:
        found.append(
            _finding(
                "record-other-speed",
                f"the {record.name} was cut at {speed:g} mm/s, this job at {speed_mm_per_s:g} mm/s",
                "Kerf falls with speed: cut a comb at this speed.",
            )
        )
    return found


def _other_machine(record: KerfRecord, machine: str) -> bool:
    return bool(machine and record.settings.machine) and record.settings.machine != machine


def _kerf_u_mm(stock: Stock) -> float:
    """What is not known of a stock's kerf: the whole usual range while nothing was measured."""
    if stock.kerf.u_mm is not None:
        return stock.kerf.u_mm
    low_mm, high_mm = typical_of(stock)
    return rectangular_u(0.5 * (high_mm - low_mm))


def _unmeasured_u_mm(stock: Stock) -> float:
    """What is not known of a thickness that nobody measured: a twentieth of it."""
    return 0.0 if stock.measured_thickness_mm is not None else 0.05 * stock.thickness_mm


def _finding(code: str, message: str, todo: str) -> Finding:
    return Finding(Severity.WARNING, code, message, todo=todo)
