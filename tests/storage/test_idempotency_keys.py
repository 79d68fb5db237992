"""Forms that were answered: known again while one may lie open, then forgotten."""

from datetime import timedelta

from sqlalchemy import select

from inventory.shop import Shop
from inventory.storage.repositories.idempotency_keys import KEPT_FOR, answer_to, form_key, keep_answer
from inventory.storage.tables import FORMS


def test_a_form_is_known_by_its_token_and_all_that_it_says() -> None:
    assert form_key("tag", "one", "ash", 3) == form_key("tag", "one", "ash", 3) != ""
    others = [form_key("line", "one", "ash", 3), form_key("tag", "two", "ash", 3), form_key("tag", "one", "ash", "3")]
    assert form_key("tag", "one", "ash", 3) not in others
    assert form_key("tag", "", "ash", 3) == ""


def test_answers_of_long_ago_are_forgotten_when_one_is_kept(shop: Shop) -> None:
    began = shop.now()
    with shop.writing() as connection:
        keep_answer(connection, "old", "1", began - KEPT_FOR - timedelta(days=1))
        keep_answer(connection, "young", "2", began - KEPT_FOR + timedelta(days=1))
        keep_answer(connection, "", "nothing", began)
        assert answer_to(connection, "old") == "1"
        keep_answer(connection, "new", "3", began)
        assert set(connection.scalars(select(FORMS.c.key))) == {"young", "new"}
        assert (answer_to(connection, "old"), answer_to(connection, "young")) == (None, "2")
