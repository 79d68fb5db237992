"""Tagging at the saw: the form, what it carries over, what it keeps when an answer is wrong."""

import re
from dataclasses import replace
from datetime import date
from fractions import Fraction
from html import unescape

import pytest

from inventory.core.errors import UserError
from inventory.core.lengths import Display, Nearest, inches, millimeters
from inventory.core.offcuts import Face, Mark, Offcut, State
from inventory.services.labels import label_content
from inventory.services.rack import queries, tagging
from inventory.services.rack.queries import RackFilter, StatusFilter
from inventory.shop import Shop
from inventory.storage.records import OffcutRecord
from tests.web.sample_pictures import HugeUpload, jpeg_file, text_file
from tests.web.visitor import HttpClient, visible_text

ASH = {
    "length": "23 1/2",
    "width": "3 1/4",
    "thickness": "13/16",
    "species": "ash",
    "location": "wall 2",
    "face_a": "rough",
    "face_b": "",
    "count": "1",
    "notes": "",
}


def on_the_rack(shop: Shop, status: StatusFilter = StatusFilter.HERE) -> tuple[OffcutRecord, ...]:
    return queries.all_pieces(shop, status)


def tag(visitor: HttpClient, **fields: object) -> tuple[int, str]:
    """Sends the form with some answers of its own; gives status and page (or the address that it leads to)."""
    answer = visitor.post("/saw", ASH | fields, page="/saw", content_type="multipart/form-data")
    return answer.status_code, answer.headers.get("Location", answer.text)


def chosen(page: str, name: str) -> str:
    """The value of the button that is pressed."""
    found = re.search(rf'<input type="radio" name="{name}" value="([^"]*)" checked>', page)
    assert found, f"no {name} is chosen"
    return unescape(found[1])


def typed(page: str, name: str) -> str:
    found = re.search(rf'<input[^>]* name="{name}"[^>]*? value="([^"]*)"', page)
    assert found, f"there is no field {name}"
    return unescape(found[1])


def test_a_piece_is_tagged_and_its_code_is_shown_large(visitor: HttpClient, shop: Shop) -> None:
    status, address = tag(visitor, photo=jpeg_file())
    [record] = on_the_rack(shop)
    assert (status, address) == (303, f"/saw?tagged={record.code}")
    assert (record.offcut.length, record.offcut.width, record.offcut.thickness) == (
        inches("23 1/2"),
        inches("3 1/4"),
        inches("13/16"),
    )
    assert (record.offcut.species, record.offcut.location, record.offcut.faces) == (
        "ash",
        "wall 2",
        (Face.ROUGH, Face.ROUGH),
    )
    assert len(record.photos) == 1
    page = visitor.get(address)
    assert f"Tagged {record.code[:3]}-{record.code[3:]} 23 1/2 × 3 1/4 × 13/16 in , ash, 1 photo" in visible_text(page)
    assert f'href="/labels/sheet?tag={record.code}"' in page.text


def test_the_next_piece_has_all_of_the_last_but_its_sizes_and_its_count(visitor: HttpClient, shop: Shop) -> None:
    last = Offcut(
        inches("9"), inches("3"), inches("1"), "cherry", Face.PLANED, Face.FINISHED, 4, location="loft", notes="kiln"
    )
    tagging.tag(shop, last)
    page = visitor.get("/saw").text
    assert [chosen(page, name) for name in ("species", "location", "face_a", "face_b")] == [
        "cherry",
        "loft",
        "planed",
        "finished",
    ]
    assert [typed(page, name) for name in ("length", "width", "thickness", "count")] == ["", "", "", "1"]
    assert re.search(r'<textarea[^>]* name="notes"[^>]*>\nkiln</textarea>', page)
    assert "cherry · planed and finished · loft · note: kiln" in visible_text(visitor.get("/saw"))


def test_the_buttons_have_the_latest_species_first(visitor: HttpClient, shop: Shop) -> None:
    for species in ("ash", "oak", "ash", "elm"):
        tagging.tag(shop, Offcut(inches("9"), inches("3"), inches("1"), species))
    page = visitor.get("/saw").text
    assert re.findall(r'name="species" value="([^"]*)"', page) == ["elm", "ash", "oak", ""]


def test_a_species_that_has_no_button_is_typed_and_wins_over_the_buttons(visitor: HttpClient, shop: Shop) -> None:
    tag(visitor, species_other="  black   locust ", location_other="bin 4")
    [record] = on_the_rack(shop)
    assert (record.offcut.species, record.offcut.location) == ("black locust", "bin 4")


