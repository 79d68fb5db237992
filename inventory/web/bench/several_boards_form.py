"""A list of boards in an address: one `board` parameter for each, with its quantity.

A list is an address, so that it can be kept and sent.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from urllib.parse import parse_qsl, urlencode

from werkzeug.datastructures import MultiDict

from inventory.core.whole_numbers import read_integer
from inventory.fill.request import MAX_BOARDS, BoardRequest
from inventory.services.boards.several_boards import BoardOrder, InvalidBatch
from inventory.settings import Settings
from inventory.shop import Shop
from inventory.web.bench import board_form
from inventory.web.forms import FormError

Typed = MultiDict[str, str]


@dataclass(frozen=True)
class BoardEntry:
    """One board of the list: its search at the bench and its quantity, as typed."""

    number: int
    typed: Typed
    count: str
    request: BoardRequest | None
    """The board; None where it can't be read."""

    @property
    def text(self) -> str:
        """The board as one value of an address."""
        return encode_board(self.typed, self.count)

    @property
    def field(self) -> str:
        return f"count{self.number}"


def encode_board(typed: Typed, count: str = "1") -> str:
    """A search at the bench and a quantity as one value of an address."""
    kept = {name: texts for name, texts in board_form.query(typed).items() if name != "beside"}
    return urlencode({**kept, "count": count.strip() or "1"}, doseq=True)


def read_entries(shop: Shop, settings: Settings, typed: Typed) -> list[BoardEntry]:
    """The boards of an address or of the list's form; a typed `count1` replaces the quantity in the first `board`."""
    return list(_read_entries(shop, settings, typed))


def _read_entries(shop: Shop, settings: Settings, typed: Typed) -> Iterator[BoardEntry]:
    for number, text in enumerate((each for each in typed.getlist("board") if each.strip()), 1):
        board: Typed = MultiDict(parse_qsl(text))
        count = typed.get(f"count{number}", board.get("count", "1"))
        yield BoardEntry(number, board, count, board_form.read_board(shop, settings, board).request)


def read_question(boards: Sequence[BoardEntry], *, how_many: bool) -> BoardOrder:
    """The order of a list. Raises FormError."""
    errors: dict[str, str] = {}
    requests = []
    for each in boards:
        count = read_integer(each.count, 1, MAX_BOARDS)
        if each.request is None:
            errors[each.field] = "This board can't be read any more. Change it at the bench, or take it off the list."
        elif count is None:
            errors[each.field] = f'"{each.count}" is no number of boards. Type 1 to {MAX_BOARDS}.'
        else:
            requests.append(with_count(each.request, count))
    if errors:
        raise FormError(errors)
    try:
        return BoardOrder(tuple(requests), how_many)
    except InvalidBatch as error:
        raise FormError({"": str(error)}) from None


def with_count(request: BoardRequest, count: int) -> BoardRequest:
    """The request with this quantity; an order of several boards shows one fill for each preference."""
    return replace(request, count=count, fills=1)
