"""A shop into one archive and back, and all that can be wrong with an archive."""

import hashlib
import io
import json
import os
import sqlite3
import struct
import threading
import zipfile
from collections.abc import Callable
from pathlib import Path

import pytest
from PIL import Image

from inventory.core.lengths import inches
from inventory.core.offcuts import Offcut
from inventory.services import backups
from inventory.services.access import device_sessions
from inventory.services.backups import FolderTaken, InvalidBackup
from inventory.services.labels import label_content
from inventory.services.rack import queries, tagging
from inventory.shop import Shop
from inventory.storage.atomic_write import WriteFailed
from inventory.storage.errors import StorageFault
from inventory.storage.photos import read_photo
from inventory.storage.records import StoredPhoto
from tests.small_disk import run_on_a_small_disk

ASH = Offcut(inches("23 1/2"), inches("3 1/4"), inches("13/16"), "ash", location="wall 2", notes="a note")


def picture(shop: Shop, red: int) -> StoredPhoto:
    out = io.BytesIO()
    Image.new("RGB", (60, 40), (red, 90, 40)).save(out, "PNG")
    return shop.photos.keep(read_photo(out.getvalue()))


def all_files(folder: Path) -> dict[str, bytes]:
    return {str(each.relative_to(folder)): each.read_bytes() for each in folder.rglob("*") if each.is_file()}


def names_beside(folder: Path) -> set[str]:
    return {each.name for each in folder.parent.iterdir()}


@pytest.fixture
def file(shop: Shop, tmp_path: Path) -> Path:
    """A backup of a shop of three pieces, one with two photos."""
    tagging.tag(shop, ASH, photos=[picture(shop, 10), picture(shop, 20)])
    tagging.tag(shop, ASH)
    tagging.tag(shop, ASH)
    (tmp_path / "kept").mkdir()
    backups.backup(shop, tmp_path / "kept" / "shop.zip")
    return tmp_path / "kept" / "shop.zip"


def test_a_shop_comes_back_with_all_it_had(shop: Shop, file: Path, tmp_path: Path) -> None:
    done = backups.restore(file, tmp_path / "new", now=shop.now)
    assert done == backups.RestoreResult(tmp_path / "new", shop.now(), 2, (), None, 0)
    with Shop.open(tmp_path / "new") as again:
        every = queries.StatusFilter.ALL
        assert queries.all_pieces(again, every) == queries.all_pieces(shop, every)
        assert again.settings() == shop.settings()
        assert again.issued_codes() == shop.issued_codes()
        [first, *_] = queries.all_pieces(again, every)
        for photo in first.photos:
            for size in ("full", "thumb"):
                assert again.photos.path(photo.digest, size).read_bytes() == (
                    shop.photos.path(photo.digest, size).read_bytes()
                )
    assert names_beside(tmp_path / "new") == {"shop", "new", "kept"}


def test_the_backup_says_how_large_it_is_and_how_many_photos_are_in_it(shop: Shop, tmp_path: Path) -> None:
    tagging.tag(shop, ASH, photos=[picture(shop, 10)])
    place = tmp_path / "shop.zip"
    done = backups.backup(shop, place)
    assert done == backups.BackupResult(place, place.stat().st_size, 1, ())
    assert place.stat().st_mode & 0o777 == 0o600
    assert names_beside(place) == {"shop", "shop.zip"}


def test_a_backup_while_pieces_are_tagged_is_one_state_of_the_shop(shop: Shop, tmp_path: Path) -> None:
    stop = threading.Event()

    def tag_on() -> None:
        red = 0
        while not stop.is_set():
            red += 1
            tagging.tag(shop, ASH, photos=[picture(shop, red % 256)])

    busy = threading.Thread(target=tag_on)
    busy.start()
    try:
        while not queries.all_pieces(shop):
            assert busy.is_alive()
        for number in range(3):
            assert backups.backup(shop, tmp_path / f"{number}.zip").photos_missing == ()
    finally:
        stop.set()
        busy.join()
    for number in range(3):
        backups.restore(tmp_path / f"{number}.zip", tmp_path / f"new {number}")
        with Shop.open(tmp_path / f"new {number}") as again:
            pieces = queries.all_pieces(again)
            assert pieces == queries.all_pieces(shop)[: len(pieces)]
            assert pieces


