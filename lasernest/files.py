"""Writing files so that a reader finds the old one or the new one, never half of one."""

from __future__ import annotations

import contextlib
import hashlib
import os
import tempfile
from pathlib import Path

from lasernest.errors import UnwritableFileError, Where


def numbered(path: Path, count: int) -> tuple[Path, ...]:
    """The names of so many files: the path itself, or `NAME-1`, `NAME-2` and so on."""
    if count == 1:
        return (path,)
    return tuple(path.with_name(f"{path.stem}-{i}{path.suffix}") for i in range(1, count + 1))


def refuse_folder(path: Path) -> None:
    """Let only files pass whose folder is there, before anything long is done for them.

    Raises:
        UnwritableFileError: the folder is missing, or the path is a folder itself.
    """
    if path.is_dir():
        raise UnwritableFileError(
            "this is a folder", where=Where(file=path), todo="Add the name of the file to write."
        )
    folder = path.parent
    if not folder.is_dir():
        known = "is no folder" if folder.exists() else "does not exist"
        raise UnwritableFileError(
            f"the folder {folder} {known}",
            where=Where(file=path),
            todo="Make the folder, or choose another.",
        )


def write_atomically(path: Path, content: bytes) -> None:
    """Write beside the target, then put it in the target's place.

    Args:
        path: the file to make or replace; its folder must exist.
        content: all of it.

    Raises:
        UnwritableFileError: the folder is missing or may not be written, or
            the disk is full; what stood there before still stands.
    """
    beside: Path | None = None
    try:
        handle, name = tempfile.mkstemp(dir=path.parent, prefix=f".{path.name}.", suffix=".part")
        beside = Path(name)
        with os.fdopen(handle, "wb") as file:
            file.write(content)
            file.flush()
            os.fsync(file.fileno())
        beside.chmod(_usual_mode(path))
        beside.replace(path)
    except OSError as error:
        if beside is not None:
            with contextlib.suppress(OSError):
                beside.unlink(missing_ok=True)
        raise UnwritableFileError(
            f"the file cannot be written: {error.strerror or error}",
            where=Where(file=path),
            todo=f"Choose another folder than {path.parent}, or make room there.",
        ) from error


def digest_of(path: Path) -> str:
    """SHA-256 of a file in hexadecimal; empty when the file cannot be read."""
    try:
        with path.open("rb") as file:
            return hashlib.file_digest(file, "sha256").hexdigest()
    except OSError:
        return ""


def _usual_mode(path: Path) -> int:
    """The mode of the file that stands there, or what the umask leaves of a new one's."""
    try:
        return path.stat().st_mode & 0o777
    except FileNotFoundError:
        umask = os.umask(0)
        os.umask(umask)
        return 0o666 & ~umask
