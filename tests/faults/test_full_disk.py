"""A full disk gives a sentence and leaves everything as it was, for tagging, import and backup.

Two real ways in which there is no room: a tmpfs of three megabytes that is filled
(where this machine lets us mount one), and a limit of the system on how large a
file may grow (everywhere).
"""

import json
import os
import subprocess
import sys
from dataclasses import dataclass
from functools import cache
from pathlib import Path

import pytest

PROGRAM = Path(__file__).parent / "on_a_full_disk.py"
OWN_MOUNTS = ["unshare", "--user", "--map-root-user", "--mount"]
DEEDS = ("tagging", "import", "backup")


@cache
def may_mount() -> bool:
    tried = subprocess.run(
        [*OWN_MOUNTS, "mount", "-t", "tmpfs", "-o", "size=64k", "tmpfs", "/mnt"], capture_output=True, check=False
    )
    return tried.returncode == 0


WAYS = ("disk", "limit") if may_mount() else ("limit",)


@dataclass(frozen=True)
class Told:
    deed: str
    room: int
    code: int
    out: str
    err: str
    as_before: bool
    left_lying: list[str]


@pytest.fixture(scope="module", params=WAYS)
def told(request: pytest.FixtureRequest, tmp_path_factory: pytest.TempPathFactory) -> list[Told]:
    """What each deed answered with each amount of room, and last with enough of it (room −1)."""
    folder = tmp_path_factory.mktemp("room")
    disk = folder / "disk"
    disk.mkdir()
    run = [sys.executable, str(PROGRAM), request.param, str(disk), str(folder)]
    if request.param == "disk":
        mount = f"mount -t tmpfs -o size=3m tmpfs '{disk}' && exec \"$@\""
        run = [*OWN_MOUNTS, "sh", "-c", mount, "sh", *run]
    done = subprocess.run(
        run, capture_output=True, text=True, check=False, timeout=300, env={**os.environ, "PYTHONPATH": os.getcwd()}
    )
    assert done.returncode == 0, done.stderr
    return [Told(**each) for each in json.loads(done.stdout)]


@pytest.mark.parametrize("deed", DEEDS)
def test_without_room_the_answer_is_one_sentence_and_exit_2(told: list[Told], deed: str) -> None:
    refused = [each for each in told if each.deed == deed and each.code != 0]
    assert len(refused) >= 3
    for each in refused:
        assert each.code == 2, each
        assert each.out == "", each
        assert each.err.count("\n") == 1 and each.err.endswith(".\n"), each
        assert "did not foresee" not in each.err and "Traceback" not in each.err, each


@pytest.mark.parametrize("deed", DEEDS)
def test_without_room_all_is_as_it_was(told: list[Told], deed: str) -> None:
    for each in told:
        if each.deed == deed and each.code != 0:
            assert each.as_before, each
            assert each.left_lying == [], each


@pytest.mark.parametrize("deed", DEEDS)
def test_with_room_again_the_same_deed_is_done(told: list[Told], deed: str) -> None:
    [last] = [each for each in told if each.deed == deed and each.room == -1]
    assert (last.code, last.err) == (0, "")
