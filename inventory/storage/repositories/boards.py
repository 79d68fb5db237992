"""Boards and what they take and leave, as rows and as records.

What a step of a board does is the services'.
"""

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
    fill_text,
    order_text,
    read_fill_text,
    read_order_text,
    read_requests_text,
    requests_text,
)
from inventory.storage.records import BoardRecord, BoardState, BoardSummary, TakenPiece
from inventory.storage.tables import BOARDS, LEFT_OVER, OFFCUTS, TAKEN


@dataclass(frozen=True)
class TakenRow:
    """What a board takes, by row: `pieces` of the offcut `code`; `emptied` where its cut took the last."""

    offcut: int
    code: str
    pieces: int
    emptied: bool


@dataclass(frozen=True)
class LeftoverRow:
    """A piece that came back: leftover `remainder` of cut `cut` of the fill."""

    offcut: int
    code: str
    cut: int
    remainder: int


@dataclass(frozen=True)
class BoardRequestRow:
    """What was asked for with a board, the first of boards that are made together, and when."""

    id: int
    name: str
    created_at: datetime
    request: BoardRequest


def insert_board(
    connection: Connection,
    name: str,
    requests: Sequence[BoardRequest],
    fill: Fill,
    taken: Mapping[int, int],
    now: datetime,
) -> int:
    """Keeps a new board, or boards filled together, that are set aside; answers their number.

    `taken` are pieces by the row of their offcut.
    """
    written = connection.execute(
        insert(BOARDS).values(
            name=name,
            state=BoardState.ON_HOLD.value,
            request=requests_text(requests),
            fill=fill_text(fill),
            created_at=now.isoformat(),
            changed_at=now.isoformat(),
            version=1,
        )
    )
    number = written.lastrowid
    for offcut, pieces in taken.items():
        connection.execute(insert(TAKEN).values(board_id=number, offcut_id=offcut, pieces=pieces, emptied=0))
    return number


def board_of(connection: Connection, number: int) -> BoardRecord | None:
    """The board with this number, None where there is none."""
    row = connection.execute(select(BOARDS).where(BOARDS.c.id == number)).first()
    if row is None:
        return None
    request, *beside = read_requests_text(row.request)
    return BoardRecord(
        id=row.id,
        name=row.name,
        state=BoardState(row.state),
        request=request,
        fill=read_fill_text(row.fill, request),
        version=row.version,
        created_at=datetime.fromisoformat(row.created_at),
        cut_at=_moment(row.cut_at),
        finished_at=_moment(row.finished_at),
        abandoned_at=_moment(row.abandoned_at),
        taken=tuple(TakenPiece(each.code, each.pieces) for each in taken_by(connection, number)),
        left_over=tuple(each.code for each in leftover_rows(connection, number)),
        beside=tuple(beside),
        order=None if row.strip_order is None else read_order_text(row.strip_order),
    )


def _moment(text: str | None) -> datetime | None:
    return None if text is None else datetime.fromisoformat(text)


_SUMMARIES: Select[Any] = select(
    BOARDS.c.id,
    BOARDS.c.name,
    BOARDS.c.state,
    BOARDS.c.request,
    BOARDS.c.created_at,
    BOARDS.c.changed_at,
    select(func.coalesce(func.sum(TAKEN.c.pieces), 0))
    .where(TAKEN.c.board_id == BOARDS.c.id)
    .scalar_subquery()
    .label("pieces"),
    # julianday, not the text: in autumn the clock's offset changes, and a later text may be an earlier moment.
).order_by(func.julianday(BOARDS.c.changed_at).desc(), BOARDS.c.id.desc())


def board_summaries(connection: Connection, state: BoardState | None = None) -> tuple[BoardSummary, ...]:
    """All boards, or those in one state; latest change first."""
    asked = _SUMMARIES if state is None else _SUMMARIES.where(BOARDS.c.state == state.value)
    return tuple(_summary(row) for row in connection.execute(asked))


def board_requests(connection: Connection, states: Collection[BoardState]) -> tuple[BoardRequestRow, ...]:
    """What was asked for with the boards in these states, latest change first; their fills are not read."""
    c = BOARDS.c
    asked = select(c.id, c.name, c.created_at, c.request).where(c.state.in_([state.value for state in states]))
    return tuple(
        BoardRequestRow(row.id, row.name, datetime.fromisoformat(row.created_at), read_requests_text(row.request)[0])
        for row in connection.execute(asked.order_by(c.changed_at.desc(), c.id.desc()))
    )


def boards_using(connection: Connection, offcut: int) -> tuple[BoardSummary, ...]:
    """The boards that take or took the piece in this row, latest change first."""
    took = select(TAKEN.c.board_id).where(TAKEN.c.offcut_id == offcut)
    return tuple(_summary(row) for row in connection.execute(_SUMMARIES.where(BOARDS.c.id.in_(took))))


def boards_using_leftovers(connection: Connection, offcut: int) -> tuple[BoardSummary, ...]:
    """The boards that took what was left of the piece in this row, or of its leftovers; latest change first."""
    left = select(OFFCUTS.c.id).where(OFFCUTS.c.parent_id == offcut).cte("left_of_it", recursive=True)
    left = left.union(select(OFFCUTS.c.id).where(OFFCUTS.c.parent_id == left.c.id))
    took = select(TAKEN.c.board_id).where(TAKEN.c.offcut_id.in_(select(left.c.id)))
    return tuple(_summary(row) for row in connection.execute(_SUMMARIES.where(BOARDS.c.id.in_(took))))


