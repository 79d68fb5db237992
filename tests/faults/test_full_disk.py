"""On a full disk, tagging, import and backup print one sentence and change nothing.

The space is limited in two real ways: a full tmpfs of three megabytes (where the system allows mounting one), and the
system's limit on the size of files (everywhere).
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
COMMANDS = ("tagging", "import", "backup")


@cache
def may_mount() -> bool:
    tried = subprocess.run(
        [*OWN_MOUNTS, "mount", "-t", "tmpfs", "-o", "size=64k", "tmpfs", "/mnt"], capture_output=True, check=False
    )
    return tried.returncode == 0


METHODS = ("disk", "limit") if may_mount() else ("limit",)


@dataclass(frozen=True)
class Outcome:
    """What `on_a_full_disk.py` prints of one command."""

    command: str
    free_kb: int
    code: int
    out: str
    err: str
    as_before: bool
    left_behind: list[str]


@pytest.fixture(scope="module", params=METHODS)
def outcomes(request: pytest.FixtureRequest, tmp_path_factory: pytest.TempPathFactory) -> list[Outcome]:
    """The outcome of each command with each amount of space, and last without a limit (free_kb −1)."""
    folder = tmp_path_factory.mktemp("small")
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
    return [Outcome(**each) for each in json.loads(done.stdout)]


@pytest.mark.parametrize("command", COMMANDS)
def test_without_space_a_command_prints_one_sentence_and_exits_with_2(outcomes: list[Outcome], command: str) -> None:
    refused = [each for each in outcomes if each.command == command and each.code != 0]
    assert len(refused) >= 3
    for each in refused:
        assert each.code == 2, each
        assert each.out == "", each
        assert each.err.count("\n") == 1 and each.err.endswith(".\n"), each
        assert "did not expect" not in each.err and "Traceback" not in each.err, each


@pytest.mark.parametrize("command", COMMANDS)
def test_without_space_a_command_changes_nothing(outcomes: list[Outcome], command: str) -> None:
    for each in outcomes:
        if each.command == command and each.code != 0:
            assert each.as_before, each
            assert each.left_behind == [], each


@pytest.mark.parametrize("command", COMMANDS)
def test_with_space_again_the_same_command_succeeds(outcomes: list[Outcome], command: str) -> None:
    [last] = [each for each in outcomes if each.command == command and each.free_kb == -1]
    assert (last.code, last.err) == (0, "")
