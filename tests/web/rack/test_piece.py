"""A piece's own page: reached by its code however typed, with all that is known of it."""

from dataclasses import replace
from html import unescape

import pytest

from inventory.core.lengths import inches, millimeters
from inventory.core.offcuts import Face, Offcut
from inventory.services.boards import making
from inventory.services.rack import editing, tagging
from inventory.services.rack.editing import RemovalReason
from inventory.services.rack.tagging import NewPiece
from inventory.shop import Shop
from inventory.storage.records import OffcutRecord
from inventory.wording.cautions import DEFER, LEAD, METAL, SHORT
from tests.services.fills import BOARD, make_fill
from tests.web.visitor import HttpClient, visible_text

ASH = Offcut(
    inches("23 1/2"),
    inches("3 1/4"),
    inches("13/16"),
    "ash",
    Face.ROUGH,
    Face.PLANED,
    location="wall 2",
    notes="kiln\ndry",
)
CODE = "0000011"


@pytest.fixture
def piece(shop: Shop) -> OffcutRecord:
    return tagging.tag(shop, ASH, code=CODE)


@pytest.mark.parametrize(
    "typed", ["/T/0000011", "/t/000-0011", "/t/ooo-ooii", "/T/OOO%20OO1I", "/t/0000011%20", "/t/OOOOOLL"]
)
def test_a_code_typed_in_any_way_leads_to_the_one_address(visitor: HttpClient, piece: OffcutRecord, typed: str) -> None:
    answer = visitor.get(typed)
    assert (answer.status_code, answer.headers["Location"]) == (301, "/t/0000011")


def test_the_page_says_the_sizes_as_measured_and_after_cleaning(visitor: HttpClient, piece: OffcutRecord) -> None:
    words = visible_text(visitor.get("/t/0000011"))
    for message in (
        "000-0011 ash on the rack 23 1/2 × 3 1/4 × 13/16 in Location: wall 2",
        "Faces rough and planed",
        "Thickness after cleaning 3/4 in",
        "Wood 0.43 bd ft",
        "kiln dry",
        "31 Jan 2030, 10:00 tagged",
    ):
        assert message in words, message


def test_the_page_says_what_the_piece_can_give(visitor: HttpClient, piece: OffcutRecord) -> None:
    # By hand, sections 3 to 5: clean 13/16 − 1/16 = 3/4; strips of 3/4 + 1/8 = 7/8 from 3 1/4 − 1/32 with 1/8
    # kerf: floor((3 7/32 + 1/8) / 1) = 3, each adds 3/4. Flat: one strip of 3 1/4 − 1/16 = 3 3/16 wide, for a
    # board of 3/4 − 1/8 = 5/8.
    words = visible_text(visitor.get("/t/0000011"))
    assert "On edge, for a board 3/4 in thick: 3 strips, 2 1/4 in of its width." in words
    assert "Laid flat, for a board up to 5/8 in thick: 1 strip, 3 3/16 in of its width." in words


def test_the_page_says_the_weight_of_a_wood_that_is_known_and_none_of_another(visitor: HttpClient, shop: Shop) -> None:
    # A board foot of black cherry, 2.359737 litres: specific gravity 0.50 at 12 % moisture (Wood Handbook,
    # table 5-3), so 0.50 × 1.12 × 2.359737 kg = 1.321 kg = 2.91 lb.
    cherry = Offcut(inches("12"), inches("12"), inches("1"), "black cherry")
    tagging.tag(shop, cherry, code=CODE)
    tagging.tag(shop, replace(cherry, species="driftwood"), code="0000022")
    assert "Weight at 12 % moisture about 2.9 lb" in visible_text(visitor.get("/t/0000011"))
    assert "Weight" not in visible_text(visitor.get("/t/0000022"))


