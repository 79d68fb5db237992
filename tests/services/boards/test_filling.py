"""A board asked of the shop's own rack: what is free goes into the search, and the answer is chosen from."""

from dataclasses import replace
from datetime import date

import pytest

from inventory.core.errors import Conflict
from inventory.core.lengths import Display, Nearest, inches, millimeters
from inventory.core.offcuts import Mark
from inventory.fill.request import Grain, InvalidRequest
from inventory.services.boards import filling, making
from inventory.services.rack import editing, queries, retagging
from inventory.shop import Shop
from tests.services.fills import now, tagged

ASKED = {"length": "18 in", "width": "6 in", "thickness": "1 1/2 in"}


def test_a_request_has_the_unit_allowances_and_day_of_the_shop(shop: Shop) -> None:
    settings = shop.settings()
    shop.save_settings(replace(settings, display=Display(Nearest.TENTH_MM)).changed({"rip_kerf": "2"}))
    request = filling.request(shop, {"length": "450", "width": "150", "thickness": "38", "grain": "face"})
    assert (request.length, request.grain, request.on) == (millimeters("450"), Grain.FACE, date(2030, 1, 31))
    assert request.allowances.rip_kerf == millimeters("2")
    with pytest.raises(InvalidRequest) as refused:
        filling.request(shop, {"length": "450", "width": "150"})
    assert str(refused.value) == 'The request has no thickness. Add "thickness", for example "18 in".'


def test_only_what_is_free_goes_into_a_fill(shop: Shop) -> None:
    request = filling.request(shop, ASKED)
    bundle = tagged(shop, "6 of ash 24 x 3 1/2 x 1 1/4")
    gone = tagged(shop, "ash 60 x 9 x 2")
    editing.remove(shop, gone.code, 1, editing.RemovalReason.NOT_FOUND)
    fill = filling.fill(shop, request).fills[0]
    assert {cut.offcut.tag for cut in fill.cuts} == {bundle.code}
    board = making.set_aside(shop, request, fill)
    assert board.taken[0].pieces == fill.pieces
    free = now(shop, bundle).free
    assert free == 6 - fill.pieces
    again = filling.fill(shop, request)
    assert {cut.offcut.count for each in again.fills for cut in each.cuts} <= {free}
    assert all(each.pieces <= free for each in again.fills)


def test_what_is_on_hold_is_counted_where_the_rack_cannot_fill_the_board(shop: Shop) -> None:
    request = filling.request(shop, ASKED)
    tagged(shop, "6 of ash 24 x 3 1/2 x 1 1/4")
    board = making.set_aside(shop, request, filling.fill(shop, request).fills[0])
    wide = filling.request(shop, ASKED | {"width": "30 in"})
    shortfall = filling.fill(shop, wide).shortfall
    assert shortfall is not None
    assert shortfall.reasons["set aside"] == board.taken[0].pieces


def test_the_fill_that_was_shown_is_on_hold(shop: Shop) -> None:
    request = filling.request(shop, ASKED)
    for width in ("3 1/2", "4", "4 1/2", "6", "7"):
        tagged(shop, f"2 of ash 24 x {width} x 1 1/4 @ wall 2")
    plan = filling.fill(shop, request)
    keys = [filling.fill_key(fill) for fill in plan.fills]
    assert len(set(keys)) == len({(fill.prefer, fill.cuts) for fill in plan.fills})
    for fill, key in zip(plan.fills, keys, strict=True):
        assert len(key) == 16
        assert filling.find_option(shop, request, key) == fill
    moved = queries.record(shop, plan.fills[0].cuts[0].offcut.tag)
    editing.change(shop, moved.code, 1, replace(moved.offcut, location="cart"))
    assert filling.fill_key(filling.find_option(shop, request, keys[0])) == keys[0]


def test_a_fill_that_the_rack_gives_no_longer_is_not_chosen(shop: Shop) -> None:
    request = filling.request(shop, ASKED)
    record = tagged(shop, "6 of ash 24 x 3 1/2 x 1 1/4")
    key = filling.fill_key(filling.fill(shop, request).fills[0])
    editing.change(shop, record.code, 1, replace(record.offcut, length=inches("9")))
    with pytest.raises(Conflict) as refused:
        filling.find_option(shop, request, key)
    assert str(refused.value) == (
        "The rack has changed since this answer was found: nothing was set aside. "
        "Look at the new answer and choose from it."
    )


def test_the_marks_batch_and_tags_of_the_shop_decide_what_may_serve(shop: Shop) -> None:
    pieces = {name: tagged(shop, "ash 60 x 9 x 1 1/4") for name in ("plain", "keep", "damp", "elm")}
    carried = {
        "keep": {"marks": (Mark.KEEP,)},
        "damp": {"marks": (Mark.DAMP, Mark.KNOTS)},
        "elm": {"batch": "Elm  2029"},
    }
    for name, changed in carried.items():
        record = pieces[name]
        editing.change(shop, record.code, record.version, replace(record.offcut, **changed))

    def used(**rules: object) -> set[str]:
        plan = filling.fill(shop, filling.request(shop, ASKED | {"fills": 10} | rules))
        return {cut.offcut.tag for fill in plan.fills for cut in fill.cuts}

    plain, elm = pieces["plain"].code, pieces["elm"].code
    assert used() == {plain, elm}
    assert used(without=[plain.lower()]) == {elm}
    assert used(batch="ELM 2029") == {elm}
    for name in ("keep", "damp"):
        named = {"with": [pieces[name].code]}
        assert pieces[name].code in used(**named)


def test_a_piece_is_ruled_out_by_the_tag_that_it_had_before(shop: Shop) -> None:
    piece = tagged(shop, "ash 60 x 9 x 1 1/4")
    new = retagging.replace_tag(shop, piece.code, piece.version).code
    request = filling.request(shop, ASKED | {"without": [piece.code]})
    assert request.eligibility.without == (new,)
    shortfall = filling.fill(shop, request).shortfall
    assert shortfall is not None and shortfall.reasons["ruled out"] == 1
