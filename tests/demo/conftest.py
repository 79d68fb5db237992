"""The demo shop, made once for all tests of this folder."""

from collections.abc import Iterator
from datetime import UTC, date, datetime
from pathlib import Path

import pytest

from inventory.demo.shop import make_demo
from inventory.shop import Shop

TODAY = date(2030, 1, 31)


def at_ten() -> datetime:
    return datetime(2030, 1, 31, 10, tzinfo=UTC)


@pytest.fixture(scope="session")
def demo(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Shop]:
    """The demo shop on the last day of January 2030. Not to be changed: all tests share it."""
    folder: Path = tmp_path_factory.mktemp("demo") / "shop"
    shop = make_demo(folder, today=TODAY, now=at_ten)
    yield shop
    shop.close()
