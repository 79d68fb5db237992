"""What a smaller rack loses: the same drawn years with all of the rack and with what is kept.

Method: both racks meet the very same boards on the same days, so that the difference is far surer than either
share. The years are others than those that the advice was drawn from.
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
    """Boards a rack filled of the `asked` ones in `replications`, and the points lost against the whole rack.

    `lost` is in points of per cent of the boards asked for, `error` its standard error.
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
"""Boards filled and boards asked for in one spell."""


def fill_counts(
    rack: Sequence[Offcut],
    boards: Sequence[UsualBoard],
    on: date,
    arrivals: Arrivals,
    replications: int,
    seed: int = CHECK_SEED,
) -> Iterator[FillCount]:
    """Spell after spell, how many boards a rack fills; an empty rack fills none."""
    if not rack:
        return
    for number, replication in enumerate(simulation_of(rack, boards, on, arrivals).replications(seed), 1):
        yield sum(made.filled for made in replication.made), len(replication.made)
        if number == replications:
            return


def compare_counts(whole: Sequence[FillCount], kept: Sequence[FillCount]) -> Outcome:
    """What a rack filled, beside what the whole rack filled in the same spells; of no rack, nothing."""
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