def test_a_lost_or_damaged_photo_is_named_and_the_rest_is_backed_up(shop: Shop, tmp_path: Path) -> None:
    lost, damaged, sound = (picture(shop, red) for red in (10, 20, 30))
    tagging.tag(shop, ASH, photos=[lost, damaged, sound])
    shop.photos.path(lost.digest, "thumb").unlink()
    shop.photos.path(damaged.digest, "full").write_bytes(b"spoilt")
    done = backups.backup(shop, tmp_path / "shop.zip")
    assert (done.photos, done.photos_missing) == (1, tuple(sorted((lost.digest, damaged.digest))))
    assert backups.restore(tmp_path / "shop.zip", tmp_path / "new").photos_missing == done.photos_missing


def test_a_newer_backup_takes_the_place_of_an_older_one_but_not_of_another_file(shop: Shop, file: Path) -> None:
    tagging.tag(shop, ASH)
    before = file.read_bytes()
    backups.backup(shop, file)
    assert file.read_bytes() != before
    other = file.with_name("letter.txt")
    other.write_text("Dear Ada")
    with pytest.raises(FolderTaken) as error:
        backups.backup(shop, other)
    assert str(error.value) == f'"{other}" is there already and is no backup. Name another file, or delete it.'
    assert other.read_text() == "Dear Ada"


def test_a_folder_that_holds_a_shop_is_left_alone(shop: Shop, file: Path) -> None:
    before = all_files(shop.folder / "photos")
    with pytest.raises(FolderTaken) as error:
        backups.restore(file, shop.folder)
    assert str(error.value) == (
        f'"{shop.folder}" holds a shop already. Name another folder, or add --replace to put it aside.'
    )
    assert all_files(shop.folder / "photos") == before


def test_a_folder_that_holds_other_files_is_left_alone_and_an_empty_one_is_used(file: Path, tmp_path: Path) -> None:
    folder = tmp_path / "new"
    folder.mkdir()
    (folder / "letter.txt").write_text("Dear Ada")
    with pytest.raises(FolderTaken) as error:
        backups.restore(file, folder)
    assert str(error.value) == f'"{folder}" holds other files. Name another folder, or add --replace to put it aside.'
    with pytest.raises(FolderTaken) as error:
        backups.restore(file, folder / "letter.txt")
    assert str(error.value) == f'"{folder}/letter.txt" is a file, not a folder. Name a folder.'
    (folder / "letter.txt").unlink()
    assert backups.restore(file, folder).moved_to is None
    Shop.open(folder).close()


def test_replacing_puts_the_old_shop_aside_whole_and_codes_given_since_stay_given(
    shop: Shop, file: Path, tmp_path: Path
) -> None:
    then = queries.all_pieces(shop)
    later = tagging.tag(shop, ASH, photos=[picture(shop, 99)])
    [blank] = label_content.blank_codes(shop, 1)
    given = shop.issued_codes()
    shop.close()
    done = backups.restore(file, shop.folder, replace=True, now=shop.now)
    assert done.moved_to == tmp_path / "shop-before-restore-2030-01-31-100000"
    assert done.codes_reserved == 2
    with Shop.open(shop.folder) as again, Shop.open(done.moved_to) as old:
        assert queries.all_pieces(again) == then
        assert again.issued_codes() == given == old.issued_codes()
        assert {later.code, blank} <= given
        assert queries.all_pieces(old) == (*then, later)
        assert old.photos.path(later.photos[0].digest, "full").is_file()


