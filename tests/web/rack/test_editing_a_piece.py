"""Changing a piece: two people at once, answers that can't be, pieces that a board waits for."""

from dataclasses import replace
from datetime import date
from fractions import Fraction
from html import unescape

import pytest

from inventory.core.lengths import inches, millimeters
from inventory.core.offcuts import Face, Mark, Offcut
from inventory.services.boards import making
from inventory.services.rack import editing, queries, tagging
from inventory.shop import Shop
from inventory.storage.records import OffcutRecord
from tests.services.fills import BOARD, make_fill
from tests.web.visitor import HttpClient, visible_text

CODE = "0000011"
PAGE = "/t/0000011/change"
ASH = Offcut(
    inches("60"), inches("3 1/4"), inches("2"), "ash", Face.ROUGH, Face.PLANED, location="wall 2", notes="kiln dry"
)
FORM = {
    "length": "60",
    "width": "3 1/4",
    "thickness": "2",
    "species": "ash",
    "location": "wall 2",
    "face_a": "rough",
    "face_b": "planed",
    "count": "1",
    "notes": "kiln dry",
}


@pytest.fixture
def piece(shop: Shop) -> OffcutRecord:
    return tagging.tag(shop, ASH, code=CODE)


def send(visitor: HttpClient, version: int, **fields: str) -> tuple[int, str]:
    answer = visitor.post(PAGE, FORM | {"version": str(version)} | fields, page=PAGE)
    return answer.status_code, unescape(answer.text)


def test_the_form_holds_the_piece_exactly(visitor: HttpClient, shop: Shop) -> None:
    tagging.tag(shop, replace(ASH, length=millimeters("597.123456")), code=CODE)
    page = visitor.get(PAGE).text
    for held in (
        'value="597.123456 mm"',
        'value="3 1/4"',
        'name="face_b" value="planed" checked',
        'name="location" type="text" value="wall 2"',
    ):
        assert held in page, held


def test_what_is_typed_is_kept_and_stands_in_the_history(visitor: HttpClient, shop: Shop, piece: OffcutRecord) -> None:
    status, _ = send(visitor, piece.version, length="58 1/2", face_a="planed", location="loft")
    assert status == 303
    after = queries.piece(shop, CODE)
    assert after.record.offcut == replace(
        ASH, tag=CODE, tagged_on=piece.offcut.tagged_on, length=inches("58 1/2"), face_a=Face.PLANED, location="loft"
    )
    assert after.history[0].detail == ('length 60 in → 58 1/2 in; face a rough → planed; location "wall 2" → "loft"')


def test_marks_moisture_and_batch_are_changed_and_shown(visitor: HttpClient, shop: Shop, piece: OffcutRecord) -> None:
    status, _ = send(visitor, piece.version, mark_keep="keep", moisture="8.5", moisture_on="2030-01-30", batch="elm 29")
    assert status == 303
    offcut = queries.record(shop, CODE).offcut
    assert (offcut.marks, offcut.moisture, offcut.moisture_on) == ((Mark.KEEP,), Fraction("8.5"), date(2030, 1, 30))
    page = visitor.get(f"/t/{CODE}")
    assert '<span class="chip">keep</span>' in page.text
    assert '<a href="/rack?batch=elm+29">elm 29</a>' in page.text
    assert "Moisture 8.5 % on 30 Jan 2030 Batch elm 29" in visible_text(page)
    assert "It has the mark keep : it is never proposed for pruning." in visible_text(page)
    form = visitor.get(PAGE).text
    assert 'name="mark_keep" value="keep" checked' in form
    assert 'value="8.5"' in form and 'value="2030-01-30"' in form and 'value="elm 29"' in form
    # A day without a moisture content means nothing.
    send(visitor, piece.version + 1, moisture_on="2030-01-30")
    offcut = queries.record(shop, CODE).offcut
    assert (offcut.marks, offcut.moisture, offcut.moisture_on, offcut.batch) == ((), None, None, "")


def test_marks_that_two_people_set_are_named(visitor: HttpClient, shop: Shop, piece: OffcutRecord) -> None:
    editing.change(shop, CODE, piece.version, replace(ASH, marks=(Mark.METAL,), batch="elm"))
    status, page = send(visitor, piece.version, mark_damp="damp")
    assert status == 409
    assert "Damp: you chose this mark, now it is off." in page
    assert "Metal: you cleared this mark, now it is on." in page
    assert "Batch: you typed “nothing”, now it is “elm”." in page
    assert "Oily" not in page


def test_a_note_may_be_emptied(visitor: HttpClient, shop: Shop, piece: OffcutRecord) -> None:
    send(visitor, piece.version, notes="", species="", location="")
    offcut = queries.record(shop, CODE).offcut
    assert (offcut.notes, offcut.species, offcut.location) == ("", "", "")


def test_answers_that_can_t_be_are_reported_and_shown_as_typed(
    visitor: HttpClient, shop: Shop, piece: OffcutRecord
) -> None:
    status, page = send(visitor, piece.version, length="5 feet and a bit", count="0", notes="")
    assert status == 422
    assert 'value="5 feet and a bit"' in page
    assert '"0" is no number of like pieces. Type 1 to 999.' in page
    assert f'name="version" value="{piece.version}"' in page
    assert "kiln dry" not in page
    assert queries.record(shop, CODE) == piece


def test_the_second_of_two_people_is_reported_and_overwrites_nothing(
    visitor: HttpClient, shop: Shop, piece: OffcutRecord
) -> None:
    theirs = editing.change(shop, CODE, piece.version, replace(ASH, location="bin <4>"))
    status, page = send(visitor, piece.version, location="loft")
    assert status == 409
    assert queries.record(shop, CODE) == theirs
    assert "Somebody was quicker; nothing was overwritten." in page
    assert "Location: you typed “loft”, now it is “bin <4>”." in page
    assert 'name="location" type="text" value="loft"' in page
    status, _ = send(visitor, theirs.version, location="loft")
    assert status == 303
    assert queries.record(shop, CODE).offcut.location == "loft"


def test_sizes_that_a_board_was_calculated_with_stand(visitor: HttpClient, shop: Shop, piece: OffcutRecord) -> None:
    making.set_aside(shop, BOARD, make_fill(BOARD, [(piece, 1)]), "Step")
    version = queries.record(shop, CODE).version
    status, page = send(visitor, version, width="3")
    assert status == 422
    assert (
        "000-0011 is set aside for a board that was planned with its sizes, species and faces. "
        "Abandon the board first, then change them."
    ) in page
    assert 'value="3"' in page
    assert send(visitor, version, location="loft")[0] == 303


def test_a_version_that_is_no_number_overwrites_nothing(visitor: HttpClient, shop: Shop, piece: OffcutRecord) -> None:
    answer = visitor.post(PAGE, FORM | {"version": "latest", "species": "elm"}, page=PAGE)
    assert answer.status_code == 409
    assert queries.record(shop, CODE) == piece


def test_a_piece_that_is_not_there_can_t_be_changed(visitor: HttpClient) -> None:
    answer = visitor.get(PAGE)
    assert answer.status_code == 404
    assert "Nothing here by that address" in visible_text(answer)
