"""Settings: what can be typed, what can't, and that every one is kept exactly."""

from dataclasses import fields, replace
from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st
from sqlalchemy import create_engine

from inventory.core.allowances import ALLOWANCE_NAMES, OVER_ZERO, Allowances
from inventory.core.lengths import Display, Length, Nearest, Unit, inches, millimeters
from inventory.core.prices import Per, Price, PriceList
from inventory.core.workshop import Sawn, Workshop
from inventory.cutting.costs import Preference
from inventory.settings import MAX_FORMER_URLS, InvalidSetting, Settings, workshop_as_typed
from inventory.shop import Shop
from inventory.storage.repositories.settings_rows import read_settings, write_settings
from inventory.storage.tables import METADATA

WORDS = st.text(st.characters(exclude_categories=["Cs"]), max_size=20)
LENGTHS = st.integers(1, 1_000_000_000).map(Length)


@given(
    st.builds(
        Settings,
        display=st.sampled_from(Nearest).map(Display),
        allowances=st.builds(
            Allowances,
            **{name: LENGTHS for name in ALLOWANCE_NAMES if name not in OVER_ZERO},
        ),
        shop_name=WORDS,
        base_url=WORDS,
        former_base_urls=st.lists(st.sampled_from(["http://rack.local:8765", "http://192.0.2.7"]), unique=True).map(
            tuple
        ),
        pass_phrase_hash=WORDS,
        secret_key=WORDS,
        workshop=st.builds(
            Workshop,
            planer_width=LENGTHS,
            **{name: st.fractions(0, 100) for name in ("spread_rate", "open_time", "driest", "dampest", "celsius")},
            sawn=st.sampled_from(Sawn),
        ),
        label_stock=WORDS,
        prefer=st.sampled_from(Preference),
        storage_limit=st.integers(0, 10**15),
        ask_after=st.integers(1, 120),
        prices=st.builds(
            PriceList,
            currency=st.sampled_from(["", "€", "crowns"]),
            prices=st.lists(
                st.builds(
                    Price,
                    species=st.sampled_from(["ash", "black walnut", "Pin oak 2"]),
                    amount=st.integers(0, 10**8).map(lambda hundredths: Fraction(hundredths, 100)),
                    per=st.sampled_from(Per),
                ),
                unique_by=lambda price: price.species,
            ).map(tuple),
        ),
    )
)
def test_every_setting_is_kept_exactly(settings: Settings) -> None:
    engine = create_engine("sqlite://")
    METADATA.create_all(engine)
    with engine.begin() as connection:
        write_settings(connection, Settings())
        write_settings(connection, settings)
        assert read_settings(connection) == settings
    engine.dispose()


def test_every_setting_is_tried_above() -> None:
    names = (
        "display allowances shop_name base_url former_base_urls pass_phrase_hash secret_key workshop label_stock "
        "prefer storage_limit ask_after prices"
    )
    assert [each.name for each in fields(Settings)] == names.split()
    names = "planer_width spread_rate open_time driest dampest celsius sawn"
    assert [each.name for each in fields(Workshop)] == names.split()


def test_a_shop_makes_a_secret_key_once_and_keeps_what_is_set(shop: Shop) -> None:
    first = shop.settings()
    assert len(first.secret_key) == 64
    assert replace(first, secret_key="") == Settings()
    changed = first.changed({"shop_name": "Hollow Lane Stairs", "rip_kerf": "3/32"})
    shop.save_settings(changed)
    with Shop.open(shop.folder) as again:
        assert again.settings() == changed
        assert again.settings().secret_key == first.secret_key


def test_settings_are_typed_by_their_names() -> None:
    after = Settings().changed(
        {
            "planer_width": "330",
            "spread_rate": "2,5",
            "open_time": " 8 min",
            "sawn": "flat-sawn",
            "driest": "30 %",
            "dampest": "62.5",
            "temperature": "18",
            "rip_kerf": "2.4",
            "nearest": "0.1 mm",
            "shop_name": "  Hollow   Lane Stairs ",
            "base_url": "http://rack.local:8765/",
            "label_stock": " roll-62 ",
            "prefer": "clear-out",
            "keep_length": "6 in",
        }
    )
    assert after == Settings(
        display=Display(Nearest.TENTH_MM),
        allowances=replace(Allowances(), rip_kerf=millimeters("2.4"), keep_length=inches("6")),
        shop_name="Hollow Lane Stairs",
        base_url="http://rack.local:8765",
        workshop=Workshop(
            planer_width=millimeters("330"),
            spread_rate=Fraction("2.5"),
            open_time=Fraction(8),
            driest=Fraction(30),
            dampest=Fraction("62.5"),
            celsius=Fraction(18),
            sawn=Sawn.FLAT,
        ),
        label_stock="roll-62",
        prefer=Preference.OLDEST_FIRST,
    )
    assert after.changed({"base_url": " ", "shop_name": ""}) == replace(
        after, base_url="", shop_name="", former_base_urls=("http://rack.local:8765",)
    )


