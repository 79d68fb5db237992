"""The shop: one data folder with its database, photos, settings and clock.

Opened in `main` and passed on; there is no global one.
"""

from __future__ import annotations

import secrets
from collections.abc import Callable, Iterable
from contextlib import AbstractContextManager
from dataclasses import replace
from datetime import date, datetime
from pathlib import Path
from types import TracebackType

from sqlalchemy import Connection

from inventory.settings import Settings
from inventory.storage.engine import Database
from inventory.storage.errors import StorageFault
from inventory.storage.photos import PhotoStore
from inventory.storage.repositories import codes
from inventory.storage.repositories.settings_rows import read_settings, write_settings
from inventory.storage.upgrade import upgrade_database

DATABASE_NAME = "rackful.sqlite3"
PHOTO_FOLDER = "photos"
COPIES_FOLDER = "copies"
"""Where a database is put aside before it is brought up to date."""


def local_now() -> datetime:
    """The present moment in this machine's time zone."""
    return datetime.now().astimezone()


class Shop:
    """An open shop. May be used by many threads at once; close it when done, or use it in a `with`."""

    def __init__(
        self, folder: Path, database: Database, now: Callable[[], datetime], randbelow: Callable[[int], int]
    ) -> None:
        self.folder = folder
        self.photos = PhotoStore(folder / PHOTO_FOLDER)
        self.randbelow = randbelow
        self._database = database
        self._now = now

    @classmethod
    def open(
        cls,
        folder: Path,
        *,
        now: Callable[[], datetime] = local_now,
        randbelow: Callable[[int], int] = secrets.randbelow,
    ) -> Shop:
        """Opens the shop in `folder`, making the folder and a new database where there is none.

        An older database is copied to `copies/` first, then brought up to date.
        Raises StorageFault (UserError) where the folder can't be used, or the
        database is damaged or newer than this program.
        """
        path = folder / DATABASE_NAME
        try:
            folder.mkdir(parents=True, exist_ok=True)
            upgrade_database(path, folder / COPIES_FOLDER, now())
        except OSError as error:
            raise StorageFault(
                f"The shop's folder \"{folder}\" can't be used: {error.strerror}. "
                "Name another with --data, or give this user the right to write in it."
            ) from error
        shop = cls(folder, Database(path), now, randbelow)
        try:
            shop._make_secret_key()
        except BaseException:
            shop.close()
            raise
        return shop

    @property
    def database(self) -> Path:
        """The database file. Copy it with `copy_database`, never with a file copy while the shop is open."""
        return self._database.path

    def now(self) -> datetime:
        """The present moment, aware."""
        return self._now()

    def today(self) -> date:
        """The day by the shop's clock."""
        return self._now().date()

    def settings(self) -> Settings:
        """The present settings; a secret key is made when the shop is first opened."""
        with self.reading() as connection:
            return read_settings(connection)

    def save_settings(self, settings: Settings) -> None:
        """Saves all settings; they are on the disk when it returns."""
        with self.writing() as connection:
            write_settings(connection, settings)

    def update_settings(self, change: Callable[[Settings], Settings]) -> Settings:
        """Saves the result of `change` on the present settings, in one transaction; an error changes nothing."""
        with self.writing() as connection:
            after = change(read_settings(connection))
            write_settings(connection, after)
        return after

    def copy_database(self, target: Path) -> None:
        """Writes one state of the database to `target`, which must not exist, while the shop stays open."""
        self._database.copy_to(target)

    def issued_codes(self) -> frozenset[str]:
        """All codes that were ever given here."""
        with self.reading() as connection:
            return codes.issued_codes(connection)

    def reserve_codes(self, given: Iterable[str]) -> None:
        """Marks codes as given, so that they are never given again: for a restore over a shop that gave codes since."""
        with self.writing() as connection:
            codes.reserve_codes(connection, given, self.now())

    def reading(self) -> AbstractContextManager[Connection]:
        """A read transaction, for services."""
        return self._database.reading()

    def writing(self) -> AbstractContextManager[Connection]:
        """A write transaction, for services: on the disk at the end, rolled back on any error."""
        return self._database.writing()

    def close(self) -> None:
        """Closes the database."""
        self._database.close()

    def __enter__(self) -> Shop:
        return self

    def __exit__(
        self, kind: type[BaseException] | None, error: BaseException | None, trace: TracebackType | None
    ) -> None:
        self.close()

    def _make_secret_key(self) -> None:
        if self.settings().secret_key:
            return
        with self.writing() as connection:
            settings = read_settings(connection)
            if not settings.secret_key:
                write_settings(connection, replace(settings, secret_key=secrets.token_hex(32)))
