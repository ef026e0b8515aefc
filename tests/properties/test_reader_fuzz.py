"""Mutated drawings: bytes and structure damaged at random, then imported.

Whatever the damage, an import ends in panels with findings or in one of our
own errors: never in a traceback, a hang, or an empty result without a word.
A few hundred files run always, 20 000 on demand (`-m slow`).
"""

from __future__ import annotations

import random
import sys
import time
from collections.abc import Callable
from pathlib import Path

import pytest

from lasernest.domain.answers import Answers
from lasernest.domain.control import QuietControl
from lasernest.errors import LasernestError
from lasernest.services.importing import import_drawing

TESTS = Path(__file__).resolve().parents[1]
LONGEST_S = 10.0
MOST_MIB = 1024

Mutation = Callable[[bytes, random.Random], bytes]


def flip_bytes(data: bytes, rng: random.Random) -> bytes:
    changed = bytearray(data)
    for _ in range(rng.randint(1, 8)):
        changed[rng.randrange(len(changed))] = rng.randrange(256)
    return bytes(changed)


def cut_off(data: bytes, rng: random.Random) -> bytes:
    return data[: rng.randint(1, len(data))]


def drop_stretch(data: bytes, rng: random.Random) -> bytes:
    at = rng.randrange(len(data))
    return data[:at] + data[at + rng.randint(1, 200) :]


def repeat_stretch(data: bytes, rng: random.Random) -> bytes:
    at = rng.randrange(len(data))
    piece = data[at : at + rng.randint(1, 400)]
    return data[:at] + piece * rng.randint(2, 4) + data[at + len(piece) :]


def on_lines(data: bytes, change: Callable[[list[bytes]], None]) -> bytes:
    lines = data.split(b"\n")
    change(lines)
    return b"\n".join(lines)


def drop_line(data: bytes, rng: random.Random) -> bytes:
    return on_lines(data, lambda lines: lines.pop(rng.randrange(len(lines))) and None)


def swap_lines(data: bytes, rng: random.Random) -> bytes:
    def change(lines: list[bytes]) -> None:
        a, b = rng.randrange(len(lines)), rng.randrange(len(lines))
        lines[a], lines[b] = lines[b], lines[a]

    return on_lines(data, change)


ODD = [
    *(b"nan", b"inf", b"-1e308", b"1e-320", b"1e15", b"", b"0", b"-1", b"99999999999999999999"),
    *(b"1,5", b"SECTION", b"ENDSEC", b"EOF", b"INSERT", b"POLYLINE", b"SPLINE", b"\xff\xfe"),
    *(b"SEQEND", b"ENDBLK", b"40", b"10", b"2", b"70", b"3.0", b"VERTEX", b"1001", b"102"),
]


def odd_line(data: bytes, rng: random.Random) -> bytes:
    def change(lines: list[bytes]) -> None:
        for _ in range(rng.randint(1, 4)):
            lines[rng.randrange(len(lines))] = rng.choice(ODD)

    return on_lines(data, change)


def odd_number(data: bytes, rng: random.Random) -> bytes:
    """Numbers and words inside of lines, for SVG above all."""
    words = data.split(b'"')
    if len(words) > 2:
        words[rng.randrange(1, len(words))] = rng.choice(
            [*ODD, b"translate(1e200)", b"M0 0L", b"a1 1 0 0", b"#a", b"url(#x)", b"0 0 0 0"]
        )
        return b'"'.join(words)
    return odd_line(data, rng)


def shuffle_records(data: bytes, rng: random.Random) -> bytes:
    def change(lines: list[bytes]) -> None:
        a, b = sorted((rng.randrange(len(lines)), rng.randrange(len(lines))))
        middle = lines[a:b:2]
        rng.shuffle(middle)
        lines[a:b:2] = middle

    return on_lines(data, change)


ANSWERED = Answers.of(("gaps=2", "dividing-lines=cut"))

MUTATIONS: list[Mutation] = [
    *(flip_bytes, cut_off, drop_stretch, repeat_stretch, drop_line, swap_lines, odd_line),
    *(odd_number, shuffle_records),
]


def corpus() -> list[Path]:
    folders = (TESTS / "situations", TESTS.parent / "sample_panels")
    files = [
        p for folder in folders for p in sorted(folder.iterdir()) if p.suffix in (".dxf", ".svg")
    ]
    return [p for p in files if p.stat().st_size < 200_000]


def import_mutant(path: Path, folder: Path, seed: int) -> str | None:
    """Damage a file, import it, and say what went wrong, or None."""
    rng = random.Random(seed)
    data = path.read_bytes()
    used = []
    for _ in range(rng.choice([1, 1, 1, 2, 3])):
        mutation = rng.choice(MUTATIONS)
        used.append(mutation.__name__)
        data = mutation(data, rng) or b" "
    mutant = folder / f"mutant{path.suffix}"
    mutant.write_bytes(data)
    label = f"{path.name} seed {seed} ({', '.join(used)})"
    started = time.monotonic()
    try:
        # Every third as if the maker had answered that gaps are closed and lines divide.
        outlines = import_drawing(
            mutant, control=QuietControl(), answers=None if seed % 3 else ANSWERED
        )
    except LasernestError as error:
        if "\n" in error.sentence() or not error.todo:
            return f"{label}: a poor sentence: {error.sentence()!r}"
        return None
    except Exception as error:
        return f"{label}: {type(error).__name__}: {error}"
    took = time.monotonic() - started
    if took > LONGEST_S:
        return f"{label}: took {took:.1f} s"
    if not outlines.panels and not outlines.findings:
        return f"{label}: nothing imported and nothing said"
    if set(used) == {"cut_off"} and len(data.strip()) < len(path.read_bytes().strip()):
        said = {f.code for f in outlines.findings}
        if "end-marker-missing" not in said:
            return f"{label}: imported although cut off, and not a word about it"
    return None


def run(tmp_path: Path, count: int, first_seed: int) -> list[str]:
    files = corpus()
    assert len(files) > 40
    wrong = []
    for k in range(count):
        problem = import_mutant(files[k % len(files)], tmp_path, first_seed + k)
        if problem is not None:
            wrong.append(problem)
    return wrong


def test_a_few_hundred_mutants(tmp_path: Path) -> None:
    assert run(tmp_path, 400, first_seed=1) == []


@pytest.mark.slow
@pytest.mark.timeout(4 * 3600)
def test_twenty_thousand_mutants(tmp_path: Path) -> None:
    assert run(tmp_path, 20_000, first_seed=1_000_000) == []
    if sys.platform != "win32":
        import resource

        peak = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss
        peak_mib = peak / 1024 if sys.platform == "linux" else peak / 1024 / 1024
        assert peak_mib < MOST_MIB
