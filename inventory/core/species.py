"""Species by name: weight, movement, colors for drawings, dust, food.

Weights are kilograms, volumes whole mm³.
"""

from __future__ import annotations

import re
from collections.abc import Iterable
from fractions import Fraction
from functools import cache, lru_cache

from inventory.core.lengths import Unit
from inventory.core.offcuts import species_key
from inventory.core.species_cautions import ANY_CONTACT, ANY_DUST, CONTACT, DUST, Remark, SpeciesRemark
from inventory.core.species_movement import MOVEMENT, Movement
from inventory.core.species_table import KNOWN, Species

SHEET_GOODS = (
    "plywood", "ply", "mdf", "medium density fiberboard", "medium density fibreboard", "fiberboard", "fibreboard",
    "particle board", "particleboard", "chipboard", "osb", "oriented strand board",
    "hardboard", "hard board", "hdf", "veneer", "veneers",
)  # fmt: skip
"""Words by which a species names sheet goods (cutting model, section 2), in lower case, hyphens as spaces."""
UNKNOWN_SPECIES = ("", "unknown", "unknown species", "unknown wood", "not known", "not noted", "unidentified")
"""What is written where the species of a piece is not known; signs such as "?" are left out."""

_MM3_IN_A_M3 = 10**9
_KG_IN_A_M3_OF_WATER = 1000
# The avoirdupois pound, exact (NIST Special Publication 811, Appendix B.8; from memory).
_KG_IN_A_POUND = Fraction("0.45359237")


@cache
def _by_name() -> dict[str, Species]:
    return {species_key(name): species for species in KNOWN for name in (species.name, *species.synonyms)}


def find_species(name: str) -> Species | None:
    """The species of this common name, however it is spaced and capitalised; None where it is not known.

    >>> find_species(" Hard  MAPLE ").botanical
    'Acer saccharum'
    >>> find_species("driftwood") is None
    True
    """
    return _by_name().get(species_key(name))


@lru_cache(maxsize=4096)
def counts_as_any(name: str) -> bool:
    """Whether a piece of this species may serve where any species is asked for: no sheet goods, no unknown wood.

    Cutting model, section 2.

    >>> [name for name in ("red oak", "Birch Plywood", "driftwood", "?", "cherry veneer") if counts_as_any(name)]
    ['red oak', 'driftwood']
    """
    words = " ".join(re.findall(r"\w+", species_key(name)))
    return words not in UNKNOWN_SPECIES and not any(f" {each} " in f" {words} " for each in SHEET_GOODS)


@cache
def _proper_nouns() -> dict[str, str]:
    words = {
        word for species in KNOWN for name in (species.name, *species.synonyms) for word in re.split(r"[\s-]", name)
    }
    named = {word for word in words if word[:1].isupper()} | {"American", "English", "French", "Oregon"}
    return {word.lower(): word for word in named}


def display_name(name: str) -> str:
    """A wood's name as it is written where only its key is at hand: `douglas fir` has a person's name in it.

    >>> display_name("douglas fir"), display_name("red oak")
    ('Douglas fir', 'red oak')
    """
    if name != name.lower():
        return name
    return re.sub(r"\w+", lambda word: _proper_nouns().get(word[0], word[0]), name)


def weight_kg(volume_mm3: int, species: str, moisture: int | Fraction = 12) -> Fraction | None:
    """The weight of `volume_mm3` of this wood in kg; None where its specific gravity is not known.

    `moisture` is in percent of the oven-dry weight, and of the piece as measured.
    Source: Forest Products Laboratory, Wood Handbook, FPL-GTR-282 (2021), equations
    4-13 (wood shrinks as it dries below 30 %) and 4-14.

    >>> weight_kg(1_000_000_000, "black cherry")
    Fraction(560, 1)
    """
    known = find_species(species)
    if known is None or known.specific_gravity is None:
        return None
    at_moisture = _gravity_at(known.specific_gravity, Fraction(moisture))
    density = _KG_IN_A_M3_OF_WATER * at_moisture * (1 + Fraction(moisture) / 100)
    return density * volume_mm3 / _MM3_IN_A_M3


def format_weight(kilograms: Fraction, unit: Unit) -> str:
    """A weight in pounds in an inch shop, else in kilograms, to two figures or so: it is never known better.

    >>> format_weight(Fraction("3.746"), Unit.INCH), format_weight(Fraction("0.42"), Unit.MILLIMETER)
    ('about 8.3 lb', 'about 0.42 kg')
    """
    value = float(kilograms / _KG_IN_A_POUND if unit is Unit.INCH else kilograms)
    return f"about {value:.{1 if value >= 1 else 2}f} {'lb' if unit is Unit.INCH else 'kg'}"


def _gravity_at(gravity_at_12: Fraction, moisture: Fraction) -> Fraction:
    """Oven-dry weight over the volume at another moisture content: equation 4-13, first solved for the green volume."""
    shrinks = Fraction("0.265")
    basic = gravity_at_12 / (1 + shrinks * gravity_at_12 * (1 - Fraction(12, 30)))
    return basic / (1 - shrinks * basic * (1 - min(moisture, Fraction(30)) / 30))


def movement_of(name: str) -> Movement | None:
    """How far this species moves across the grain; None where no source was seen.

    >>> movement_of("walnut").source
    'Wood Handbook, FPL-GTR-190 (2010), table 13-5'
    >>> movement_of("driftwood") is None
    True
    """
    known = find_species(name)
    return None if known is None else MOVEMENT.get(known.name)


@lru_cache(maxsize=256)
def dust_remarks(name: str) -> tuple[Remark, ...]:
    """Recorded effects of the dust of this species, then those of any wood dust; none says that dust is harmless.

    >>> dust_remarks("sapele")[0].text
    'skin irritation'
    """
    return (*_remarks_on(name, DUST), *ANY_DUST)


@lru_cache(maxsize=256)
def contact_remarks(name: str) -> tuple[Remark, ...]:
    """Recorded remarks on food contact with this species, then those for any wood."""
    return (*_remarks_on(name, CONTACT), *ANY_CONTACT)


def _remarks_on(name: str, remarks: Iterable[SpeciesRemark]) -> tuple[Remark, ...]:
    species = find_species(name)
    if species is None:
        return ()
    return tuple(each.remark for each in remarks if species.botanical.startswith(each.prefixes))
