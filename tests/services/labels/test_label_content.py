"""The queue of labels, the words on a label, and blank tags."""

from dataclasses import replace

import pytest

from inventory.core.lengths import Display, Nearest
from inventory.core.offcuts import Mark
from inventory.services.labels import label_content
from inventory.services.labels.label_content import InvalidBlankCount, LabelContent, NoLabelNeeded
from inventory.services.rack import editing, queries, tagging
from inventory.services.rack.queries import NoSuchPiece
from inventory.settings import Settings
from inventory.shop import Shop
from inventory.storage.records import EventKind, StoredPhoto
from tests.services.fills import now, tagged


def queued(shop: Shop) -> list[str]:
    return [record.code for record in label_content.queue(shop)]


def test_labels_wait_in_the_order_in_which_they_were_wanted(shop: Shop) -> None:
    ash, oak, elm = (tagged(shop, f"{name} 9x3x1").code for name in ("ash", "oak", "elm"))
    assert queued(shop) == [ash, oak, elm]
    assert label_content.mark_printed(shop, [oak, ash, oak.lower()]) == 2
    assert queued(shop) == [elm]
    assert label_content.mark_printed(shop, [oak]) == 0
    assert label_content.put_back(shop, [ash, elm, oak, ash]) == 2
    assert queued(shop) == [elm, ash, oak]
    kinds = [event.kind for event in queries.piece(shop, ash).history]
    assert kinds == [EventKind.LABEL_PRINTED, EventKind.TAGGED]


def test_a_label_is_no_change_of_the_piece(shop: Shop) -> None:
    ash = tagged(shop, "ash 9x3x1")
    label_content.mark_printed(shop, [ash.code])
    assert now(shop, ash) == replace(ash, label_wanted=False)


def test_a_piece_that_is_gone_needs_no_label(shop: Shop) -> None:
    ash = tagged(shop, "ash 9x3x1")
    editing.remove(shop, ash.code, 1, editing.RemovalReason.BURNT)
    assert queued(shop) == []
    with pytest.raises(NoLabelNeeded) as refused:
        label_content.put_back(shop, [ash.code])
    assert str(refused.value) == (
        f"{ash.code[:3]}-{ash.code[3:]} is let go and needs no label. Take the piece back first."
    )


def test_a_selection_with_an_unknown_code_prints_nothing(shop: Shop) -> None:
    ash = tagged(shop, "ash 9x3x1")
    with pytest.raises(NoSuchPiece):
        label_content.mark_printed(shop, [ash.code, "0000011"])
    assert queued(shop) == [ash.code]
    assert label_content.pieces(shop, [ash.code, ash.code]) == (ash, ash)


def test_the_words_of_a_label(shop: Shop) -> None:
    offcut = tagging.read_line("4 of ash 23 1/2 x 3 1/4 x 13/16", Settings())
    record = tagging.tag(shop, replace(offcut, location="wall 2"), photos=[StoredPhoto("a" * 64, 9, 9)], code="0000011")
    settings = Settings(base_url="http://rack.example:8765")
    assert label_content.label_content(record, settings) == LabelContent(
        code="0000011",
        code_text="000-0011",
        qr="HTTP://RACK.EXAMPLE:8765/T/0000011",
        species="4 of ash",
        sizes="23 1/2 × 3 1/4 × 13/16 in",
        condition="rough",
        location="wall 2",
        photo="a" * 64,
    )
    metric = label_content.label_content(record, Settings(display=Display(Nearest.TENTH_MM)))
    assert (metric.sizes, metric.qr) == ("596.9 × ≈82.6 × ≈20.6 mm", "0000011")


def test_the_words_of_a_label_without_species_and_with_two_conditions(shop: Shop) -> None:
    one, two = (tagged(shop, line) for line in ("9x3x1 rough finished", "2 of 9x3x1 planed"))
    settings = Settings()
    content = label_content.label_content(one, settings)
    assert (content.species, content.condition, content.location, content.photo) == (
        "",
        "rough / finished",
        "",
        None,
    )
    content = label_content.label_content(two, settings)
    assert (content.species, content.condition) == ("2 pieces", "planed")


def test_marks_and_batch_are_behind_the_faces(shop: Shop) -> None:
    record = tagged(shop, "9x3x1 rough planed")
    carried = replace(record.offcut, marks=(Mark.METAL, Mark.OILY), batch="elm 2029")
    record = editing.change(shop, record.code, record.version, carried)
    assert label_content.label_content(record, Settings()).condition == "rough / planed · metal, oily · elm 2029"


def test_blank_tags_have_codes_that_no_piece_is_given(shop: Shop) -> None:
    codes = label_content.blank_codes(shop, 30)
    assert len(set(codes)) == 30
    assert set(codes) <= shop.issued_codes()
    assert label_content.blank_content(codes[0], Settings()) == LabelContent(
        code=codes[0], code_text=f"{codes[0][:3]}-{codes[0][3:]}", qr=codes[0]
    )


@pytest.mark.parametrize("how_many", [0, -1, 1001])
def test_a_number_of_blanks_that_cannot_be_is_reported(shop: Shop, how_many: int) -> None:
    with pytest.raises(InvalidBlankCount) as refused:
        label_content.blank_codes(shop, how_many)
    assert str(refused.value) == f"{how_many} blank tags can't be made at once. Type a number from 1 to 1000."
