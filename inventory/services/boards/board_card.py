"""The card that goes out of the shop with a finished board: its species, sizes, year, and how to keep it.

Draws and prints nothing.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from fractions import Fraction

from inventory.core.errors import UserError
from inventory.core.lengths import Length
from inventory.core.species import contact_remarks
from inventory.core.species_cautions import ANY_CONTACT
from inventory.layout.finished_board import finished_boards
from inventory.storage.records import BoardRecord, BoardState
from inventory.wording.cautions import recorded_effects

# common practice, no source: all of CARE
CARE = (
    "Wash it by hand with a little soap, wipe it dry, and stand it on edge so that air gets to both faces.",
    "Never soak it and keep it out of the dishwasher: it would warp, crack, or come apart where it is glued.",
    "When it looks dry, rub in an oil meant for things that touch food, leave it overnight, wipe off the rest. "
    "Rags with a drying oil can catch fire by themselves: spread them flat to dry, outdoors.",
)
# FDA Food Code 4-101.17 (United States) binds food businesses, not homes.
FOOD = (
    "Food: the makers of its glue and its finish say what these are good for; for trade kitchens local rules govern "
    "(in the United States hard maple or an equally hard, close-grained wood, FDA Food Code 4-101.17)."
)


class NotCutYet(UserError):
    """A card was requested for a board that is not cut."""


@dataclass(frozen=True)
class Card:
    """What a card says. `boards` are the numbers, from 0, of the boards that it fits; shares are whole percents."""

    boards: tuple[int, ...]
    length: Length
    width: Length
    thickness: Length
    woods: tuple[tuple[str, int], ...]
    year: int
    care: tuple[str, ...]


def cards_of(board: BoardRecord) -> tuple[Card, ...]:
    """One card for each group of identical boards that were made together. Raises NotCutYet."""
    made = board.finished_at or board.cut_at
    if board.state not in (BoardState.CUT, BoardState.FINISHED) or made is None:
        raise NotCutYet(f'"{board.name}" is {board.state.value}: its card can be printed once it is cut.')
    return tuple(
        Card(
            boards=each.boards,
            length=each.length,
            width=each.width,
            thickness=each.thickness,
            woods=whole_percents(each.shares),
            year=made.year,
            care=(*CARE, *_on_food(species for species, _ in each.shares)),
        )
        for each in finished_boards(board.fill, board.request)
    )


def _on_food(woods: Iterable[str]) -> Iterator[str]:
    yield FOOD
    for name in woods:
        yield from recorded_effects(f"On record of food on {name}", contact_remarks(name), ANY_CONTACT)


def whole_percents(shares: Sequence[tuple[str, Fraction]]) -> tuple[tuple[str, int], ...]:
    """Whole per cent that sum to 100: rounded down, then one more where the most was cut off.

    >>> whole_percents([("ash", Fraction(2, 3)), ("oak", Fraction(1, 6)), ("elm", Fraction(1, 6))])
    (('ash', 67), ('oak', 17), ('elm', 16))
    """
    whole = [int(share * 100) for _, share in shares]
    cut_off = [share * 100 - floor for (_, share), floor in zip(shares, whole, strict=True)]
    for place in sorted(range(len(whole)), key=lambda place: (-cut_off[place], place))[: 100 - sum(whole)]:
        whole[place] += 1
    return tuple((species, percent) for (species, _), percent in zip(shares, whole, strict=True))
