"""A shortfall in words that page and command line share: what would rescue a piece, which smaller size is no help.

The figures come from `inventory.orders.shortfall`.
"""

from __future__ import annotations

from collections.abc import Sequence

from inventory.core.lengths import Display, Length, exact_text
from inventory.fill.plan import AllowanceFix, Shortfall
from inventory.fill.request import BoardRequest


def smaller_sizes(shortfall: Shortfall, asked: BoardRequest, display: Display) -> dict[str, Length]:
    """By name, the largest that each size alone could be; rounded down to what the shop reads, which is filled too."""
    found = {
        "width": shortfall.largest_width,
        "length": shortfall.largest_length,
        "thickness": shortfall.largest_thickness,
    }
    step = display.nearest.step
    rounded = {name: Length(0 if size is None else size // step * step) for name, size in found.items()}
    return {name: size for name, size in rounded.items() if 0 < size < getattr(asked, name)}


def unhelpful_sizes(shortfall: Shortfall, asked: BoardRequest, display: Display) -> tuple[str, ...]:
    """The sizes of which none smaller fills the board while the other two stay as asked."""
    smaller = smaller_sizes(shortfall, asked, display)
    return tuple(name for name in ("length", "width", "thickness") if name not in smaller)


def format_unhelpful(names: Sequence[str]) -> str:
    """A sentence on the sizes that need not be tried; empty where each of them helps.

    >>> format_unhelpful(("length", "width", "thickness"))
    'No smaller length, width or thickness alone would help.'
    """
    if not names:
        return ""
    either = names[0] if len(names) == 1 else f"{', '.join(names[:-1])} or {names[-1]}"
    return f"No smaller {either} alone would help."


def format_fix(fix: AllowanceFix, display: Display) -> str:
    """What would let a near miss serve: `with 13/16 in end trim it fits`."""
    return f"with {exact_text(fix.to, display.unit)} {fix.allowance.replace('_', ' ')} it fits"
