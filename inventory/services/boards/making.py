"""Making a board: its offcuts are on hold, cut, the board finished or abandoned; each step can be undone.

Each call carries the version that the page showed and raises Conflict where the board has changed since.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Mapping, Sequence
from dataclasses import replace
from datetime import datetime
from functools import cache, partial

from sqlalchemy import Connection

from inventory.core.codes import format_code
from inventory.core.errors import Conflict, UserError
from inventory.core.lengths import Display, format_length
from inventory.core.offcuts import MAX_BUNDLE_COUNT, MAX_NAME_LENGTH, Mark, Offcut, State, species_key
from inventory.fill.plan import Fill
from inventory.fill.request import BoardRequest
from inventory.services.boards.leftovers import (
    ConfirmedLeftover,
    InvalidLeftover,
    ProposedLeftover,
    kept_offcuts,
    proposed,
)
from inventory.services.rack.queries import get_piece
from inventory.services.rack.tagging import normalize_offcut
from inventory.shop import Shop
from inventory.storage.records import BoardRecord, BoardState, BoardSummary, EventKind, OffcutRecord, TakenPiece
from inventory.storage.repositories import boards as kept
from inventory.storage.repositories.codes import issue_code
from inventory.storage.repositories.idempotency_keys import store_answer, stored_answer
from inventory.storage.repositories.offcuts import (
    Origin,
    add_event,
    insert_offcut,
    next_label_place,
    record_of,
    update_offcut,
)
from inventory.storage.repositories.settings_rows import read_settings

__all__ = [
    "ConfirmedLeftover",
    "InvalidBoardName",
    "InvalidLeftover",
    "InvalidTransition",
    "NoSuchBoard",
    "ProposedLeftover",
    "abandon",
    "board",
    "board_at_version",
    "boards",
    "cut",
    "finish",
    "leftovers_of",
    "proposed_leftovers",
    "rename",
    "set_aside",
    "undo",
]  # fmt: skip


class NoSuchBoard(UserError):
    """No board has this number."""


class InvalidTransition(UserError):
    """A step that the board's state does not allow."""


class InvalidBoardName(UserError):
    """A name that no board can have."""


def set_aside(
    shop: Shop,
    request: BoardRequest,
    fill: Fill,
    name: str = "",
    *,
    beside: Sequence[BoardRequest] = (),
    form: str = "",
) -> BoardRecord:
    """Puts the offcuts of a fill on hold for a board; an empty name becomes its finished sizes.

    `beside` are boards of other sizes that the same fill makes. Raises
    InvalidBoardName, and Conflict where an offcut is gone, changed, or not free in
    the number that the fill takes; then nothing is put on hold. A form sent twice,
    with the same idempotency key `form`, returns the board of the first.
    """
    now = shop.now()
    with shop.writing() as connection:
        answered = stored_answer(connection, form)
        if answered is not None:
            return _the_board(connection, int(answered))
        named = _name(name) or _sizes((request, *beside), read_settings(connection).display)
        taken = {code: len(pieces) for code, pieces in _pieces_of(fill).items()}
        records = _free_records(connection, fill, taken)
        number = kept.insert_board(connection, named, (request, *beside), fill, records, taken, now)
        for record in records:
            _hold_piece(connection, record, taken[record.code], number, now)
        store_answer(connection, form, str(number), now)
        return _the_board(connection, number)


def _name(text: str) -> str:
    name = " ".join(text.split())
    if len(name) > MAX_NAME_LENGTH:
        raise InvalidBoardName(f"The board's name is longer than {MAX_NAME_LENGTH} letters. Shorten it.")
    return name


def _sizes(requests: Sequence[BoardRequest], display: Display) -> str:
    if len(requests) > 1:
        return f"{sum(each.count for each in requests)} boards of {len(requests)} kinds"
    [request] = requests
    sizes = (
        format_length(size, display, with_unit=False) for size in (request.length, request.width, request.thickness)
    )
    boards = f"{request.count} boards " if request.count > 1 else ""
    return f"{boards}{' × '.join(sizes)} {display.unit.value}, {request.grain.value} grain"


