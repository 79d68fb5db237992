"""A decision on the walk along the rack is taken back whole, whatever became of the piece since, or not at all."""

from collections.abc import Callable
from datetime import date

import pytest

from inventory.core.codes import format_code
from inventory.core.lengths import inches
from inventory.core.offcuts import Offcut, State
from inventory.pruning.disposal import disposals_for
from inventory.services.pruning import checklists, prune_advice
from inventory.services.pruning.checklists import DecisionNotAllowed
from inventory.services.rack import editing, queries, tagging
from inventory.services.rack.editing import RemovalReason
from inventory.shop import Shop
from inventory.storage.records import OffcutRecord
from inventory.storage.repositories import prune_checklists
from tests.conftest import Clock

ASH = Offcut(inches("20"), inches("3"), inches("1"), "ash", count=5)
WAY = disposals_for(ASH)[0]


def sent(shop: Shop, pieces: int) -> tuple[int, OffcutRecord]:
    """A list on which so many of five like pieces went, and the piece as it stands then."""
    piece = tagging.tag(shop, ASH)
    with shop.writing() as connection:
        number = prune_checklists.insert_checklist(
            connection, shop.now(), {"pieces": pieces}, [(piece.id, pieces, "seldom used")]
        )
    return number, checklists.send(shop, number, piece.code, WAY)


def mark_of(shop: Shop, number: int) -> str:
    """What the page of the list shows of the only decision on it."""
    return checklists.view(shop, number).items[0].entry.mark


def refused(decide: Callable[[], object]) -> str:
    with pytest.raises(DecisionNotAllowed) as text:
        decide()
    return str(text.value)


def stands(shop: Shop, record: OffcutRecord) -> tuple[int, State]:
    now = queries.record(shop, record.code)
    return now.offcut.count, now.state


@pytest.mark.parametrize("pieces", [2, 5])
def test_what_went_is_on_the_rack_as_before(shop: Shop, pieces: int) -> None:
    number, record = sent(shop, pieces)
    checklists.undo(shop, number, record.code, mark_of(shop, number))
    assert stands(shop, record) == (5, State.ON_RACK)


def test_the_rest_of_a_bundle_that_went_otherwise_does_not_come_back_in_its_place(shop: Shop) -> None:
    number, record = sent(shop, 2)
    gone = editing.remove(shop, record.code, record.version, RemovalReason.NOT_FOUND)
    with pytest.raises(DecisionNotAllowed) as text:
        checklists.undo(shop, number, record.code, mark_of(shop, number))
    assert str(text.value) == f"{format_code(record.code)} has changed since. Correct it on its own page."
    assert stands(shop, record) == (3, State.GONE)
    editing.undo_removal(shop, record.code, gone.version)
    checklists.undo(shop, number, record.code, mark_of(shop, number))
    assert stands(shop, record) == (5, State.ON_RACK)


def test_a_bundle_that_was_taken_back_on_its_page_is_not_taken_back_twice(shop: Shop) -> None:
    number, record = sent(shop, 5)
    back = editing.undo_removal(shop, record.code, record.version)
    checklists.undo(shop, number, record.code, mark_of(shop, number))
    assert stands(shop, record) == (5, State.ON_RACK)
    assert queries.record(shop, record.code).version == back.version


def test_a_page_that_is_older_than_what_became_of_the_piece_decides_nothing(shop: Shop, clock: Clock) -> None:
    number, record = sent(shop, 5)
    code, shown, stale = record.code, format_code(record.code), mark_of(shop, number)
    clock.add(minutes=1)
    checklists.undo(shop, number, code, stale)
    assert refused(lambda: checklists.undo(shop, number, code, stale)).startswith(
        f"Nothing was decided on {shown} yet."
    )
    checklists.keep_piece(shop, number, code)
    assert refused(lambda: checklists.undo(shop, number, code, stale)) == (
        f"{shown} was decided anew since this page was shown. Look at it as it is now."
    )
    checklists.undo(shop, number, code, mark_of(shop, number))
    editing.remove(shop, code, queries.record(shop, code).version, RemovalReason.NOT_FOUND)
    for decide in (
        lambda: checklists.keep_piece(shop, number, code),
        lambda: checklists.send(shop, number, code, WAY),
    ):
        assert refused(decide) == f"{shown} is let go already, so nothing was decided on it. See its own page."
    editing.undo_removal(shop, code, queries.record(shop, code).version)
    checklists.end(shop, number)
    for decide in (
        lambda: checklists.keep_piece(shop, number, code),
        lambda: checklists.send(shop, number, code, WAY),
    ):
        assert refused(decide) == (
            f"This list was put away meanwhile, so nothing was decided on {shown}. Go on with the list under way, or "
            "ask anew what to let go."
        )
    assert stands(shop, record) == (5, State.ON_RACK)
    assert prune_advice.pinned(shop) == frozenset()


def test_what_was_kept_is_not_proposed_for_a_year_and_has_no_mark(shop: Shop, clock: Clock) -> None:
    number, record = sent(shop, 2)
    checklists.undo(shop, number, record.code, mark_of(shop, number))
    checklists.keep_piece(shop, number, record.code)
    assert queries.record(shop, record.code).offcut.marks == ()
    assert prune_advice.pinned_until(shop, record.code) == date(2031, 1, 31)
    clock.add(days=365, minutes=-1)
    assert prune_advice.pinned(shop) == {record.code}
    clock.add(minutes=1)
    assert prune_advice.pinned(shop) == frozenset()
    assert prune_advice.pinned_until(shop, record.code) is None
    prune_advice.pin(shop, record.code, wanted=True)
    assert prune_advice.pinned_until(shop, record.code) == date(2032, 1, 31)
