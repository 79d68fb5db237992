"""How each species looks: colours, rings, pores, rays and knots, for drawn photos.

Knows nothing of sizes or pictures. Every number is judged by eye, no source;
lengths are millimetres as floats, because nothing here is ever cut.
"""

from __future__ import annotations

from dataclasses import dataclass
from enum import Enum

from inventory.core.offcuts import species_key

Colour = tuple[int, int, int]


class Rings(Enum):
    """The course of darkness through one year's ring."""

    RING_POROUS = "coarse pores first, then smooth"
    DIFFUSE = "a thin line between years"
    SOFTWOOD = "slowly darker, then an abrupt edge"


@dataclass(frozen=True)
class Look:
    """One species: `light` and `dark` wood of a ring, and what lies on it.

    `ring` is the mean ring width. `contrast`, `pores`, `flecks`, `ribbon`, `bands`
    and `silver` run from 0 (none) to 1 (strong); `pore` and `fleck` are lengths
    along the grain; `knots` is a mean number to the square foot.
    """

    light: Colour
    dark: Colour
    rings: Rings
    ring: float
    contrast: float
    pores: float = 0.0
    pore: float = 4.0
    flecks: float = 0.0
    fleck: float = 2.0
    silver: float = 0.0
    ribbon: float = 0.0
    bands: float = 0.15
    knots: float = 0.0
    sapwood: Colour | None = None
    stain: Colour | None = None


_MAPLE = Look((236, 217, 185), (201, 168, 125), Rings.DIFFUSE, 3.2, 0.42, flecks=0.12, fleck=0.9, bands=0.12)

LOOKS: dict[str, Look] = {
    "ash": Look((231, 212, 178), (172, 138, 94), Rings.RING_POROUS, 3.6, 0.95, pores=0.75, pore=6.0, bands=0.12),
    "white oak": Look(
        (206, 176, 130), (142, 108, 68), Rings.RING_POROUS, 2.6, 0.75,
        pores=0.9, pore=6.5, flecks=0.3, fleck=14.0, silver=0.7,
    ),
    "red oak": Look(
        (211, 166, 128), (150, 98, 64), Rings.RING_POROUS, 3.2, 0.75,
        pores=1.0, pore=7.0, flecks=0.25, fleck=8.0, silver=0.5,
    ),
    "beech": Look((221, 182, 144), (190, 142, 102), Rings.DIFFUSE, 2.8, 0.35, flecks=0.8, fleck=2.2, bands=0.15),
    "hard maple": _MAPLE,
    "soft maple": Look((228, 203, 168), (186, 150, 110), Rings.DIFFUSE, 4.0, 0.4, bands=0.3, stain=(190, 170, 148)),
    "birch": Look((228, 202, 160), (196, 160, 114), Rings.DIFFUSE, 3.4, 0.35, pores=0.15, pore=2.0, bands=0.2),
    "black walnut": Look(
        (122, 90, 66), (70, 47, 34), Rings.DIFFUSE, 4.2, 0.7, pores=0.6, pore=3.5, bands=0.65, sapwood=(196, 168, 132)
    ),
    "cherry": Look(
        (196, 138, 100), (156, 98, 66), Rings.DIFFUSE, 3.4, 0.5,
        flecks=0.25, fleck=1.2, bands=0.35, sapwood=(222, 190, 152),
    ),
    "sapele": Look((160, 98, 70), (98, 54, 38), Rings.DIFFUSE, 6.0, 0.12, pores=0.5, pore=3.0, ribbon=1.0, bands=0.2),
    "mahogany": Look(
        (172, 108, 76), (120, 70, 48), Rings.DIFFUSE, 5.0, 0.2, pores=0.6, pore=4.5, ribbon=0.3, bands=0.3
    ),
    "pine": Look((236, 208, 156), (190, 128, 68), Rings.SOFTWOOD, 3.4, 0.8, knots=1.5, bands=0.12),
    "pitch pine": Look((226, 172, 104), (158, 84, 40), Rings.SOFTWOOD, 2.6, 1.0, knots=0.3, bands=0.2),
    "douglas fir": Look((224, 170, 120), (168, 92, 54), Rings.SOFTWOOD, 2.2, 1.0, knots=0.2, bands=0.2),
    "larch": Look((222, 176, 124), (160, 96, 56), Rings.SOFTWOOD, 2.0, 1.0, knots=1.0, bands=0.15),
    "poplar": Look((222, 213, 180), (184, 176, 138), Rings.DIFFUSE, 5.0, 0.35, bands=0.5, stain=(150, 148, 112)),
}  # fmt: skip


def appearance_of(species: str) -> Look:
    """The look of a species; one that is unknown here looks like a plain, pale wood.

    >>> appearance_of("Black  Walnut") is LOOKS["black walnut"]
    True
    """
    return LOOKS.get(species_key(species), _MAPLE)
