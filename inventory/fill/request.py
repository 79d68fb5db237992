"""A request for a board: sizes, grain, species, preference, which pieces may serve (contract, "Request").

Sizes are `Length`.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import date
from enum import Enum
from typing import Any, TypeVar

from inventory.core.allowances import ALLOWANCE_NAMES, Allowances, InvalidAllowance
from inventory.core.codes import format_tag, read_tag
from inventory.core.errors import UserError
from inventory.core.lengths import InvalidLength, Length, Unit, mm_text, read_length, unit_of
from inventory.core.offcuts import MAX_NAME_LENGTH, species_key
from inventory.cutting.alternatives import GlueUpSpec, glue_up_spec
from inventory.cutting.bands import MAX_BANDS, Band, Demand, FieldBand, InvalidBands, StripeBand, demands
from inventory.cutting.constructions import Grain as Grain
from inventory.cutting.costs import Preference as Preference
from inventory.cutting.end_grain import MAX_PANELS

EnumT = TypeVar("EnumT", bound=Enum)


class InvalidRequest(UserError):
    """A request that cannot be read; `what` is the key that is wrong."""

    def __init__(self, message: str, what: str = "") -> None:
        super().__init__(message)
        self.what = what


MIN_BOARD_SIZE = Length(1_000_000)
MAX_BOARD_SIZE = Length(10_000_000_000)
MAX_FILLS, MAX_BOARDS, MAX_TAGS = 10, 999, 200
_KEYS = {
    "length", "width", "thickness", "unit", "grain", "panel", "count", "bands", "prefer", "fills",
    "allowances", "on", "mix", "without", "with", "longest", "faces", "short_work", "batch",
}  # fmt: skip


@dataclass(frozen=True)
class PanelSpec:
    """How the panels of an end-grain board are made: their own grain, how many, and the row depth if chosen."""

    grain: Grain = Grain.EDGE
    panels: int = 1
    row_depth: Length | None = None

    def __post_init__(self) -> None:
        if self.grain is Grain.END:
            raise InvalidRequest("A panel is glued up in edge or face grain, not in end grain. Choose one.", "panel")
        if not 1 <= self.panels <= MAX_PANELS:
            raise InvalidRequest(f"A board is made from 1 to {MAX_PANELS} panels, not {self.panels}.", "panel")
        if self.row_depth is not None and self.row_depth < MIN_BOARD_SIZE:
            label = "0" if self.row_depth <= 0 else "under 1 mm"
            raise InvalidRequest(
                f"The row depth is {label}. Type the finished thickness of the panel, or leave it out.", "panel"
            )


class Mix(Enum):
    """Whether a pool or stripe may mix the species that it accepts; the values are the contract's words."""

    ONE = "one"
    FREE = "free"


class Faces(Enum):
    """What the faces of a piece must be; the values are the contract's words."""

    ANY = "any"
    BARE = "bare"
    PLANED = "planed"


@dataclass(frozen=True)
class Eligibility:
    """Which pieces a request rules out or demands (cutting model, section 8).

    `without` are tags that are not taken, `required` tags that each give at least one strip (`with` in files).
    No piece longer than `longest` is cut; without `short_work` none shorter than the allowance `shortest_machined`.
    """

    without: tuple[str, ...] = ()
    required: tuple[str, ...] = ()
    longest: Length | None = None
    faces: Faces = Faces.ANY
    short_work: bool = True
    batch: str = ""

    def __post_init__(self) -> None:
        for name, tags in (("without", self.without), ("with", self.required)):
            if len(tags) > MAX_TAGS:
                raise InvalidRequest(f"{name} names {len(tags)} tags, over {MAX_TAGS}. Take some off.", name)
        if both := set(self.without) & set(self.required):
            raise InvalidRequest(
                f'"{format_tag(min(both))}" is under both with and without. Take it off one of them.', "with"
            )
        if self.longest is not None and self.longest <= 0:
            raise InvalidRequest(
                "longest is 0: no piece is so short. Type the length of the longest piece, or leave it out.", "longest"
            )
        if len(self.batch) > MAX_NAME_LENGTH:
            raise InvalidRequest(f"batch is longer than {MAX_NAME_LENGTH} letters. Shorten it.", "batch")


