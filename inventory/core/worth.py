"""What a piece of wood is worth for further work: its volume, by its length and width (cutting model, section 9).

Short and narrow wood is worth less by volume, as grades and prices have it: the NHLA's rules ask boards of at least
8 ft by 6 in of the best grade, and of 4 ft by 3 in of a common one. The shape of the weights between these is common
practice, no source.
"""

from __future__ import annotations

from inventory.core.lengths import volume_mm3

LENGTH_SHARE, WIDTH_SHARE = 250, 500
"""What the shortest and what the narrowest piece keeps of the worth of its volume, in thousandths."""


def worth(length: int, width: int, thickness: int, prime_length: int, prime_width: int) -> int:
    """The worth of a box in whole thousandths of a mm³ of prime wood, rounded down.

    Sizes in nanometers, 0 or more. From `prime_length` by `prime_width` on a mm³ is worth 1000.

    >>> inch = 25_400_000
    >>> worth(96 * inch, 6 * inch, inch, 96 * inch, 6 * inch) // 1000 == volume_mm3(96 * inch, 6 * inch, inch)
    True
    >>> worth(48 * inch, 3 * inch, inch, 96 * inch, 6 * inch) / worth(96 * inch, 6 * inch, inch, 96 * inch, 6 * inch)
    0.11718749992054199
    """
    by_length = LENGTH_SHARE + (1000 - LENGTH_SHARE) * min(length, prime_length) // prime_length
    by_width = WIDTH_SHARE + (1000 - WIDTH_SHARE) * min(width, prime_width) // prime_width
    return volume_mm3(length, width, thickness) * by_length * by_width // 1000
