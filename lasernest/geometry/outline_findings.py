"""What is said of the way from strokes to panels, in a maker's words."""

from __future__ import annotations

from collections.abc import Sequence

from lasernest.domain.answers import ANSWER_OPTION, EVERY_LAYER
from lasernest.domain.colour_words import named_apart
from lasernest.domain.contours import Point
from lasernest.domain.drawing import LineUse, Stroke
from lasernest.domain.findings import Choice, Finding, Severity, counted
from lasernest.domain.line_uses import USE_OPTION
from lasernest.geometry.tracing import Mend
from lasernest.units import plain_mm, plain_number

_MENDED: dict[str, tuple[str, str]] = {
    "doubled-back": (
        "stretch where an outline ran out and back on itself was trimmed.",
        "stretches where an outline ran out and back on itself were trimmed.",
    ),
    "double-removed": (
        "line or contour was drawn twice; the copy was removed.",
        "lines or contours were drawn twice; the copies were removed.",
    ),
    "overlap-removed": (
        "stretch lay on another line; it was kept once.",
        "stretches lay on other lines; they were kept once.",
    ),
    "gap-joined": (
        "gap of {size} between line ends was closed.",
        "gaps of up to {size} between line ends were closed.",
    ),
    "tee-joined": (
        "line end in the middle of another line was joined to it.",
        "line ends in the middle of other lines were joined to them.",
    ),
    "crossing-joined": (
        "meeting of lines was made a corner of the areas around it.",
        "meetings of lines were made corners of the areas around them.",
    ),
    "hook-removed": (
        "hook of {size}, in which an outline turned back and on again, was taken out.",
        "hooks of up to {size}, in which outlines turned back and on again, were taken out.",
    ),
    "overrun-trimmed": (
        "outline ran {size} past its own start; the tails were trimmed.",
        "outlines ran up to {size} past their own start; the tails were trimmed.",
    ),
}


def choice(label: str, value: str, *, preset: bool = False) -> Choice:
    """A choice that the answer option of the command line takes."""
    return Choice(label, ANSWER_OPTION, value, preset=preset)


def mend_findings(mends: Sequence[Mend], *, split: bool) -> list[Finding]:
    """One finding for each kind of mend."""
    found = []
    for mend in mends:
        count = len(mend.places)
        if mend.code == "edge-shared":
            found.append(_shared_finding(mend.places, split))
        elif mend.code == "divided":
            found.append(dividing_finding(mend.places, cut=True))
        elif mend.code == "tab-closed":
            found.append(
                Finding(
                    Severity.WARNING,
                    "tab-closed",
                    counted(
                        count,
                        "open line hangs on an outline from edge to edge; it was",
                        "open lines hang on an outline from edge to edge; each was",
                    )
                    + " made a panel of its own that shares the edge.",
                    where_mm=mend.places[0],
                    count=count,
                    mended=True,
                    todo="If it belongs to the panel, remove the line between them in the drawing.",
                )
            )
        else:
            text = counted(count, *_MENDED[mend.code]).format(size=plain_mm(mend.size_mm))
            found.append(
                Finding(
                    Severity.NOTE,
                    mend.code,
                    text,
                    where_mm=mend.places[0],
                    count=count,
                    mended=True,
                )
            )
    return found


def _shared_finding(places: tuple[Point, ...], split: bool) -> Finding:
    return Finding(
        Severity.WARNING,
        "edge-shared",
        counted(len(places), "line lies", "lines lie")
        + " between two closed areas; "
        + (
            "each area was made a panel, and the line given to both."
            if split
            else "they are one panel with score lines."
        ),
        where_mm=places[0],
        count=len(places),
        mended=True,
        choices=(
            choice("two panels that share the edge", "shared-edges=split", preset=split),
            choice("one panel with a score line", "shared-edges=mark", preset=not split),
        ),
    )