@dataclass(frozen=True)
class BoardRequest:
    """One board, or `count` identical boards, to be filled from the rack.

    No `bands` means one field of any species. `allowances` are complete: the shop's, replaced by the request's own.
    A document without `mix` is read as `Mix.ONE`. `unit` is that in which the length was typed.
    """

    length: Length
    width: Length
    thickness: Length
    grain: Grain = Grain.EDGE
    bands: tuple[Band, ...] = ()
    prefer: tuple[Preference, ...] = tuple(Preference)
    fills: int = 3
    allowances: Allowances = field(default_factory=Allowances)
    on: date = date(2000, 1, 1)
    count: int = 1
    panel: PanelSpec = PanelSpec()
    eligibility: Eligibility = Eligibility()
    mix: Mix = Mix.FREE
    unit: Unit = Unit.INCH

    def __post_init__(self) -> None:
        for name in ("length", "width", "thickness"):
            if getattr(self, name) <= 0:
                raise InvalidRequest(f"The board's {name} is 0. Type the finished {name}.", name)
            if getattr(self, name) < MIN_BOARD_SIZE:
                raise InvalidRequest(f"The board's {name} is under 1 mm. Check the unit.", name)
            if getattr(self, name) > MAX_BOARD_SIZE:
                raise InvalidRequest(f"The board's {name} is over 10 m. Check the unit.", name)
        if not 1 <= self.fills <= MAX_FILLS:
            raise InvalidRequest(f"fills must be 1 to {MAX_FILLS}, not {self.fills}.", "fills")
        if not 1 <= self.count <= MAX_BOARDS:
            raise InvalidRequest(f"count must be 1 to {MAX_BOARDS} boards, not {self.count}.", "count")
        if len(self.bands) > MAX_BANDS:
            raise InvalidRequest(f"A board has at most {MAX_BANDS} bands. Put some of them together.", "bands")
        try:
            self.demands()
        except InvalidBands as error:
            raise InvalidRequest(f"bands: {error}", "bands") from None

    @property
    def species(self) -> tuple[str, ...]:
        """Every species that some band names; empty if any band accepts any species."""
        if not all(band.species for band in self.bands):
            return ()
        return tuple(dict.fromkeys(name for band in self.bands for name in band.species))

    @property
    def glue_up(self) -> GlueUpSpec:
        """The glue-up of an edge-grain or face-grain board."""
        return glue_up_spec(self.length, self.width, self.thickness, self.allowances)

    def demands(self) -> tuple[Demand, ...]:
        """The pools and stripes of the board's glue-up (cutting model, section 7)."""
        return demands(self.bands, self.width, self.allowances.side_trim)


def read_request(given: Mapping[str, Any], shop: Allowances, unit: Unit, today: date) -> BoardRequest:
    """The request that a document of the contract describes.

    `shop`, `unit` and `today` stand where it names no allowances, no unit and no day. Raises InvalidRequest.
    """
    unknown = sorted(set(given) - _KEYS)
    if unknown:
        raise InvalidRequest(
            f'"{unknown[0]}" is no key of a request. Known are: {", ".join(sorted(_KEYS))}.', unknown[0]
        )
    unit = _read_enum(Unit, given.get("unit", unit.value), "unit")
    sizes = {name: _read_size(given, name, unit) for name in ("length", "width", "thickness")}
    return BoardRequest(
        **sizes,
        grain=_read_enum(Grain, given.get("grain", "edge"), "grain"),
        bands=_read_bands(given.get("bands"), unit),
        prefer=read_preferences(given.get("prefer")),
        fills=_read_integer(given.get("fills", 3), "fills"),
        allowances=_read_allowances(given.get("allowances"), shop, unit),
        on=_read_day(given.get("on"), today),
        count=_read_integer(given.get("count", 1), "count"),
        panel=_read_panel(given.get("panel"), unit),
        eligibility=read_eligibility(given, unit),
        mix=_read_enum(Mix, given.get("mix", Mix.ONE.value), "mix"),
        unit=unit if "unit" in given else unit_of(str(given["length"]), unit),
    )


def _read_size(given: Mapping[str, Any], name: str, unit: Unit) -> Length:
    if name not in given:
        raise InvalidRequest(f'The request has no {name}. Add "{name}", for example "18 in".', name)
    return _read_length_text(given[name], name, unit)


