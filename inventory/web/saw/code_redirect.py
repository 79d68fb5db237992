"""Where a code leads: its piece, the saw with a blank tag's code, or the page that says it is not known here.

What a code stands for is `scanning`'s to say.
"""

from __future__ import annotations

from flask import url_for

from inventory.core.codes import NotACode, read_scanned
from inventory.services.rack import scanning
from inventory.services.rack.scanning import ReadTag, TagStatus
from inventory.shop import Shop


def address_of(tag: ReadTag) -> str:
    """The page that a tag leads to."""
    if tag.record is not None:
        return url_for("piece.page", code=tag.record.code)
    if tag.standing is TagStatus.BLANK:
        return url_for("tagging.index", code=tag.code)
    return url_for("piece.page", code=tag.code)


def address_of_input(shop: Shop, text: str) -> str | None:
    """Where a text leads that was typed or came from a hand scanner: a code or a tag's address; None for any other.

    A word that happens to look like a code that was never given here is a word.
    """
    try:
        (tag,) = scanning.look_up(shop, [read_scanned(text)])
    except NotACode:
        return None
    return None if tag.standing is TagStatus.STRANGE and "/" not in text else address_of(tag)
