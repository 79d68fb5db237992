"""Codes of tags; each is given only once (`inventory.core.codes` makes and reads them)."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence
from datetime import datetime

from sqlalchemy import Connection, bindparam, literal_column, select
from sqlalchemy.dialects.sqlite import insert

from inventory.core.codes import new_code
from inventory.storage.tables import FORMER_CODES, GIVEN_CODES, OFFCUTS

_AT_ONCE = 500
_ON_A_PIECE = (
    select(OFFCUTS.c.id).where(OFFCUTS.c.code == bindparam("code")),
    select(FORMER_CODES.c.offcut_id).where(FORMER_CODES.c.code == bindparam("code")),
)
_NEW_CODE = insert(GIVEN_CODES).on_conflict_do_nothing(index_elements=[GIVEN_CODES.c.code])


def issue_code(connection: Connection, randbelow: Callable[[int], int], now: datetime) -> str:
    """A new code, recorded as given."""
    while True:
        code = new_code(randbelow)
        if reserve_codes(connection, [code], now):
            return code


def reserve_codes(connection: Connection, codes: Iterable[str], now: datetime) -> int:
    """Records codes as given; returns how many of them were new."""
    return sum(connection.execute(_NEW_CODE, {"code": code, "given_at": now}).rowcount for code in codes)


def issued_codes(connection: Connection) -> frozenset[str]:
    """All codes that were ever given."""
    return frozenset(connection.scalars(select(GIVEN_CODES.c.code)))


def is_issued(connection: Connection, code: str) -> bool:
    """Whether this code was ever given here."""
    return connection.scalar(select(GIVEN_CODES.c.code).where(GIVEN_CODES.c.code == code)) is not None


def code_in_use(connection: Connection, code: str) -> bool:
    """Whether a piece, here or gone, has this code or had it on a tag that was replaced."""
    return any(connection.scalar(asked, {"code": code}) is not None for asked in _ON_A_PIECE)


def piece_codes(connection: Connection) -> frozenset[str]:
    """All codes that lead to a piece, here or gone: its own and those it had before."""
    return frozenset((*connection.scalars(select(OFFCUTS.c.code)), *connection.scalars(select(FORMER_CODES.c.code))))


def record_former_code(connection: Connection, offcut: int, old: str, now: datetime) -> None:
    """Records that the piece in this row had the code `old`, which keeps finding it."""
    values = {"code": old, "offcut_id": offcut, "replaced_at": now}
    connection.execute(FORMER_CODES.insert().values(values))


def offcuts_by_former_code(connection: Connection, codes: Sequence[str]) -> dict[str, int]:
    """The rows of the pieces that once had these codes."""
    found: dict[str, int] = {}
    for start in range(0, len(codes), _AT_ONCE):
        asked = FORMER_CODES.c.code.in_(codes[start : start + _AT_ONCE])
        found |= {row.code: row.offcut_id for row in connection.execute(select(FORMER_CODES).where(asked))}
    return found


def current_codes(connection: Connection, codes: Sequence[str]) -> dict[str, str]:
    """By former code, the code that the piece has now; other codes are left out."""
    asked = select(FORMER_CODES.c.code, OFFCUTS.c.code).join(OFFCUTS, FORMER_CODES.c.offcut_id == OFFCUTS.c.id)
    return {row[0]: row[1] for row in connection.execute(asked.where(FORMER_CODES.c.code.in_(codes)))}


def former_codes(connection: Connection) -> dict[int, tuple[str, ...]]:
    """The codes that pieces had before, by row, in the order in which they were replaced."""
    found: dict[int, tuple[str, ...]] = {}
    for row in connection.execute(select(FORMER_CODES).order_by(literal_column("former_codes.rowid"))):
        found[row.offcut_id] = (*found.get(row.offcut_id, ()), row.code)
    return found
