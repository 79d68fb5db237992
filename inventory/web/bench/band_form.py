"""The bands of a board in the address of the bench: read, moved, mirrored, written back as typed."""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

from werkzeug.datastructures import MultiDict

from inventory.core.errors import UserError
from inventory.core.lengths import Length, Unit, typed_text
from inventory.core.lengths import inches as inch
from inventory.core.lengths import millimeters as mm
from inventory.core.offcuts import species_key
from inventory.core.species import find_species
from inventory.cutting.bands import MAX_BANDS, MAX_STRIPS, Band, FieldBand, InvalidBands, StripeBand, mirrored
from inventory.fill.request import InvalidRequest, read_species
from inventory.web.forms import Form

DEFAULT_STRIPE_WIDTH = {
    Unit.INCH: typed_text(inch("1/4"), Unit.INCH),
    Unit.MILLIMETER: typed_text(mm("6"), Unit.MILLIMETER),
}
"""How wide a stripe is until another width is typed."""

PRESETS = {
    "start-two-stripes": "Two thin stripes",
    "start-dark-middle": "Dark middle",
    "start-edges-and-middle": "Edges and middle",
}


class InvalidBandAction(UserError):
    """A button that the form of the bands does not have."""


@dataclass(frozen=True)
class TypedBand:
    """One band as typed: a field with its weight, or a stripe of `strips` strips, `each` wide."""

    stripe: bool
    species: tuple[str, ...] = ()
    weight: str = ""
    strips: str = ""
    each: str = ""

    @property
    def kind(self) -> str:
        return "stripe" if self.stripe else "field"


def typed_bands(typed: MultiDict[str, str]) -> tuple[TypedBand, ...]:
    """The bands of an address in the order of their numbers, each field as typed."""
    numbers = sorted(int(found[1]) for name in typed if (found := re.fullmatch(r"band([1-9]\d{0,2})", name)))
    return tuple(
        TypedBand(
            stripe=typed[f"band{number}"] == "stripe",
            species=_named(typed.getlist(f"band{number}_species")),
            weight=typed.get(f"band{number}_weight", ""),
            strips=typed.get(f"band{number}_strips", ""),
            each=typed.get(f"band{number}_each", ""),
        )
        for number in numbers
    )


def _named(names: Sequence[str]) -> tuple[str, ...]:
    return tuple({species_key(name): name for name in names if name.strip()}.values())


def band_params(bands: Sequence[TypedBand]) -> dict[str, list[str]]:
    """The bands as the keys of an address, numbered again from 1; defaults and empty fields are left out."""
    keys: dict[str, list[str]] = {}
    for number, band in enumerate(bands, 1):
        name = f"band{number}"
        keys[name] = [band.kind]
        keys[f"{name}_species"] = list(band.species)
        if band.stripe:
            keys[f"{name}_strips"] = [band.strips] if band.strips.strip() not in ("", "1") else []
            keys[f"{name}_each"] = [band.each] if band.each.strip() else []
        else:
            keys[f"{name}_weight"] = [band.weight] if band.weight.strip() not in ("", "1") else []
    return {name: values for name, values in keys.items() if values}


def read_bands(bands: Sequence[TypedBand], unit: Unit, errors: dict[str, str]) -> tuple[Band, ...]:
    """The bands that can be read; a sentence in `errors` for each field that can't be."""
    form = Form(MultiDict(band_params(bands)), unit, errors)
    found = (_read_band(form, f"band{number}", band) for number, band in enumerate(bands, 1))
    return tuple(band for band in found if band is not None)


def _read_band(form: Form, name: str, band: TypedBand) -> Band | None:
    try:
        species = read_species(list(band.species))
    except InvalidRequest as error:
        form.reject("bands", str(error))
        return None
    count_field, each_field = f"{name}_strips" if band.stripe else f"{name}_weight", f"{name}_each"
    count = form.integer(count_field, '"{}" is no whole number. Type 1, 2, 3 …', empty=1)
    each = form.length(each_field) if band.stripe else Length(0)
    if form.errors.keys() & {count_field, each_field}:
        return None
    try:
        return StripeBand(species, count, each) if band.stripe else FieldBand(species, count)
    except InvalidBands as error:
        form.reject(each_field if band.stripe and 1 <= count <= MAX_STRIPS else count_field, str(error))
        return None


