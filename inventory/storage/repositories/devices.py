"""Paired browsers.

Only the hash of a key is stored: a copy of the database does not let anyone in.
"""

from __future__ import annotations

from collections.abc import Iterable
from datetime import datetime

from sqlalchemy import Connection, insert, select, update

from inventory.storage.records import DeviceRecord
from inventory.storage.tables import DEVICES


def insert_device(connection: Connection, name: str, key_hash: str, entry: str, now: datetime) -> int:
    """Inserts a paired browser; returns its id."""
    values = {"name": name, "key_hash": key_hash, "entry": entry, "joined_at": now, "seen_at": now}
    return int(connection.execute(insert(DEVICES), values).lastrowid)


def active_device(connection: Connection, device: int, key_hash: str) -> DeviceRecord | None:
    """The paired browser with this id and key, None where there is none."""
    asked = (DEVICES.c.id == device) & (DEVICES.c.key_hash == key_hash) & DEVICES.c.ended_at.is_(None)
    row = connection.execute(select(DEVICES).where(asked)).one_or_none()
    return None if row is None else DeviceRecord(row.id, row.name, row.joined_at, row.seen_at)


def active_devices(connection: Connection, entry: str) -> tuple[DeviceRecord, ...]:
    """The browsers paired under this entry mark, the one seen last first."""
    asked = select(DEVICES).where(DEVICES.c.ended_at.is_(None), DEVICES.c.entry == entry)
    rows = connection.execute(asked.order_by(DEVICES.c.seen_at.desc(), DEVICES.c.id.desc()))
    return tuple(DeviceRecord(row.id, row.name, row.joined_at, row.seen_at) for row in rows)


def change_device(connection: Connection, device: int, seen_at: datetime, *, entry: str | None = None) -> None:
    """Sets when a browser was last seen, and under which passphrase where that changed."""
    changed = {"seen_at": seen_at} | ({} if entry is None else {"entry": entry})
    connection.execute(update(DEVICES).where(DEVICES.c.id == device).values(changed))


def revoke_devices(connection: Connection, now: datetime, *, only: int | None = None, but: int | None = None) -> int:
    """Removes one browser, or all but one; returns how many were paired."""
    ended = update(DEVICES).where(DEVICES.c.ended_at.is_(None)).values(ended_at=now)
    if only is not None:
        ended = ended.where(DEVICES.c.id == only)
    if but is not None:
        ended = ended.where(DEVICES.c.id != but)
    return connection.execute(ended).rowcount


def revoke_by_key_hash(connection: Connection, key_hashes: Iterable[str], now: datetime) -> None:
    """Removes every browser with one of these keys."""
    is_in = DEVICES.c.ended_at.is_(None)
    for each in key_hashes:
        shut = update(DEVICES).where(is_in, DEVICES.c.key_hash == each).values(ended_at=now)
        connection.execute(shut)
