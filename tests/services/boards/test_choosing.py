"""A set chosen at the bench: once for each form, all of it or nothing."""

from collections.abc import Iterator
from contextlib import contextmanager

import pytest
from sqlalchemy import Connection

from inventory.services.boards import choosing, filling, making
from inventory.shop import Shop
from tests.services.fills import tagged

ASKED = {"length": "18", "width": "6", "thickness": "1 1/2", "fills": 1}


def test_a_set_is_on_hold_and_its_form_answered_in_one_transaction(shop: Shop, monkeypatch: pytest.MonkeyPatch) -> None:
    tagged(shop, "3 of ash 66 x 4 x 1 planed")
    asked = filling.request(shop, ASKED)
    key = filling.fill_key(filling.fill(shop, asked).fills[0])
    began: list[Connection] = []
    writing = shop.writing

    @contextmanager
    def counted() -> Iterator[Connection]:
        with writing() as connection:
            began.append(connection)
            yield connection

    monkeypatch.setattr(shop, "writing", counted)
    board = choosing.hold_chosen(shop, asked, key, form_token="one")
    assert len(began) == 1
    assert choosing.hold_chosen(shop, asked, key, form_token="one") == board
    assert [each.id for each in making.boards(shop)] == [board.id]