def _read_length_text(value: Any, name: str, unit: Unit) -> Length:
    if isinstance(value, bool) or not isinstance(value, (str, int)):
        raise InvalidRequest(f'"{name}" must be a text such as "18 in" or "457 mm".', name)
    try:
        return read_length(str(value), unit)
    except InvalidLength as error:
        raise InvalidRequest(f"{name}: {error}", name) from None


def _read_enum(enum: type[EnumT], value: Any, name: str) -> EnumT:
    try:
        return enum(value)
    except ValueError:
        words = ", ".join(str(each.value) for each in enum)
        raise InvalidRequest(f'{name} can\'t be "{value}". Choose one of: {words}.', name) from None


def _read_integer(value: Any, name: str, label: str = "") -> int:
    """The whole number of the key `name`; messages call it `label` where given."""
    if isinstance(value, bool) or not isinstance(value, int):
        raise InvalidRequest(f'{label or name} must be a whole number, not "{value}".', name)
    return value


def read_preferences(value: Any) -> tuple[Preference, ...]:
    """The preferences of a list of their names, each once; all of them where it is None. Raises InvalidRequest."""
    if value is None:
        return tuple(Preference)
    if not isinstance(value, list) or not value:
        raise InvalidRequest('prefer must be a list of preferences, such as ["least-waste"].', "prefer")
    return tuple(dict.fromkeys(_read_enum(Preference, each, "prefer") for each in value))


def _read_bands(value: Any, unit: Unit) -> tuple[Band, ...]:
    if value is None:
        return ()
    if not isinstance(value, list) or not value or not all(isinstance(band, dict) for band in value):
        raise InvalidRequest('bands must be a list of bands, such as [{"species": ["ash"], "weight": 1}].', "bands")
    try:
        return tuple(_read_band(band, unit) for band in value)
    except (InvalidBands, InvalidLength) as error:
        raise InvalidRequest(f"bands: {error}", "bands") from None


def _read_band(band: Mapping[str, Any], unit: Unit) -> Band:
    stripe = "strips" in band or "each" in band
    known = {"species", "strips", "each"} if stripe else {"species", "weight"}
    unknown = sorted(set(band) - known)
    if unknown:
        raise InvalidRequest(
            f'bands: "{unknown[0]}" is no key of {"a stripe" if stripe else "a field"}. '
            f"Known are: {', '.join(sorted(known))}.",
            "bands",
        )
    species = read_species(band.get("species", []))
    if not stripe:
        return FieldBand(species, _read_integer(band.get("weight", 1), "bands", "bands: weight"))
    if "each" not in band:
        raise InvalidRequest('bands: a stripe needs "each", the width of one strip, such as "1/4 in".', "bands")
    strips = _read_integer(band.get("strips", 1), "bands", "bands: strips")
    return StripeBand(species, strips, _read_length_text(band["each"], "bands", unit))


def read_species(names: Any) -> tuple[str, ...]:
    """The species of a list of names, each once, as they are compared. Raises InvalidRequest."""
    if not isinstance(names, list) or not all(isinstance(name, str) and name.strip() for name in names):
        raise InvalidRequest('species must be a list of names, such as ["ash"]; leave it out for any.', "bands")
    if any(len(name) > MAX_NAME_LENGTH for name in names):
        raise InvalidRequest(f"A species is longer than {MAX_NAME_LENGTH} letters. Shorten it.", "bands")
    return tuple(dict.fromkeys(species_key(name) for name in names))


def _read_panel(value: Any, unit: Unit) -> PanelSpec:
    if value is None:
        return PanelSpec()
    if not isinstance(value, dict) or set(value) - {"grain", "count", "row_depth"}:
        raise InvalidRequest(
            'panel must be an object such as {"grain": "edge", "count": 1, "row_depth": "40 mm"}.', "panel"
        )
    depth = value.get("row_depth")
    return PanelSpec(
        _read_enum(Grain, value.get("grain", "edge"), "panel"),
        _read_integer(value.get("count", 1), "panel", "panel: count"),
        None if depth is None else _read_length_text(depth, "panel", unit),
    )


