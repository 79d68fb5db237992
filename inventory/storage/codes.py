"""Codes that were given: each once, for ever.

Knows which codes are taken. How a code is made and read is `inventory.codes`'.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable
from datetime import datetime

from sqlalchemy import Connection, select
from sqlalchemy.dialects.sqlite import insert

from inventory.codes import new_code
from inventory.storage.tables import GIVEN_CODES, OFFCUTS

_NEW_CODE = insert(GIVEN_CODES).on_conflict_do_nothing(index_elements=[GIVEN_CODES.c.code])


def give_code(connection: Connection, randbelow: Callable[[int], int], now: datetime) -> str:
    """A code that was never given before, noted as given."""
    while True:
        code = new_code(randbelow)
        if hold_codes(connection, [code], now):
            return code


def hold_codes(connection: Connection, codes: Iterable[str], now: datetime) -> int:
    """Notes codes as given; answers how many of them were not before."""
    return sum(connection.execute(_NEW_CODE, {"code": code, "given_at": now.isoformat()}).rowcount for code in codes)


def given_codes(connection: Connection) -> frozenset[str]:
    """All codes that were ever given."""
    return frozenset(connection.scalars(select(GIVEN_CODES.c.code)))


def is_on_a_piece(connection: Connection, code: str) -> bool:
    """Whether a piece, here or gone, has this code."""
    return connection.scalar(select(OFFCUTS.c.id).where(OFFCUTS.c.code == code)) is not None