def _pieces_of(fill: Fill) -> dict[str, set[int]]:
    """Which like pieces of which tag a fill takes."""
    pieces: dict[str, set[int]] = {}
    for each in fill.cuts:
        pieces.setdefault(each.offcut.tag, set()).add(each.piece)
    return pieces


def _free_records(connection: Connection, fill: Fill, taken: Mapping[str, int]) -> list[OffcutRecord]:
    """The pieces that the fill takes, as they are now. Raises Conflict where one has changed since the search."""
    found = []
    for code, offcut in {each.offcut.tag: each.offcut for each in fill.cuts}.items():
        record = record_of(connection, code)
        if record is None or not record.here:
            raise _not_free(code, "is no longer on the rack")
        if not _same_to_blade(record.offcut, offcut):
            raise _not_free(code, "was changed since this answer was found")
        if record.free < taken[code]:
            raise _not_free(code, "is no longer free" if taken[code] == 1 else "has too few free pieces")
        found.append(record)
    return found


def _not_free(code: str, why: str) -> Conflict:
    return Conflict(f"{format_code(code)} {why}: nothing was set aside. Ask for the board again.")


def _same_to_blade(one: Offcut, other: Offcut) -> bool:
    """Whether two offcuts have the same sizes, faces and species."""
    return (one.length, one.width, one.thickness, one.faces, species_key(one.species)) == (
        other.length,
        other.width,
        other.thickness,
        other.faces,
        species_key(other.species),
    )


def _hold_piece(connection: Connection, record: OffcutRecord, pieces: int, board: int, now: datetime) -> None:
    waiting = record.set_aside + pieces
    state = State.ON_HOLD if waiting == record.offcut.count else State.ON_RACK
    update_offcut(connection, record, state=state, set_aside=waiting)
    bundle = record.offcut.count
    add_event(connection, record.id, now, EventKind.ON_HOLD, pieces=pieces, bundle=bundle, board=board)


def board(shop: Shop, number: int) -> BoardRecord:
    """One board. Raises NoSuchBoard."""
    with shop.reading() as connection:
        return _the_board(connection, number)


def _the_board(connection: Connection, number: int) -> BoardRecord:
    found = kept.board_of(connection, number) if 0 < number < 2**63 else None
    if found is None:
        raise NoSuchBoard(f"There is no board {number}. Look for it in the list of boards.")
    return found


def boards(shop: Shop, state: BoardState | None = None) -> tuple[BoardSummary, ...]:
    """All boards, or those in one state; latest change first."""
    with shop.reading() as connection:
        return kept.board_summaries(connection, state)


def proposed_leftovers(shop: Shop, number: int) -> tuple[ProposedLeftover, ...]:
    """What the plan leaves of each offcut, in the order of the cuts, to be confirmed. Raises NoSuchBoard."""
    return leftovers_of(shop, board(shop, number))


def leftovers_of(shop: Shop, found: BoardRecord) -> tuple[ProposedLeftover, ...]:
    """As `proposed_leftovers`, for a board that was read already."""
    with shop.reading() as connection:
        location = cache(partial(_location_of, connection))
        return tuple(proposed(found.fill, found.request.allowances, location))


def _location_of(connection: Connection, code: str) -> str:
    return get_piece(connection, code).offcut.location


def board_at_version(connection: Connection, number: int, version: int) -> BoardRecord:
    """The board, at the version that the page showed. Raises NoSuchBoard, Conflict."""
    found = _the_board(connection, number)
    if found.version != version:
        raise kept.board_conflict(found.name)
    return found


def _must_be(board: BoardRecord, state: BoardState, step: str) -> None:
    if board.state is not state:
        raise InvalidTransition(
            f'"{board.name}" is {board.state.value} and can\'t be {step}: only a board that is {state.value} can. '
            "Look at it as it is now."
        )


