"""The pages of sheets, rolls and tags: the list, an own one, how each is printed; copies, cut marks, odd letters."""

from __future__ import annotations

from urllib.parse import urlencode

import pytest

from inventory.core.lengths import inches
from inventory.core.offcuts import Offcut
from inventory.services.labels import label_pdf, label_stocks
from inventory.services.rack import tagging
from inventory.services.rack.tagging import NewPiece
from inventory.shop import Shop
from labels import CAUTION, STOCKS, Tone
from tests.web.labels.test_print_queue import read_codes
from tests.web.visitor import HttpClient, visible_text

TAG = {
    "name": "Tags from the drawer",
    "paper": "roll",
    "cell_width": "4 3/4",
    "cell_height": "2 3/8",
    "hole_across": "1/2",
    "hole_down": "1 3/16",
    "hole_diameter": "3/8",
}
NEW = "/labels/stocks/new"


def drawn(visitor: HttpClient, fields: dict[str, str], page: str = NEW) -> tuple[str, bool]:
    """What the page says of a stock that is being typed, and whether it is drawn."""
    answer = visitor.get(f"{page}?{urlencode(fields)}")
    assert answer.status_code == 200
    said = visible_text(answer).split("How it looks", 1)[1]
    return said.split("Wood, heat and food")[0].strip(), "stock-preview" in answer.text


def test_every_stock_is_listed_and_the_caution_stands_on_each_page(visitor: HttpClient) -> None:
    listed = visible_text(visitor.get("/labels/stocks"))
    assert all(stock.name in listed for stock in STOCKS)
    for page in ("/labels/stocks", NEW, "/labels/stocks/a4-3x8/printing"):
        shown = visitor.get(page)
        assert CAUTION in visible_text(shown)
        assert '<a href="/labels" aria-current="page">' in shown.text


def test_a_stock_is_drawn_while_it_is_typed_and_says_what_to_fix(visitor: HttpClient) -> None:
    assert drawn(visitor, {}) == ("Type the width and height of a label.", False)
    assert drawn(visitor, {**TAG, "name": ""})[0].startswith("Labels fit. It has no name yet.")
    said, shown = drawn(visitor, {**TAG, "name": "", "hole_across": "5"})
    assert shown and said.startswith("Nothing can be printed on it so This stock: ")
    said, shown = drawn(visitor, TAG)
    assert shown and said.startswith("Labels fit.") and "Keep this stock" in said
    sheet = {"name": "Own", "paper": "letter", "columns": "2", "rows": "9", "cell_width": "4", "cell_height": "1 1/4"}
    said, shown = drawn(visitor, sheet)
    assert shown and "Keep this stock" not in said
    assert said.startswith(
        "Nothing can be printed on it so Own: the labels are 6.35 mm (0.25 in) higher than the page. Measure the "
        "height of the page, the margin and the step from label to label once more, or give fewer labels."
    )
    said, shown = drawn(visitor, {**TAG, "cell_width": "wide"})
    assert (shown, said.split(":")[0]) == (False, "Width of a label")


def test_one_can_begin_from_any_stock(visitor: HttpClient) -> None:
    for stock in STOCKS:
        said, shown = drawn(visitor, {"like": stock.key})
        assert shown and said.startswith("Labels fit. It has no name yet."), stock.key


def test_a_stock_of_ones_own_is_kept_printed_on_changed_and_taken_away(visitor: HttpClient, shop: Shop) -> None:
    page = f"{NEW}?{urlencode(TAG)}"
    answer = visitor.post(NEW, TAG, page=page)
    assert (answer.status_code, answer.location) == (303, "/labels/stocks/own-tags-from-the-drawer/printing")
    key = "own-tags-from-the-drawer"
    tagging.tag_all(shop, [NewPiece(Offcut(inches("20"), inches("3"), inches("1"), "ash"), "0000011")])
    assert "Tags from the drawer" in visitor.get("/labels/sheet").text
    assert "Tags from the drawer" in visitor.get("/settings").text
    assert read_codes(visitor.get(f"/labels/labels.pdf?stock={key}").data) == [(1, ["0000011"])]

    shown = f"/labels/stocks/{key}"
    changed = {**TAG, "name": "Tags", "cell_width": "5", "version": "1"}
    assert visitor.post(shown, changed, page=f"{shown}?{urlencode(changed)}").status_code == 303
    assert label_stocks.own_stock(shop, key).name == "Tags"
    again = visitor.post(shown, changed, page=f"{shown}?{urlencode(changed)}")
    assert again.status_code == 409
    assert "Somebody changed “Tags”".replace("“", '"').replace("”", '"') in visible_text(again)
    assert 'name="cell_width" value="5"' in again.text and 'name="version" value="2"' in again.text

    assert visitor.post(f"{shown}/remove", {}, page=shown).status_code == 303
    assert visitor.get(shown).status_code == 422
    assert label_stocks.own_stocks(shop) == ()


