"""The workshop: planer, glue, air, and how its stock was sawn.

The effort of a fill and the wood movement of a board are calculated with these values.
"""

from __future__ import annotations

from dataclasses import dataclass
from enum import Enum
from fractions import Fraction

from inventory.core.lengths import Length, inches

# common practice, no source: a bench-top planer
PLANER_WIDTH = inches("13")


class Sawn(Enum):
    """How the shop's stock was sawn: which way the growth rings lie in it."""

    FLAT = "flat-sawn"
    QUARTER = "quarter-sawn"
    UNKNOWN = "not known"


# common practice, no source: every default below; the bottle of the glue and the shop's own air come before them
@dataclass(frozen=True)
class Workshop:
    """The limits of planer and glue, and the air that the boards are kept in.

    `planer_width` is the widest board that goes through the planer. `spread_rate`
    counts strips spread with glue in a minute, `open_time` the minutes that the bottle
    allows until the strips must lie together. `driest` and `dampest` are the relative
    humidities in percent between which a board lives, at `celsius`.
    """

    planer_width: Length = PLANER_WIDTH
    spread_rate: Fraction = Fraction(3)
    open_time: Fraction = Fraction(5)
    driest: Fraction = Fraction(35)
    dampest: Fraction = Fraction(65)
    celsius: Fraction = Fraction(20)
    sawn: Sawn = Sawn.UNKNOWN

    @property
    def max_glue_lines(self) -> int:
        """Glue lines that one spread can cover; one at least."""
        return max(int(self.spread_rate * self.open_time), 1)

    @property
    def max_strips_per_spread(self) -> int:
        """Strips that can be glued together with one spread."""
        return self.max_glue_lines + 1


DEFAULT_WORKSHOP = Workshop()
"""A shop of which nothing is known yet."""
