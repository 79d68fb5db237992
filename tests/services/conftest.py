"""Two offcuts on the rack, a fill that takes of both, and a board for which it is set aside."""

import pytest

from inventory.fill.plan import Fill
from inventory.services.boards import making
from inventory.shop import Shop
from inventory.storage.records import BoardRecord, OffcutRecord
from tests.services.fills import BOARD, make_fill, tagged


@pytest.fixture
def oak(shop: Shop) -> OffcutRecord:
    return tagged(shop, "oak 40 x 6 x 1 1/4 rough planed @ wall 10")


@pytest.fixture
def ash(shop: Shop) -> OffcutRecord:
    return tagged(shop, "3 of ash 23 1/2 x 3 1/4 x 13/16 @ wall 2")


@pytest.fixture
def fill(oak: OffcutRecord, ash: OffcutRecord) -> Fill:
    """Two strips of the oak, one of each of two of the three ashes."""
    return make_fill(BOARD, [(oak, 2), (ash, 1), (ash, 1)])


@pytest.fixture
def aside(shop: Shop, fill: Fill) -> BoardRecord:
    return making.set_aside(shop, BOARD, fill, "stair tread")
