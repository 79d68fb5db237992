"""A program that runs commands on a full disk; started by `test_full_disk.py`.

Arguments: how the space is limited (`disk`: a file takes all but a few kilobytes of a small disk; `limit`: the system
lets no file grow beyond a few kilobytes), the folder of the shop, and a folder with space. Prints one JSON document:
the outcome of each command, and whether the shop was unchanged afterwards.
"""

import contextlib
import io
import json
import os
import random
import resource
import sqlite3
import sys
from collections.abc import Iterator
from dataclasses import asdict, dataclass
from pathlib import Path

from PIL import Image

from inventory.cli import main

FREE_KB = (0, 12, 36, 120, 200)
"""Kilobytes of free space when a command starts."""


@dataclass(frozen=True)
class Outcome:
    """The outcome of a command with this much space, and whether it changed anything."""

    command: str
    free_kb: int
    code: int
    out: str
    err: str
    as_before: bool
    left_behind: list[str]


@contextlib.contextmanager
def limited_space(method: str, folder: Path, kilobytes: int) -> Iterator[None]:
    """Limits the free space to this much while the block runs."""
    if method == "limit":
        before = resource.getrlimit(resource.RLIMIT_FSIZE)
        resource.setrlimit(resource.RLIMIT_FSIZE, (kilobytes * 1024, before[1]))
        try:
            yield
        finally:
            resource.setrlimit(resource.RLIMIT_FSIZE, before)
        return
    ballast = folder / "ballast"
    free = os.statvfs(folder)
    ballast.write_bytes(bytes(max(0, free.f_bavail * free.f_frsize - kilobytes * 1024)))
    try:
        yield
    finally:
        ballast.unlink()


def rackful(shop: Path, *words: str) -> tuple[int, str, str]:
    """Runs one command line: its exit code, standard output and standard error."""
    out, err = io.StringIO(), io.StringIO()
    with contextlib.redirect_stdout(out), contextlib.redirect_stderr(err):
        code = main([*words, "--data", str(shop)])
    return code, out.getvalue(), err.getvalue()


def shop_content(folder: Path) -> dict[str, str]:
    """The content of the database, its integrity check, and the earlier backup."""
    database = sqlite3.connect(folder / "shop" / "rackful.sqlite3")
    [[sound]] = database.execute("PRAGMA integrity_check")
    dump = "\n".join(database.iterdump())
    database.close()
    return {"sound": sound, "dump": dump, "backup": (folder / "backup.zip").read_bytes().hex()}


def file_names(folder: Path) -> set[str]:
    """All files but SQLite's temporary ones and the photos, which may stay for a second try."""
    return {
        str(each.relative_to(folder))
        for each in folder.rglob("*")
        if each.is_file() and not each.name.endswith(("-wal", "-shm")) and each.suffix != ".jpg"
    }


def draw(path: Path, number: int) -> None:
    """Writes a photo that JPEG hardly compresses, a different one for each number."""
    noise = random.Random(number).randbytes(240 * 180 * 3)
    Image.frombytes("RGB", (240, 180), noise).save(path, "PNG")


def run_all(method: str, folder: Path, elsewhere: Path) -> list[Outcome]:
    shop = folder / "shop"
    rows = "\n".join(f"ash,{20 + number % 9},3 1/4,13/16,wall {number}" for number in range(400))
    (elsewhere / "rack.csv").write_text(f"species,length,width,thickness,location\n{rows}\n")
    draw(elsewhere / "0.png", 0)
    for words in (
        ("add", "ash 23 1/2 x 3 1/4 x 13/16 @ wall 2", "--photo", str(elsewhere / "0.png")),
        ("add", "beech 18 x 4 x 1 3/4 planed"),
        ("backup", str(folder / "backup.zip")),
    ):
        code, _, err = rackful(shop, *words)
        assert code == 0, err
    outcomes = []
    for free_kb in FREE_KB:
        draw(elsewhere / f"{free_kb}.png", free_kb + 1)
        commands = {
            "tagging": ("add", "cherry 20 x 5 x 1 1/4 rough planed", "--photo", str(elsewhere / f"{free_kb}.png")),
            "import": ("import", str(elsewhere / "rack.csv")),
            "backup": ("backup", str(folder / "backup.zip")),
        }
        for command, words in commands.items():
            before, files = shop_content(folder), file_names(folder)
            with limited_space(method, folder, free_kb):
                code, out, err = rackful(shop, *words)
            after = shop_content(folder)
            outcomes.append(
                Outcome(command, free_kb, code, out, err, after == before, sorted(file_names(folder) - files))
            )
    for command, words in commands.items():
        code, out, err = rackful(shop, *words)
        outcomes.append(Outcome(command, -1, code, out, err, False, []))
    return outcomes


print(json.dumps([asdict(each) for each in run_all(sys.argv[1], Path(sys.argv[2]), Path(sys.argv[3]))]))
