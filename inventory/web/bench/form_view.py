"""What the parts of the form at the bench are made of: choices, bands, and the board drawn as it is typed.

Reads no answer: that is `web.bench_form`; searches nothing.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from markupsafe import Markup
from werkzeug.datastructures import MultiDict

from inventory.core.allowances import ALLOWANCE_MEANINGS, ALLOWANCE_NAMES
from inventory.core.lengths import unit_of
from inventory.core.offcuts import species_key
from inventory.cutting.bands import Band, InvalidBands, bands_of_species
from inventory.cutting.constructions import PANEL_GRAINS
from inventory.cutting.end_grain import MAX_PANELS
from inventory.fill.request import Faces, Grain, InvalidRequest
from inventory.settings import Settings
from inventory.shop import Shop
from inventory.web.bench import board_form
from inventory.web.bench.band_form import PRESETS, TypedBand
from inventory.web.bench.board_form import BoardForm, SpeciesOption
from inventory.web.drawings.board_preview import (
    draw_board_preview,
    row_depth,
    species_swatch,
    species_swatches,
)
from inventory.web.drawings.end_grain_pictures import draw_end_grain, draw_slicing_steps
from inventory.web.drawings.grain_pictures import draw_grain
from inventory.web.drawings.hatching import HatchPatterns


@dataclass(frozen=True)
class FormBand:
    """One band in the form: as typed, the species to choose from, and a patch of its first wood."""

    number: int
    typed: TypedBand
    species: tuple[SpeciesOption, ...]
    sample: Markup

    @property
    def name(self) -> str:
        return f"band{self.number}"

    @property
    def wood(self) -> str:
        return " or ".join(self.typed.species) or "any wood"


@dataclass(frozen=True)
class BoardPreview:
    """The board as asked, drawn, with a legend of its species; or the sentence why it is not drawn."""

    picture: Markup | None
    woods: Sequence[tuple[str, Markup]]
    words: str


FACES_OPTIONS = (
    ("", "any"),
    (Faces.BARE.value, "no old finish"),
    (Faces.PLANED.value, "surfaced on both sides"),
)


def form_parts(shop: Shop, settings: Settings, board: BoardForm, errors: Mapping[str, str]) -> dict[str, Any]:
    """Everything that the form's templates need, by the names they use."""
    stocked = board_form.species_in_shop(shop)
    typed = board.typed
    drawing = build_board_preview(settings, board, stocked)
    return {
        "typed": typed,
        "errors": errors,
        "labels": board_form.LABELS,
        "label_of": board_form.label_of,
        "grains": [(each.value, _grain_label(each), words[1]) for each, words in board_form.GRAIN_LABELS.items()],
        "panel_grains": [(each.value, *board_form.GRAIN_LABELS[each]) for each in PANEL_GRAINS],
        "panels_options": [(str(many), str(many)) for many in range(1, MAX_PANELS + 1)],
        "turning_up": draw_slicing_steps(),
        "species": board_form.species_choices(stocked, typed.getlist("species")),
        "bands": _form_bands(board.typed_bands, stocked),
        "starts": PRESETS.items(),
        "drawing": drawing,
        "preferences": [(each.value, *words) for each, words in board_form.PREFERENCE_LABELS.items()],
        "preferences_ticked": board_form.preferences_ticked(typed),
        "fills_options": board_form.FILLS_OPTIONS,
        "allowances": [(name, ALLOWANCE_MEANINGS[name]) for name in board_form.relevant_allowances(board)],
        "allowances_changed": len(board_form.changed_allowances(typed)),
        "allowances_wrong": any(name in errors for name in (*ALLOWANCE_NAMES, "fills")),
        "eligibility_set": any(typed.get(name, "").strip() for name in board_form.ELIGIBILITY),
        "eligibility_wrong": any(name in errors for name in board_form.ELIGIBILITY),
        "faces_options": FACES_OPTIONS,
        "shortest_machined": settings.allowances.shortest_machined,
        "query": board_form.query(typed),
        "beside": typed.getlist("beside"),
    }


def _grain_label(grain: Grain) -> Markup:
    """The name of a grain with the picture that explains it."""
    picture = draw_end_grain() if grain is Grain.END else draw_grain(grain)
    return Markup('<span class="grain-name">{}</span>{}').format(board_form.GRAIN_LABELS[grain][0], picture)


def _form_bands(bands: Sequence[TypedBand], stocked: Sequence[str]) -> list[FormBand]:
    hatchings = _hatchings(stocked, bands)
    return [
        FormBand(
            number,
            band,
            board_form.species_choices(stocked, band.species),
            species_swatch(next(iter(band.species), ""), hatchings, f"band{number}-sample"),
        )
        for number, band in enumerate(bands, 1)
    ]


def _hatchings(stocked: Sequence[str], bands: Sequence[Band | TypedBand]) -> HatchPatterns:
    return HatchPatterns.of([*stocked, *(name for band in bands for name in band.species)])


def build_board_preview(settings: Settings, asked: BoardForm, stocked: Sequence[str]) -> BoardPreview:
    """The board as far as it can be read, drawn to scale."""
    if asked.bands is None:
        return BoardPreview(None, (), "A band needs correction before the board can be drawn.")
    bands: Sequence[Band] = asked.bands or bands_of_species(asked.typed.getlist("species"))
    hatchings = _hatchings(stocked, bands)
    woods = species_swatches(bands, hatchings, "asked-wood")
    if asked.length is None or asked.width is None:
        return BoardPreview(None, woods, "With its length and width typed, the board is drawn here to scale.")
    try:
        unit = unit_of(asked.typed.get("length", ""), settings.unit)
        depth = row_depth(asked.length, asked.row_depth, unit) if asked.grain is Grain.END else None
        picture = draw_board_preview(
            asked.length, asked.width, bands, depth, settings.allowances, settings.display, hatchings, "asked"
        )
    except (InvalidBands, InvalidRequest) as error:
        return BoardPreview(None, woods, str(error))
    usual = " Rows are drawn as deep as they usually are at most; the answer says which depth is best."
    return BoardPreview(picture, woods, usual if depth and asked.row_depth is None else "")


def ticked_species(typed: MultiDict[str, str]) -> tuple[str, ...]:
    """The species ticked where there are no bands, each once."""
    return tuple({species_key(name): name for name in typed.getlist("species") if name.strip()}.values())