def test_the_cautions_are_those_that_the_piece_calls_for(visitor: HttpClient, shop: Shop) -> None:
    short = Offcut(inches("11"), inches("3"), inches("1"), "sapele", Face.FINISHED)
    tagging.tag(shop, short, code=CODE)
    tagging.tag(shop, replace(short, length=inches("12"), face_a=Face.PLANED), code="0000022")
    first, second = visible_text(visitor.get("/t/0000011")), visible_text(visitor.get("/t/0000022"))
    for sentence in (LEAD, SHORT):
        assert sentence in first
        assert sentence not in second
    for sentence in (METAL, DEFER, "skin irritation"):
        assert sentence in first
        assert sentence in second


def test_a_piece_too_thin_for_any_strip_says_so(visitor: HttpClient, shop: Shop) -> None:
    tagging.tag(shop, replace(ASH, thickness=inches("1/16"), face_b=Face.ROUGH), code=CODE)
    words = visible_text(visitor.get("/t/0000011"))
    assert "Thickness after cleaning nothing is left" in words
    assert "No strip for a glue-up: it is too thin after cleaning, or too narrow." in words


def test_sizes_that_the_display_rounds_are_reported_exactly_too(visitor: HttpClient, shop: Shop) -> None:
    tagging.tag(shop, replace(ASH, length=millimeters("597.25")), code=CODE)
    words = visible_text(visitor.get("/t/0000011"))
    assert "≈23 1/2 × 3 1/4 × 13/16 in" in words
    assert "As measured, exactly 597.25 mm × 3 1/4 in × 13/16 in" in words


def test_the_page_has_its_drawing_to_scale(visitor: HttpClient, piece: OffcutRecord) -> None:
    assert "Drawn to scale: 23 1/2 in by 3 1/4 in by 13/16 in; face A rough, face B planed; 3/4 in clean." in (
        visitor.get("/t/0000011").text
    )


def test_an_unknown_code_says_so_and_offers_typing_again(visitor: HttpClient, piece: OffcutRecord) -> None:
    answer = visitor.get("/t/00000ZZ")
    assert answer.status_code == 404
    words = visible_text(answer)
    slip = visitor.get(f"/t/{piece.code[:-1]}")
    assert "Was it one of these?" in visible_text(slip) and f'href="/t/{piece.code}"' in slip.text
    assert "No such tag" in words
    assert 'name="text" type="text" value="00000ZZ"' in answer.text
    assert 'href="/saw?code=00000ZZ"' in answer.text


def test_a_slip_in_the_code_is_reported(visitor: HttpClient, piece: OffcutRecord) -> None:
    answer = visitor.get("/t/0000012")
    assert answer.status_code == 404
    assert '"0000012" is not quite a code: the last character does not match. Read the tag once more.' in unescape(
        answer.text
    )


def test_a_code_in_the_search_field_opens_the_piece_and_a_word_searches_the_rack(
    visitor: HttpClient, piece: OffcutRecord
) -> None:
    assert visitor.get("/find?text=ooo-ooii").headers["Location"] == "/t/0000011"
    assert visitor.get("/find?text=kiln").headers["Location"] == "/rack?text=kiln"
    assert visitor.get("/rack?text=000-0011").headers["Location"] == "/t/0000011"


def test_leftovers_parent_and_board_lead_to_one_another(visitor: HttpClient, shop: Shop) -> None:
    record = tagging.tag(shop, replace(ASH, length=inches("60"), thickness=inches("2")), code=CODE)
    board = making.set_aside(shop, BOARD, make_fill(BOARD, [(record, 1)]), "Step for the gate")
    words = visible_text(visitor.get("/t/0000011"))
    assert "A board waits for it: its sizes stand, and it can't be let go until the board is cut or abandoned." in words
    assert "Let it go" not in words
    proposed = making.proposed_leftovers(shop, board.id)
    kept = [
        making.ConfirmedLeftover(each.cut, each.remainder, each.length, each.width, each.thickness, True, "wall 2")
        for each in proposed
        if each.keep
    ]
    done = making.cut(shop, board.id, board.version, kept)
    parent = visitor.get("/t/0000011").text
    assert f'href="/boards/{board.id}">Step for the gate</a>' in parent
    for code in done.left_over:
        assert f'href="/t/{code}"' in parent
        leftover = visitor.get(f"/t/{code}").text
        assert 'href="/t/0000011"' in leftover
        assert f'href="/boards/{board.id}">Step for the gate</a> was cut' in leftover


