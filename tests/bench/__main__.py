"""Measures what is said to be quick, and prints ratios: `python -m tests.bench [PART …]`.

Nothing here passes or fails by a time. Takes some minutes, most of them for the
integer solver.
"""

from __future__ import annotations

import argparse
from collections.abc import Iterator
from pathlib import Path

from tests.bench.agreement import check_agreement
from tests.bench.camera import rates_table
from tests.bench.counting import counts_table
from tests.bench.growth import growth_svg, growth_table, measure_growth
from tests.bench.labels import compare_with_library, compare_with_photos, label_memory
from tests.bench.pruning import pruning_tables
from tests.bench.rack_pages import compare_rack_sizes
from tests.bench.solvers import compare_mixed_units, compare_with_solvers
from tests.bench.timing import Comparison
from tests.bench.whole_rack import compare_fill_with_read
from tests.fill.racks import ShopUnits

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


def run_part(
    part: str, pieces: int, labels: int, tags: int, times: int, limit: float = 60.0, cases: int = 60
) -> Iterator[Comparison]:
    """One part of the benchmark, line by line."""
    match part:
        case "agreement":
            yield from check_agreement(max(pieces // 60, 6), cases)
        case "solver":
            for shop in (ShopUnits.SIXTEENTHS, ShopUnits.SIXTY_FOURTHS, ShopUnits.MIXED):
                yield from compare_with_solvers(pieces, shop, times, limit)
        case "mixed":
            for many in (pieces * 3 // 10, pieces):
                yield from compare_mixed_units(many, times)
        case "whole":
            yield from compare_fill_with_read(tags * 10, times)
        case "labels":
            yield from compare_with_photos(labels, times)
            yield from compare_with_library(labels, times)
        case "rack":
            yield from compare_rack_sizes(tags, max(tags // 100, 1), times)


def main() -> None:
    """Reads the command line and prints the table as it grows."""
    parser = argparse.ArgumentParser(prog="python -m tests.bench", description=__doc__)
    parser.add_argument(
        "parts",
        nargs="*",
        metavar="PART",
        help=f"{', '.join(PARTS)}; all where none is named; "
        f"or {COUNTING}, {GROWTH}, {PRUNING}, {CAMERA}, {MEMORY}, alone",
    )
    parser.add_argument("--pieces", type=int, default=1000, help="pieces on the rack that is searched")
    parser.add_argument("--labels", type=int, default=300)
    parser.add_argument(
        "--tags",
        type=int,
        default=10_000,
        help="tags on the rack whose pages are shown; ten times as many where only filled from",
    )
    parser.add_argument("--times", type=int, default=5, help="how often each is measured; the middle one counts")
    parser.add_argument("--limit", type=float, default=60.0, help="seconds after which a solver gives up")
    parser.add_argument("--cases", type=int, default=60, help="cases a kind of board for which the solvers must agree")
    parser.add_argument("--frames", type=int, default=100, help="frames of the camera a cell of its table")
    parser.add_argument("--from", dest="first", type=int, default=0, metavar="N", help="the number of the first frame")
    parser.add_argument("--shops", type=int, default=30, help=f"seeded shops of {PRUNING}")
    parser.add_argument("--plot", type=Path, metavar="FILE", help=f"where {GROWTH} keeps its plot, as SVG")
    args = parser.parse_args()
    if args.parts == [CAMERA]:
        for told in rates_table(args.frames, first=args.first):
            print(told, flush=True)
        return
    if args.parts == [MEMORY]:
        for told in label_memory(10 * args.labels):
            print(told, flush=True)
        return
    if args.parts == [COUNTING]:
        for told in counts_table(args.pieces, seeds=2):
            print(told, flush=True)
        return
    if args.parts == [GROWTH]:
        points = list(measure_growth(args.tags * 10, args.times))
        print("\n".join(growth_table(points)))
        if args.plot:
            args.plot.write_text(growth_svg(points), "utf-8")
        return
    if args.parts == [PRUNING]:
        for told in pruning_tables(args.shops):
            print(told, flush=True)
        return
    if unknown := set(args.parts) - set(PARTS):
        parser.error(f"{', '.join(sorted(unknown))} is no part of it")
    print("| what | one | other | other : one |\n|---|---|---|---|")
    for part in args.parts or PARTS:
        for line in run_part(part, args.pieces, args.labels, args.tags, args.times, args.limit, args.cases):
            print(line.told(), flush=True)


if __name__ == "__main__":
    main()
