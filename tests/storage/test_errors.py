"""What the disk and the database refuse becomes a sentence; nothing of the change is kept."""

import sqlite3
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

import pytest
from sqlalchemy import text
from sqlalchemy.exc import IntegrityError

from inventory.core.lengths import inches
from inventory.core.offcuts import Offcut
from inventory.services.rack import queries, tagging
from inventory.shop import Shop
from inventory.storage import engine
from inventory.storage.errors import StorageFault, translate_faults
from tests.small_disk import run_on_a_small_disk

ASH = Offcut(inches("23 1/2"), inches("3 1/4"), inches("13/16"), "ash")
FILE = Path("/shop/rackful.sqlite3")


@pytest.mark.parametrize(
    ("name", "sentence"),
    [
        (
            "SQLITE_FULL",
            'The disk of "/shop" is full: nothing of this was kept. Make room on it, then do it again.',
        ),
        (
            "SQLITE_READONLY_DIRECTORY",
            'The shop\'s database "/shop/rackful.sqlite3" can only be read: nothing of this was kept. '
            "Give this user the right to write to it and its folder, then do it again.",
        ),
        (
            "SQLITE_BUSY_SNAPSHOT",
            'The shop\'s database "/shop/rackful.sqlite3" is held by another program: nothing of this was kept. '
            "Wait for that program or close it, then do it again.",
        ),
        (
            "SQLITE_CORRUPT",
            'The shop\'s database "/shop/rackful.sqlite3" is damaged. '
            "Put the folder aside and bring the shop back from the latest backup with rackful restore.",
        ),
        (
            "SQLITE_CANTOPEN",
            "The shop's database \"/shop/rackful.sqlite3\" can't be opened. "
            "Check that the folder is there and that this user may write in it.",
        ),
        (
            "SQLITE_IOERR_FSYNC",
            'The disk of "/shop" did not read or write as asked: nothing of this was kept. '
            "Check the disk, then do it again.",
        ),
    ],
)
def test_each_refusal_has_its_sentence(name: str, sentence: str) -> None:
    error = sqlite3.OperationalError("as SQLite says it")
    error.sqlite_errorname = name
    with pytest.raises(StorageFault) as refused, translate_faults(FILE):
        raise error
    assert str(refused.value) == sentence


def test_an_error_of_the_program_is_not_made_a_sentence(shop: Shop) -> None:
    with pytest.raises(IntegrityError), shop.writing() as connection:
        connection.execute(text("INSERT INTO given_codes (code) VALUES ('0000011')"))
    with pytest.raises(sqlite3.OperationalError), translate_faults(FILE):
        raise sqlite3.OperationalError("no such table: birds")


@contextmanager
def held(database: Path) -> Iterator[None]:
    """Another program is in the midst of writing."""
    other = sqlite3.connect(database, isolation_level=None)
    try:
        other.execute("BEGIN IMMEDIATE")
        yield
    finally:
        other.close()


def test_a_database_held_by_another_program_is_reported_and_read_all_the_same(
    shop: Shop, monkeypatch: pytest.MonkeyPatch
) -> None:
    tagging.tag(shop, ASH)
    monkeypatch.setattr(engine, "BUSY_MILLISECONDS", 50)
    with Shop.open(shop.folder) as waiting, held(shop.database):
        assert queries.shop_summary(waiting).tags == 1
        with pytest.raises(StorageFault) as refused:
            tagging.tag(waiting, ASH)
    assert str(refused.value) == (
        f'The shop\'s database "{shop.database}" is held by another program: nothing of this was kept. '
        "Wait for that program or close it, then do it again."
    )
    assert queries.shop_summary(shop).tags == 1


def test_nothing_is_kept_of_a_change_that_failed_midway(shop: Shop) -> None:
    with pytest.raises(ZeroDivisionError), shop.writing() as connection:
        connection.execute(text("INSERT INTO given_codes (code, given_at) VALUES ('0000011', 'today')"))
        raise ZeroDivisionError
    assert shop.issued_codes() == frozenset()


def test_every_commit_is_on_the_disk_before_the_answer(shop: Shop) -> None:
    """SQLite documentation, PRAGMA synchronous: 2 is FULL, by which a commit in WAL mode survives a loss of power."""
    with shop.writing() as connection:
        for pragma, value in (("journal_mode", "wal"), ("synchronous", 2), ("foreign_keys", 1)):
            assert connection.exec_driver_sql(f"PRAGMA {pragma}").scalar() == value


def test_a_folder_that_cannot_be_is_reported(tmp_path: Path) -> None:
    (tmp_path / "file").write_text("not a folder")
    with pytest.raises(StorageFault) as refused:
        Shop.open(tmp_path / "file" / "shop")
    assert str(refused.value) == (
        f"The shop's folder \"{tmp_path / 'file' / 'shop'}\" can't be used: Not a directory. "
        "Name another with --data, or give this user the right to write in it."
    )


ON_A_DISK_THAT_CAN_ONLY_BE_READ = """
import subprocess
from inventory.shop import Shop
from inventory.core.lengths import inches
from inventory.core.offcuts import Offcut
from inventory.services.rack import tagging
from inventory.core.errors import UserError
ash = Offcut(inches("23 1/2"), inches("3 1/4"), inches("13/16"), "ash")
with Shop.open(disk / "shop") as shop:
    tagging.tag(shop, ash)
subprocess.run(["mount", "-o", "remount,ro", str(disk)], check=True)
try:
    with Shop.open(disk / "shop") as shop:
        tagging.tag(shop, ash)
except UserError as error:
    print(error)
"""


def test_a_disk_that_can_only_be_read_is_reported(tmp_path: Path) -> None:
    done = run_on_a_small_disk(ON_A_DISK_THAT_CAN_ONLY_BE_READ, tmp_path, 4000)
    database = tmp_path / "small-disk" / "shop" / "rackful.sqlite3"
    assert (done.stdout, done.stderr) == (
        f"The shop's database \"{database}\" can't be opened. "
        "Check that the folder is there and that this user may write in it.\n",
        "",
    )
