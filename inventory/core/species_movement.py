"""How far the wood of a species moves across the grain, radially and tangentially, with its sources.

Facts only; `inventory.core.species` finds them by name and `inventory.core.moisture` calculates.
Where a figure was not seen in a source it is left out; western redcedar, redwood,
eastern white pine, Honduran mahogany and European walnut are missing for that reason.
"""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction

from inventory.core.moisture import Coefficient, MovementModel, TotalShrinkage

TABLE_13_5 = "Wood Handbook, FPL-GTR-190 (2010), table 13-5"
FROM_TABLE_4_3 = "calculated from the shrinkage in table 4-3 of the Wood Handbook, FPL-GTR-190 (2010), as table 13-5 is"
NWFA = "NWFA Technical Publication A200, after USDA Agriculture Handbook 72 (1987)"
TABLE_4_4 = "Wood Handbook, FPL-GTR-190 (2010), table 4-4"
CHUDNOFF = "Chudnoff, Tropical Timbers of the World, USDA Agriculture Handbook 607 (1984)"
WOOD_DATABASE = "Meier, The Wood Database"
AUSTRIAN_TRADE = "data sheet of the Austrian timber trade"
CIRAD = "technical data sheet after CIRAD"


@dataclass(frozen=True)
class Movement:
    """What is known of one species; None where no source was seen for that direction.

    Radial is from the bark to the pith, the width of quarter-sawn stock; tangential
    is along the growth rings, the width of flat-sawn stock.
    """

    radial: MovementModel | None
    tangential: MovementModel | None
    source: str


def _moves(radial: str | None, tangential: str | None, source: str) -> Movement:
    """From coefficients, shares of the size for each percent of moisture content."""
    return Movement(
        None if radial is None else Coefficient(Fraction(radial)),
        None if tangential is None else Coefficient(Fraction(tangential)),
        source,
    )


def _shrinks(radial: str, tangential: str, source: str) -> Movement:
    """From total shrinkage, percent of the green size."""
    return Movement(TotalShrinkage(Fraction(radial)), TotalShrinkage(Fraction(tangential)), source)


MOVEMENT = {
    "white ash": _moves("0.00169", "0.00274", TABLE_13_5),
    "black ash": _moves("0.00172", "0.00274", TABLE_13_5),
    "quaking aspen": _moves("0.00119", "0.00234", TABLE_13_5),
    "basswood": _moves("0.00230", "0.00330", TABLE_13_5),
    "American beech": _moves("0.00190", "0.00431", TABLE_13_5),
    "paper birch": _moves("0.00219", "0.00304", TABLE_13_5),
    "yellow birch": _moves("0.00256", "0.00338", TABLE_13_5),
    "butternut": _moves("0.00116", "0.00223", TABLE_13_5),
    "black cherry": _moves("0.00126", "0.00248", TABLE_13_5),
    "American chestnut": _moves("0.00116", "0.00234", TABLE_13_5),
    "cottonwood": _moves("0.00133", "0.00327", TABLE_13_5),
    "American elm": _moves("0.00144", "0.00338", TABLE_13_5),
    "hackberry": _moves("0.00165", "0.00315", TABLE_13_5),
    "pecan": _moves("0.00169", "0.00315", TABLE_13_5),
    # The row "hickory, true"; its radial coefficient was not seen.
    "hickory": _moves(None, "0.00411", TABLE_13_5),
    "hard maple": _moves("0.00165", "0.00353", TABLE_13_5),
    "red maple": _moves("0.00137", "0.00289", TABLE_13_5),
    "silver maple": _moves("0.00102", "0.00252", TABLE_13_5),
    # The rows of the commercial groups of oak.
    "red oak": _moves("0.00158", "0.00369", TABLE_13_5),
    "white oak": _moves("0.00180", "0.00365", TABLE_13_5),
    "sweetgum": _moves("0.00183", "0.00365", TABLE_13_5),
    "American sycamore": _moves("0.00172", "0.00296", TABLE_13_5),
    "black tupelo": _moves("0.00176", "0.00308", TABLE_13_5),
    "black walnut": _moves("0.00190", "0.00274", TABLE_13_5),
    "red alder": _moves("0.00151", "0.00256", TABLE_13_5),
    "yellow-poplar": _moves("0.00158", "0.00289", FROM_TABLE_4_3),
    "Douglas-fir": _moves("0.00165", "0.00267", f"tangential {NWFA}; radial {FROM_TABLE_4_3}"),
    "longleaf pine": _moves("0.00176", "0.00263", f"tangential {NWFA}; radial {FROM_TABLE_4_3}"),
    "loblolly pine": _moves("0.00165", "0.00259", FROM_TABLE_4_3),
    "eastern redcedar": _moves("0.00106", "0.00162", FROM_TABLE_4_3),
    "Sitka spruce": _moves("0.00148", "0.00263", f"calculated from the shrinkage in {WOOD_DATABASE}"),
    "eastern hemlock": _moves("0.00102", "0.00237", FROM_TABLE_4_3),
    "western hemlock": _moves("0.00144", "0.00274", FROM_TABLE_4_3),
    "western larch": _moves("0.00155", "0.00323", FROM_TABLE_4_3),
    "teak": _moves(None, "0.00186", NWFA),
    "African padauk": _moves(
        "0.00112", "0.00180", f"tangential {NWFA}; radial calculated from the shrinkage in {CHUDNOFF}"
    ),
    "purpleheart": _moves(None, "0.00212", NWFA),
    "jatoba": _moves(None, "0.00300", NWFA),
    "European beech": _shrinks("5.8", "11.8", WOOD_DATABASE),
    "European oak": _shrinks("4.7", "8.4", WOOD_DATABASE),
    "European ash": _shrinks("5.7", "9.6", WOOD_DATABASE),
    # The middle of the ranges 3.3 to 4.5 and 8.0 to 8.5.
    "sycamore maple": _shrinks("3.9", "8.25", AUSTRIAN_TRADE),
    "European larch": _shrinks("3.3", "7.8", AUSTRIAN_TRADE),
    "Scots pine": _shrinks("5.2", "8.3", WOOD_DATABASE),
    "African mahogany": _shrinks("2.5", "4.5", TABLE_4_4),
    "sapele": _shrinks("4.6", "7.4", CHUDNOFF),
    "utile": _shrinks("4.6", "6.4", CHUDNOFF),
    # A sheet after CIRAD gives 3.5 and 5.4.
    "iroko": _shrinks("2.8", "3.8", WOOD_DATABASE),
    "wenge": _shrinks("4.8", "8.1", WOOD_DATABASE),
    "bubinga": _shrinks("6.0", "8.2", WOOD_DATABASE),
    "ipe": _shrinks("6.6", "8.0", CHUDNOFF),
    "East Indian rosewood": _shrinks("2.7", "5.8", CHUDNOFF),
    "zebrawood": _shrinks("8.8", "11.0", CIRAD),
    "Gaboon ebony": _shrinks("6.5", "9.0", WOOD_DATABASE),
    "dark red meranti": _shrinks("3.8", "7.9", CHUDNOFF),
}
"""By the name in `species_known`. Sources of total shrinkage differ by 10 to 40 % for tropical species."""
