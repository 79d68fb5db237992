"""What strips are worth to glue-ups, and hence how many glue-ups there can be at most.

Knows widths and counts, and nothing of where strips come from. Put a price on every
width. If no strips that fill a glue-up cost less than `least` together, then glue-ups
are never more than what all strips cost, over `least`. That holds for any prices, so they
may come from wherever they like; `least` is reckoned here in whole numbers: for every
sum of money, the greatest width that it buys. Good prices are those of a linear programme
over ways to fill a glue-up, to which the cheapest way is added over and over (column
generation; P. Gilmore and R. Gomory, Operations Research 9(6), 1961, for cutting stock, here
turned round; from memory). Widths in nanometres.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

import numpy as np

from inventory.orders.master_problem import MasterProblem
from inventory.solver.problem import IntArray

SCALES = (55_440, 27_720, 10_080, 5_040)
"""What a glue-up is worth in the coin of the prices: many whole numbers divide each, so that most prices are exact."""
MOST_WORK = 2_000_000
"""Widths times coins: a scale beyond it is too fine for so many widths."""
MOST_ROUNDS = 300
WIDTH_PRICE_SHARE = 0.1
"""Where strips that cost nothing fill a glue-up, so much of the price by width is mixed in."""


@dataclass(frozen=True)
class DualPrices:
    """A price for each width, and what no strips that fill a glue-up undercut."""

    each: tuple[int, ...]
    least: int

    def most(self, counts: Sequence[int]) -> int:
        """More glue-ups than this can't be filled."""
        return sum(price * many for price, many in zip(self.each, counts, strict=True)) // self.least


@dataclass(frozen=True)
class PricedPatterns:
    """Prices, checked, and ways to fill a glue-up that go with them, each with how often it is used."""

    prices: DualPrices
    patterns: tuple[tuple[tuple[int, ...], int], ...]


def prices_by_width(widths: Sequence[int], target: int) -> DualPrices:
    """Every strip costs its width."""
    return DualPrices(tuple(widths), target)


def reprice(prices: DualPrices, widths: Sequence[int], counts: Sequence[int], target: int) -> DualPrices:
    """The same price for each place of other widths or counts, and what no strips that fill a glue-up then undercut."""
    widths = [min(width, target) for width in widths]
    if prices.least > SCALES[0] + 1:  # in nanometres, not in coins: by width
        return prices_by_width(widths, target)
    least, _ = cheapest_pattern(widths, counts, target, prices.each, prices.least)
    return DualPrices(prices.each, least) if least else prices_by_width(widths, target)


def extend_prices(
    prices: DualPrices, widths: Sequence[int], counts: Sequence[int], target: int, known: Sequence[int]
) -> DualPrices:
    """The prices, checked against all strips there are, with a price for each width that had none.

    `known` are the strips for which the prices were made; a width of which there was none
    gets the least price at which it makes no glue-up cheaper.
    """
    if prices.least > SCALES[0] + 1:  # in nanometres, not in coins: by width
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
    """Better and better prices, the last ones about the best there are; `shares` are ways that are known.

    Wider strips than the target count as wide as it.
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
        # Compared as fractions: what all strips cost over the least.
        if least and prices.most(counts) <= best.most(counts):
            best = prices
        yield PricedPatterns(best, tuple(master.rounded_down()))
        if pattern is None or not master.add(_without_surplus(widths, pattern, target)):
            return


def _without_surplus(widths: Sequence[int], pattern: list[int], target: int) -> list[int]:
    """The way without strips that it does not need, the narrowest first."""
    over = sum(width * many for width, many in zip(widths, pattern, strict=True)) - target
    for place in sorted((place for place, many in enumerate(pattern) if many), key=lambda place: widths[place]):
        spared = min(pattern[place], over // widths[place])
        pattern[place] -= spared
        over -= spared * widths[place]
    return pattern


def cheapest_pattern(
    widths: Sequence[int], counts: Sequence[int], target: int, prices: Sequence[int], most: int
) -> tuple[int, list[int] | None]:
    """What the cheapest strips that fill a glue-up cost, and which they are; `most` + 1 and None where they cost more.

    Exact. Cost: one pass over `most` sums for every width and doubling of its count.
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
