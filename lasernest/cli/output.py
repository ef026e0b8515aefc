"""What the commands share: plain output, JSON, progress on stderr, Ctrl-C as Stop."""

from __future__ import annotations

import json
import signal
import sys
from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from types import FrameType
from typing import TYPE_CHECKING, Annotated, Any

import typer

from lasernest.domain.control import QuietControl
from lasernest.domain.findings import Finding, Severity
from lasernest.errors import BadValueError, LasernestError, UsageError, advice
from lasernest.units import parse_length_mm, parse_size_mm

if TYPE_CHECKING:
    from lasernest.domain.stock import SheetSize, Stock
    from lasernest.shop.book import ShopBook

AsJson = Annotated[bool, typer.Option("--json", help="Print one JSON object instead of text.")]


def say(text: str = "") -> None:
    """One line for people, on stdout."""
    typer.echo(text)


def say_error(told: LasernestError | str) -> None:
    """One line on stderr."""
    text = told if isinstance(told, str) else told.sentence(on_command_line=True)
    typer.echo(" ".join(text.split()), err=True)


def emit_json(value: dict[str, Any]) -> None:
    """The one JSON object of a command, on stdout."""
    typer.echo(json.dumps(value, indent=1, ensure_ascii=False, allow_nan=False))


def finding_json(finding: Finding) -> dict[str, Any]:
    """A finding in the form that every command prints."""
    form: dict[str, Any] = {
        "severity": finding.severity.value,
        "code": finding.code,
        "message": finding.message,
        "where_mm": list(finding.where_mm) if finding.where_mm else None,
        "layer": finding.layer,
        "mended": finding.mended,
    }
    if finding.panel:
        form["panel"] = finding.panel
    if finding.count != 1:
        form["count"] = finding.count
    if finding.choices:
        form["choices"] = [
            {
                "label": choice.label,
                "option": choice.option,
                "value": choice.value,
                "size_mm": list(choice.size_mm) if choice.size_mm else None,
                "preset": choice.preset,
            }
            for choice in finding.choices
        ]
    return form


def say_finding(finding: Finding, *, indent: str = "  ") -> None:
    """A finding as one line of text, its answers behind it."""
    mended = " (mended)" if finding.mended else ""
    place = ""
    if finding.where_mm is not None:
        place = f" [at {finding.where_mm[0]:.2f}, {finding.where_mm[1]:.2f} mm]"
    # A question's answers follow, each with its words.
    words = "" if finding.is_question else finding.on_command_line
    todo = advice(finding.todo, words)
    message = finding.message.rstrip(".")
    say(f"{indent}{finding.severity.value}{mended}: {message}{place}. {todo}".rstrip())
    for choice in finding.choices:
        size = ""
        if choice.size_mm is not None:
            size = f" ({choice.size_mm[0]:.1f} x {choice.size_mm[1]:.1f} mm)"
        taken = ", taken now" if choice.preset else ""
        say(f"{indent}  {choice.option} {choice.value}: {choice.label}{size}{taken}")


def say_what_matters(findings: Sequence[Finding]) -> None:
    """Findings that ask for attention, one a line; plain notes are only counted."""
    notes = 0
    for finding in findings:
        if finding.severity is Severity.NOTE:
            notes += 1
        else:
            say_finding(finding, indent="")
    if notes:
        say(f"{notes} {'note' if notes == 1 else 'notes'} on the drawings: see lasernest inspect.")


class _Progress(QuietControl):
    """Progress on stderr, rewritten in place when that is a terminal."""

    def __init__(self) -> None:
        super().__init__()
        self._shows = sys.stderr.isatty()
        self._last = ""

    def report(self, done: float, total: float, note: str = "") -> None:
        if not self._shows:
            return
        share = min(1.0, done / total) if total > 0 else 0.0
        line = f"{share:4.0%} {note}".ljust(len(self._last))
        if line != self._last:
            typer.echo(f"\r{line}", err=True, nl=False)
            self._last = line

    def end(self) -> None:
        if self._last:
            typer.echo("\r" + " " * len(self._last) + "\r", err=True, nl=False)


@contextmanager
def watched() -> Iterator[QuietControl]:
    """A control for long work: the first Ctrl-C stops and keeps the best, the second ends."""
    control = _Progress()

    def on_interrupt(_number: int, _frame: FrameType | None) -> None:
        if control.stopped:
            raise KeyboardInterrupt
        control.stop()

    before = signal.signal(signal.SIGINT, on_interrupt)
    try:
        yield control
    finally:
        signal.signal(signal.SIGINT, before)
        control.end()


def length_mm(option: str, text: str) -> float:
    """A length given to an option.

    Raises:
        UsageError: not a length.
    """
    try:
        return parse_length_mm(text)
    except BadValueError as error:
        raise UsageError(f"{option}: {error.what}", todo=error.todo) from error


def size_mm(option: str, text: str) -> tuple[float, float]:
    """A sheet size given to an option.

    Raises:
        UsageError: not a size.
    """
    try:
        return parse_size_mm(text)
    except BadValueError as error:
        raise UsageError(f"{option}: {error.what}", todo=error.todo) from error


def stock_and_size(option: str, text: str, shop: ShopBook) -> tuple[Stock, SheetSize | None]:
    """The stock of the shop that a text names, as `NAME` or `NAME@600x400`.

    Raises:
        NotFoundError: the shop has no such stock.
        UsageError: it does not come in that size.
    """
    name, at, size_text = text.rpartition("@")
    stock = shop.stock(name or text)
    if not at:
        return stock, None
    wanted = size_mm(option, size_text)
    for size in stock.sizes:
        if (size.width_mm, size.height_mm) == wanted:
            return stock, size
    raise UsageError(
        f"{stock.name} does not come in {size_text}",
        todo="Its sizes: " + ", ".join(f"{s.width_mm:g}x{s.height_mm:g}" for s in stock.sizes),
    )
