"""The QR symbol of a tag: what it holds, which version and level, its modules.

Sizes are millimeters.
"""

from __future__ import annotations

import re
from dataclasses import dataclass
from operator import itemgetter

from labels.encoding import LEVELS, Message, drawn, message_of, modules_per_side, patterns
from labels.errors import LabelError
from labels.masks import best_mask, masked_modules

# ISO/IEC 18004: a blank margin of four modules on all four sides
QUIET_MODULES = 4

# Measured by this project on simulated photos of worn prints at 203 and 300 dpi, 100 frames a case: an address was
# read in 99 to 100 % of them at 15 mm and in 78 to 93 % at 12 mm, a bare code in 92 to 100 % at 12 mm and in 67 to
# 88 % at 10 mm; modules of 0.52 mm in 92 to 100 %, of 0.45 mm in 80 to 86 %.
MIN_URL_SIDE = 15.0
MIN_CODE_SIDE = 12.0
MIN_MODULE = 0.5

# 57 modules a side: at LEAST_MODULE this and its quiet zone are 32.5 mm wide. Beyond that no label is looked for.
MAX_VERSION = 10

_DARK_RUN = re.compile("1+")


class AddressTooLong(LabelError):
    """An address that no label can hold as a code that still reads."""


@dataclass(frozen=True)
class Symbol:
    """One QR symbol without its quiet zone; `dark` has a bit for each module, row by row from the least."""

    dark: int
    version: int
    level: str
    mask: int

    @property
    def side(self) -> int:
        """Modules along one side."""
        return modules_per_side(self.version)

    @property
    def rows(self) -> tuple[str, ...]:
        """The modules of each row, from left to right: 1 is dark, 0 light."""
        side = self.side
        text = f"{self.dark:0{side * side}b}"[::-1]
        return tuple(text[start : start + side] for start in range(0, side * side, side))

    @property
    def modules(self) -> tuple[tuple[bool, ...], ...]:
        """The modules, row by row, dark is True."""
        return tuple(tuple(module == "1" for module in row) for row in self.rows)


def tag_payload(base_url: str, code: str) -> str:
    """What a tag's QR holds: the address of the piece, or the bare code where there is no base address.

    Scheme, host and the `/t/` before a code may be in capitals, and capitals need a smaller symbol. A base address
    with a path of its own keeps that path as it is, for paths may mind the case.

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


def is_url(payload: str) -> bool:
    """Whether a QR's text is an address, and not a bare code."""
    return "://" in payload


def min_side(payload: str, modules: int) -> float:
    """The smallest side in mm, quiet zone not counted, at which the symbol is printed."""
    least = MIN_URL_SIDE if is_url(payload) else MIN_CODE_SIDE
    return max(least, modules * MIN_MODULE)


def symbol_for(payload: str) -> Symbol:
    """The QR symbol for a text: the smallest version that holds it at level M, at the highest level that this holds.

    So a bare code gets level H for nothing, while an address is never made finer for the sake of its level: blur
    costs more there than correction gains (measured, see above). Raises AddressTooLong.
    """
    message = message_of(payload)
    lowest = next(iter(LEVELS))
    version = _smallest_version(message, payload, lowest)
    level = [level for level in LEVELS if message.fits(version, level)][-1]
    return _symbol(message, version, level, None)


def symbol_at_level(payload: str, level: str, mask: int | None = None) -> Symbol:
    """The smallest QR symbol for a text at a level (M, Q or H) with one of the masks 0 to 7, or the best one.

    Raises AddressTooLong.
    """
    message = message_of(payload)
    return _symbol(message, _smallest_version(message, payload, level), level, mask)


def _smallest_version(message: Message, payload: str, level: str) -> int:
    for version in range(1, MAX_VERSION + 1):
        if message.fits(version, level):
            return version
    raise AddressTooLong(
        f"The address on the labels, {payload[:40]}…, has {len(payload)} characters: its code would be too fine to "
        "scan. Set a shorter base address."
    )


def _symbol(message: Message, version: int, level: str, mask: int | None) -> Symbol:
    bits = drawn(message.codewords(version, level), version, level)
    if mask is None:
        mask = best_mask(bits ^ patterns(version, level, None), version)
    dark = bits ^ patterns(version, level, mask) ^ masked_modules(version)[mask]
    return Symbol(dark, version, level, mask)


def dark_rectangles(symbol: Symbol) -> tuple[tuple[int, int, int, int], ...]:
    """The dark modules as few rectangles: column, row, columns wide, rows high.

    Runs along a row; equal runs one under the other are one block.
    """
    blocks: list[tuple[int, int, int, int]] = []
    open_runs: dict[tuple[int, int], int] = {}
    for number, row in enumerate([*symbol.rows, ""]):
        runs = dict.fromkeys((found.span() for found in _DARK_RUN.finditer(row)), number)
        for run, first in open_runs.items():
            if run in runs:
                runs[run] = first
            else:
                blocks.append((run[0], first, run[1] - run[0], number - first))
        open_runs = runs
    return tuple(sorted(blocks, key=itemgetter(1, 0)))
