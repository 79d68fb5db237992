"""A program that fills its disk and then asks the command line for work; run by `test_full_disk.py`.

It is given the way in which there is no room (`disk`: a file takes all of a small
disk but a few kilobytes; `limit`: the system lets no file grow beyond a few
kilobytes) and a folder. It prints one JSON document: what each deed answered,
and whether the shop was as before once there was room again.
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

ROOMS = (0, 12, 36, 120, 200)
"""Kilobytes that are left when a deed begins."""


@dataclass(frozen=True)
class Told:
    """What a deed answered with so little room, and whether it left all as it was."""

    deed: str
    room: int
    code: int
    out: str
    err: str
    as_before: bool
    left_lying: list[str]


@contextlib.contextmanager
def little_room(way: str, folder: Path, kilobytes: int) -> Iterator[None]:
    """Within it there is this much room and no more."""
    if way == "limit":
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
    """One command line, with what it wrote."""
    out, err = io.StringIO(), io.StringIO()
    with contextlib.redirect_stdout(out), contextlib.redirect_stderr(err):
        code = main([*words, "--data", str(shop)])
    return code, out.getvalue(), err.getvalue()


def standing(folder: Path) -> dict[str, str]:
    """Everything the shop knows, whether its database is sound, and the backup that was there before."""
    database = sqlite3.connect(folder / "shop" / "rackful.sqlite3")
    [[sound]] = database.execute("PRAGMA integrity_check")
    dump = "\n".join(database.iterdump())
    database.close()
    return {"sound": sound, "dump": dump, "backup": (folder / "backup.zip").read_bytes().hex()}


def names(folder: Path) -> set[str]:
    """All files but the database's own helpers, which come and go, and the photos, which may wait for a second try."""
    return {
        str(each.relative_to(folder))
        for each in folder.rglob("*")
        if each.is_file() and not each.name.endswith(("-wal", "-shm")) and each.suffix != ".jpg"
    }


def draw(place: Path, number: int) -> None:
    """A photo that hardly gets smaller as a JPEG, a different one for each number."""
    noise = random.Random(number).randbytes(240 * 180 * 3)
    Image.frombytes("RGB", (240, 180), noise).save(place, "PNG")


def go(way: str, folder: Path, elsewhere: Path) -> list[Told]:
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
    told = []
    for room in ROOMS:
        draw(elsewhere / f"{room}.png", room + 1)
        deeds = {
            "tagging": ("add", "cherry 20 x 5 x 1 1/4 rough planed", "--photo", str(elsewhere / f"{room}.png")),
            "import": ("import", str(elsewhere / "rack.csv")),
            "backup": ("backup", str(folder / "backup.zip")),
        }
        for deed, words in deeds.items():
            before, files = standing(folder), names(folder)
            with little_room(way, folder, room):
                code, out, err = rackful(shop, *words)
            after = standing(folder)
            told.append(Told(deed, room, code, out, err, after == before, sorted(names(folder) - files)))
    for deed, words in deeds.items():
        code, out, err = rackful(shop, *words)
        told.append(Told(deed, -1, code, out, err, False, []))
    return told


print(json.dumps([asdict(each) for each in go(sys.argv[1], Path(sys.argv[2]), Path(sys.argv[3]))]))
