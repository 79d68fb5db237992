"""Backup and restore: the whole shop as one archive (`inventory.storage.archive`)."""

from __future__ import annotations

import hashlib
import secrets
import shutil
import tempfile
from collections.abc import Callable, Iterator
from contextlib import contextmanager, suppress
from dataclasses import dataclass
from datetime import datetime
from io import BytesIO
from pathlib import Path
from typing import BinaryIO

from inventory.core.errors import UserError
from inventory.services.access import device_sessions
from inventory.shop import DATABASE_NAME, PHOTO_FOLDER, Shop, local_now
from inventory.storage.archive import DATABASE, ArchiveWriter, Contents, InvalidBackup, new_archive, open_archive
from inventory.storage.atomic_write import PRIVATE, WriteFailed, atomic_write, fsync_folder, make_folder
from inventory.storage.engine import integrity_faults
from inventory.storage.errors import StorageFault
from inventory.storage.offline import DatabaseInUse, checkpoint_wal, issued_codes_in, photo_digests, revoked_key_hashes
from inventory.storage.photos import NoSuchPhoto, PhotoSize
from inventory.storage.upgrade import revision_of, revisions

__all__ = ["BackupResult", "FolderTaken", "InvalidBackup", "RestoreResult", "backup", "restore"]


class FolderTaken(UserError):
    """A folder or file that exists and is not overwritten."""


@dataclass(frozen=True)
class BackupResult:
    """A backup that was written and read back. `photos_missing` are digests whose files are gone or damaged."""

    file: Path
    size: int
    photos: int
    photos_missing: tuple[str, ...]


@dataclass(frozen=True)
class RestoreResult:
    """A restored shop. `moved_to` is where the former folder is now.

    `codes_reserved` counts the codes that were given there since the backup; None
    where that shop was too damaged to read.
    """

    folder: Path
    made_at: datetime
    photos: int
    photos_missing: tuple[str, ...]
    moved_to: Path | None
    codes_reserved: int | None


def backup(shop: Shop, file: Path) -> BackupResult:
    """Writes database and photos, as they are at this moment, into one archive, while the shop stays open.

    The archive is read back and compared before it takes its name, so that an
    older backup of this name is only replaced by a sound one. A file that is no
    backup is not written over. Raises FolderTaken, WriteFailed, StorageFault.
    """
    _check_overwrite(file)
    made_at = shop.now()
    with atomic_write(file, PRIVATE) as stream:
        with (
            tempfile.TemporaryDirectory(prefix=".rackful-", dir=file.resolve().parent) as scratch,
            new_archive(stream, made_at) as writer,
        ):
            copy = _sound_copy(shop, Path(scratch))
            with copy.open("rb") as source:
                writer.put(DATABASE, source)
            # A photo's files are on the disk before its row is, and are never taken away:
            # every photo that the copy names is there by now.
            missing = tuple(digest for digest in photo_digests(copy) if not _put_photo(shop, writer, digest))
            contents = writer.finish(missing)
        with open_archive(stream, f'"{file}"') as archive:
            archive.check()
            if archive.contents != contents:
                raise StorageFault(f'"{file}" does not read back as it was written. Check that disk, or use another.')
    return BackupResult(file, file.stat().st_size, len(contents.photos), missing)


def restore(
    file: Path, folder: Path, *, replace: bool = False, now: Callable[[], datetime] = local_now
) -> RestoreResult:
    """Restores a shop from a backup into `folder`, all of it or nothing.

    Everything is unpacked beside the folder and checked before it replaces it. A
    folder with any content is left alone, or with `replace` moved to another name;
    codes that were given there since the backup stay given, devices that were
    removed there stay removed.
    Raises InvalidBackup, FolderTaken, WriteFailed, StorageFault.
    """
    target = folder.resolve()
    held_by = _existing_content(target)
    if held_by and not replace:
        raise FolderTaken(f'"{folder}" holds {held_by}. Name another folder, or add --replace to put it aside.')
    shown = f'"{file}"'
    incoming = target.with_name(f".{target.name}-incoming-{secrets.token_hex(4)}")
    with _opened(file) as source, open_archive(source, shown) as archive:
        contents = archive.contents
        make_folder(target.parent)
        _check_room(contents, target.parent)
        try:
            archive.unpack(incoming)
            _check_shop(incoming, contents, shown)
            held = _hold_codes(incoming, _codes_in_old_shop(target), now)
            _revoke_devices(incoming, target, now)
            moved_to_path = _swap_in(incoming, target, now())
        finally:
            shutil.rmtree(incoming, ignore_errors=True)
    return RestoreResult(folder, contents.made_at, len(contents.photos), contents.photos_missing, moved_to_path, held)


def _check_overwrite(file: Path) -> None:
    """Raises FolderTaken where `file` is there and is no backup: a slip in the name must not cost a file."""
    try:
        if not file.is_file() or file.stat().st_size == 0:
            return
        with file.open("rb") as source, open_archive(source, f'"{file}"'):
            return
    except (OSError, InvalidBackup):
        raise FolderTaken(f'"{file}" is there already and is no backup. Name another file, or delete it.') from None


def _sound_copy(shop: Shop, scratch: Path) -> Path:
    copy = scratch / DATABASE
    shop.copy_database(copy)
    faults = integrity_faults(copy)
    if faults:
        raise StorageFault(
            f'The shop\'s database "{shop.database}" is damaged ({faults[0]}): nothing was backed up. '
            "Bring the shop back from the latest backup with rackful restore."
        )
    return copy


