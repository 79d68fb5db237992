"""At the bench: end grain is asked for, shown as two glue-ups, set aside and cut."""

import re
from dataclasses import replace
from html import unescape

import pytest
from werkzeug.test import TestResponse

from inventory.core.lengths import inches
from inventory.fill.request import Grain
from inventory.services.boards import making
from inventory.services.rack import tagging
from inventory.services.rack.tagging import NewPiece
from inventory.shop import Shop
from inventory.storage.records import BoardState
from tests.web.sample_rack import LONG_ASH, SHORT_ASH, WALNUT, tag_sample_rack
from tests.web.visitor import HttpClient, visible_text

BOARD = "length=10&width=6&thickness=1+1/2&grain=end"
STRIPED = "band1=field&band1_species=ash&band2=stripe&band2_species=walnut&band2_each=1/4&band3=field&band3_species=ash"


@pytest.fixture
def rack(shop: Shop) -> None:
    tag_sample_rack(shop)
    tagging.tag_all(shop, [NewPiece(each) for each in (LONG_ASH, LONG_ASH, SHORT_ASH, SHORT_ASH, WALNUT)])


def fault(page: TestResponse, field: str) -> str:
    found = re.search(rf'id="fault-{field}">.*?<span>(.*?)</span>', page.text, re.DOTALL)
    return unescape(found[1]) if found else ""


def test_the_form_explains_how_end_grain_comes_about(visitor: HttpClient) -> None:
    page = visitor.get("/bench")
    assert "a panel is glued, sliced across, the slices turned up and glued again" in page.text
    assert page.text.count('class="drawn drawn-turning"') == 1
    for name in ("panel_grain", "panels", "row_depth"):
        assert f'name="{name}"' in page.text


@pytest.mark.usefixtures("rack")
def test_the_rows_are_drawn_as_deep_as_typed_every_second_one_turned(visitor: HttpClient) -> None:
    page = visitor.get(
        f"/bench/form?{BOARD}&row_depth=1&band1=field&band1_species=ash&band2=field&band2_species=walnut"
    )
    # Eleven rows of 1 in make 10 1/8 in: the first and the last are trimmed to half.
    shapes = re.findall(r'<rect class="ink-tone" x="([\d.]+)" y="([\d.]+)" width="([\d.]+)" height="76.2"', page.text)
    ends = [float(width) for _, _, width in shapes]
    assert len(shapes) == 2 * 11
    assert (ends[0], ends[2], ends[-1]) == (12.7, 25.4, 12.7)
    assert [y for _, y, _ in shapes[:4]] == ["0", "76.2", "76.2", "0"]
    assert "In rows of 1 in, every second one turned." in page.text


@pytest.mark.usefixtures("rack")
def test_the_answer_says_panels_rows_and_both_glue_ups(visitor: HttpClient) -> None:
    page = visitor.get(f"/bench?{BOARD}&panels=2&row_depth=3/4&species=ash&prefer=least-waste&fills=1")
    said = visible_text(page).replace("\N{NO-BREAK SPACE}", " ")
    assert "End grain, ash" in said
    assert "Sliced from 2 panels of edge grain, rows 3/4 in deep." in said
    assert "Slices 14 Row depth 3/4 in Glue lines " in said and " in the panels, 13 between rows" in said
    assert "Heavy line: the finished panel." in said and "Heavy line: the finished board." not in said
    assert "Panel 1 of 2" in said and "Panel 2 of 2" in said
    # 10 1/8 in of rows 3/4 in deep: fourteen, seven from each panel.
    assert re.search(r"\b14 rows\b", said), said
    assert "Crosscut the 2 panels into 14 slices of 1 5/8 in, and number them." in said
    assert "Turn every slice up" in said


@pytest.mark.usefixtures("rack")
def test_the_panels_share_of_an_uneven_number_of_rows_is_reported_apart(visitor: HttpClient) -> None:
    said = visible_text(visitor.get(f"/bench?{BOARD}&panels=2&row_depth=11/16&species=ash&prefer=least-waste&fills=1"))
    assert "1 panel of 8 rows" in said and "1 panel of 7 rows" in said


@pytest.mark.usefixtures("rack")
def test_without_a_depth_the_answer_says_which_is_best_and_what_the_next_would_cost(visitor: HttpClient) -> None:
    said = visible_text(visitor.get(f"/bench?{BOARD}&prefer=least-waste&fills=1"))
    assert "Sliced from 1 panel of edge grain, rows as deep as is best." in said
    [best, then] = re.findall(r"Rows ([\d /]+) in deep are best, then ([\d /]+) in: \d+ % more wood\.", said)[0]
    assert best != then
    assert f"Row depth {best} in" in said
    assert f"each is now {best} in of the board's length" in said


@pytest.mark.usefixtures("rack")
def test_where_no_usual_depth_fills_it_the_page_speaks_of_the_one_that_lacks_least(visitor: HttpClient) -> None:
    said = visible_text(visitor.get("/bench?length=30&width=12&thickness=1+1/2&grain=end&species=walnut"))
    assert re.search(r"rows [\d /]+ in deep \(no usual depth fills it; with this one the least is missing\)\.", said), (
        said
    )


