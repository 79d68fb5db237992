"""What to buy for a board that the rack can't fill, as wood is sold (cutting model, section 10).

Boards are counted as bought in one usual width, the last one as narrow as it may be, so that the volume holds the
waste of kerfs, jointing and trims. Sizes are `Length`, volumes whole mm³.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import date

import numpy as np

from inventory.core.lengths import NM_PER_INCH, Length, Unit, inches, millimeters, volume_mm3
from inventory.core.offcuts import MAX_LENGTH, MAX_WIDTH, Face, Offcut
from inventory.cutting.offcut_arrays import RackArrays
from inventory.cutting.rack_table import build_table
from inventory.fill.demands import Part
from inventory.fill.plan import Purchase


@dataclass(frozen=True)
class NominalStock:
    """A thickness in which wood is sold: as it is named and paid, and as it is delivered, with such faces."""

    nominal: Length
    delivered: Length
    faces: Face


def _surfaced(quarters: int, surfaced: str) -> NominalStock:
    return NominalStock(Length(quarters * NM_PER_INCH // 4), inches(surfaced), Face.PLANED)


# Hardwood surfaced on two sides: NHLA, Rules for the Measurement and Inspection of Hardwood and Cypress (2015),
# standard thicknesses, read in an engineering table's reprint; 10/4 from memory (Wood Handbook, chapter 6).
_INCH_STOCK = (
    _surfaced(4, "13/16"),
    _surfaced(5, "1 1/16"),
    _surfaced(6, "1 5/16"),
    _surfaced(8, "1 3/4"),
    _surfaced(10, "2 1/4"),
    _surfaced(12, "2 3/4"),
    _surfaced(16, "3 3/4"),
)
# common practice, no source
_METRIC_STOCK = tuple(
    NominalStock(millimeters(text), millimeters(text), Face.ROUGH)
    for text in ("20", "26", "32", "40", "50", "65", "80")
)
STOCK = {Unit.INCH: _INCH_STOCK, Unit.MILLIMETER: _METRIC_STOCK}
# NHLA rules: boards of the grade FAS are at least 6 in wide. Metric: common practice, no source.
USUAL_WIDTH = {Unit.INCH: inches("6"), Unit.MILLIMETER: millimeters("150")}


def purchases(parts: Sequence[Part], available: Sequence[int], unit: Unit) -> tuple[Purchase, ...]:
    """For each part that is short, the wood to buy; none for a part for which no usual thickness will do.

    `available` is by part what the rack could add to it.
    """
    short = ((part, part.demand.target - have) for part, have in zip(parts, available, strict=True))
    found = (_purchase(part, missing, unit) for part, missing in short if missing > 0)
    return tuple(each for each in found if each is not None)


def _purchase(part: Part, missing: int, unit: Unit) -> Purchase | None:
    """The thinnest stock that gives a strip for this part, and how much of it gives what is missing."""
    allowances = part.glue_up.allowances
    # Nobody mills a board shorter than this, so nobody buys one.
    length = Length(max(part.glue_up.strip_length, allowances.shortest_machined))
    if length > MAX_LENGTH:
        return None
    for stock in STOCK[unit]:
        arrays = _bought(part, stock, length)
        if _given(part, arrays, MAX_WIDTH) == 0:
            continue
        least = _narrowest(part, arrays, 1, MAX_WIDTH)
        usual = Length(max(USUAL_WIDTH[unit], least))
        if _given(part, arrays, usual) == 0:
            # Too wide for one strip, and too narrow for two.
            usual = least
        whole, rest = divmod(missing, _given(part, arrays, usual))
        width = whole * usual + (_narrowest(part, arrays, rest, usual) if rest else 0)
        return Purchase(
            band=part.demand.bands[0],
            species=part.demand.species,
            unit=unit,
            thickness=stock.nominal,
            delivered=stock.delivered,
            length=length,
            width=least,
            volume=volume_mm3(length + allowances.crosscut_kerf, width, stock.nominal),
        )
    return None


def _bought(part: Part, stock: NominalStock, length: Length) -> RackArrays:
    """A board of this stock as the one row of a rack."""
    board = Offcut(length, MAX_WIDTH, stock.delivered, "", stock.faces, stock.faces)
    return build_table([board]).arrays(part.glue_up.allowances, date.min)


def _given(part: Part, arrays: RackArrays, width: Length) -> int:
    """What such a board of this width adds to the part."""
    board = replace(arrays, width=np.array([width], dtype=np.int64))
    return int(part.construction.capacities(board, part.glue_up)[0])


def _narrowest(part: Part, arrays: RackArrays, wanted: int, enough: Length) -> Length:
    """The least width with which such a board adds what is wanted, by bisection; `enough` is a width that does."""
    low, high = 0, int(enough)
    while high - low > 1:
        middle = (low + high) // 2
        low, high = (low, middle) if _given(part, arrays, Length(middle)) >= wanted else (middle, high)
    return Length(high)