def _put_photo(shop: Shop, writer: ArchiveWriter, digest: str) -> bool:
    """Adds both sizes of a photo; False where a file is missing or changed."""
    try:
        full, thumb = (shop.photos.path(digest, size).read_bytes() for size in (PhotoSize.FULL, PhotoSize.THUMB))
    except (NoSuchPhoto, OSError):
        return False
    if hashlib.sha256(full).hexdigest() != digest:
        return False
    for size, content in ((PhotoSize.FULL, full), (PhotoSize.THUMB, thumb)):
        writer.put(f"{PHOTO_FOLDER}/{digest[:2]}/{digest}-{size.value}.jpg", BytesIO(content))
    return True


@contextmanager
def _opened(file: Path) -> Iterator[BinaryIO]:
    try:
        source = file.open("rb")
    except OSError as error:
        raise InvalidBackup(
            f'"{file}" can\'t be read ({(error.strerror or str(error)).lower()}). '
            'Name a file that "rackful backup" wrote.'
        ) from None
    with source:
        yield source


def _existing_content(target: Path) -> str:
    """What the folder holds, in words; empty where it may be used."""
    if (target / DATABASE_NAME).exists():
        return "a shop already"
    if target.is_dir():
        return "other files" if any(target.iterdir()) else ""
    if target.exists():
        raise FolderTaken(f'"{target}" is a file, not a folder. Name a folder.')
    return ""


def _check_room(contents: Contents, folder: Path) -> None:
    needed = sum(part.size for part in contents.parts.values())
    free = shutil.disk_usage(folder).free
    if needed > free:
        raise WriteFailed(
            f'The shop takes {needed // 1_000_000 + 1} MB and the disk of "{folder}" has {free // 1_000_000} MB left. '
            "Free some space, or name a folder on another disk."
        )


def _check_shop(incoming: Path, contents: Contents, shown: str) -> None:
    """Raises InvalidBackup where the unpacked files are not a sound shop that this program can open."""
    database = incoming / DATABASE_NAME
    try:
        faults = integrity_faults(database)
        revision = revision_of(database)
        wanted = set() if faults else set(photo_digests(database))
    except StorageFault:
        raise InvalidBackup(f"{shown} is damaged: its database can't be read. Take another backup.") from None
    if faults:
        raise InvalidBackup(f"{shown} is damaged: its database is not sound ({faults[0]}). Take another backup.")
    if revision not in revisions():
        raise InvalidBackup(f"{shown} was made by a newer Rackful than this one. Update Rackful, then do it again.")
    lost = wanted - contents.photos - set(contents.photos_missing)
    if lost:
        photos = "1 photo" if len(lost) == 1 else f"{len(lost)} photos"
        raise InvalidBackup(f"{shown} is not whole: {photos} of its pieces can't be found in it. Take another backup.")


def _codes_in_old_shop(target: Path) -> frozenset[str] | None:
    """The codes given in the shop that is to be replaced, None where it is too damaged to read.

    Raises StorageFault where another program has that shop open.
    """
    database = target / DATABASE_NAME
    if not database.is_file():
        return frozenset()
    try:
        checkpoint_wal(database)
        return issued_codes_in(database)
    except DatabaseInUse:
        raise
    except StorageFault:
        return None


def _hold_codes(incoming: Path, given: frozenset[str] | None, now: Callable[[], datetime]) -> int | None:
    with Shop.open(incoming, now=now) as shop:
        if given is None:
            return None
        new = given - shop.issued_codes()
        shop.reserve_codes(new)
    return len(new)


def _revoke_devices(incoming: Path, target: Path, now: Callable[[], datetime]) -> None:
    """Keeps a device that was removed since the backup removed."""
    database = target / DATABASE_NAME
    if not database.is_file():
        return
    away: frozenset[str] = frozenset()
    # A shop too damaged to read was reported when its codes were read.
    with suppress(StorageFault):
        away = revoked_key_hashes(database)
    if away:
        with Shop.open(incoming, now=now) as shop:
            device_sessions.revoke_keys(shop, away)


def _swap_in(incoming: Path, target: Path, now: datetime) -> Path | None:
    """Renames both folders; only between the two calls is there none under the name."""
    moved_to_path = None
    try:
        if target.is_dir() and not any(target.iterdir()):
            target.rmdir()
        elif target.exists():
            moved_to_path = _free_name(target, now)
            target.rename(moved_to_path)
        try:
            incoming.rename(target)
        except OSError:
            if moved_to_path is not None:
                moved_to_path.rename(target)
            raise
        fsync_folder(target.parent)
    except OSError as error:
        raise WriteFailed(
            f'"{target}" can\'t be put aside or made anew ({(error.strerror or str(error)).lower()}): nothing was '
            "changed. Restore into another folder and name that with --data."
        ) from error
    return moved_to_path


def _free_name(target: Path, now: datetime) -> Path:
    number = 1
    moved_to_path = target.with_name(f"{target.name}-before-restore-{now:%Y-%m-%d-%H%M%S}")
    while moved_to_path.exists():
        number += 1
        moved_to_path = target.with_name(f"{target.name}-before-restore-{now:%Y-%m-%d-%H%M%S}-{number}")
    return moved_to_path
