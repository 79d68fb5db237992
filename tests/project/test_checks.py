"""The tools that hold the house in order find nothing: ruff, mypy, import-linter."""

import subprocess
import sys
from pathlib import Path

import pytest

ROOT = Path(__file__).resolve().parents[2]
TOOLS = Path(sys.executable).parent


def tool_output(*command: str) -> str:
    """What a tool says of the house when it finds something; nothing when it is content."""
    ended = subprocess.run(
        [str(TOOLS / command[0]), *command[1:]], cwd=ROOT, capture_output=True, text=True, timeout=300, check=False
    )
    return "" if ended.returncode == 0 else ended.stdout + ended.stderr


@pytest.mark.parametrize("command", [("check", "--quiet"), ("format", "--check", "--quiet")], ids=" ".join)
def test_ruff_finds_nothing(command: tuple[str, ...]) -> None:
    assert tool_output("ruff", *command, ".") == ""


def test_every_type_is_told_and_right() -> None:
    assert tool_output("mypy") == ""


def test_each_room_imports_only_what_it_may() -> None:
    assert tool_output("lint-imports") == ""
