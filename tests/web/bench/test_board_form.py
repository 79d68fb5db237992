"""At the bench: a board is asked for in the address, the answer is drawn with its steps, a set is set aside."""

import re
from dataclasses import replace
from html import unescape
from xml.etree import ElementTree

import pytest
from werkzeug.datastructures import MultiDict
from werkzeug.test import TestResponse

from inventory.core.errors import Conflict
from inventory.core.lengths import Display, Nearest, inches
from inventory.core.offcuts import Mark, Offcut, State
from inventory.cutting.costs import Preference
from inventory.fill.plan import Fill, Shortfall
from inventory.fill.request import BoardRequest
from inventory.services.boards import choosing, filling, making
from inventory.services.rack import editing, queries, tagging
from inventory.shop import Shop
from inventory.storage.records import BoardState
from inventory.web.bench.shortfall_view import build_shortfall_view
from tests.web.sample_rack import BOARD, CODES, LONG_ASH, tag_sample_rack
from tests.web.visitor import HttpClient, visible_text


@pytest.fixture
def rack(shop: Shop) -> None:
    tag_sample_rack(shop)


def sets_on(page: TestResponse) -> list[str]:
    """The keys of the sets that can be set aside, in order."""
    return re.findall(r'name="set" value="([0-9a-f]{16})"', page.text)


def chosen(page: TestResponse, key: str = "") -> dict[str, str]:
    """The form of one set, the first where none is named."""
    token = re.search(r'name="form_token" value="([^"]+)"', page.text)
    assert token
    return {"form_token": token[1], "set": key or sets_on(page)[0]}


def fault(page: TestResponse, field: str) -> str:
    found = re.search(rf'id="fault-{field}">.*?<span>(.*?)</span>', page.text, re.DOTALL)
    return unescape(found[1]) if found else ""


def test_the_form_explains_all_grains_with_a_picture_and_in_words(visitor: HttpClient) -> None:
    page = visitor.get("/bench")
    assert page.status_code == 200
    assert page.text.count('class="grain-picture"') == 3
    assert "strips turned on edge, glued face to face" in page.text
    assert "strips laid flat, glued edge to edge" in page.text


@pytest.mark.usefixtures("rack")
def test_the_species_on_the_rack_can_be_chosen_and_stay_ticked(visitor: HttpClient) -> None:
    page = visitor.get(f"/bench?{BOARD}&species=ash&species=Elm")
    ticked = re.findall(r'name="species" value="([^"]+)"( checked)?', page.text)
    assert ticked == [("ash", " checked"), ("Elm", " checked"), ("walnut", "")]


@pytest.mark.usefixtures("rack")
def test_a_search_is_an_address_and_answers_without_a_form(visitor: HttpClient) -> None:
    page = visitor.get(f"/bench?{BOARD}&prefer=fewest-pieces&fills=1")
    assert page.status_code == 200
    said = visible_text(page)
    assert "A board 18 × 6 × 1 1/2 in Edge grain, any species. 1.12 bd ft when finished." in said
    assert "1 set of offcuts makes it" in said
    assert "Best for fewest pieces. Proven: the rack holds none better." in said


@pytest.mark.usefixtures("rack")
def test_the_answer_says_yield_pieces_strips_rips_crosscuts_and_glue_lines(visitor: HttpClient) -> None:
    said = visible_text(visitor.get(f"/bench?{BOARD}&prefer=least-waste&fills=1&species=walnut"))
    for message in ("Offcuts 1", "Strips 5", "Rips 5", "Crosscuts 2", "Glue lines 4", "Faces with old finish 0"):
        assert message in said
    assert re.search(r"Yield \d\d %", said)


@pytest.mark.usefixtures("rack")
def test_every_offcut_has_its_drawing_its_steps_and_a_link_to_its_tag(visitor: HttpClient) -> None:
    page = visitor.get(f"/bench?{BOARD}&prefer=least-waste&fills=1&species=walnut")
    assert page.text.count('class="drawn drawn-glue-up"') == 1
    assert page.text.count('class="drawn drawn-cutting"') == 1
    assert f'href="/t/{CODES["walnut"]}"' in page.text
    said = visible_text(page).replace("\N{NO-BREAK SPACE}", " ")
    assert "Crosscut 2 lengths of 19 in from one end. Left: 6 3/4 in × 5 1/2 in, keep it." in said
    assert "Length 1: joint one edge, then rip 3 strips 1 5/8 in wide: strips 1 to 3." in said
    assert "Turn the strips on edge and lay strips 1 to 5 in order as drawn, face against face." in said