def test_a_phone_that_was_turned_away_since_the_backup_stays_out(shop: Shop, file: Path) -> None:
    lost, kept = (device_sessions.pair_device(shop, name, "mark") for name in ("Lost phone", "Saw phone"))
    backups.backup(shop, file)
    device = device_sessions.device_for_token(shop, lost)
    assert device is not None and device_sessions.turn_away(shop, device.id)
    shop.close()
    backups.restore(file, shop.folder, replace=True, now=shop.now)
    with Shop.open(shop.folder) as again:
        assert device_sessions.device_for_token(again, lost) is None
        assert [each.name for each in device_sessions.paired_devices(again, "mark")] == ["Saw phone"]
        assert device_sessions.device_for_token(again, kept) is not None


def test_replacing_twice_in_a_second_puts_both_aside(shop: Shop, file: Path, tmp_path: Path) -> None:
    shop.close()
    places = [backups.restore(file, shop.folder, replace=True, now=shop.now).moved_to for _ in range(2)]
    name = tmp_path / "shop-before-restore-2030-01-31-100000"
    assert places == [name, name.with_name(f"{name.name}-2")]


def test_a_shop_that_is_open_elsewhere_is_not_replaced(shop: Shop, file: Path) -> None:
    shop.settings()
    with pytest.raises(StorageFault) as error:
        backups.restore(file, shop.folder, replace=True)
    assert str(error.value) == (
        f'The shop in "{shop.folder}" is open in another program. Stop rackful serve there, then do it again.'
    )
    assert len(queries.all_pieces(shop)) == 3
    assert names_beside(shop.folder) == {"shop", "kept"}


def test_a_shop_too_damaged_to_be_read_is_replaced_and_that_is_said(shop: Shop, file: Path) -> None:
    shop.close()
    shop.database.write_bytes(b"not a database at all" * 500)
    assert backups.restore(file, shop.folder, replace=True).codes_reserved is None
    with Shop.open(shop.folder) as again:
        assert len(queries.all_pieces(again)) == 3


def test_the_log_of_a_crash_is_gathered_before_its_codes_are_read(shop: Shop, file: Path, tmp_path: Path) -> None:
    # A copy of the files of an open shop is what a crash leaves: the last pieces are in the log alone.
    code = tagging.tag(shop, ASH).code
    crashed = tmp_path / "crashed"
    crashed.mkdir()
    for part in shop.folder.glob("rackful.sqlite3*"):
        (crashed / part.name).write_bytes(part.read_bytes())
    assert (crashed / "rackful.sqlite3-wal").stat().st_size > 0
    done = backups.restore(file, crashed, replace=True)
    assert done.codes_reserved == 1
    with Shop.open(crashed) as again:
        assert code in again.issued_codes()


def changed(file: Path, name: str, change: Callable[[dict[str, bytes]], None], how: int = zipfile.ZIP_STORED) -> Path:
    """A copy of an archive with its parts changed."""
    with zipfile.ZipFile(file) as old:
        parts = {each: old.read(each) for each in old.namelist()}
    change(parts)
    place = file.with_name(name)
    with zipfile.ZipFile(place, "w", how) as new:
        for each, content in parts.items():
            new.writestr(each, content)
    return place


def with_listed(parts: dict[str, bytes], name: str, content: bytes) -> None:
    """Puts a part in and into the list as well."""
    parts[name] = content
    document = json.loads(parts["manifest.json"])
    document["files"][name] = {"bytes": len(content), "sha256": hashlib.sha256(content).hexdigest()}
    parts["manifest.json"] = json.dumps(document).encode()


def refused(file: Path, tmp_path: Path) -> str:
    """What a restore says; nothing of it may be left."""
    before = names_beside(tmp_path / "new")
    with pytest.raises(InvalidBackup) as error:
        backups.restore(file, tmp_path / "new")
    assert names_beside(tmp_path / "new") == before
    return str(error.value)


STRANGE = (
    "holds other things than its list says: it was not written by Rackful, or was changed since. Take another backup."
)


