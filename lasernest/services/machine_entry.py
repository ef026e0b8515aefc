"""A machine as a maker enters it, and what the shop book is to keep of it.

What is entered may be incomplete or wrong; `wrongs_of_machine` tells what stands against it,
field by field, and `machine_of` makes the machine once nothing does. Colours and what happens to
lines that are not cut through stay as the machine had them.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

from lasernest.domain.cutting import Corner, MachineProfile
from lasernest.domain.stock import Machine
from lasernest.services.entries import Wrong, in_one_line, taken

NAME = "name"
BED_WIDTH, BED_HEIGHT = "bed width", "bed height"
TRAVEL, ACCELERATION, PIERCE, MARKING = "travel", "acceleration", "pierce", "marking"
LAYERS = {"inner": "inner cuts", "outer": "outer cuts", "score": "scores", "engrave": "engravings"}
"""Layers that a maker names, and what lies on each."""

MOST_LAYER_LETTERS = 31
"""As DXF R12 allows (from memory of its reference); programs of that age read no more."""

_NO_LAYER_SIGNS = '<>/\\":;?*|=`,'
"""Signs that a DXF's names must not hold (from memory of its reference)."""


@dataclass(frozen=True, slots=True)
class MachineEntry:
    """A machine as entered; None where nothing was."""

    name: str = ""
    bed_width_mm: float | None = None
    bed_height_mm: float | None = None
    origin: Corner = Corner.LOWER_LEFT
    travel_mm_per_s: float | None = None
    acceleration_mm_per_s2: float | None = None
    pierce_s: float | None = None
    mark_speed_mm_per_s: float | None = None
    inner: str = ""
    outer: str = ""
    score: str = ""
    engrave: str = ""
    note: str = ""

    @classmethod
    def of(cls, machine: Machine) -> MachineEntry:
        """A machine to be changed."""
        profile = machine.profile
        return cls(
            machine.name,
            machine.bed_width_mm,
            machine.bed_height_mm,
            profile.origin,
            machine.travel_mm_per_s,
            machine.acceleration_mm_per_s2,
            machine.pierce_s,
            machine.mark_speed_mm_per_s,
            profile.inner.layer,
            profile.outer.layer,
            profile.score.layer,
            profile.engrave.layer,
            machine.note,
        )

    @classmethod
    def usual(cls) -> MachineEntry:
        """A new machine: common practice, without a name."""
        return replace(cls.of(Machine()), name="")


def wrongs_of_machine(
    entry: MachineEntry, machines: Sequence[Machine], *, old: Machine | None = None
) -> tuple[Wrong, ...]:
    """What stands against an entry, in the order of its fields; empty when it can be kept.

    Args:
        entry: what was entered.
        machines: those of the shop book.
        old: the one that is changed; None for a new one.
    """
    found: list[Wrong] = []
    name = in_one_line(entry.name)
    others = [m.name for m in machines if old is None or m.name != old.name]
    if not name:
        found.append(Wrong(NAME, "Say what the shop calls it."))
    elif other := taken(name, others):
        found.append(
            Wrong(NAME, f"There is a machine called {other} already. Choose another name.")
        )
    for field, value, sentence in (
        (BED_WIDTH, entry.bed_width_mm, "The width of the bed is missing."),
        (BED_HEIGHT, entry.bed_height_mm, "The height of the bed is missing."),
        (TRAVEL, entry.travel_mm_per_s, "The travel speed is missing."),
        (ACCELERATION, entry.acceleration_mm_per_s2, "The acceleration is missing."),
        (PIERCE, entry.pierce_s, "The pierce time is missing; it may be 0 s."),
        (MARKING, entry.mark_speed_mm_per_s, "The marking speed is missing."),
    ):
        if value is None:
            found.append(Wrong(field, sentence))
    return (*found, *_wrong_layers(entry, old))


def _wrong_layers(entry: MachineEntry, old: Machine | None) -> list[Wrong]:
    found: list[Wrong] = []
    edge = (old.profile if old is not None else MachineProfile()).sheet.layer
    # What is on one layer is one thing to the machine, however its name is written.
    seen = {edge.casefold(): "the edge of the sheet, which is not cut"}
    for field, words in LAYERS.items():
        name = _layer(entry, field)
        wrong = _against_layer(name)
        if not wrong and (there := seen.get(name.casefold())) is not None:
            wrong = f"{name} holds {there}. Each kind of line needs a layer of its own."
        if wrong:
            found.append(Wrong(field, wrong))
        else:
            seen[name.casefold()] = f"{words} already"
    return found


def _against_layer(name: str) -> str:
    """What stands against a layer's name by itself; empty when it can be written."""
    if not name:
        return "The layer needs a name: the one that the machine's program looks for."
    if len(name) > MOST_LAYER_LETTERS:
        return f"A layer's name has {MOST_LAYER_LETTERS} letters at most; this has {len(name)}."
    if forbidden := next((sign for sign in name if sign in _NO_LAYER_SIGNS), None):
        return f"A layer's name cannot hold the sign {forbidden}"
    if not name.isprintable() or not _is_latin(name):
        return "A layer's name can hold Latin letters, digits and signs such as - and _ only."
    if name.casefold() in ("0", "defpoints"):
        return f"Layer {name} is special in every drawing. Choose another name."
    return ""


def _is_latin(name: str) -> bool:
    """Whether a DXF holds it as it is: its letters are those of one Western code page."""
    try:
        name.encode("cp1252")
    except UnicodeEncodeError:
        return False
    return True


def machine_of(entry: MachineEntry, *, old: Machine | None = None) -> Machine:
    """The machine to keep.

    Args:
        entry: one that `wrongs_of_machine` has nothing against.
        old: the one that is changed; what is not entered stays as it has it.

    Raises:
        BadValueError: a value that cannot be.
    """
    start = old if old is not None else Machine()
    profile = start.profile
    return replace(
        start,
        name=in_one_line(entry.name),
        bed_width_mm=entry.bed_width_mm or 0.0,
        bed_height_mm=entry.bed_height_mm or 0.0,
        travel_mm_per_s=entry.travel_mm_per_s or 0.0,
        acceleration_mm_per_s2=entry.acceleration_mm_per_s2 or 0.0,
        pierce_s=entry.pierce_s or 0.0,
        mark_speed_mm_per_s=entry.mark_speed_mm_per_s or 0.0,
        profile=replace(
            profile,
            inner=replace(profile.inner, layer=_layer(entry, "inner")),
            outer=replace(profile.outer, layer=_layer(entry, "outer")),
            score=replace(profile.score, layer=_layer(entry, "score")),
            engrave=replace(profile.engrave, layer=_layer(entry, "engrave")),
            origin=entry.origin,
        ),
        note=entry.note.strip(),
    )


def _layer(entry: MachineEntry, field: str) -> str:
    return in_one_line(str(getattr(entry, field)))
