"""Times of the pages of a full rack, compared with those of a small one."""

from __future__ import annotations

import tempfile
from collections.abc import Iterator
from contextlib import ExitStack
from dataclasses import replace
from pathlib import Path

from flask.testing import FlaskClient

from inventory.services.rack import tagging
from inventory.services.rack.tagging import NewPiece
from inventory.shop import Shop
from inventory.web import create_app
from tests.bench.timing import Comparison, compare_times
from tests.fill import racks

PAGES = {
    "the rack as pictures": "/rack",
    "the rack as a table": "/rack?view=table",
    "ash, at least 12 in long, widest first": "/rack?species=ash&length=12&sort=widest",
    "the first page": "/",
}


def compare_rack_sizes(many: int, few: int, times: int) -> Iterator[Comparison]:
    """The pages of shops with `few` and `many` tags, from the app itself, without a network."""
    with ExitStack() as stack:
        small, full = (_client_of(stack, tags) for tags in (few, many))
        for what, path in PAGES.items():
            yield compare_times(
                what,
                (f"{few:,} tags", lambda path=path: _get(small, path)),
                (f"{many:,} tags", lambda path=path: _get(full, path)),
                times,
            )


def _client_of(stack: ExitStack, tags: int) -> FlaskClient:
    """A test client of a shop with so many tags."""
    folder = stack.enter_context(tempfile.TemporaryDirectory())
    shop = stack.enter_context(Shop.open(Path(folder) / "shop"))
    rack = racks.make_rack(1, tags, racks.ShopUnits.MIXED)
    wanted = [
        replace(rack[number % len(rack)], tag="", count=1, location=f"wall {number % 40}") for number in range(tags)
    ]
    tagging.tag_all(shop, [NewPiece(offcut) for offcut in wanted])
    return create_app(shop).test_client()


def _get(client: FlaskClient, path: str) -> None:
    answer = client.get(path)
    if answer.status_code != 200:
        raise SystemExit(f"{path} answers {answer.status}.")
