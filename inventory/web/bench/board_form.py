"""The form at the bench, as it stands in the address: a board asked for, and how a search is linked to.

A search is an address, so that it can be kept and sent; what was typed stays as typed. Reads lengths with the
measures' own reader.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from flask import url_for
from werkzeug.datastructures import MultiDict

from inventory.core.allowances import ALLOWANCE_NAMES, NotAnAllowance
from inventory.core.errors import UserError
from inventory.core.lengths import Length, NotALength, Unit, read_length
from inventory.core.offcuts import species_key
from inventory.cutting.bands import Band
from inventory.cutting.constructions import PANEL_GRAINS, unused_allowances
from inventory.cutting.costs import Preference
from inventory.fill.request import MAX_FILLS, BoardRequest, Grain, InvalidRequest
from inventory.services.boards import filling
from inventory.services.rack import queries
from inventory.settings import Settings
from inventory.shop import Shop
from inventory.web.bench.band_form import TypedBand, band_label, band_params, read_bands, typed_bands
from inventory.wording.construction_text import CONSTRUCTION_TEXTS

SIZE_FIELDS = ("length", "width", "thickness")
PANEL = ("panel_grain", "panels", "row_depth")
FILLS = 3
_NAMES = (*SIZE_FIELDS, "grain", *PANEL, "species", "prefer", "fills", *ALLOWANCE_NAMES, "beside")

LABELS = {name: f"Finished {name}" for name in SIZE_FIELDS} | {
    "grain": "Grain",
    "panel_grain": "The panel's own grain",
    "panels": "Panels",
    "row_depth": "Depth of a row",
    "species": "Species",
    "bands": "Bands",
    "prefer": "What matters",
    "fills": "Sets for each",
} | {name: name.replace("_", " ").capitalize() for name in ALLOWANCE_NAMES}  # fmt: skip

GRAIN_LABELS = {grain: (words.name, words.summary) for grain, words in CONSTRUCTION_TEXTS.items()}
PREFERENCE_LABELS = {
    Preference.LEAST_WASTE: ("Least waste", "the least wood leaves the rack"),
    Preference.FEWEST_PIECES: ("Fewest pieces", "the fewest offcuts are touched"),
    Preference.LEAST_MILLING: ("Least milling", "the least to flatten or strip of finish"),
    Preference.CLEAR_OUT: ("Clear-out", "what has lain longest goes first"),
}


class InvalidBoardForm(UserError):
    """Answers of the form that can't be; `errors` has a sentence by field."""

    def __init__(self, errors: Mapping[str, str]) -> None:
        super().__init__(next(iter(errors.values())))
        self.errors = dict(errors)


@dataclass(frozen=True)
class SpeciesChoice:
    """One species to choose, as it is spelt on the rack."""

    name: str
    ticked: bool


def has_search(typed: MultiDict[str, str]) -> bool:
    """Whether the address holds a search, not just the way to the form."""
    return any(name in typed for name in SIZE_FIELDS)


def read_board_request(shop: Shop, settings: Settings, typed: MultiDict[str, str]) -> BoardRequest:
    """The board asked for. Raises AskedWrongly with a sentence for every field that needs fixing."""
    errors: dict[str, str] = {}
    for name in SIZE_FIELDS:
        _read(typed.get(name, ""), name, settings.unit, errors)
    if _grain(typed, "grain") is None:
        errors["grain"] = f'A board can\'t have "{typed["grain"]}" grain. Choose edge, face or end grain.'
    is_end = _grain(typed, "grain") is Grain.END
    if is_end:
        _check_panel(typed, settings.unit, errors)
    read_bands(typed_bands(typed), settings.unit, errors)
    changed = changed_allowances(typed)
    for name, text in changed.items():
        try:
            settings.allowances.changed({name: text}, settings.unit)
        except (NotALength, NotAnAllowance) as error:
            errors[name] = str(error)
    if errors:
        raise InvalidBoardForm(errors)
    try:
        return filling.request(shop, _document(typed, changed, is_end))
    except InvalidRequest as error:
        raise InvalidBoardForm({_field_of(error, typed): str(error).removeprefix("bands: ")}) from None


def _read(text: str, name: str, unit: Unit, errors: dict[str, str]) -> Length | None:
    try:
        return read_length(text, unit)
    except NotALength as error:
        errors[name] = str(error)
        return None


def _grain(typed: MultiDict[str, str], name: str) -> Grain | None:
    word = typed.get(name) or Grain.EDGE.value
    return next((each for each in Grain if each.value == word), None)


def _check_panel(typed: MultiDict[str, str], unit: Unit, errors: dict[str, str]) -> None:
    if _grain(typed, "panel_grain") not in PANEL_GRAINS:
        errors["panel_grain"] = "A panel is glued up in edge or face grain. Choose one of them."
    if _read_count(typed.get("panels", "") or "1") is None:
        errors["panels"] = f'"{typed["panels"]}" is no number of panels. Type 1, 2, 3 …'
    if typed.get("row_depth", "").strip():
        _read(typed["row_depth"], "row_depth", unit, errors)


def _read_count(text: str) -> int | None:
    text = text.strip()
    return int(text) if text.isascii() and text.isdigit() and len(text) <= 3 else None


def changed_allowances(typed: MultiDict[str, str]) -> dict[str, str]:
    """The allowances that were typed again for this search; an empty field means the shop's own."""
    return {name: typed[name] for name in ALLOWANCE_NAMES if typed.get(name, "").strip()}


