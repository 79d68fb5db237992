"""Taking stock of a location: what is seen, what is missing, how it is fixed, and what was not seen for long."""

from __future__ import annotations

from concurrent.futures import ThreadPoolExecutor
from dataclasses import replace
from datetime import timedelta
from pathlib import Path

import pytest
from sqlalchemy import update

from inventory.core.codes import InvalidCode, format_code
from inventory.core.lengths import inches
from inventory.core.offcuts import Offcut, State
from inventory.services.labels import label_content
from inventory.services.rack import editing, queries, retagging, tagging
from inventory.services.rack.editing import RemovalReason
from inventory.services.rack.rack_filter import InvalidFilter, read_filter
from inventory.services.rack.scanning import TagStatus
from inventory.services.rack.tagging import NewPiece
from inventory.services.stock_check import stock_checks, unseen
from inventory.services.stock_check.stock_checks import Reconciliation, StockCheckView
from inventory.services.stock_check.unseen import CheckResult
from inventory.settings import InvalidSetting
from inventory.shop import Shop
from inventory.storage.records import EventKind
from inventory.storage.tables import OFFCUTS
from tests.conftest import Clock

ASH = Offcut(inches("30"), inches("4"), inches("1"), "ash", location="wall 2")
A, B, FAR, BUNDLE, NOWHERE = "0000011", "0000022", "0000033", "0000044", "0000055"


@pytest.fixture(autouse=True)
def rack(shop: Shop) -> None:
    """Two pieces and a bundle of six at wall 2, one at wall 10, one without a location."""
    pieces = (
        (A, ASH),
        (B, ASH),
        (FAR, replace(ASH, location="wall 10")),
        (BUNDLE, replace(ASH, count=6)),
        (NOWHERE, replace(ASH, location="")),
    )
    tagging.tag_all(shop, [NewPiece(offcut, code) for code, offcut in pieces])


def set_aside(shop: Shop, code: str, pieces: int) -> None:
    """As a board does that takes so many of a tag."""
    record = queries.record(shop, code)
    state = State.ON_HOLD if pieces == record.offcut.count else State.ON_RACK
    with shop.writing() as connection:
        row = OFFCUTS.c.id == record.id
        connection.execute(update(OFFCUTS).where(row).values(set_aside=pieces, state=state))


def codes_in(found: StockCheckView) -> dict[str, list[str]]:
    """The codes of each part."""
    return {
        "right": sorted(each.record.code for each in found.right),
        "misplaced": sorted(each.record.code for each in found.misplaced),
        "gone": sorted(each.record.code for each in found.gone),
        "untagged": sorted(each.code for each in found.untagged),
        "missing": sorted(each.code for each in found.missing),
        "aside": sorted(each.code for each in found.on_hold),
    }


def latest(shop: Shop, code: str) -> tuple[EventKind, str]:
    event = queries.piece(shop, code).history[0]
    return event.kind, event.detail


def test_what_is_seen_is_set_against_what_should_lie_there(shop: Shop) -> None:
    (blank,) = label_content.blank_codes(shop, 1)
    editing.remove(shop, NOWHERE, 1, RemovalReason.GIVEN_AWAY)
    set_aside(shop, B, 1)
    number = stock_checks.begin(shop, " Wall  2 ")
    assert codes_in(stock_checks.view(shop, number))["missing"] == [A, BUNDLE]
    tags = stock_checks.see(shop, number, f"{format_code(A)}, {FAR}; http://old.example/t/{NOWHERE}\n{blank} , 0000066")
    assert [tag.status for tag in tags] == [*[TagStatus.PIECE] * 3, TagStatus.BLANK, TagStatus.STRANGE]
    found = stock_checks.view(shop, number)
    assert found.stock_check.location == "wall 2"
    assert found.expected == 3
    assert codes_in(found) == {
        "right": [A],
        "misplaced": [FAR],
        "gone": [NOWHERE],
        "untagged": sorted([blank, "0000066"]),
        "missing": [BUNDLE],
        "aside": [B],
    }
    # A tag without a piece becomes one at the saw.
    tagging.tag(shop, ASH, code="0000066")
    assert codes_in(stock_checks.view(shop, number))["right"] == [A, "0000066"]


