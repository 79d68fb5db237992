"""Upgrading a database: it is copied first, then the missing revisions run."""

from __future__ import annotations

import sqlite3
from datetime import datetime
from pathlib import Path

from inventory.storage.engine import copy_database, integrity_faults, open_engine
from inventory.storage.errors import StorageFault, translate_faults

MIGRATIONS = Path(__file__).parent / "migrations"


def upgrade_database(database: Path, copies: Path, now: datetime, migrations: Path = MIGRATIONS) -> Path | None:
    """Makes a new database, or brings an older one to the newest revision.

    An older one is copied into `copies` first and checked; returns that copy, None
    where there was nothing to copy. All missing revisions run in one
    transaction. Raises StorageFault where the file is no shop's database, is
    damaged, or comes from a newer program.
    """
    known = revisions(migrations)
    at = revision_of(database)
    if at == known[-1]:
        return None
    if at is not None and at not in known:
        raise StorageFault(
            f'The shop\'s database "{database}" was written by a newer Rackful than this one. Update Rackful.'
        )
    copy = None
    if at is not None:
        copy = _put_aside(database, copies, at, now)
    _upgrade(database, migrations)
    return copy


def revisions(migrations: Path = MIGRATIONS) -> tuple[str, ...]:
    """The names of all revisions, oldest first: the numbers their files begin with."""
    return tuple(sorted(path.stem[1:].split("_")[0] for path in (migrations / "versions").glob("r*.py")))


def revision_of(database: Path) -> str | None:
    """The revision that a database is at, None where there is none yet. Raises StorageFault."""
    if not database.exists() or database.stat().st_size == 0:
        return None
    with translate_faults(database):
        connection = sqlite3.connect(f"{database.resolve().as_uri()}?mode=rw", uri=True)
        try:
            tables = {row[0] for row in connection.execute("SELECT name FROM sqlite_master WHERE type = 'table'")}
            if not tables:
                return None
            found = None
            if "alembic_version" in tables:
                found = connection.execute("SELECT version_num FROM alembic_version").fetchone()
        finally:
            connection.close()
    if found is None:
        raise StorageFault(f'"{database}" is not a shop\'s database. Name the folder of a shop, or an empty one.')
    return str(found[0])


def _put_aside(database: Path, copies: Path, at: str, now: datetime) -> Path:
    copies.mkdir(parents=True, exist_ok=True)
    copy = copies / f"{now:%Y-%m-%d-%H%M%S}-before-{at}-changed.sqlite3"
    number = 1
    while copy.exists():
        number += 1
        copy = copy.with_name(f"{now:%Y-%m-%d-%H%M%S}-before-{at}-changed-{number}.sqlite3")
    copy_database(database, copy)
    faults = integrity_faults(copy)
    if faults:
        raise StorageFault(
            f'The shop\'s database "{database}" is damaged ({faults[0]}) and was left as it is. '
            "Bring the shop back from the latest backup with rackful restore."
        )
    return copy


def _upgrade(database: Path, migrations: Path) -> None:
    # Imported here: Alembic takes a third of a second, and most starts have nothing to bring up to date.
    from alembic import command
    from alembic.config import Config

    config = Config()
    config.set_main_option("script_location", str(migrations).replace("%", "%%"))
    engine = open_engine(database, foreign_keys=False)
    try:
        with (
            translate_faults(database),
            engine.connect() as connection,
            # A second program that comes at the same time waits here, then finds nothing left to do.
            connection.execution_options(writes=True).begin(),
        ):
            config.attributes["connection"] = connection
            command.upgrade(config, "head")
            dangling = connection.exec_driver_sql("PRAGMA foreign_key_check").first()
            if dangling is not None:
                raise StorageFault(
                    f'The shop\'s database "{database}" could not be brought up to date: a row of '
                    f"{dangling[0]} points to nothing. It was left as it was; bring the shop back from a backup."
                )
    finally:
        engine.dispose()