def dividing_finding(places: Sequence[Point], cut: bool) -> Finding:
    """Open lines that run across a panel from edge to edge."""
    return Finding(
        Severity.WARNING,
        "dividing-line",
        counted(
            len(places),
            "open line runs across a panel from edge to edge; it was ",
            "open lines run across a panel from edge to edge; they were ",
        )
        + ("cut, which divides it." if cut else "kept to score."),
        where_mm=places[0],
        count=len(places),
        choices=(
            choice("score lines", "dividing-lines=mark", preset=not cut),
            choice("cut the panel there", "dividing-lines=cut", preset=cut),
        ),
    )


def open_lines_finding(places: Sequence[Point]) -> Finding:
    """Open lines that are kept as marks."""
    return Finding(
        Severity.NOTE,
        "open-lines",
        counted(
            len(places),
            "open line was kept to score and is not cut.",
            "open lines were kept to score and are not cut.",
        ),
        where_mm=places[0],
        count=len(places),
        todo="Close them in the drawing if they should be cut.",
    )


def stray_finding(places: Sequence[Point]) -> Finding:
    """Marks on no panel."""
    return Finding(
        Severity.WARNING,
        "mark-outside",
        counted(
            len(places),
            "open line or mark lies on no panel and was left out.",
            "open lines or marks lie on no panel and were left out.",
        ),
        where_mm=places[0],
        count=len(places),
    )


def border_finding(at: Point, size: tuple[float, float], drop: bool) -> Finding:
    """A rectangle around everything."""
    return Finding(
        Severity.WARNING,
        "sheet-border",
        f"A rectangle of {plain_number(size[0], 4)} x {plain_mm(size[1], 4)} is drawn around "
        "everything; it was "
        + ("taken as the sheet's border and left out." if drop else "taken as a panel."),
        where_mm=at,
        choices=(
            choice("the sheet's border: leave it out", "border=drop", preset=drop),
            choice("a panel with holes: keep it", "border=keep", preset=not drop),
        ),
    )


def double_line_finding(places: Sequence[Point], apart_mm: float, kept: str) -> Finding:
    """Outlines drawn as two lines nearer than the kerf."""
    said = {
        "outer": "the outer of the two was kept",
        "inner": "the inner of the two was kept",
        "both": "both were kept",
    }[kept]
    return Finding(
        Severity.WARNING,
        "double-line",
        counted(
            len(places),
            f"outline is a double line {plain_mm(apart_mm, 2)} apart",
            f"outlines are double lines up to {plain_mm(apart_mm, 2)} apart",
        )
        + f", nearer than the kerf; {said}.",
        where_mm=places[0],
        count=len(places),
        choices=tuple(
            choice(label, f"double-lines={value}", preset=value == kept)
            for label, value in (
                ("keep the outer line", "outer"),
                ("keep the inner line", "inner"),
                ("keep both: a ring that thin", "both"),
            )
        ),
    )


def circle_finding(places: Sequence[Point], off_mm: float) -> Finding:
    """Rings made circles because nobody could tell the difference."""
    return Finding(
        Severity.NOTE,
        "circle-restored",
        counted(
            len(places),
            "circle drawn as curves or short pieces was made a true circle",
            "circles drawn as curves or short pieces were made true circles",
        )
        + f"; the largest change is {plain_mm(off_mm, 2)}.",
        where_mm=places[0],
        count=len(places),
        mended=True,
    )


def near_circle_finding(places: Sequence[Point], off_mm: float, restored: bool) -> Finding:
    """Rings that could be circles, beyond the chord error."""
    return Finding(
        Severity.WARNING,
        "circle-like",
        counted(len(places), "contour is nearly a circle", "contours are nearly circles")
        + f", drawn as curves or short lines ({plain_mm(off_mm, 2)} off at most); "
        + ("made true." if restored else "left as drawn."),
        where_mm=places[0],
        count=len(places),
        choices=(
            choice("leave them as drawn", "circles=keep", preset=not restored),
            choice("make them true circles", "circles=restore", preset=restored),
        ),
    )


