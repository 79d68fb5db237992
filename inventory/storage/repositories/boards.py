"""Boards, the offcuts that they take and the leftovers that they return."""

from __future__ import annotations

from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import datetime
from typing import Any

from sqlalchemy import Connection, Row, Select, func, insert, select, update

from inventory.core.errors import Conflict
from inventory.fill.plan import Fill
from inventory.fill.request import BoardRequest
from inventory.layout.strip_order import StripOrder
from inventory.storage.board_documents import (
    order_document,
    read_order_document,
    read_requests_document,
    read_stored_fill,
    requests_document,
    stored_fill_document,
)
from inventory.storage.records import BoardRecord, BoardState, BoardSummary, OffcutRecord, TakenPiece
from inventory.storage.tables import BOARD_OFFCUTS, BOARDS, LEFTOVERS, OFFCUTS


@dataclass(frozen=True)
class BoardRequestRow:
    """The request of a board, of the first one of boards made together, and when it was made."""

    id: int
    name: str
    created_at: datetime
    request: BoardRequest


def insert_board(
    connection: Connection,
    name: str,
    requests: Sequence[BoardRequest],
    fill: Fill,
    records: Sequence[OffcutRecord],
    taken: Mapping[str, int],
    now: datetime,
) -> int:
    """Inserts a new board, or boards filled together, that are on hold; returns their number.

    `records` are the offcuts of the fill, `taken` the pieces that it takes by their tag.
    """
    rows = {each.code: each.id for each in records}
    written = connection.execute(
        insert(BOARDS).values(
            name=name,
            state=BoardState.ON_HOLD,
            request=requests_document(requests),
            fill=stored_fill_document(fill, rows),
            created_at=now,
            changed_at=now,
            version=1,
        )
    )
    number: int = written.lastrowid
    entries = [
        {"board_id": number, "offcut_id": rows[code], "pieces": pieces, "emptied": False}
        for code, pieces in taken.items()
    ]
    if entries:
        connection.execute(insert(BOARD_OFFCUTS), entries)
    return number


def board_of(connection: Connection, number: int) -> BoardRecord | None:
    """The board with this number, None where there is none."""
    row = connection.execute(select(BOARDS).where(BOARDS.c.id == number)).first()
    if row is None:
        return None
    request, *beside = read_requests_document(row.request)
    taken = taken_by(connection, number)
    codes = {each.offcut_id: each.code for each in taken}
    return BoardRecord(
        id=row.id,
        name=row.name,
        state=row.state,
        request=request,
        fill=read_stored_fill(row.fill, codes, request),
        version=row.version,
        created_at=row.created_at,
        cut_at=row.cut_at,
        finished_at=row.finished_at,
        abandoned_at=row.abandoned_at,
        taken=taken,
        left_over=_leftovers_of(connection, number),
        beside=tuple(beside),
        order=None if row.strip_order is None else read_order_document(row.strip_order, codes),
    )


_SUMMARIES: Select[Any] = select(
    BOARDS.c.id,
    BOARDS.c.name,
    BOARDS.c.state,
    BOARDS.c.request,
    BOARDS.c.created_at,
    BOARDS.c.changed_at,
    select(func.coalesce(func.sum(BOARD_OFFCUTS.c.pieces), 0))
    .where(BOARD_OFFCUTS.c.board_id == BOARDS.c.id)
    .scalar_subquery()
    .label("pieces"),
).order_by(BOARDS.c.changed_at.desc(), BOARDS.c.id.desc())


def board_summaries(connection: Connection, state: BoardState | None = None) -> tuple[BoardSummary, ...]:
    """All boards, or those in one state; latest change first."""
    asked = _SUMMARIES if state is None else _SUMMARIES.where(BOARDS.c.state == state)
    return tuple(_summary(row) for row in connection.execute(asked))


def board_requests(connection: Connection, states: Collection[BoardState]) -> tuple[BoardRequestRow, ...]:
    """The requests of the boards in these states, latest change first; their fills are not read."""
    c = BOARDS.c
    asked = select(c.id, c.name, c.created_at, c.request).where(c.state.in_(states))
    return tuple(
        BoardRequestRow(row.id, row.name, row.created_at, read_requests_document(row.request)[0])
        for row in connection.execute(asked.order_by(c.changed_at.desc(), c.id.desc()))
    )


def boards_using(connection: Connection, offcut: int) -> tuple[BoardSummary, ...]:
    """The boards that take or took the piece in this row, latest change first."""
    took = select(BOARD_OFFCUTS.c.board_id).where(BOARD_OFFCUTS.c.offcut_id == offcut)
    return tuple(_summary(row) for row in connection.execute(_SUMMARIES.where(BOARDS.c.id.in_(took))))


def boards_using_leftovers(connection: Connection, offcut: int) -> tuple[BoardSummary, ...]:
    """The boards that took leftovers of the piece in this row, at any depth; latest change first."""
    left = select(OFFCUTS.c.id).where(OFFCUTS.c.parent_id == offcut).cte("left_of_it", recursive=True)
    left = left.union(select(OFFCUTS.c.id).where(OFFCUTS.c.parent_id == left.c.id))
    took = select(BOARD_OFFCUTS.c.board_id).where(BOARD_OFFCUTS.c.offcut_id.in_(select(left.c.id)))
    return tuple(_summary(row) for row in connection.execute(_SUMMARIES.where(BOARDS.c.id.in_(took))))


