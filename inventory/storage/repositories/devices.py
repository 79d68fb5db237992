"""Browsers that were let in, as rows and as records.

A key is kept as its hash alone: who reads the database or a backup can't pass for a phone with it.
"""

from __future__ import annotations

from collections.abc import Iterable
from datetime import datetime

from sqlalchemy import Connection, insert, select, update

from inventory.storage.records import DeviceRecord
from inventory.storage.tables import DEVICES


def insert_device(connection: Connection, name: str, key_hash: str, entry: str, now: datetime) -> int:
    """Keeps a browser that is let in; answers its id."""
    values = {"name": name, "key_hash": key_hash, "entry": entry, "joined_at": now, "seen_at": now}
    return int(connection.execute(insert(DEVICES), values).lastrowid)


def active_device(connection: Connection, device: int, key_hash: str) -> DeviceRecord | None:
    """The browser with this id and key, None where it was turned away or never let in."""
    asked = (DEVICES.c.id == device) & (DEVICES.c.key_hash == key_hash) & DEVICES.c.ended_at.is_(None)
    row = connection.execute(select(DEVICES).where(asked)).one_or_none()
    return None if row is None else DeviceRecord(row.id, row.name, row.joined_at, row.seen_at)


def active_devices(connection: Connection, entry: str) -> tuple[DeviceRecord, ...]:
    """The browsers that are in under this mark of the passphrase, the one seen last first."""
    asked = select(DEVICES).where(DEVICES.c.ended_at.is_(None), DEVICES.c.entry == entry)
    rows = connection.execute(asked.order_by(DEVICES.c.seen_at.desc(), DEVICES.c.id.desc()))
    return tuple(DeviceRecord(row.id, row.name, row.joined_at, row.seen_at) for row in rows)


def change_device(connection: Connection, device: int, seen_at: datetime, *, entry: str | None = None) -> None:
    """Sets when a browser was last seen, and under which passphrase where that changed."""
    changed = {"seen_at": seen_at} | ({} if entry is None else {"entry": entry})
    connection.execute(update(DEVICES).where(DEVICES.c.id == device).values(changed))


def revoke_devices(connection: Connection, now: datetime, *, only: int | None = None, but: int | None = None) -> int:
    """Turns away one browser, or all but one; answers how many were in."""
    ended = update(DEVICES).where(DEVICES.c.ended_at.is_(None)).values(ended_at=now)
    if only is not None:
        ended = ended.where(DEVICES.c.id == only)
    if but is not None:
        ended = ended.where(DEVICES.c.id != but)
    return connection.execute(ended).rowcount


def revoke_by_key_hash(connection: Connection, key_hashes: Iterable[str], now: datetime) -> None:
    """Turns away every browser that is in with one of these keys."""
    is_in = DEVICES.c.ended_at.is_(None)
    for each in key_hashes:
        shut = update(DEVICES).where(is_in, DEVICES.c.key_hash == each).values(ended_at=now)
        connection.execute(shut)
