"""Fixtures for all tests: an empty shop in a temporary folder, and its clock."""

import os
import shutil
import time
from collections.abc import Iterator
from datetime import UTC, datetime, timedelta
from pathlib import Path

import pytest
from hypothesis import HealthCheck, settings

from inventory.shop import Shop

# A busy machine must not fail a test.
settings.register_profile("shop", deadline=None, suppress_health_check=[HealthCheck.too_slow])
settings.load_profile("shop")

# Moments are read back in the time zone of the machine.
os.environ["TZ"] = "UTC"
time.tzset()

# Tests must never print on the machine's real printers.
os.environ["CUPS_SERVER"] = "/nowhere/cups.sock"

MAX_WORKERS = 4
"""Each worker may open a browser."""

LONGEST_FIRST = (
    "web/rack/test_rack_in_browser.py",
    "fill/test_against_two_solvers.py",
    "web/bench/test_live_form.py",
    "web/bench/test_bench_in_browser.py",
    "project/test_checks.py",
)
"""Started first, then the browser tests, so that no worker gets a long file when the others are done."""


def pytest_xdist_auto_num_workers(config: pytest.Config) -> int:
    """The whole suite is distributed over the cores; a part of it runs in one process, which starts sooner."""
    everything = config.args == config.getini("testpaths")
    return min(os.cpu_count() or 1, MAX_WORKERS) if everything else 0


def pytest_collection_modifyitems(items: list[pytest.Item]) -> None:
    tests = Path(__file__).parent
    if missing := [name for name in LONGEST_FIRST if not (tests / name).is_file()]:
        raise pytest.UsageError(f"tests/conftest.py names missing files: {', '.join(missing)}")
    order = {item.path: len(LONGEST_FIRST) for item in items if item.get_closest_marker("browser")}
    order |= {tests / name: number for number, name in enumerate(LONGEST_FIRST)}
    items.sort(key=lambda item: order.get(item.path, len(LONGEST_FIRST) + 1))


class Clock:
    """A clock that keeps its moment until it is set."""

    def __init__(self, moment: datetime) -> None:
        self.moment = moment

    def __call__(self) -> datetime:
        return self.moment

    def set(self, moment: datetime) -> None:
        self.moment = moment

    def add(self, *, days: int = 0, minutes: int = 0) -> None:
        self.moment += timedelta(days=days, minutes=minutes)


MORNING = datetime(2030, 1, 31, 10, 0, tzinfo=UTC)


@pytest.fixture
def clock() -> Clock:
    return Clock(MORNING)


@pytest.fixture(scope="session")
def shop_template(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The folder of a new shop, to be copied: running all migrations takes longer than most tests."""
    folder: Path = tmp_path_factory.mktemp("new") / "shop"
    Shop.open(folder, now=Clock(MORNING)).close()
    return folder


@pytest.fixture
def shop(tmp_path: Path, clock: Clock, shop_template: Path) -> Iterator[Shop]:
    """An empty shop; its clock is at 10:00 on 31 January 2030 (UTC)."""
    shutil.copytree(shop_template, tmp_path / "shop")
    with Shop.open(tmp_path / "shop", now=clock) as opened:
        yield opened
