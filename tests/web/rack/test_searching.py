"""The rack on screen: what is asked lives in the address; pictures or table; totals; pages."""

from dataclasses import replace
from html import unescape
from urllib.parse import parse_qs, urlsplit

import pytest

from inventory.core.lengths import Display, Nearest, inches, millimeters
from inventory.core.offcuts import Face, Mark, Offcut
from inventory.services.rack import editing, tagging
from inventory.services.rack.editing import RemovalReason
from inventory.services.rack.queries import PAGE_SIZE
from inventory.services.rack.tagging import NewPiece
from inventory.shop import Shop
from tests.web.visitor import HttpClient, visible_text

LONG_ASH = Offcut(inches("48"), inches("3"), inches("1"), "ash", Face.PLANED, Face.PLANED, location="wall 2")
SHORT_ASH = Offcut(inches("12"), inches("6"), inches("1/2"), "ash", location="bin 1", count=4)
ELM = Offcut(inches("24"), inches("2"), inches("2"), "elm", Face.FINISHED, Face.ROUGH, notes="from the old pew")
CODES = {"long": "0000011", "short": "0000022", "elm": "0000033"}


@pytest.fixture
def rack(shop: Shop) -> None:
    tagging.tag_all(
        shop,
        [NewPiece(LONG_ASH, CODES["long"]), NewPiece(SHORT_ASH, CODES["short"]), NewPiece(ELM, CODES["elm"])],
    )


def found(visitor: HttpClient, address: str) -> list[str]:
    """The names of the pieces on a page, in order."""
    page = visitor.get(address).text
    places = {name: page.find(f'href="/t/{code}"') for name, code in CODES.items()}
    return sorted((name for name, place in places.items() if place >= 0), key=places.__getitem__)


def test_an_empty_rack_leads_to_the_saw(visitor: HttpClient) -> None:
    answer = visitor.get("/rack")
    assert "The rack is empty" in visible_text(answer)
    assert 'href="/saw"' in answer.text


@pytest.mark.parametrize("view", ["", "&view=table"])
@pytest.mark.parametrize(
    ("asked", "pieces"),
    [
        ("sort=longest", ["long", "elm", "short"]),
        ("sort=widest", ["short", "long", "elm"]),
        ("sort=thickest", ["elm", "long", "short"]),
        ("species=ASH&sort=longest", ["long", "short"]),
        ("length=24&sort=longest", ["long", "elm"]),
        ("length=24+1/64", ["long"]),
        ("width=3+1/64", ["short"]),
        ("thickness=25.4+mm&sort=longest", ["long", "elm"]),
        ("condition=planed", ["long"]),
        ("condition=finished", ["elm"]),
        ("location=wall+2", ["long"]),
        ("text=pew", ["elm"]),
        ("species=ash&length=24", ["long"]),
        ("status=let+go", []),
    ],
)
@pytest.mark.usefixtures("rack")
def test_what_is_asked_in_the_address_is_what_is_shown(
    visitor: HttpClient, asked: str, pieces: list[str], view: str
) -> None:
    assert found(visitor, f"/rack?{asked}{view}") == pieces


@pytest.mark.usefixtures("rack")
def test_the_totals_count_pieces_and_wood_by_species(visitor: HttpClient) -> None:
    # By hand: 48×3×1/144 = 1 bd ft, 4 × 12×6×1/2/144 = 1 bd ft, 24×2×2/144 = 0.67 bd ft; boxes round down.
    words = visible_text(visitor.get("/rack"))
    assert "6 pieces under 3 tags, 2.67 bd ft in the shop" in words
    assert "ash 5 2.00 bd ft" in words
    assert "elm 1 0.67 bd ft" in words
    assert "In all 6 2.67 bd ft" in words


@pytest.mark.usefixtures("rack")
def test_a_shop_in_millimeters_counts_cubic_metres(visitor: HttpClient, shop: Shop) -> None:
    shop.save_settings(replace(shop.settings(), display=Display(Nearest.TENTH_MM)))
    assert "6 pieces under 3 tags, 0.0063 m³ in the shop" in visible_text(visitor.get("/rack"))


@pytest.mark.usefixtures("rack")
def test_a_form_sent_with_empty_fields_keeps_what_is_asked_alone_in_the_address(visitor: HttpClient) -> None:
    form = "text=&species=ash&location=&condition=&status=here&length=12&width=&thickness=&sort=newest&view=table"
    address = visitor.get(f"/rack?{form}").headers["Location"]
    assert parse_qs(urlsplit(address).query) == {"species": ["ash"], "length": ["12 in"], "view": ["table"]}


