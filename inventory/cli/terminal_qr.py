"""A QR in the terminal: two rows of modules a line, by half blocks, dark on white whatever the terminal's colors."""

from __future__ import annotations

from labels.qr import QUIET_MODULES, symbol_for

_DARK_ON_WHITE, _PLAIN = "\x1b[38;5;16;48;5;231m", "\x1b[0m"
"""Black and white of the 256 colors (xterm), which no theme changes."""
_HALVES = {(False, False): " ", (True, False): "▀", (False, True): "▄", (True, True): "█"}


def qr_lines(payload: str) -> list[str]:
    """The lines of a symbol with its quiet zone.

    >>> len(qr_lines("7KQ4M9X"))
    15
    """
    modules = symbol_for(payload).modules
    wide = len(modules) + 2 * QUIET_MODULES
    blank = (False,) * wide
    side = (False,) * QUIET_MODULES
    rows = [blank] * QUIET_MODULES + [side + row + side for row in modules] + [blank] * QUIET_MODULES
    if len(rows) % 2:
        rows.append(blank)
    lines = []
    for upper, lower in zip(rows[::2], rows[1::2], strict=True):
        halves = "".join(_HALVES[pair] for pair in zip(upper, lower, strict=True))
        lines.append(f"{_DARK_ON_WHITE}{halves}{_PLAIN}")
    return lines


def supports_blocks(encoding: str | None) -> bool:
    """Whether a terminal with this encoding has the half blocks."""
    try:
        "▀▄█".encode(encoding or "ascii")
    except (UnicodeEncodeError, LookupError):
        return False
    return True
