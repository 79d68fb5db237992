"""Settings as rows: a name and a text each, so that a new setting needs no new table."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from fractions import Fraction
from typing import Any

from sqlalchemy import Connection, select
from sqlalchemy.dialects.sqlite import insert

from inventory.core.allowances import ALLOWANCE_NAMES, Allowances
from inventory.core.lengths import Display, Length, Nearest, Unit
from inventory.core.prices import PriceList, prices_text, read_prices
from inventory.core.workshop import Sawn, Workshop
from inventory.cutting.costs import Preference
from inventory.settings import Settings
from inventory.storage.tables import SETTINGS

_TEXTS = ("shop_name", "base_url", "pass_phrase_hash", "secret_key", "label_stock")
_FRACTIONS = ("spread_rate", "open_time", "driest", "dampest", "celsius")


def read_settings(connection: Connection) -> Settings:
    """The stored settings; those never set have their defaults."""
    kept = {row.name: row.value for row in connection.execute(select(SETTINGS.c.name, SETTINGS.c.value))}
    usual = Settings()
    allowances = {name: Length(int(kept[name])) for name in ALLOWANCE_NAMES if name in kept}
    return Settings(
        display=Display(Nearest(kept["nearest"])) if "nearest" in kept else usual.display,
        allowances=replace(Allowances(), **allowances),
        workshop=_read_workshop(kept),
        former_base_urls=tuple(kept.get("former_base_urls", "").split()),
        prefer=Preference(kept["prefer"]) if "prefer" in kept else usual.prefer,
        storage_limit=int(kept.get("storage_limit", usual.storage_limit)),
        ask_after=int(kept.get("ask_after", usual.ask_after)),
        prices=PriceList(kept.get("currency", ""), read_prices(kept.get("species_prices", ""), Unit.INCH)),
        **{name: kept.get(name, "") for name in _TEXTS},
    )


def write_settings(connection: Connection, settings: Settings) -> None:
    """Saves every setting; lengths as whole nanometers."""
    rows = {
        "nearest": settings.display.nearest.value,
        "planer_width": str(int(settings.workshop.planer_width)),
        "sawn": settings.workshop.sawn.value,
        **{name: str(getattr(settings.workshop, name)) for name in _FRACTIONS},
        "prefer": settings.prefer.value,
        "storage_limit": str(settings.storage_limit),
        "ask_after": str(settings.ask_after),
        "currency": settings.prices.currency,
        "species_prices": prices_text(settings.prices.prices),
        "former_base_urls": " ".join(settings.former_base_urls),
        **{name: str(getattr(settings, name)) for name in _TEXTS},
        **{name: str(int(getattr(settings.allowances, name))) for name in ALLOWANCE_NAMES},
    }
    statement = insert(SETTINGS)
    connection.execute(
        statement.on_conflict_do_update(index_elements=[SETTINGS.c.name], set_={"value": statement.excluded.value}),
        [{"name": name, "value": value} for name, value in rows.items()],
    )


def _read_workshop(kept: Mapping[str, str]) -> Workshop:
    """The planer, the glue and the air; numbers are stored as fractions."""
    read: dict[str, Any] = {name: Fraction(kept[name]) for name in _FRACTIONS if name in kept}
    if "planer_width" in kept:
        read["planer_width"] = Length(int(kept["planer_width"]))
    if "sawn" in kept:
        read["sawn"] = Sawn(kept["sawn"])
    return replace(Workshop(), **read)
