"""What a sweep is told: kinds of pieces in order, prices, which covers are sought, and how much work it may do.

Knows no method of search.
"""

from __future__ import annotations

from dataclasses import dataclass, field

from inventory.fill.task import FreeStrips, Ints

MOST_STATES = 400_000
MOST_WORK = 20_000_000
"""So many states one search may grow in all, some seconds of work; then its lists are cut to FEW_STATES."""
FEW_STATES = 500


@dataclass(frozen=True)
class Kind:
    """Pieces that are alike in every respect, their choices, and their free strips.

    `costs` holds one array a guide, by choice; `free` are
    indices of free strips, `free_reduced` one array a guide by those. `steps` number the choices.
    """

    row: int
    copies: int
    adds: Ints
    costs: tuple[Ints, ...]
    least_reduced: tuple[int, ...]
    steps: Ints
    free: Ints
    free_adds: Ints
    free_reduced: tuple[Ints, ...]
    free_steps: Ints


@dataclass(frozen=True)
class Region:
    """Which covers are sought: how many pieces of some kinds, and whether one of another kind must be in it."""

    limits: dict[int, tuple[int, int]] = field(default_factory=dict)
    beyond: frozenset[int] | None = None
    """If given, at least one piece of a kind outside this set is taken."""


@dataclass(frozen=True)
class Field:
    """All that a sweep needs to know: the kinds in order, the target, prices and free strips."""

    target: int
    meet: bool
    kinds: tuple[Kind, ...]
    prices: tuple[int, ...]
    strips: FreeStrips | None
    """Priced by the guides: `cost_at` gives the first guide's cost first."""
    strip_bound: tuple[Ints, ...]
    """By guide and free strip: a lower bound of cost − price·width."""


@dataclass
class Work:
    """How many states the sweeps of one search may still grow before they cut their lists short."""

    left: int = MOST_WORK


def saved(kind: Kind, guide: int, low: int, high: int, already: int) -> int:
    """What a kind of which a cover takes `low` to `high` pieces at best saves, with `already` of them taken."""
    least = kind.least_reduced[guide]
    return least * max(low - already, 0) + min(least, 0) * (high - max(low, already))
