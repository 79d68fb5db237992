"""A printing system of the tests' own, started once for all of them."""

from collections.abc import Iterator

import pytest

from tests.printers.virtual import Printing, printing


@pytest.fixture(scope="session")
def running() -> Iterator[Printing]:
    """CUPS with virtual printers; ends with the tests."""
    with printing() as ours:
        yield ours


@pytest.fixture
def at_printers(running: Printing, monkeypatch: pytest.MonkeyPatch) -> Printing:
    """The same as the CUPS of this machine, with nothing received yet."""
    monkeypatch.setenv("CUPS_SERVER", running.socket)
    running.forget()
    return running
