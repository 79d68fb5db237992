"""Names of paper sizes, as printers give and take them (PWG 5101.1, "Media Standardized Names").

Sizes are exact millimeters, width across the feed first.
"""

from __future__ import annotations

import re
from collections.abc import Iterable
from fractions import Fraction

# PWG 5101.1, table 5: the standard names of the two sheets.
STANDARD = {
    (Fraction(2159, 10), Fraction(2794, 10)): "na_letter_8.5x11in",
    (Fraction(210), Fraction(297)): "iso_a4_210x297mm",
}

TOLERANCE_MM = Fraction(5, 100)
"""Millimeters. Printers keep sizes in hundredths of a millimeter or in points and round them to that."""

_MM = {"mm": Fraction(1), "in": Fraction(254, 10)}
_SELF_DESCRIBING = re.compile(r"([a-z0-9-]+)_(?:.*_)?(\d+(?:\.\d+)?)x(\d+(?:\.\d+)?)(mm|in)")

Size = tuple[Fraction, Fraction]


def media_name(width: Fraction, height: Fraction, supported: Iterable[str]) -> str | None:
    """The name to ask a printer for this size by; None where it has no such paper.

    A name that the printer gives itself is taken first, then a size of its own
    free range. A printer that gives no names is asked by the usual name.

    >>> media_name(Fraction(62), Fraction(29), ["iso_a4_210x297mm", "custom_62x29mm_62x29mm"])
    'custom_62x29mm_62x29mm'
    >>> media_name(Fraction(62), Fraction(29), ["iso_a4_210x297mm"]) is None
    True
    """
    named = [(name, size) for name in supported if (size := size_of(name)) is not None]
    minimum, maximum = _custom_range(named)
    for name, size in named:
        if not _is_range_name(name) and all(
            abs(a - b) <= TOLERANCE_MM for a, b in zip(size, (width, height), strict=True)
        ):
            return name
    if named and not (minimum[0] <= width <= maximum[0] and minimum[1] <= height <= maximum[1]):
        return None
    return STANDARD.get((width, height)) or custom_name(width, height)


def size_of(name: str) -> Size | None:
    """The size in a name; None where it tells none.

    >>> size_of("na_index-4x6_4x6in")
    (Fraction(508, 5), Fraction(762, 5))
    """
    found = _SELF_DESCRIBING.fullmatch(name)
    if found is None:
        return None
    unit = _MM[found[4]]
    return Fraction(found[2]) * unit, Fraction(found[3]) * unit


def custom_name(width: Fraction, height: Fraction) -> str:
    """The name of a size that has no standard one, to a hundredth of a millimeter.

    >>> custom_name(Fraction(5715, 100), Fraction(29))
    'custom_57.15x29mm_57.15x29mm'
    """
    size = f"{_shown(width)}x{_shown(height)}mm"
    return f"custom_{size}_{size}"


def _shown(millimeters: Fraction) -> str:
    return f"{float(millimeters):.2f}".rstrip("0").rstrip(".")


def _is_range_name(name: str) -> bool:
    return name.startswith(("custom_min_", "custom_max_", "roll_min_", "roll_max_"))


def _custom_range(named: Iterable[tuple[str, Size]]) -> tuple[Size, Size]:
    """The least and the most that a printer says it takes of any size; nothing where it says neither."""
    minimum, maximum = (Fraction(1), Fraction(1)), (Fraction(0), Fraction(0))
    for name, size in named:
        if name.startswith(("custom_min_", "roll_min_")):
            minimum = size
        elif name.startswith(("custom_max_", "roll_max_")):
            maximum = size
    return minimum, maximum