@pytest.mark.usefixtures("rack")
def test_marks_and_notes_stand_beside_the_piece_and_metal_is_its_first_step(shop: Shop, visitor: HttpClient) -> None:
    record = queries.record(shop, CODES["long"])
    carries = {"marks": (Mark.METAL,), "batch": "elm", "notes": "a nail was here"}
    editing.change(shop, record.code, record.version, replace(record.offcut, **carries))
    page = visitor.get(f"/bench?{BOARD}").text
    cards = re.findall(r'<article class="card plain cut-piece">.*?</article>', page, re.DOTALL)
    own = [card for card in cards if CODES["long"] in card]
    assert own
    for card in cards:
        steps = re.findall(r"<li>(.*?)</li>", card)
        assert (card in own) is ("metal · batch elm" in card) is ("a nail was here" in card)
        assert (card in own) is steps[0].startswith("Metal was found in this piece: find all of it with a detector")


@pytest.mark.usefixtures("rack")
def test_every_drawing_on_the_page_has_names_of_its_own(visitor: HttpClient) -> None:
    page = visitor.get(f"/bench?{BOARD}&fills=5").text
    names = re.findall(r'\bid="([^"]+)"', page)
    assert len(names) == len(set(names))
    for picture in re.findall(r"<svg class=\"drawn.*?</svg>", page, re.DOTALL):
        ElementTree.fromstring(picture)


@pytest.mark.usefixtures("rack")
def test_a_set_that_is_best_for_several_is_shown_once(visitor: HttpClient) -> None:
    page = visitor.get(f"/bench?{BOARD}&species=walnut&fills=1")
    said = visible_text(page)
    assert len(sets_on(page)) == 1
    assert (
        "Best for best use, least waste, fewest pieces, least milling and oldest first. "
        "Proven: the rack holds none better." in said
    )


@pytest.mark.usefixtures("rack")
def test_sets_can_be_compared_side_by_side(visitor: HttpClient) -> None:
    page = visitor.get(f"/bench?{BOARD}&fills=3").text
    table = page[page.index("side-by-side") : page.index("</table>")]
    columns = re.findall(r'<a href="#(set-\d+)">', table)
    assert len(columns) >= 2
    for anchor in columns:
        assert f'id="{anchor}"' in page


@pytest.mark.usefixtures("rack")
def test_allowances_can_be_changed_for_one_search_alone(shop: Shop, visitor: HttpClient) -> None:
    page = visitor.get(f"/bench?{BOARD}&species=walnut&end_trim=2+in&rip_kerf=")
    assert "1 allowance changed" in visible_text(page)
    assert "Crosscut 2 lengths of 20\N{NO-BREAK SPACE}in" in page.text
    assert 'name="end_trim" type="text"' in page.text and 'value="2 in"' in page.text
    assert shop.settings().allowances.end_trim == inches("1")


def test_allowances_that_change_nothing_here_are_not_offered(visitor: HttpClient) -> None:
    page = visitor.get("/bench").text
    assert 'name="rip_kerf"' in page
    assert 'name="leaf_clean"' not in page and 'name="resaw_kerf"' not in page


@pytest.mark.usefixtures("rack")
def test_bad_answers_come_back_as_typed_each_with_its_sentence(visitor: HttpClient) -> None:
    page = visitor.get("/bench?length=18+1/0&width=&thickness=1&rip_kerf=wide&species=ash")
    assert page.status_code == 422
    assert fault(page, "length") == (
        '"18 1/0" is not a length: the fraction has 0 below the line. Type 23 1/2, 23.5 in or 597 mm.'
    )
    assert fault(page, "width") == "The size is missing. Type 23 1/2, 23.5 in or 597 mm."
    assert re.search(r"<form[^>]* novalidate ", page.text), "the browser's own bubble would come before our sentence"
    assert fault(page, "thickness") == ""
    assert fault(page, "rip_kerf") == '"wide" is not a length. Type 23 1/2, 23.5 in or 597 mm.'
    assert 'value="18 1/0"' in page.text and 'value="wide"' in page.text
    assert re.search(r'value="ash" checked', page.text)
    assert "Not looked yet: 3 answers need correction." in visible_text(page)


