"""The list of usual boards: boards of the past propose themselves, and a backup carries it."""

import json
from dataclasses import replace
from fractions import Fraction
from pathlib import Path

import pytest

from inventory.pruning.usual_boards import InvalidUsualBoard, UsualBoard
from inventory.services import backups
from inventory.services.boards import making, usual_board_list
from inventory.services.boards.usual_board_list import InvalidUsualBoardList
from inventory.services.pruning import prune_advice
from inventory.shop import Shop
from inventory.storage.records import BoardRecord, OffcutRecord
from tests.conftest import Clock
from tests.services.fills import BOARD


def kept(shop: Shop, name: str = "tread", **changed: object) -> usual_board_list.ListedBoard:
    return usual_board_list.keep(shop, UsualBoard(name, replace(BOARD, **changed), Fraction(5, 2), (3, 12)))  # type: ignore[arg-type]


def test_a_board_that_was_cut_proposes_itself_with_the_rate_of_the_shop_s_own_years(
    shop: Shop, clock: Clock, aside: BoardRecord
) -> None:
    assert usual_board_list.proposals(shop) == ()
    making.cut(shop, aside.id, aside.version, [])
    clock.add(days=731)
    [proposal] = usual_board_list.proposals(shop)
    assert (proposal.board, proposal.name, proposal.times, proposal.a_year) == (
        aside.id,
        "stair tread",
        1,
        Fraction(1, 2),
    )
    usual_board_list.keep(shop, usual_board_list.usual_board(proposal.name, proposal.request, "0.5", []))
    assert usual_board_list.proposals(shop) == ()


def test_a_usual_board_follows_the_shop_s_allowances_but_for_its_own(shop: Shop) -> None:
    own = replace(BOARD.allowances, rip_kerf=BOARD.allowances.resaw_kerf)
    kept(shop, allowances=own)
    settings = shop.settings()
    trim = settings.allowances.side_trim
    shop.save_settings(replace(settings, allowances=settings.allowances.with_value("end_trim", trim)))
    [listed] = usual_board_list.listed(shop)
    assert listed.board.request.allowances == own.with_value("end_trim", trim)


def test_the_same_name_twice_is_refused(shop: Shop) -> None:
    kept(shop)
    with pytest.raises(InvalidUsualBoard) as fault:
        kept(shop, "TREAD")
    assert str(fault.value) == 'There is a usual board "TREAD" already. Type another name.'


def test_half_a_character_is_reported_and_a_name_is_tidied(shop: Shop) -> None:
    request = {"length": "18 in", "width": "3 in", "thickness": "1 in", "bands": [{"species": ["ash"], "weight": 1}]}
    boards = [{"name": "stair\x00 tread", "a_year": "2", "request": request}]
    text = json.dumps({"boards": boards})
    with pytest.raises(InvalidUsualBoardList) as message:
        usual_board_list.import_file(shop, text.replace("ash", "\\ud800").encode())
    assert str(message.value) == "The file has half a character in it, \\ud800 without its other half. Mend it there."
    assert [each.board.name for each in usual_board_list.import_file(shop, text.encode())] == ["stair tread"]


def test_a_backup_carries_usual_boards_and_pins(shop: Shop, oak: OffcutRecord, tmp_path: Path) -> None:
    kept(shop)
    prune_advice.pin(shop, oak.code, wanted=True)
    backups.backup(shop, tmp_path / "all.zip")
    backups.restore(tmp_path / "all.zip", tmp_path / "again")
    with Shop.open(tmp_path / "again", now=shop.now) as again:
        assert usual_board_list.listed(again) == usual_board_list.listed(shop)
        assert prune_advice.pinned(again) == {oak.code}