def relevant_allowances(typed: MultiDict[str, str]) -> tuple[str, ...]:
    """The allowances that matter for such a board, and those that were typed anyway."""
    glued = _grain(typed, "panel_grain") if _grain(typed, "grain") is Grain.END else _grain(typed, "grain")
    grain = glued if glued in PANEL_GRAINS else Grain.EDGE
    no_matter = unused_allowances(grain, stripes=any(band.stripe for band in typed_bands(typed)))
    changed = changed_allowances(typed)
    return tuple(name for name in ALLOWANCE_NAMES if name not in no_matter or name in changed)


def species_in_shop(shop: Shop) -> tuple[str, ...]:
    """The species in the shop, each as it is spelt there."""
    return queries.species_here(shop)


def species_choices(stocked: Sequence[str], wanted: Sequence[str]) -> tuple[SpeciesChoice, ...]:
    """The species in the shop, and those wanted that the shop has no more."""
    ticked = {species_key(name): name for name in wanted if name.strip()}
    names = {species_key(name): name for name in stocked}
    return tuple(SpeciesChoice(name, key in ticked) for key, name in sorted((ticked | names).items()))


def preferences_ticked(typed: MultiDict[str, str]) -> list[str]:
    """The preferences to show as ticked: all of them where none was chosen."""
    return typed.getlist("prefer") or [each.value for each in Preference]


def query(typed: MultiDict[str, str], **changes: str) -> dict[str, list[str]]:
    """The search as the keys of an address, with some answers changed; empty answers are left out."""
    bands = typed_bands(typed)
    names = [name for name in _NAMES if not (bands and name == "species")]
    if _grain(typed, "grain") is not Grain.END:
        names = [name for name in names if name not in PANEL]
    kept = {name: [each for each in typed.getlist(name) if each.strip()] for name in names}
    kept |= {name: [text] if text else [] for name, text in changes.items()}
    return {name: texts for name, texts in kept.items() if texts} | band_params(bands)


def query_with(typed: MultiDict[str, str], bands: Sequence[TypedBand]) -> dict[str, list[str]]:
    """The keys of an address with these bands in place of those typed."""
    keys = {name: texts for name, texts in query(typed).items() if not name.startswith("band")}
    return {name: texts for name, texts in keys.items() if not (bands and name == "species")} | band_params(bands)


def address(typed: MultiDict[str, str], **changes: str) -> str:
    """The address of this search, with some answers changed."""
    return url_for("bench.front", **query(typed, **changes))  # type: ignore[arg-type]


def url_to_correct(typed: MultiDict[str, str]) -> str:
    """The address of a search that can't be read yet: what was left empty is asked for there."""
    return url_for("bench.front", **({name: [""] for name in SIZE_FIELDS} | query(typed)))  # type: ignore[arg-type]


def url_for_any_species(typed: MultiDict[str, str]) -> str:
    """The address of this search with any wood in every field and stripe."""
    keys = {name: texts for name, texts in query(typed).items() if name != "species" and not _of_a_species(name)}
    return url_for("bench.front", **keys)  # type: ignore[arg-type]


def _of_a_species(name: str) -> bool:
    return name.startswith("band") and name.endswith("_species")


def label_of(name: str) -> str:
    """What a field is called in the list of answers to fix."""
    return LABELS.get(name) or band_label(name) or name.capitalize()


def _document(typed: MultiDict[str, str], changed: Mapping[str, str], is_end: bool) -> dict[str, object]:
    """The form's answers as a request document; each of them can be read."""
    document: dict[str, object] = {name: typed.get(name, "") for name in SIZE_FIELDS}
    document["grain"] = typed.get("grain") or Grain.EDGE.value
    bands = [_band_document(band) for band in typed_bands(typed)]
    species = [name for name in typed.getlist("species") if name.strip()]
    if bands or species:
        document["bands"] = bands or [{"species": species}]
    if is_end:
        document["panel"] = {
            "grain": typed.get("panel_grain") or Grain.EDGE.value,
            "count": _read_count(typed.get("panels", "") or "1"),
            "row_depth": typed.get("row_depth", "").strip() or None,
        }
    if typed.getlist("prefer"):
        document["prefer"] = typed.getlist("prefer")
    fills = typed.get("fills", "").strip() or str(FILLS)
    document["fills"] = fills if _read_count(fills) is None else _read_count(fills)
    if changed:
        document["allowances"] = dict(changed)
    return document


def _band_document(band: TypedBand) -> dict[str, object]:
    if band.stripe:
        return {"species": list(band.species), "strips": int(band.strips.strip() or "1"), "each": band.each}
    return {"species": list(band.species), "weight": int(band.weight.strip() or "1")}


def _field_of(error: InvalidRequest, typed: MultiDict[str, str]) -> str:
    if error.what == "bands" and not typed_bands(typed):
        return "species"
    return ("row_depth" if "depth" in str(error) else "panels") if error.what == "panel" else error.what


FILLS_OPTIONS = tuple((str(count), str(count)) for count in range(1, MAX_FILLS + 1))


@dataclass(frozen=True)
class PartialBoard:
    """What is known of the board while it is typed; `bands` is None where one of them can't be read yet."""

    length: Length | None
    width: Length | None
    grain: Grain
    bands: tuple[Band, ...] | None
    row_depth: Length | None


def read_partial_board(typed: MultiDict[str, str], unit: Unit) -> PartialBoard:
    """As much of the board as can be read now, for its drawing."""
    errors: dict[str, str] = {}
    bands = read_bands(typed_bands(typed), unit, errors)
    length, width = (_read(typed.get(name, ""), name, unit, {}) or None for name in ("length", "width"))
    depth = _read(typed.get("row_depth", ""), "row_depth", unit, {}) or None
    return PartialBoard(length, width, _grain(typed, "grain") or Grain.EDGE, None if errors else bands, depth)
