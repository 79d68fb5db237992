"""What each pool and stripe of a board asks for, recomputed (cutting model, section 7).

Lengths are whole nanometers.

Where the model leaves room, this is the reading: a field's share is rounded up
once, with its half of the side trim; an outermost stripe's half widens the field
nearest to it; stripes of the same species and width are one stripe, which the
same offcut may serve.
"""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction
from math import ceil

from inventory.core.offcuts import Offcut, species_key
from inventory.cutting.bands import FieldBand, StripeBand
from inventory.fill.request import BoardRequest
from tests.verify.eligible import counts_as_any, is_named


@dataclass(frozen=True)
class BandRequirement:
    """A pool, which must be at least `width` wide, or a stripe of `strips` strips, each `each` wide.

    `band` is the first of its bands; no species means any.
    """

    band: int
    species: frozenset[str]
    width: int
    strips: int = 0
    each: int = 0

    @property
    def is_stripe(self) -> bool:
        return self.each > 0

    def accepts(self, request: BoardRequest, offcut: Offcut) -> bool:
        """Whether the offcut's species may serve; sheet goods and unknown wood are no part of any, unless named."""
        if self.species:
            return species_key(offcut.species) in self.species
        return counts_as_any(offcut.species) or is_named(request, offcut)


def requirements_of(request: BoardRequest, width: int | None = None) -> list[BandRequirement]:
    """Every pool and stripe, in the order of their first bands; for a board `width` wide instead where given.

    At least one band is a field. An empty list where the stripes leave the fields nothing.
    """
    bands = request.bands or (FieldBand(),)
    finished = request.width if width is None else width
    left = finished - sum(band.strips * band.each for band in bands if isinstance(band, StripeBand))
    fields = [place for place, band in enumerate(bands) if isinstance(band, FieldBand)]
    if left <= 0:
        return []
    weights = sum(band.weight for band in bands if isinstance(band, FieldBand))
    half = Fraction(request.allowances.side_trim, 2)
    found: dict[tuple[frozenset[str], int], BandRequirement] = {}
    for place, band in enumerate(bands):
        species = frozenset(species_key(name) for name in band.species)
        if isinstance(band, FieldBand):
            trims = (place == fields[0]) + (place == fields[-1])
            share = Fraction(left * band.weight, weights) + half * trims
            before = found.get((species, 0), BandRequirement(place, species, 0))
            found[species, 0] = BandRequirement(before.band, species, before.width + ceil(share))
        else:
            before = found.get((species, band.each), BandRequirement(place, species, 0))
            strips = before.strips + band.strips
            found[species, band.each] = BandRequirement(before.band, species, strips * band.each, strips, band.each)
    return list(found.values())


def disjoint(asked: list[BandRequirement]) -> bool:
    """Whether no species can serve two of these."""
    return all(
        one.species and other.species and not one.species & other.species
        for place, one in enumerate(asked)
        for other in asked[place + 1 :]
    )
