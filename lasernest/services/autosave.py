"""Jobs kept beside the shop book while they are worked on, and found again after a crash.

Each open job has one file, written anew after changes: a line of JSON that
says whose it is, then the text of a job file. It goes when the job is saved
or closed without changes. What is left over belongs to a program that ended
before it could save, or to a job that was closed unsaved; it is offered at
the next start. What the maker lets go stays for a month under another ending,
so that a slip of the finger loses nothing.
"""

from __future__ import annotations

import json
import logging
import uuid
from contextlib import suppress
from dataclasses import dataclass
from datetime import datetime, timedelta
from pathlib import Path

from lasernest.errors import LasernestError, UnreadableFileError, UnwritableFileError, Where
from lasernest.files import write_atomically
from lasernest.folders import data_folder
from lasernest.job import Job
from lasernest.job.file import decode_job, encode_job

log = logging.getLogger(__name__)

ENDING = ".kept"
GONE = ".gone"
KEPT_DAYS = 30
"""How long a job that was let go can still be found in the folder."""


@dataclass(frozen=True, slots=True)
class KeptJob:
    """A job found in the folder."""

    file: Path
    name: str
    path: Path | None
    """The job file it was opened from or saved to; None when it never had one."""
    at: datetime
    """When it was kept."""
    digest: str = ""
    """Of its job file when it was last read or saved; empty when not known."""


def folder() -> Path:
    """Where jobs are kept; it need not exist yet."""
    return data_folder() / "unsaved"


def new_file() -> Path:
    """A file for one more open job."""
    return folder() / f"{uuid.uuid4().hex}{ENDING}"


def keep(job: Job, path: Path | None, file: Path, *, digest: str = "") -> None:
    """Keep a job as it is now.

    Args:
        job: to keep.
        path: its own job file, if it has one.
        file: where to keep it, from `new_file`.
        digest: of its job file as it was last read or saved.

    Raises:
        UnwritableFileError: the folder cannot be made or written.
    """
    head = {
        "name": job.name,
        "path": str(path) if path is not None else None,
        "digest": digest,
        "at": datetime.now().isoformat(timespec="seconds"),
    }
    try:
        file.parent.mkdir(parents=True, exist_ok=True)
    except OSError as error:
        raise UnwritableFileError(
            f"the folder cannot be made: {error.strerror or error}", where=Where(file=file.parent)
        ) from error
    write_atomically(file, json.dumps(head).encode() + b"\n" + encode_job(job))


def forget(file: Path) -> None:
    """The job is saved or closed: it need not be kept any more."""
    with suppress(OSError):
        file.unlink(missing_ok=True)


def let_go(file: Path) -> None:
    """The maker does not want it back: it is offered no more, and goes after a month."""
    with suppress(OSError):
        file.replace(file.with_suffix(GONE))


def kept_jobs() -> tuple[KeptJob, ...]:
    """All jobs in the folder, newest first; a damaged file is named in the log and left."""
    found = []
    for file in folder().glob(f"*{ENDING}"):
        try:
            with file.open("rb") as lines:
                head = json.loads(lines.readline())
            path = head["path"]
            kept = KeptJob(
                file,
                str(head["name"]),
                Path(path) if path else None,
                datetime.fromisoformat(head["at"]),
                str(head.get("digest", "")),
            )
        except (OSError, ValueError, KeyError, TypeError) as error:
            log.warning("the kept job %s cannot be read: %s", file, error)
            continue
        found.append(kept)
    return tuple(sorted(found, key=lambda k: k.at, reverse=True))


def load(kept: KeptJob) -> Job:
    """The job itself.

    Raises:
        UnreadableFileError: the file went away or is damaged.
        NewerFormatError: kept by a newer version of the program.
    """
    try:
        content = kept.file.read_bytes()
    except OSError as error:
        raise UnreadableFileError(
            f"the kept job cannot be read: {error.strerror or error}", where=Where(file=kept.file)
        ) from error
    _, _, text = content.partition(b"\n")
    return decode_job(text, kept.file)


def clear_old(*, now: datetime | None = None) -> None:
    """Delete what was let go more than a month ago."""
    limit = (now or datetime.now()) - timedelta(days=KEPT_DAYS)
    for file in folder().glob(f"*{GONE}"):
        with suppress(OSError):
            if datetime.fromtimestamp(file.stat().st_mtime) < limit:
                file.unlink()


def safely(job: Job, path: Path | None, file: Path, *, digest: str = "") -> str:
    """Keep a job; what goes wrong is told as a sentence, empty when nothing did."""
    try:
        keep(job, path, file, digest=digest)
    except LasernestError as error:
        log.warning("the job cannot be kept: %s", error)
        return error.sentence()
    return ""
