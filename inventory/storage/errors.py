"""What the database says when it can't go on, as a sentence that says how to fix it.

The one place where errors of SQLite become a StorageFault. An error of the program itself is not turned into a
sentence: it is raised as it is.
"""

from __future__ import annotations

import sqlite3
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

from sqlalchemy.exc import DBAPIError

from inventory.core.errors import UserError


class StorageFault(UserError):
    """The shop's folder or database can't be used as it is; nothing of the change was kept."""


@contextmanager
def translate_faults(database: Path) -> Iterator[None]:
    """Turns what the disk and SQLite refuse inside it into a StorageFault about this database."""
    try:
        yield
    except DBAPIError as error:
        message = _message(error.orig, database)
        if message is None:
            raise
        raise StorageFault(message) from error
    except sqlite3.Error as error:
        message = _message(error, database)
        if message is None:
            raise
        raise StorageFault(message) from error


def _message(error: BaseException | None, database: Path) -> str | None:
    """The sentence for an error of SQLite, None for one that no user can fix."""
    # Result codes by name, SQLite documentation, "Result and Error Codes"; the first two words are the primary code.
    primary = "_".join(str(getattr(error, "sqlite_errorname", "")).split("_")[:2])
    match primary:
        case "SQLITE_FULL":
            return (
                f'The disk of "{database.parent}" is full: nothing of this was kept. Make room on it, then do it again.'
            )
        case "SQLITE_READONLY" | "SQLITE_PERM":
            return (
                f'The shop\'s database "{database}" can only be read: nothing of this was kept. '
                "Give this user the right to write to it and its folder, then do it again."
            )
        case "SQLITE_BUSY" | "SQLITE_LOCKED":
            return (
                f'The shop\'s database "{database}" is held by another program: nothing of this was kept. '
                "Wait for that program or close it, then do it again."
            )
        case "SQLITE_CORRUPT" | "SQLITE_NOTADB":
            return (
                f'The shop\'s database "{database}" is damaged. '
                "Put the folder aside and bring the shop back from the latest backup with rackful restore."
            )
        case "SQLITE_CANTOPEN":
            return (
                f"The shop's database \"{database}\" can't be opened. "
                "Check that the folder is there and that this user may write in it."
            )
        case "SQLITE_IOERR":
            return (
                f'The disk of "{database.parent}" did not read or write as asked: nothing of this was kept. '
                "Check the disk, then do it again."
            )
        case _:
            return None
