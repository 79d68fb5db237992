"""At the bench: bands are added, moved, mirrored and taken away in the address, drawn, searched and set aside."""

import re
from html import unescape
from urllib.parse import parse_qs, urlsplit

import pytest
from werkzeug.datastructures import MultiDict
from werkzeug.test import TestResponse

from inventory.core.lengths import Unit, inches
from inventory.cutting.bands import FieldBand, StripeBand
from inventory.services.rack import tagging
from inventory.services.rack.tagging import NewPiece
from inventory.shop import Shop
from inventory.web.bench.band_form import (
    InvalidBandAction,
    TypedBand,
    band_params,
    changed,
    lightness,
    read_bands,
    typed_bands,
)
from tests.web.sample_rack import BOARD, SHORT_ASH, tag_sample_rack
from tests.web.visitor import HttpClient, visible_text

ASH, WALNUT = TypedBand(False, ("ash",)), TypedBand(True, ("walnut",), strips="2", each="1/8")
STRIPED = "band1=field&band1_species=ash&band2=stripe&band2_species=walnut&band2_each=1/4&band3=field&band3_species=ash"


@pytest.fixture
def rack(shop: Shop) -> None:
    tag_sample_rack(shop)
    tagging.tag_all(shop, [NewPiece(SHORT_ASH)] * 3)


def pressed(visitor: HttpClient, asked: str, value: str) -> TestResponse:
    """The page that a press on the form leads to."""
    answer = visitor.get(f"/bench/form?{asked}&do={value}")
    assert answer.status_code == 303
    return visitor.get(answer.headers["Location"].split("#")[0])


def bands_on(page: TestResponse) -> list[tuple[str, str]]:
    """Kind and wood of each band of the form, in order."""
    found = re.findall(r'aria-label="Band \d+: (field|stripe), ([^"]+)"', page.text)
    return [(kind, unescape(wood)) for kind, wood in found]


def fault(page: TestResponse, field: str) -> str:
    found = re.search(rf'id="fault-{field}">.*?<span>(.*?)</span>', page.text, re.DOTALL)
    return unescape(found[1]) if found else ""


# ---- the row of bands alone ----


def after(bands: list[TypedBand], press: str) -> tuple[tuple[TypedBand, ...], int]:
    return changed(bands, press, (), ("ash", "black walnut", "cherry"), Unit.INCH)


def test_a_band_moves_up_and_down_and_stays_where_there_is_no_further() -> None:
    row = [ASH, WALNUT, TypedBand(False)]
    assert after(row, "up-2") == ((WALNUT, ASH, TypedBand(False)), 1)
    assert after(row, "down-2") == ((ASH, TypedBand(False), WALNUT), 3)
    assert after(row, "up-1") == (tuple(row), 1)
    assert after(row, "down-3") == (tuple(row), 3)
    assert after(row, "move-3-1") == ((TypedBand(False), ASH, WALNUT), 1)
    assert after(row, "move-1-3") == ((WALNUT, TypedBand(False), ASH), 3)


def test_a_band_can_be_taken_away_and_all_of_them() -> None:
    assert after([ASH, WALNUT], "remove-1") == ((WALNUT,), 1)
    assert after([ASH], "remove-1") == ((), 0)
    assert after([ASH, WALNUT], "plain") == ((), 0)


def test_mirroring_makes_the_last_band_the_middle_and_leaves_a_mirrored_row_alone() -> None:
    middle = TypedBand(False, ("cherry",), weight="2")
    mirrored, place = after([ASH, WALNUT, middle], "mirror")
    assert (mirrored, place) == ((ASH, WALNUT, middle, WALNUT, ASH), 3)
    assert after(list(mirrored), "mirror")[0] == mirrored


def test_the_first_stripe_stands_beside_a_field_of_the_species_ticked() -> None:
    bands, place = changed([], "add-stripe", ("ash",), ("ash",), Unit.INCH)
    assert bands == (ASH, TypedBand(True, each="1/4"))
    assert place == 2
    assert changed([], "add-stripe", (), (), Unit.MILLIMETER)[0][1].each == "6"