@pytest.mark.parametrize(
    "name", ["../evil.txt", "/etc/evil.txt", "photos/../../evil.jpg", "photos\\evil.jpg", "photos/aa/evil.jpg", "x"]
)
def test_a_part_with_a_name_of_its_own_is_refused(file: Path, tmp_path: Path, name: str) -> None:
    evil = changed(file, "evil.zip", lambda parts: with_listed(parts, name, b"evil"))
    assert refused(evil, tmp_path) == f'"{evil}" {STRANGE}'
    assert not list(tmp_path.rglob("*evil.jpg")) and not list(tmp_path.rglob("*evil.txt"))


def test_a_part_that_is_not_in_the_list_or_only_there_is_refused(file: Path, tmp_path: Path) -> None:
    digest = "ab" * 32
    more = changed(file, "more.zip", lambda parts: parts.update({f"photos/ab/{digest}-full.jpg": b"more"}))
    assert refused(more, tmp_path) == f'"{more}" {STRANGE}'
    less = changed(file, "less.zip", lambda parts: [parts.pop(name) for name in list(parts) if "photos" in name])
    assert refused(less, tmp_path) == f'"{less}" {STRANGE}'
    none = changed(file, "none.zip", lambda parts: parts.pop("rackful.sqlite3"))
    assert refused(none, tmp_path) == f'"{none}" {STRANGE}'


def test_an_archive_that_shrinks_its_parts_is_refused_since_it_may_be_a_bomb(file: Path, tmp_path: Path) -> None:
    bomb = changed(
        file, "bomb.zip", lambda parts: with_listed(parts, "rackful.sqlite3", b"\0" * 30_000_000), zipfile.ZIP_DEFLATED
    )
    assert refused(bomb, tmp_path) == f'"{bomb}" {STRANGE}'


def test_parts_that_lie_over_one_another_are_refused(file: Path, tmp_path: Path) -> None:
    # Every entry of the directory is made to point to one part: little bytes, many files.
    content = bytearray(file.read_bytes())
    with zipfile.ZipFile(file) as archive:
        database = archive.getinfo("rackful.sqlite3")
        start = archive.start_dir
        count = len(archive.namelist())
    place = start
    for _ in range(count):
        struct.pack_into("<II", content, place + 20, database.file_size, database.file_size)
        name, extra, comment = struct.unpack_from("<HHH", content, place + 28)
        place += 46 + name + extra + comment
    evil = file.with_name("over.zip")
    evil.write_bytes(content)
    assert refused(evil, tmp_path).startswith(f'"{evil}" ')


