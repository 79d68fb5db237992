"""Labelling: which pieces want a label, what stands on it, and blank tags.

Knows the words of a label. Knows nothing of millimetres or PDF: that is `labels`.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from inventory.settings import Settings
from inventory.shop import Shop
from inventory.storage.records import OffcutRecord


@dataclass(frozen=True)
class LabelWords:
    """What stands on a label. `qr` is the text of the code, `photo` the digest of the main photo."""

    code: str
    shown_code: str
    qr: str
    species: str
    sizes: str
    condition: str
    location: str
    photo: str | None = None


def queue(shop: Shop) -> tuple[OffcutRecord, ...]:
    """The pieces in the shop whose label is wanted, in the order in which they came into the queue."""
    raise NotImplementedError


def mark_printed(shop: Shop, codes: Sequence[str]) -> int:
    """Takes pieces out of the queue and notes it in their history; answers how many were in it. Raises NoSuchPiece."""
    raise NotImplementedError


def put_back(shop: Shop, codes: Sequence[str]) -> int:
    """Puts pieces into the queue (again); answers how many were not in it. Raises NoSuchPiece."""
    raise NotImplementedError


def pieces(shop: Shop, codes: Sequence[str]) -> tuple[OffcutRecord, ...]:
    """The pieces with these codes, in this order, for a selection. Raises NotACode, NoSuchPiece."""
    raise NotImplementedError


def words(record: OffcutRecord, settings: Settings) -> LabelWords:
    """What stands on the label of this piece: sizes as the shop shows them, species and bundle, faces, location."""
    raise NotImplementedError


def blank_words(code: str, settings: Settings) -> LabelWords:
    """What stands on a blank tag: the code alone."""
    raise NotImplementedError


def blank_codes(shop: Shop, how_many: int) -> tuple[str, ...]:
    """Fresh codes for blank tags, noted as given; `tagging.tag(code=…)` ties one to a piece later. Raises Mendable."""
    raise NotImplementedError


def qr_text(code: str, settings: Settings) -> str:
    """What the QR holds: the address in upper case, or the code alone where no address is set (contract, "Tags")."""
    raise NotImplementedError
