"""The bands of a board, and what each pool and stripe requires (cutting model, section 7).

Widths are `Length`.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from fractions import Fraction
from typing import TypeVar

from inventory.core.errors import UserError
from inventory.core.lengths import Length
from inventory.core.offcuts import species_key
from inventory.core.species import counts_as_any

MAX_WEIGHT = 1000
MAX_STRIPS = 100
MAX_BANDS = 60


class InvalidBands(UserError):
    """Bands that no board can have."""


@dataclass(frozen=True)
class FieldBand:
    """A band that shares the width left by the stripes, by its weight; no species means any."""

    species: tuple[str, ...] = ()
    weight: int = 1

    def __post_init__(self) -> None:
        if not 1 <= self.weight <= MAX_WEIGHT:
            raise InvalidBands(f"A field's weight is a whole number from 1 to {MAX_WEIGHT}, not {self.weight}.")


@dataclass(frozen=True)
class StripeBand:
    """A band of so many strips, each finished to exactly this width; no species means any."""

    species: tuple[str, ...]
    strips: int
    each: Length

    def __post_init__(self) -> None:
        if not 1 <= self.strips <= MAX_STRIPS:
            raise InvalidBands(f"A stripe has 1 to {MAX_STRIPS} strips, not {self.strips}.")
        if self.each <= 0:
            raise InvalidBands("A stripe's strips are 0 wide. Type how wide each is in the board.")

    @property
    def width(self) -> Length:
        return Length(self.strips * self.each)


Band = FieldBand | StripeBand
BandT = TypeVar("BandT")


def bands_of_species(species: Sequence[str]) -> tuple[Band, ...]:
    """The bands of a board of these species; none where any species is accepted."""
    return (FieldBand(tuple(dict.fromkeys(map(species_key, species)))),) if species else ()


def mirrored(bands: Sequence[BandT]) -> tuple[BandT, ...]:
    """These bands, then all but the last again in reverse: the last one is in the middle.

    >>> [band.species for band in mirrored([FieldBand(("ash",)), FieldBand(("oak",))])]
    [('ash',), ('oak',), ('ash',)]
    """
    return (*bands, *reversed(bands[:-1]))


@dataclass(frozen=True)
class Demand:
    """What one pool or stripe requires: bands that the same offcuts may fill together.

    Of a pool, `target` is the width that its strips must reach; of a stripe, the
    number of its strips, each `stripe` wide. No `species` means any, which sheet goods and unknown wood are not.
    """

    bands: tuple[int, ...]
    species: tuple[str, ...]
    target: int
    stripe: Length | None = None

    def accepts(self, species: str) -> bool:
        """Whether an offcut of this species may fill it."""
        return species_key(species) in self.species if self.species else counts_as_any(species)


def band_widths(bands: Sequence[Band], width: Length, side_trim: Length) -> tuple[Length, ...]:
    """The width of each band in the glue-up, its side trim included: section 7.

    Half of the side trim goes to each outermost band, or to the field nearest to it
    where that is a stripe. A field's share is rounded up to a whole nanometer.
    Raises InvalidBands where the stripes leave no width for a field.
    """
    fields = [number for number, band in enumerate(bands) if isinstance(band, FieldBand)]
    if not fields:
        raise InvalidBands("All bands are stripes: at least one must be a field, which takes what width is left.")
    left = width - sum(band.width for band in bands if isinstance(band, StripeBand))
    if left <= 0:
        raise InvalidBands(
            "The stripes are as wide as the board or wider: nothing is left for a field. Make them narrower."
        )
    weights = sum(band.weight for band in bands if isinstance(band, FieldBand))
    shares = {number: Fraction(left * _weight(bands[number]), weights) for number in fields}
    shares[fields[0]] += Fraction(side_trim, 2)
    shares[fields[-1]] += Fraction(side_trim, 2)
    return tuple(
        band.width if isinstance(band, StripeBand) else Length(-(-shares[number] // 1))
        for number, band in enumerate(bands)
    )


def _weight(band: Band) -> int:
    return band.weight if isinstance(band, FieldBand) else 0


def demands(bands: Sequence[Band], width: Length, side_trim: Length) -> tuple[Demand, ...]:
    """Pools and stripes of a board of this finished width, in the order of their first bands.

    Fields of the same species form one pool. Stripes of the same species and width
    are one demand too: both thin stripes of a pattern may come from one offcut.
    """
    whole = tuple(bands) or (FieldBand(),)
    widths = band_widths(whole, width, side_trim)
    alike: dict[tuple[frozenset[str], Length | None], list[int]] = {}
    for number, band in enumerate(whole):
        key = (frozenset(map(species_key, band.species)), band.each if isinstance(band, StripeBand) else None)
        alike.setdefault(key, []).append(number)
    return tuple(
        Demand(
            bands=tuple(numbers),
            species=tuple(sorted(species)),
            target=sum(_required(whole[number], widths[number]) for number in numbers),
            stripe=stripe,
        )
        for (species, stripe), numbers in alike.items()
    )


def _required(band: Band, width: Length) -> int:
    return band.strips if isinstance(band, StripeBand) else width
