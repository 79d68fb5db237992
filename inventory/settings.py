"""The shop's settings: how lengths are shown, allowances, name, address, passphrase, planer, glue, air."""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field, replace
from enum import Enum
from fractions import Fraction
from typing import Any, TypeVar
from urllib.parse import urlsplit

from inventory.core.allowances import ALLOWANCE_NAMES, Allowances, InvalidAllowance
from inventory.core.errors import UserError
from inventory.core.lengths import Display, InvalidLength, Length, Nearest, Unit, read_length, typed_text
from inventory.core.moisture import MAX_CELSIUS, MAX_HUMIDITY, MIN_CELSIUS, MIN_HUMIDITY
from inventory.core.prices import InvalidPrice, PriceList, read_currency, read_prices
from inventory.core.whole_numbers import read_integer
from inventory.core.workshop import Sawn, Workshop
from inventory.cutting.costs import Preference
from inventory.pruning.storage_limit import InvalidLimit, read_volume

MAX_SHOP_NAME = 60
MAX_URL_LENGTH = 60
"""Longer addresses make the QR of a small label too fine to be read."""
MAX_FORMER_URLS = 12
"""So many former addresses are known still, the latest ones."""

MAX_MONTHS = 120
"""After so many months at the latest a piece is asked about."""


class InvalidSetting(UserError):
    """An invalid setting; `what` names it."""

    def __init__(self, message: str, what: str) -> None:
        super().__init__(message)
        self.what = what


@dataclass(frozen=True)
class Settings:
    """All settings of a shop.

    `base_url` is the address that the QR of a tag opens, without a slash at the
    end, empty for tags that carry the code alone; tags printed under one of the
    `former_base_urls` still come to the shop by it. `pass_phrase_hash` is empty
    where no passphrase is set. `prefer` is the preference asked for first at the
    bench. `label_stock` is the name of a sheet or roll in `labels`, empty for the
    first one. `storage_limit` is the wood that the shop gives room to, whole mm³, 0 where
    that was never said. A piece that was not seen for `ask_after` months is asked about.
    """

    display: Display = field(default_factory=Display)
    allowances: Allowances = field(default_factory=Allowances)
    shop_name: str = ""
    base_url: str = ""
    former_base_urls: tuple[str, ...] = ()
    pass_phrase_hash: str = ""
    secret_key: str = ""
    workshop: Workshop = field(default_factory=Workshop)
    label_stock: str = ""
    prefer: Preference = Preference.BEST_USE
    storage_limit: int = 0
    ask_after: int = 12
    prices: PriceList = field(default_factory=PriceList)

    @property
    def unit(self) -> Unit:
        """What a bare number means."""
        return self.display.unit

    def changed(self, typed: Mapping[str, str]) -> Settings:
        """These settings with some of them changed.

        Names are those of the fields, `nearest` for the display and the cutting
        model's names for allowances; a bare length is in the unit of `nearest` as
        typed. The passphrase and secret key are not typed here: use `replace`.
        Raises InvalidSetting; `what` is the name.
        """
        after = self
        if "nearest" in typed:
            after = replace(after, display=Display(_read_word(Nearest, typed["nearest"], "nearest")))
        for name, text in typed.items():
            if name == "nearest":
                continue
            if name == "shop_name":
                after = replace(after, shop_name=_read_shop_name(text))
            elif name == "base_url":
                after = after._with_base_url(read_base_url(text))
            elif name == "label_stock":
                after = replace(after, label_stock=text.strip())
            elif name == "storage_limit":
                after = replace(after, storage_limit=_read_storage_limit(text, self.unit))
            elif name == "ask_after":
                after = replace(after, ask_after=_read_months(text))
            elif name in ("currency", "species_prices"):
                after = after._with_prices(name, text)
            elif name == "prefer":
                after = replace(after, prefer=_read_word(Preference, text, "prefer"))
            elif name not in (*ALLOWANCE_NAMES, *WORKSHOP_SETTINGS):
                raise InvalidSetting(f'"{name}" is no setting. Known are: {", ".join(TYPED_SETTINGS)}.', name)
        return after._with_allowances(_pick(ALLOWANCE_NAMES, typed))._with_workshop(_pick(WORKSHOP_SETTINGS, typed))

    def _with_prices(self, name: str, text: str) -> Settings:
        try:
            if name == "currency":
                return replace(self, prices=replace(self.prices, currency=read_currency(text)))
            return replace(self, prices=replace(self.prices, prices=read_prices(text, self.unit)))
        except InvalidPrice as error:
            raise InvalidSetting(str(error), name) from None

    def _with_base_url(self, base_url: str) -> Settings:
        former = (self.base_url, *self.former_base_urls) if self.base_url else self.former_base_urls
        kept = tuple(dict.fromkeys(each for each in former if each != base_url))
        return replace(self, base_url=base_url, former_base_urls=kept[:MAX_FORMER_URLS])

    def _with_allowances(self, typed: Mapping[str, str]) -> Settings:
        # One by one first, so that the message names the value that can't be read.
        for name, text in typed.items():
            try:
                read_length(text, self.unit)
            except InvalidLength as error:
                raise InvalidSetting(str(error), name) from None
        try:
            return replace(self, allowances=self.allowances.changed(typed, self.unit))
        except InvalidAllowance as error:
            raise InvalidSetting(str(error), error.what) from None

    def _with_workshop(self, typed: Mapping[str, str]) -> Settings:
        read: dict[str, Any] = {}
        for name, text in typed.items():
            if name == "planer_width":
                read[name] = _read_planer(text, self.unit)
            elif name == "sawn":
                read[name] = _read_word(Sawn, text, name)
            elif name == "temperature":
                read["celsius"] = read_temperature(text, self.unit)
            else:
                read[name] = _read_number(text, name)
        workshop = replace(self.workshop, **read)
        if workshop.driest >= workshop.dampest:
            raise InvalidSetting(
                "The driest air is as damp as the dampest or damper. Type the lower humidity as the driest.", "dampest"
            )
        return replace(self, workshop=workshop)


