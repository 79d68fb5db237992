"""Tagging at the saw: codes, what is passed on, and forms that are sent twice."""

from dataclasses import replace
from datetime import UTC, date, datetime
from fractions import Fraction
from pathlib import Path
from threading import Barrier, Thread

import pytest

from inventory.core.codes import InvalidCode, read_code
from inventory.core.lengths import inches
from inventory.core.offcuts import Face, InvalidOffcut, Offcut, State
from inventory.services.boards import making
from inventory.services.labels import label_content
from inventory.services.rack import queries, tagging
from inventory.services.rack.history import HistoryLine
from inventory.services.rack.tagging import CodeTaken, NewPiece
from inventory.shop import Shop
from inventory.storage.records import EventKind, OffcutRecord, StoredPhoto
from tests.conftest import Clock
from tests.services.fills import BOARD, make_fill, tagged

ASH = Offcut(inches("23 1/2"), inches("3 1/4"), inches("13/16"), "ash", location="wall 2")
PHOTO = StoredPhoto("a" * 64, 640, 480)


def test_a_tagged_piece_is_kept_with_a_code_and_wants_its_label(shop: Shop) -> None:
    record = tagging.tag(shop, ASH, photos=[PHOTO])
    assert read_code(record.code) == record.code
    assert record == OffcutRecord(
        id=record.id,
        offcut=replace(ASH, tag=record.code, tagged_on=date(2030, 1, 31)),
        state=State.ON_RACK,
        set_aside=0,
        version=1,
        tagged_at=datetime(2030, 1, 31, 10, tzinfo=UTC),
        label_wanted=True,
        photos=record.photos,
    )
    assert [(photo.digest, photo.width, photo.height) for photo in record.photos] == [("a" * 64, 640, 480)]
    assert queries.piece(shop, record.code).history == (
        HistoryLine(shop.now(), EventKind.TAGGED, "ash 23 1/2 x 3 1/4 x 13/16 in rough @ wall 2"),
    )


def test_words_are_kept_tidy(shop: Shop) -> None:
    untidy = replace(ASH, species=" white \t oak ", location="wall\n2", notes="one \r\ntwo\x00\udcff\n")
    kept = tagging.tag(shop, replace(untidy, batch=" elm \t 2029")).offcut
    assert (kept.species, kept.location, kept.notes) == ("white oak", "wall 2", "one\ntwo ?")
    assert kept.batch == "elm 2029"


def test_moisture_has_the_day_on_which_it_was_read(shop: Shop) -> None:
    assert tagging.tag(shop, replace(ASH, moisture=Fraction(8))).offcut.moisture_on == date(2030, 1, 31)
    dated = replace(ASH, moisture=Fraction(8), moisture_on=date(2030, 1, 30))
    assert tagging.tag(shop, dated).offcut.moisture_on == date(2030, 1, 30)
    with pytest.raises(InvalidOffcut) as refused:
        tagging.tag(shop, replace(dated, moisture_on=date(2030, 2, 1)))
    assert (str(refused.value), refused.value.what) == (
        "The moisture can't have been read on 2030-02-01, which is still to come. Check the day.",
        "moisture_on",
    )


def test_a_day_that_is_given_is_kept(shop: Shop) -> None:
    assert tagging.tag(shop, replace(ASH, tagged_on=date(2027, 5, 1))).offcut.tagged_on == date(2027, 5, 1)


def test_a_form_sent_twice_tags_once(shop: Shop) -> None:
    first = tagging.tag(shop, ASH, form_token="one")
    assert tagging.tag(shop, ASH, form_token="one") == first
    assert queries.shop_summary(shop).tags == 1


def test_the_same_form_with_other_sizes_is_another_piece(shop: Shop) -> None:
    """Somebody goes back in the browser, types the next piece over the last and sends it."""
    first = tagging.tag(shop, ASH, form_token="one")
    second = tagging.tag(shop, replace(ASH, width=inches("4")), form_token="one")
    assert second.code != first.code
    assert queries.shop_summary(shop).tags == 2


def test_like_pieces_without_a_form_are_tagged_each(shop: Shop) -> None:
    assert tagging.tag(shop, ASH).code != tagging.tag(shop, ASH).code


def test_the_code_of_a_blank_tag_is_tied_to_a_piece_once(shop: Shop) -> None:
    [blank] = label_content.blank_codes(shop, 1)
    typed = f"{blank[:3].lower()}-{blank[3:]}"
    tagged = tagging.tag(shop, ASH, code=typed)
    assert tagged.code == blank
    # It bears its tag already.
    assert not tagged.label_wanted
    with pytest.raises(CodeTaken) as refused:
        tagging.tag(shop, ASH, code=blank)
    assert str(refused.value) == (
        f"{blank[:3]}-{blank[3:]} is the code of another piece and is never given twice. "
        "Take another tag, or leave the code out for a fresh one."
    )


def test_a_code_from_elsewhere_is_kept_and_not_given_again(shop: Shop) -> None:
    tagging.tag(shop, ASH, code="0000011")
    assert "0000011" in shop.issued_codes()