def test_a_flipped_bit_anywhere_is_seen(file: Path, tmp_path: Path) -> None:
    sound = file.read_bytes()
    with zipfile.ZipFile(file) as archive:
        places = [entry.header_offset + 30 + len(entry.filename) + 60 for entry in archive.infolist()]
    for place in [*places, len(sound) // 2, len(sound) - 60, 0]:
        spoilt = bytearray(sound)
        spoilt[place] ^= 1
        evil = file.with_name("flipped.zip")
        evil.write_bytes(spoilt)
        assert refused(evil, tmp_path).startswith(f'"{evil}" ')


def test_a_part_that_was_changed_is_named(file: Path, tmp_path: Path) -> None:
    def spoil(parts: dict[str, bytes]) -> None:
        name = next(name for name in parts if name.endswith("full.jpg"))
        parts[name] = b"spoilt"

    evil = changed(file, "changed.zip", spoil)
    with zipfile.ZipFile(evil) as archive:
        name = next(name for name in archive.namelist() if name.endswith("full.jpg"))
    assert refused(evil, tmp_path) == f'"{evil}" is damaged: {name} in it is not what was put in. Take another backup.'


def test_a_photo_under_a_wrong_digest_is_refused_even_when_the_list_agrees(file: Path, tmp_path: Path) -> None:
    def swap(parts: dict[str, bytes]) -> None:
        name = next(name for name in parts if name.endswith("full.jpg"))
        with_listed(parts, name, b"another picture")

    assert "in it is not what was put in." in refused(changed(file, "swapped.zip", swap), tmp_path)


def test_an_archive_that_was_cut_off_is_refused(file: Path, tmp_path: Path) -> None:
    short = file.with_name("short.zip")
    for part in (0, 1, 100, file.stat().st_size // 2, file.stat().st_size - 1):
        short.write_bytes(file.read_bytes()[:part])
        assert refused(short, tmp_path) == (
            f'"{short}" is not a whole backup: it was cut off, or is another kind of file. '
            'Name a file that "rackful backup" wrote.'
        )


def test_another_zip_is_refused(tmp_path: Path) -> None:
    other = tmp_path / "other.zip"
    with zipfile.ZipFile(other, "w") as archive:
        archive.writestr("letter.txt", "Dear Ada")
    assert refused(other, tmp_path) == (
        f'"{other}" is not a backup of a shop. Name a file that "rackful backup" wrote.'
    )


def test_no_file_and_a_folder_are_reported_in_a_sentence(tmp_path: Path) -> None:
    none = tmp_path / "none.zip"
    assert refused(none, tmp_path) == (
        f'"{none}" can\'t be read (no such file or directory). Name a file that "rackful backup" wrote.'
    )
    assert refused(tmp_path, tmp_path) == (
        f'"{tmp_path}" can\'t be read (is a directory). Name a file that "rackful backup" wrote.'
    )


@pytest.mark.parametrize(
    "manifest",
    [b"", b"[]", b"{}", b'{"rackful_backup": "one"}', b"[" * 100_000, b'{"rackful_backup": 1, "made_at": 5}', b"\xff",
     b'{"rackful_backup": 1, "made_at": "2030-01-31", "files": {"rackful.sqlite3": {"bytes": "x"}}}',
     b'{"rackful_backup": 1, "made_at": "2030-01-31", "files": []}'],
)  # fmt: skip
def test_a_list_that_can_t_be_read_is_reported_in_a_sentence(file: Path, tmp_path: Path, manifest: bytes) -> None:
    evil = changed(file, "list.zip", lambda parts: parts.update({"manifest.json": manifest}))
    assert refused(evil, tmp_path) == f'"{evil}" is damaged: its list of contents can\'t be read. Take another.'


def test_an_archive_of_a_newer_program_is_left_for_that(file: Path, tmp_path: Path) -> None:
    newer = changed(file, "newer.zip", lambda parts: parts.update({"manifest.json": b'{"rackful_backup": 2}'}))
    assert refused(newer, tmp_path) == f'"{newer}" was made by a newer Rackful than this one. Update Rackful.'


def database_with(file: Path, statement: str) -> bytes:
    """The database of an archive, changed by one statement."""
    place = file.with_name("changed.sqlite3")
    with zipfile.ZipFile(file) as archive:
        place.write_bytes(archive.read("rackful.sqlite3"))
    connection = sqlite3.connect(place)
    connection.execute(statement)
    connection.commit()
    connection.close()
    return place.read_bytes()


def test_a_database_of_a_newer_program_is_left_for_that(file: Path, tmp_path: Path) -> None:
    database = database_with(file, "UPDATE alembic_version SET version_num = '9999'")
    newer = changed(file, "newer.zip", lambda parts: with_listed(parts, "rackful.sqlite3", database))
    assert refused(newer, tmp_path) == (
        f'"{newer}" was made by a newer Rackful than this one. Update Rackful, then do it again.'
    )


def test_a_database_that_is_none_or_not_sound_is_refused(file: Path, tmp_path: Path) -> None:
    none = changed(file, "none.zip", lambda parts: with_listed(parts, "rackful.sqlite3", b"no database" * 1000))
    assert refused(none, tmp_path) == f'"{none}" is damaged: its database can\'t be read. Take another backup.'
    dangling = database_with(file, "UPDATE photos SET offcut_id = 9999")
    evil = changed(file, "dangling.zip", lambda parts: with_listed(parts, "rackful.sqlite3", dangling))
    assert refused(evil, tmp_path) == (
        f'"{evil}" is damaged: its database is not sound (row 1 of photos points to nothing). Take another backup.'
    )


def test_photos_that_the_database_names_must_be_in_the_archive(file: Path, tmp_path: Path) -> None:
    database = database_with(file, f"UPDATE photos SET digest = '{'ab' * 32}' WHERE id = 1")
    evil = changed(file, "lost.zip", lambda parts: with_listed(parts, "rackful.sqlite3", database))
    assert refused(evil, tmp_path) == (
        f'"{evil}" is not whole: 1 photo of its pieces can\'t be found in it. Take another backup.'
    )


def test_a_shop_whose_database_is_damaged_is_not_backed_up_as_if_it_were_sound(shop: Shop, tmp_path: Path) -> None:
    tagging.tag(shop, ASH)
    connection = sqlite3.connect(shop.database)
    connection.execute("UPDATE events SET offcut_id = 99")
    connection.commit()
    connection.close()
    with pytest.raises(StorageFault) as error:
        backups.backup(shop, tmp_path / "shop.zip")
    assert str(error.value) == (
        f'The shop\'s database "{shop.database}" is damaged (row 1 of events points to nothing): '
        "nothing was backed up. Bring the shop back from the latest backup with rackful restore."
    )
    assert names_beside(shop.folder) == {"shop"}


def test_a_folder_that_is_not_there_takes_no_backup(shop: Shop, tmp_path: Path) -> None:
    with pytest.raises(WriteFailed) as error:
        backups.backup(shop, tmp_path / "none" / "shop.zip")
    assert str(error.value) == (
        f'"{tmp_path}/none/shop.zip" can\'t be written: there is no folder "{tmp_path}/none". Make it, or name another.'
    )


def test_a_full_disk_leaves_the_older_backup_and_no_half_one(shop: Shop, tmp_path: Path) -> None:
    tagging.tag(shop, ASH)
    backups.backup(shop, tmp_path / "shop.zip")
    size = (tmp_path / "shop.zip").stat().st_size
    done = run_on_a_small_disk(
        """
from inventory.core.errors import UserError
from inventory.services import backups
from inventory.shop import Shop
import shutil
old = disk / "shop.zip"
shutil.copy(folder / "shop.zip", old)
before = old.read_bytes()
try:
    with Shop.open(folder / "shop") as shop:
        backups.backup(shop, old)
except UserError as error:
    print(error)
try:
    backups.restore(old, disk / "new")
except UserError as error:
    print(error)
print(old.read_bytes() == before, [place.name for place in disk.iterdir()])
""",
        tmp_path,
        kilobytes=size // 1024 + 60,
    )
    assert done.stderr == ""
    backup, restored, left = done.stdout.splitlines()
    assert "is full" in backup
    assert restored.startswith("The shop takes 1 MB and the disk of ") and restored.endswith(
        " has 0 MB left. Free some space, or name a folder on another disk."
    )
    assert left == "True ['shop.zip']"


def test_a_mount_point_can_t_be_put_aside_and_stays_as_it_was(file: Path, tmp_path: Path) -> None:
    done = run_on_a_small_disk(
        f"""
from inventory.core.errors import UserError
from inventory.services import backups
(disk / "letter.txt").write_text("Dear Ada")
try:
    backups.restore(Path({os.fspath(file)!r}), disk, replace=True)
except UserError as error:
    print(error)
print([place.name for place in disk.iterdir()], sorted(place.name for place in folder.iterdir()))
""",
        tmp_path,
        kilobytes=1000,
    )
    assert done.stderr == ""
    text, left = done.stdout.splitlines()
    assert text == (
        f'"{tmp_path}/small-disk" can\'t be put aside or made anew (device or resource busy): nothing was changed. '
        "Restore into another folder and name that with --data."
    )
    assert left == "['letter.txt'] ['kept', 'shop', 'small-disk']"
