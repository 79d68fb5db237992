"""A decision on the walk along the rack is taken back whole, whatever became of the piece since, or not at all."""

import pytest

from inventory.codes import shown_code
from inventory.measures import inches
from inventory.pieces import Offcut, State
from inventory.pruning.ways import ways_for
from inventory.services import changing, finding, tagging, walking
from inventory.services.changing import LetGoReason
from inventory.services.walking import NotNow
from inventory.shop import Shop
from inventory.storage import walks
from inventory.storage.records import OffcutRecord

ASH = Offcut(inches("20"), inches("3"), inches("1"), "ash", count=5)
WAY = ways_for(ASH)[0]


def sent(shop: Shop, pieces: int) -> tuple[int, OffcutRecord]:
    """A list on which so many of five like pieces went, and the piece as it stands then."""
    piece = tagging.tag(shop, ASH)
    with shop.writing() as connection:
        number = walks.insert_walk(connection, shop.now(), {"pieces": pieces}, [(piece.id, pieces, "seldom used")])
    return number, walking.send(shop, number, piece.code, WAY)


def stands(shop: Shop, record: OffcutRecord) -> tuple[int, State]:
    now = finding.record(shop, record.code)
    return now.offcut.count, now.state


@pytest.mark.parametrize("pieces", [2, 5])
def test_what_went_is_on_the_rack_as_before(shop: Shop, pieces: int) -> None:
    number, record = sent(shop, pieces)
    walking.undo(shop, number, record.code)
    assert stands(shop, record) == (5, State.ON_RACK)


def test_the_rest_of_a_bundle_that_went_otherwise_does_not_come_back_in_its_place(shop: Shop) -> None:
    number, record = sent(shop, 2)
    gone = changing.let_go(shop, record.code, record.version, LetGoReason.NOT_FOUND)
    with pytest.raises(NotNow) as refused:
        walking.undo(shop, number, record.code)
    assert str(refused.value) == f"{shown_code(record.code)} has changed since. Correct it on its own page."
    assert stands(shop, record) == (3, State.LET_GO)
    changing.take_back(shop, record.code, gone.version)
    walking.undo(shop, number, record.code)
    assert stands(shop, record) == (5, State.ON_RACK)


def test_a_bundle_that_was_taken_back_on_its_page_is_not_taken_back_twice(shop: Shop) -> None:
    number, record = sent(shop, 5)
    back = changing.take_back(shop, record.code, record.version)
    walking.undo(shop, number, record.code)
    assert stands(shop, record) == (5, State.ON_RACK)
    assert finding.record(shop, record.code).version == back.version
