"""Which pieces go: the least needed, for each kind of storage limit; pinned pieces stay; rules of thumb."""

from __future__ import annotations

from dataclasses import replace
from datetime import timedelta

import pytest

from inventory.core.lengths import Length, Unit, inches, volume_mm3
from inventory.core.offcuts import Face, Mark, Offcut
from inventory.pruning.advice import advise
from inventory.pruning.disposal import Disposal, disposals_for
from inventory.pruning.forecast import Forecast, TagForecast
from inventory.pruning.loss import compare_counts
from inventory.pruning.reason_text import reason_text
from inventory.pruning.rules_of_thumb import RuleKind, rules_for
from inventory.pruning.storage_limit import InvalidLimit, StorageLimit, read_pieces, read_shelves, read_volume
from tests.pruning.seeded_shops import ON


def piece(tag: str, length: int = 20, count: int = 1, location: str = "wall 1", days: int = 0) -> Offcut:
    size = inches(str(length))
    return Offcut(
        size, inches("4"), inches("1"), "ash", Face.PLANED, Face.ROUGH, count, tag, location, ON - timedelta(days=days)
    )


RACK = (
    piece("often", 20, days=10),
    piece("bundle", 20, count=4, location="wall 2", days=400),
    piece("never", 30, days=900),
    piece("misfit", 9, location="wall 2", days=100),
)
FORECAST = Forecast(
    200,
    {
        "often": TagForecast((90,), (150,), frozenset({0, 1})),
        "bundle": TagForecast((50, 10, 0, 0), (80, 20, 2, 1), frozenset({0})),
        "never": TagForecast((0,), (0,), frozenset({0})),
        "misfit": TagForecast((0,), (0,), frozenset()),
    },
    (),
)


def going(storage_limit: StorageLimit, *pins: str) -> dict[str, int]:
    return {each.offcut.tag: each.pieces for each in advise(RACK, FORECAST, storage_limit, pins).going}


def test_what_fits_no_board_goes_first_then_what_was_never_cut_then_the_last_of_a_bundle() -> None:
    assert going(StorageLimit(pieces=7)) == {}
    assert going(StorageLimit(pieces=6)) == {"misfit": 1}
    assert going(StorageLimit(pieces=5)) == {"misfit": 1, "never": 1}
    assert going(StorageLimit(pieces=3)) == {"misfit": 1, "never": 1, "bundle": 2}
    assert going(StorageLimit(pieces=0)) == {"misfit": 1, "never": 1, "bundle": 4, "often": 1}


def test_a_pinned_piece_stays_and_where_pins_overfill_the_room_it_is_said() -> None:
    assert going(StorageLimit(pieces=6), "misfit") == {"never": 1}
    advice = advise(RACK, FORECAST, StorageLimit(pieces=0), ["often"])
    assert not advice.fits and [each.tag for each in advice.kept] == ["often"]


def test_a_piece_with_the_mark_keep_stays_as_a_pinned_one_does() -> None:
    marked = tuple(replace(each, marks=(Mark.KEEP,)) if each.tag == "misfit" else each for each in RACK)
    advice = advise(marked, FORECAST, StorageLimit(pieces=6))
    assert [each.offcut.tag for each in advice.going] == ["never"]
    shorter = next(rule for rule in rules_for(marked, StorageLimit(pieces=6), ON) if rule.kind is RuleKind.SHORTER)
    assert "misfit" in {each.tag for each in shorter.kept}


def test_a_location_with_too_little_shelf_gives_its_own_pieces_alone() -> None:
    assert going(StorageLimit(shelves={"wall 2": inches("3")})) == {"misfit": 1, "bundle": 1}
    assert going(StorageLimit(shelves={"wall 2": inches("5"), "wall 1": inches("1")})) == {"never": 1}
    # However the location is spelled on the piece.
    assert going(StorageLimit(shelves={"Wall  02": inches("3")})) == {"misfit": 1, "bundle": 1}


def test_what_was_pruned_beyond_need_comes_back() -> None:
    """The long one goes after the small misfit, and then the misfit still fits in."""
    whole = sum(each.count * volume_mm3(each.length, each.width, each.thickness) for each in RACK)
    assert going(StorageLimit(volume=whole - 9 * 4 * 16387 - 10)) == {"never": 1}