@pytest.mark.parametrize(
    ("asked", "field", "sentence"),
    [
        ("length=0&width=6&thickness=1", "length", "The board's length is 0. Type the finished length."),
        (f"{BOARD}&grain=oak", "grain", 'A board can\'t have "oak" grain. Choose edge, face or end grain.'),
        (f"{BOARD}&fills=11", "fills", "fills must be 1 to 10, not 11."),
        (f"{BOARD}&fills=few", "fills", 'fills must be a whole number, not "few".'),
    ],
)
def test_what_can_be_no_board_is_said_beside_its_field(
    visitor: HttpClient, asked: str, field: str, sentence: str
) -> None:
    page = visitor.get(f"/bench?{asked}")
    assert (page.status_code, fault(page, field)) == (422, sentence)


@pytest.mark.usefixtures("rack")
def test_a_board_that_the_rack_cannot_fill_is_reported_plainly(visitor: HttpClient) -> None:
    page = visitor.get("/bench?length=18&width=30&thickness=1+1/2&species=walnut")
    said = visible_text(page)
    assert page.status_code == 200
    assert "The rack can't fill this board" in said
    # Six strips of 1 1/4 in: 7 1/2 in of the 30 1/8 in needed.
    assert "22 5/8 in of width is missing" in said
    assert "All strips of walnut that the rack can give reach 7 1/2 in together; the glue-up needs 30 1/8 in" in said
    assert "Other species 6 pieces" in said
    assert "alone would help" not in said
    longer_than_all = visible_text(visitor.get("/bench?length=80&width=6&thickness=1+1/2"))
    assert "No smaller width or thickness alone would help." in longer_than_all


@pytest.mark.usefixtures("rack")
def test_the_largest_board_is_one_press_away_and_the_rack_fills_it(visitor: HttpClient) -> None:
    page = visitor.get("/bench?length=18&width=30&thickness=1+1/2&species=walnut&fills=1")
    addresses = [unescape(each) for each in re.findall(r'class="button" href="(/bench\?[^"]+)"', page.text)]
    narrower = next(each for each in addresses if "width=7+3/8" in each or "width=7%203/8" in each or "7+3%2F8" in each)
    assert "species=walnut" in narrower and "fills=1" in narrower
    assert "1 set of offcuts makes it" in visible_text(visitor.get(narrower))


@pytest.mark.usefixtures("rack")
def test_any_species_is_one_press_away_where_others_fell_out(visitor: HttpClient) -> None:
    page = visitor.get("/bench?length=18&width=9&thickness=1+1/2&species=walnut&fills=1")
    [address] = re.findall(r'href="(/bench\?[^"]+)"[^>]*><svg.*?</svg><span>Ask again for any species', page.text)
    again = visitor.get(unescape(address))
    assert "species=" not in unescape(address)
    assert "hold" in visible_text(again)


@pytest.mark.usefixtures("rack")
def test_the_nearest_misses_are_named_with_what_they_lack(visitor: HttpClient) -> None:
    said = visible_text(visitor.get("/bench?length=20&width=30&thickness=1+1/2&species=ash"))
    assert "000-0022 1 in too short : with 0 in end trim it fits ash, 20 × 4 × 1 in" in said


def test_an_empty_rack_answers_that_nothing_gives_a_strip(visitor: HttpClient) -> None:
    said = visible_text(visitor.get(f"/bench?{BOARD}"))
    assert "No piece on the rack gives a single strip for it." in said
    fir = visible_text(visitor.get("/bench?length=9&width=4&thickness=1&species=Douglas+fir"))
    assert "Edge grain, Douglas fir." in fir and "No piece of Douglas fir on the rack gives" in fir


@pytest.mark.usefixtures("rack")
def test_a_metric_shop_reads_and_shows_millimeters(shop: Shop, visitor: HttpClient) -> None:
    shop.save_settings(replace(shop.settings(), display=Display(Nearest.TENTH_MM)))
    page = visitor.get("/bench?length=457.2&width=152.4&thickness=38.1&species=walnut&fills=1")
    assert "A board 457.2 × 152.4 × 38.1 mm" in visible_text(page)
    assert "To scale, measures in millimetres." in page.text