def test_what_is_no_code_is_refused(shop: Shop) -> None:
    with pytest.raises(InvalidCode) as refused:
        tagging.tag(shop, ASH, code="0000012")
    assert str(refused.value) == (
        '"0000012" is not quite a code: the last character does not match. Read the tag once more.'
    )


def test_many_are_tagged_all_or_none(shop: Shop) -> None:
    with pytest.raises(CodeTaken):
        tagging.tag_all(shop, [NewPiece(ASH), NewPiece(ASH, "0000011"), NewPiece(ASH, "0000011")])
    assert queries.shop_summary(shop).tags == 0
    assert shop.issued_codes() == frozenset()
    records = tagging.tag_all(shop, [NewPiece(ASH, "0000011"), NewPiece(ASH, label_wanted=False)])
    assert [record.label_wanted for record in records] == [True, False]


def test_a_code_is_never_given_twice(tmp_path: Path) -> None:
    """A dice that falls the same way again and again is thrown until the code is new."""
    throws = iter([0, 0, 0, 0, 0, 1] * 3 + [0, 0, 0, 0, 0, 2])
    with Shop.open(tmp_path, randbelow=lambda _: next(throws)) as shop:
        assert [tagging.tag(shop, ASH).code for _ in range(2)] == ["0000011", "0000022"]


def test_another_like_the_last_has_all_but_count_photos_and_day(shop: Shop, clock: Clock) -> None:
    first = tagging.tag(
        shop,
        replace(ASH, count=4, notes="from the old stair", face_a=Face.PLANED, tagged_on=date(2027, 5, 1)),
        photos=[PHOTO],
    )
    clock.add(days=1)
    copies = tagging.tag_copies(shop, first.code, copies=3, form_token="again")
    assert len({record.code for record in copies} | {first.code}) == 4
    for record in copies:
        assert record.offcut == replace(first.offcut, count=1, tag=record.code, tagged_on=date(2030, 2, 1))
        assert record.photos == ()
    assert tagging.tag_copies(shop, first.code, copies=3, form_token="again") == copies


def test_too_many_copies_are_refused(shop: Shop) -> None:
    with pytest.raises(InvalidOffcut) as refused:
        tagging.tag_copies(shop, tagging.tag(shop, ASH).code, copies=101)
    assert str(refused.value) == "101 more can't be tagged at once. Type a number from 1 to 100."


def test_the_last_tagged_is_the_last_that_a_person_tagged(shop: Shop) -> None:
    assert tagging.last_tagged(shop) is None
    tagged(shop, "cherry 23 x 3 x 1")
    oak = tagged(shop, "oak 40 x 6 x 1 1/4")
    board = making.set_aside(shop, BOARD, make_fill(BOARD, [(oak, 2)]))
    left = making.proposed_leftovers(shop, board.id)[0]
    kept = making.ConfirmedLeftover(0, 0, left.length, left.width, left.thickness, True, "shelf")
    assert making.cut(shop, board.id, board.version, [kept]).left_over
    last = tagging.last_tagged(shop)
    assert last is not None and last.code == oak.code


def test_buttons_have_the_latest_first_and_each_once(shop: Shop) -> None:
    for line in ("ash 9x3x1 @ wall 2", "oak 9x3x1 @ bin", "9x3x1", "Ash 9x3x1 @ Wall 2", "elm 9x3x1 @ bin"):
        tagged(shop, line)
    assert tagging.recent_species(shop) == ("elm", "Ash", "oak")
    assert tagging.recent_species(shop, 2) == ("elm", "Ash")
    assert tagging.recent_locations(shop) == ("bin", "Wall 2")
    for batch in ("elm 2029", "loft", "", "Elm  2029"):
        tagging.tag(shop, replace(ASH, batch=batch))
    assert tagging.recent_batches(shop) == ("Elm 2029", "loft")


def test_eight_at_once_lose_nothing(shop: Shop) -> None:
    """Eight phones tag 25 pieces each, all at the same time."""
    start = Barrier(8)
    text: list[str] = []

    def tag_25(phone: int) -> None:
        start.wait()
        for number in range(25):
            text.append(tagging.tag(shop, replace(ASH, notes=f"{phone}/{number}")).code)

    phones = [Thread(target=tag_25, args=(phone,)) for phone in range(8)]
    for each in phones:
        each.start()
    for each in phones:
        each.join()
    kept = queries.all_pieces(shop)
    assert len(set(text)) == 200
    assert {record.code for record in kept} == set(text)
    assert {record.offcut.notes for record in kept} == {f"{a}/{b}" for a in range(8) for b in range(25)}


def test_one_form_sent_by_eight_at_once_tags_one_piece(shop: Shop) -> None:
    start = Barrier(8)
    text: list[str] = []

    def send() -> None:
        start.wait()
        text.append(tagging.tag(shop, ASH, form_token="one").code)

    phones = [Thread(target=send) for _ in range(8)]
    for each in phones:
        each.start()
    for each in phones:
        each.join()
    assert len(text) == 8 and len(set(text)) == 1
    assert queries.shop_summary(shop).tags == 1