@pytest.mark.parametrize(
    ("both", "other", "faces"),
    [
        ("planed", "", (Face.PLANED, Face.PLANED)),
        ("planed", "rough", (Face.PLANED, Face.ROUGH)),
        ("finished", "finished", (Face.FINISHED, Face.FINISHED)),
    ],
)
def test_one_answer_is_for_both_faces_and_a_second_for_the_other(
    visitor: HttpClient, shop: Shop, both: str, other: str, faces: tuple[Face, Face]
) -> None:
    tag(visitor, face_a=both, face_b=other)
    assert on_the_rack(shop)[0].offcut.faces == faces


def test_the_same_form_sent_twice_tags_one_piece(visitor: HttpClient, shop: Shop) -> None:
    token = typed(visitor.get("/saw").text, "form_token")
    first, second = tag(visitor, form_token=token), tag(visitor, form_token=token)
    assert first == second
    assert len(on_the_rack(shop)) == 1


def test_every_form_has_a_token_of_its_own(visitor: HttpClient) -> None:
    assert typed(visitor.get("/saw").text, "form_token") != typed(visitor.get("/saw").text, "form_token")


def test_answers_that_can_t_be_are_all_reported_and_nothing_typed_is_lost(visitor: HttpClient, shop: Shop) -> None:
    status, page = tag(
        visitor, length="23 1/0", width="", thickness="0", count="many", species_other="plum", notes="from the <barn>"
    )
    assert status == 422
    assert [typed(page, name) for name in ("length", "width", "thickness", "count", "species_other")] == [
        "23 1/0",
        "",
        "0",
        "many",
        "plum",
    ]
    assert "from the &lt;barn&gt;" in page
    for sentence in (
        '"23 1/0" is not a length: the fraction has 0 below the line. Type 23 1/2, 23.5 in or 597 mm.',
        "The size is missing. Type 23 1/2, 23.5 in or 597 mm.",
        "The thickness is 0. Type the thickness as measured.",
        '"many" is no number of like pieces. Type 1 to 999.',
    ):
        assert sentence in unescape(page)
    assert on_the_rack(shop) == ()


def test_a_piece_too_large_for_an_offcut_is_reported_beside_the_size(visitor: HttpClient) -> None:
    status, page = tag(visitor, width="1000 mm")
    assert status == 422
    assert 'id="fault-width"' in page
    assert "The width is over 900 mm: too much for an offcut. Check the unit." in unescape(page)


def test_a_file_that_is_no_picture_is_refused_and_nothing_else_is_lost(visitor: HttpClient, shop: Shop) -> None:
    status, page = tag(visitor, photo=text_file(), more_photos=[jpeg_file("end.jpg")])
    assert status == 422
    assert (
        '"notes.txt" is not a picture that can be read here. Send a JPEG, PNG, WebP, HEIC or AVIF. '
        "Everything else you gave is kept: choose that photo again or go on without it."
    ) in unescape(page)
    assert typed(page, "length") == "23 1/2"
    assert on_the_rack(shop) == ()
    slip = typed(page, "kept")
    tag(visitor, kept=slip)
    [record] = on_the_rack(shop)
    assert len(record.photos) == 1


def test_a_good_photo_stays_with_a_form_whose_sizes_must_be_fixed(visitor: HttpClient, shop: Shop) -> None:
    _, page = tag(visitor, thickness="", photo=jpeg_file(colour="olive"))
    tag(visitor, kept=typed(page, "kept"), photo=jpeg_file(colour="maroon"))
    [record] = on_the_rack(shop)
    assert len(record.photos) == 2
    for photo in record.photos:
        assert visitor.get(f"/photos/{photo.digest}/thumb.jpg").status_code == 200


def test_a_slip_that_was_not_written_here_is_passed_over(visitor: HttpClient, shop: Shop) -> None:
    status, _ = tag(visitor, kept='["../../etc/passwd", 1, 1].forged')
    assert status == 303
    assert on_the_rack(shop)[0].photos == ()


def test_a_photo_of_200_mb_is_refused_with_a_sentence_beside_all_that_was_typed(
    visitor: HttpClient, shop: Shop
) -> None:
    fields = {"csrf_token": visitor.token("/saw")} | ASH
    answer = visitor.client.post(
        "/saw",
        input_stream=HugeUpload(fields, "photo", "huge.jpg", 200_000_000),
        content_type=HugeUpload.CONTENT_TYPE,
        base_url="http://localhost",
    )
    assert answer.status_code == 422
    assert (
        '"huge.jpg" is larger than 30 MB. Take it again at a smaller size, or send a JPEG. '
        "Everything else you gave is kept: choose that photo again or go on without it."
    ) in unescape(answer.text)
    assert typed(answer.text, "length") == "23 1/2"
    assert on_the_rack(shop) == ()


