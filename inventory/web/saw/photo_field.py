"""The photo field of a form: uploaded photos that outlive a rejected form.

A form can't be given a file back, so a good photo is stored at once, and the rejected form carries a signed
token for it.
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
    """A stored photo that no piece has yet, and the signed token for it in the form."""

    photo: StoredPhoto
    token: str


@dataclass(frozen=True)
class UploadedPhotos:
    """The photos of a form that are good, and one sentence for each that is not."""

    kept: tuple[SavedPhoto, ...]
    errors: tuple[str, ...]

    @property
    def photos(self) -> tuple[StoredPhoto, ...]:
        return tuple(each.photo for each in self.kept)

    @property
    def error_text(self) -> str:
        """All errors as one text; empty where there is none."""
        if not self.errors:
            return ""
        rest = "Everything else you gave is kept: choose that photo again or go on without it."
        return " ".join((*self.errors, rest))


def save_uploads(shop: Shop, files: Iterable[FileStorage], tokens: Sequence[str]) -> UploadedPhotos:
    """Stores the photos of a form, together with those of its earlier submissions.

    A token that was not signed here is ignored.
    """
    signer = URLSafeSerializer(shop.settings().secret_key, salt=_SALT)
    kept = {photo.digest: photo for photo in _read_signed(signer, tokens)}
    errors = []
    for file in files:
        if not file.filename:
            continue
        try:
            photo = shop.photos.keep(read_photo(cast(BinaryIO, file.stream), file.filename))
            kept[photo.digest] = photo
        except UserError as error:
            errors.append(str(error))
    return UploadedPhotos(tuple(SavedPhoto(photo, _sign(signer, photo)) for photo in kept.values()), tuple(errors))


def _sign(signer: URLSafeSerializer, photo: StoredPhoto) -> str:
    return str(signer.dumps([photo.digest, photo.width, photo.height]))


def _read_signed(signer: URLSafeSerializer, tokens: Sequence[str]) -> Iterable[StoredPhoto]:
    for token in tokens:
        try:
            digest, width, height = signer.loads(token)
        except BadSignature:
            continue
        yield StoredPhoto(digest, width, height)
