"""The connection to the shop's database: SQLite, write-ahead log, each commit on the disk.

Sources: SQLite documentation, "Write-Ahead Logging" and PRAGMA synchronous (FULL: a committed transaction survives
a loss of power).
"""

from __future__ import annotations

import sqlite3
import threading
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any

from sqlalchemy import Connection, Engine, create_engine, event
from sqlalchemy.engine import URL

from inventory.storage.errors import StorageFault, translate_faults

BUSY_MILLISECONDS = 20_000
"""How long one program waits for another that writes. common practice, no source"""


def open_engine(database: Path, *, foreign_keys: bool = True) -> Engine:
    """An engine for this file; `foreign_keys` off is for migrations alone, which rebuild tables."""
    engine = create_engine(
        URL.create("sqlite", database=str(database)),
        max_overflow=-1,
        connect_args={"timeout": BUSY_MILLISECONDS / 1000, "check_same_thread": False},
    )

    def connected(connection: sqlite3.Connection, _record: object) -> None:
        # Off: the driver's own begin, which would begin late and never IMMEDIATE.
        connection.isolation_level = None
        if connection.execute("PRAGMA journal_mode").fetchone()[0] != "wal":
            connection.execute("PRAGMA journal_mode = WAL")
        connection.execute("PRAGMA synchronous = FULL")
        connection.execute(f"PRAGMA foreign_keys = {'ON' if foreign_keys else 'OFF'}")

    def begun(connection: Connection) -> None:
        connection.exec_driver_sql("BEGIN IMMEDIATE" if connection.get_execution_options().get("writes") else "BEGIN")

    event.listen(engine, "connect", connected)
    event.listen(engine, "begin", begun)
    return engine


class Database:
    """One open database file. Many threads may read at once, one writes at a time."""

    def __init__(self, path: Path) -> None:
        self.path = path
        self._engine = open_engine(path)
        self._writer = threading.Lock()

    @contextmanager
    def reading(self) -> Iterator[Connection]:
        """One consistent look. Raises StorageFault."""
        with translate_faults(self.path), self._engine.connect() as connection, connection.begin():
            yield connection

    @contextmanager
    def writing(self) -> Iterator[Connection]:
        """One transaction: on the disk when the block ends, nothing of it after an error. Raises StorageFault."""
        with (
            self._writer,
            translate_faults(self.path),
            self._engine.connect() as connection,
            connection.execution_options(writes=True).begin(),
        ):
            yield connection

    def copy_to(self, target: Path) -> None:
        """Writes a consistent copy to `target`, which must not exist. Raises StorageFault."""
        copy_database(self.path, target)

    def close(self) -> None:
        self._engine.dispose()


def copy_database(source: Path, target: Path) -> None:
    """Copies a database that others may be writing to: one state of it, whole. Raises StorageFault.

    The copy is one file without a log of its own, so that it can be moved.
    """
    if target.exists():
        raise StorageFault(f'"{target}" is there already and is not written over. Name another file.')
    try:
        with translate_faults(target):
            _copy(source, target)
    except BaseException:
        target.unlink(missing_ok=True)
        raise


def _copy(source: Path, target: Path) -> None:
    original = sqlite3.connect(f"{source.resolve().as_uri()}?mode=rw", timeout=BUSY_MILLISECONDS / 1000, uri=True)
    try:
        copy = sqlite3.connect(target)
        try:
            copy.execute("PRAGMA synchronous = FULL")
            original.backup(copy)
            copy.execute("PRAGMA journal_mode = DELETE")
        finally:
            copy.close()
    finally:
        original.close()


def integrity_faults(database: Path) -> tuple[str, ...]:
    """What a check of every page and every reference finds wrong, empty where all is sound."""
    with translate_faults(database):
        connection = sqlite3.connect(f"{database.resolve().as_uri()}?mode=rw", uri=True)
        try:
            found: list[Any] = [row[0] for row in connection.execute("PRAGMA integrity_check")]
            rows = connection.execute("PRAGMA foreign_key_check").fetchall()
            dangling = [f"row {row[1]} of {row[0]} points to nothing" for row in rows]
        finally:
            connection.close()
    return tuple([str(each) for each in found if each != "ok"] + dangling)