def summary_of(connection: Connection, number: int) -> BoardSummary | None:
    """One board as a line in a list, None where there is none."""
    row = connection.execute(_SUMMARIES.where(BOARDS.c.id == number)).first()
    return None if row is None else _summary(row)


def _summary(row: Row[Any]) -> BoardSummary:
    requests = read_requests_document(row.request)
    request = requests[0]
    return BoardSummary(
        id=row.id,
        name=row.name,
        state=row.state,
        length=request.length,
        width=request.width,
        thickness=request.thickness,
        created_at=row.created_at,
        changed_at=row.changed_at,
        pieces=int(row.pieces),
        boards=sum(each.count for each in requests),
        alike=len(requests) == 1,
    )


def update_board(
    connection: Connection, board: BoardRecord, now: datetime, state: BoardState, *, name: str | None = None
) -> None:
    """Saves a step of a board and increases its version. Raises Conflict where it has changed since `board`."""
    changed: dict[str, Any] = {"state": state, "changed_at": now, "version": board.version + 1}
    if name is not None:
        changed["name"] = name
    if state is not board.state:
        changed["abandoned_at"] = now if state is BoardState.ABANDONED else None
        match state:
            case BoardState.CUT if board.state is BoardState.ON_HOLD:
                changed["cut_at"] = now
            case BoardState.CUT:
                changed["finished_at"] = None
            case BoardState.FINISHED:
                changed["finished_at"] = now
            case BoardState.ON_HOLD | BoardState.ABANDONED:
                changed["cut_at"] = None
    _keep(connection, board, changed)


def save_order(connection: Connection, board: BoardRecord, now: datetime, order: StripOrder | None) -> BoardRecord:
    """Saves the order of a board's strips, None for the proposed one. Raises Conflict where it has changed since."""
    rows = {each.code: each.offcut_id for each in board.taken}
    document = None if order is None else order_document(order, rows)
    _keep(connection, board, {"strip_order": document, "changed_at": now, "version": board.version + 1})
    return replace(board, order=order, version=board.version + 1)


def _keep(connection: Connection, board: BoardRecord, changed: Mapping[str, Any]) -> None:
    seen = (BOARDS.c.id == board.id) & (BOARDS.c.version == board.version)
    if connection.execute(update(BOARDS).where(seen).values(changed)).rowcount != 1:
        raise board_conflict(board.name)


def board_conflict(name: str) -> Conflict:
    """The error for a board that somebody else changed since it was shown."""
    return Conflict(
        f'"{name}" was changed by somebody else since this page was shown: what you sent was not saved. '
        "Look at it as it is now, then do it again."
    )


def taken_by(connection: Connection, number: int) -> tuple[TakenPiece, ...]:
    """What the board takes, in the order in which the offcuts were tagged."""
    c = BOARD_OFFCUTS.c
    rows = connection.execute(
        select(c.offcut_id, OFFCUTS.c.code, c.pieces, c.emptied)
        .join(OFFCUTS, OFFCUTS.c.id == c.offcut_id)
        .where(c.board_id == number)
        .order_by(c.offcut_id)
    )
    return tuple(TakenPiece(row.offcut_id, row.code, row.pieces, row.emptied) for row in rows)


def mark_emptied(connection: Connection, number: int, offcuts: Sequence[int]) -> None:
    """Marks the tags of which the cut of a board took the last piece, and no others of that board."""
    c = BOARD_OFFCUTS.c
    connection.execute(update(BOARD_OFFCUTS).where(c.board_id == number).values(emptied=c.offcut_id.in_(offcuts)))


def clear_emptied(connection: Connection, offcut: int) -> None:
    """Unmarks a tag that has pieces again: no cut took its last one any more."""
    connection.execute(update(BOARD_OFFCUTS).where(BOARD_OFFCUTS.c.offcut_id == offcut).values(emptied=False))


def insert_leftover(connection: Connection, number: int, offcut: int, cut: int, leftover: int) -> None:
    """Records that the piece in this row is `leftover` of `cut` of the board's fill."""
    connection.execute(
        insert(LEFTOVERS).values(offcut_id=offcut, board_id=number, cut=cut, leftover=leftover, undone=False)
    )


def _leftovers_of(connection: Connection, number: int) -> tuple[str, ...]:
    """The tags that the cut of a board returned, in the order of the cuts; none of a cut that was undone."""
    c = LEFTOVERS.c
    return tuple(
        connection.scalars(
            select(OFFCUTS.c.code)
            .join(LEFTOVERS, OFFCUTS.c.id == c.offcut_id)
            .where(c.board_id == number, c.undone.is_(False))
            .order_by(c.cut, c.leftover)
        )
    )


def mark_undone(connection: Connection, number: int) -> None:
    """Marks the leftovers of a board's cut as undone with it."""
    connection.execute(update(LEFTOVERS).where(LEFTOVERS.c.board_id == number).values(undone=True))
