"""Writing files so that a reader finds the old one or the new one, never half of one."""

from __future__ import annotations

import contextlib
import glob
import hashlib
import os
import shutil
import tempfile
import time
from collections.abc import Iterator, Sequence
from pathlib import Path

from lasernest.errors import UnwritableFileError, Where

_UNFINISHED = ".part"
_LEFT_OVER_S = 3600.0
"""What is unfinished so long after it was begun, nobody will finish."""

_MOST_OF_NAME = 40
"""So much of a name is in that of the file beside it: the longest names have room for no more."""


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


def refuse_protected(path: Path) -> None:
    """Let only files pass that may be replaced.

    A file that its owner protected could be replaced all the same where its folder may be
    written, and for root it always could; it was protected to stay.

    Raises:
        UnwritableFileError: the file is there and nobody may write it.
    """
    with contextlib.suppress(FileNotFoundError, NotADirectoryError):
        if not path.stat().st_mode & 0o222:
            raise UnwritableFileError(
                "this file is write-protected",
                where=Where(file=path),
                todo="Choose another name, or allow writing to the file.",
            )


@contextlib.contextmanager
def put_together(files: Sequence[Path]) -> Iterator[tuple[Path, ...]]:
    """Files of one folder that belong together: all are made before the first is replaced.

    Gives the paths to write them to meanwhile, of the same names, in a hidden folder beside
    them. They are put into place when the block ends; when it fails, what stood there stands.

    Raises:
        UnwritableFileError: as `write_atomically`, with the name of the file that was wanted.
    """
    folder = files[0].parent
    for file in files:
        if file.is_dir():
            refuse_folder(file)
        refuse_protected(file)
    prefix = f".{files[0].name[:_MOST_OF_NAME]}."
    _sweep(folder, prefix)
    try:
        with tempfile.TemporaryDirectory(dir=folder, prefix=prefix, suffix=_UNFINISHED) as beside:
            yield (made := tuple(Path(beside) / file.name for file in files))
            for new, file in zip(made, files, strict=True):
                if file.exists():
                    new.chmod(_usual_mode(file))
                new.replace(file)
    except OSError as error:
        raise _unwritable(error.strerror or str(error), files[0]) from error
    except UnwritableFileError as error:
        wanted = next((f for f in files if f.name == getattr(error.where.file, "name", "")), None)
        if wanted is None:
            raise
        raise UnwritableFileError(
            error.what, where=Where(file=wanted), todo=_elsewhere(folder)
        ) from error


def _sweep(folder: Path, prefix: str) -> None:
    """Take away what a program left beside these files when it was killed (names of `tempfile`)."""
    for left in folder.glob(f"{glob.escape(prefix)}{'?' * 8}{_UNFINISHED}"):
        with contextlib.suppress(OSError):
            if time.time() - left.stat().st_mtime > _LEFT_OVER_S:
                shutil.rmtree(left) if left.is_dir() else left.unlink()


def write_atomically(path: Path, content: bytes) -> None:
    """Write beside the target, then put it in the target's place.

    Args:
        path: the file to make or replace; its folder must exist.
        content: all of it.

    Raises:
        UnwritableFileError: the folder is missing or may not be written, the file is
            protected, or the disk is full; what stood there before still stands.
    """
    refuse_protected(path)
    beside: Path | None = None
    try:
        prefix = f".{path.name[:_MOST_OF_NAME]}."
        handle, name = tempfile.mkstemp(dir=path.parent, prefix=prefix, suffix=_UNFINISHED)
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
        raise _unwritable(error.strerror or str(error), path) from error


def _unwritable(why: str, path: Path) -> UnwritableFileError:
    return UnwritableFileError(
        f"the file cannot be written: {why}",
        where=Where(file=path),
        todo=_elsewhere(path.parent),
    )


def _elsewhere(folder: Path) -> str:
    return f"Choose another folder than {folder}, or make room there."


def file_is_there(path: Path) -> bool:
    """Whether a file is there, as far as it may be looked at: a folder on the way may be closed."""
    try:
        return path.is_file()
    except OSError:
        return False


def folder_is_there(path: Path) -> bool:
    """Whether a folder is there, as far as it may be looked at."""
    try:
        return path.is_dir()
    except OSError:
        return False


def digest_of(path: Path) -> str:
    """SHA-256 of a file in hexadecimal; empty when the file cannot be read."""
    if not file_is_there(path):  # a pipe could be waited for for ever
        return ""
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