def test_where_one_panel_fails_and_two_fill_the_board_they_are_one_tap_away(shop: Shop, visitor: HttpClient) -> None:
    tagging.tag(shop, replace(LONG_ASH, length=inches("13 1/8"), width=inches("8"), count=4))
    page = visitor.get("/bench?length=10&width=3&thickness=1+1/2&grain=end&row_depth=3/4&prefer=least-waste&fills=1")
    assert "From 2 panels the rack fills it: they are shorter, so shorter offcuts serve." in visible_text(page)
    link = re.search(r'<a href="([^"]+)">Search with that many</a>', page.text)
    assert link is not None
    assert "Sliced from 2 panels of edge grain, rows 3/4 in deep. " in visible_text(visitor.get(unescape(link[1])))


@pytest.mark.parametrize(
    ("more", "field", "sentence"),
    [
        ("panels=13", "panels", "A board is made from 1 to 12 panels, not 13."),
        ("panels=few", "panels", '"few" is no number of panels. Type 1, 2, 3 …'),
        ("panel_grain=end", "panel_grain", "A panel is glued up in edge or face grain. Choose one of them."),
        ("row_depth=deep", "row_depth", '"deep" is not a length. Type 23 1/2, 23.5 in or 597 mm.'),
        (
            "row_depth=0",
            "row_depth",
            "The row depth is 0. Type the finished thickness of the panel, or leave it out.",
        ),
    ],
)
def test_what_can_be_no_panel_is_said_beside_its_field(
    visitor: HttpClient, more: str, field: str, sentence: str
) -> None:
    page = visitor.get(f"/bench?{BOARD}&{more}")
    assert (page.status_code, fault(page, field)) == (422, sentence)


@pytest.mark.usefixtures("rack")
def test_the_panels_wishes_are_not_looked_at_for_other_grains(visitor: HttpClient) -> None:
    page = visitor.get("/bench?length=18&width=6&thickness=1+1/2&panels=few&row_depth=deep")
    assert page.status_code == 200
    assert "panels=few" not in page.text


@pytest.mark.usefixtures("rack")
@pytest.mark.parametrize(
    ("more", "glue_ups"),
    [
        ("species=ash&row_depth=3/4", 1),
        ("species=ash&row_depth=3/4&panels=3", 3),
        (f"{STRIPED}&row_depth=3/4", 1),
        (f"{STRIPED}&row_depth=3/4&panels=2", 2),
        ("panel_grain=face&row_depth=3/4&panels=2", 2),
    ],
    ids=["one panel", "three panels", "bands", "bands in two panels", "panels laid flat"],
)
def test_from_the_answer_to_the_cut_and_back(shop: Shop, visitor: HttpClient, more: str, glue_ups: int) -> None:
    asked = f"{BOARD}&{more}&prefer=least-waste&fills=1"
    page = visitor.get(f"/bench?{asked}")
    token = re.search(r'name="form_token" value="([^"]+)"', page.text)
    key = re.search(r'name="set" value="([0-9a-f]{16})"', page.text)
    assert token and key, visible_text(page)
    answer = visitor.post(f"/bench?{asked}", {"form_token": token[1], "set": key[1]})
    assert (answer.status_code, answer.headers["Location"]) == (303, "/boards/1")
    made = making.board(shop, 1)
    assert (made.request.grain, len(made.fill.glue_ups)) == (Grain.END, glue_ups)
    for path in ("/boards/1", "/boards/1/sheet", "/boards/1/cut"):
        assert visitor.get(path).status_code == 200
    left = [
        making.ConfirmedLeftover(
            each.cut, each.remainder, each.length, each.width, each.thickness, each.keep, each.location
        )
        for each in making.proposed_leftovers(shop, 1)
    ]
    cut = making.cut(shop, 1, made.version, left)
    assert cut.state is BoardState.CUT
    assert len(cut.left_over) == sum(each.keep for each in left)
    undone = making.undo(shop, 1, cut.version)
    assert (undone.state, undone.fill) == (BoardState.ON_HOLD, made.fill)
    assert visitor.get("/boards/1").status_code == 200


@pytest.mark.usefixtures("rack")
def test_a_shortfall_of_panels_is_reported_for_all_of_them(visitor: HttpClient) -> None:
    said = visible_text(visitor.get("/bench?length=30&width=12&thickness=1+1/2&grain=end&species=walnut&row_depth=1"))
    assert re.search(r"[\d/ ]+ in of width of walnut is missing, all panels and boards together\.", said), said


def test_a_length_that_no_board_has_leaves_the_form_as_typed_and_undrawn(visitor: HttpClient) -> None:
    page = visitor.get("/bench/form?length=30+m&width=6&grain=end")
    assert page.status_code == 200
    assert "The board's length is over 10 m. Check the unit." in visible_text(page)
    assert "drawn-asked" not in page.text