def test_a_piece_that_is_gone_offers_only_to_take_it_back(visitor: HttpClient, shop: Shop, piece: OffcutRecord) -> None:
    editing.remove(shop, CODE, piece.version, RemovalReason.BURNT)
    words = visible_text(visitor.get("/t/0000011"))
    assert "Take it back onto the rack" in words
    assert "Change it" not in words
    assert "It is gone" not in words


def test_pruning_needs_a_reason_and_keeps_it_in_the_history(visitor: HttpClient, piece: OffcutRecord) -> None:
    page = "/t/0000011"
    answer = visitor.post(f"{page}/let-go", {"version": piece.version, "note": "long check"}, page=page)
    assert answer.status_code == 422
    assert "No reason is chosen. Choose why the piece goes." in answer.text
    assert 'value="long check"' in answer.text
    answer = visitor.post(
        f"{page}/let-go",
        {"version": piece.version, "reason": "split, rotten or wormy", "note": "long check"},
        page=page,
    )
    assert answer.status_code == 303
    words = visible_text(visitor.get(page))
    assert "let go : split, rotten or wormy: long check" in words
    assert "000-0011 is let go: split, rotten or wormy." in words


def test_a_piece_that_was_pruned_comes_back(visitor: HttpClient, shop: Shop, piece: OffcutRecord) -> None:
    gone = editing.remove(shop, CODE, piece.version, RemovalReason.NOT_FOUND)
    visitor.post("/t/0000011/take-back", {"version": gone.version}, page="/t/0000011")
    assert "000-0011 is back on the rack." in visible_text(visitor.get("/t/0000011"))


def test_some_of_a_bundle_can_be_used_for_something_else(visitor: HttpClient, shop: Shop) -> None:
    record = tagging.tag(shop, replace(ASH, count=5), code=CODE)
    page = "/t/0000011"
    for typed, sentence in (
        ("two", '"two" is no number of pieces. Type how many were used.'),
        ("6", "6 of 000-0011 can't be used up: 5 of 5 are free. Type a number from 1 to what is free, or abandon the "
              "board that waits for it."),
    ):  # fmt: skip
        answer = visitor.post(f"{page}/use-up", {"version": record.version, "pieces": typed}, page=page)
        assert answer.status_code == 422
        assert sentence in unescape(answer.text)
        assert f'value="{typed}"' in answer.text
    visitor.post(f"{page}/use-up", {"version": record.version, "pieces": "2", "note": "wedges"}, page=page)
    assert "3 like pieces" in visible_text(visitor.get(page))


def test_a_button_on_an_old_page_says_that_somebody_was_quicker(
    visitor: HttpClient, shop: Shop, piece: OffcutRecord
) -> None:
    editing.change(shop, CODE, piece.version, replace(ASH, location="loft"))
    answer = visitor.post(
        "/t/0000011/let-go", {"version": piece.version, "reason": "burnt", "note": "in the stove"}, page="/t/0000011"
    )
    assert answer.status_code == 409
    words = visible_text(answer)
    assert "Nothing was changed." in words
    assert "Location: loft" in words
    assert 'value="in the stove"' in answer.text


def test_the_whole_page_of_a_bundle_counts_its_pieces(visitor: HttpClient, shop: Shop) -> None:
    tagging.tag_all(shop, [NewPiece(replace(ASH, count=3), code=CODE)])
    words = visible_text(visitor.get("/t/0000011"))
    assert "3 like pieces" in words
    assert "Wood of all 3 pieces 1.29 bd ft" in words