def cut(shop: Shop, number: int, version: int, confirmed: Sequence[ConfirmedLeftover]) -> BoardRecord:
    """Records that the board's offcuts are cut; kept leftovers return to the rack with new tags and queued labels.

    A leftover of the plan that is not in `confirmed` is not kept. Raises
    NoSuchBoard, Conflict, InvalidTransition, InvalidLeftover.
    """
    now = shop.now()
    with shop.writing() as connection:
        asked = board_at_version(connection, number, version)
        _must_be(asked, BoardState.ON_HOLD, "cut")
        left_over = kept_offcuts(asked.fill, confirmed)
        emptied = []
        for taken in kept.taken_by(connection, number):
            record = get_piece(connection, taken.code)
            if record.offcut.count == taken.pieces:
                emptied.append(taken.offcut_id)
            _remove_pieces(connection, record, taken.pieces)
            bundle = record.offcut.count
            add_event(connection, record.id, now, EventKind.CUT, pieces=taken.pieces, bundle=bundle, board=number)
        kept.mark_emptied(connection, number, emptied)
        for confirmation, offcut in left_over:
            _add_leftover(shop, connection, asked, confirmation, offcut, now)
        kept.update_board(connection, asked, now, BoardState.CUT)
        return _the_board(connection, number)


def _remove_pieces(connection: Connection, record: OffcutRecord, pieces: int) -> None:
    left, waiting = record.offcut.count - pieces, record.set_aside - pieces
    if left == 0:
        update_offcut(connection, record, state=State.USED_UP, set_aside=0)
        return
    state = State.ON_HOLD if waiting == left else State.ON_RACK
    update_offcut(connection, record, offcut=replace(record.offcut, count=left), state=state, set_aside=waiting)


def _add_leftover(
    shop: Shop,
    connection: Connection,
    board: BoardRecord,
    confirmed: ConfirmedLeftover,
    offcut: Offcut,
    now: datetime,
) -> None:
    parent = get_piece(connection, board.fill.cuts[confirmed.cut].offcut.tag)
    carries = parent.offcut
    tagged = replace(
        normalize_offcut(offcut, now.date()),
        tag=issue_code(connection, shop.randbelow, now),
        tagged_on=now.date(),
        # As the parent is marked now, which may have changed since the plan was made. Whoever cut a piece with the
        # mark `keep` asked for it; what is left of it is like any other wood.
        marks=tuple(mark for mark in carries.marks if mark is not Mark.KEEP),
        moisture=carries.moisture,
        moisture_on=carries.moisture_on,
        batch=carries.batch,
    )
    row = insert_offcut(
        connection, tagged, now, label_place=next_label_place(connection), origin=Origin(parent.id, board.id)
    )
    kept.insert_leftover(connection, board.id, row, confirmed.cut, confirmed.remainder)
    add_event(connection, row, now, EventKind.LEFTOVER, board=board.id, after=vars(tagged))


def finish(shop: Shop, number: int, version: int) -> BoardRecord:
    """Records that the board is finished. Raises NoSuchBoard, Conflict, InvalidTransition."""
    with shop.writing() as connection:
        asked = board_at_version(connection, number, version)
        _must_be(asked, BoardState.CUT, "finished")
        kept.update_board(connection, asked, shop.now(), BoardState.FINISHED)
        return _the_board(connection, number)


def abandon(shop: Shop, number: int, version: int) -> BoardRecord:
    """Releases all offcuts of a board that is not cut yet. Raises as `finish`."""
    with shop.writing() as connection:
        asked = board_at_version(connection, number, version)
        _must_be(asked, BoardState.ON_HOLD, "abandoned")
        _release_all(connection, asked, shop.now())
        return _the_board(connection, number)


