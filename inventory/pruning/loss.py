"""What a smaller rack loses: the same replications with the whole rack and with the pieces kept.

Method: both racks meet the same demand (common random numbers), so that the standard error of the difference is far
smaller than that of either share. The seed differs from that of the forecast.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import date
from math import sqrt
from statistics import mean, stdev

from inventory.core.offcuts import Offcut
from inventory.pruning.forecast import simulation_of
from inventory.pruning.simulation import Arrivals
from inventory.pruning.usual_boards import UsualBoard

CHECK_SEED = 2
"""Not the seed of the forecast: advice must not be judged by the years that it was drawn from."""


@dataclass(frozen=True)
class Outcome:
    """Boards that a rack filled of the `asked` ones in `replications`, and the points lost against the whole rack.

    `lost` is in percentage points of the demanded boards, `error` its standard error.
    """

    replications: int
    asked: int
    filled: int
    lost: float
    error: float

    @property
    def share(self) -> float:
        return self.filled / self.asked if self.asked else 1.0


FillCount = tuple[int, int]
"""Boards filled and boards asked for in one replication."""


def fill_counts(
    rack: Sequence[Offcut],
    boards: Sequence[UsualBoard],
    on: date,
    arrivals: Arrivals,
    replications: int,
    seed: int = CHECK_SEED,
) -> Iterator[FillCount]:
    """How many boards a rack fills in each replication; an empty rack fills none."""
    if not rack:
        return
    for number, replication in enumerate(simulation_of(rack, boards, on, arrivals).replications(seed), 1):
        yield sum(made.filled for made in replication.made), len(replication.made)
        if number == replications:
            return


def compare_counts(whole: Sequence[FillCount], kept: Sequence[FillCount]) -> Outcome:
    """What a rack filled, compared with what the whole rack filled in the same replications."""
    own = list(kept) or [(0, asked) for _, asked in whole]
    pairs = [100 * (before - after) / asked for (before, asked), (after, _) in zip(whole, own, strict=False) if asked]
    error = stdev(pairs) / sqrt(len(pairs)) if len(pairs) > 1 else 0.0
    return Outcome(
        replications=len(own),
        asked=sum(asked for _, asked in own),
        filled=sum(filled for filled, _ in own),
        lost=mean(pairs) if pairs else 0.0,
        error=error,
    )
