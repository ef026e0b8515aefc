"""What is meant by files and folders that a maker drops or opens."""

from __future__ import annotations

from pathlib import Path

from lasernest.errors import UnreadableFileError, Where
from lasernest.files import folder_is_there

SUFFIXES = (".dxf", ".svg")


def drawings_in(path: Path) -> list[Path]:
    """The drawings a dropped path stands for: itself, or those in a folder.

    Raises:
        UnreadableFileError: the folder may not be looked into.
    """
    if not folder_is_there(path):
        return [path]
    try:
        return sorted(p for p in path.iterdir() if p.suffix.lower() in SUFFIXES)
    except OSError as error:
        raise UnreadableFileError(
            f"the folder cannot be looked into: {error.strerror}",
            where=Where(file=path),
            todo="See that you may open it, or copy the drawings to another folder.",
        ) from error