def test_all_differences_are_fixed_in_one_go(shop: Shop, clock: Clock) -> None:
    editing.remove(shop, NOWHERE, 1, RemovalReason.GIVEN_AWAY)
    clock.add(days=10)
    number = stock_checks.begin(shop, "wall 2")
    stock_checks.see(shop, number, f"{FAR},{NOWHERE},{A}")
    stock_checks.count(shop, number, BUNDLE, " 4 ")
    done = stock_checks.finish(shop, number, Reconciliation(not_found={B, A}, back={NOWHERE}))
    assert done.outcome == {
        "right": 2,
        "aside": [],
        "moved": [[FAR, "wall 10"]],
        "left": [],
        "back": [NOWHERE],
        "gone": [],
        "not_found": [B],
        "missed": [],
        "counted": [[BUNDLE, 6, 4]],
        "untagged": [],
    }
    # A was ticked as not found on a page that was older than its being seen.
    assert queries.record(shop, A).state is State.ON_RACK
    assert latest(shop, A) == (EventKind.SEEN, "stocktake of wall 2")
    assert latest(shop, B) == (EventKind.REMOVED, "not found: stocktake of wall 2")
    assert queries.record(shop, FAR).offcut.location == "wall 2"
    assert latest(shop, FAR) == (EventKind.SEEN, 'stocktake of wall 2; location "wall 10" → "wall 2"')
    assert queries.record(shop, BUNDLE).offcut.count == 4
    assert latest(shop, BUNDLE) == (EventKind.SEEN, "stocktake of wall 2; count 6 → 4")
    assert (queries.record(shop, NOWHERE).state, queries.record(shop, NOWHERE).offcut.location) == (
        State.ON_RACK,
        "wall 2",
    )
    assert latest(shop, NOWHERE) == (EventKind.REMOVAL_UNDONE, "was let go; stocktake of wall 2")
    assert queries.record(shop, A).seen_at == clock.moment
    # Undo: the piece's own page takes it back.
    editing.undo_removal(shop, B, queries.record(shop, B).version)
    assert queries.record(shop, B).state is State.ON_RACK
    with pytest.raises(stock_checks.StockCheckEnded) as ended:
        stock_checks.see(shop, number, B)
    assert str(ended.value) == (
        "The stocktake of wall 2 was finished meanwhile, so nothing more was noted. Begin a new one."
    )


def test_without_a_word_what_is_missing_is_still_looked_for_and_what_is_carried_back_keeps_its_place(
    shop: Shop,
) -> None:
    editing.remove(shop, NOWHERE, 1, RemovalReason.GIVEN_AWAY)
    set_aside(shop, B, 1)
    number = stock_checks.begin(shop, "wall 2")
    stock_checks.see(shop, number, f"{FAR},{NOWHERE},{BUNDLE}")
    # Not even a sent code lets a piece go that a board waits for.
    stock_checks.finish(shop, number, Reconciliation(left={FAR}, not_found={B}))
    assert latest(shop, A) == (EventKind.MISSED, "stocktake of wall 2; still looked for")
    assert queries.record(shop, A).state is State.ON_RACK
    assert queries.record(shop, A).last_checked_at is None
    assert queries.record(shop, B).state is State.ON_HOLD
    assert latest(shop, B)[0] is EventKind.TAGGED
    assert queries.record(shop, FAR).offcut.location == "wall 10"
    assert latest(shop, FAR) == (EventKind.SEEN, "stocktake of wall 2; left in its location")
    assert queries.record(shop, NOWHERE).state is State.GONE


def test_a_tag_is_noted_once_and_can_be_taken_off_again(shop: Shop) -> None:
    number = stock_checks.begin(shop, "wall 2")
    assert stock_checks.begin(shop, "WALL 2") == number
    stock_checks.see(shop, number, f"{A} , {A}")
    stock_checks.count(shop, number, BUNDLE, "5")
    stock_checks.see(shop, number, BUNDLE)
    found = {each.record.code: each.pieces for each in stock_checks.view(shop, number).right}
    assert found == {A: None, BUNDLE: 5}
    new = retagging.replace_tag(shop, A, queries.record(shop, A).version).code
    stock_checks.see(shop, number, f"{new},{A}")
    assert len(stock_checks.view(shop, number).right) == 2
    stock_checks.unsee(shop, number, new)
    assert codes_in(stock_checks.view(shop, number))["missing"] == sorted([B, new])


