"""A board on its way as its pages show it: a round of it, drawn or with the photos of its offcuts."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from enum import Enum

from flask import request, url_for

from inventory.core.whole_numbers import read_integer
from inventory.layout.positions import FillLayout
from inventory.layout.rounds import Round
from inventory.services.boards import making
from inventory.services.boards.making import ProposedLeftover
from inventory.services.labels import label_content
from inventory.services.rack import photo_outline
from inventory.storage.photos import PhotoSize
from inventory.storage.records import BoardRecord, OffcutRecord
from inventory.web.bench.answer_view import FillView, build_layout_view
from inventory.web.bench.glue_up_views import GlueUpView, build_glue_up_views
from inventory.web.drawings.hatching import HatchPatterns
from inventory.web.drawings.photo_texture import Texture
from inventory.web.request_context import current_settings, current_shop


class GlueUpStyle(Enum):
    """How a glue-up is shown; the values are part of addresses."""

    DRAWING = "drawing"
    PHOTOS = "photos"


def requested_style(usual: GlueUpStyle) -> GlueUpStyle:
    """The style that the address asks for, else the usual one of the page."""
    asked = request.args.get("look", "")
    return GlueUpStyle(asked) if asked in {each.value for each in GlueUpStyle} else usual


def board_offcuts(board: BoardRecord) -> dict[str, OffcutRecord]:
    """The records of the offcuts that a board takes, by tag."""
    records = label_content.pieces(current_shop(), [taken.code for taken in board.taken])
    return {record.code: record for record in records}


def textures_of(records: Mapping[str, OffcutRecord]) -> dict[str, Texture]:
    """By tag, the photos that a drawing may show."""
    return {
        code: Texture(
            url_for("piece.photo", digest=found.photo.digest, size=PhotoSize.THUMB.value),
            found.photo.width,
            found.photo.height,
            found.placement,
        )
        for code, found in photo_outline.pictured(current_shop(), records).items()
    }


def build_board_view(
    board: BoardRecord, fill_layout: FillLayout, part: Round, textures: Mapping[str, Texture] | None = None
) -> FillView:
    """A round of a board, `fill_layout` in its order; the figures are those of the whole."""
    settings = current_settings()
    return build_layout_view(
        fill_layout, settings.workshop, settings.display, _hatchings(board), "board", textures, part
    )


def build_board_glue_up_views(
    board: BoardRecord, part: Round, textures: Mapping[str, Texture] | None
) -> tuple[GlueUpView, ...]:
    """The glue-ups of a round alone, each drawn."""
    return build_glue_up_views(part, current_settings().display, _hatchings(board), "board", textures, each_alone=True)


def _hatchings(board: BoardRecord) -> HatchPatterns:
    return HatchPatterns.of(cut.offcut.species for cut in board.fill.cuts)


def requested_round(rounds: Sequence[Round]) -> Round:
    """The round that the address asks for, counted from 1; else the first."""
    number = read_integer(request.args.get("round", ""), 1) or 1
    return rounds[min(number, len(rounds)) - 1]


def letters_of(fill_layout: FillLayout) -> dict[str, str]:
    """By tag, the letters that its pieces go by in the drawings."""
    by_tag: dict[str, list[str]] = {}
    for (tag, _), letter in fill_layout.letters.items():
        by_tag.setdefault(tag, []).append(letter)
    return {tag: ", ".join(letters) for tag, letters in by_tag.items()}


def letter_of_cut(board: BoardRecord, fill_layout: FillLayout) -> list[str]:
    """For each cut of the fill, the letter of the piece it is made in."""
    letters = fill_layout.letters
    return [letters[cut.offcut.tag, cut.piece] for cut in board.fill.cuts]


def proposed_leftovers_of(board: BoardRecord, fill_layout: FillLayout) -> list[ProposedLeftover]:
    """The plan's leftovers in the order of the drawings' letters."""
    places = {piece: place for place, piece in enumerate(fill_layout.letters)}
    cuts = board.fill.cuts
    return sorted(
        making.leftovers_of(current_shop(), board),
        key=lambda each: places[cuts[each.cut].offcut.tag, cuts[each.cut].piece],
    )
