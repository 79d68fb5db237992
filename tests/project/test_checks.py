"""ruff, mypy and import-linter report nothing."""

import subprocess
import sys
from pathlib import Path

import pytest

ROOT = Path(__file__).resolve().parents[2]
TOOLS = Path(sys.executable).parent


def tool_output(*command: str) -> str:
    """The output of a tool that fails; empty if it passes."""
    ended = subprocess.run(
        [str(TOOLS / command[0]), *command[1:]], cwd=ROOT, capture_output=True, text=True, timeout=300, check=False
    )
    return "" if ended.returncode == 0 else ended.stdout + ended.stderr


@pytest.mark.parametrize("command", [("check", "--quiet"), ("format", "--check", "--quiet")], ids=" ".join)
def test_ruff_reports_nothing(command: tuple[str, ...]) -> None:
    assert tool_output("ruff", *command, ".") == ""


def test_mypy_reports_nothing() -> None:
    assert tool_output("mypy") == ""


def test_import_linter_reports_nothing() -> None:
    assert tool_output("lint-imports") == ""