def test_a_full_disk_is_reported_and_nothing_typed_is_lost(
    visitor: HttpClient, shop: Shop, monkeypatch: pytest.MonkeyPatch
) -> None:
    def full(*_: object, **__: object) -> None:
        raise UserError("The disk is full. Make room on it, then send the form again.")

    monkeypatch.setattr(tagging, "tag", full)
    status, page = tag(visitor)
    assert status == 422
    assert "The disk is full. Make room on it, then send the form again." in unescape(page)
    assert typed(page, "length") == "23 1/2"


def test_one_typed_line_tags_a_piece(visitor: HttpClient, shop: Shop) -> None:
    line = "ash 23 1/2 x 3 1/4 x 13/16 rough @ wall 2"
    answer = visitor.post("/saw/line", {"line": line, "form_token": "a"}, page="/saw")
    visitor.post("/saw/line", {"line": line, "form_token": "a"}, page="/saw")
    [record] = on_the_rack(shop)
    assert answer.headers["Location"] == f"/saw?tagged={record.code}"
    assert (record.offcut.species, record.offcut.width, record.offcut.location) == ("ash", inches("3 1/4"), "wall 2")


def test_a_line_that_can_t_be_read_is_shown_again_as_typed(visitor: HttpClient, shop: Shop) -> None:
    answer = visitor.post("/saw/line", {"line": "ash 23 1/2 x 3"}, page="/saw")
    assert answer.status_code == 422
    assert typed(answer.text, "line") == "ash 23 1/2 x 3"
    assert 'id="fault-line"' in answer.text
    assert on_the_rack(shop) == ()


def test_more_just_like_it_get_tags_of_their_own(visitor: HttpClient, shop: Shop) -> None:
    tag(visitor)
    [first] = on_the_rack(shop)
    answer = visitor.post("/saw/again", {"code": first.code, "copies": "3", "form_token": "b"}, page="/saw")
    assert answer.status_code == 303
    records = on_the_rack(shop)
    assert len({record.code for record in records}) == 4
    assert {record.offcut.length for record in records} == {inches("23 1/2")}
    assert len(label_content.queue(shop)) == 4


def test_no_more_is_no_number_of_copies(visitor: HttpClient, shop: Shop) -> None:
    tag(visitor)
    [first] = on_the_rack(shop)
    assert visitor.post("/saw/again", {"code": first.code, "copies": "none"}, page="/saw").status_code == 422
    assert len(on_the_rack(shop)) == 1


def test_undo_lets_the_piece_go_and_gives_back_what_was_typed(visitor: HttpClient, shop: Shop) -> None:
    tag(visitor)
    [record] = on_the_rack(shop)
    answer = visitor.post("/saw/undo", {"code": record.code, "version": record.version}, page="/saw")
    assert answer.headers["Location"] == f"/saw?like={record.code}"
    assert queries.record(shop, record.code).state is State.GONE
    page = visitor.get(answer.headers["Location"]).text
    assert [typed(page, name) for name in ("length", "width", "thickness")] == ["23 1/2", "3 1/4", "13/16"]
    assert on_the_rack(shop) == ()


def test_undo_of_a_piece_that_was_changed_since_overwrites_nothing(visitor: HttpClient, shop: Shop) -> None:
    tag(visitor)
    [record] = on_the_rack(shop)
    answer = visitor.post("/saw/undo", {"code": record.code, "version": record.version + 1}, page="/saw")
    assert answer.status_code == 409
    assert queries.record(shop, record.code).state is State.ON_RACK


def test_another_like_it_has_its_sizes_too(visitor: HttpClient, shop: Shop) -> None:
    record = tagging.tag(shop, Offcut(millimeters("597"), inches("3"), inches("1"), "elm"))
    page = visitor.get(f"/saw?like={record.code}").text
    assert [typed(page, name) for name in ("length", "width", "thickness")] == ["597 mm", "3", "1"]
    assert chosen(page, "species") == "elm"


def test_a_shop_in_inches_has_fraction_keys_and_one_in_millimeters_has_none(visitor: HttpClient, shop: Shop) -> None:
    keys = re.findall(r'data-key="(\d+/\d+)"', visitor.get("/saw").text)
    assert keys == [
        *("1/16", "1/8", "3/16", "1/4", "5/16", "3/8", "7/16", "1/2"),
        *("9/16", "5/8", "11/16", "3/4", "13/16", "7/8", "15/16"),
    ]
    shop.save_settings(replace(shop.settings(), display=Display(Nearest.TENTH_MM)))
    page = visitor.get("/saw").text
    assert re.findall(r'data-key="(\d+/\d+)"', page) == []
    assert 'data-key="."' in page


