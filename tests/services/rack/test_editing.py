"""Changing a piece: what may be changed, what is written of it, and two who change it at once."""

from collections.abc import Callable
from dataclasses import replace
from fractions import Fraction
from threading import Barrier, Thread

import pytest

from inventory.core.errors import Conflict
from inventory.core.lengths import inches
from inventory.core.offcuts import Face, Mark, State
from inventory.services.boards import making
from inventory.services.labels import label_content
from inventory.services.rack import editing, queries
from inventory.services.rack.editing import ChangeNotAllowed, RemovalReason
from inventory.shop import Shop
from inventory.storage.records import EventKind, OffcutRecord, StoredPhoto
from tests.services.fills import BOARD, latest, make_fill, now

PHOTOS = tuple(StoredPhoto(letter * 64, 640, 480) for letter in "abc")


def test_what_changed_is_in_the_history_old_and_new(shop: Shop, ash: OffcutRecord) -> None:
    after = editing.change(
        shop,
        ash.code,
        1,
        replace(
            ash.offcut,
            length=inches("20"),
            species="white ash",
            face_b=Face.PLANED,
            count=2,
            location="",
            notes="a  knot",
        ),
    )
    assert latest(shop, ash.code) == (
        EventKind.CHANGED,
        'length 23 1/2 in → 20 in; species "ash" → "white ash"; face b rough → planed; count 3 → 2; '
        'location "wall 2" → none; notes none → "a  knot"',
    )
    assert after == now(shop, ash)
    assert (after.version, after.offcut.length, after.offcut.count) == (2, inches("20"), 2)
    assert after.volume == 2 * (after.volume // 2) != ash.volume


def test_what_a_piece_carries_is_in_the_history_in_words(shop: Shop, ash: OffcutRecord) -> None:
    carried = replace(ash.offcut, marks=(Mark.METAL, Mark.DAMP), moisture=Fraction("18.5"), batch="elm")
    after = editing.change(shop, ash.code, 1, carried)
    assert latest(shop, ash.code) == (
        EventKind.CHANGED,
        'marks none → damp, metal; moisture none → 18.5 %; moisture read on none → 2030-01-31; batch none → "elm"',
    )
    editing.change(shop, ash.code, 2, replace(after.offcut, marks=(), moisture=None, moisture_on=None))
    assert latest(shop, ash.code) == (
        EventKind.CHANGED,
        "marks damp, metal → none; moisture 18.5 % → none; moisture read on 2030-01-31 → none",
    )


def test_marks_moisture_and_batch_may_change_while_a_piece_is_on_hold(shop: Shop, ash: OffcutRecord) -> None:
    making.set_aside(shop, BOARD, make_fill(BOARD, [(ash, 1)]))
    record = now(shop, ash)
    carried = replace(record.offcut, marks=(Mark.METAL,), moisture=Fraction(8), batch="elm")
    assert editing.change(shop, ash.code, record.version, carried).offcut.marks == (Mark.METAL,)


def test_a_change_that_changes_nothing_leaves_no_trace(shop: Shop, ash: OffcutRecord) -> None:
    assert editing.change(shop, ash.code, 1, replace(ash.offcut, tag="", species=" ash ")) == ash
    assert latest(shop, ash.code)[0] is EventKind.TAGGED


CHANGES: list[Callable[[Shop, OffcutRecord], object]] = [
    lambda shop, record: editing.change(shop, record.code, 1, replace(record.offcut, notes="mine")),
    lambda shop, record: editing.use_up(shop, record.code, 1),
    lambda shop, record: editing.remove(shop, record.code, 1, RemovalReason.BURNT),
    lambda shop, record: editing.undo_removal(shop, record.code, 1),
    lambda shop, record: editing.add_photo(shop, record.code, 1, PHOTOS[0]),
    lambda shop, record: editing.remove_photo(shop, record.code, 1, 1),
    lambda shop, record: editing.choose_main_photo(shop, record.code, 1, 1),
]


@pytest.mark.parametrize("act", CHANGES)
def test_the_second_of_two_who_change_a_piece_is_reported_and_overwrites_nothing(
    shop: Shop, ash: OffcutRecord, act: Callable[[Shop, OffcutRecord], object]
) -> None:
    first = editing.change(shop, ash.code, 1, replace(ash.offcut, notes="theirs"))
    with pytest.raises(Conflict) as refused:
        act(shop, ash)
    assert str(refused.value) == (
        f"{ash.code[:3]}-{ash.code[3:]} was changed by somebody else since this page was shown: "
        "what you sent was not saved. Look at it as it is now, then change it again."
    )
    assert now(shop, ash) == first


def test_of_eight_who_change_a_piece_at_once_one_is_heard(shop: Shop, ash: OffcutRecord) -> None:
    start = Barrier(8)
    kept: list[str] = []
    text: list[str] = []

    def change(person: str) -> None:
        start.wait()
        try:
            kept.append(editing.change(shop, ash.code, 1, replace(ash.offcut, notes=person)).offcut.notes)
        except Conflict:
            text.append(person)

    people = [Thread(target=change, args=(str(number),)) for number in range(8)]
    for each in people:
        each.start()
    for each in people:
        each.join()
    assert (len(kept), len(text)) == (1, 7)
    assert now(shop, ash).offcut.notes == kept[0]
    assert len(queries.piece(shop, ash.code).history) == 2


def test_the_count_stays_at_or_above_what_is_on_hold(shop: Shop, ash: OffcutRecord) -> None:
    making.set_aside(shop, BOARD, make_fill(BOARD, [(ash, 1), (ash, 1)]))
    aside = now(shop, ash)
    assert (aside.state, aside.set_aside, aside.free) == (State.ON_RACK, 2, 1)
    with pytest.raises(ChangeNotAllowed) as refused:
        editing.change(shop, ash.code, 2, replace(aside.offcut, count=1))
    assert str(refused.value) == (
        f"2 of {ash.code[:3]}-{ash.code[3:]} are set aside for a board, so the count can't be 1. "
        "Type 2 or more, or abandon the board first."
    )
    fewer = editing.change(shop, ash.code, 2, replace(aside.offcut, count=2))
    assert (fewer.state, fewer.free) == (State.ON_HOLD, 0)
    more = editing.change(shop, ash.code, 3, replace(aside.offcut, count=5))
    assert (more.state, more.free) == (State.ON_RACK, 3)


def test_sizes_that_a_board_was_calculated_with_stay(shop: Shop, ash: OffcutRecord) -> None:
    making.set_aside(shop, BOARD, make_fill(BOARD, [(ash, 1)]))
    with pytest.raises(ChangeNotAllowed) as refused:
        editing.change(shop, ash.code, 2, replace(ash.offcut, width=inches("3")))
    assert str(refused.value) == (
        f"{ash.code[:3]}-{ash.code[3:]} is set aside for a board that was planned with its sizes, species and faces. "
        "Abandon the board first, then change them."
    )
    assert editing.change(shop, ash.code, 2, replace(ash.offcut, location="cart")).offcut.location == "cart"


def test_some_of_a_bundle_are_used_up_then_all(shop: Shop, ash: OffcutRecord) -> None:
    some = editing.use_up(shop, ash.code, 1, pieces=2, note=" wedges ")
    assert (some.state, some.offcut.count) == (State.ON_RACK, 1)
    assert latest(shop, ash.code) == (EventKind.USED, "2 of 3: wedges")
    gone = editing.use_up(shop, ash.code, 2)
    assert (gone.state, gone.offcut.count, gone.free, gone.label_wanted) == (State.USED_UP, 1, 0, False)
    assert latest(shop, ash.code) == (EventKind.USED, "")
    assert label_content.queue(shop) == ()
    back = editing.undo_removal(shop, ash.code, 3)
    assert label_content.queue(shop) == (back,)


def test_what_a_board_waits_for_is_not_used_up(shop: Shop, ash: OffcutRecord) -> None:
    making.set_aside(shop, BOARD, make_fill(BOARD, [(ash, 1), (ash, 1)]))
    with pytest.raises(ChangeNotAllowed) as refused:
        editing.use_up(shop, ash.code, 2, pieces=2)
    assert str(refused.value) == (
        f"2 of {ash.code[:3]}-{ash.code[3:]} can't be used up: 1 of 3 are free. "
        "Type a number from 1 to what is free, or abandon the board that waits for it."
    )
    left = editing.use_up(shop, ash.code, 2)
    assert (left.state, left.offcut.count, left.set_aside) == (State.ON_HOLD, 2, 2)


def test_a_piece_is_pruned_with_a_reason_and_taken_back(shop: Shop, ash: OffcutRecord) -> None:
    gone = editing.remove(shop, ash.code, 1, RemovalReason.GIVEN_AWAY, "to the school")
    assert (gone.state, gone.free, gone.offcut.count) == (State.GONE, 0, 3)
    assert latest(shop, ash.code) == (EventKind.REMOVED, "given away: to the school")
    back = editing.undo_removal(shop, ash.code, 2)
    assert (back.state, back.free) == (State.ON_RACK, 3)
    assert latest(shop, ash.code) == (EventKind.REMOVAL_UNDONE, "was let go")


def test_a_piece_that_a_board_waits_for_is_not_pruned(shop: Shop, ash: OffcutRecord) -> None:
    making.set_aside(shop, BOARD, make_fill(BOARD, [(ash, 1)]))
    with pytest.raises(ChangeNotAllowed) as refused:
        editing.remove(shop, ash.code, 2, RemovalReason.BURNT)
    assert str(refused.value) == (f"{ash.code[:3]}-{ash.code[3:]} is set aside for a board. Abandon the board first.")


def test_a_piece_that_is_gone_is_not_changed(shop: Shop, ash: OffcutRecord) -> None:
    editing.remove(shop, ash.code, 1, RemovalReason.NOT_FOUND)
    for act in (
        lambda: editing.change(shop, ash.code, 2, replace(ash.offcut, notes="x")),
        lambda: editing.use_up(shop, ash.code, 2),
        lambda: editing.remove(shop, ash.code, 2, RemovalReason.OTHER),
    ):
        with pytest.raises(ChangeNotAllowed) as refused:
            act()
        assert str(refused.value) == (f"{ash.code[:3]}-{ash.code[3:]} is let go. Take it back first, then change it.")


def test_a_piece_that_is_here_is_not_taken_back(shop: Shop, ash: OffcutRecord) -> None:
    with pytest.raises(ChangeNotAllowed) as refused:
        editing.undo_removal(shop, ash.code, 1)
    assert str(refused.value) == (f"{ash.code[:3]}-{ash.code[3:]} is on the rack already. Look at it as it is now.")


def test_a_note_that_is_too_long_is_refused(shop: Shop, ash: OffcutRecord) -> None:
    with pytest.raises(ChangeNotAllowed) as refused:
        editing.remove(shop, ash.code, 1, RemovalReason.OTHER, "n" * 2001)
    assert str(refused.value) == "The note is longer than 2000 letters. Shorten it."
    assert now(shop, ash) == ash


def test_photos_are_added_put_first_and_taken_off(shop: Shop, ash: OffcutRecord) -> None:
    def digests(record: OffcutRecord) -> str:
        return "".join(photo.digest[0] for photo in record.photos)

    record = ash
    for photo in PHOTOS:
        record = editing.add_photo(shop, ash.code, record.version, photo)
    assert (digests(record), record.version) == ("abc", 4)
    assert editing.add_photo(shop, ash.code, 4, PHOTOS[0]) == record
    record = editing.choose_main_photo(shop, ash.code, 4, record.photos[2].id)
    assert digests(record) == "cab"
    assert record.main_photo is not None and record.main_photo.digest == PHOTOS[2].digest
    record = editing.remove_photo(shop, ash.code, 5, record.photos[1].id)
    assert digests(record) == "cb"
    assert digests(editing.add_photo(shop, ash.code, 6, PHOTOS[0])) == "cba"
    details = [event.detail for event in queries.piece(shop, ash.code).history[:-1]]
    assert details == ["added", "taken off", "chosen as the main one", "added", "added", "added"]


def test_a_photo_of_another_piece_is_not_to_be_had(shop: Shop, ash: OffcutRecord) -> None:
    with pytest.raises(ChangeNotAllowed) as refused:
        editing.remove_photo(shop, ash.code, 1, 7)
    assert str(refused.value) == f"{ash.code[:3]}-{ash.code[3:]} has no such photo. Look at it as it is now."


def test_a_piece_has_so_many_photos_and_no_more(shop: Shop, ash: OffcutRecord) -> None:
    record = ash
    for number in range(20):
        record = editing.add_photo(shop, ash.code, record.version, StoredPhoto(f"{number:064}", 640, 480))
    with pytest.raises(ChangeNotAllowed) as refused:
        editing.add_photo(shop, ash.code, record.version, PHOTOS[0])
    assert str(refused.value) == (
        f"{ash.code[:3]}-{ash.code[3:]} has 20 photos, and no more are kept of one piece. Take one off it first."
    )
