"""The archive of a shop: one zip with the database, the photos, and a list of both.

All parts are stored as they are (photos don't shrink), so that nothing in an archive can unpack to more than the
archive itself.

`manifest.json`, the last part: {"rackful_backup": 1, "made_at": "…", "files": {NAME: {"bytes": N, "sha256": HEX}},
"photos_missing": [DIGEST]}
"""

from __future__ import annotations

import hashlib
import json
import os
import re
import zipfile
from collections.abc import Iterator, Mapping
from contextlib import contextmanager
from dataclasses import dataclass
from datetime import datetime
from pathlib import Path
from typing import IO, Any, BinaryIO

from inventory.core.errors import UserError
from inventory.storage.atomic_write import WriteFailed, fsync_folder, write_error_reason

ARCHIVE_VERSION = 1
MANIFEST = "manifest.json"
DATABASE = "rackful.sqlite3"
_NAME = re.compile(r"rackful\.sqlite3|photos/([0-9a-f]{2})/(\1[0-9a-f]{62})-(full|thumb)\.jpg")
_CHUNK = 1 << 20
_UNREADABLE = (zipfile.BadZipFile, EOFError, ValueError, NotImplementedError)


class InvalidBackup(UserError):
    """A file that is no backup, or not a whole one."""


@dataclass(frozen=True)
class ArchiveMember:
    """One file of the archive: how many bytes, and their SHA-256 in hex."""

    size: int
    sha256: str


@dataclass(frozen=True)
class Contents:
    """What an archive holds. `photos_missing` are digests whose files were gone or damaged when it was made."""

    made_at: datetime
    parts: Mapping[str, ArchiveMember]
    photos_missing: tuple[str, ...] = ()

    @property
    def photos(self) -> frozenset[str]:
        """The digests of the photos in it."""
        return frozenset(found[2] for name in self.parts if (found := _NAME.fullmatch(name)) and found[2])


class ArchiveWriter:
    """Puts files into a new archive; `finish` writes the list and must come last."""

    def __init__(self, opened: zipfile.ZipFile, made_at: datetime) -> None:
        self._zip = opened
        self._made_at = made_at
        self._parts: dict[str, ArchiveMember] = {}

    def put(self, name: str, source: IO[bytes]) -> None:
        """Puts one file in, read from `source` to its end."""
        with self._zip.open(self._entry(name), "w", force_zip64=True) as part:
            self._parts[name] = _copy_hashed(source, part)

    def finish(self, photos_missing: tuple[str, ...]) -> Contents:
        """Writes the list of contents."""
        document = {
            "rackful_backup": ARCHIVE_VERSION,
            "made_at": self._made_at.isoformat(),
            "files": {name: {"bytes": part.size, "sha256": part.sha256} for name, part in self._parts.items()},
            "photos_missing": list(photos_missing),
        }
        self._zip.writestr(self._entry(MANIFEST), json.dumps(document, indent=1))
        return Contents(self._made_at, self._parts, photos_missing)

    def _entry(self, name: str) -> zipfile.ZipInfo:
        # A zip knows no year before 1980 (PKWARE APPNOTE, section 4.4.6; from memory).
        moment = self._made_at.timetuple()[:6] if self._made_at.year >= 1980 else (1980, 1, 1, 0, 0, 0)
        entry = zipfile.ZipInfo(name, moment)
        entry.external_attr = 0o600 << 16
        return entry