def test_the_first_piece_of_an_empty_shop_can_be_tagged(visitor: HttpClient, shop: Shop) -> None:
    page = visitor.get("/saw").text
    assert [chosen(page, name) for name in ("species", "location", "face_a", "face_b")] == ["", "", "rough", ""]
    tag(visitor, species="", location="")
    assert queries.find(shop, RackFilter()).records[0].offcut.species == ""


def test_a_blank_tag_that_is_on_the_piece_already_gives_it_its_code(visitor: HttpClient, shop: Shop) -> None:
    [code] = label_content.blank_codes(shop, 1)
    assert typed(visitor.get(f"/saw?code={code}").text, "code") == code
    assert tag(visitor, code=f" {code[:3].lower()}-{code[3:]}")[0] == 303
    assert on_the_rack(shop)[0].code == code


def test_a_code_that_is_no_code_or_on_another_piece_is_reported_beside_its_field(
    visitor: HttpClient, shop: Shop
) -> None:
    tag(visitor, code="0000011")
    for code in ("0000011", "0000012"):
        status, page = tag(visitor, code=code, species_other="plum")
        assert status == 422
        assert 'id="fault-code"' in page
        assert (typed(page, "code"), typed(page, "species_other")) == (code, "plum")
    assert len(on_the_rack(shop)) == 1


def test_a_new_shop_is_offered_usual_species_until_it_has_its_own(visitor: HttpClient, shop: Shop) -> None:
    offered = r'type="radio" name="species" value="([^"]*)"'
    usual = ["ash", "cherry", "hard maple", "red oak", "white oak", "black walnut", ""]
    assert re.findall(offered, visitor.get("/saw").text) == usual
    tagging.tag(shop, Offcut(inches("9"), inches("3"), inches("1"), "elm"))
    assert re.findall(offered, visitor.get("/saw").text) == ["elm", ""]


def test_marks_moisture_and_batch_are_tagged_and_only_the_batch_stays(visitor: HttpClient, shop: Shop) -> None:
    carried = {"mark_metal": "metal", "mark_live_edge": "live edge", "moisture": "18,5 %", "batch_other": "elm 2029"}
    status, address = tag(visitor, **carried)
    assert status == 303
    offcut = on_the_rack(shop)[0].offcut
    assert (offcut.marks, offcut.batch) == ((Mark.METAL, Mark.LIVE_EDGE), "elm 2029")
    assert (offcut.moisture, offcut.moisture_on) == (Fraction("18.5"), date(2030, 1, 31))
    page = visitor.get(address)
    assert chosen(page.text, "batch") == "elm 2029"
    assert not re.search(r'name="mark_[a-z_]*" value="[a-z ]*" checked', page.text)
    assert (typed(page.text, "moisture"), typed(page.text, "moisture_on")) == ("", "")
    assert "ash · both rough · wall 2 · batch: elm 2029" in visible_text(page)
    assert tag(visitor, length="9", batch="elm 2029", moisture_on="2030-01-30")[0] == 303
    second = on_the_rack(shop)[1].offcut
    assert (second.batch, second.marks, second.moisture, second.moisture_on) == ("elm 2029", (), None, None)


def test_a_wrong_moisture_is_reported_and_marks_are_as_they_were_chosen(visitor: HttpClient, shop: Shop) -> None:
    status, page = tag(visitor, mark_damp="damp", moisture="wet", moisture_on="2030-02-01", batch_other="elm")
    assert (status, on_the_rack(shop)) == (422, ())
    assert '"wet" is no moisture content. Type a percentage such as 8.5.' in unescape(page)
    assert 'name="mark_damp" value="damp" checked' in page
    assert (typed(page, "moisture"), typed(page, "moisture_on"), typed(page, "batch_other")) == (
        "wet",
        "2030-02-01",
        "elm",
    )
    assert re.search(r'<details class="more" open>\s*<summary>Moisture', page)
    status, page = tag(visitor, moisture="18", moisture_on="2030-02-01")
    assert status == 422
    assert "The moisture can't have been read on 2030-02-01, which is still to come. Check the day." in unescape(page)
    status, page = tag(visitor, moisture="18", moisture_on="soon")
    assert '"soon" is no day. Type it as 2030-01-31, or leave it empty for today.' in unescape(page)


def test_undo_gives_marks_and_moisture_back_to_the_form(visitor: HttpClient, shop: Shop) -> None:
    tag(visitor, mark_oily="oily", moisture="8.5")
    [record] = on_the_rack(shop)
    answer = visitor.post("/saw/undo", {"code": record.code, "version": str(record.version)}, page="/saw")
    page = visitor.get(answer.headers["Location"]).text
    assert 'name="mark_oily" value="oily" checked' in page
    assert (typed(page, "moisture"), typed(page, "moisture_on")) == ("8.5", "2030-01-31")
