"""A code once given is never given again, whatever becomes of the piece, the tag or the shop."""

from collections.abc import Callable
from pathlib import Path

from inventory.core.lengths import inches
from inventory.core.offcuts import Offcut
from inventory.services.labels import label_content
from inventory.services.rack import editing, queries, tagging
from inventory.shop import Shop

ASH = Offcut(inches("23 1/2"), inches("3 1/4"), inches("13/16"), "ash")


def dice(*codes: str) -> Callable[[int], int]:
    """Falls so that these six characters are drawn one after the other."""
    falls = iter("".join(codes))
    return lambda _: "0123456789ABCDEFGHJKMNPQRSTVWXYZ".index(next(falls))


def test_a_code_of_a_piece_that_is_gone_or_of_a_blank_is_not_given_again(tmp_path: Path) -> None:
    randbelow = dice("000001", "000002", "000001", "000002", "000003")
    with Shop.open(tmp_path, randbelow=randbelow) as shop:
        first = tagging.tag(shop, ASH)
        editing.remove(shop, first.code, 1, editing.RemovalReason.BURNT)
        [blank] = label_content.blank_codes(shop, 1)
        assert (first.code, blank, tagging.tag(shop, ASH).code) == ("0000011", "0000022", "0000033")


def test_codes_that_are_held_are_not_given(tmp_path: Path) -> None:
    with Shop.open(tmp_path, randbelow=dice("000001", "000002")) as shop:
        shop.reserve_codes(["0000011", "0000011"])
        assert tagging.tag(shop, ASH).code == "0000022"
        assert shop.issued_codes() == {"0000011", "0000022"}
        assert queries.shop_summary(shop).tags == 1


def test_a_held_code_may_still_be_tied_to_the_piece_that_carries_it(shop: Shop) -> None:
    shop.reserve_codes(["0000011"])
    assert tagging.tag(shop, ASH, code="0000011").code == "0000011"


def test_a_code_is_given_back_when_the_tagging_fails(tmp_path: Path) -> None:
    with Shop.open(tmp_path, randbelow=dice("000001", "000001")) as shop:
        try:
            tagging.tag_all(shop, [tagging.NewPiece(ASH), tagging.NewPiece(ASH, code="0000011")])
        except tagging.CodeTaken:
            assert tagging.tag(shop, ASH).code == "0000011"
