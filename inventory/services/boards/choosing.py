"""Choosing an option at the bench: the fill that a page showed is found again, and its offcuts are put on hold."""

from __future__ import annotations

from inventory.core.errors import Conflict
from inventory.fill.request import BoardRequest
from inventory.services.boards import filling, making
from inventory.shop import Shop
from inventory.storage.records import BoardRecord
from inventory.storage.repositories.idempotency_keys import idempotency_key, stored_answer


def hold_chosen(shop: Shop, request: BoardRequest, key: str, *, form_token: str = "") -> BoardRecord:
    """Puts the offcuts of the fill with this `filling.fill_key` on hold for a board.

    Raises Conflict where the rack no longer gives the fill or a piece was taken in
    the meantime; then nothing is put on hold.
    """
    form = idempotency_key("choose a set", form_token, request, key)
    before = _answered(shop, form)
    if before is not None:
        return before
    try:
        fill = filling.find_option(shop, request, key)
        return making.set_aside(shop, request, fill, form=form)
    except Conflict:
        # The same form may have been answered during this search.
        meanwhile = _answered(shop, form)
        if meanwhile is None:
            raise
        return meanwhile


def _answered(shop: Shop, form: str) -> BoardRecord | None:
    with shop.reading() as connection:
        answer = stored_answer(connection, form)
    return None if answer is None else making.board(shop, int(answer))
