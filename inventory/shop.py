"""The shop: one data folder with its database, photos, settings and clock.

Opened in `main` and handed on; there is no global one. Knows nothing of what
the services do with it.
"""

from __future__ import annotations

import secrets
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from datetime import date, datetime
from pathlib import Path

from sqlalchemy import Connection

from inventory.settings import Settings
from inventory.storage.photos import PhotoStore

DATABASE_NAME = "rackful.sqlite3"
PHOTO_FOLDER = "photos"
COPIES_FOLDER = "copies"


def local_now() -> datetime:
    """This moment with the offset of this machine's clock."""
    return datetime.now().astimezone()


class Shop:
    """An open shop. May be used by many threads at once; close it when done."""

    folder: Path
    photos: PhotoStore
    randbelow: Callable[[int], int]

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
        Raises StorageFault (Mendable) where the folder can't be used, or the
        database is damaged or newer than this program.
        """
        raise NotImplementedError

    @property
    def database(self) -> Path:
        """The database file. Copy it with `copy_database`, never with a file copy while the shop is open."""
        raise NotImplementedError

    def now(self) -> datetime:
        """The moment, aware."""
        raise NotImplementedError

    def today(self) -> date:
        """The day by the shop's clock."""
        raise NotImplementedError

    def settings(self) -> Settings:
        """The settings as they stand; a secret key is made when the shop is first opened."""
        raise NotImplementedError

    def save_settings(self, settings: Settings) -> None:
        """Keeps all settings, on disk when it returns."""
        raise NotImplementedError

    def copy_database(self, target: Path) -> None:
        """Writes a consistent, checked copy of the database while the shop stays open. `target` must not exist."""
        raise NotImplementedError

    def given_codes(self) -> frozenset[str]:
        """All codes that were ever given here."""
        raise NotImplementedError

    def hold_codes(self, codes: frozenset[str]) -> None:
        """Marks codes as given, so that they are never given again: for a restore over a shop that gave codes since."""
        raise NotImplementedError

    @contextmanager
    def reading(self) -> Iterator[Connection]:
        """One consistent look at the database, for services."""
        raise NotImplementedError

    @contextmanager
    def writing(self) -> Iterator[Connection]:
        """One transaction, for services: committed to disk at the end, rolled back on any error."""
        raise NotImplementedError

    def close(self) -> None:
        """Closes the database."""
        raise NotImplementedError
