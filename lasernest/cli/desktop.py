"""`lasernest desktop`: entry, icon and file type of job files in the user's desktop."""

from __future__ import annotations

from typing import Annotated

import typer

from lasernest.cli.output import AsJson, emit_json, say


def register(app: typer.Typer) -> None:
    """Add the command."""
    app.command("desktop")(desktop)


def desktop(
    remove: Annotated[bool, typer.Option("--remove", help="Take them away again.")] = False,
    as_json: AsJson = False,
) -> None:
    """Put the program into the menu of a Linux desktop; job files then open with it."""
    from lasernest.services import desktop_entry

    files = desktop_entry.remove() if remove else desktop_entry.install()
    if as_json:
        emit_json({"files": [str(file) for file in files], "removed": remove})
    elif remove and not files:
        say("there was nothing to take away")
    else:
        for file in files:
            say(f"{'removed' if remove else 'written'}: {file}")
