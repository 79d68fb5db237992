"""Confirmed changes survive kill -9: a tagger is killed two hundred times at random moments."""

import os
import random
import signal
import sqlite3
import subprocess
import sys
import time
from collections.abc import Iterator
from pathlib import Path

import pytest
from PIL import Image

from inventory.core.offcuts import State
from inventory.services.rack import queries
from inventory.services.rack.queries import StatusFilter
from inventory.shop import Shop

KILLS = 200
SEED = 4


class Taggers:
    """A running program that forks a tagger at each call, and what its taggers confirmed."""

    def __init__(self, folder: Path) -> None:
        self.tagged: list[str] = []
        self.pruned: list[str] = []
        self.killed_before_the_first = 0
        self._program = subprocess.Popen(
            [sys.executable, str(Path(__file__).parent / "warm_forks.py"), str(folder)],
            stdin=subprocess.PIPE,
            stdout=subprocess.PIPE,
            text=True,
            bufsize=1,
            env={**os.environ, "PYTHONPATH": os.getcwd()},
        )
        assert self._line() == "ready"

    def _line(self) -> str:
        assert self._program.stdout is not None
        line = self._program.stdout.readline()
        assert line.endswith("\n"), "the program has ended"
        return line.strip()

    def kill_one(self, moment: float, *, confirmed: int) -> None:
        """Forks a tagger, waits for `confirmed` lines from it, and kills it `moment` seconds later."""
        assert self._program.stdin is not None
        self._program.stdin.write("go\n")
        self._program.stdin.flush()
        word, child = self._line().split()
        assert word == "child"
        before = len(self.tagged)
        for _ in range(confirmed):
            self._keep(self._line())
        time.sleep(moment)
        os.kill(int(child), signal.SIGKILL)
        while (line := self._line()) != "dead":
            self._keep(line)
        self.killed_before_the_first += len(self.tagged) == before

    def _keep(self, line: str) -> None:
        {"+": self.tagged, "-": self.pruned}[line[0]].append(line[1:])

    def close(self) -> None:
        self._program.communicate(timeout=120)


@pytest.fixture
def taggers(tmp_path: Path) -> Iterator[Taggers]:
    program = Taggers(tmp_path / "shop")
    yield program
    program.close()


def sound(folder: Path) -> bool:
    with sqlite3.connect(folder / "rackful.sqlite3") as database:
        [[result]] = database.execute("PRAGMA integrity_check")
        broken = database.execute("PRAGMA foreign_key_check").fetchall()
    database.close()
    return bool(result == "ok" and not broken)


def test_two_hundred_kills_lose_nothing_that_was_confirmed(tmp_path: Path, taggers: Taggers) -> None:
    rng = random.Random(SEED)
    for number in range(KILLS):
        # Every fourth is killed early: while it opens the shop, recovers the log or tags its first piece.
        early = number % 4 == 3
        taggers.kill_one(rng.uniform(0, 0.1 if early else 0.02), confirmed=0 if early else rng.randint(1, 3))
        if number % 20 == 19:
            assert sound(tmp_path / "shop")

    assert len(taggers.tagged) > KILLS, "the kills came too early to hit anything"
    assert taggers.killed_before_the_first > 5, "the kills came too late to hit a shop while it opens"
    with Shop.open(tmp_path / "shop") as shop:
        kept = {record.code: record for record in queries.all_pieces(shop, StatusFilter.ALL)}
        assert set(taggers.tagged) <= set(kept)
        assert len(set(taggers.tagged)) == len(taggers.tagged), "a code was given twice"
        # A killed tagger may have stored one piece that it had not confirmed yet.
        assert len(kept) <= len(taggers.tagged) + KILLS
        assert {kept[code].state for code in taggers.pruned} == {State.GONE}
        photos = [photo for record in kept.values() for photo in record.photos]
        assert len(photos) > KILLS // 4
        for photo in photos:
            for size in ("full", "thumb"):
                with Image.open(shop.photos.path(photo.digest, size)) as picture:
                    picture.load()
        for code, record in kept.items():
            assert queries.piece(shop, code).history, f"{record} has lost its history"
    assert sound(tmp_path / "shop")
