"""Does the advice help? Seeded shops let go down to a share of their wood, by our advice and by each plain rule.

Method: the advice is drawn from some replications of two years of the shop's usual boards; then fresh replications, the
same for every rack, say how many of the boards asked for can still be filled, against the whole rack.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from math import sqrt
from random import Random
from statistics import mean, stdev

from inventory.core.lengths import volume_mm3
from inventory.core.offcuts import Offcut
from inventory.pruning.advice import advise, without_removed
from inventory.pruning.forecast import forecasts
from inventory.pruning.loss import Outcome, compare_counts, fill_counts
from inventory.pruning.simulation import Arrivals
from inventory.pruning.storage_limit import StorageLimit
from tests.pruning.seeded_shops import ON, SeededShop, seeded_shop

OURS = "our advice"
WHOLE = "whole rack"
NO_ARRIVALS = Arrivals()


@dataclass(frozen=True)
class StatedLoss:
    """What became of one shop by each way to let go, the whole rack among them."""

    seed: int
    outcomes: dict[str, Outcome]

    def points(self, way: str) -> float:
        """Boards filled, in per cent of those asked for."""
        return 100 * self.outcomes[way].share


def volume(offcut: Offcut) -> int:
    return volume_mm3(offcut.length, offcut.width, offcut.thickness)


def by_rule(rack: Sequence[Offcut], most: int, key: Callable[[Offcut], object]) -> tuple[Offcut, ...]:
    """The rack without its first pieces by `key`, until at most `most` mm³ are left."""
    going: dict[str, int] = {}
    left = sum(volume(each) * each.count for each in rack)
    for offcut in sorted(rack, key=key):  # type: ignore[arg-type]
        for _ in range(offcut.count):
            if left <= most:
                break
            going[offcut.tag] = going.get(offcut.tag, 0) + 1
            left -= volume(offcut)
    return without_removed(rack, going)


def plain_rules(shop: SeededShop, most: int, seed: int) -> dict[str, tuple[Offcut, ...]]:
    """What each plain rule keeps."""
    shuffled = list(shop.rack)
    Random(f"at random {seed}").shuffle(shuffled)
    place = {each.tag: number for number, each in enumerate(shuffled)}
    return {
        "smallest first": by_rule(shop.rack, most, lambda each: (volume(each), each.tag)),
        "oldest first": by_rule(shop.rack, most, lambda each: (each.tagged_on, each.tag)),
        "at random": by_rule(shop.rack, most, lambda each: place[each.tag]),
    }


def backtest(
    seeds: Sequence[int], *, share: float = 0.6, drawn: int = 60, fresh: int = 24, tags: int | None = None
) -> Iterator[StatedLoss]:
    """Shop after shop; `drawn` replications make the advice, `fresh` ones judge it."""
    for seed in seeds:
        shop = seeded_shop(seed, tags)
        most = int(sum(volume(each) * each.count for each in shop.rack) * share)
        [*_, forecast] = forecasts(shop.rack, shop.boards, ON, NO_ARRIVALS, replications=drawn)
        racks = {WHOLE: shop.rack, OURS: advise(shop.rack, forecast, StorageLimit(volume=most)).kept}
        racks |= plain_rules(shop, most, seed)
        counts = {name: list(fill_counts(rack, shop.boards, ON, NO_ARRIVALS, fresh)) for name, rack in racks.items()}
        yield StatedLoss(seed, {name: compare_counts(counts[WHOLE], own) for name, own in counts.items()})


def summary(text: Sequence[StatedLoss]) -> Iterator[str]:
    """By way: boards filled (mean and standard error over the shops), points lost, shops in which ours did worse."""
    yield "| let go | boards filled | lost against the whole rack | worst shop | shops in which ours fills fewer |"
    yield "|---|---|---|---|---|"
    for way in text[0].outcomes:
        points = [each.points(way) for each in text]
        lost = [each.points(WHOLE) - each.points(way) for each in text]
        worse = sum(each.points(OURS) < each.points(way) for each in text)
        yield (
            f"| {way} | {mean(points):.1f} ± {_error(points):.1f} % | {mean(lost):.2f} ± {_error(lost):.2f} points "
            f"| {max(lost):.1f} points | {worse} of {len(text)} |"
        )


def _error(values: Sequence[float]) -> float:
    return stdev(values) / sqrt(len(values)) if len(values) > 1 else 0.0
