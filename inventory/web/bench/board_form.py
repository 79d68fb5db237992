"""Reads the form at the bench from the address, and builds the addresses of searches.

A search is an address, so that it can be kept and sent; what was typed stays as typed.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from flask import url_for
from werkzeug.datastructures import MultiDict

from inventory.core.allowances import ALLOWANCE_NAMES, Allowances, InvalidAllowance
from inventory.core.lengths import Length, unit_of
from inventory.core.offcuts import species_key
from inventory.cutting.bands import Band, FieldBand
from inventory.cutting.constructions import PANEL_GRAINS, unused_allowances
from inventory.cutting.costs import Preference
from inventory.fill.request import (
    MAX_FILLS,
    BoardRequest,
    Eligibility,
    Grain,
    InvalidRequest,
    Mix,
    PanelSpec,
    read_eligibility,
    read_preferences,
    read_species,
)
from inventory.services.boards import filling
from inventory.services.rack import queries
from inventory.settings import Settings
from inventory.shop import Shop
from inventory.web.bench.band_form import TypedBand, band_label, band_params, read_bands, typed_bands
from inventory.web.forms import Form, FormError
from inventory.wording.construction_text import CONSTRUCTION_TEXTS

SIZE_FIELDS = ("length", "width", "thickness")
PANEL = ("panel_grain", "panels", "row_depth")
FILLS = 3
ELIGIBILITY = ("with", "without", "longest", "faces", "short_work", "batch")
"""What rules pieces out or demands them."""
_NAMES = (*SIZE_FIELDS, "grain", *PANEL, "species", "mix", *ELIGIBILITY, "prefer", "fills", *ALLOWANCE_NAMES, "beside")

LABELS = {name: f"Finished {name}" for name in SIZE_FIELDS} | {
    "grain": "Grain",
    "panel_grain": "The panel's own grain",
    "panels": "Panels",
    "row_depth": "Depth of a row",
    "species": "Species",
    "bands": "Bands",
    "mix": "Species may be mixed",
    "with": "Pieces to use",
    "without": "Pieces to leave out",
    "longest": "Longest piece to cut",
    "faces": "Faces",
    "short_work": "No short pieces",
    "batch": "Only from the batch",
    "prefer": "What matters",
    "fills": "Sets for each",
} | {name: name.replace("_", " ").capitalize() for name in ALLOWANCE_NAMES}  # fmt: skip

GRAIN_LABELS = {grain: (words.name, words.summary) for grain, words in CONSTRUCTION_TEXTS.items()}
PREFERENCE_LABELS = {
    Preference.BEST_USE: ("Best use", "long and wide pieces stay whole; short and narrow ones go first"),
    Preference.LEAST_WASTE: ("Least waste", "the least wood leaves the rack"),
    Preference.FEWEST_PIECES: ("Fewest pieces", "the fewest offcuts are touched"),
    Preference.LEAST_MILLING: ("Least milling", "the least wood is planed away"),
    Preference.OLDEST_FIRST: ("Oldest first", "pieces that were tagged first go first"),
}


@dataclass(frozen=True)
class SpeciesOption:
    """A species to choose, as it is spelled on the rack."""

    name: str
    ticked: bool


def has_search(typed: MultiDict[str, str]) -> bool:
    """Whether the address holds a search; the one that leads to the empty form does not."""
    return any(name in typed for name in SIZE_FIELDS)


@dataclass(frozen=True)
class BoardForm:
    """A board as far as its form can be read, each field read once; `errors` has a sentence for each that can't be.

    Sizes are None where they are 0 or can't be read, `bands` where one of them can't; `request` is None with any error.
    """

    typed: MultiDict[str, str]
    typed_bands: tuple[TypedBand, ...]
    grain: Grain
    panel_grain: Grain
    length: Length | None
    width: Length | None
    row_depth: Length | None
    bands: tuple[Band, ...] | None
    request: BoardRequest | None
    errors: Mapping[str, str]

    @property
    def glue_up_grain(self) -> Grain:
        """The grain in which the strips are glued up, those of the panels for an end-grain board."""
        return self.panel_grain if self.grain is Grain.END else self.grain

    def checked_request(self) -> BoardRequest:
        """The board asked for. Raises FormError."""
        if self.request is None:
            raise FormError(self.errors)
        return self.request


def read_board(shop: Shop, settings: Settings, typed: MultiDict[str, str]) -> BoardForm:
    """Reads the form; bare lengths are in the shop's unit, allowances not typed are the shop's."""
    form, row = Form(typed, settings.unit), typed_bands(typed)
    length, width, thickness = (form.length(name) for name in SIZE_FIELDS)
    grain = form.choice("grain", Grain, 'A board can\'t have "{}" grain. Choose edge, face or end grain.', Grain.EDGE)
    panel_grain, panels, row_depth = _read_panel(form) if grain is Grain.END else (Grain.EDGE, 1, None)
    band_errors: dict[str, str] = {}
    bands = read_bands(row, settings.unit, band_errors)
    form.errors.update(band_errors)
    allowances = _read_allowances(form, settings.allowances)
    mix = form.choice("mix", Mix, 'mix can\'t be "{}". Choose one or free.', Mix.ONE)
    fills = form.integer("fills", 'fills must be a whole number, not "{}".', empty=FILLS)
    request = None
    if not form.errors:
        try:
            request = BoardRequest(
                length,
                width,
                thickness,
                grain,
                bands or _any_of(typed.getlist("species")),
                read_preferences(typed.getlist("prefer") or None),
                fills,
                allowances,
                shop.today(),
                panel=PanelSpec(panel_grain, panels, row_depth),
                eligibility=_read_eligibility(form),
                mix=mix,
                unit=unit_of(form.text("length"), settings.unit),
            )
        except InvalidRequest as error:
            form.reject(_field_of(error, typed), str(error).removeprefix("bands: "))
    if request is not None:
        request = filling.with_current_tags(shop, request)
    return BoardForm(
        typed,
        row,
        grain,
        panel_grain,
        length or None,
        width or None,
        row_depth or None,
        None if band_errors else bands,
        request,
        form.errors,
    )


def _read_eligibility(form: Form) -> Eligibility:
    """Which pieces may serve; tags are separated by commas. Raises InvalidRequest."""
    given: dict[str, object] = {
        name: [tag.strip() for tag in form.text(name).split(",") if tag.strip()] for name in ("with", "without")
    }
    given |= {name: text for name in ("longest", "faces", "batch") if (text := form.text(name))}
    return read_eligibility(given | {"short_work": form.text("short_work") != "no"}, form.unit)


def _read_panel(form: Form) -> tuple[Grain, int, Length | None]:
    grain = form.choice(
        "panel_grain", PANEL_GRAINS, "A panel is glued up in edge or face grain. Choose one of them.", Grain.EDGE
    )
    panels = form.integer("panels", '"{}" is no number of panels. Type 1, 2, 3 …', empty=1)
    return grain, panels, form.length("row_depth") if form.text("row_depth") else None


def _read_allowances(form: Form, shop: Allowances) -> Allowances:
    read = shop
    for name in changed_allowances(form.typed):
        size = form.length(name)
        try:
            read = read.with_value(name, size)
        except InvalidAllowance as error:
            form.reject(name, str(error))
    return read


def _any_of(names: Sequence[str]) -> tuple[Band, ...]:
    """One field of any of these species; no band where none is named."""
    species = read_species([name for name in names if name.strip()])
    return (FieldBand(species),) if species else ()


def changed_allowances(typed: Mapping[str, str]) -> dict[str, str]:
    """The allowances that were typed again for this search; an empty field means the shop's own."""
    return {name: typed[name] for name in ALLOWANCE_NAMES if typed.get(name, "").strip()}


