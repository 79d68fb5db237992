"""Forms that were answered: known again while one may lie open, then forgotten."""

from datetime import timedelta

from sqlalchemy import select

from inventory.shop import Shop
from inventory.storage.repositories.idempotency_keys import RETENTION, idempotency_key, store_answer, stored_answer
from inventory.storage.tables import IDEMPOTENCY_KEYS


def test_a_form_is_known_by_its_token_and_all_that_it_says() -> None:
    assert idempotency_key("tag", "one", "ash", 3) == idempotency_key("tag", "one", "ash", 3) != ""
    others = [
        idempotency_key("line", "one", "ash", 3),
        idempotency_key("tag", "two", "ash", 3),
        idempotency_key("tag", "one", "ash", "3"),
    ]
    assert idempotency_key("tag", "one", "ash", 3) not in others
    assert idempotency_key("tag", "", "ash", 3) == ""


def test_answers_of_long_ago_are_forgotten_when_one_is_kept(shop: Shop) -> None:
    began = shop.now()
    with shop.writing() as connection:
        store_answer(connection, "old", "1", began - RETENTION - timedelta(days=1))
        store_answer(connection, "young", "2", began - RETENTION + timedelta(days=1))
        store_answer(connection, "", "nothing", began)
        assert stored_answer(connection, "old") == "1"
        store_answer(connection, "new", "3", began)
        assert set(connection.scalars(select(IDEMPOTENCY_KEYS.c.key))) == {"young", "new"}
        assert (stored_answer(connection, "old"), stored_answer(connection, "young")) == (None, "2")
