"""The job's file, `NAME.lasernest`: one versioned JSON text, written atomically.

The outer object holds `format` (a number) and `job`. A change of form raises
the number and adds one step to `_STEPS`, which turns the plain data of one
number into the next. A file with a higher number than ours is refused.
"""

from __future__ import annotations

import hashlib
from collections.abc import Callable
from pathlib import Path
from typing import Any

import msgspec

from lasernest.errors import LasernestError, NewerFormatError, UnreadableFileError, Where
from lasernest.files import write_atomically
from lasernest.job.document import Job

SUFFIX = ".lasernest"
FORMAT = 1

_STEPS: dict[int, Callable[[dict[str, Any]], dict[str, Any]]] = {}
"""From format N to N + 1, on plain data."""


def save_job(job: Job, path: Path) -> str:
    """Write the job.

    Returns:
        SHA-256 of what was written, as `files.digest_of` tells it.

    Raises:
        UnwritableFileError: the file cannot be written; the old one still stands.
    """
    content = encode_job(job)
    write_atomically(path, content)
    return hashlib.sha256(content).hexdigest()


def encode_job(job: Job) -> bytes:
    """The job as the text of its file; the same job gives the same bytes."""
    text = msgspec.json.encode({"format": FORMAT, "program": "lasernest", "job": job})
    return msgspec.json.format(text, indent=1) + b"\n"


def load_job(path: Path) -> Job:
    """Read a job file.

    Raises:
        UnreadableFileError: not there, or not a job file.
        NewerFormatError: written by a newer version of the program.
    """
    try:
        content = path.read_bytes()
    except OSError as error:
        raise UnreadableFileError(
            f"the job cannot be read: {error.strerror or error}", where=Where(file=path)
        ) from error
    return decode_job(content, path)


def decode_job(content: bytes, path: Path) -> Job:
    """The job in the text of a file; `path` is for messages."""
    where = Where(file=path)
    try:
        outer = msgspec.json.decode(content)
    except (msgspec.DecodeError, UnicodeDecodeError) as error:
        raise UnreadableFileError(
            f"this is not a whole job file ({error})",
            where=where,
            todo="Open another copy; the program keeps its own beside the shop book.",
        ) from error
    number = outer.get("format") if isinstance(outer, dict) else None
    if not isinstance(number, int) or not isinstance(outer.get("job"), dict):
        raise UnreadableFileError("this is not a job file", where=where)
    if number > FORMAT:
        raise NewerFormatError(
            f"the job is of format {number}, this program knows up to {FORMAT}",
            where=where,
            todo="Open it with a newer version of lasernest.",
        )
    data: dict[str, Any] = outer["job"]
    for step in range(number, FORMAT):
        data = _STEPS[step](data)
    try:
        return msgspec.convert(data, Job)
    except (msgspec.ValidationError, LasernestError) as error:
        raise UnreadableFileError(
            f"the job file is damaged ({error})",
            where=where,
            todo="Open another copy of the job.",
        ) from error
