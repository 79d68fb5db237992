"""Racks that turn subset-sum instances into boards: every piece gives one strip of a given width.

Each piece is as long as a strip, as wide as the strip is high and planed on both faces, so that its loss is
its strip: `number` units of width lose `number` times the same volume. The least waste is then the
least sum that reaches the target.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from inventory.core.allowances import ALLOWANCE_NAMES, OVER_ZERO, Allowances
from inventory.core.lengths import NM_PER_MM, Length, millimeters
from inventory.core.offcuts import Face, Offcut
from inventory.cutting.costs import Preference
from inventory.fill.request import BoardRequest
from tests.fill.racks import ON

NOTHING_LOST = replace(
    Allowances(**dict.fromkeys(ALLOWANCE_NAMES, Length(1))),
    **{name: Length(0) for name in ALLOWANCE_NAMES if name not in OVER_ZERO},
)
STRIP_LENGTH, STRIP_HEIGHT = millimeters("1000"), millimeters("100")
TEN_NANOMETRES = Length(10)
"""A strip so thick loses 1 mm³."""
HUNDREDTH = Length(NM_PER_MM // 100)
MILLIMETER = Length(NM_PER_MM)


def strips(numbers: Sequence[int], unit: Length) -> list[Offcut]:
    """One offcut for each number, which gives one strip that many units wide."""
    return [
        Offcut(
            length=STRIP_LENGTH,
            width=STRIP_HEIGHT,
            thickness=Length(number * unit),
            species="ash",
            face_a=Face.PLANED,
            face_b=Face.PLANED,
            tag=f"T{place:03d}",
            tagged_on=ON,
        )
        for place, number in enumerate(numbers)
    ]


def board(number: int, unit: Length, prefer: Preference = Preference.LEAST_WASTE) -> BoardRequest:
    """A board that many units wide from such strips."""
    return BoardRequest(
        length=STRIP_LENGTH,
        width=Length(number * unit),
        thickness=STRIP_HEIGHT,
        prefer=(prefer,),
        fills=1,
        allowances=NOTHING_LOST,
        on=ON,
    )