def test_sixty_bands_are_as_many_as_a_board_has() -> None:
    assert len(after([ASH] * 60, "add-field")[0]) == 60
    assert len(after([ASH, WALNUT] * 20, "mirror")[0]) == 40


def test_patterns_begin_with_the_species_ticked_or_the_palest_and_the_darkest() -> None:
    stripes, _ = after([], "start-two-stripes")
    assert [(band.kind, *band.species) for band in stripes] == [
        ("field", "ash"), ("stripe", "black walnut"), ("field", "ash"), ("stripe", "black walnut"), ("field", "ash"),
    ]  # fmt: skip
    dark, _ = changed([], "start-dark-middle", ("cherry", "ash"), ("ash", "black walnut", "cherry"), Unit.INCH)
    assert [band.species for band in dark] == [("cherry",), ("ash",), ("cherry",)]
    edges, _ = changed([], "start-edges-and-middle", (), (), Unit.INCH)
    assert [(band.species, band.weight) for band in edges] == [
        ((), ""), ((), "2"), ((), ""), ((), "2"), ((), ""),
    ]  # fmt: skip
    assert lightness("ash") > lightness("driftwood") > lightness("black walnut")


@pytest.mark.parametrize("press", ["up-3", "remove-0", "move-1", "swap-1-2", "start-stars", "up-9999", "up-1-1", ""])
def test_a_press_that_the_form_does_not_have_is_refused(press: str) -> None:
    with pytest.raises(InvalidBandAction):
        after([ASH, WALNUT], press)


def test_bands_in_an_address_read_back_as_the_same_bands() -> None:
    row = (ASH, WALNUT, TypedBand(False, ("ash", "oak"), weight="3"), TypedBand(True, (), strips="", each="wide"))
    assert typed_bands(MultiDict(band_params(row))) == row


def test_gaps_in_the_numbers_of_an_address_close() -> None:
    typed = MultiDict(
        [("band7", "stripe"), ("band7_each", "1/4"), ("band2", "field"), ("band0", "field"), ("bandx", "1")]
    )
    assert typed_bands(typed) == (TypedBand(False), TypedBand(True, each="1/4"))


def test_bands_are_read_with_a_sentence_for_each_answer_that_cannot_be() -> None:
    errors: dict[str, str] = {}
    row = [
        ASH, WALNUT, TypedBand(False, weight="half"), TypedBand(True, each="0"),
        TypedBand(True, strips="101", each="1/4"),
        TypedBand(True, each=""), TypedBand(False, weight="1001"),
    ]  # fmt: skip
    read = read_bands(row, Unit.INCH, errors)
    assert read == (FieldBand(("ash",)), StripeBand(("walnut",), 2, inches("1/8")))
    assert errors == {
        "band3_weight": '"half" is no whole number. Type 1, 2, 3 …',
        "band4_each": "A stripe's strips are 0 wide. Type how wide each is in the board.",
        "band5_strips": "A stripe has 1 to 100 strips, not 101.",
        "band6_each": "The size is missing. Type 23 1/2, 23.5 in or 597 mm.",
        "band7_weight": "A field's weight is a whole number from 1 to 1000, not 1001.",
    }


def test_strips_counted_with_a_raised_digit_are_reported_as_no_number() -> None:
    errors: dict[str, str] = {}
    assert read_bands([TypedBand(True, strips="²", each="1/4")], Unit.INCH, errors) == ()
    assert errors == {"band1_strips": '"²" is no whole number. Type 1, 2, 3 …'}


# ---- the form ----


@pytest.mark.usefixtures("rack")
def test_a_press_changes_the_form_and_keeps_all_else_as_typed(visitor: HttpClient) -> None:
    page = pressed(visitor, f"length=18+1/0&width=&grain=face&rip_kerf=wide&{STRIPED}", "up-2")
    assert page.status_code == 200
    assert bands_on(page) == [("stripe", "walnut"), ("field", "ash"), ("field", "ash")]
    assert 'value="18 1/0"' in page.text and 'value="wide"' in page.text
    assert re.search(r'name="grain" value="face" checked', page.text)