def test_addresses_that_stood_on_tags_are_remembered_the_latest_first_and_each_once() -> None:
    settings = Settings()
    for number in (1, 2, 1, 3, 3):
        settings = settings.changed({"base_url": f"http://192.0.2.{number}"})
    assert settings.base_url == "http://192.0.2.3"
    assert settings.former_base_urls == ("http://192.0.2.1", "http://192.0.2.2")
    for number in range(4, 30):
        settings = settings.changed({"base_url": f"http://192.0.2.{number}"})
    assert len(settings.former_base_urls) == MAX_FORMER_URLS
    assert settings.former_base_urls[0] == "http://192.0.2.28"


@pytest.mark.parametrize(
    ("typed", "what", "sentence"),
    [
        ({"rip_kerf": "thin"}, "rip_kerf", '"thin" is not a length. Type 23 1/2, 23.5 in or 597 mm.'),
        (
            {"rip_kerf": "41"},
            "rip_kerf",
            "rip_kerf must be between 0 and 1000 mm. Check the unit.",
        ),
        (
            {"min_strip_width": "13"},
            "min_strip_width",
            "min_strip_width is wider than max_strip_width: no strip could be ripped. Make it narrower.",
        ),
        ({"planer_width": "wide"}, "planer_width", '"wide" is not a length. Type 23 1/2, 23.5 in or 597 mm.'),
        (
            {"planer_width": "0"},
            "planer_width",
            "The planer's width is 0. Type the widest board that goes through it.",
        ),
        (
            {"spread_rate": "a few"},
            "spread_rate",
            '"a few" is no number of strips spread in a minute. Type one such as 3.',
        ),
        (
            {"open_time": "0"},
            "open_time",
            "0 minutes can't be: it lies between 0.5 and 240. Type a number such as 5.",
        ),
        ({"driest": ""}, "driest", '"" is no number of percent. Type one such as 35.'),
        (
            {"dampest": "95"},
            "dampest",
            "95 percent can't be: it lies between 5 and 90. Type a number such as 65.",
        ),
        (
            {"driest": "65"},
            "dampest",
            "The driest air is as damp as the dampest or damper. Type the lower humidity as the driest.",
        ),
        ({"temperature": "warm"}, "temperature", '"warm" is no temperature. Type one such as 68 °F or 20 °C.'),
        (
            {"temperature": "20"},
            "temperature",
            "20 °F is no temperature of a room. Type one from 32 to 122 °F or 0 to 50 °C.",
        ),
        (
            {"temperature": "-1 C"},
            "temperature",
            "-1 °C is no temperature of a room. Type one from 32 to 122 °F or 0 to 50 °C.",
        ),
        (
            {"sawn": "rift"},
            "sawn",
            '"rift" is not to choose here. Choose one of: flat-sawn, quarter-sawn, not known.',
        ),
        (
            {"nearest": "1/8 in"},
            "nearest",
            '"1/8 in" is not to choose here. Choose one of: 1/16 in, 1/32 in, 1/64 in, 0.1 mm.',
        ),
        (
            {"prefer": "cheapest"},
            "prefer",
            '"cheapest" is not to choose here. Choose one of: best-use, least-waste, fewest-pieces, least-milling, '
            "oldest-first.",
        ),
        ({"shop_name": "n" * 61}, "shop_name", "The shop's name is longer than 60 letters. Shorten it."),
        (
            {"base_url": "rack.local"},
            "base_url",
            '"rack.local" is no address of a shop: http and a host are all it may have. '
            "Type it as http://192.168.1.20:8765, or leave it empty.",
        ),
        (
            {"base_url": "http://rack.local/shop"},
            "base_url",
            '"http://rack.local/shop" is no address of a shop: http and a host are all it may have. '
            "Type it as http://192.168.1.20:8765, or leave it empty.",
        ),
        (
            {"base_url": "http://rack.local:port"},
            "base_url",
            '"http://rack.local:port" is no address. Type it as http://192.168.1.20:8765, or leave it empty.',
        ),
        (
            {"base_url": "http://" + "r" * 60},
            "base_url",
            f'"http://{"r" * 53}…" is longer than 60 letters: the QR would be too fine to be read. '
            "Type it as http://192.168.1.20:8765, or leave it empty.",
        ),
        (
            {"colour": "red"},
            "colour",
            f'"colour" is no setting. Known are: nearest, shop_name, base_url, label_stock, prefer, storage_limit, '
            f"ask_after, currency, species_prices, planer_width, "
            f"spread_rate, open_time, sawn, driest, dampest, temperature, {', '.join(ALLOWANCE_NAMES)}.",
        ),
    ],
)
def test_a_setting_that_cannot_be_is_reported(typed: dict[str, str], what: str, sentence: str) -> None:
    with pytest.raises(InvalidSetting) as refused:
        Settings().changed(typed)
    assert (str(refused.value), refused.value.what) == (sentence, what)


@pytest.mark.parametrize("unit", Unit)
@pytest.mark.parametrize("temperature", ["20 C", "21.125 °C", "70 F", "68", "99.5 f", "0 C", "122 °F"])
def test_planer_glue_and_air_read_back_exactly_in_either_unit(unit: Unit, temperature: str) -> None:
    typed = {"planer_width": "10 3/64 in", "spread_rate": "1.125", "open_time": "90", "temperature": temperature}
    before = Settings().changed(typed)
    nearest = Nearest.TENTH_MM if unit is Unit.MILLIMETER else Nearest.SIXTEENTH
    other = replace(Settings(), display=Display(nearest))
    assert other.changed(workshop_as_typed(before.workshop, unit)).workshop == before.workshop
