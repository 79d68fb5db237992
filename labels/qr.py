"""The QR symbol of a tag: its text, version, level and modules.

Sizes are millimeters.
"""

from __future__ import annotations

import re
from dataclasses import dataclass
from functools import lru_cache
from operator import itemgetter
from typing import Any

from qrcode import QRCode, constants, util

from labels.errors import LabelError

# The levels of error correction that are used, from the lowest up.
LEVELS = {"M": constants.ERROR_CORRECT_M, "Q": constants.ERROR_CORRECT_Q, "H": constants.ERROR_CORRECT_H}

# ISO/IEC 18004: each segment begins with 4 bits for its mode
MODE_BITS = 4

# Any of the eight masks is valid. On simulated photos one mask for all symbols reads as well as the mask of least
# penalty (tests/bench/README.md), and the search for that takes most of the library's time.
MASK = 2

# ISO/IEC 18004: a blank margin of four modules on all four sides
QUIET_MODULES = 4

# Measured by this project on simulated photos of worn prints at 203 and 300 dpi, 100 frames a case: an address was
# read in 99 to 100 % of them at 15 mm and in 78 to 93 % at 12 mm, a bare code in 92 to 100 % at 12 mm and in 67 to
# 88 % at 10 mm; modules of 0.52 mm in 92 to 100 %, of 0.45 mm in 80 to 86 %.
MIN_URL_SIDE = 15.0
MIN_CODE_SIDE = 12.0
MIN_MODULE = 0.5

# 57 modules a side: at MIN_MODULE this and its quiet zone are 32.5 mm wide, as much as a label has room for.
MAX_VERSION = 10

_DARK_RUN = re.compile(b"\x01+")


class AddressTooLong(LabelError):
    """An address whose symbol is too fine to scan on any label."""


@dataclass(frozen=True)
class Symbol:
    """One QR symbol without its quiet zone; `modules` row by row, dark is True."""

    version: int
    level: str
    modules: tuple[tuple[bool, ...], ...]

    @property
    def side(self) -> int:
        """Modules along one side."""
        return len(self.modules)


def tag_payload(base_url: str, code: str) -> str:
    """The text of a tag's QR code: the address of the piece, or the bare code where there is no base address.

    Scheme, host and `/T/` are in upper case, which needs a smaller symbol. A path in the base address is kept as it is,
    because it may be case-sensitive.

    >>> tag_payload("http://rack.local:8765/", "7KQ4M9X")
    'HTTP://RACK.LOCAL:8765/T/7KQ4M9X'
    >>> tag_payload("", "7KQ4M9X")
    '7KQ4M9X'
    """
    base = base_url.strip().rstrip("/")
    if not base:
        return code.upper()
    scheme, mark, rest = base.partition("://")
    host, slash, path = rest.partition("/")
    return f"{scheme}{mark}{host}".upper() + f"{slash}{path}/T/{code.upper()}"


def min_side(payload: str, modules: int) -> float:
    """The smallest side in mm, without the quiet zone, at which a symbol of so many modules is printed."""
    least = MIN_URL_SIDE if "://" in payload else MIN_CODE_SIDE
    return max(least, modules * MIN_MODULE)


def symbol_for(payload: str) -> Symbol:
    """The QR symbol for a text: the smallest version that holds it at level M, at the highest level of that version.

    A higher level never makes the symbol larger: finer modules cost more than correction gains (measured, see above).
    Raises AddressTooLong.
    """
    versions = _smallest_versions(payload)
    level = [level for level, version in versions.items() if version == versions["M"]][-1]
    return symbol_at_level(payload, level)


def symbol_at_level(payload: str, level: str, mask: int = MASK) -> Symbol:
    """The smallest QR symbol for a text at a level (M, Q or H) with one of the masks 0 to 7.

    Raises AddressTooLong.
    """
    version = _smallest_versions(payload)[level]
    if version is None:
        raise AddressTooLong(
            f"The address on the labels, {payload[:40]}…, has {len(payload)} characters: its code would be too fine to "
            "scan. Set a shorter base address."
        )
    code: Any = QRCode(version, LEVELS[level], border=0, mask_pattern=mask)
    code.add_data(payload, optimize=0)
    code.make(fit=False)
    return Symbol(version, level, tuple(tuple(row) for row in code.modules))


@lru_cache(maxsize=16)
def _smallest_versions(payload: str) -> dict[str, int | None]:
    """For each level the smallest version that holds a text in one segment; None where MAX_VERSION does not."""
    data, characters = util.QRData(payload), util.BitBuffer()
    data.write(characters)
    versions = range(1, MAX_VERSION + 1)
    needed = {each: MODE_BITS + util.length_in_bits(data.mode, each) + len(characters) for each in versions}
    return {
        level: next((each for each in versions if needed[each] <= util.BIT_LIMIT_TABLE[constant][each]), None)
        for level, constant in LEVELS.items()
    }


def dark_rectangles(symbol: Symbol) -> tuple[tuple[int, int, int, int], ...]:
    """The dark modules as few rectangles: column, row, width, height, in modules.

    Each is a run in a row; equal runs in consecutive rows are merged.
    """
    blocks: list[tuple[int, int, int, int]] = []
    open_runs: dict[tuple[int, int], int] = {}
    for number, row in enumerate([*symbol.modules, ()]):
        runs = dict.fromkeys((found.span() for found in _DARK_RUN.finditer(bytes(row))), number)
        for run, first in open_runs.items():
            if run in runs:
                runs[run] = first
            else:
                blocks.append((run[0], first, run[1] - run[0], number - first))
        open_runs = runs
    return tuple(sorted(blocks, key=itemgetter(1, 0)))
