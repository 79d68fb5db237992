"""What goes out of the shop with a board, and which boards came of a piece through what was left of it."""

from __future__ import annotations

from fractions import Fraction

import pytest

from inventory.core.lengths import inches
from inventory.services.boards import board_card, making
from inventory.services.boards.board_card import CARE, FOOD, NotCutYet, whole_percents
from inventory.services.rack import queries
from inventory.shop import Shop
from inventory.storage.records import BoardRecord, OffcutRecord
from tests.services.fills import BOARD, cut, make_fill


def test_a_card_says_sizes_species_and_year_and_defers_on_food(shop: Shop, aside: BoardRecord) -> None:
    (card,) = board_card.cards_of(cut(shop, aside))
    assert (card.length, card.width, card.thickness) == (inches("18"), inches("6"), inches("1 1/2"))
    assert card.boards == (0,)
    assert sum(percent for _, percent in card.woods) == 100
    assert card.year == shop.today().year
    assert card.care[: len(CARE) + 1] == (*CARE, FOOD)


def test_a_board_that_is_not_cut_has_no_card(aside: BoardRecord) -> None:
    with pytest.raises(NotCutYet) as error:
        board_card.cards_of(aside)
    assert str(error.value) == '"stair tread" is set aside: its card can be printed once it is cut.'


def test_shares_in_per_cent_are_a_hundred_together() -> None:
    thirds = [(name, Fraction(1, 3)) for name in ("ash", "elm", "oak")]
    assert whole_percents(thirds) == (("ash", 34), ("elm", 33), ("oak", 33))
    assert whole_percents([("ash", Fraction(1))]) == (("ash", 100),)


def test_a_piece_knows_the_boards_that_took_what_was_left_of_it(
    shop: Shop, oak: OffcutRecord, aside: BoardRecord
) -> None:
    first = cut(shop, aside)
    assert queries.piece(shop, oak.code).later_boards == ()
    left = next(record for code in first.left_over if (record := queries.record(shop, code)).parent_tag == oak.code)
    second = making.set_aside(shop, BOARD, make_fill(BOARD, [(left, 1)]), "shelf")
    view = queries.piece(shop, oak.code)
    assert [each.id for each in view.boards] == [first.id]
    assert [each.id for each in view.later_boards] == [second.id]
