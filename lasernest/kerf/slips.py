"""Slips of measuring and typing, caught before they cost a sheet.

Half a kerf taken for a whole one, a cut too many or too few counted, inches
typed as millimetres, a decimal point in the wrong place, plug and hole
swapped, a machine that compensates by itself. Each check asks: is the number
absurd or at odds with the others, and does the slip turn it into one that is
not? Then it says so; it never changes a reading.
"""

from __future__ import annotations

from collections.abc import Iterator
from statistics import median

from lasernest.domain.findings import Finding, Severity
from lasernest.domain.readings import Method
from lasernest.kerf.estimate import KerfEstimate
from lasernest.kerf.readings import SingleKerf
from lasernest.kerf.typical import MOST_MM, PLAUSIBLE, Range
from lasernest.kerf.uncertainty import combined_u
from lasernest.units import MM_PER_INCH, format_mm

NEARLY_ZERO_MM = 0.03
"""A kerf below is no laser's; the machine's own compensation leaves this much."""
COMMON: Range = (0.05, 0.40)
"""Most kerfs lie here (common practice, no source)."""
AT_ODDS = 3.0
"""Readings further apart than this many standard uncertainties contradict each other."""
SCALE_LIMIT = 0.001
"""Beyond one in a thousand the machine should be calibrated (common practice, no source)."""


def findings_of(estimate: KerfEstimate, *, typical: Range | None = None) -> tuple[Finding, ...]:
    """What is odd about a set of readings and about the kerf they tell.

    Args:
        estimate: from `estimate_kerf`.
        typical: usual range of the material and thickness, if known.
    """
    used = [r.single for r in estimate.readings if r.single.reading.used]
    return (
        *(f for s in used for f in _absurd(s, typical)),
        *_contradictions(used),
        *_outliers(estimate),
        *_result(estimate, typical, used),
    )


def _absurd(single: SingleKerf, typical: Range | None) -> Iterator[Finding]:
    """What is wrong with one reading on its own."""
    k, reading = single.kerf_mm, single.reading
    text = reading.text()
    usual = typical or PLAUSIBLE
    if k < -NEARLY_ZERO_MM:
        swapped = {
            Method.PAIR: "Plug and hole seem to be swapped.",
            Method.PART: "Drawn and measured size seem to be swapped.",
            Method.BLOCK: "Length before and after seem to be swapped.",
        }.get(reading.method, "Measure again.")
        yield _finding(
            Severity.ERROR, "kerf-negative", f"{text} gives a kerf of {format_mm(k, 3)}", swapped
        )
    elif k < NEARLY_ZERO_MM:
        inches = _within(MM_PER_INCH * k, typical or COMMON)
        if inches:
            yield _finding(
                Severity.WARNING,
                "inches",
                f"{text} gives a kerf of {format_mm(k, 4)}, too small for a laser",
                f"In inches it would be {format_mm(MM_PER_INCH * k, 3)}: "
                "write the unit, like 0.037in.",
            )
        # A metric calliper shows hundredths: thousandths can only be inches.
        if not inches or not _has_thousandths(single):
            yield _finding(
                Severity.WARNING,
                "machine-compensates",
                f"{text} gives a kerf of {format_mm(k, 3)}, nearly nothing",
                "Was the machine's own kerf compensation on? Switch it off and cut again.",
            )
    elif not _within(k, PLAUSIBLE):
        yield _finding(
            Severity.ERROR if k > MOST_MM else Severity.WARNING,
            "kerf-out-of-range",
            f"{text} gives a kerf of {format_mm(k, 3)}; "
            f"lasers take {PLAUSIBLE[0]:.2f} to {PLAUSIBLE[1]:.2f} mm",
            _misplaced(k, usual),
        )


def _misplaced(k: float, usual: Range) -> str:
    """A slip that would explain a kerf that is too wide."""
    if _within(k / 10.0, usual):
        return f"Is the decimal point one place off? {format_mm(k / 10.0, 4)} would be usual."
    if _within(k / MM_PER_INCH, usual):
        return "Were millimetres given as inches?"
    return "Measure again."


