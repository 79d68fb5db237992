"""Safekeeping: the whole shop into one archive, and back out of it.

Knows what belongs to a shop and when a folder may be replaced. The archive
itself is `inventory.storage.archive`'s.
"""

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

from inventory.core.errors import Mendable
from inventory.services.access import device_sessions
from inventory.shop import DATABASE_NAME, PHOTO_FOLDER, Shop, local_now
from inventory.storage.archive import DATABASE, ArchiveWriter, Contents, NotABackup, new_archive, opened_archive
from inventory.storage.atomic_write import PRIVATE, NotWritten, make_folder, settle, whole_file
from inventory.storage.engine import faults_of
from inventory.storage.errors import StorageFault
from inventory.storage.offline import InUse, codes_in, gather_log, keys_turned_away, photo_digests
from inventory.storage.photos import NoSuchPhoto, PhotoSize
from inventory.storage.upgrade import revision_of, revisions

__all__ = ["BackedUp", "FolderTaken", "NotABackup", "Restored", "backup", "restore"]


class FolderTaken(Mendable):
    """A folder that holds something already and is not written over."""


@dataclass(frozen=True)
class BackedUp:
    """A backup that was written and read back. `photos_missing` are digests whose files are gone or damaged."""

    file: Path
    size: int
    photos: int
    photos_missing: tuple[str, ...]


@dataclass(frozen=True)
class Restored:
    """A shop that was brought back. `put_aside` is where the folder went that stood there before.

    `codes_held` counts the codes that were given there since the backup; None
    where that shop was too damaged to tell.
    """

    folder: Path
    made_at: datetime
    photos: int
    photos_missing: tuple[str, ...]
    put_aside: Path | None
    codes_held: int | None


def backup(shop: Shop, file: Path) -> BackedUp:
    """Writes database and photos, as they are at this moment, into one archive, while the shop stays open.

    The archive is read back and compared before it takes its name, so that an
    older backup of this name is only replaced by a sound one. A file that is no
    backup is not written over. Raises FolderTaken, NotWritten, StorageFault.
    """
    _spare_other_files(file)
    made_at = shop.now()
    with whole_file(file, PRIVATE) as stream:
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
        with opened_archive(stream, f'"{file}"') as archive:
            archive.check()
            if archive.contents != contents:
                raise StorageFault(f'"{file}" does not read back as it was written. Check that disk, or use another.')
    return BackedUp(file, file.stat().st_size, len(contents.photos), missing)


def restore(file: Path, folder: Path, *, replace: bool = False, now: Callable[[], datetime] = local_now) -> Restored:
    """Brings a shop back from a backup into `folder`, wholly or not at all.

    Everything is unpacked beside the folder and checked before it takes its
    place. A folder that holds anything is left alone, or put aside under another
    name with `replace`; codes that were given there since the backup stay given,
    devices that were turned away there stay out.
    Raises NotABackup, FolderTaken, NotWritten, StorageFault.
    """
    target = folder.resolve()
    held_by = _what_is_in(target)
    if held_by and not replace:
        raise FolderTaken(f'"{folder}" holds {held_by}. Name another folder, or add --replace to put it aside.')
    shown = f'"{file}"'
    incoming = target.with_name(f".{target.name}-incoming-{secrets.token_hex(4)}")
    with _opened(file) as source, opened_archive(source, shown) as archive:
        contents = archive.contents
        make_folder(target.parent)
        _check_room(contents, target.parent)
        try:
            archive.unpack(incoming)
            _check_shop(incoming, contents, shown)
            held = _hold_codes(incoming, _codes_left_behind(target), now)
            _keep_out(incoming, target, now)
            aside = _put_in_place(incoming, target, now())
        finally:
            shutil.rmtree(incoming, ignore_errors=True)
    return Restored(folder, contents.made_at, len(contents.photos), contents.photos_missing, aside, held)


def _spare_other_files(file: Path) -> None:
    """Raises FolderTaken where `file` is there and is no backup: a slip in the name must not cost a file."""
    try:
        if not file.is_file() or file.stat().st_size == 0:
            return
        with file.open("rb") as source, opened_archive(source, f'"{file}"'):
            return
    except (OSError, NotABackup):
        raise FolderTaken(f'"{file}" is there already and is no backup. Name another file, or delete it.') from None


