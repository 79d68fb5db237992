"""Measures speed and quality, and prints ratios and tables: `python -m tests.bench [PART …]`.

Nothing here passes or fails by a time. The parts, and what they measured, are in README.md beside this module. All
comparisons together take some minutes, most of them for the general solvers.
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

COMPARISONS = ("agreement", "solver-speed", "mixed-units", "fill-from-database", "label-pdf", "rack-pages")
"""Parts that compare two times, as lines of one table."""
TABLES = ("board-counts", "search-growth", "pruning-backtest", "tag-reading", "label-memory")
"""Parts that print a separate table and run alone."""


def compare(
    part: str, pieces: int, labels: int, tags: int, times: int, limit: float = 60.0, cases: int = 60
) -> Iterator[Comparison]:
    """The lines of one of the COMPARISONS."""
    match part:
        case "agreement":
            yield from check_agreement(max(pieces // 60, 6), cases)
        case "solver-speed":
            for shop in (ShopUnits.SIXTEENTHS, ShopUnits.SIXTY_FOURTHS, ShopUnits.MIXED):
                yield from compare_with_solvers(pieces, shop, times, limit)
        case "mixed-units":
            for many in (pieces * 3 // 10, pieces):
                yield from compare_mixed_units(many, times)
        case "fill-from-database":
            yield from compare_fill_with_read(tags * 10, times)
        case "label-pdf":
            yield from compare_with_photos(labels, times)
            yield from compare_with_library(labels, times)
        case "rack-pages":
            yield from compare_rack_sizes(tags, max(tags // 100, 1), times)


def table(part: str, args: argparse.Namespace) -> Iterator[str]:
    """The lines of one of the TABLES."""
    match part:
        case "board-counts":
            yield from counts_table(args.pieces, seeds=2)
        case "search-growth":
            points = list(measure_growth(args.tags * 10, args.times))
            yield from growth_table(points)
            if args.plot:
                args.plot.write_text(growth_svg(points), "utf-8")
        case "pruning-backtest":
            yield from pruning_tables(args.shops)
        case "tag-reading":
            yield from rates_table(args.frames, first=args.first)
        case "label-memory":
            yield from label_memory(10 * args.labels)


def main() -> None:
    """Reads the command line and prints each line as soon as it is measured."""
    parser = argparse.ArgumentParser(prog="python -m tests.bench", description=__doc__)
    parser.add_argument(
        "parts",
        nargs="*",
        metavar="PART",
        help=f"{', '.join(COMPARISONS)} (default: all of these); or one of {', '.join(TABLES)}",
    )
    parser.add_argument("--pieces", type=int, default=1000, help="pieces on the rack that is searched")
    parser.add_argument("--labels", type=int, default=300)
    parser.add_argument(
        "--tags", type=int, default=10_000, help="tags of rack-pages; fill-from-database and search-growth take tenfold"
    )
    parser.add_argument("--times", type=int, default=5, help="repetitions; the median counts")
    parser.add_argument("--limit", type=float, default=60.0, help="seconds after which a solver gives up")
    parser.add_argument("--cases", type=int, default=60, help="cases of agreement for each kind of board")
    parser.add_argument("--frames", type=int, default=100, help="camera frames for each cell of tag-reading")
    parser.add_argument("--from", dest="first", type=int, default=0, metavar="N", help="number of the first frame")
    parser.add_argument("--shops", type=int, default=30, help="seeded shops of pruning-backtest")
    parser.add_argument("--plot", type=Path, metavar="FILE", help="where search-growth writes its plot, as SVG")
    args = parser.parse_args()
    if len(args.parts) == 1 and args.parts[0] in TABLES:
        for row in table(args.parts[0], args):
            print(row, flush=True)
        return
    if unknown := set(args.parts) - set(COMPARISONS):
        parser.error(f"{', '.join(sorted(unknown))}: not a part, or one that runs alone")
    print("| what | one | other | other : one |\n|---|---|---|---|")
    for part in args.parts or COMPARISONS:
        for line in compare(part, args.pieces, args.labels, args.tags, args.times, args.limit, args.cases):
            print(line.table_row(), flush=True)


if __name__ == "__main__":
    main()
