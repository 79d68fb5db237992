"""Measures what is said to be quick, and prints ratios: `python -m tests.bench [PART …]`.

Nothing here passes or fails by a time. Takes some minutes, most of them for the
integer solver.
"""

from __future__ import annotations

import argparse
from collections.abc import Iterator
from pathlib import Path

from tests.bench.agreement import solvers_agree
from tests.bench.camera import rates_table
from tests.bench.counting import counts_table
from tests.bench.growth import grown, growth_svg, growth_table
from tests.bench.labels import beside_the_library, memory_of_labels, photos_beside_none
from tests.bench.pruning import pruning_tables
from tests.bench.rack_pages import full_rack_beside_small
from tests.bench.solvers import mixed_beside_one_unit, search_beside_solvers
from tests.bench.timing import Compared
from tests.bench.whole_rack import fill_beside_reading
from tests.fill.racks import Shop

PARTS = ("agreement", "solver", "mixed", "whole", "labels", "rack")
COUNTING = "counting"
"""Boards counted beside the most there can be: a table of its own."""
GROWTH = "growth"
"""How the search grows with rack and board: a table and a plot."""
PRUNING = "pruning"
"""What our advice keeps beside plain rules: tables of their own."""
CAMERA = "camera"
"""How often a simulated camera reads a tag: a table of rates, and of no time."""
MEMORY = "memory"
"""What labels take of a computer's memory: a table of its own."""


def measured(
    part: str, pieces: int, labels: int, tags: int, times: int, limit: float = 60.0, cases: int = 60
) -> Iterator[Compared]:
    """One part of the benchmark, line by line."""
    match part:
        case "agreement":
            yield from solvers_agree(max(pieces // 60, 6), cases)
        case "solver":
            for shop in (Shop.SIXTEENTHS, Shop.SIXTY_FOURTHS, Shop.MIXED):
                yield from search_beside_solvers(pieces, shop, times, limit)
        case "mixed":
            for many in (pieces * 3 // 10, pieces):
                yield from mixed_beside_one_unit(many, times)
        case "whole":
            yield from fill_beside_reading(tags * 10, times)
        case "labels":
            yield from photos_beside_none(labels, times)
            yield from beside_the_library(labels, times)
        case "rack":
            yield from full_rack_beside_small(tags, max(tags // 100, 1), times)


def main() -> None:
    """Reads the command line and prints the table as it grows."""
    asked = argparse.ArgumentParser(prog="python -m tests.bench", description=__doc__)
    asked.add_argument(
        "parts",
        nargs="*",
        metavar="PART",
        help=f"{', '.join(PARTS)}; all where none is named; "
        f"or {COUNTING}, {GROWTH}, {PRUNING}, {CAMERA}, {MEMORY}, alone",
    )
    asked.add_argument("--pieces", type=int, default=1000, help="pieces on the rack that is searched")
    asked.add_argument("--labels", type=int, default=300)
    asked.add_argument(
        "--tags",
        type=int,
        default=10_000,
        help="tags on the rack whose pages are shown; ten times as many where only filled from",
    )
    asked.add_argument("--times", type=int, default=5, help="how often each is measured; the middle one counts")
    asked.add_argument("--limit", type=float, default=60.0, help="seconds after which a solver gives up")
    asked.add_argument("--cases", type=int, default=60, help="cases a kind of board for which the solvers must agree")
    asked.add_argument("--frames", type=int, default=100, help="frames of the camera a cell of its table")
    asked.add_argument("--from", dest="first", type=int, default=0, metavar="N", help="the number of the first frame")
    asked.add_argument("--shops", type=int, default=30, help=f"seeded shops of {PRUNING}")
    asked.add_argument("--plot", type=Path, metavar="FILE", help=f"where {GROWTH} keeps its plot, as SVG")
    given = asked.parse_args()
    if given.parts == [CAMERA]:
        for told in rates_table(given.frames, first=given.first):
            print(told, flush=True)
        return
    if given.parts == [MEMORY]:
        for told in memory_of_labels(10 * given.labels):
            print(told, flush=True)
        return
    if given.parts == [COUNTING]:
        for told in counts_table(given.pieces, seeds=2):
            print(told, flush=True)
        return
    if given.parts == [GROWTH]:
        points = list(grown(given.tags * 10, given.times))
        print("\n".join(growth_table(points)))
        if given.plot:
            given.plot.write_text(growth_svg(points), "utf-8")
        return
    if given.parts == [PRUNING]:
        for told in pruning_tables(given.shops):
            print(told, flush=True)
        return
    if unknown := set(given.parts) - set(PARTS):
        asked.error(f"{', '.join(sorted(unknown))} is no part of it")
    print("| what | one | other | other : one |\n|---|---|---|---|")
    for part in given.parts or PARTS:
        for line in measured(part, given.pieces, given.labels, given.tags, given.times, given.limit, given.cases):
            print(line.told(), flush=True)


if __name__ == "__main__":
    main()
