"""The address that a code leads to: its piece, the form for a blank tag, or the page of an unknown code."""

from __future__ import annotations

from flask import url_for

from inventory.core.codes import InvalidCode, read_scanned
from inventory.services.rack import scanning
from inventory.services.rack.scanning import ReadTag, TagStatus
from inventory.shop import Shop


def address_of(tag: ReadTag) -> str:
    """The page that a tag leads to."""
    if tag.record is not None:
        return url_for("piece.page", code=tag.record.code)
    if tag.status is TagStatus.BLANK:
        return url_for("tagging.index", code=tag.code)
    return url_for("piece.page", code=tag.code)


def address_of_input(shop: Shop, text: str) -> str | None:
    """The page for a typed or scanned text that is a code or the address of a tag; None for any other text.

    A word that only looks like a code, and was never issued here, is other text.
    """
    try:
        (tag,) = scanning.look_up(shop, [read_scanned(text)])
    except InvalidCode:
        return None
    return None if tag.status is TagStatus.STRANGE and "/" not in text else address_of(tag)