class ArchiveReader:
    """An opened archive whose list was read; `check` or `unpack` checks its parts."""

    def __init__(self, opened: zipfile.ZipFile, shown: str, size: int) -> None:
        self._zip = opened
        self._shown = shown
        self.contents = self._read_contents(size)

    def check(self) -> None:
        """Reads every part and compares it with the list. Raises InvalidBackup."""
        for name in self.contents.parts:
            self._copy(name, None)

    def unpack(self, folder: Path) -> None:
        """Writes all parts into a new folder, each compared with the list, all on the disk.

        Raises InvalidBackup, and WriteFailed where the disk is full; what was written
        by then stays for the caller to remove.
        """
        folders = {folder}
        try:
            folder.mkdir()
            for name in self.contents.parts:
                place = folder / name
                place.parent.mkdir(parents=True, exist_ok=True)
                folders.update((place.parent, place.parent.parent))
                with place.open("xb") as file:
                    self._copy(name, file)
                    file.flush()
                    os.fsync(file.fileno())
            for each in folders:
                fsync_folder(each)
        except OSError as error:
            raise WriteFailed(f"{self._shown} can't be unpacked: {write_error_reason(error, folder.parent)}") from error

    def _copy(self, name: str, target: IO[bytes] | None) -> None:
        part = self.contents.parts[name]
        try:
            with self._zip.open(name) as source:
                found = _copy_hashed(source, target)
        except _UNREADABLE:
            found = None
        digest = _NAME.fullmatch(name)
        if found != part or (digest and digest[3] == "full" and digest[2] != part.sha256):
            raise InvalidBackup(f"{self._shown} is damaged: {name} in it is not what was put in. Take another backup.")

    def _read_contents(self, size: int) -> Contents:
        entries = self._zip.infolist()
        names = [entry.filename for entry in entries]
        if MANIFEST not in names:
            raise InvalidBackup(f'{self._shown} is not a backup of a shop. Name a file that "rackful backup" wrote.')
        strange = InvalidBackup(
            f"{self._shown} holds other things than its list says: it was not written by Rackful, or was changed "
            "since. Take another backup."
        )
        # Rackful never writes compressed, encrypted or overlapping parts: nothing may unpack to more than the archive.
        stored = all(entry.compress_type == zipfile.ZIP_STORED and not entry.flag_bits & 1 for entry in entries)
        if not stored or sum(entry.file_size for entry in entries) > size or len(set(names)) != len(names):
            raise strange
        try:
            contents = _read_manifest(json.loads(self._zip.read(MANIFEST)))
        except (*_UNREADABLE, TypeError, KeyError, AttributeError, RecursionError):
            raise InvalidBackup(
                f"{self._shown} is damaged: its list of contents can't be read. Take another."
            ) from None
        if contents is None:
            raise InvalidBackup(f"{self._shown} was made by a newer Rackful than this one. Update Rackful.")
        known = all(_NAME.fullmatch(name) for name in contents.parts)
        if not known or DATABASE not in names or set(names) != {*contents.parts, MANIFEST}:
            raise strange
        return contents


@contextmanager
def new_archive(stream: BinaryIO, made_at: datetime) -> Iterator[ArchiveWriter]:
    """An archive to be written to `stream`, which stays open; it is complete once the block ends."""
    with zipfile.ZipFile(stream, "w", zipfile.ZIP_STORED) as opened:
        yield ArchiveWriter(opened, made_at)


@contextmanager
def open_archive(source: BinaryIO, shown: str) -> Iterator[ArchiveReader]:
    """Opens an archive; `shown` is how messages name it. Raises InvalidBackup."""
    size = source.seek(0, os.SEEK_END)
    source.seek(0)
    try:
        opened = zipfile.ZipFile(source)
    except (*_UNREADABLE, OSError):
        raise InvalidBackup(
            f"{shown} is not a whole backup: it was cut off, or is another kind of file. "
            'Name a file that "rackful backup" wrote.'
        ) from None
    with opened:
        yield ArchiveReader(opened, shown, size)


def _read_manifest(document: Any) -> Contents | None:
    """The list, None where a newer program wrote it; the caller turns other errors into a sentence."""
    version = document["rackful_backup"]
    if version > ARCHIVE_VERSION:
        return None
    return Contents(
        made_at=datetime.fromisoformat(document["made_at"]),
        parts={
            str(name): ArchiveMember(int(part["bytes"]), str(part["sha256"]))
            for name, part in document["files"].items()
        },
        photos_missing=tuple(str(digest) for digest in document["photos_missing"]),
    )


def _copy_hashed(source: IO[bytes], target: IO[bytes] | None) -> ArchiveMember:
    mark, size = hashlib.sha256(), 0
    while chunk := source.read(_CHUNK):
        mark.update(chunk)
        size += len(chunk)
        if target is not None:
            target.write(chunk)
    return ArchiveMember(size, mark.hexdigest())