def test_a_rejected_stock_comes_back_as_typed(visitor: HttpClient, shop: Shop) -> None:
    answer = visitor.post(NEW, {**TAG, "cell_height": "1/2"}, page=f"{NEW}?{urlencode(TAG)}")
    assert answer.status_code == 422
    assert 'value="1/2"' in answer.text and "the hole is not wholly on the label" in visible_text(answer)
    nameless = visitor.post(NEW, {**TAG, "name": ""}, page=f"{NEW}?{urlencode(TAG)}")
    assert (nameless.status_code, label_stocks.own_stocks(shop)) == (422, ())
    assert "The stock has no name." in visible_text(nameless)


def test_how_a_stock_is_printed_is_set_on_its_page(visitor: HttpClient, shop: Shop) -> None:
    page = "/labels/stocks/letter-3x10/printing"
    fields = {"tone": "black and white", "dpi": "300", "across": "151", "down": "150", "left": "30", "top": "96"}
    assert visitor.post(page, fields, page=page).status_code == 303
    stock = label_stocks.find_stock(shop, "letter-3x10")
    assert (stock.tone, stock.dpi, float(stock.correction.across)) == (Tone.BLACK, 300, 150 / 151)
    shown = visitor.get(page)
    assert 'value="151"' in shown.text and "corrected" in shown.text
    plain, corrected = (
        visitor.get(f"/labels/test-sheet.pdf?stock=letter-3x10{more}").data for more in ("", "&corrected=yes")
    )
    assert plain != corrected and plain == label_pdf.test_sheet(shop, "letter-3x10")

    refused = visitor.post(page, {**fields, "across": "97"}, page=page)
    assert refused.status_code == 422
    assert "The line across is 150 mm on the test sheet and 97 mm by your rule" in visible_text(refused)
    assert 'value="97"' in refused.text
    refused = visitor.post(page, {**fields, "dpi": "many"}, page=page)
    assert '"many" is no number of dots per inch. Type one such as 203 or 300.' in visible_text(refused)


@pytest.mark.parametrize("page", ["/labels/stocks/papyrus", "/labels/stocks/papyrus/printing", f"{NEW}?like=papyrus"])
def test_a_stock_that_is_not_there_is_reported(visitor: HttpClient, page: str) -> None:
    answer = visitor.get(page)
    assert answer.status_code == 422
    assert '"papyrus" is no' in visible_text(answer).replace("none of", "no ")


def test_copies_and_cut_marks_are_printed_as_asked(visitor: HttpClient, shop: Shop) -> None:
    tagging.tag_all(shop, [NewPiece(Offcut(inches("20"), inches("3"), inches("1"), "ash"), "0000011")])
    one, three = (visitor.get(f"/labels/labels.pdf?stock=roll-100x50&copies={many}").data for many in (1, 3))
    assert (len(read_codes(one)), len(read_codes(three))) == (1, 3)
    marked = visitor.get("/labels/labels.pdf?stock=letter-2x5&cut_marks=yes").data
    assert len(marked) > len(visitor.get("/labels/labels.pdf?stock=letter-2x5").data)
    refused = visitor.get("/labels/labels.pdf?copies=lots")
    assert refused.status_code == 422
    assert "0 copies of a label can't be printed. Type a number from 1 to 20." in visible_text(refused)


def test_letters_that_no_font_can_print_are_reported_beside_the_pdf(visitor: HttpClient, shop: Shop) -> None:
    odd = Offcut(inches("20"), inches("3"), inches("1"), "oak \ue123", location="shelf \ue124")
    tagging.tag_all(shop, [NewPiece(odd, "0000011")])
    assert (
        "No font on this computer has \ue123, \ue124: on the label stands ▯ instead. Install a TrueType font that has "
        "it, or write the name in other letters."
    ) in visible_text(visitor.get("/labels/sheet"))
