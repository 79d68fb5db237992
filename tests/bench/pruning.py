"""Backtest of the pruning advice against simple rules, and the simulation's greedy heuristic against the search."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from itertools import islice
from math import sqrt
from statistics import mean
from time import process_time

import numpy as np

from inventory.core.offcuts import Offcut
from inventory.fill.request import BoardRequest
from inventory.orders.answer import fill_rack
from inventory.pruning.forecast import forecasts, simulation_of
from inventory.pruning.simulation import Replication, SimulatedBoard, Simulation, _Run
from tests.pruning.backtest import NO_ARRIVALS, backtest, summary
from tests.pruning.seeded_shops import ON, seeded_shop

SHARES = (0.6, 0.3)


def pruning_tables(shops: int, tags: int | None = None, *, drawn: int = 60, fresh: int = 24) -> Iterator[str]:
    """The backtest down to 60 % and to 30 % of the wood, the heuristic, and the speed of the simulation."""
    for share in SHARES:
        yield f"\nDown to {share:.0%} of the wood, {shops} seeded shops, {fresh} new replications of two years each\n"
        yield from summary(list(backtest(range(shops), share=share, drawn=drawn, fresh=fresh, tags=tags)))
    yield "\nThe greedy heuristic and the exact search, in the same replications\n"
    yield from compare_heuristic(max(shops // 8, 1), min(tags or 60, 60), max(fresh // 6, 1))
    yield "\nSpeed of the simulation\n"
    yield from simulation_speed(tags or 330)


def compare_heuristic(shops: int, tags: int, replications: int) -> Iterator[str]:
    """Boards filled by each, and the difference between the chances of the pieces."""
    yield "| shop | preference | filled by heuristic | by the search | mean difference of chances | standard error |"
    yield "|---|---|---|---|---|---|"
    for seed in range(shops):
        shop = seeded_shop(seed, tags)
        years = simulation_of(shop.rack, shop.boards, ON, NO_ARRIVALS)
        heuristic = list(islice(years.replications(3), replications))
        exact = [_Exact(years, np.random.default_rng((3, number))).replication() for number in range(replications)]
        one, other = _chances(years, heuristic), _chances(years, exact)
        apart = mean(abs(share - exact_share) for share, exact_share in zip(one, other, strict=True))
        error = mean(sqrt(share * (1 - share) / replications) for share in other)
        yield (
            f"| {seed} | {shop.boards[0].request.prefer[0].value} | {_filled(heuristic):.1%} | {_filled(exact):.1%} "
            f"| {apart:.3f} | {error:.3f} |"
        )


def _filled(replications: list[Replication]) -> float:
    made = [each for replication in replications for each in replication.made]
    return sum(each.filled for each in made) / max(len(made), 1)


def _chances(years: Simulation, replications: list[Replication]) -> list[float]:
    """The share of replications in which each piece was cut."""
    return [
        sum(len(replication.cut_days.get(number, ())) > unit for replication in replications) / len(replications)
        for number, kind in enumerate(years.kinds.kinds)
        for unit in range(len(kind.tags))
    ]


class _Exact(_Run):
    """A replication whose boards are filled by the exact search."""

    def _make(self, day: int, board: int) -> None:
        request: BoardRequest = self.years.boards[board].request
        rack = [replace(self._offcut(row), tag=str(row), count=int(many)) for row, many in enumerate(self.left) if many]
        plan = fill_rack(rack, request) if rack else None
        if plan is None or not plan.fills:
            self.result.made.append(SimulatedBoard(day, board, False))
            return
        left: list[tuple[Offcut, tuple[int, int] | None]] = []
        origins: dict[tuple[str, int], tuple[int, int] | None] = {}
        for cut in plan.fills[0].cuts:
            piece = (cut.offcut.tag, cut.piece)
            if piece not in origins:
                origins[piece] = self._take(int(cut.offcut.tag), day)
            left += [
                (replace(cut.offcut, tag="", count=1, length=each.length, width=each.width), origins[piece])
                for each in cut.leftovers
                if each.kept
            ]
        for offcut, root in left:
            self._add(offcut, root)
        self.result.made.append(SimulatedBoard(day, board, True))


def simulation_speed(tags: int) -> Iterator[str]:
    """Years simulated in a minute of one core, for a few racks."""
    yield "| pieces | boards a year | preference | years per minute of one core |"
    yield "|---|---|---|---|"
    for seed in (3, 5, 7):
        shop = seeded_shop(seed, tags)
        begun = process_time()
        [*_, forecast] = forecasts(shop.rack, shop.boards, ON, NO_ARRIVALS, replications=10)
        pace = 60 * forecast.years / (process_time() - begun)
        pieces, a_year = sum(each.count for each in shop.rack), float(sum(each.a_year for each in shop.boards))
        yield f"| {pieces} | {a_year:.0f} | {shop.boards[0].request.prefer[0].value} | {pace:,.0f} |"
