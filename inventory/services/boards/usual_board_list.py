"""The list of usual boards: add, change, remove, import and export."""

from __future__ import annotations

import json
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from datetime import date
from fractions import Fraction
from typing import Any

from sqlalchemy import Connection

from inventory.core.allowances import ALLOWANCE_NAMES
from inventory.core.errors import UserError
from inventory.fill.request import BoardRequest, read_request, request_document
from inventory.pruning.usual_boards import InvalidUsualBoard, UsualBoard, normalize_months, rate_text, read_rate
from inventory.services.rack.tagging import normalize_name
from inventory.settings import Settings
from inventory.shop import Shop
from inventory.storage.records import BoardState
from inventory.storage.repositories import boards as kept_boards
from inventory.storage.repositories import usual_boards as kept
from inventory.storage.repositories.boards import BoardRequestRow
from inventory.storage.repositories.settings_rows import read_settings
from inventory.storage.repositories.usual_boards import UsualBoardRecord

__all__ = [
    "BoardProposal",
    "InvalidUsualBoard",
    "InvalidUsualBoardList",
    "ListedBoard",
    "NoSuchUsualBoard",
    "change",
    "export_file",
    "import_file",
    "keep",
    "listed",
    "one",
    "proposals",
    "take_off",
    "usual_board",
]  # fmt: skip

MAX_USUAL_BOARDS = 60
LIST_VERSION = 1
_OF_A_YEAR = 365.25


class NoSuchUsualBoard(UserError):
    """No usual board on the list has this number."""


class InvalidUsualBoardList(UserError):
    """A file that is not a list of usual boards."""


@dataclass(frozen=True)
class ListedBoard:
    """A usual board with its number and version; what its request leaves out is taken from the shop's settings."""

    id: int
    board: UsualBoard
    version: int


@dataclass(frozen=True)
class BoardProposal:
    """Identical boards of the past: `times` of them in `years`; `board` is the number of the latest."""

    board: int
    name: str
    request: BoardRequest
    times: int
    a_year: Fraction


def listed(shop: Shop) -> tuple[ListedBoard, ...]:
    """All usual boards, in the order in which they were added."""
    with shop.reading() as connection:
        settings = read_settings(connection)
        return tuple(_listed(record, settings, shop) for record in kept.usual_boards(connection))


def one(shop: Shop, number: int) -> ListedBoard:
    """One of the list. Raises NoSuchUsualBoard."""
    with shop.reading() as connection:
        return _listed(_the_record(connection, number), read_settings(connection), shop)


def _the_record(connection: Connection, number: int) -> UsualBoardRecord:
    found = kept.usual_board_of(connection, number) if 0 < number < 2**63 else None
    if found is None:
        raise NoSuchUsualBoard(f"There is no usual board {number} on the list. Look at the list as it is now.")
    return found


def _listed(record: UsualBoardRecord, settings: Settings, shop: Shop) -> ListedBoard:
    request = _request(record.document, settings, shop)
    return ListedBoard(record.id, UsualBoard(record.name, request, record.a_year, record.months), record.version)


def _request(document: Mapping[str, Any], settings: Settings, shop: Shop) -> BoardRequest:
    given = {"prefer": [settings.prefer.value], "fills": 1} | dict(document)
    return read_request(given, settings.allowances, settings.unit, shop.today())


def request_overrides(request: BoardRequest, settings: Settings) -> dict[str, Any]:
    """What a request overrides: allowances other than the shop's, and the preference where it names just one."""
    document = request_document(request)
    document.pop("on")
    document.pop("fills")
    if len(request.prefer) > 1:
        document.pop("prefer")
    own = [name for name in ALLOWANCE_NAMES if getattr(request.allowances, name) != getattr(settings.allowances, name)]
    document["allowances"] = {name: document["allowances"][name] for name in own}
    if not own:
        document.pop("allowances")
    return document


def usual_board(name: str, request: BoardRequest, a_year: str, months: Iterable[int]) -> UsualBoard:
    """A usual board as typed. Raises InvalidUsualBoard."""
    return UsualBoard(normalize_name(name), request, read_rate(a_year), normalize_months(months))


def keep(shop: Shop, board: UsualBoard) -> ListedBoard:
    """Adds a board to the list. Raises InvalidUsualBoard where the list is full or has the name."""
    with shop.writing() as connection:
        return _keep(shop, connection, board)


def _keep(shop: Shop, connection: Connection, board: UsualBoard) -> ListedBoard:
    settings = read_settings(connection)
    on_list = kept.usual_boards(connection)
    if len(on_list) >= MAX_USUAL_BOARDS:
        raise InvalidUsualBoard(
            f"The list has {MAX_USUAL_BOARDS} usual boards, which is all it takes. Take one off it."
        )
    _must_be_new(board.name, on_list)
    document = request_overrides(board.request, settings)
    number = kept.insert_usual_board(connection, board.name, document, board.a_year, board.months, shop.now())
    return _listed(_the_record(connection, number), settings, shop)


def _must_be_new(name: str, on_list: Iterable[UsualBoardRecord]) -> None:
    if name.casefold() in {each.name.casefold() for each in on_list}:
        raise InvalidUsualBoard(f'There is a usual board "{name}" already. Type another name.', "name")


def change(shop: Shop, number: int, version: int, name: str, a_year: str, months: Iterable[int]) -> ListedBoard:
    """Changes name, rate and months. Raises NoSuchUsualBoard, InvalidUsualBoard, Conflict."""
    with shop.writing() as connection:
        record = _the_record(connection, number)
        if record.version != version:
            raise kept.usual_board_conflict(record.name)
        settings = read_settings(connection)
        board = usual_board(name, _request(record.document, settings, shop), a_year, months)
        _must_be_new(board.name, [each for each in kept.usual_boards(connection) if each.id != number])
        kept.update_usual_board(connection, record, board.name, board.a_year, board.months)
        return _listed(_the_record(connection, number), settings, shop)


