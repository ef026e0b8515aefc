"""Entry of the command line: the commands, and how errors leave the program.

Exit code 0: done. 1: cannot be done, and why, in one line on stderr. 2: wrong
usage. Heavy imports happen inside the commands, so that `--help` is instant.
"""

from __future__ import annotations

import logging
import sys
from collections.abc import Sequence
from pathlib import Path
from typing import Annotated

import typer
from typer.main import get_command

from lasernest import __version__
from lasernest.cli import (
    comb,
    compare,
    demo,
    desktop,
    inspect,
    join,
    kerf,
    offcut,
    order,
    pack,
    proof,
    rates,
    record,
    report,
    sheet,
    stock,
    template,
)
from lasernest.cli.output import say_error
from lasernest.errors import Cancelled, LasernestError, UsageError
from lasernest.folders import use_profile
from lasernest.memory import look_for_rings_seldom

app = typer.Typer(
    name="lasernest",
    help="Kerf-true, nested, proved cut files for laser-cut panels that press together. "
    "Without a command the window opens, on drawings or a job when they are named. Lengths "
    "are millimetres unless written like 3.2in, 1/8in or 3mm.",
    add_completion=False,
    no_args_is_help=False,
    rich_markup_mode=None,
    pretty_exceptions_enable=False,
)

for module in (
    demo,
    inspect,
    sheet,
    join,
    comb,
    kerf,
    compare,
    proof,
    pack,
    report,
    order,
    rates,
    template,
    desktop,
):
    module.register(app)
app.add_typer(stock.app, name="stock")
app.add_typer(offcut.app, name="offcut")
app.add_typer(record.app, name="record")


@app.callback(invoke_without_command=True)
def start(
    context: typer.Context,
    version: Annotated[bool, typer.Option("--version", help="Print the version and end.")] = False,
    profile: Annotated[
        str,
        typer.Option(
            "--profile",
            metavar="FOLDER",
            help="Keep shop book and settings of this run in FOLDER, for trying things.",
        ),
    ] = "",
    verbose: Annotated[bool, typer.Option("--verbose", help="Tell more on stderr.")] = False,
) -> None:
    """Open the window, or run a command."""
    logging.basicConfig(
        level=logging.DEBUG if verbose else logging.WARNING,
        format="%(levelname)s %(name)s: %(message)s",
        stream=sys.stderr,
    )
    if version:
        typer.echo(f"lasernest {__version__}")
        raise typer.Exit
    if profile:
        use_profile(profile)
    if context.invoked_subcommand is None:
        _open_window()


def _open_window(paths: Sequence[str] = ()) -> None:
    # The window and the command line share a floor and do not know each other:
    # the window is started as the program of its own that it is.
    import runpy

    sys.argv = [sys.argv[0], *paths]
    runpy.run_module("lasernest.gui.main", run_name="__main__")


def _is_file_to_open(argument: str) -> bool:
    """True for a drawing, a job or a folder of them; a command's name is never taken for one."""
    commands = {*get_command(app).commands}  # type: ignore[attr-defined]
    return argument not in commands and Path(argument).exists()


def _after_profile(words: Sequence[str]) -> Sequence[str]:
    """The words without a leading `--profile FOLDER`, which the window understands, too."""
    if words and words[0] == "--profile":
        return words[2:]
    return words[1:] if words and words[0].startswith("--profile=") else words


def _refuse_missing_file(argument: str) -> None:
    """What has an ending or a folder was meant as a file; no command is called so.

    Raises:
        UsageError: that file is not there.
    """
    looks_like_one = bool(Path(argument).suffix) or len(Path(argument).parts) > 1
    if looks_like_one and not argument.startswith("-"):
        raise UsageError(f"there is no file '{argument}'", todo="Check the name and the folder.")


def main(arguments: list[str] | None = None) -> None:
    """Run the command line and exit with its code.

    Typer itself ends wrong usage with 2; what we refuse ourselves is told here.
    """
    look_for_rings_seldom()
    given = sys.argv[1:] if arguments is None else arguments
    try:
        wanted = _after_profile(given)
        if wanted and _is_file_to_open(wanted[0]):
            _open_window(given)
        else:
            if wanted:
                _refuse_missing_file(wanted[0])
            app(args=arguments)
    except UsageError as error:
        say_error(error)
        sys.exit(2)
    except LasernestError as error:
        say_error(error)
        sys.exit(1)
    except (KeyboardInterrupt, Cancelled):
        say_error("Stopped; nothing more was written.")
        sys.exit(1)
    except BrokenPipeError:
        # Whoever read our output has gone, such as `head`.
        sys.stderr.close()
        sys.exit(1)
