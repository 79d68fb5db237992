"""Forms that were answered: the same one sent again gets the same answer."""

from __future__ import annotations

import hashlib
from datetime import datetime, timedelta

from sqlalchemy import Connection, delete, insert, select

from inventory.storage.tables import IDEMPOTENCY_KEYS

RETENTION = timedelta(days=60)
"""No form lies open on a bench for longer."""


def idempotency_key(purpose: str, token: str, *content: object) -> str:
    """The key of a form: empty without a token. Content is told apart by its repr."""
    if not token:
        return ""
    return hashlib.sha256(repr((purpose, token, content)).encode()).hexdigest()


def stored_answer(connection: Connection, key: str) -> str | None:
    """What the form was answered with, None where it is new."""
    if not key:
        return None
    return connection.scalar(select(IDEMPOTENCY_KEYS.c.answer).where(IDEMPOTENCY_KEYS.c.key == key))


def store_answer(connection: Connection, key: str, answer: str, now: datetime) -> None:
    """Notes the answer to a form and forgets those of long ago; one without a key leaves no note."""
    if key:
        connection.execute(delete(IDEMPOTENCY_KEYS).where(IDEMPOTENCY_KEYS.c.at < now - RETENTION))
        connection.execute(insert(IDEMPOTENCY_KEYS).values(key=key, answer=answer, at=now))
