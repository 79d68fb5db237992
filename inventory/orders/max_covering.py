"""The most glue-ups of one target that strips fill: bin covering with an upper bound.

Method: the heuristic of `orders.bin_covering`; then column generation (`orders.dual_prices`), whose
prices prove the upper bound; then the patterns of the master problem rounded down, with the rest
filled by the heuristic again. Widths in nanometers.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from inventory.orders.bin_covering import BinCovering, Strips
from inventory.orders.dual_prices import DualPrices, generate_columns, prices_by_width, reprice

INITIAL_TRIES = 300
TRIES_PER_STEP = 500
MAX_TRIES = 6000


class MaxCovering:
    """The glue-ups of one target that strips of some widths fill, up to `wanted`.

    `widest` are the widths rounded up.
    """

    def __init__(
        self, widths: Sequence[int], widest: Sequence[int], counts: Sequence[int], target: int, wanted: int
    ) -> None:
        self.widths, self.widest, self.target = widths, widest, target
        # Strips of one width are of no use beyond those that alone fill all glue-ups.
        self.counts = [min(many, wanted * -(-target // width)) for width, many in zip(widths, counts, strict=True)]
        self.prices = prices_by_width(widest, target)
        self.upper_bound = min(self.prices.most(self.counts), wanted)
        self._covering = BinCovering(widths, self.counts, [target], repeat_last=True, enough=self.upper_bound)

    @property
    def filled(self) -> int:
        return len(self._covering.filled)

    @property
    def shares(self) -> list[list[int]]:
        """By filled glue-up: how many strips of each width it takes."""
        return self._covering.shares

    @property
    def is_optimal(self) -> bool:
        """Whether the bound is reached."""
        return self.filled >= self.upper_bound

    def steps(self, enough: int) -> Iterator[None]:
        """Improves step by step until `enough` are filled, the bound is reached, or the work limit."""
        self._covering.repair(INITIAL_TRIES, enough)
        yield
        patterns: Sequence[tuple[tuple[int, ...], int]] = ()
        for priced in generate_columns(self.widths, self.counts, self.target, self.shares):
            if self.filled >= min(self.upper_bound, enough):
                return
            patterns = priced.patterns
            self._update_bound(reprice(priced.prices, self.widest, self.counts, self.target))
            yield
        initial = [strips for pattern, often in patterns for strips in [_strips(pattern)] * often]
        other = BinCovering(
            self.widths, self.counts, [self.target], repeat_last=True, enough=self.upper_bound, initial=initial
        )
        for covering in (other, self._covering):
            for _ in range(MAX_TRIES // TRIES_PER_STEP):
                if len(covering.filled) > self.filled:
                    self._covering = covering
                if self.filled >= min(self.upper_bound, enough):
                    return
                covering.repair(TRIES_PER_STEP, min(self.upper_bound, enough))
                yield
        if len(other.filled) > self.filled:
            self._covering = other

    def _update_bound(self, prices: DualPrices) -> None:
        most = prices.most(self.counts)
        if most <= self.upper_bound:
            self.prices, self.upper_bound = prices, most


def _strips(pattern: Sequence[int]) -> Strips:
    return [place for place, many in enumerate(pattern) for _ in range(many)]
