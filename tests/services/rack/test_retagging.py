"""A tag was lost: the piece takes a new code, and the old one still finds it, for good."""

from pathlib import Path

import pytest

from inventory.core.codes import InvalidCode, format_code
from inventory.core.errors import Conflict
from inventory.core.lengths import inches
from inventory.core.offcuts import Offcut
from inventory.services import backups
from inventory.services.boards import making, pick_lists
from inventory.services.labels import label_content
from inventory.services.rack import csv_transfer, editing, queries, retagging, tagging
from inventory.services.rack.editing import RemovalReason
from inventory.services.rack.queries import RackFilter, StatusFilter
from inventory.services.rack.retagging import CodeTaken, PieceGone, former_by_code, replace_tag
from inventory.shop import Shop
from inventory.storage.records import BoardRecord, OffcutRecord

ASH = Offcut(inches("23 1/2"), inches("3 1/4"), inches("13/16"), "ash")


def test_a_lost_tag_is_replaced_by_a_fresh_code_and_the_old_one_still_finds_the_piece(shop: Shop) -> None:
    old = tagging.tag(shop, ASH)
    label_content.mark_printed(shop, [old.code])
    new = replace_tag(shop, old.code, old.version)
    assert new.code != old.code
    assert new.label_wanted
    assert new.version == old.version + 1
    assert queries.record(shop, old.code) == queries.record(shop, new.code) == new
    assert queries.find(shop, RackFilter(text=format_code(old.code))).records == (new,)
    assert retagging.former(shop, new) == (old.code,)
    message = queries.piece(shop, new.code).history[0]
    assert message.detail == (
        f"tag {format_code(old.code)} replaced by {format_code(new.code)}; the old one still finds it"
    )


def test_a_piece_may_take_the_code_of_a_blank_tag_typed_or_scanned(shop: Shop) -> None:
    (blank,) = label_content.blank_codes(shop, 1)
    old = tagging.tag(shop, ASH)
    new = replace_tag(shop, old.code, old.version, f"HTTP://ANY.EXAMPLE/T/{blank}")
    assert new.code == blank
    assert not new.label_wanted
    again = replace_tag(shop, old.code, new.version)
    assert retagging.former(shop, again) == (old.code, blank)
    assert {queries.record(shop, code).id for code in (old.code, blank, again.code)} == {old.id}


def test_a_code_that_a_piece_has_or_had_is_never_given_again(shop: Shop) -> None:
    old, other = tagging.tag(shop, ASH), tagging.tag(shop, ASH)
    new = replace_tag(shop, old.code, old.version)
    for taken in (other.code, old.code):
        sentence = (
            f"{format_code(taken)} is or was the code of a piece and is never given twice. "
            "Take another blank tag, or leave the code out for a fresh one."
        )
        with pytest.raises(CodeTaken) as fault:
            replace_tag(shop, new.code, new.version, taken)
        assert str(fault.value) == sentence
    with pytest.raises(tagging.CodeTaken):
        tagging.tag(shop, ASH, code=old.code)
    with pytest.raises(InvalidCode):
        replace_tag(shop, new.code, new.version, "0000012")
    assert queries.record(shop, old.code) == new


def test_two_people_replace_a_tag_and_the_second_is_reported(shop: Shop) -> None:
    old = tagging.tag(shop, ASH)
    replace_tag(shop, old.code, old.version)
    with pytest.raises(Conflict):
        replace_tag(shop, old.code, old.version)


def test_a_piece_that_is_gone_takes_no_tag(shop: Shop) -> None:
    old = tagging.tag(shop, ASH)
    gone = editing.remove(shop, old.code, old.version, RemovalReason.BURNT)
    with pytest.raises(PieceGone) as fault:
        replace_tag(shop, gone.code, gone.version)
    assert str(fault.value) == f"{format_code(old.code)} is let go and needs no tag. Take it back first."


def test_a_board_names_its_offcut_by_the_new_code_and_is_cut_and_undone_with_it(
    shop: Shop, oak: OffcutRecord, ash: OffcutRecord, aside: BoardRecord
) -> None:
    new = replace_tag(shop, oak.code, queries.record(shop, oak.code).version)
    kept = making.board(shop, aside.id)
    assert {cut.offcut.tag for cut in kept.fill.cuts} == {new.code, ash.code}
    assert kept.version == aside.version
    assert {pick.offcut.tag for pick in pick_lists.pick_list(kept)} == {new.code, ash.code}
    cut = making.cut(shop, aside.id, kept.version, [])
    undone = making.undo(shop, aside.id, cut.version)
    assert {each.code for each in undone.taken} == {new.code, ash.code}


def test_old_codes_go_out_with_the_rack_and_come_in_again(shop: Shop, tmp_path: Path) -> None:
    old = tagging.tag(shop, ASH)
    plain, _ = csv_transfer.export_file(shop)
    assert b"former_tags" not in plain
    new = replace_tag(shop, old.code, old.version)
    assert former_by_code(shop, [old, new]) == {new.code: (old.code,)}
    content, _ = csv_transfer.export_file(shop)
    with Shop.open(tmp_path / "other", now=shop.now) as other:
        carried = csv_transfer.import_file(other, content)
        assert carried.warnings == ()
        assert queries.record(other, old.code).code == new.code
        assert csv_transfer.export_file(other)[0] == content
    with pytest.raises(csv_transfer.BadRows) as fault:
        csv_transfer.import_file(shop, f"length,width,thickness,former_tags\n1,2,3,{old.code}\n".encode())
    assert [each.reason for each in fault.value.faults] == [
        f"former_tags: {old.code} belongs to a piece that is here. Leave it out."
    ]


@pytest.mark.parametrize(
    ("tag", "former"), [("0000011", "0000011"), ("0000011", "0000022 0000022"), ("", "0000022 " * 2)]
)
def test_a_row_that_names_a_code_twice_is_reported_and_nothing_is_carried_in(shop: Shop, tag: str, former: str) -> None:
    with pytest.raises(csv_transfer.BadRows) as fault:
        csv_transfer.import_file(shop, f"tag,length,width,thickness,former_tags\n{tag},1,2,3,{former}\n".encode())
    assert [(each.line, each.reason) for each in fault.value.faults] == [
        (2, f"former_tags: {former.split()[0]} stands twice in this row. Keep it once.")
    ]
    assert queries.all_pieces(shop, StatusFilter.ALL) == ()


def test_a_backup_keeps_old_codes_and_blank_ones_and_none_is_given_twice(shop: Shop, tmp_path: Path) -> None:
    old = tagging.tag(shop, ASH)
    new = replace_tag(shop, old.code, old.version)
    blanks = label_content.blank_codes(shop, 5)
    backups.backup(shop, tmp_path / "a.zip")
    later = label_content.blank_codes(shop, 5)
    shop.close()
    backups.restore(tmp_path / "a.zip", shop.folder, replace=True)
    with Shop.open(shop.folder) as back:
        assert queries.record(back, old.code).code == new.code
        assert {old.code, new.code, *blanks, *later} <= back.issued_codes()
        assert queries.all_pieces(back, StatusFilter.ALL) == (new,)
