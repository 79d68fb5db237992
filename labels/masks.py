"""Which of the eight masks a QR symbol gets: the one with the least penalty.

Carries out the masks and the penalty of ISO/IEC 18004 (data masking, evaluation of the results) as the `qrcode`
library calculates it, to the same choice. Modules are the bits of one whole number, row by row from the least: what
is asked of all of them is asked at once.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache, lru_cache

from qrcode import util

from labels.encoding import modules_per_side, path

MASKS = 8

# ISO/IEC 18004, penalty weights N1 to N4
RUN, BLOCK, FINDER, BALANCE = 3, 3, 40, 10

# The 1 : 1 : 3 : 1 : 1 of a finder, with four light modules on one side.
_FINDER, _LIGHT = "1011101", 4


@dataclass(frozen=True)
class _Way:
    """Along the rows or down the columns: from one module to the next, and where so many begin that lie in one line."""

    step: int
    pairs: int
    finders: int


@lru_cache(maxsize=16)
def masked_modules(version: int) -> tuple[int, ...]:
    """The modules that each of the eight masks turns."""
    side = modules_per_side(version)
    turned = []
    for number in range(MASKS):
        turns = util.mask_func(number)
        turned.append(sum(1 << row * side + column for row, column in path(version) if turns(row, column)))
    return tuple(turned)


def best_mask(modules: int, version: int) -> int:
    """The mask of least penalty for a symbol without one; the lower number where two have the same."""
    side = modules_per_side(version)
    return min(range(MASKS), key=lambda mask: penalty(modules ^ masked_modules(version)[mask], side))


def penalty(modules: int, side: int) -> int:
    """The penalty of a symbol with so many modules a side."""
    along, down = _ways(side)
    light = modules ^ ((1 << side * side) - 1)
    like_along, like_down = (~(modules ^ modules >> way.step) & way.pairs for way in (along, down))
    points = _runs(like_along, along.step) + _runs(like_down, down.step)
    points += FINDER * (_finders(modules, light, along) + _finders(modules, light, down))
    # N2: every 2 × 2 of like modules counts 3, overlapping ones too.
    points += BLOCK * (like_along & like_along >> side & like_down).bit_count()
    # N4: each whole 5 % that the dark share is off one half counts 10.
    return points + BALANCE * int(abs(100 * modules.bit_count() / (side * side) - 50) / 5)


@cache
def _ways(side: int) -> tuple[_Way, _Way]:
    def begins(rows: int, columns: int) -> int:
        return sum(1 << row * side + column for row in range(rows) for column in range(columns))

    beyond = side - len(_FINDER) - _LIGHT + 1
    return (
        _Way(1, begins(side, side - 1), begins(side, beyond)),
        _Way(side, begins(side - 1, side), begins(beyond, side)),
    )


def _runs(like: int, step: int) -> int:
    """N1: a run of 5 like modules in a line counts 3, each further one 1."""
    three = like & like >> step
    five = three & three >> 2 * step
    begun = five & ~(five << step)
    return five.bit_count() + (RUN - 1) * begun.bit_count()


def _finders(dark: int, light: int, way: _Way) -> int:
    """How often something like a finder stands in a line (N3)."""
    step = way.step
    finder = -1
    for place, module in enumerate(_FINDER):
        finder &= (dark if module == "1" else light) >> place * step
    two = light & light >> step
    margin = two & two >> 2 * step
    after, before = finder & margin >> len(_FINDER) * step, margin & finder >> _LIGHT * step
    return (after & way.finders).bit_count() + (before & way.finders).bit_count()