@pytest.mark.usefixtures("rack")
def test_a_press_leads_to_an_address_that_can_be_kept_and_shows_the_band_that_moved(visitor: HttpClient) -> None:
    answer = visitor.get(f"/bench/form?{BOARD}&{STRIPED}&do=down-1")
    address = urlsplit(answer.headers["Location"])
    assert (address.path, address.fragment) == ("/bench/form", "band2")
    keys = parse_qs(address.query)
    assert "do" not in keys
    assert (keys["band1"], keys["band1_each"], keys["band2_species"]) == (["stripe"], ["1/4"], ["ash"])
    assert (keys["length"], keys["thickness"]) == (["18"], ["1 1/2"])


@pytest.mark.usefixtures("rack")
def test_ticked_species_become_the_first_field_and_leave_the_address(visitor: HttpClient) -> None:
    answer = visitor.get(f"/bench/form?{BOARD}&species=ash&do=add-stripe")
    keys = parse_qs(urlsplit(answer.headers["Location"]).query)
    assert (keys["band1_species"], keys["band2"], "species" in keys) == (["ash"], ["stripe"], False)


@pytest.mark.usefixtures("rack")
def test_a_press_that_is_none_says_so_plainly(visitor: HttpClient) -> None:
    answer = visitor.get(f"/bench/form?{BOARD}&{STRIPED}&do=up-9")
    assert answer.status_code == 422
    assert "There is no such band any more. Look at the bands as they are now." in visible_text(answer)


@pytest.mark.usefixtures("rack")
def test_the_board_is_drawn_to_scale_with_its_bands_named(visitor: HttpClient) -> None:
    page = visitor.get(f"/bench/form?{BOARD}&{STRIPED}")
    assert page.text.count('class="drawn drawn-asked"') == 1
    assert "Across the board, band 1: ash, 2 7/8; 2: walnut, 1/4; 3: ash, 2 7/8." in page.text
    shapes = re.findall(
        r'<rect class="ink-tone" x="0" y="([\d.]+)" width="457.2" height="([\d.]+)" fill="(#\w+)"', page.text
    )
    assert [(float(y), float(height)) for y, height, _ in shapes] == [(0, 73.025), (73.025, 6.35), (79.375, 73.025)]
    assert shapes[0][2] == shapes[2][2] != shapes[1][2]


@pytest.mark.usefixtures("rack")
def test_what_is_not_drawn_yet_says_why(visitor: HttpClient) -> None:
    words = visible_text(visitor.get("/bench/form?length=18"))
    assert "With its length and width typed, the board is drawn here to scale." in words
    words = visible_text(visitor.get(f"/bench/form?{BOARD}&{STRIPED.replace('1/4', '7')}"))
    assert "The stripes are as wide as the board or wider: nothing is left for a field. Make them narrower." in words
    words = visible_text(visitor.get(f"/bench/form?{BOARD}&band1=field&band1_weight=half"))
    assert "A band needs correction before the board can be drawn." in words


@pytest.mark.usefixtures("rack")
def test_what_resawing_takes_is_offered_only_beside_an_stripe_on_edge(visitor: HttpClient) -> None:
    assert 'name="leaf_clean"' in visitor.get(f"/bench/form?{BOARD}&{STRIPED}").text
    assert 'name="leaf_clean"' not in visitor.get(f"/bench/form?{BOARD}&{STRIPED}&grain=face").text
    assert 'name="leaf_clean"' in visitor.get(f"/bench/form?{BOARD}&grain=face&leaf_clean=1/16").text
    face = visitor.get(f"/bench/form?{BOARD}&grain=face").text
    assert 'name="max_strip_width"' in face and 'name="thinnest_lamination"' not in face


# ---- the answer ----


@pytest.mark.usefixtures("rack")
def test_the_answer_says_what_each_band_gets_and_from_which_pieces(visitor: HttpClient) -> None:
    page = visitor.get(f"/bench?{BOARD}&{STRIPED}&prefer=least-waste&fills=1")
    assert page.status_code == 200
    said = visible_text(page)
    assert "Edge grain, 3 bands" in said
    row = re.search(
        r"Bands 1 and 3 ash 5 7/8 in ([\d/ ]+) in (\d+) ([A-Z, ]+) Band 2 walnut 1 × 1/4 in 1 strips 1 [A-Z]", said
    )
    assert row, said
    assert "Best for least waste. Proven: the rack holds none better." in said