def take_off(shop: Shop, number: int, version: int) -> str:
    """Removes a board from the list; returns its name. Raises NoSuchUsualBoard, Conflict."""
    with shop.writing() as connection:
        record = _the_record(connection, number)
        if record.version != version:
            raise kept.usual_board_conflict(record.name)
        kept.take_off(connection, record, shop.now())
        return record.name


def proposals(shop: Shop) -> tuple[BoardProposal, ...]:
    """Boards that were cut and are not on the list, identical ones together, the most often made first.

    The rate is calculated from the first board of the shop on, over at least one year.
    """
    with shop.reading() as connection:
        settings = read_settings(connection)
        on_list = {_sizes_key(_request(each.document, settings, shop)) for each in kept.usual_boards(connection)}
        made = kept_boards.board_requests(connection, (BoardState.CUT, BoardState.FINISHED))
    years = _years_of(made, shop)
    alike: dict[tuple[object, ...], list[BoardRequestRow]] = {}
    for board in made:
        if _sizes_key(board.request) not in on_list:
            alike.setdefault(_sizes_key(board.request), []).append(board)
    found = []
    for boards in alike.values():
        latest = max(boards, key=lambda each: each.id)
        rate = max(Fraction(round(len(boards) / years * 100), 100), Fraction(1, 100))
        found.append(BoardProposal(latest.id, latest.name, latest.request, len(boards), rate))
    return tuple(sorted(found, key=lambda each: (-each.times, each.name)))


def _sizes_key(request: BoardRequest) -> tuple[object, ...]:
    return (request.length, request.width, request.thickness, request.grain, request.bands, request.count)


def _years_of(made: Iterable[BoardRequestRow], shop: Shop) -> float:
    first = min((each.created_at for each in made), default=shop.now())
    return max((shop.now() - first).days / _OF_A_YEAR, 1.0)


def export_file(shop: Shop) -> tuple[bytes, int]:
    """The list as JSON that `import_file` and `rackful prune --boards` read, and how many boards are on it."""
    with shop.reading() as connection:
        boards = [
            {
                "name": each.name,
                "a_year": rate_text(each.a_year),
                "months": list(each.months),
                "request": each.document,
            }
            for each in kept.usual_boards(connection)
        ]
    document = {"usual_boards": LIST_VERSION, "boards": boards}
    return (json.dumps(document, indent=2, ensure_ascii=False) + "\n").encode(), len(boards)


def read_list(content: bytes, settings: Settings, today: date) -> tuple[UsualBoard, ...]:
    """The usual boards in a file. Raises InvalidUsualBoardList, which names the board that is wrong."""
    document = _json(content, 'The list of usual boards is not JSON. Name a file such as "rackful export" writes.')
    boards = document.get("boards") if isinstance(document, dict) else document
    if not isinstance(boards, list) or not all(isinstance(each, dict) for each in boards):
        raise InvalidUsualBoardList(
            'The list of usual boards must be {"boards": [{"name": …, "a_year": …, "request": {…}}, …]}. Mend it there.'
        )
    if len(boards) > MAX_USUAL_BOARDS:
        raise InvalidUsualBoardList(f"The list has more than {MAX_USUAL_BOARDS} usual boards. Leave some out.")
    found = []
    for number, each in enumerate(boards, 1):
        try:
            found.append(_read_board(each, settings, today))
        except UserError as error:
            raise InvalidUsualBoardList(f"Usual board {number}: {error}") from None
    return tuple(found)


def read_one(content: bytes, name: str, a_year: str, settings: Settings, today: date) -> UsualBoard:
    """The usual board of a request file. Raises InvalidUsualBoardList, InvalidUsualBoard, InvalidRequest."""
    request = _json(content, f'The request "{name}" is not JSON. Mend it there.')
    return _read_board({"name": name, "a_year": a_year, "request": request}, settings, today)


def _json(content: bytes, sentence: str) -> Any:
    try:
        document = json.loads(content)
    except (ValueError, RecursionError):
        raise InvalidUsualBoardList(sentence) from None
    try:
        json.dumps(document, ensure_ascii=False).encode()
    except UnicodeEncodeError as error:
        half = f"\\u{ord(error.object[error.start]):04x}"
        raise InvalidUsualBoardList(
            f"The file has half a character in it, {half} without its other half. Mend it there."
        ) from None
    return document


def _read_board(entry: Mapping[str, Any], settings: Settings, today: date) -> UsualBoard:
    months, request = entry.get("months", []), entry.get("request")
    if not isinstance(request, dict):
        raise InvalidUsualBoardList('it has no request. Add "request", an object such as {"length": "18 in", …}.')
    if not isinstance(months, list) or not all(type(month) is int for month in months):
        raise InvalidUsualBoard("months must be a list of numbers from 1 to 12.", "months")
    given = {"prefer": [settings.prefer.value], "fills": 1} | request
    read = read_request(given, settings.allowances, settings.unit, today)
    return usual_board(str(entry.get("name", "")), read, str(entry.get("a_year", "")), months)


def import_file(shop: Shop, content: bytes) -> tuple[ListedBoard, ...]:
    """Adds all boards of a file to the list, or none. Raises InvalidUsualBoardList, InvalidUsualBoard."""
    boards = read_list(content, shop.settings(), shop.today())
    with shop.writing() as connection:
        return tuple(_keep(shop, connection, board) for board in boards)
