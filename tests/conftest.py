"""Fixtures for all tests: an empty shop in a folder of its own, and its clock."""

import os
import shutil
from collections.abc import Iterator
from datetime import UTC, datetime, timedelta
from pathlib import Path

import pytest
from hypothesis import HealthCheck, settings

from inventory.shop import Shop

# A busy machine is no fault of the code.
settings.register_profile("shop", deadline=None, suppress_health_check=[HealthCheck.too_slow])
settings.load_profile("shop")

# Tests print to printers of their own or to none, never to those of the machine they run on.
os.environ["CUPS_SERVER"] = "/nowhere/cups.sock"

MAX_WORKERS = 4
"""Each may open a browser of its own."""

LONGEST_FIRST = (
    "web/rack/test_rack_in_browser.py",
    "fill/test_against_two_solvers.py",
    "web/bench/test_live_form.py",
    "web/bench/test_bench_in_browser.py",
    "project/test_checks.py",
)
"""Begun first and the browser's next, so that no worker is left with a long file when the others have no more to do."""


def pytest_xdist_auto_num_workers(config: pytest.Config) -> int:
    """All tests are shared out among the cores; a part of them runs in one process, which starts sooner."""
    everything = config.args == config.getini("testpaths")
    return min(os.cpu_count() or 1, MAX_WORKERS) if everything else 0


def pytest_collection_modifyitems(items: list[pytest.Item]) -> None:
    tests = Path(__file__).parent
    if missing := [name for name in LONGEST_FIRST if not (tests / name).is_file()]:
        raise pytest.UsageError(f"tests/conftest.py begins with files that are not there: {', '.join(missing)}")
    places = {item.path: len(LONGEST_FIRST) for item in items if item.get_closest_marker("browser")}
    places |= {tests / name: place for place, name in enumerate(LONGEST_FIRST)}
    items.sort(key=lambda item: places.get(item.path, len(LONGEST_FIRST) + 1))


class Clock:
    """A clock that stands still until it is moved."""

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
    """The folder of a shop as it is when it was opened for the first time, to be copied: all revisions of the
    database take longer than most tests."""
    folder: Path = tmp_path_factory.mktemp("new") / "shop"
    Shop.open(folder, now=Clock(MORNING)).close()
    return folder


@pytest.fixture
def shop(tmp_path: Path, clock: Clock, shop_template: Path) -> Iterator[Shop]:
    """An empty shop; its clock stands at 10:00 on 31 January 2030 (UTC)."""
    shutil.copytree(shop_template, tmp_path / "shop")
    with Shop.open(tmp_path / "shop", now=clock) as opened:
        yield opened
