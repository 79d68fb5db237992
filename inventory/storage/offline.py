"""Reads a shop's database file without opening the shop."""

from __future__ import annotations

import sqlite3
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

from inventory.storage.errors import StorageFault, translate_faults


class DatabaseInUse(StorageFault):
    """A database that another program has open."""


_BUSY_TIMEOUT = 2.0
"""Seconds to wait for another program that is just leaving. common practice, no source"""


def photo_digests(database: Path) -> tuple[str, ...]:
    """The digests of all photos that were ever tied to a piece, in order. Raises StorageFault."""
    return _column(database, "SELECT DISTINCT digest FROM photos ORDER BY digest")


def issued_codes_in(database: Path) -> frozenset[str]:
    """All codes that were ever given there. Raises StorageFault."""
    return frozenset(_column(database, "SELECT code FROM given_codes"))


def revoked_key_hashes(database: Path) -> frozenset[str]:
    """The hashes of the keys of all devices that were removed there. Raises StorageFault."""
    if not _column(database, "SELECT name FROM sqlite_master WHERE type = 'table' AND name = 'devices'"):
        return frozenset()
    return frozenset(_column(database, "SELECT key_hash FROM devices WHERE ended_at IS NOT NULL"))


def checkpoint_wal(database: Path) -> None:
    """Moves everything that a crash may have left in the log into the file, and removes the log.

    SQLite does so only where nobody else has the file open: leaving the write-ahead
    log needs an exclusive lock (SQLite documentation, "Write-Ahead Logging").
    Raises DatabaseInUse, StorageFault.
    """
    with _opened(database) as connection:
        try:
            connection.execute("PRAGMA journal_mode = DELETE").fetchone()
        except sqlite3.OperationalError as error:
            if str(getattr(error, "sqlite_errorname", "")).startswith("SQLITE_BUSY") or "locked" in str(error):
                raise DatabaseInUse(
                    f'The shop in "{database.parent}" is open in another program. '
                    "Stop rackful serve there, then do it again."
                ) from error
            raise


def _column(database: Path, statement: str) -> tuple[str, ...]:
    with _opened(database) as connection:
        return tuple(str(row[0]) for row in connection.execute(statement))


@contextmanager
def _opened(database: Path) -> Iterator[sqlite3.Connection]:
    with translate_faults(database):
        connection = sqlite3.connect(
            f"{database.resolve().as_uri()}?mode=rw", timeout=_BUSY_TIMEOUT, isolation_level=None, uri=True
        )
        try:
            yield connection
        finally:
            connection.close()