@pytest.mark.usefixtures("rack")
def test_setting_aside_reserves_the_offcuts_and_opens_the_board(shop: Shop, visitor: HttpClient) -> None:
    page = visitor.get(f"/bench?{BOARD}&species=walnut")
    answer = visitor.post(f"/bench?{BOARD}&species=walnut", chosen(page))
    assert (answer.status_code, answer.headers["Location"]) == (303, "/boards/1")
    assert queries.record(shop, CODES["walnut"]).state is State.ON_HOLD
    assert making.board(shop, 1).state is BoardState.ON_HOLD
    assert "1 offcut set aside for this board." in visible_text(visitor.get("/boards/1"))


@pytest.mark.usefixtures("rack")
def test_the_set_that_was_shown_is_the_one_on_hold(shop: Shop, visitor: HttpClient) -> None:
    page = visitor.get(f"/bench?{BOARD}&fills=3")
    last = sets_on(page)[-1]
    visitor.post(f"/bench?{BOARD}&fills=3", chosen(page, last))
    assert filling.fill_key(making.board(shop, 1).fill) == last


@pytest.mark.usefixtures("rack")
def test_the_same_form_sent_twice_makes_one_board(shop: Shop, visitor: HttpClient) -> None:
    page = visitor.get(f"/bench?{BOARD}&species=walnut")
    form = chosen(page)
    answers = [visitor.post(f"/bench?{BOARD}&species=walnut", form) for _ in range(2)]
    assert [answer.headers["Location"] for answer in answers] == ["/boards/1", "/boards/1"]
    assert len(making.boards(shop)) == 1


@pytest.mark.usefixtures("rack")
def test_where_the_rack_changed_meanwhile_the_new_answer_is_shown(shop: Shop, visitor: HttpClient) -> None:
    page = visitor.get(f"/bench?{BOARD}&fills=1&prefer=fewest-pieces")
    taken = making.set_aside(shop, *_request_and_fill(shop))
    answer = visitor.post(f"/bench?{BOARD}&fills=1&prefer=fewest-pieces", chosen(page))
    said = visible_text(answer)
    assert answer.status_code == 409
    assert "Nothing was set aside The rack has changed since this answer was found: nothing was set aside." in said
    assert sets_on(answer) != sets_on(page)
    assert [board.id for board in making.boards(shop)] == [taken.id]


def _request_and_fill(shop: Shop) -> tuple[BoardRequest, Fill]:
    given = {"length": "18", "width": "6", "thickness": "1 1/2", "prefer": ["fewest-pieces"], "fills": 1}
    asked = filling.request(shop, given)
    return asked, filling.fill(shop, asked).fills[0]


@pytest.mark.usefixtures("rack")
def test_choosing_says_so_where_a_piece_was_corrected_meanwhile(shop: Shop) -> None:
    asked, fill = _request_and_fill(shop)
    key = filling.fill_key(fill)
    code = fill.cuts[0].offcut.tag
    record = queries.record(shop, code)
    shorter: Offcut = replace(record.offcut, length=inches("10"))
    editing.change(shop, code, record.version, shorter)
    with pytest.raises(Conflict):
        choosing.hold_chosen(shop, asked, key)
    assert making.boards(shop) == ()


@pytest.mark.usefixtures("rack")
def test_what_is_on_hold_is_out_of_the_next_search(shop: Shop, visitor: HttpClient) -> None:
    asked, fill = _request_and_fill(shop)
    making.set_aside(shop, asked, fill)
    taken = {cut.offcut.tag for cut in fill.cuts}
    again = filling.fill(shop, asked)
    assert not taken & {cut.offcut.tag for each in again.fills for cut in each.cuts}


@pytest.mark.usefixtures("rack")
def test_a_long_name_from_outside_is_shown_as_text(shop: Shop, visitor: HttpClient) -> None:
    tagging.tag(shop, replace(LONG_ASH, species='<b>"elm"</b>'))
    page = visitor.get(f"/bench?{BOARD}&species=%3Cb%3E%22elm%22%3C/b%3E&fills=1").text
    assert "<b>" not in page
    assert "&lt;b&gt;" in page


def test_one_wood_that_can_t_be_shared_out_is_not_reported_as_a_quarrel_of_bands() -> None:
    asked = BoardRequest(inches("18"), inches("6"), inches("1"), count=2, prefer=(Preference.LEAST_WASTE,))
    shown = build_shortfall_view(Shortfall((), {}, (), None, None, None), asked, MultiDict(), Display())
    assert shown.title == "No way was found to share the wood out"
    assert shown.shortages == (
        "There is width enough for all of it together, but no way was found to share the strips out among the "
        "glue-ups. Ask for one board fewer, or make them a little narrower.",
    )