def summary_of(connection: Connection, number: int) -> BoardSummary | None:
    """One board as a line in a list, None where there is none."""
    row = connection.execute(_SUMMARIES.where(BOARDS.c.id == number)).first()
    return None if row is None else _summary(row)


def _summary(row: Row[Any]) -> BoardSummary:
    requests = read_requests_text(row.request)
    request = requests[0]
    return BoardSummary(
        id=row.id,
        name=row.name,
        state=BoardState(row.state),
        length=request.length,
        width=request.width,
        thickness=request.thickness,
        created_at=datetime.fromisoformat(row.created_at),
        changed_at=datetime.fromisoformat(row.changed_at),
        pieces=int(row.pieces),
        boards=sum(each.count for each in requests),
        alike=len(requests) == 1,
    )


def update_board(
    connection: Connection, board: BoardRecord, now: datetime, state: BoardState, *, name: str | None = None
) -> None:
    """Keeps the step a board took and counts its version on; Conflict where it has moved on since `board`."""
    stamp = now.isoformat()
    changed: dict[str, Any] = {"state": state.value, "changed_at": stamp, "version": board.version + 1}
    if name is not None:
        changed["name"] = name
    if state is not board.state:
        changed["abandoned_at"] = stamp if state is BoardState.ABANDONED else None
        match state:
            case BoardState.CUT if board.state is BoardState.ON_HOLD:
                changed["cut_at"] = stamp
            case BoardState.CUT:
                changed["finished_at"] = None
            case BoardState.FINISHED:
                changed["finished_at"] = stamp
            case BoardState.ON_HOLD | BoardState.ABANDONED:
                changed["cut_at"] = None
    _keep(connection, board, changed)


def save_order(connection: Connection, board: BoardRecord, now: datetime, order: StripOrder | None) -> BoardRecord:
    """Keeps the order of a board's strips, None for the proposed one; Conflict where it has moved on since `board`."""
    text = None if order is None else order_text(order)
    _keep(connection, board, {"strip_order": text, "changed_at": now.isoformat(), "version": board.version + 1})
    return replace(board, order=order, version=board.version + 1)


def _keep(connection: Connection, board: BoardRecord, changed: Mapping[str, Any]) -> None:
    seen = (BOARDS.c.id == board.id) & (BOARDS.c.version == board.version)
    if connection.execute(update(BOARDS).where(seen).values(changed)).rowcount != 1:
        raise board_conflict(board.name)


def board_conflict(name: str) -> Conflict:
    """The sentence for a board that somebody else took a step with since it was shown."""
    return Conflict(
        f'"{name}" was changed by somebody else since this page was shown: what you sent was not saved. '
        "Look at it as it is now, then do it again."
    )


def taken_by(connection: Connection, number: int) -> tuple[TakenRow, ...]:
    """What the board takes, in the order in which it was tagged."""
    rows = connection.execute(
        select(TAKEN.c.offcut_id, OFFCUTS.c.code, TAKEN.c.pieces, TAKEN.c.emptied)
        .join(OFFCUTS, OFFCUTS.c.id == TAKEN.c.offcut_id)
        .where(TAKEN.c.board_id == number)
        .order_by(TAKEN.c.offcut_id)
    )
    return tuple(TakenRow(row.offcut_id, row.code, row.pieces, bool(row.emptied)) for row in rows)


def mark_emptied(connection: Connection, number: int, offcuts: Sequence[int]) -> None:
    """Notes which tags the cut of a board took the last piece of; the others not."""
    for each in taken_by(connection, number):
        here = (TAKEN.c.board_id == number) & (TAKEN.c.offcut_id == each.offcut)
        connection.execute(update(TAKEN).where(here).values(emptied=int(each.offcut in offcuts)))


def clear_emptied(connection: Connection, offcut: int) -> None:
    """Notes that there are pieces of a tag again: no cut took its last one any more."""
    connection.execute(update(TAKEN).where(TAKEN.c.offcut_id == offcut).values(emptied=0))


def insert_leftover(connection: Connection, number: int, offcut: int, cut: int, remainder: int) -> None:
    """Notes that the piece in this row came back from the cut of a board."""
    connection.execute(
        insert(LEFT_OVER).values(offcut_id=offcut, board_id=number, cut=cut, remainder=remainder, undone=0)
    )


def leftover_rows(connection: Connection, number: int) -> tuple[LeftoverRow, ...]:
    """What came back from the cut of a board as it stands, in the order of the cuts."""
    rows = connection.execute(
        select(LEFT_OVER.c.offcut_id, OFFCUTS.c.code, LEFT_OVER.c.cut, LEFT_OVER.c.remainder)
        .join(OFFCUTS, OFFCUTS.c.id == LEFT_OVER.c.offcut_id)
        .where((LEFT_OVER.c.board_id == number) & (LEFT_OVER.c.undone == 0))
        .order_by(LEFT_OVER.c.cut, LEFT_OVER.c.remainder)
    )
    return tuple(LeftoverRow(row.offcut_id, row.code, row.cut, row.remainder) for row in rows)


def mark_undone(connection: Connection, number: int) -> None:
    """Notes that the cut of a board was undone: what came back from it no longer counts."""
    connection.execute(update(LEFT_OVER).where(LEFT_OVER.c.board_id == number).values(undone=1))
