"""The photo field of a form: pictures that were sent, kept across a form that has to be fixed.

A browser can't be given a file back, so a good picture is kept at once and the fixed form carries a signed slip in
its place.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from typing import BinaryIO, cast

from itsdangerous import BadSignature, URLSafeSerializer
from werkzeug.datastructures import FileStorage

from inventory.core.errors import UserError
from inventory.shop import Shop
from inventory.storage.photos import read_photo
from inventory.storage.records import StoredPhoto

_SALT = "photo kept for a form"


@dataclass(frozen=True)
class SavedPhoto:
    """A photo on disk that no piece has yet, and the slip that stands for it in a form."""

    photo: StoredPhoto
    slip: str


@dataclass(frozen=True)
class UploadedPhotos:
    """What came with a form: the photos that are good, and one sentence for each that is not."""

    kept: tuple[SavedPhoto, ...]
    faults: tuple[str, ...]

    @property
    def photos(self) -> tuple[StoredPhoto, ...]:
        return tuple(each.photo for each in self.kept)

    @property
    def fault(self) -> str:
        """All that is wrong, and what became of the rest; empty where nothing is."""
        if not self.faults:
            return ""
        rest = "Everything else you gave is kept: choose that photo again or go on without it."
        return " ".join((*self.faults, rest))


def save_uploads(shop: Shop, files: Iterable[FileStorage], tokens: Sequence[str]) -> UploadedPhotos:
    """Keeps the pictures of a form, together with those that an earlier try of it kept.

    A slip that wasn't written here is passed over.
    """
    signer = URLSafeSerializer(shop.settings().secret_key, salt=_SALT)
    kept = {photo.digest: photo for photo in _read_signed(signer, tokens)}
    faults = []
    for file in files:
        if not file.filename:
            continue
        try:
            photo = shop.photos.keep(read_photo(cast(BinaryIO, file.stream), file.filename))
            kept[photo.digest] = photo
        except UserError as fault:
            faults.append(str(fault))
    return UploadedPhotos(tuple(SavedPhoto(photo, _sign(signer, photo)) for photo in kept.values()), tuple(faults))


def _sign(signer: URLSafeSerializer, photo: StoredPhoto) -> str:
    return str(signer.dumps([photo.digest, photo.width, photo.height]))


def _read_signed(signer: URLSafeSerializer, tokens: Sequence[str]) -> Iterable[StoredPhoto]:
    for slip in tokens:
        try:
            digest, width, height = signer.loads(slip)
        except BadSignature:
            continue
        yield StoredPhoto(digest, width, height)