def _release_all(connection: Connection, board: BoardRecord, now: datetime) -> None:
    for taken in board.taken:
        record = get_piece(connection, taken.code)
        update_offcut(connection, record, state=State.ON_RACK, set_aside=record.set_aside - taken.pieces)
        bundle = record.offcut.count
        add_event(connection, record.id, now, EventKind.RELEASED, pieces=taken.pieces, bundle=bundle, board=board.id)
    kept.update_board(connection, board, now, BoardState.ABANDONED)


def undo(shop: Shop, number: int, version: int) -> BoardRecord:
    """Undoes the last step: finished → cut → on hold → abandoned, and abandoned → on hold again.

    A cut can be undone while none of its leftovers was changed or used; they leave
    the rack. Raises Conflict, which names the piece that prevents it.
    """
    now = shop.now()
    with shop.writing() as connection:
        asked = board_at_version(connection, number, version)
        match asked.state:
            case BoardState.FINISHED:
                kept.update_board(connection, asked, now, BoardState.CUT)
            case BoardState.CUT:
                _undo_cut(connection, asked, now)
            case BoardState.ON_HOLD:
                _release_all(connection, asked, now)
            case BoardState.ABANDONED:
                taken = Counter({each.code: each.pieces for each in asked.taken})
                for record in _free_records(connection, asked.fill, taken):
                    _hold_piece(connection, record, taken[record.code], number, now)
                kept.update_board(connection, asked, now, BoardState.ON_HOLD)
        return _the_board(connection, number)


def _undo_cut(connection: Connection, board: BoardRecord, now: datetime) -> None:
    for code in board.left_over:
        record = get_piece(connection, code)
        if record.version != 1:
            raise _undo_conflict(code, "came back from this cut and was changed or used since")
        update_offcut(connection, record, state=State.GONE)
        add_event(connection, record.id, now, EventKind.CUT_UNDONE, board=board.id)
    as_cut = {each.offcut.tag: each.offcut for each in board.fill.cuts}
    for taken in kept.taken_by(connection, board.id):
        record = get_piece(connection, taken.code)
        _restore_pieces(connection, record, taken, as_cut[taken.code])
        add_event(connection, record.id, now, EventKind.CUT_UNDONE, pieces=taken.pieces, board=board.id)
    kept.mark_emptied(connection, board.id, [])
    kept.mark_undone(connection, board.id)
    kept.update_board(connection, board, now, BoardState.ON_HOLD)


def _restore_pieces(connection: Connection, record: OffcutRecord, taken: TakenPiece, as_cut: Offcut) -> None:
    """Restores the pieces that were cut, on hold under their tag."""
    if not _same_to_blade(record.offcut, as_cut) or (taken.emptied and record.state is not State.USED_UP):
        raise _undo_conflict(record.code, "was changed since the cut")
    # Like pieces that left in another way since the cut stay gone.
    beside = record.offcut.count if record.here else 0
    count, waiting = beside + taken.pieces, record.set_aside + taken.pieces
    if count > MAX_BUNDLE_COUNT:
        raise _undo_conflict(record.code, f"would stand for more than {MAX_BUNDLE_COUNT} pieces")
    state = State.ON_HOLD if waiting == count else State.ON_RACK
    update_offcut(connection, record, offcut=replace(record.offcut, count=count), state=state, set_aside=waiting)
    if record.state is State.USED_UP:
        kept.clear_emptied(connection, record.id)


def _undo_conflict(code: str, why: str) -> Conflict:
    return Conflict(f"{format_code(code)} {why}, so the cut can't be undone. Correct the pieces one by one instead.")


def rename(shop: Shop, number: int, version: int, name: str) -> BoardRecord:
    """Renames the board; an empty name becomes its finished sizes.

    Raises NoSuchBoard, Conflict, InvalidBoardName.
    """
    with shop.writing() as connection:
        asked = board_at_version(connection, number, version)
        named = _name(name) or _sizes(asked.requests, read_settings(connection).display)
        kept.update_board(connection, asked, shop.now(), asked.state, name=named)
        return _the_board(connection, number)