def read_eligibility(given: Mapping[str, Any], unit: Unit) -> Eligibility:
    """What a document rules out or demands, keys left out demanding nothing. Raises InvalidRequest."""
    longest = given.get("longest")
    return Eligibility(
        without=_read_tags(given.get("without"), "without"),
        required=_read_tags(given.get("with"), "with"),
        longest=None if longest is None else _read_length_text(longest, "longest", unit),
        faces=_read_enum(Faces, given.get("faces", Faces.ANY.value), "faces"),
        short_work=_read_truth(given.get("short_work", True), "short_work"),
        batch=_read_batch(given.get("batch")),
    )


def _read_tags(value: Any, name: str) -> tuple[str, ...]:
    if value is None:
        return ()
    if not isinstance(value, list) or not all(isinstance(tag, str) and tag.strip() for tag in value):
        raise InvalidRequest(f'{name} must be a list of tags, such as ["4G7-M2KM"].', name)
    return tuple(dict.fromkeys(map(read_tag, value)))


def _read_truth(value: Any, name: str) -> bool:
    if not isinstance(value, bool):
        raise InvalidRequest(f'{name} must be true or false, not "{value}".', name)
    return value


def _read_batch(value: Any) -> str:
    if value is None:
        return ""
    if not isinstance(value, str) or not value.strip():
        raise InvalidRequest('batch must be a word, such as "elm 2029"; leave it out for any.', "batch")
    return value.strip()


def _read_allowances(value: Any, shop: Allowances, unit: Unit) -> Allowances:
    if value is None:
        return shop
    if not isinstance(value, dict):
        raise InvalidRequest('allowances must be an object, such as {"rip_kerf": "3/32 in"}.', "allowances")
    for name, each in value.items():
        if isinstance(each, bool) or not isinstance(each, (str, int)):
            raise InvalidRequest(f'"{name}" must be a text such as "1/8 in".', "allowances")
        if name in ALLOWANCE_NAMES:
            _read_length_text(each, name, unit)
    try:
        return shop.changed({name: str(each) for name, each in value.items()}, unit)
    except InvalidAllowance as error:
        raise InvalidRequest(f"allowances: {error}", "allowances") from None


def _read_day(value: Any, today: date) -> date:
    if value is None:
        return today
    try:
        return date.fromisoformat(value)
    except (TypeError, ValueError):
        raise InvalidRequest(f'on can\'t be "{value}". Type a day as 2030-01-31.', "on") from None


def request_document(request: BoardRequest) -> dict[str, Any]:
    """The request as JSON that reads back as the same request, with all allowances, sizes in mm."""
    document: dict[str, Any] = {
        **{name: f"{mm_text(getattr(request, name))} mm" for name in ("length", "width", "thickness")},
        "unit": request.unit.value,
        "grain": request.grain.value,
        "count": request.count,
    }
    if request.grain is Grain.END:
        depth = request.panel.row_depth
        document["panel"] = {
            "grain": request.panel.grain.value,
            "count": request.panel.panels,
            "row_depth": None if depth is None else f"{mm_text(depth)} mm",
        }
    if request.bands:
        document["bands"] = [_band_document(band) for band in request.bands]
    return (
        document
        | _eligibility_document(request.eligibility)
        | {
            "mix": request.mix.value,
            "prefer": [each.value for each in request.prefer],
            "fills": request.fills,
            "allowances": {name: f"{mm_text(getattr(request.allowances, name))} mm" for name in ALLOWANCE_NAMES},
            "on": request.on.isoformat(),
        }
    )


def _eligibility_document(eligibility: Eligibility) -> dict[str, Any]:
    """The keys that rule out or demand something; those left out read back as no demand."""
    document = {
        "without": list(eligibility.without),
        "with": list(eligibility.required),
        "longest": None if eligibility.longest is None else f"{mm_text(eligibility.longest)} mm",
        "faces": None if eligibility.faces is Faces.ANY else eligibility.faces.value,
        "batch": eligibility.batch,
    }
    kept: dict[str, Any] = {name: value for name, value in document.items() if value}
    return kept if eligibility.short_work else kept | {"short_work": False}


def _band_document(band: Band) -> dict[str, Any]:
    match band:
        case FieldBand():
            return {"species": list(band.species), "weight": band.weight}
        case StripeBand():
            return {"species": list(band.species), "strips": band.strips, "each": f"{mm_text(band.each)} mm"}
