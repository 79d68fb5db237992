"""Scanning: photos of tags and shelves, the live camera, typed codes, a hand scanner, lost tags."""

import re
from io import BytesIO
from urllib.parse import parse_qsl, urlsplit

import pytest
from PIL import Image

from inventory.core.codes import format_code
from inventory.core.lengths import inches
from inventory.core.offcuts import Offcut
from inventory.services.labels import label_content
from inventory.services.rack import queries, retagging, tagging
from inventory.shop import Shop
from tests.labels.camera import render_shelf
from tests.web.visitor import HttpClient, visible_text

ASH = Offcut(inches("23 1/2"), inches("3 1/4"), inches("13/16"), "ash", location="wall 3")
STRANGE = "0000022"


def sent(visitor: HttpClient, picture: Image.Image, path: str = "/scan"):  # type: ignore[no-untyped-def]
    stream = BytesIO()
    picture.save(stream, "JPEG", quality=85)
    stream.seek(0)
    return visitor.post(path, {"photo": (stream, "shelf.jpg")}, page="/scan", content_type="multipart/form-data")


def test_a_photo_of_one_tag_opens_its_piece_whatever_address_is_on_it(shop: Shop, visitor: HttpClient) -> None:
    piece = tagging.tag(shop, ASH)
    for base in ("", "http://an-old-name.example", "http://192.168.1.20:8765"):
        answer = sent(visitor, render_shelf([piece.code], base=base))
        assert (answer.status_code, answer.headers["Location"]) == (303, f"/t/{piece.code}")


def test_a_photo_of_a_blank_tag_opens_the_saw_with_its_code(shop: Shop, visitor: HttpClient) -> None:
    (blank,) = label_content.blank_codes(shop, 1)
    answer = sent(visitor, render_shelf([blank]))
    assert answer.headers["Location"] == f"/saw?code={blank}"
    assert visitor.get(f"/t/{blank}").headers["Location"] == f"/saw?code={blank}"
    assert f"For the blank tag {format_code(blank)}" in visible_text(visitor.get(f"/saw?code={blank}"))
    rejected = visitor.post("/saw", {"code": blank, "length": "long"})
    assert rejected.status_code == 422 and f"For the blank tag {blank}" in visible_text(rejected)


def test_a_photo_of_a_shelf_lists_every_piece_and_says_what_is_not_known(shop: Shop, visitor: HttpClient) -> None:
    pieces = tagging.tag_all(shop, [tagging.NewPiece(ASH)] * 3)
    (blank,) = label_content.blank_codes(shop, 1)
    answer = sent(visitor, render_shelf([*(each.code for each in pieces), blank, STRANGE]))
    asked = parse_qsl(urlsplit(answer.headers["Location"]).query)
    codes = [value for name, value in asked if name == "tag"]
    assert codes == [*(each.code for each in pieces), blank, STRANGE]
    page = visible_text(visitor.get(answer.headers["Location"]))
    assert "3 pieces, in the order in which they lie there." in page
    assert f"Tag a piece with {format_code(blank)}" in page
    assert "Not given in this shop" in page
    assert "The code is whole, and no piece here ever had it: the tag of another shop?" in page


def test_half_read_tags_are_said_and_not_guessed(visitor: HttpClient) -> None:
    page = visible_text(visitor.get("/scan/seen?half=2"))
    assert "2 tags are there and can't be read." in page
    assert "Wipe them, come nearer, or type the code on them. Nothing was guessed." in page


def test_a_photo_without_a_tag_and_no_photo_are_reported(visitor: HttpClient) -> None:
    answer = sent(visitor, Image.new("L", (300, 200), 200))
    assert "No tag was seen" in visible_text(visitor.get(answer.headers["Location"]))
    none = visitor.post("/scan", {}, page="/scan", content_type="multipart/form-data")
    assert none.status_code == 422
    assert "No photo was chosen. Take one or choose one, then send it." in visible_text(none)


def test_a_frame_of_the_live_camera_says_where_its_tag_leads(shop: Shop, visitor: HttpClient) -> None:
    piece = tagging.tag(shop, ASH)
    answer = sent(visitor, render_shelf([piece.code]), "/scan/frame")
    assert answer.json == {"address": f"/t/{piece.code}", "words": f"{format_code(piece.code)}: opening its piece."}
    assert sent(visitor, Image.new("L", (300, 200), 200), "/scan/frame").json == {"words": "No tag in sight."}


@pytest.mark.parametrize("path", ["/find", "/rack", "/scan/code"])
def test_every_search_field_takes_what_a_hand_scanner_types(shop: Shop, visitor: HttpClient, path: str) -> None:
    piece = tagging.tag(shop, ASH, code="0000011")
    (blank,) = label_content.blank_codes(shop, 1)
    for typed in (
        "0000011",
        "000-0011",
        "ooo ooil",
        "HTTP://OLD.EXAMPLE:8765/T/0000011",
        "http://a.example/x/t/0000011",
    ):
        assert visitor.get(path, query_string={"text": typed}).headers["Location"] == f"/t/{piece.code}"
    assert visitor.get(path, query_string={"text": blank}).headers["Location"] == f"/saw?code={blank}"


def test_a_slip_in_a_typed_code_is_reported_with_the_tags_it_may_be(shop: Shop, visitor: HttpClient) -> None:
    code = tagging.tag(shop, ASH).code
    near = visitor.get("/scan/code", query_string={"text": code[1:]})
    assert near.status_code == 422 and f'href="/t/{code}"' in near.text
    assert "This opens no tag" in visible_text(near) and "Was it one of these?" in visible_text(near)
    answer = visitor.get("/scan/code?text=0000012")
    assert answer.status_code == 422
    assert '"0000012" is not quite a code: the last character does not match. Read the tag once more.' in visible_text(
        answer
    )


def test_a_lost_tag_is_replaced_on_the_page_of_its_piece(shop: Shop, visitor: HttpClient) -> None:
    piece = tagging.tag(shop, ASH)
    (blank,) = label_content.blank_codes(shop, 1)
    page = f"/t/{piece.code}"
    wrong = visitor.post(f"{page}/new-tag", {"version": piece.version, "new_code": "0000012"}, page=page)
    assert wrong.status_code == 422
    assert 'value="0000012"' in wrong.text
    done = visitor.post(f"{page}/new-tag", {"version": piece.version, "new_code": format_code(blank)}, page=page)
    assert (done.status_code, done.headers["Location"]) == (303, f"/t/{blank}")
    message = visible_text(visitor.get(f"/t/{blank}"))
    assert f"Had another tag before: {format_code(piece.code)} ." in message
    moved = visitor.get(page)
    assert (moved.status_code, moved.headers["Location"]) == (303, f"/t/{blank}")
    assert retagging.former(shop, queries.record(shop, blank)) == (piece.code,)
    late = visitor.post(f"/t/{blank}/new-tag", {"version": piece.version}, page=f"/t/{blank}")
    assert late.status_code == 409


def test_scanning_is_one_touch_away_on_every_page(visitor: HttpClient) -> None:
    for path in ("/", "/saw", "/bench", "/rack", "/boards", "/labels", "/settings"):
        assert re.search(r'href="/scan"', visitor.get(path).text), path
