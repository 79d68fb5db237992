"""Idempotency keys: a form that is sent twice gets the same answer, and acts once."""

from __future__ import annotations

import hashlib
from datetime import datetime, timedelta

from sqlalchemy import Connection, delete, insert, select

from inventory.storage.tables import IDEMPOTENCY_KEYS

RETENTION = timedelta(days=60)
"""A form that is older than this is taken for a new one."""


def idempotency_key(purpose: str, token: str, *content: object) -> str:
    """The key of a form: empty without a token. Contents are compared by their repr."""
    if not token:
        return ""
    return hashlib.sha256(repr((purpose, token, content)).encode()).hexdigest()


def stored_answer(connection: Connection, key: str) -> str | None:
    """The answer that the form got, None where it is new."""
    if not key:
        return None
    return connection.scalar(select(IDEMPOTENCY_KEYS.c.answer).where(IDEMPOTENCY_KEYS.c.key == key))


def store_answer(connection: Connection, key: str, answer: str, now: datetime) -> None:
    """Stores the answer to a form and deletes those of long ago; without a key nothing is stored."""
    if key:
        connection.execute(delete(IDEMPOTENCY_KEYS).where(IDEMPOTENCY_KEYS.c.at < now - RETENTION))
        connection.execute(insert(IDEMPOTENCY_KEYS).values(key=key, answer=answer, at=now))
