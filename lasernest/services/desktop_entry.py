"""The program's entry, icon and file type in the maker's own desktop, on Linux and the like.

`pip` puts these files into the folder it installs to, which a desktop looks into only for an
installation of the whole system. Here they are written for the user, with the full path of
the program, so that they work from a virtual environment and from a packed program too.

Sources: freedesktop.org Desktop Entry Specification 1.5 (quoting in Exec), Shared MIME-info
Database 0.21, Icon Theme Specification 0.13 and Base Directory Specification 0.8.
"""

from __future__ import annotations

import re
import shutil
import subprocess
import sys
from contextlib import suppress
from pathlib import Path

from lasernest.errors import NotFoundError, UnwritableFileError, UsageError, Where
from lasernest.files import write_atomically
from lasernest.folders import share_folder
from lasernest.resources import resource

_FILES = {
    "desktop/lasernest.desktop": "applications/lasernest.desktop",
    "desktop/lasernest.svg": "icons/hicolor/scalable/apps/lasernest.svg",
    "desktop/lasernest-mime.xml": "mime/packages/lasernest.xml",
}
_PROGRAM = "lasernest-window"
_REFRESHERS = (("update-mime-database", "mime"), ("update-desktop-database", "applications"))
_REFRESH_S = 30.0


def install(program: Path | None = None) -> tuple[Path, ...]:
    """Write entry, icon and file type for this user; what stood there is replaced.

    Args:
        program: what the entry starts; the window beside the running Python if not given.

    Returns:
        The files.

    Raises:
        UsageError: this system has no such desktop.
        NotFoundError: the program is not installed as a command.
        UnwritableFileError: a file cannot be written.
    """
    _refuse_others()
    start = program or _window_program()
    made = []
    for name, place in _FILES.items():
        content = resource(name).read_bytes()
        if place.endswith(".desktop"):
            content = _with_program(content.decode(), start).encode()
        file = share_folder() / place
        try:
            file.parent.mkdir(parents=True, exist_ok=True)
        except OSError as error:
            raise UnwritableFileError(
                f"the folder cannot be made: {error.strerror or error}",
                where=Where(file=file.parent),
                todo="See that it may be written in.",
            ) from error
        write_atomically(file, content)
        made.append(file)
    _refresh()
    return tuple(made)


def remove() -> tuple[Path, ...]:
    """Take away what `install` wrote; the files that were there.

    Raises:
        UsageError: this system has no such desktop.
        UnwritableFileError: a file cannot be deleted.
    """
    _refuse_others()
    gone = []
    for place in _FILES.values():
        file = share_folder() / place
        if not file.exists():
            continue
        try:
            file.unlink()
        except OSError as error:
            raise UnwritableFileError(
                f"the file cannot be deleted: {error.strerror or error}",
                where=Where(file=file),
                todo=f"See that {file.parent} may be written in.",
            ) from error
        gone.append(file)
    if gone:
        _refresh()
    return tuple(gone)


def _refuse_others() -> None:
    if sys.platform in ("win32", "darwin"):
        raise UsageError(
            "this system has no desktop entries",
            todo="Windows and macOS learn of a program when it is packed for them.",
        )


def _window_program() -> Path:
    beside = Path(sys.executable).absolute().with_name(_PROGRAM)
    if beside.is_file():
        return beside
    found = shutil.which(_PROGRAM)
    if found is None:
        raise NotFoundError(
            f"the command {_PROGRAM} is not installed", todo="Install the program with pip first."
        )
    return Path(found).absolute()


def _with_program(entry: str, program: Path) -> str:
    """The entry with the full path of its program in Exec, quoted as the specification asks."""
    quoted = re.sub(r'(["`$\\])', r"\\\1", str(program)).replace("%", "%%")
    value = f'"{quoted}" %F'.replace("\\", "\\\\")  # once more, as in every string of an entry
    lines = [f"Exec={value}" if line.startswith("Exec=") else line for line in entry.splitlines()]
    return "\n".join(lines) + "\n"


def _refresh() -> None:
    """Let the desktop look again, where it does not do so by itself."""
    for command, folder in _REFRESHERS:
        found, where = shutil.which(command), share_folder() / folder
        if found is not None and where.is_dir():
            with suppress(OSError, subprocess.SubprocessError):
                subprocess.run(
                    [found, str(where)], check=False, capture_output=True, timeout=_REFRESH_S
                )
