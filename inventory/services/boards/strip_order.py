"""The order of a board's strips: changed strip by strip and stored with the board, or reset to the proposed one."""

from __future__ import annotations

from collections.abc import Callable

from inventory.layout.positions import FillLayout
from inventory.layout.strip_layout import lay_out_fill
from inventory.layout.strip_order import InvalidOrder, StripOrder, strip_order_of
from inventory.services.boards.making import InvalidTransition, board_at_version
from inventory.shop import Shop
from inventory.storage.records import BoardRecord, BoardState
from inventory.storage.repositories import boards as kept

Change = Callable[[StripOrder], StripOrder]

UNGLUED_STATES = (BoardState.ON_HOLD, BoardState.CUT)
"""While a board is one of these its strips are not glued yet."""


def laid_out(board: BoardRecord) -> FillLayout:
    """The board's strips in the stored order, else in the proposed one.

    A stored order that no longer fits, because bands are laid out differently now,
    is ignored.
    """
    if board.order is not None:
        try:
            return lay_out_fill(board.fill, board.request, board.order)
        except InvalidOrder:
            pass
    return lay_out_fill(board.fill, board.request)


def change_order(shop: Shop, number: int, version: int, change: Change) -> BoardRecord:
    """Changes and stores the order of a board's strips.

    Raises NoSuchBoard, Conflict, InvalidTransition, and InvalidOrder where a strip would leave its band.
    """
    with shop.writing() as connection:
        board = board_at_version(connection, number, version)
        _must_be_loose(board)
        order = change(strip_order_of(laid_out(board)))
        lay_out_fill(board.fill, board.request, order)
        return kept.save_order(connection, board, shop.now(), order)


def reset_order(shop: Shop, number: int, version: int) -> BoardRecord:
    """Resets the strips of a board to the proposed order. Raises NoSuchBoard, Conflict, InvalidTransition."""
    with shop.writing() as connection:
        board = board_at_version(connection, number, version)
        _must_be_loose(board)
        return kept.save_order(connection, board, shop.now(), None)


def _must_be_loose(board: BoardRecord) -> None:
    if board.state not in UNGLUED_STATES:
        raise InvalidTransition(
            f'"{board.name}" is {board.state.value}: the order of its strips stays as it is. '
            "Only while a board is set aside or cut can it be changed."
        )