def relevant_allowances(board: BoardForm) -> tuple[str, ...]:
    """The allowances that matter for such a board, and those that were typed anyway."""
    no_matter = unused_allowances(board.glue_up_grain, stripes=any(band.stripe for band in board.typed_bands))
    if board.grain is not Grain.END:
        no_matter |= {"row_trim"}
    changed = changed_allowances(board.typed)
    return tuple(name for name in ALLOWANCE_NAMES if name not in no_matter or name in changed)


def species_in_shop(shop: Shop) -> tuple[str, ...]:
    """The species in the shop, as they are spelled there."""
    return queries.species_here(shop)


def species_choices(stocked: Sequence[str], wanted: Sequence[str]) -> tuple[SpeciesOption, ...]:
    """The species in the shop, and those in the search that the shop no longer has."""
    ticked = {species_key(name): name for name in wanted if name.strip()}
    names = {species_key(name): name for name in stocked}
    return tuple(SpeciesOption(name, key in ticked) for key, name in sorted((ticked | names).items()))


def preferences_ticked(typed: MultiDict[str, str]) -> list[str]:
    """The preferences to show as ticked: all of them where none was chosen."""
    return typed.getlist("prefer") or [each.value for each in Preference]


def query(typed: MultiDict[str, str], **changes: str) -> dict[str, list[str]]:
    """The search as query parameters, with some fields changed; empty fields are left out."""
    bands = typed_bands(typed)
    names = [name for name in _NAMES if not (bands and name == "species")]
    if typed.get("grain") != Grain.END.value:
        names = [name for name in names if name not in PANEL]
    kept = {name: [each for each in typed.getlist(name) if each.strip()] for name in names}
    kept |= {name: [text] if text else [] for name, text in changes.items()}
    return {name: texts for name, texts in kept.items() if texts} | band_params(bands)


def query_with(typed: MultiDict[str, str], bands: Sequence[TypedBand]) -> dict[str, list[str]]:
    """The search as query parameters, with these bands in place of those typed."""
    keys = {name: texts for name, texts in query(typed).items() if not name.startswith("band")}
    return {name: texts for name, texts in keys.items() if not (bands and name == "species")} | band_params(bands)


def address(typed: MultiDict[str, str], **changes: str) -> str:
    """The address of this search, with some fields changed."""
    return url_for("bench.index", **query(typed, **changes))  # type: ignore[arg-type]


def url_to_correct(typed: MultiDict[str, str]) -> str:
    """The address that shows the errors of a search that can't be read, empty sizes included."""
    return url_for("bench.index", **({name: [""] for name in SIZE_FIELDS} | query(typed)))  # type: ignore[arg-type]


def url_for_any_species(typed: MultiDict[str, str]) -> str:
    """The address of this search with any species in every band."""
    keys = {name: texts for name, texts in query(typed).items() if name != "species" and not _of_a_species(name)}
    return url_for("bench.index", **keys)  # type: ignore[arg-type]


def _of_a_species(name: str) -> bool:
    return name.startswith("band") and name.endswith("_species")


def label_of(name: str) -> str:
    """The label of a field in the list of errors."""
    return LABELS.get(name) or band_label(name) or name.capitalize()


def _field_of(error: InvalidRequest, typed: MultiDict[str, str]) -> str:
    if error.what == "bands" and not typed_bands(typed):
        return "species"
    return ("row_depth" if "depth" in str(error) else "panels") if error.what == "panel" else error.what


FILLS_OPTIONS = tuple((str(count), str(count)) for count in range(1, MAX_FILLS + 1))
