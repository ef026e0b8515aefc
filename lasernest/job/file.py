"""The job's file, `NAME.lasernest`: one versioned JSON text, written atomically.

The outer object holds `format` (a number) and `job`. A change of form raises
the number and adds one step to `_STEPS`, which turns the plain data of one
number into the next. A file with a higher number than ours is refused.
"""

from __future__ import annotations

import hashlib
import re
from collections.abc import Callable
from pathlib import Path
from typing import Any

import msgspec

from lasernest.errors import (
    BadValueError,
    LasernestError,
    NewerFormatError,
    UnreadableFileError,
    Where,
)
from lasernest.files import write_atomically
from lasernest.job.document import Job

SUFFIX = ".lasernest"
FORMAT = 3


def _to_2(job: dict[str, Any]) -> dict[str, Any]:
    """Panels may have a stock of their own: sheets tell theirs, several materials are accepted."""
    setup = job.setdefault("setup", {})
    accepted = setup.pop("material_acknowledged", "")
    setup["materials_accepted"] = [accepted] if accepted else []
    of_job = setup["stock"]["name"] if setup.get("stock") else ""
    plans = [(job.get("plan"), of_job)]
    comparison = job.get("comparison") or {"columns": []}
    plans += [(column["plan"], column["stock"]["name"]) for column in comparison["columns"]]
    for plan, stock_name in plans:
        for one in plan["sheets"] if plan else ():
            one["sheet"]["stock_name"] = stock_name
    # No window and no command ever wrote this; to pass it over would cut joints too tight or loose.
    for panel, _sheet in job.get("joint_rules", {}).pop("other_sheets", ()):
        raise BadValueError(f"the joints of {panel} have a sheet of their own, not a stock")
    return job


_WORDS_IN_BRACKETS = re.compile(r" \((--[^()]*)\)")


def _to_3(job: dict[str, Any]) -> dict[str, Any]:
    """What a finding advises no longer holds the words of the command line."""
    for source in job.get("sources", ()):
        for finding in source.get("findings", ()):
            todo = finding.get("todo", "")
            words = _WORDS_IN_BRACKETS.search(todo)
            if words:
                finding["todo"] = _WORDS_IN_BRACKETS.sub("", todo)
                finding["on_command_line"] = words[1]
            elif "--" in todo and finding.get("choices"):
                # The answers of a question hold these words too.
                finding["todo"] = ""
    return job


_STEPS: dict[int, Callable[[dict[str, Any]], dict[str, Any]]] = {1: _to_2, 2: _to_3}
"""From format N to N + 1, on plain data."""

_NOT_OF_THAT_FORM = (AttributeError, KeyError, TypeError, ValueError)
"""What a step raises where plain data are not what their number says."""


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
    try:
        for step in range(number, FORMAT):
            data = _STEPS[step](data)
        return msgspec.convert(data, Job)
    except (msgspec.ValidationError, LasernestError, *_NOT_OF_THAT_FORM) as error:
        raise UnreadableFileError(
            f"the job file is damaged ({error})",
            where=where,
            todo="Open another copy of the job.",
        ) from error