def _contradictions(used: list[SingleKerf]) -> Iterator[Finding]:
    """Readings that the others contradict, where one slip explains it."""
    for single in used:
        others = [
            s
            for s in used
            if s is not single
            and s.reading.axis is single.reading.axis
            and s.reading.face is single.reading.face
        ]
        if not others:
            continue
        rest_mm = median(s.kerf_mm for s in others)
        rest_u_mm = min(s.u_mm for s in others)

        def agrees(k: float, u_mm: float, *, at: float = rest_mm, u: float = rest_u_mm) -> bool:
            return abs(k - at) <= AT_ODDS * combined_u(u_mm, u)

        if agrees(single.kerf_mm, single.u_mm):
            continue
        text, k, u_mm = single.reading.text(), single.kerf_mm, single.u_mm
        cuts = _cuts(single)
        for wrong, name in ((cuts - 1, "fewer"), (cuts + 1, "more")):
            if cuts > 2 and agrees(k * cuts / wrong, u_mm * cuts / wrong):
                yield _finding(
                    Severity.WARNING,
                    "cut-count",
                    f"{text} was taken as {cuts} cuts; with one {name} it would agree with "
                    f"the rest ({format_mm(rest_mm, 3)})",
                    "Count the strips or pieces again.",
                )
                break
        else:
            if agrees(2.0 * k, 2.0 * u_mm):
                yield _finding(
                    Severity.WARNING,
                    "half-kerf",
                    f"{text} gives half of what the rest tells ({format_mm(rest_mm, 3)})",
                    "Kerf is the full width of the cut: is this the loss of one side only?",
                )


def _cuts(single: SingleKerf) -> int:
    """How many cuts a reading was divided by; 0 where nobody counts them."""
    numbers = single.reading.numbers
    if single.reading.method is Method.FRAME:
        return int(numbers[0]) + 1
    return int(numbers[2]) - 1 if single.reading.method is Method.BLOCK else 0


def _outliers(estimate: KerfEstimate) -> Iterator[Finding]:
    for outlier in estimate.outliers:
        yield _finding(
            Severity.WARNING,
            "outlier",
            f"{outlier.single.reading.text()} gives {format_mm(outlier.single.kerf_mm, 3)}, "
            "far from the rest",
            "Measure it again, or set it aside.",
        )


def _result(
    estimate: KerfEstimate, typical: Range | None, used: list[SingleKerf]
) -> Iterator[Finding]:
    k = estimate.kerf.value
    if typical is not None and _within(k, PLAUSIBLE) and not _within(k, typical):
        span = f"{typical[0]:.2f} to {typical[1]:.2f} mm"
        if k < 0.75 * typical[0] and _within(2.0 * k, typical):
            yield _finding(
                Severity.WARNING,
                "half-kerf",
                f"a kerf of {format_mm(k, 3)} is about half of what is usual here ({span})",
                "Kerf is the full width of the cut: is this the loss of one side only?",
            )
        else:
            yield _finding(
                Severity.NOTE,
                "kerf-unusual",
                f"a kerf of {format_mm(k, 3)} is unusual here ({span})",
                "Look at focus, speed and power, or take a second reading.",
            )
    if estimate.has_x != estimate.has_y:
        measured, missing = ("x", "y") if estimate.has_x else ("y", "x")
        yield _finding(
            Severity.NOTE,
            "one-axis",
            f"kerf was measured along {measured} only and is taken to be the same along {missing}",
            f"Take a reading along {missing} too: beams are often not round.",
        )
    if estimate.scale is not None:
        off = estimate.scale.value - 1.0
        if abs(off) > max(SCALE_LIMIT, estimate.scale.half_width_95):
            yield _finding(
                Severity.WARNING,
                "scale",
                f"the machine draws {abs(off):.2%} too {'big' if off > 0 else 'small'}",
                "Calibrate its steps per millimetre; kerf cannot make up for it.",
            )
    elif used and all(s.reading.method is Method.PART for s in used):
        yield _finding(
            Severity.NOTE,
            "scale-unknown",
            "one size of part cannot tell kerf from an error of the machine's scale",
            "Measure parts of three sizes, or a plug and its hole.",
        )
    if estimate.kerf.scattered:
        yield _finding(
            Severity.NOTE,
            "scatter",
            "the readings scatter more than the calliper explains; the scatter itself was taken",
            "More readings would narrow the interval.",
        )
    if estimate.taper is not None and estimate.taper.lean_mm > 0.0:
        yield _finding(
            Severity.NOTE,
            "taper",
            f"edges lean by {format_mm(estimate.taper.lean_mm, 3)} over the thickness",
            "Keep all parts the same side up when you join them.",
        )


def _has_thousandths(single: SingleKerf) -> bool:
    return any(abs(100.0 * n - round(100.0 * n)) > 1e-6 for n in single.reading.numbers)


def _within(value: float, span: Range) -> bool:
    return span[0] <= value <= span[1]


def _finding(severity: Severity, code: str, message: str, todo: str) -> Finding:
    return Finding(severity, code, message, todo=todo)
