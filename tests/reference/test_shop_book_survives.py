"""The shop book under processes that are killed while they save.

Each child process saves one change after the other, two records in each, and
says so after each save. It is killed at a random moment. Whatever it said was
saved must be there, and the two records must always agree.
"""

from __future__ import annotations

import random
import subprocess
import sys
from pathlib import Path

import pytest

from lasernest.shop.ledger import Entry, Ledger

REPOSITORY = Path(__file__).resolve().parents[2]

CHILD = """
import sys
from pathlib import Path
from lasernest.shop.ledger import Entry, Ledger
ledger = Ledger.open(Path(sys.argv[1]), lambda: [Entry("n", "a", b"0"), Entry("n", "b", b"0")])
while True:
    with ledger.change("count") as change:
        n = int(change.value("n", "a")) + 1
        change.put("n", "a", str(n).encode())
        change.put("n", "b", (str(n) + " " * 3000).encode())
    print(n, flush=True)
"""


def kill_while_saving(path: Path, kills: int, seed: int) -> tuple[int, int]:
    """Returns the number of saves that were told, and the number of kills before any."""
    dice = random.Random(seed)
    told, early = 0, 0
    for _ in range(kills):
        child = subprocess.Popen(
            [sys.executable, "-c", CHILD, str(path)],
            stdout=subprocess.PIPE,
            cwd=REPOSITORY,
            text=True,
        )
        assert child.stdout is not None
        try:
            if dice.random() < 0.1:  # now and then before it has even opened the book
                child.wait(dice.uniform(0.0, 0.3))
            else:
                child.stdout.readline()
                child.wait(dice.uniform(0.0, 0.05))
        except subprocess.TimeoutExpired:
            pass
        child.kill()
        rest = child.stdout.read().split()
        child.stdout.close()
        child.wait()
        book = Ledger.open(path, lambda: [Entry("n", "a", b"0"), Entry("n", "b", b"0")])
        a, b = book.value("n", "a"), book.value("n", "b")
        assert a is not None
        assert b is not None
        found = int(a)
        assert int(b) == found, "half a change was kept"
        said = int(rest[-1]) if rest else told
        assert found >= max(said, told), "a save that was told is lost"
        assert len(book.changes(10**9)) == found + 1
        early += not rest
        told = found
    return told, early


def test_kills_while_saving_lose_nothing(tmp_path: Path) -> None:
    told, _ = kill_while_saving(tmp_path / "book.sqlite", kills=8, seed=1)
    assert told > 8


@pytest.mark.slow
def test_two_hundred_kills_lose_nothing(tmp_path: Path) -> None:
    told, early = kill_while_saving(tmp_path / "book.sqlite", kills=200, seed=2)
    assert told > 200
    assert early < 100


def test_two_processes_count_together(tmp_path: Path) -> None:
    path = tmp_path / "book.sqlite"
    counting = CHILD.replace("while True:", "for _ in range(25):")
    children = [
        subprocess.Popen(
            [sys.executable, "-c", counting, str(path)],
            stdout=subprocess.DEVNULL,
            cwd=REPOSITORY,
        )
        for _ in range(3)
    ]
    assert [child.wait(60) for child in children] == [0, 0, 0]
    book = Ledger.open(path, lambda: [])
    assert book.value("n", "a") == b"75"