WORKSHOP_SETTINGS = ("planer_width", "spread_rate", "open_time", "sawn", "driest", "dampest", "temperature")
"""The shop's own planer, glue and air, by the names under which they are typed."""

TYPED_SETTINGS = (
    *(
        "nearest",
        "shop_name",
        "base_url",
        "label_stock",
        "prefer",
        "storage_limit",
        "ask_after",
        "currency",
        "species_prices",
    ),
    *WORKSHOP_SETTINGS,
    *ALLOWANCE_NAMES,
)


def _read_storage_limit(text: str, unit: Unit) -> int:
    if not text.strip():
        return 0
    if text.strip().endswith("%"):
        raise InvalidSetting(
            "The room for offcuts is a volume here, no share. Type one such as 40 bd ft.", "storage_limit"
        )
    try:
        return read_volume(text, unit, 0)
    except InvalidLimit as error:
        raise InvalidSetting(str(error), "storage_limit") from None


def _read_months(text: str) -> int:
    months = read_integer(text, 1, MAX_MONTHS)
    if months is None:
        raise InvalidSetting(
            f'"{text.strip()[:40]}" is no number of months from 1 to {MAX_MONTHS}. Type one such as 12.', "ask_after"
        )
    return months


def workshop_as_typed(workshop: Workshop, unit: Unit) -> dict[str, str]:
    """The shop's planer, glue and air as form fields hold them; they read back exactly."""
    return {
        "planer_width": typed_text(workshop.planer_width, unit),
        "spread_rate": _number_text(workshop.spread_rate),
        "open_time": _number_text(workshop.open_time),
        "sawn": workshop.sawn.value,
        "driest": _number_text(workshop.driest),
        "dampest": _number_text(workshop.dampest),
        "temperature": temperature_text(workshop.celsius, unit),
    }


@dataclass(frozen=True)
class _Range:
    """What a number is, its limits, and how it is typed."""

    noun: str
    minimum: Fraction
    maximum: Fraction
    example: str


_RANGES = {
    "spread_rate": _Range("strips spread in a minute", Fraction("0.1"), Fraction(60), "3"),
    "open_time": _Range("minutes", Fraction("0.5"), Fraction(240), "5"),
    "driest": _Range("percent", Fraction(MIN_HUMIDITY), Fraction(MAX_HUMIDITY), "35"),
    "dampest": _Range("percent", Fraction(MIN_HUMIDITY), Fraction(MAX_HUMIDITY), "65"),
}


def _pick(names: Iterable[str], typed: Mapping[str, str]) -> dict[str, str]:
    return {name: typed[name] for name in names if name in typed}


EnumT = TypeVar("EnumT", bound=Enum)


def _read_word(kind: type[EnumT], text: str, name: str) -> EnumT:
    try:
        return kind(text)
    except ValueError:
        words = ", ".join(str(each.value) for each in kind)
        raise InvalidSetting(f'"{text.strip()[:40]}" is not to choose here. Choose one of: {words}.', name) from None


def _read_shop_name(text: str) -> str:
    name = " ".join(text.split())
    if len(name) > MAX_SHOP_NAME:
        raise InvalidSetting(f"The shop's name is longer than {MAX_SHOP_NAME} letters. Shorten it.", "shop_name")
    return name


