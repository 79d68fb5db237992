"""Pieces allocated to the parts that compete for them, with an upper bound on the number of boards.

Method: Lagrangian relaxation of the parts' needs (M. Fisher, Management Science 27(1), 1981; from
memory). Each part has a multiplier, and a piece goes to the part where it is worth most. At any
multipliers, the worth of all pieces over the worth of one board's needs is an upper bound; multiplicative
steps raise the multiplier of the part that gets little. Single pieces then move while that helps the
part with least. Multipliers are floats, the bound is computed in whole numbers.
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from inventory.solver.problem import IntArray

ROUNDS = 200
STEP_SIZE = 0.3
PRICE_SCALE = 1 << 20
MOST_MOVES = 2000


def allocate(gives: IntArray, counts: IntArray, needs: Sequence[int]) -> tuple[IntArray, int]:
    """By part and item class, the pieces that the part gets; and an upper bound on the number of boards.

    `gives[part, item_class]` is what one piece of the class gives to the part, 0 for nothing;
    `counts` the pieces of each class, `needs` what a board needs of each part.
    """
    per_board = np.array(needs, dtype=np.float64)
    share = gives / per_board[:, None]
    prices, most = _dual_prices(share, gives, counts, needs)
    to = np.argmax(share * prices[:, None], axis=0)
    got = np.zeros_like(gives)
    got[to, np.arange(len(counts))] = counts
    got[gives == 0] = 0
    _rebalance(got, share)
    return got, most


def boards_bound(gives: IntArray, counts: IntArray, needs: Sequence[int], prices: Sequence[int]) -> int:
    """The upper bound on the number of boards at these multipliers of the parts."""
    worth = (gives.astype(object) * np.array(prices, dtype=object)[:, None]).max(axis=0)
    total = sum(each * many for each, many in zip(worth.tolist(), counts.tolist(), strict=True))
    return int(total // sum(need * price for need, price in zip(needs, prices, strict=True)))


def _dual_prices(
    share: NDArray[np.float64], gives: IntArray, counts: IntArray, needs: Sequence[int]
) -> tuple[NDArray[np.float64], int]:
    """The multipliers with the least bound that was found, and that bound."""
    parts = len(needs)
    prices = np.full(parts, 1 / parts)
    best, best_prices = np.inf, prices
    for round_number in range(ROUNDS if parts > 1 else 1):
        worth = share * prices[:, None]
        to = np.argmax(worth, axis=0)
        value = float((worth.max(axis=0) * counts).sum())
        if value < best:
            best, best_prices = value, prices
        level = np.zeros(parts)
        np.add.at(level, to, share[to, np.arange(len(counts))] * counts)
        mean = max(float(level.mean()), 1e-12)
        prices = prices * np.exp(-STEP_SIZE / (1 + round_number / 20) * np.clip(level / mean - 1, -1, 1))
        prices = prices / prices.sum()
    tried = [best_prices, *np.eye(parts)] if parts > 1 else [best_prices]
    bounds = []
    for each in tried:
        # A multiplier is for one board's need, and needs have different units.
        scaled_prices = [
            round(PRICE_SCALE * float(price) * max(needs) / need) for price, need in zip(each, needs, strict=True)
        ]
        if any(scaled_prices):
            bounds.append(boards_bound(gives, counts, needs, scaled_prices))
    return best_prices, min(bounds)


def _rebalance(got: IntArray, share: NDArray[np.float64]) -> None:
    """Moves single pieces to the part that has least, while the least grows by it."""
    level = (got * share).sum(axis=1)
    for _ in range(MOST_MOVES if len(level) > 1 else 0):
        poorest = int(level.argmin())
        moves = (got > 0) & (share[poorest] > 0)
        moves[poorest] = False
        after = np.minimum(level[:, None] - share, level[poorest] + share[poorest])
        after[~moves] = -np.inf
        good = after > level[poorest] + 1e-12
        if not good.any():
            return
        # Of the moves that help, the one that takes least from the giver for what it brings.
        price = np.where(good, share / np.maximum(share[poorest], 1e-12), np.inf)
        giver, row = np.unravel_index(int(price.argmin()), price.shape)
        got[giver, row] -= 1
        got[poorest, row] += 1
        level[giver] -= share[giver, row]
        level[poorest] += share[poorest, row]
