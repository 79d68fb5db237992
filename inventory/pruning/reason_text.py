"""Reasons of the prune list in words, with their standard errors."""

from __future__ import annotations

from inventory.pruning.advice import Removal
from inventory.pruning.forecast import Chance
from inventory.pruning.loss import Outcome


def percent_text(share: float) -> str:
    """A share in percent, to one place below ten.

    >>> percent_text(0.015), percent_text(0.634)
    ('1.5 %', '63 %')
    """
    return f"{100 * share:.1f} %" if share < 0.0995 else f"{100 * share:.0f} %"


def chance_text(chance: Chance) -> str:
    """A probability with its standard error.

    >>> chance_text(Chance(50, 200)), chance_text(Chance(0, 200)), chance_text(Chance(200, 200))
    ('25 % ± 3.1 %', 'under 1.5 %', 'over 98 %')
    """
    if chance.successes == 0:
        return f"under {percent_text(chance.upper_bound)}"
    if chance.successes == chance.trials:
        return f"over {percent_text(max(1 - chance.upper_bound, 0.0))}"
    return f"{percent_text(chance.share)} ± {percent_text(chance.error)}"


def times_text(chance: Chance) -> str:
    """How often it happened in how many simulated years.

    >>> times_text(Chance(1, 200)), times_text(Chance(0, 200))
    ('cut once in 400 simulated years', 'not cut once in 400 simulated years')
    """
    match chance.successes:
        case 0:
            often = "not cut once"
        case 1:
            often = "cut once"
        case 2:
            often = "cut twice"
        case _:
            often = f"cut {chance.successes:,} times"
    return f"{often} in {2 * chance.trials:,} simulated years"


def reason_text(going: Removal) -> str:
    """Why a piece is on the prune list."""
    if not going.serves:
        return "Fits none of the usual boards."
    used = times_text(going.chance)
    if going.chance.successes:
        used += f" ({chance_text(going.chance)} in two years)"
    if going.similar_kept == 0:
        rest = "no other piece that stays does all of the same boards"
    elif going.similar_kept == 1:
        rest = "1 other that stays does the same boards"
    else:
        rest = f"{going.similar_kept:,} others that stay do the same boards"
    return f"{used[0].upper()}{used[1:]}; {rest}."


def lost_text(outcome: Outcome) -> str:
    """What a smaller rack loses, with the standard error.

    >>> lost_text(Outcome(40, 1200, 1000, 2.14, 0.31)), lost_text(Outcome(40, 1200, 1100, 0.0, 0.0))
    ('2.1 ± 0.3 points', 'none (under 0.2 points)')
    """
    if outcome.lost == 0 and outcome.error == 0:
        return f"none (under {100 * Chance(0, outcome.asked).upper_bound:.1f} points)"
    return f"{outcome.lost:.1f} ± {outcome.error:.1f} points"
