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

# ISO/IEC 18004: a blank margin of four modules on all four sides
QUIET_MODULES = 4

# The three limits were measured by this project on simulated photos of damaged prints (150 frames or more a case):
# an address read 99 % at 15 mm and 88 % at 12 mm, a bare code 94 % at 12 mm and 83 % at 10 mm; modules under half a
# millimetre went first under blur.
LEAST_ADDRESS_SIDE = 15.0
LEAST_CODE_SIDE = 12.0
LEAST_MODULE = 0.5

# Versions beyond this have modules under LEAST_MODULE on every label that a tag can be.
LARGEST_VERSION = 10

_LEVELS_UP = (constants.ERROR_CORRECT_M, constants.ERROR_CORRECT_Q, constants.ERROR_CORRECT_H)
_LEVEL_LETTERS = {constants.ERROR_CORRECT_M: "M", constants.ERROR_CORRECT_Q: "Q", constants.ERROR_CORRECT_H: "H"}


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


def symbol_for(payload: str, *, mask: int | None = None) -> Symbol:
    """The QR symbol for a text: the smallest version that holds it at level M, at the highest level that this holds.

    So a bare code gets level H for nothing, while an address is never made finer for the sake of its level: blur
    costs more there than correction gains (measured, see above). Left to itself the mask is chosen by the penalty
    of ISO/IEC 18004. Raises TooLong.
    """
    code, level = _fitted(payload, _LEVELS_UP[0], mask), _LEVELS_UP[0]
    if code is None:
        raise TooLong(
            f"The address on the labels, {payload[:60]}…, is {len(payload)} characters long: its code would be "
            "too fine to scan. Set a shorter base address."
        )
    version: int = code.version
    for higher in _LEVELS_UP[1:]:
        safer = _fitted(payload, higher, mask)
        if safer is None or safer.version > version:
            break
        code, level = safer, higher
    chosen: int = code.best_mask_pattern() if mask is None else mask
    code.makeImpl(False, chosen)
    modules = tuple(tuple(bool(module) for module in row) for row in code.modules)
    return Symbol(modules, version, _LEVEL_LETTERS[level], chosen)


def _fitted(payload: str, level: int, mask: int | None) -> Any:
    """The library's symbol at its smallest version, not yet drawn; None if that is too fine for a label."""
    code: Any = QRCode(error_correction=level, border=0, mask_pattern=mask)
    code.add_data(payload, optimize=0)
    try:
        return code if code.best_fit() <= LARGEST_VERSION else None
    except DataOverflowError:
        return None


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
