"""A board kept with the shop as its pages show it: its strips in their order, drawn or with photos.

Knows which records and photos a board's pages need. Lays out and draws nothing
itself: `services.ordering`, `web.shown`.
"""

from __future__ import annotations

from collections.abc import Mapping
from enum import Enum

from flask import request, url_for

from inventory.services import labelling, ordering, picturing
from inventory.storage.photos import PhotoSize
from inventory.storage.records import BoardRecord, OffcutRecord
from inventory.web.at_hand import current_settings, current_shop
from inventory.web.drawings.patterns import Hatchings
from inventory.web.drawings.pictured import Texture
from inventory.web.shown import Shown, show_laid_out


class Look(Enum):
    """How a glue-up is shown; the values stand in addresses."""

    DRAWING = "drawing"
    PHOTOS = "photos"


def asked_look(usual: Look) -> Look:
    """The look that the address asks for, else the usual one of the page."""
    asked = request.args.get("look", "")
    return Look(asked) if asked in {each.value for each in Look} else usual


def records_of(board: BoardRecord) -> dict[str, OffcutRecord]:
    """The records of the offcuts that a board takes, by tag."""
    records = labelling.pieces(current_shop(), [taken.code for taken in board.taken])
    return {record.code: record for record in records}


def textures_of(records: Mapping[str, OffcutRecord]) -> dict[str, Texture]:
    """By tag, the photos that a drawing may show."""
    return {
        code: Texture(
            url_for("tags.photo", digest=found.photo.digest, size=PhotoSize.THUMB.value),
            found.photo.width,
            found.photo.height,
            found.lies,
        )
        for code, found in picturing.pictured(current_shop(), records).items()
    }


def show_board(board: BoardRecord, textures: Mapping[str, Texture] | None = None) -> Shown:
    """A board in the order kept with it, else in the proposed one."""
    hatchings = Hatchings.of(cut.offcut.species for cut in board.fill.cuts)
    settings = current_settings()
    laid = ordering.laid_out(board)
    return show_laid_out(board.fill, laid, settings.workshop, settings.display, hatchings, "board", textures)
