"""Dual prices of strip widths, and the upper bound on the number of glue-ups that they prove.

Method: column generation for bin covering (P. Gilmore and R. Gomory, Operations Research 9(6), 1961,
for cutting stock, reversed here; from memory). A pattern is a set of strips that fills one glue-up.
The restricted master LP gives prices; the pricing problem, an exact knapsack cover by dynamic
programming over whole prices, finds the cheapest pattern. If no pattern costs less than `least`,
there are at most (price of all strips) / `least` glue-ups. That holds for any prices, so those of
the LP may be floats. Widths in nanometers.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

import numpy as np

from inventory.orders.master_problem import MasterProblem
from inventory.solver.problem import IntArray

SCALES = (55_440, 27_720, 10_080, 5_040)
"""The price of a glue-up in whole units; highly composite, so that most LP prices are exact."""
MOST_WORK = 2_000_000
"""Widths times price units of one pricing problem; a finer scale is not used for so many widths."""
MOST_ROUNDS = 300
WIDTH_PRICE_SHARE = 0.1
"""The share of prices by width mixed in where strips of price 0 fill a glue-up."""


@dataclass(frozen=True)
class DualPrices:
    """A price for each width, and the price of the cheapest pattern."""

    each: tuple[int, ...]
    least: int

    def most(self, counts: Sequence[int]) -> int:
        """The upper bound on the number of glue-ups."""
        return sum(price * many for price, many in zip(self.each, counts, strict=True)) // self.least


@dataclass(frozen=True)
class PricedPatterns:
    """Checked prices, and the patterns of the master problem, each with how often it is used."""

    prices: DualPrices
    patterns: tuple[tuple[tuple[int, ...], int], ...]


def prices_by_width(widths: Sequence[int], target: int) -> DualPrices:
    """Prices equal to the widths."""
    return DualPrices(tuple(widths), target)


def reprice(prices: DualPrices, widths: Sequence[int], counts: Sequence[int], target: int) -> DualPrices:
    """The same prices for other widths or counts, with the price of the cheapest pattern then."""
    widths = [min(width, target) for width in widths]
    if prices.least > SCALES[0] + 1:  # prices by width, in nanometers
        return prices_by_width(widths, target)
    least, _ = cheapest_pattern(widths, counts, target, prices.each, prices.least)
    return DualPrices(prices.each, least) if least else prices_by_width(widths, target)


def extend_prices(
    prices: DualPrices, widths: Sequence[int], counts: Sequence[int], target: int, known: Sequence[int]
) -> DualPrices:
    """The prices checked against more strips, with a price for each width that had none.

    `known` are the counts for which the prices were made; a width of count 0
    gets the least price at which it makes no pattern cheaper.
    """
    if prices.least > SCALES[0] + 1:  # prices by width, in nanometers
        return prices_by_width(widths, target)
    widths = [min(width, target) for width in widths]
    each = list(prices.each)
    there = [many if before else 0 for many, before in zip(counts, known, strict=True)]
    least, _ = cheapest_pattern(widths, there, target, each, prices.least)
    for place, (width, before) in enumerate(zip(widths, known, strict=True)):
        if before or not counts[place]:
            continue
        each[place] = 0
        for many in range(1, min(counts[place], -(-target // width)) + 1):
            rest, _ = cheapest_pattern(widths, there, target - many * width, each, least)
            each[place] = max(each[place], -(-(least - rest) // many))
        there[place] = counts[place]
    return reprice(DualPrices(tuple(each), max(least, 1)), widths, counts, target)


def generate_columns(
    widths: Sequence[int], counts: Sequence[int], target: int, shares: Sequence[Sequence[int]]
) -> Iterator[PricedPatterns]:
    """Better and better prices; the last ones are close to the LP's optimum. `shares` are the first patterns.

    A strip wider than the target counts as wide as it.
    """
    widths = [min(width, target) for width in widths]
    master = MasterProblem(counts)
    for share in shares:
        master.add(_without_surplus(widths, list(share), target))
    scale = next((each for each in SCALES if each * len(widths) <= MOST_WORK), SCALES[-1])
    linear = np.array(widths) / target
    best = prices_by_width(widths, target)
    for _ in range(MOST_ROUNDS):
        master.solve()
        for mixed in (0.0, WIDTH_PRICE_SHARE):
            guess = (1 - mixed) * master.prices + mixed * linear
            scaled_prices = np.rint(guess * scale).astype(np.int64).tolist()
            least, pattern = cheapest_pattern(widths, counts, target, scaled_prices, scale)
            if least:
                break
        prices = DualPrices(tuple(scaled_prices), max(least, 1))
        if least and prices.most(counts) <= best.most(counts):
            best = prices
        yield PricedPatterns(best, tuple(master.rounded_down()))
        if pattern is None or not master.add(_without_surplus(widths, pattern, target)):
            return


def _without_surplus(widths: Sequence[int], pattern: list[int], target: int) -> list[int]:
    """The pattern without the strips that it does not need, the narrowest first."""
    over = sum(width * many for width, many in zip(widths, pattern, strict=True)) - target
    for place in sorted((place for place, many in enumerate(pattern) if many), key=lambda place: widths[place]):
        spared = min(pattern[place], over // widths[place])
        pattern[place] -= spared
        over -= spared * widths[place]
    return pattern


def cheapest_pattern(
    widths: Sequence[int], counts: Sequence[int], target: int, prices: Sequence[int], most: int
) -> tuple[int, list[int] | None]:
    """The price of the cheapest pattern, and the pattern; `most` + 1 and None where it costs more than `most`.

    Exact. Cost: one pass over `most` sums for each width and each doubling of its count.
    """
    reach: IntArray = np.zeros(most + 1, dtype=np.int64)
    pattern = [0] * len(widths)
    free = 0
    steps: list[tuple[int, int, int, np.ndarray[tuple[int], np.dtype[np.bool_]]]] = []
    for place, (width, many, price) in enumerate(zip(widths, counts, prices, strict=True)):
        if price <= 0:
            free += width * many
            pattern[place] = many
            continue
        left, some = min(many, -(-target // width), most // price), 1
        while left > 0:
            taken = min(some, left)
            left, some = left - taken, some * 2
            cost = taken * price
            grown = reach[:-cost] + taken * width
            wider = grown > reach[cost:]
            reach[cost:] = np.where(wider, grown, reach[cost:])
            steps.append((place, taken, cost, wider))
    least = int(np.searchsorted(reach, max(target - free, 0)))
    if least > most:
        return most + 1, None
    at = least
    for place, taken, cost, wider in reversed(steps):
        if at >= cost and wider[at - cost]:
            pattern[place] += taken
            at -= cost
    return least, pattern