def hidden_finding(counts: dict[str, tuple[int, int]]) -> Finding:
    """Layers the file does not show: for each its lines and the parts they would make."""
    listed = ", ".join(
        f"{name or 'without a name'} ({counted(lines, 'line', 'lines')}, "
        f"{counted(parts, 'part', 'parts')})"
        for name, (lines, parts) in counts.items()
    )
    total = sum(lines for lines, _ in counts.values())
    return Finding(
        Severity.WARNING,
        "hidden-layers",
        counted(total, "line on a hidden layer was", "lines on hidden layers were")
        + f" left out: {listed}.",
        count=total,
        choices=(
            choice("only what the file shows", "layers=", preset=True),
            choice("all layers", f"layers={EVERY_LAYER}"),
            *(
                choice(f"only {name}: {counted(parts, 'part', 'parts')}", f"layers={name}")
                for name, (_, parts) in counts.items()
                if name
            ),
        ),
    )


def stacked_finding(counts: dict[str, int]) -> Finding:
    """Layers read each by itself."""
    listed = ", ".join(f"{name or 'without a name'} ({n})" for name, n in counts.items())
    return Finding(
        Severity.WARNING,
        "layers-stacked",
        f"Layers lie on each other, one part on each; each was read by itself. Panels: {listed}.",
        count=len(counts),
        choices=(
            choice("all of them", f"layers={EVERY_LAYER}", preset=True),
            *(
                choice(f"only {n}: {counted(c, 'panel', 'panels')}", f"layers={n}")
                for n, c in counts.items()
                if n
            ),
        ),
    )


def use_findings(sorted_out: dict[LineUse, list[Stroke]]) -> list[Finding]:
    """Layers whose lines do not cut."""
    found = []
    for use in (LineUse.SCORE, LineUse.ENGRAVE, LineUse.IGNORE):
        strokes = sorted_out[use]
        for layer in dict.fromkeys(s.layer for s in strokes):
            mine = [s for s in strokes if s.layer == layer]
            said = "left out" if use is LineUse.IGNORE else f"taken to {use.value}"
            found.append(
                Finding(
                    Severity.NOTE,
                    "layer-use",
                    counted(len(mine), "line", "lines")
                    + (f" of layer {layer}" if layer else "")
                    + (" was " if len(mine) == 1 else " were ")
                    + f"{said}.",
                    where_mm=mine[0].path.start,
                    layer=layer,
                    count=len(mine),
                )
            )
    return found


def unplotted_finding(layer: str, count: int) -> Finding:
    """Lines on a layer that its drawing never prints, often construction lines."""
    return Finding(
        Severity.WARNING,
        "layer-not-printed",
        counted(
            count,
            f"line is on layer {layer}, which the drawing never prints; it was taken to cut.",
            f"lines are on layer {layer}, which the drawing never prints; they were taken to cut.",
        ),
        layer=layer,
        count=count,
        todo="If they only helped to draw, leave them out.",
        choices=(
            Choice("cut them", USE_OPTION, f"{layer}=cut", preset=True),
            Choice("leave them out", USE_OPTION, f"{layer}=ignore"),
        ),
    )


def colour_finding(counts: dict[str, int]) -> Finding:
    """Lines of several colours, which may each stand for a use."""
    names = named_apart(counts)
    listed = ", ".join(f"{names[colour]} ({n})" for colour, n in counts.items())
    return Finding(
        Severity.WARNING,
        "colours-differ",
        f"The lines that cut have {len(counts)} colours: {listed}. All were taken to cut.",
        count=len(counts),
        todo="Say what each colour is for if some are to be scored or engraved.",
        choices=(
            choice("cut all of them", "colours=cut", preset=True),
            *(
                Choice(label.format(names[colour]), USE_OPTION, f"{colour}={use}")
                for colour in counts
                for use, label in (
                    ("score", "score {}"),
                    ("engrave", "engrave {}"),
                    ("ignore", "leave {} out"),
                )
            ),
        ),
    )