def _read_planer(text: str, unit: Unit) -> Length:
    try:
        width = read_length(text, unit)
    except InvalidLength as error:
        raise InvalidSetting(str(error), "planer_width") from None
    if width == 0:
        raise InvalidSetting("The planer's width is 0. Type the widest board that goes through it.", "planer_width")
    return width


def read_base_url(text: str) -> str:
    """The address that tags open, without the slash at its end; empty for none. Raises InvalidSetting.

    >>> read_base_url(" http://rack.local:8765/ ")
    'http://rack.local:8765'
    """
    address = text.strip().rstrip("/")
    if not address:
        return ""
    shown = address[:MAX_URL_LENGTH]
    how = "Type it as http://192.168.1.20:8765, or leave it empty."
    if len(address) > MAX_URL_LENGTH:
        raise InvalidSetting(
            f'"{shown}…" is longer than {MAX_URL_LENGTH} letters: the QR would be too fine to be read. {how}',
            "base_url",
        )
    try:
        parts = urlsplit(address)
        _ = parts.port  # asked for only because it raises where the port is no number
    except ValueError:
        raise InvalidSetting(f'"{shown}" is no address. {how}', "base_url") from None
    plain = re.fullmatch(r"https?://[A-Za-z0-9.\-\[\]:]+", address, re.IGNORECASE)
    if plain is None or not parts.hostname:
        raise InvalidSetting(
            f'"{shown}" is no address of a shop: http and a host are all it may have. {how}', "base_url"
        )
    return address


def _read_number(text: str, name: str) -> Fraction:
    """A number to three places, with or without `%` or `min` behind it."""
    limits = _RANGES[name]
    typed = re.fullmatch(r"(\d{1,4}(?:[.,]\d{1,3})?)\s*(?:%|min|minutes?)?", text.strip())
    if typed is None:
        raise InvalidSetting(
            f'"{text.strip()[:40]}" is no number of {limits.noun}. Type one such as {limits.example}.', name
        )
    number = Fraction(typed[1].replace(",", "."))
    if not limits.minimum <= number <= limits.maximum:
        raise InvalidSetting(
            f"{_number_text(number)} {limits.noun} can't be: it lies between {_number_text(limits.minimum)} and "
            f"{_number_text(limits.maximum)}. Type a number such as {limits.example}.",
            name,
        )
    return number


def read_temperature(text: str, unit: Unit) -> Fraction:
    """The °C of a typed temperature; a bare number is °F in an inch shop, else °C. Raises InvalidSetting.

    >>> read_temperature("68", Unit.INCH), read_temperature("68 °F", Unit.MILLIMETER)
    (Fraction(20, 1), Fraction(20, 1))
    """
    typed = re.fullmatch(r"(-?\d{1,3}(?:[.,]\d{1,3})?)\s*°?\s*([CF]?)", text.strip(), re.IGNORECASE)
    if typed is None:
        raise InvalidSetting(
            f'"{text.strip()[:40]}" is no temperature. Type one such as 68 °F or 20 °C.', "temperature"
        )
    degrees, scale = Fraction(typed[1].replace(",", ".")), typed[2].upper() or _scale_of(unit)
    celsius = (degrees - 32) * 5 / 9 if scale == "F" else degrees
    if not MIN_CELSIUS <= celsius <= MAX_CELSIUS:
        raise InvalidSetting(
            f"{_number_text(degrees)} °{scale} is no temperature of a room. Type one from 32 to 122 °F or 0 to 50 °C.",
            "temperature",
        )
    return celsius


def temperature_text(celsius: Fraction, unit: Unit) -> str:
    """A temperature that reads back as exactly this one, in the shop's own scale where three places hold it.

    >>> temperature_text(Fraction(20), Unit.INCH), temperature_text(Fraction(190, 9), Unit.MILLIMETER)
    ('68 °F', '70 °F')
    """
    scales = {"C": celsius, "F": celsius * 9 / 5 + 32}
    own = _scale_of(unit)
    scale = own if (scales[own] * 1000).denominator == 1 else "CF"[own == "C"]
    return f"{_number_text(scales[scale])} °{scale}"


def _scale_of(unit: Unit) -> str:
    return "F" if unit is Unit.INCH else "C"


def _number_text(number: Fraction) -> str:
    """The decimal text of a number to three places.

    >>> _number_text(Fraction("2.50")), _number_text(Fraction(5))
    ('2.5', '5')
    """
    return f"{number.numerator * 1000 // number.denominator / 1000:.3f}".rstrip("0").rstrip(".")
