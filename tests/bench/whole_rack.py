"""Time and memory to fill a board from the database, compared with only reading the rack."""

from __future__ import annotations

import resource
import subprocess
import sys
import tempfile
from collections.abc import Iterator
from dataclasses import replace
from itertools import islice, product
from pathlib import Path

from inventory.core.codes import ALPHABET, CODE_LETTERS, check_character
from inventory.core.lengths import inches
from inventory.cutting.costs import Preference
from inventory.fill.request import BoardRequest, Grain
from inventory.services.boards import filling
from inventory.shop import Shop
from inventory.storage.repositories.codes import reserve_codes
from inventory.storage.repositories.free_pieces import free_pieces
from inventory.storage.repositories.offcuts import insert_offcut
from tests.bench.timing import Comparison, compare_times
from tests.fill import racks

EDGE = BoardRequest(inches("16"), inches("12"), inches("1 1/4"), Grain.EDGE, on=racks.ON, fills=1)
FACE = replace(EDGE, thickness=inches("5/8"), grain=Grain.FACE)
BOARDS = {
    **{f"edge grain, {prefer.value}": replace(EDGE, prefer=(prefer,)) for prefer in Preference},
    **{f"face grain, {prefer.value}": replace(FACE, prefer=(prefer,)) for prefer in Preference},
    "edge grain, all four, three fills each": replace(EDGE, fills=3),
    "face grain, all four, three fills each": replace(FACE, fills=3),
}


def compare_fill_with_read(many: int, times: int) -> Iterator[Comparison]:
    """A shop with `many` tags: its free pieces read from SQLite into arrays, and a board filled, reading included."""
    with tempfile.TemporaryDirectory() as folder:
        _set_up(Path(folder), many)
        shop = Shop.open(Path(folder))
        for what, request in BOARDS.items():
            yield compare_times(
                f"{many:,} tags: {what}",
                ("reading the rack", lambda: _read(shop)),
                ("filling a board", lambda request=request: filling.fill(shop, request)),
                times,
            )
        shop.close()
        yield _memory(Path(folder), many)


def _set_up(folder: Path, many: int) -> None:
    """Makes a shop with so many tags in one transaction, without a history."""
    shop = Shop.open(folder)
    rack = racks.make_rack(1, many, racks.ShopUnits.MIXED)
    with shop.writing() as connection:
        codes = list(islice(_codes(), many))
        reserve_codes(connection, codes, shop.now())
        for number, code in enumerate(codes):
            insert_offcut(connection, replace(rack[number % len(rack)], tag=code, count=1), shop.now())
    shop.close()


def _codes() -> Iterator[str]:
    for letters in product(ALPHABET, repeat=CODE_LETTERS):
        six = "".join(letters)
        check = check_character(six)
        if check is not None:
            yield six + check


def _read(shop: Shop) -> int:
    with shop.reading() as connection:
        return len(free_pieces(connection))


def _memory(folder: Path, many: int) -> Comparison:
    """Peak memory of two new processes, one of which only reads the rack; in GB instead of seconds."""
    reads, fills = (float(_run_process(folder, what)) for what in ("read", "fill"))
    return Comparison(f"{many:,} tags: peak memory in GB", "reading the rack", reads, "filling a board", fills)


def _run_process(folder: Path, what: str) -> str:
    command = [sys.executable, "-m", "tests.bench.whole_rack", str(folder), what]
    return subprocess.run(command, check=True, capture_output=True, text=True).stdout


def main() -> None:
    """Reads the rack of a shop, or fills boards from it, and prints the peak memory in GB."""
    shop = Shop.open(Path(sys.argv[1]))
    if sys.argv[2] == "fill":
        filling.fill(shop, BOARDS["edge grain, all four, three fills each"])
        filling.fill(shop, BOARDS["face grain, all four, three fills each"])
    else:
        _read(shop)
    shop.close()
    # Linux counts in KiB.
    print(resource.getrusage(resource.RUSAGE_SELF).ru_maxrss * 1024 / 10**9)


if __name__ == "__main__":
    main()