@pytest.mark.usefixtures("rack")
def test_bad_bands_come_back_as_typed_each_with_its_sentence(visitor: HttpClient) -> None:
    page = visitor.get(f"/bench?{BOARD}&band1=field&band1_weight=half&band2=stripe&band2_each=thin&band2_strips=0")
    assert page.status_code == 422
    assert fault(page, "band1_weight") == '"half" is no whole number. Type 1, 2, 3 …'
    assert fault(page, "band2_each") == '"thin" is not a length. Type 23 1/2, 23.5 in or 597 mm.'
    assert 'value="half"' in page.text and 'value="thin"' in page.text
    assert "Band 1, share of the width" in visible_text(page)


@pytest.mark.parametrize(
    ("bands", "sentence"),
    [
        (
            "band1=stripe&band1_each=1",
            "All bands are stripes: at least one must be a field, which takes what width is left.",
        ),
        (
            STRIPED.replace("1/4", "6"),
            "The stripes are as wide as the board or wider: nothing is left for a field. Make them narrower.",
        ),
    ],
)
def test_bands_that_make_no_board_are_said_above_the_bands(visitor: HttpClient, bands: str, sentence: str) -> None:
    page = visitor.get(f"/bench?{BOARD}&{bands}")
    assert (page.status_code, fault(page, "bands")) == (422, sentence)


@pytest.mark.usefixtures("rack")
def test_a_shortfall_names_the_bands_and_the_wood_that_is_missing(visitor: HttpClient) -> None:
    page = visitor.get(f"/bench?length=18&width=40&thickness=1+1/2&{STRIPED}")
    said = visible_text(page)
    assert re.search(r"Bands 1 and 3: All strips of ash that the rack can give reach [\d/ ]+ in together;", said)
    page = visitor.get(f"/bench?{BOARD}&{STRIPED.replace('walnut', 'elm')}")
    said = visible_text(page)
    assert "1 strip of a stripe is missing" in said
    assert "Band 2: 0 of 1 strips 1/4 in wide of elm can be had." in said
    [address] = re.findall(r'href="(/bench\?[^"]+)"[^>]*><svg.*?</svg><span>Ask again for any species', page.text)
    again = visitor.get(unescape(address))
    assert "hold" in visible_text(again)
    assert "species" not in parse_qs(urlsplit(unescape(address)).query)


@pytest.mark.usefixtures("rack")
def test_a_near_miss_is_one_press_from_the_search_that_takes_it(visitor: HttpClient) -> None:
    page = visitor.get("/bench?length=19+1/8&width=30&thickness=1+1/2&species=ash&fills=1")
    assert "1/8 in too short : with 7/8 in end trim it fits" in visible_text(page)
    [address] = {unescape(each) for each in re.findall(r'<a href="(/bench\?[^"]+)">with 7/8 in', page.text)}
    assert "end_trim=7/8" in address.replace("%2F", "/")
    before, now = (
        re.search(r"reach ([\d/ ]+) in together", visible_text(each)) for each in (page, visitor.get(address))
    )
    assert before and now and before[1] != now[1]


@pytest.mark.usefixtures("rack")
def test_a_board_of_bands_is_on_hold_and_cut(shop: Shop, visitor: HttpClient) -> None:
    asked = f"{BOARD}&{STRIPED}&prefer=fewest-pieces&fills=1"
    page = visitor.get(f"/bench?{asked}")
    token = re.search(r'name="form_token" value="([^"]+)"', page.text)
    key = re.search(r'name="set" value="([0-9a-f]{16})"', page.text)
    assert token and key
    answer = visitor.post(f"/bench?{asked}", {"form_token": token[1], "set": key[1]})
    assert (answer.status_code, answer.headers["Location"]) == (303, "/boards/1")
    for path in ("/boards/1", "/boards/1/sheet", "/boards/1/cut"):
        assert visitor.get(path).status_code == 200
