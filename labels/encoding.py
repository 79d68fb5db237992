"""From the text of a QR symbol to its modules, before any mask (ISO/IEC 18004).

Modes, capacities and blocks are the `qrcode` library's; its way from bits to modules is not taken, as it took most
of a label's time. Both are linear: a symbol is the exclusive or of what each of its set bits darkens, and that is
calculated once for a version and level. Modules are the bits of one whole number, row by row from the least.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from functools import lru_cache
from typing import Any

from qrcode import QRCode, base, constants, util

# The levels of error correction that are used, from the least up.
LEVELS = {"M": constants.ERROR_CORRECT_M, "Q": constants.ERROR_CORRECT_Q, "H": constants.ERROR_CORRECT_H}

# ISO/IEC 18004: from version 7 on a symbol tells its version
LEAST_WITH_ITS_NUMBER = 7

# ISO/IEC 18004: the column of the vertical timing pattern, which the path of the bits steps over
TIMING_COLUMN = 6

MODE_BITS = 4
MOST_TERMINATOR = 4


def modules_per_side(version: int) -> int:
    """Modules along one side."""
    return 17 + 4 * version


class _Bits:
    """Takes bits as the library's buffer does, and keeps them as one whole number."""

    def __init__(self) -> None:
        self.number, self.length = 0, 0

    def put(self, number: int, length: int) -> None:
        self.number, self.length = self.number << length | number, self.length + length


@dataclass(frozen=True)
class Message:
    """A text as bits in the mode that makes the fewest: its mode, how many characters, the bits."""

    mode: int
    characters: int
    number: int
    length: int

    def fits(self, version: int, level: str) -> bool:
        """Whether a symbol of this version and level holds the text."""
        needed = MODE_BITS + util.mode_sizes_for_version(version)[self.mode] + self.length
        return bool(needed <= util.BIT_LIMIT_TABLE[LEVELS[level]][version])

    def codewords(self, version: int, level: str) -> int:
        """The data codewords of a symbol that holds the text, as one number: padded, without error correction."""
        bits = _Bits()
        bits.put(self.mode, MODE_BITS)
        bits.put(self.characters, util.mode_sizes_for_version(version)[self.mode])
        bits.put(self.number, self.length)
        limit = util.BIT_LIMIT_TABLE[LEVELS[level]][version]
        bits.put(0, min(limit - bits.length, MOST_TERMINATOR))
        bits.put(0, -bits.length % 8)
        for place in range((limit - bits.length) // 8):
            bits.put(util.PAD1 if place % 2 else util.PAD0, 8)
        return bits.number


def message_of(text: str) -> Message:
    """A text as the bits of a symbol."""
    bits, written = _Bits(), util.QRData(text)
    written.write(bits)
    return Message(written.mode, len(written), bits.number, bits.length)


def drawn(codewords: int, version: int, level: str) -> int:
    """The modules that these data codewords and their error correction darken."""
    darkened = _darkened(version, level)
    modules = 0
    while codewords:
        low = codewords & -codewords
        modules ^= darkened[low.bit_length() - 1]
        codewords ^= low
    return modules


@lru_cache(maxsize=64)
def patterns(version: int, level: str, mask: int | None) -> int:
    """The dark modules that are there whatever the text; without a mask also without what tells level and version."""
    return _number(_patterned(version, level, mask))


@lru_cache(maxsize=16)
def path(version: int) -> tuple[tuple[int, int], ...]:
    """The rows and columns in which the bits lie, one after the other: what the patterns leave free."""
    modules, side = _patterned(version, "M", None), modules_per_side(version)
    rights = [right if right > TIMING_COLUMN else right - 1 for right in range(side - 1, 0, -2)]
    return tuple(
        (row, column)
        for turn, right in enumerate(rights)
        for row in (range(side) if turn % 2 else range(side - 1, -1, -1))
        for column in (right, right - 1)
        if modules[row][column] is None
    )


def _patterned(version: int, level: str, mask: int | None) -> list[list[bool | None]]:
    """The library's patterns; None where the bits lie."""
    code: Any = QRCode(version=version, error_correction=LEVELS[level], border=0)
    # Nothing lies on the free modules yet: what the library would fill in has no length.
    code.modules_count = side = modules_per_side(version)
    code.modules = [[None] * side for _ in range(side)]
    for row, column in ((0, 0), (side - 7, 0), (0, side - 7)):
        code.setup_position_probe_pattern(row, column)
    code.setup_position_adjust_pattern()
    code.setup_timing_pattern()
    code.setup_type_info(mask is None, mask or 0)
    if version >= LEAST_WITH_ITS_NUMBER:
        code.setup_type_number(mask is None)
    modules: list[list[bool | None]] = code.modules
    return modules


def _number(modules: Sequence[Sequence[bool | None]]) -> int:
    text = "".join("1" if module else "0" for row in modules for module in row)
    return int(text[::-1], 2)


@lru_cache(maxsize=16)
def _darkened(version: int, level: str) -> tuple[int, ...]:
    """Of each bit of the data codewords, the last one first, the modules that it and its error correction darken."""
    blocks = [
        (block.data_count, block.total_count - block.data_count) for block in base.rs_blocks(version, LEVELS[level])
    ]
    side, lies = modules_per_side(version), path(version)
    by_value: dict[tuple[int, int], list[int]] = {}
    for number, place in enumerate(_interleaved(blocks)):
        values = [0]
        for row, column in reversed(lies[8 * number : 8 * number + 8]):
            values += [modules | 1 << row * side + column for modules in values]
        by_value[place] = values

    found: list[int] = []
    for block, (many, added) in reversed(list(enumerate(blocks))):
        corrected = [by_value[block, many + number] for number in range(added)]
        for own, correction in zip(range(many - 1, -1, -1), _corrections(added), strict=False):
            for value in (1 << bit for bit in range(8)):
                modules = by_value[block, own][value]
                for modules_of, codeword in zip(corrected, correction, strict=True):
                    modules |= modules_of[_product(codeword, value)]
                found.append(modules)
    return tuple(found)


def _interleaved(blocks: Sequence[tuple[int, int]]) -> Iterator[tuple[int, int]]:
    """The order of a symbol's codewords, each as its block and its place there: one of each block in turn, data first.

    >>> list(_interleaved([(1, 1), (2, 1)]))
    [(0, 0), (1, 0), (1, 1), (0, 1), (1, 2)]
    """
    for place in range(max(many for many, _ in blocks)):
        yield from ((block, place) for block, (many, _) in enumerate(blocks) if place < many)
    for place in range(max(added for _, added in blocks)):
        yield from ((block, many + place) for block, (many, added) in enumerate(blocks) if place < added)


def _corrections(added: int) -> Iterator[list[int]]:
    """The correction of a codeword 1 that is the last of its block's data, the last but one, and so on."""
    divisor = [1]
    for power in range(added):
        root = base.gexp(power)
        divisor = [one ^ _product(other, root) for one, other in zip([*divisor, 0], [0, *divisor], strict=True)]
    remainder = divisor[1:]
    while True:
        yield remainder
        first, *rest = remainder
        remainder = [one ^ _product(first, other) for one, other in zip([*rest, 0], divisor[1:], strict=True)]


def _product(one: int, other: int) -> int:
    """A product in the field of 256 elements that the codewords are calculated in."""
    return int(base.EXP_TABLE[(base.LOG_TABLE[one] + base.LOG_TABLE[other]) % 255]) if one and other else 0
