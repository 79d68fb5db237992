"""Blank tags: codes given first, printed on a sheet or roll, each for one piece later."""

import re
from urllib.parse import parse_qs, urlsplit

import pypdfium2
import pytest

from inventory.core.codes import code_in_picture
from inventory.core.lengths import inches
from inventory.core.offcuts import Offcut
from inventory.services.rack import tagging
from inventory.shop import Shop
from labels.reading import read_photo
from tests.web.browser import (
    DESK,
    SMALL_PHONE,
    accessibility_violations,
    browser_page,
    overflowing_elements,
    small_targets,
)
from tests.web.visitor import HttpClient, visible_text

ASH = Offcut(inches("23 1/2"), inches("3 1/4"), inches("13/16"), "ash")


def given(visitor: HttpClient, how_many: int) -> tuple[str, list[str]]:
    answer = visitor.post("/labels/blank-tags", {"how_many": str(how_many)}, page="/labels/blank-tags")
    assert answer.status_code == 303
    address = answer.headers["Location"]
    return address, parse_qs(urlsplit(address).query)["tag"]


def test_fresh_codes_are_given_laid_out_and_printed_as_they_are_read(shop: Shop, visitor: HttpClient) -> None:
    address, codes = given(visitor, 3)
    assert len(set(codes)) == 3
    assert set(codes) <= shop.issued_codes()
    assert "Print 3 blank tags" in visible_text(visitor.get(address))
    pdf = visitor.get(address.replace("/sheet?", "/tags.pdf?") + "&stock=letter-3x10&start=2").data
    document = pypdfium2.PdfDocument(pdf)
    page = document[0].render(scale=200 / 72, grayscale=True).to_pil()
    document.close()
    assert read_photo(page.convert("L"), code_in_picture).codes == tuple(codes)


def test_a_code_that_has_its_piece_by_now_is_printed_on_no_blank_tag(shop: Shop, visitor: HttpClient) -> None:
    address, codes = given(visitor, 2)
    tagging.tag(shop, ASH, code=codes[0])
    assert "Print 1 blank tag" in visible_text(visitor.get(address))
    tagging.tag(shop, ASH, code=codes[1])
    assert "Each of these codes has its piece by now." in visible_text(visitor.get(address))
    refused = visitor.get(address.replace("/sheet?", "/tags.pdf?"))
    assert refused.status_code == 422
    assert "None of these codes is blank any more: each has its piece. Ask for new ones." in visible_text(refused)


@pytest.mark.parametrize(
    ("typed", "sentence"),
    [
        ("", '"" is no number of tags. Type a number from 1 to 1000.'),
        ("a dozen", '"a dozen" is no number of tags. Type a number from 1 to 1000.'),
        ("0", "0 blank tags can't be made at once. Type a number from 1 to 1000."),
        ("1001", "1001 blank tags can't be made at once. Type a number from 1 to 1000."),
    ],
)
def test_a_wrong_number_is_reported_and_stays_as_typed(
    shop: Shop, visitor: HttpClient, typed: str, sentence: str
) -> None:
    answer = visitor.post("/labels/blank-tags", {"how_many": typed}, page="/labels/blank-tags")
    assert answer.status_code == 422
    assert sentence in visible_text(answer)
    assert re.search(rf'name="how_many"[^>]*value="{typed}"|value="{typed}"[^>]*name="how_many"', answer.text)
    assert shop.issued_codes() == frozenset()


def test_an_unknown_stock_is_reported(visitor: HttpClient) -> None:
    address, _ = given(visitor, 1)
    assert visitor.get(f"{address}&stock=none").status_code == 422


@pytest.mark.browser
@pytest.mark.parametrize("screen", [pytest.param(SMALL_PHONE, id="phone"), pytest.param(DESK, id="desk")])
def test_the_pages_of_blank_tags_are_in_order(chromium, live_url: str, visitor: HttpClient, screen) -> None:  # type: ignore[no-untyped-def]
    address, _ = given(visitor, 30)
    with browser_page(chromium, screen, bypass_csp=True) as page:
        for path in ("/labels/blank-tags", address):
            page.goto(live_url + path)
            assert accessibility_violations(page) == []
            assert overflowing_elements(page) == []
            assert small_targets(page) == []
