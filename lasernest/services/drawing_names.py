"""What the drawings of a job are called, so that each has a name of its own."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Sequence
from pathlib import Path

from lasernest.job import Source


def names_apart(sources: Sequence[Source]) -> list[str]:
    """File names; with folders where files are called alike, numbered where it is one file twice.

    Returns:
        One name for each drawing, all different.
    """
    by_path = _by_path(source.path for source in sources)
    times = Counter(source.path for source in sources)
    seen: Counter[str] = Counter()
    names = []
    for source in sources:
        seen[source.path] += 1
        name = by_path[source.path]
        names.append(name if times[source.path] == 1 else f"{name} ({seen[source.path]})")
    return names


def _by_path(paths: Iterable[str]) -> dict[str, str]:
    """For each path as many of its last parts as tell it from the others."""
    parts = {path: Path(path).parts for path in paths}
    depths = dict.fromkeys(parts, 1)
    while True:
        names = {path: str(Path(*own[-depths[path] :])) for path, own in parts.items()}
        counts = Counter(names.values())
        alike = [
            path
            for path, own in parts.items()
            if counts[names[path]] > 1 and depths[path] < len(own)
        ]
        if not alike:
            return names
        for path in alike:
            depths[path] += 1
