"""The order of a board's strips: kept with the board until its strips are glued."""

from functools import partial

import pytest

from inventory.core.errors import Conflict
from inventory.layout.strip_order import InvalidOrder, StripPlacement, moved, strip_order_of, turned
from inventory.services.boards import making, strip_order
from inventory.services.boards.making import InvalidTransition
from inventory.shop import Shop
from inventory.storage.records import BoardRecord
from inventory.storage.repositories import boards as kept
from tests.services.fills import cut

TO_THE_RIGHT = partial(moved, glue_up=0, place=0, to=1)
END_FOR_END = partial(turned, glue_up=0, place=0)


def test_a_board_has_the_proposed_order_until_it_is_changed(shop: Shop, aside: BoardRecord) -> None:
    assert aside.order is None
    proposed = strip_order_of(strip_order.laid_out(aside))
    changed = strip_order.change_order(shop, aside.id, aside.version, TO_THE_RIGHT)
    assert changed.version == aside.version + 1
    assert changed.order == (moved(proposed, 0, 0, 1))
    assert making.board(shop, aside.id) == changed
    assert strip_order_of(strip_order.laid_out(changed)) == changed.order


def test_changes_add_up_and_the_order_can_be_proposed_again(shop: Shop, aside: BoardRecord) -> None:
    first = strip_order.change_order(shop, aside.id, aside.version, TO_THE_RIGHT)
    second = strip_order.change_order(shop, aside.id, first.version, END_FOR_END)
    assert second.order is not None
    assert second.order[0][0].turned
    again = strip_order.reset_order(shop, aside.id, second.version)
    assert again.order is None
    assert strip_order.laid_out(again) == strip_order.laid_out(aside)


def test_the_order_outlives_the_cut_and_can_still_be_changed_before_gluing(shop: Shop, aside: BoardRecord) -> None:
    changed = strip_order.change_order(shop, aside.id, aside.version, TO_THE_RIGHT)
    done = cut(shop, changed)
    assert done.order == changed.order
    assert strip_order.change_order(shop, done.id, done.version, END_FOR_END).order != changed.order


def test_a_page_that_is_out_of_date_overwrites_no_order(shop: Shop, aside: BoardRecord) -> None:
    changed = strip_order.change_order(shop, aside.id, aside.version, TO_THE_RIGHT)
    for late in (
        lambda: strip_order.change_order(shop, aside.id, aside.version, END_FOR_END),
        lambda: strip_order.reset_order(shop, aside.id, aside.version),
    ):
        with pytest.raises(Conflict) as refused:
            late()
        assert str(refused.value) == (
            '"stair tread" was changed by somebody else since this page was shown: what you sent was not saved. '
            "Look at it as it is now, then do it again."
        )
    assert making.board(shop, aside.id) == changed


def test_a_finished_board_keeps_its_order(shop: Shop, aside: BoardRecord) -> None:
    done = cut(shop, aside)
    finished = making.finish(shop, done.id, done.version)
    for late in (
        lambda: strip_order.change_order(shop, finished.id, finished.version, TO_THE_RIGHT),
        lambda: strip_order.reset_order(shop, finished.id, finished.version),
    ):
        with pytest.raises(InvalidTransition) as refused:
            late()
        assert str(refused.value) == (
            '"stair tread" is finished: the order of its strips stays as it is. '
            "Only while a board is set aside or cut can it be changed."
        )


def test_an_order_that_is_none_is_not_kept(shop: Shop, aside: BoardRecord) -> None:
    with pytest.raises(InvalidOrder):
        strip_order.change_order(shop, aside.id, aside.version, lambda order: (order[0][1:],))
    assert making.board(shop, aside.id) == aside


def test_a_kept_order_that_no_longer_fits_gives_way_to_the_proposed_one(shop: Shop, aside: BoardRecord) -> None:
    with shop.writing() as connection:
        kept.save_order(connection, aside, shop.now(), ((StripPlacement(aside.taken[0].code, 1, 0),),))
    found = making.board(shop, aside.id)
    assert strip_order.laid_out(found) == strip_order.laid_out(aside)