@pytest.mark.parametrize(
    ("typed", "sentence"),
    [
        ("many", '"many" is no number of pieces. Type one such as 6.'),
        ("0", "2 of 000-0044 are set aside for a board, so there can't be 0 in all. Count those at the bench too, or "
              "abandon the board first."),
        ("1000000", "1000000 pieces are more than one tag may have, 999. Tag some of them anew."),
    ],
)  # fmt: skip
def test_a_count_that_cannot_be_is_reported(shop: Shop, typed: str, sentence: str) -> None:
    set_aside(shop, BUNDLE, 2)
    number = stock_checks.begin(shop, "wall 2")
    with pytest.raises(stock_checks.InvalidCount) as text:
        stock_checks.count(shop, number, BUNDLE, typed)
    assert str(text.value) == sentence


def test_a_count_that_a_board_overtook_stops_the_finish_and_mends_nothing(shop: Shop) -> None:
    number = stock_checks.begin(shop, "wall 2")
    stock_checks.count(shop, number, BUNDLE, "1")
    set_aside(shop, BUNDLE, 2)
    with pytest.raises(stock_checks.InvalidCount) as text:
        stock_checks.finish(shop, number, Reconciliation(not_found={A}))
    assert str(text.value) == (
        "2 of 000-0044 were set aside for a board meanwhile, more than the 1 that were counted. Count them once more."
    )
    assert queries.record(shop, A).state is State.ON_RACK
    assert stock_checks.view(shop, number).stock_check.ended_at is None


def test_bad_input_gets_a_sentence(shop: Shop) -> None:
    for location, sentence in (
        (" ", "No location is chosen. Choose one, or type what stands on the shelf."),
        ("x" * 61, "The location has 61 letters, and 60 fit. Shorten it."),
    ):
        with pytest.raises(stock_checks.InvalidLocation) as text:
            stock_checks.begin(shop, location)
        assert str(text.value) == sentence
    number = stock_checks.begin(shop, "wall 2")
    with pytest.raises(InvalidCode):
        stock_checks.see(shop, number, f"{A}, a shelf")
    assert stock_checks.view(shop, number).found == ()
    with pytest.raises(stock_checks.NoSuchStockCheck) as none:
        stock_checks.view(shop, 2**70)
    assert str(none.value) == f"There is no stocktake {2**70}. Choose a location and begin anew."


def message_at_the_end(shop: Shop, number: int, not_found: str) -> str:
    """The message to a phone that finishes with this piece not found; empty where all is as it asked."""
    try:
        stock_checks.finish(shop, number, Reconciliation(not_found={not_found}))
    except stock_checks.StockCheckEnded as ended:
        return str(ended)
    return ""


def test_two_phones_at_once_note_each_tag_once_and_only_one_of_them_finishes(shop: Shop) -> None:
    many = tagging.tag_all(shop, [NewPiece(ASH)] * 30)
    with ThreadPoolExecutor(6) as phones:
        numbers = set(phones.map(lambda _: stock_checks.begin(shop, "wall 2"), range(6)))
        assert len(numbers) == 1
        (number,) = numbers
        # Each tag is scanned by two phones.
        list(phones.map(lambda record: stock_checks.see(shop, number, record.code), [*many, *reversed(many)]))
        found = stock_checks.view(shop, number)
        assert (len(found.right), codes_in(found)["missing"]) == (30, [A, B, BUNDLE])
        text = [each for each in phones.map(lambda code: message_at_the_end(shop, number, code), (A, B)) if each]
    (gone,) = (code for code in (A, B) if queries.record(shop, code).state is State.GONE)
    (stays,) = {A, B} - {gone}
    assert text == [
        "The stocktake of wall 2 was finished before this was sent, and not as it was asked for here. "
        f"Not let go as not found: {format_code(stays)}. Though not ticked here, let go as not found: "
        f"{format_code(gone)}. Mend that on the pieces' own pages."
    ]
    # The same form sent twice is no news.
    assert message_at_the_end(shop, number, gone) == ""
    kinds = [event.kind for event in queries.piece(shop, many[0].code).history]
    assert kinds == [EventKind.SEEN, EventKind.TAGGED]


