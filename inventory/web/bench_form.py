"""The form at the bench, as it stands in the address: a board asked for, and how a search is linked to.

Knows the form's names. A search is an address, so that it can be kept and sent;
what was typed stays as typed. Reads lengths with the measures' own reader.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from flask import url_for
from werkzeug.datastructures import MultiDict

from inventory.cutting.cost import Preference
from inventory.errors import Mendable
from inventory.fill.request import MOST_FILLS, BoardRequest, Grain, NotARequest
from inventory.measures import NotALength, read_length
from inventory.pieces import ALLOWANCE_NAMES, NotAnAllowance, species_key
from inventory.services import filling, finding
from inventory.settings import Settings
from inventory.shop import Shop

SIZES = ("length", "width", "thickness")
# A board of one field is never resawn: what concerns leaves changes nothing here.
ALLOWANCES = tuple(name for name in ALLOWANCE_NAMES if name not in ("resaw_kerf", "leaf_clean"))
FILLS = 3
_NAMES = (*SIZES, "grain", "species", "prefer", "fills", *ALLOWANCES)

LABELS = {name: f"Finished {name}" for name in SIZES} | {
    "grain": "Grain",
    "species": "Species",
    "prefer": "What matters",
    "fills": "Sets for each",
} | {name: name.replace("_", " ").capitalize() for name in ALLOWANCES}  # fmt: skip

GRAIN_WORDS = {
    Grain.EDGE: ("Edge grain", "strips turned on edge, glued face to face"),
    Grain.FACE: ("Face grain", "strips laid flat, glued edge to edge"),
}
PREFERENCE_WORDS = {
    Preference.LEAST_WASTE: ("Least waste", "the least wood leaves the rack"),
    Preference.FEWEST_PIECES: ("Fewest pieces", "the fewest offcuts are touched"),
    Preference.LEAST_MILLING: ("Least milling", "the least to flatten or strip of finish"),
    Preference.CLEAR_OUT: ("Clear-out", "what has lain longest goes first"),
}


class AskedWrongly(Mendable):
    """Answers of the form that can't be; `errors` has a sentence by field."""

    def __init__(self, errors: Mapping[str, str]) -> None:
        super().__init__(next(iter(errors.values())))
        self.errors = dict(errors)


@dataclass(frozen=True)
class SpeciesChoice:
    """One species to choose, as it is spelt on the rack."""

    name: str
    ticked: bool


def is_asked(typed: MultiDict[str, str]) -> bool:
    """Whether the address holds a search, not just the way to the form."""
    return any(name in typed for name in SIZES)


def read_asked(shop: Shop, settings: Settings, typed: MultiDict[str, str]) -> BoardRequest:
    """The board asked for. Raises AskedWrongly with a sentence for every field that needs mending."""
    errors: dict[str, str] = {}
    for name in SIZES:
        try:
            read_length(typed.get(name, ""), settings.unit)
        except NotALength as error:
            errors[name] = str(error)
    changed = changed_allowances(typed)
    for name, text in changed.items():
        try:
            settings.allowances.changed({name: text}, settings.unit)
        except (NotALength, NotAnAllowance) as error:
            errors[name] = str(error)
    grain = typed.get("grain") or Grain.EDGE.value
    if grain not in {each.value for each in GRAIN_WORDS}:
        errors["grain"] = f'A board can\'t have "{grain}" grain here. Choose edge grain or face grain.'
    if errors:
        raise AskedWrongly(errors)
    try:
        return filling.request(shop, _document(typed, changed))
    except NotARequest as error:
        raise AskedWrongly({_field_of(error): str(error)}) from None


def changed_allowances(typed: MultiDict[str, str]) -> dict[str, str]:
    """The allowances that were typed anew for this search; an empty field means the shop's own."""
    return {name: typed[name] for name in ALLOWANCES if typed.get(name, "").strip()}


def species_choices(shop: Shop, typed: MultiDict[str, str]) -> tuple[SpeciesChoice, ...]:
    """The species in the shop, and those of the address that the shop has no more."""
    wanted = {species_key(name): name for name in typed.getlist("species") if name.strip()}
    names = {species_key(name): name for name in finding.choices(shop).species if name}
    return tuple(SpeciesChoice(name, key in wanted) for key, name in sorted((wanted | names).items()))


def preferences_ticked(typed: MultiDict[str, str]) -> list[str]:
    """The preferences to show as ticked: all of them where none was chosen."""
    return typed.getlist("prefer") or [each.value for each in Preference]


def query(typed: MultiDict[str, str], **changes: str) -> dict[str, list[str]]:
    """The search as the keys of an address, with some answers changed; empty answers are left out."""
    kept = {name: [each for each in typed.getlist(name) if each.strip()] for name in _NAMES}
    kept |= {name: [text] if text else [] for name, text in changes.items()}
    return {name: texts for name, texts in kept.items() if texts}


def address(typed: MultiDict[str, str], **changes: str) -> str:
    """The address of this search, with some answers changed."""
    return url_for("bench.front", **query(typed, **changes))  # type: ignore[arg-type]


def _document(typed: MultiDict[str, str], changed: Mapping[str, str]) -> dict[str, object]:
    """The form's answers as a request document."""
    document: dict[str, object] = {name: typed.get(name, "") for name in SIZES}
    document["grain"] = typed.get("grain") or Grain.EDGE.value
    species = [name for name in typed.getlist("species") if name.strip()]
    if species:
        document["bands"] = [{"species": species}]
    if typed.getlist("prefer"):
        document["prefer"] = typed.getlist("prefer")
    fills = typed.get("fills", "").strip() or str(FILLS)
    document["fills"] = int(fills) if fills.isascii() and fills.isdigit() and len(fills) <= 3 else fills
    if changed:
        document["allowances"] = dict(changed)
    return document


def _field_of(error: NotARequest) -> str:
    return "species" if error.what == "bands" else error.what


FILLS_OPTIONS = tuple((str(count), str(count)) for count in range(1, MOST_FILLS + 1))
