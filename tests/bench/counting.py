"""Counts equal boards in seeded racks, and compares the count with the proven upper bound."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace
from statistics import mean
from time import perf_counter

from inventory.core.lengths import inches
from inventory.core.offcuts import Offcut
from inventory.cutting.bands import FieldBand
from inventory.cutting.costs import Preference
from inventory.fill.request import BoardRequest, Grain, PanelSpec
from inventory.orders.counting import BoardCount, count_boards
from tests.fill.racks import ON, ShopUnits, make_rack
from tests.verify import faults

SIZES = (50, 100, 200, 500, 1000)
"""Pieces on the racks, if the largest has a thousand."""

EDGE = BoardRequest(inches("16"), inches("10"), inches("1 1/4"), Grain.EDGE, prefer=(Preference.LEAST_WASTE,), on=ON)
BOARDS = {
    "edge grain": EDGE,
    "face grain": replace(EDGE, length=inches("14"), width=inches("9"), thickness=inches("5/8"), grain=Grain.FACE),
    "two pools that share a species": replace(
        EDGE, bands=(FieldBand(("ash", "walnut")), FieldBand(("walnut", "cherry")))
    ),
    "face grain, pools that share a species": replace(
        EDGE,
        thickness=inches("5/8"),
        grain=Grain.FACE,
        bands=(FieldBand(("ash", "walnut")), FieldBand(("walnut", "cherry"))),
    ),
    "end grain": replace(
        EDGE, length=inches("8"), width=inches("10"), grain=Grain.END, panel=PanelSpec(Grain.EDGE, 2, inches("1 1/2"))
    ),
}


@dataclass(frozen=True)
class CountResult:
    """The boards found on one rack, the bound, and the seconds until the last board was found."""

    what: str
    pieces: int
    boards: int
    upper_bound: int
    seconds: float

    @property
    def share(self) -> float:
        """The boards found, as a share of the bound; 1 if the bound is 0."""
        return self.boards / self.upper_bound if self.upper_bound else 1.0

    def table_row(self) -> str:
        """The row of the table.

        >>> CountResult("edge grain", 100, 9, 10, 1.25).table_row()
        '| edge grain | 100 | 9 | 10 | 90.0 % | 1.2 |'
        """
        share = f"{100 * self.share:.1f} %"
        return f"| {self.what} | {self.pieces:,} | {self.boards} | {self.upper_bound} | {share} | {self.seconds:.1f} |"


def count_rack(what: str, rack: list[Offcut], request: BoardRequest) -> CountResult:
    """Counts until the count is optimal or the search ends."""
    begun = perf_counter()
    best, when = BoardCount(0, 0, None), 0.0
    for count in count_boards(rack, request):
        if count.boards > best.boards:
            when = perf_counter() - begun
        best = count
        if best.is_optimal:
            break
    if best.plan is not None and (found := faults(best.plan, rack)):
        raise SystemExit(f"{what}: {found[0]}")
    return CountResult(what, sum(each.count for each in rack), best.boards, best.upper_bound, when)


def compare_counts(largest: int, seeds: int) -> Iterator[CountResult]:
    """Every kind of board on racks of growing size, for each seed."""
    for what, request in BOARDS.items():
        for pieces in sorted({max(size * largest // SIZES[-1], 5) for size in SIZES}):
            for seed in range(seeds):
                shop = (ShopUnits.SIXTEENTHS, ShopUnits.MIXED)[seed % 2]
                yield count_rack(what, make_rack(seed, pieces, shop), request)


def counts_table(largest: int, seeds: int) -> Iterator[str]:
    """The table, line by line, and the average."""
    yield "| board | pieces | found | at most | reached | until then, s |\n|---|---|---|---|---|---|"
    lines = []
    for line in compare_counts(largest, seeds):
        lines.append(line)
        yield line.table_row()
    average = 100 * mean(each.share for each in lines)
    worst = 100 * min(each.share for each in lines)
    yield f"\nOn average {average:.2f} % of the bound, the least {worst:.1f} %, on {len(lines)} racks."