def test_the_reasons_are_reported_with_how_often_and_who_else_does_the_same() -> None:
    text = {each.offcut.tag: reason_text(each) for each in advise(RACK, FORECAST, StorageLimit(pieces=3)).going}
    assert text == {
        "misfit": "Fits none of the usual boards.",
        "never": "Not cut once in 400 simulated years; 3 others that stay do the same boards.",
        "bundle": "Cut twice in 400 simulated years (1.0 % ± 0.7 % in two years); "
        "3 others that stay do the same boards.",
    }


def test_rules_of_thumb_go_as_far_as_they_must() -> None:
    rules = {rule.kind: rule for rule in rules_for(RACK, StorageLimit(pieces=6), ON)}
    assert rules[RuleKind.SHORTER].below == inches("20") and rules[RuleKind.SHORTER].pieces == 1
    assert rules[RuleKind.OLDER].days == 899 and rules[RuleKind.OLDER].pieces == 1
    assert rules[RuleKind.NARROWER].pieces == 7
    assert rules[RuleKind.SPECIES].species == ("ash",)
    assert rules_for(RACK, StorageLimit(pieces=7), ON) == ()
    assert rules_for(RACK, StorageLimit(pieces=0), ON, ["often"]) == ()


def test_the_same_boards_make_the_difference_of_two_racks_sure() -> None:
    text = compare_counts([(8, 10), (9, 10), (10, 10)], [(7, 10), (8, 10), (9, 10)])
    assert (text.asked, text.filled, round(text.lost, 9), round(text.error, 9)) == (30, 24, 10.0, 0.0)
    assert compare_counts([(8, 10)], []).filled == 0


def test_nothing_finished_unknown_or_treated_is_proposed_for_the_stove() -> None:
    bare = replace(piece("bare"), notes="Untreated, from the ash tree behind the shop.")
    assert Disposal.STOVE in disposals_for(bare)
    for kept_out in (
        piece("nobody said"),
        replace(bare, notes="Untreated, then painted."),
        replace(bare, species="treated pine"),
        replace(bare, face_b=Face.FINISHED),
        replace(bare, species=""),
        Offcut(bare.length, bare.width, bare.thickness, "pine", notes="Pallet, maybe treated."),
        replace(bare, species="Plywood"),
    ):
        assert disposals_for(kept_out) == (Disposal.GIVEN_AWAY, Disposal.BIN)


def test_rooms_are_read_as_they_are_typed() -> None:
    assert read_volume("10 bd ft", Unit.MILLIMETER, 0) == 23_597_372
    assert read_volume("10", Unit.INCH, 0) == 23_597_372
    assert read_volume("0.1", Unit.MILLIMETER, 0) == 100_000_000
    assert read_pieces(" 80 ") == 80
    assert read_shelves({"wall 1": "40 in", "wall 2": ""}, Unit.INCH) == {"wall 1": Length(inches("40"))}


@pytest.mark.parametrize(
    ("read", "sentence"),
    [
        (
            lambda: read_volume("101 %", Unit.INCH, 1),
            "More than 100 % of what is there can't be kept. Type 100 % or less.",
        ),
        (lambda: read_pieces("1.5"), '"1.5" is no number of pieces. Type how many may stay, such as 80.'),
        (
            lambda: read_shelves({"a": " "}, Unit.INCH),
            "No length of shelf is typed. Type one beside at least one location.",
        ),
        (
            lambda: read_shelves({"wall 2": "40 in", "b": "", "Wall 02": "1 in"}, Unit.INCH),
            '"wall 2" and "Wall 02" are one location. Give its shelf once.',
        ),
        (
            StorageLimit,
            "Give the storage limit in one way: as a volume, as a number of pieces, or as lengths of shelf.",
        ),
    ],
    ids=["volume", "pieces", "shelves", "twice", "none"],
)  # fmt: skip
def test_a_room_that_cannot_be_is_reported(read: object, sentence: str) -> None:
    with pytest.raises(InvalidLimit) as fault:
        read()  # type: ignore[operator]
    assert str(fault.value) == sentence