def test_a_piece_is_asked_about_after_a_year_and_tagging_and_stock_checks_count_as_seeing(
    shop: Shop, clock: Clock
) -> None:
    clock.add(days=364)
    assert unseen.unchecked_pieces(shop).tags == 0
    clock.add(days=2)
    number = stock_checks.begin(shop, "wall 2")
    stock_checks.see(shop, number, A)
    stock_checks.finish(shop, number, Reconciliation())
    asked = unseen.unchecked_pieces(shop)
    assert (asked.months, asked.tags) == (12, 4)
    assert [each.code for each in asked.records] == [B, BUNDLE, FAR, NOWHERE]
    found = queries.find(shop, read_filter({"unseen": "12"}, shop.settings().unit))
    assert found.tags == 4
    set_aside(shop, FAR, 1)
    with pytest.raises(unseen.CannotConfirm) as text:
        unseen.settle(shop, [B, FAR], CheckResult.NOT_FOUND)
    assert str(text.value) == (
        "000-0033 is set aside for a board and may lie at the bench. Untick it, or abandon the board first."
    )
    assert queries.record(shop, B).state is State.ON_RACK
    assert unseen.settle(shop, [B, B], CheckResult.NOT_FOUND) == 1
    assert latest(shop, B) == (EventKind.REMOVED, "not found")
    assert unseen.settle(shop, [FAR, NOWHERE, B], CheckResult.HERE) == 2
    assert latest(shop, FAR) == (EventKind.SEEN, "was asked about")
    # A page that is older than what somebody saw.
    with pytest.raises(unseen.CannotConfirm) as seen:
        unseen.settle(shop, [BUNDLE, NOWHERE], CheckResult.NOT_FOUND)
    assert str(seen.value) == (
        "000-0055 was seen by somebody else since you asked: nothing was let go. Send the rest again."
    )
    assert [each.code for each in unseen.unchecked_pieces(shop).records] == [BUNDLE]
    with pytest.raises(unseen.CannotConfirm):
        unseen.settle(shop, [], CheckResult.HERE)


def test_the_months_are_the_shop_s_own(shop: Shop, clock: Clock) -> None:
    shop.update_settings(lambda settings: settings.changed({"ask_after": " 2 "}))
    clock.add(days=62)
    assert unseen.unchecked_pieces(shop).tags == 5
    for typed in ("0", "121", "x", "1.5"):
        with pytest.raises(InvalidSetting) as text:
            shop.settings().changed({"ask_after": typed})
        assert str(text.value) == f'"{typed}" is no number of months from 1 to 120. Type one such as 12.'
    with pytest.raises(InvalidFilter):
        read_filter({"unseen": "0"}, shop.settings().unit)


def test_what_was_pruned_and_is_taken_back_was_seen_that_day(shop: Shop, clock: Clock) -> None:
    editing.remove(shop, A, 1, RemovalReason.NOT_FOUND)
    clock.moment += timedelta(days=500)
    editing.undo_removal(shop, A, 2)
    assert queries.record(shop, A).seen_at == clock.moment


def test_a_shop_that_is_opened_again_goes_on_with_its_stock_check(tmp_path: Path, shop: Shop, clock: Clock) -> None:
    number = stock_checks.begin(shop, "wall 2")
    stock_checks.see(shop, number, A)
    with Shop.open(shop.folder, now=clock) as again:
        assert codes_in(stock_checks.view(again, number))["right"] == [A]
        assert [each.id for each in stock_checks.listed(again)[0]] == [number]
        stock_checks.finish(again, number, Reconciliation())
        assert [each.id for each in stock_checks.listed(again)[1]] == [number]