@pytest.mark.usefixtures("rack")
def test_each_thing_asked_can_be_left_out_again(visitor: HttpClient) -> None:
    page = visitor.get("/rack?species=ash&length=24").text
    assert 'href="/rack?length=24+in">ash' in page
    assert 'href="/rack?species=ash">24 in or longer' in page


@pytest.mark.usefixtures("rack")
@pytest.mark.parametrize("view", ["pictures", "table"])
def test_pieces_are_found_by_mark_and_batch_and_show_their_marks(visitor: HttpClient, shop: Shop, view: str) -> None:
    assert '<select id="field-batch"' not in visitor.get("/rack").text
    editing.change(shop, CODES["elm"], 1, replace(ELM, marks=(Mark.METAL, Mark.OILY), batch="pew"))
    assert found(visitor, f"/rack?mark=oily&view={view}") == found(visitor, f"/rack?batch=PEW&view={view}") == ["elm"]
    page = visitor.get(f"/rack?mark=metal&batch=pew&view={view}").text
    assert '<span class="chip">metal</span> <span class="chip">oily</span>' in page
    assert ">marked metal<" in page and ">batch pew<" in page
    assert '<option value="metal" selected>' in page and '<option value="pew" selected>' in page
    answer = visitor.get("/rack?mark=wormy")
    assert answer.status_code == 422
    assert 'mark can\'t be "wormy". Choose one of: keep, damp, metal' in unescape(answer.text)


@pytest.mark.usefixtures("rack")
def test_a_size_that_can_t_be_read_is_reported_beside_its_field_as_typed(visitor: HttpClient) -> None:
    answer = visitor.get("/rack?length=two+feet&species=ash")
    assert answer.status_code == 422
    assert 'value="two feet"' in answer.text
    assert 'id="fault-length"' in answer.text
    assert '<option value="ash" selected>' in answer.text
    assert '"two feet" is not a length' in unescape(answer.text)


@pytest.mark.usefixtures("rack")
def test_nothing_found_says_how_to_find_more(visitor: HttpClient) -> None:
    words = visible_text(visitor.get("/rack?species=ebony"))
    assert "Nothing on the rack is like that" in words
    assert "Leave one of the answers out, or make a size smaller." in words


@pytest.mark.usefixtures("rack")
def test_what_was_pruned_is_found_when_asked_for(visitor: HttpClient, shop: Shop) -> None:
    editing.remove(shop, CODES["elm"], 1, RemovalReason.BURNT)
    assert found(visitor, "/rack?sort=longest") == ["long", "short"]
    assert found(visitor, "/rack?status=let+go") == ["elm"]
    assert found(visitor, "/rack?status=all&sort=longest") == ["long", "elm", "short"]


def test_a_long_rack_is_turned_page_by_page(visitor: HttpClient, shop: Shop) -> None:
    pieces = [Offcut(millimeters(str(100 + number)), inches("2"), inches("1"), "oak & ash") for number in range(130)]
    tagging.tag_all(shop, [NewPiece(each) for each in pieces])
    first = visitor.get("/rack?species=oak+%26+ash&sort=longest")
    assert "Page 1 of 3" in visible_text(first)
    assert first.text.count('class="rack-piece"') == PAGE_SIZE
    assert 'rel="next" href="/rack?species=oak+%26+ash&amp;sort=longest&amp;page=2"' in first.text
    last = visitor.get("/rack?species=oak+%26+ash&sort=longest&page=99")
    assert "Page 3 of 3" in visible_text(last)
    assert last.text.count('class="rack-piece"') == 130 - 2 * PAGE_SIZE


@pytest.mark.usefixtures("rack")
def test_a_piece_without_a_photo_is_drawn_in_its_place(visitor: HttpClient) -> None:
    assert visitor.get("/rack").text.count('class="outline-drawing"') == 3


def test_words_that_look_like_markup_stay_words(visitor: HttpClient, shop: Shop) -> None:
    tagging.tag(shop, replace(ELM, species="<b>elm</b>", location='"loft" & bin'))
    for view in ("", "?view=table"):
        page = visitor.get(f"/rack{view}").text
        assert "<b>elm</b>" not in page
        assert "&lt;b&gt;elm&lt;/b&gt;" in page
