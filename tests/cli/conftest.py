"""The command line run in this process, as the console entry runs it."""

import json
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import pytest

from inventory.cli import main


@dataclass(frozen=True)
class CommandResult:
    """How a command ended: its exit code and what it printed."""

    code: int
    out: str
    err: str

    @property
    def document(self) -> Any:
        return json.loads(self.out)


Rackful = Callable[..., CommandResult]


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    """Where the shop of the command line is; nothing is there yet."""
    return tmp_path / "my shop"


@pytest.fixture
def rackful(capsys: pytest.CaptureFixture[str], folder: Path) -> Rackful:
    """Runs `rackful COMMAND …` on the shop in `folder`."""

    def run(command: str, *arguments: object) -> CommandResult:
        capsys.readouterr()
        code = main([command, "--data", str(folder), *map(str, arguments)])
        printed = capsys.readouterr()
        return CommandResult(code, printed.out, printed.err)

    return run
