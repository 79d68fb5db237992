"""Value and weight of wood, summed over species; species without a price or a known weight are named.

Nothing is rounded here, only where a sum is shown.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from fractions import Fraction

from inventory.core.prices import PriceList
from inventory.core.species import weight_kg
from inventory.fill.plan import Fill
from inventory.fill.request import BoardRequest
from inventory.layout.finished_board import finished_boards

SpeciesVolumes = Iterable[tuple[str, int]]
"""Species with whole mm³; a species may come more than once, and may be empty."""


@dataclass(frozen=True)
class Worth:
    """The value of some wood; `amount` is None where none of it has a price, `unpriced` are the species without."""

    amount: Fraction | None
    unpriced: tuple[str, ...] = ()


@dataclass(frozen=True)
class WeightTotal:
    """The weight at 12 % moisture content; `kilograms` is None where no species is known, `unknown` are those not."""

    kilograms: Fraction | None
    unknown: tuple[str, ...] = ()


def worth_of(wood: SpeciesVolumes, prices: PriceList) -> Worth:
    """The value of this wood at these prices."""
    amounts, unpriced = [], []
    for species, volume in wood:
        price = prices.price_of(species)
        if price is None:
            unpriced.append(species)
        else:
            amounts.append(price.of(volume))
    return Worth(sum(amounts, Fraction(0)) if amounts else None, tuple(dict.fromkeys(unpriced)))


def weight_of(wood: SpeciesVolumes) -> WeightTotal:
    """The weight of this wood by published specific gravities, at 12 % moisture content."""
    weights, unknown = [], []
    for species, volume in wood:
        weight = weight_kg(volume, species)
        if weight is None:
            unknown.append(species)
        else:
            weights.append(weight)
    return WeightTotal(sum(weights, Fraction(0)) if weights else None, tuple(dict.fromkeys(unknown)))


def wood_in_boards(fill: Fill, request: BoardRequest) -> tuple[tuple[str, int], ...]:
    """The wood of the finished boards by species, each share rounded down to whole mm³."""
    return tuple(
        (species, int(board.volume * share))
        for board in finished_boards(fill, request)
        for _ in board.boards
        for species, share in board.shares
    )


def wood_used(fill: Fill) -> tuple[tuple[str, int], ...]:
    """The wood that the plan uses by species: the offcuts less the leftovers returned to the rack."""
    return tuple((cut.offcut.species, cut.loss) for cut in fill.cuts)
