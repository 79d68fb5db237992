"""The shop's settings: how lengths are shown, allowances, name, address, pass phrase, machines.

Knows how a setting is typed and read. Knows nothing of where settings are kept
or of screens.
"""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from enum import Enum
from typing import TypeVar
from urllib.parse import urlsplit

from inventory.cutting.cost import Preference
from inventory.errors import Mendable
from inventory.measures import Display, Length, Nearest, NotALength, Unit, inches, read_length
from inventory.pieces import ALLOWANCE_NAMES, Allowances, NotAnAllowance

# common practice, no source: a bench-top planer
PLANER_WIDTH = inches("13")

LONGEST_SHOP_NAME = 60
LONGEST_ADDRESS = 60
"""Longer addresses make the QR of a small label too fine to be read."""


class NotASetting(Mendable):
    """A setting that can't be; `what` names it."""

    def __init__(self, message: str, what: str) -> None:
        super().__init__(message)
        self.what = what


@dataclass(frozen=True)
class Settings:
    """All settings of a shop.

    `base_url` is the address that the QR of a tag opens, without a slash at the
    end, empty for tags that carry the code alone. `pass_phrase_hash` is empty
    where no pass phrase is set. `prefer` is the preference asked for first at the
    bench. `label_stock` is the name of a sheet or roll in `labels`, empty for the
    first one.
    """

    display: Display = field(default_factory=Display)
    allowances: Allowances = field(default_factory=Allowances)
    shop_name: str = ""
    base_url: str = ""
    pass_phrase_hash: str = ""
    secret_key: str = ""
    planer_width: Length = PLANER_WIDTH
    label_stock: str = ""
    prefer: Preference = Preference.LEAST_WASTE

    @property
    def unit(self) -> Unit:
        """What a bare number means."""
        return self.display.unit

    def changed(self, typed: Mapping[str, str]) -> Settings:
        """These settings with some of them typed anew.

        Names are those of the fields, `nearest` for the display and the cutting
        model's names for allowances; a bare length is in the unit of `nearest` as
        typed. The pass phrase and secret key are not typed here: use `replace`.
        Raises NotASetting; `what` is the name.
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
                after = replace(after, base_url=read_base_url(text))
            elif name == "planer_width":
                after = replace(after, planer_width=_read_planer(text, after.unit))
            elif name == "label_stock":
                after = replace(after, label_stock=text.strip())
            elif name == "prefer":
                after = replace(after, prefer=_read_word(Preference, text, "prefer"))
            elif name not in ALLOWANCE_NAMES:
                raise NotASetting(f'"{name}" is no setting. Known are: {", ".join(TYPED_SETTINGS)}.', name)
        return after._with_allowances({name: text for name, text in typed.items() if name in ALLOWANCE_NAMES})

    def _with_allowances(self, typed: Mapping[str, str]) -> Settings:
        # One by one first, so that the message names the value that can't be read.
        for name, text in typed.items():
            try:
                read_length(text, self.unit)
            except NotALength as error:
                raise NotASetting(str(error), name) from None
        try:
            return replace(self, allowances=self.allowances.changed(typed, self.unit))
        except NotAnAllowance as error:
            raise NotASetting(str(error), error.what) from None


TYPED_SETTINGS = ("nearest", "shop_name", "base_url", "planer_width", "label_stock", "prefer", *ALLOWANCE_NAMES)


Word = TypeVar("Word", bound=Enum)


def _read_word(kind: type[Word], text: str, name: str) -> Word:
    words = [str(each.value) for each in kind]
    if text not in words:
        raise NotASetting(f'"{text.strip()[:40]}" is not to choose here. Choose one of: {", ".join(words)}.', name)
    return kind(text)


def _read_shop_name(text: str) -> str:
    name = " ".join(text.split())
    if len(name) > LONGEST_SHOP_NAME:
        raise NotASetting(f"The shop's name is longer than {LONGEST_SHOP_NAME} letters. Shorten it.", "shop_name")
    return name


def _read_planer(text: str, unit: Unit) -> Length:
    try:
        width = read_length(text, unit)
    except NotALength as error:
        raise NotASetting(str(error), "planer_width") from None
    if width == 0:
        raise NotASetting("The planer's width is 0. Type the widest board that goes through it.", "planer_width")
    return width


def read_base_url(text: str) -> str:
    """The address that tags open, without the slash at its end; empty for none. Raises NotASetting.

    >>> read_base_url(" http://rack.local:8765/ ")
    'http://rack.local:8765'
    """
    address = text.strip().rstrip("/")
    if not address:
        return ""
    shown = address[:LONGEST_ADDRESS]
    how = "Type it as http://192.168.1.20:8765, or leave it empty."
    if len(address) > LONGEST_ADDRESS:
        raise NotASetting(
            f'"{shown}…" is longer than {LONGEST_ADDRESS} letters: the QR would be too fine to be read. {how}',
            "base_url",
        )
    try:
        parts = urlsplit(address)
        _ = parts.port  # asked for only because it raises where the port is no number
    except ValueError:
        raise NotASetting(f'"{shown}" is no address. {how}', "base_url") from None
    plain = re.fullmatch(r"https?://[A-Za-z0-9.\-\[\]:]+", address, re.IGNORECASE)
    if plain is None or not parts.hostname:
        raise NotASetting(f'"{shown}" is no address of a shop: http and a host are all it may have. {how}', "base_url")
    return address
