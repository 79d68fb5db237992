"""The QR symbol of a tag: what it holds, which version and level, its modules.

Knows ISO/IEC 18004 through the `qrcode` library. Knows nothing of where the
symbol is drawn. Sizes are millimetres.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from qrcode import QRCode, constants
from qrcode.exceptions import DataOverflowError

from labels.errors import CannotPrint
from labels.masks import draw_best

# ISO/IEC 18004: a blank margin of four modules on all four sides
QUIET_MODULES = 4

# Measured by this project on simulated photos of worn prints at 203 and 300 dpi, 100 frames a case: an address was
# read in 99 to 100 % of them at 15 mm and in 78 to 93 % at 12 mm, a bare code in 92 to 100 % at 12 mm and in 67 to
# 88 % at 10 mm; modules of 0.52 mm in 92 to 100 %, of 0.45 mm in 80 to 86 %.
LEAST_ADDRESS_SIDE = 15.0
LEAST_CODE_SIDE = 12.0
LEAST_MODULE = 0.5

# 57 modules a side: at LEAST_MODULE this and its quiet zone are 32.5 mm wide. Beyond that no label is looked for.
LARGEST_VERSION = 10

# The levels of error correction that are used, from the least up.
LEVELS = {"M": constants.ERROR_CORRECT_M, "Q": constants.ERROR_CORRECT_Q, "H": constants.ERROR_CORRECT_H}


class TooLong(CannotPrint):
    """An address that no label can hold as a code that still reads."""


@dataclass(frozen=True)
class Symbol:
    """The modules of one QR symbol, row by row, dark is True; without its quiet zone."""

    modules: tuple[tuple[bool, ...], ...]
    version: int
    level: str
    mask: int

    @property
    def side(self) -> int:
        """Modules along one side: 17 + 4 × version."""
        return len(self.modules)


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


def holds_address(payload: str) -> bool:
    """Whether a QR's text is an address, and not a bare code."""
    return "://" in payload


def least_side(payload: str, modules: int) -> float:
    """The smallest side in mm, quiet zone not counted, at which the symbol is printed."""
    least = LEAST_ADDRESS_SIDE if holds_address(payload) else LEAST_CODE_SIDE
    return max(least, modules * LEAST_MODULE)


def symbol_for(payload: str) -> Symbol:
    """The QR symbol for a text: the smallest version that holds it at level M, at the highest level that this holds.

    So a bare code gets level H for nothing, while an address is never made finer for the sake of its level: blur
    costs more there than correction gains (measured, see above). Raises TooLong.
    """
    level, *higher = LEVELS
    code = _smallest(payload, level)
    for safer in higher:
        again = _fitted(payload, safer, code.version)
        if again is None:
            break
        code, level = again, safer
    mask = draw_best(code)
    return _symbol(code, level, mask)


def symbol_at(payload: str, level: str, mask: int) -> Symbol:
    """The smallest QR symbol for a text at a level (M, Q or H) with one of the eight masks (0 to 7). Raises TooLong."""
    code = _smallest(payload, level)
    code.makeImpl(False, mask)
    return _symbol(code, level, mask)


def _smallest(payload: str, level: str) -> Any:
    code = _fitted(payload, level, LARGEST_VERSION)
    if code is None:
        raise TooLong(
            f"The address on the labels, {payload[:40]}…, has {len(payload)} characters: its code would be too fine to "
            "scan. Set a shorter base address."
        )
    return code


def _fitted(payload: str, level: str, largest: int) -> Any:
    """The library's symbol at its smallest version, not yet drawn; None if that is larger than `largest`."""
    code: Any = QRCode(error_correction=LEVELS[level], border=0)
    code.add_data(payload, optimize=0)
    try:
        return code if code.best_fit() <= largest else None
    except (DataOverflowError, ValueError):
        return None


def _symbol(code: Any, level: str, mask: int) -> Symbol:
    modules = tuple(tuple(bool(module) for module in row) for row in code.modules)
    return Symbol(modules, code.version, level, mask)


def dark_blocks(symbol: Symbol) -> tuple[tuple[int, int, int, int], ...]:
    """The dark modules as few rectangles: column, row, columns wide, rows high.

    Runs along a row; equal runs one under the other are one block.
    """
    blocks: list[tuple[int, int, int, int]] = []
    open_runs: dict[tuple[int, int], tuple[int, int]] = {}
    for row in range(symbol.side + 1):
        runs = set(_runs(symbol.modules[row])) if row < symbol.side else set()
        for (start, wide), (first_row, high) in list(open_runs.items()):
            if (start, wide) in runs:
                open_runs[start, wide] = (first_row, high + 1)
                runs.discard((start, wide))
            else:
                blocks.append((start, first_row, wide, high))
                del open_runs[start, wide]
        for run in runs:
            open_runs[run] = (row, 1)
    return tuple(sorted(blocks, key=lambda block: (block[1], block[0])))


def _runs(row: tuple[bool, ...]) -> list[tuple[int, int]]:
    runs: list[tuple[int, int]] = []
    start: int | None = None
    for column, dark in enumerate((*row, False)):
        if dark and start is None:
            start = column
        elif not dark and start is not None:
            runs.append((start, column - start))
            start = None
    return runs