def _sound_copy(shop: Shop, scratch: Path) -> Path:
    copy = scratch / DATABASE
    shop.copy_database(copy)
    faults = faults_of(copy)
    if faults:
        raise StorageFault(
            f'The shop\'s database "{shop.database}" is damaged ({faults[0]}): nothing was backed up. '
            "Bring the shop back from the latest backup with rackful restore."
        )
    return copy


def _put_photo(shop: Shop, writer: ArchiveWriter, digest: str) -> bool:
    """Puts both sizes of a photo in; False where they are not there or not what they were."""
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
        raise NotABackup(
            f'"{file}" can\'t be read ({(error.strerror or str(error)).lower()}). '
            'Name a file that "rackful backup" wrote.'
        ) from None
    with source:
        yield source


def _what_is_in(target: Path) -> str:
    """What stands in the way, in words; empty where nothing does."""
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
        raise NotWritten(
            f'The shop takes {needed // 1_000_000 + 1} MB and the disk of "{folder}" has {free // 1_000_000} MB left. '
            "Free some space, or name a folder on another disk."
        )


def _check_shop(incoming: Path, contents: Contents, shown: str) -> None:
    """Raises NotABackup where what was unpacked is no sound shop that this program can open."""
    database = incoming / DATABASE_NAME
    try:
        faults = faults_of(database)
        revision = revision_of(database)
        wanted = set() if faults else set(photo_digests(database))
    except StorageFault:
        raise NotABackup(f"{shown} is damaged: its database can't be read. Take another backup.") from None
    if faults:
        raise NotABackup(f"{shown} is damaged: its database is not sound ({faults[0]}). Take another backup.")
    if revision not in revisions():
        raise NotABackup(f"{shown} was made by a newer Rackful than this one. Update Rackful, then do it again.")
    lost = wanted - contents.photos - set(contents.photos_missing)
    if lost:
        photos = "1 photo" if len(lost) == 1 else f"{len(lost)} photos"
        raise NotABackup(f"{shown} is not whole: {photos} of its pieces can't be found in it. Take another backup.")


def _codes_left_behind(target: Path) -> frozenset[str] | None:
    """The codes given in the shop that is to be put aside, None where it is too damaged to tell.

    Raises StorageFault where another program has that shop open.
    """
    database = target / DATABASE_NAME
    if not database.is_file():
        return frozenset()
    try:
        gather_log(database)
        return codes_in(database)
    except InUse:
        raise
    except StorageFault:
        return None


def _hold_codes(incoming: Path, given: frozenset[str] | None, now: Callable[[], datetime]) -> int | None:
    with Shop.open(incoming, now=now) as shop:
        if given is None:
            return None
        new = given - shop.given_codes()
        shop.hold_codes(new)
    return len(new)


def _keep_out(incoming: Path, target: Path, now: Callable[[], datetime]) -> None:
    """A phone that was lost since the backup does not come in again by it."""
    database = target / DATABASE_NAME
    if not database.is_file():
        return
    away: frozenset[str] = frozenset()
    # A shop too damaged to tell is told of by its codes already.
    with suppress(StorageFault):
        away = keys_turned_away(database)
    if away:
        with Shop.open(incoming, now=now) as shop:
            device_sessions.keep_out(shop, away)


def _put_in_place(incoming: Path, target: Path, now: datetime) -> Path | None:
    """Renames, so that the folder is the old one or the new one at any time but the moment between."""
    aside = None
    try:
        if target.is_dir() and not any(target.iterdir()):
            target.rmdir()
        elif target.exists():
            aside = _free_name(target, now)
            target.rename(aside)
        try:
            incoming.rename(target)
        except OSError:
            if aside is not None:
                aside.rename(target)
            raise
        settle(target.parent)
    except OSError as error:
        raise NotWritten(
            f'"{target}" can\'t be put aside or made anew ({(error.strerror or str(error)).lower()}): nothing was '
            "changed. Restore into another folder and name that with --data."
        ) from error
    return aside


def _free_name(target: Path, now: datetime) -> Path:
    number = 1
    aside = target.with_name(f"{target.name}-before-restore-{now:%Y-%m-%d-%H%M%S}")
    while aside.exists():
        number += 1
        aside = target.with_name(f"{target.name}-before-restore-{now:%Y-%m-%d-%H%M%S}-{number}")
    return aside