def changed(
    bands: Sequence[TypedBand], press: str, ticked: Sequence[str], stocked: Sequence[str], unit: Unit
) -> tuple[tuple[TypedBand, ...], int]:
    """The bands after a button was pressed, and the number of the band to scroll to (0: none).

    `ticked` are the species ticked where there are no bands yet, `stocked` those in the
    shop. Raises InvalidBandAction for a button that the form does not have.
    """
    row = list(bands)
    word, *numbers = press.split("-") if re.fullmatch(r"[a-z]+(-\d{1,3}){1,2}", press) else [press]
    places = [int(number) - 1 for number in numbers]
    if not all(0 <= place < len(row) for place in places):
        raise InvalidBandAction("There is no such band any more. Look at the bands as they are now.")
    match word, places:
        case "add-field" | "add-stripe", []:
            row = row or [TypedBand(False, tuple(ticked))]
            row = _append_band(row, TypedBand(word == "add-stripe", each=DEFAULT_STRIPE_WIDTH[unit]))
            return tuple(row), len(row)
        case "up", [place]:
            return _moved(row, place, max(place - 1, 0))
        case "down", [place]:
            return _moved(row, place, min(place + 1, len(row) - 1))
        case "move", [place, to]:
            return _moved(row, place, to)
        case "remove", [place]:
            del row[place]
            return tuple(row), min(place + 1, len(row))
        case "mirror", []:
            return (mirrored(row) if row != row[::-1] and 2 * len(row) - 1 <= MAX_BANDS else tuple(row)), len(row)
        case "plain", []:
            return (), 0
        case _ if press in PRESETS:
            return _preset_bands(press, ticked, stocked, unit), 1
    raise InvalidBandAction("The form of the bands has no such button. Use those that it shows.")


def _append_band(row: list[TypedBand], band: TypedBand) -> list[TypedBand]:
    return [*row, band] if len(row) < MAX_BANDS else row


def _moved(row: list[TypedBand], place: int, to: int) -> tuple[tuple[TypedBand, ...], int]:
    row.insert(to, row.pop(place))
    return tuple(row), to + 1


def _preset_bands(press: str, ticked: Sequence[str], stocked: Sequence[str], unit: Unit) -> tuple[TypedBand, ...]:
    """A preset, in the species that are ticked or else the lightest and the darkest in the shop."""
    by_tone = sorted(stocked, key=lightness)
    main = ticked[0] if ticked else by_tone[-1] if by_tone else ""
    others = [name for name in (*ticked[1:], *by_tone) if species_key(name) != species_key(main)]
    field = TypedBand(False, (main,) if main else ())
    other = TypedBand(False, (others[0],) if others else ())
    stripe = replace(other, stripe=True, each=DEFAULT_STRIPE_WIDTH[unit])
    broad = replace(field, weight="2")
    match press:
        case "start-two-stripes":
            return field, stripe, broad, stripe, field
        case "start-dark-middle":
            return field, other, field
        case _:
            return other, broad, other, broad, other


def lightness(species: str) -> float:
    """How light a species is drawn, 0 to 1; 0.5 where it is not known."""
    known = find_species(species)
    if known is None:
        return 0.5
    red, green, blue = (int(known.light[place : place + 2], 16) / 255 for place in (1, 3, 5))
    # Relative luminance weights of ITU-R BT.709 (from memory), on values as written: only the order matters.
    return 0.2126 * red + 0.7152 * green + 0.0722 * blue


def band_label(name: str) -> str:
    """The label of a band's field in the list of errors; empty for any other field.

    >>> band_label("band2_each"), band_label("length")
    ('Band 2, width of each', '')
    """
    found = re.fullmatch(r"band(\d+)_(weight|strips|each)", name)
    return f"Band {found[1]}, {FIELD_LABELS[found[2]]}" if found else ""


FIELD_LABELS: Mapping[str, str] = {"weight": "share of the width", "strips": "strips", "each": "width of each"}
