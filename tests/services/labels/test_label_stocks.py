"""Stocks of the shop's own: typed, kept, changed, printed on, and taken along in a backup."""

from __future__ import annotations

from dataclasses import replace
from fractions import Fraction
from pathlib import Path

import pytest

import labels
from inventory.core.errors import Conflict
from inventory.core.lengths import InvalidLength, Unit, millimeters, read_length
from inventory.services import backups
from inventory.services.labels import label_pdf, label_stocks
from inventory.services.labels.label_pdf import LabelsRefused
from inventory.services.labels.label_stocks import StockRefused
from inventory.shop import Shop
from inventory.storage.label_stock_records import OwnStock, PhotoTone, RulerMeasures, StockPrinting
from inventory.web.labels.label_stock_form import printing_as_typed, read_printing, read_stock, stock_as_typed

TAG = {
    "name": "  Tie-on tags,  drawer ",
    "paper": "roll",
    "cell_width": "4 3/4",
    "cell_height": "2 3/8",
    "corner": "3 mm",
    "hole_across": "1/2",
    "hole_down": "1 3/16",
    "hole_diameter": "3/8",
}
SHEET = {"name": "Small sheet", "paper": "other", "page_width": "100", "page_height": "148 mm"}


def message(text: str) -> str:
    """What is said of a text that is no length."""
    with pytest.raises(InvalidLength) as refused:
        read_length(text, Unit.MILLIMETER)
    return str(refused.value)


MISSING = message("")
SHEET |= {"columns": "1", "rows": "3", "cell_width": "90", "cell_height": "40", "down": "45"}


def typed(fields: dict[str, str], unit: Unit = Unit.MILLIMETER) -> OwnStock:
    stock, errors = read_stock(fields, unit)
    assert errors == {}
    return stock


def test_a_stock_is_kept_as_typed_and_gets_a_key_from_its_name(shop: Shop) -> None:
    kept = label_stocks.save_stock(shop, typed(TAG, Unit.INCH))
    assert (kept.key, kept.name, kept.version) == ("own-tie-on-tags-drawer", "Tie-on tags, drawer", 1)
    assert label_stocks.own_stocks(shop) == (kept,)
    stock = label_stocks.find_stock(shop, kept.key)
    assert (stock.paper, stock.cells, stock.is_roll) == (labels.Paper.TAG, 1, True)
    assert (stock.page.width, stock.rounding) == (Fraction("120.65"), 3)
    assert stock.hole == labels.Hole(Fraction("12.7"), Fraction("30.1625"), Fraction("9.525"))
    assert (stock.tone, stock.dpi) == (labels.Tone.BLACK, 203)
    assert typed(stock_as_typed(kept, Unit.INCH), Unit.INCH) == replace(kept, key="")
    assert typed(stock_as_typed(kept, Unit.MILLIMETER)) == replace(kept, key="")


def test_empty_margins_lay_the_labels_in_the_middle_and_empty_steps_let_them_touch() -> None:
    stock = typed(SHEET)
    assert stock.margins == (millimeters("5"), millimeters("9"))
    assert stock.pitch == (millimeters("90"), millimeters("45"))
    assert label_stocks.faults_of(stock) == ()
    assert label_stocks.laid_out(stock).paper is labels.Paper.SHEET
    letter = typed({**SHEET, "paper": "letter", "columns": "2"})
    assert label_stocks.laid_out(letter).paper is labels.Paper.LETTER
    assert letter.margins[0] == millimeters("17.95")


def test_any_stock_of_the_program_can_be_begun_from(shop: Shop) -> None:
    for stock in label_stocks.all_stocks(shop):
        like = replace(label_stocks.copy_as_own(stock), name=f"Mine {stock.key}")
        assert label_stocks.faults_of(like) == ()
        assert typed(stock_as_typed(like, Unit.INCH), Unit.INCH) == like


@pytest.mark.parametrize(
    ("changed", "field", "sentence"),
    [
        ({"name": " "}, "name", "The stock has no name. Type one, such as: tie-on tags from the drawer."),
        ({"name": "a" * 41}, "name", "The name is longer than 40 letters. Shorten it."),
        ({"columns": "0"}, "columns", '"0" is no number of labels. Type one from 1 to 12.'),
        ({"rows": "41"}, "rows", '"41" is no number of labels. Type one from 1 to 40.'),
        (
            {"paper": "bark"},
            "paper",
            '"bark" is no paper. Choose one of: US Letter, A4, Another sheet, Roll or single tags.',
        ),
        ({"cell_width": ""}, "cell_width", MISSING),
        ({"hole_across": "5"}, "hole_down", MISSING),
        ({"corner": "x"}, "corner", message("x")),
    ],
)
def test_a_field_that_cannot_be_read_has_a_sentence(changed: dict[str, str], field: str, sentence: str) -> None:
    _, errors = read_stock({**SHEET, **changed}, Unit.MILLIMETER)
    assert errors[field] == sentence


def test_a_stock_whose_labels_overlap_or_lie_off_the_sheet_is_not_kept(shop: Shop) -> None:
    with pytest.raises(StockRefused) as refused:
        label_stocks.save_stock(shop, typed({**SHEET, "down": "38"}))
    assert str(refused.value) == (
        "Small sheet: labels one under the other overlap by 2 mm (0.0787 in). From one label to the next it is 38 mm "
        "(1.4961 in), and they are 40 mm (1.5748 in) high: make that step at least as large."
    )
    with pytest.raises(StockRefused) as refused:
        label_stocks.save_stock(shop, typed({**SHEET, "left": "12"}))
    assert str(refused.value) == (
        "Small sheet: the labels are 2 mm (0.0787 in) wider than the page. Measure the width of the page, the margin "
        "and the step from label to label once more, or give fewer labels."
    )
    with pytest.raises(StockRefused) as refused:
        label_stocks.save_stock(shop, typed({**SHEET, "cell_width": "36", "cell_height": "20"}))
    assert str(refused.value) == (
        "Small sheet: the code must be 15 mm wide to scan, with a blank margin around it and the words beside it, and "
        "these labels are too small for that. Choose larger labels or set a shorter base address."
    )
    assert label_stocks.own_stocks(shop) == ()


def test_names_are_given_once_and_keys_never_twice(shop: Shop) -> None:
    first = label_stocks.save_stock(shop, typed(SHEET))
    with pytest.raises(StockRefused) as refused:
        label_stocks.save_stock(shop, typed(SHEET))
    assert (str(refused.value), refused.value.what) == (
        'There is a stock named "Small sheet" already. Give this one another name.',
        "name",
    )
    second = label_stocks.save_stock(shop, typed({**SHEET, "name": "small, sheet!"}))
    assert (first.key, second.key) == ("own-small-sheet", "own-small-sheet-2")
    assert label_stocks.save_stock(shop, typed({**SHEET, "name": "樫の札"})).key == "own-樫の札"


def test_of_two_people_who_change_a_stock_the_second_is_reported(shop: Shop) -> None:
    kept = label_stocks.save_stock(shop, typed(SHEET))
    changed = label_stocks.save_stock(shop, replace(kept, rows=2))
    assert (label_stocks.own_stock(shop, kept.key).rows, changed.version) == (2, 2)
    with pytest.raises(Conflict) as refused:
        label_stocks.save_stock(shop, replace(kept, rows=1))
    assert str(refused.value) == (
        'Somebody changed "Small sheet" or took it away meanwhile, so nothing was kept. '
        "Look at it as it is now, or keep yours once more."
    )
    label_stocks.remove_stock(shop, kept.key)
    with pytest.raises(StockRefused) as gone:
        label_stocks.own_stock(shop, kept.key)
    assert str(gone.value) == (
        '"own-small-sheet" is none of the shop\'s own stocks. Choose one from the list of stocks.'
    )


def test_how_a_stock_is_printed_is_kept_and_corrects_its_pages(shop: Shop) -> None:
    before = label_stocks.find_stock(shop, "letter-3x10")
    assert label_stocks.printing_of(shop, before) == StockPrinting(PhotoTone.GREY, 300)
    ruler_measures = RulerMeasures(*(millimeters(size) for size in ("151", "150", "30.5", "95")))
    label_stocks.keep_printing(shop, before, StockPrinting(PhotoTone.BLACK, 600, ruler_measures))
    after = label_stocks.find_stock(shop, "letter-3x10")
    assert (after.tone, after.dpi) == (labels.Tone.BLACK, 600)
    assert after.correction == labels.correction_for(
        labels.calibration_lines(before).measures,
        labels.LineMeasures(Fraction(151), Fraction(150), Fraction("30.5"), Fraction(95)),
    )
    kept = label_stocks.printing_of(shop, after)
    assert read_printing(printing_as_typed(kept, Unit.INCH), Unit.INCH) == (kept, {})
    sheet = label_pdf.blanks_pdf(shop, ["0000011"], "letter-3x10")
    label_stocks.keep_printing(shop, after, StockPrinting(PhotoTone.GREY, 300))
    assert label_stocks.find_stock(shop, "letter-3x10") == before
    assert label_pdf.blanks_pdf(shop, ["0000011"], "letter-3x10") != sheet


def test_a_stock_whose_test_sheet_has_other_lines_by_now_is_printed_uncorrected(shop: Shop) -> None:
    stock = label_stocks.save_stock(shop, typed(SHEET))
    lines = labels.calibration_lines(label_stocks.find_stock(shop, stock.key)).measures
    ruler_measures = RulerMeasures(
        *(millimeters(str(size)) for size in (lines.across, lines.down, lines.left, lines.top))
    )
    label_stocks.keep_printing(
        shop, label_stocks.find_stock(shop, stock.key), StockPrinting(PhotoTone.BLACK, 300, ruler_measures)
    )
    named = label_stocks.save_stock(shop, replace(stock, name="Small sheet, left drawer"))
    assert label_stocks.printing_of(shop, label_stocks.find_stock(shop, stock.key)).ruler_measures == ruler_measures
    label_stocks.save_stock(shop, replace(named, page=(millimeters("148"), millimeters("210"))))
    changed = label_stocks.find_stock(shop, stock.key)
    assert (changed.correction, changed.tone) == (labels.Correction(), labels.Tone.BLACK)
    assert label_stocks.printing_of(shop, changed).ruler_measures is None


def test_a_printer_that_cannot_be_is_reported(shop: Shop) -> None:
    stock = label_stocks.find_stock(shop, "letter-3x10")
    with pytest.raises(StockRefused) as refused:
        label_stocks.keep_printing(shop, stock, StockPrinting(PhotoTone.GREY, 72))
    assert (str(refused.value), refused.value.what) == (
        "72 dots per inch are none of a label printer. Type a number from 150 to 1200, such as 203 or 300.",
        "dpi",
    )
    far = RulerMeasures(*(millimeters(size) for size in ("97", "150", "30", "96")))
    with pytest.raises(StockRefused) as refused:
        label_stocks.keep_printing(shop, stock, StockPrinting(PhotoTone.GREY, 300, far))
    assert refused.value.what == "across"
    _, errors = read_printing({"tone": "sepia", "dpi": "fine", "across": "150"}, Unit.MILLIMETER)
    assert errors == {
        "tone": "Choose how photos are printed: grey or black and white.",
        "dpi": '"fine" is no number of dots per inch. Type one such as 203 or 300.',
        **dict.fromkeys(("down", "left", "top"), MISSING),
    }


def test_own_stocks_come_first_and_one_that_is_gone_gives_way_to_the_usual_one(shop: Shop) -> None:
    kept = label_stocks.save_stock(shop, typed(SHEET))
    assert [stock.key for stock in label_stocks.all_stocks(shop)] == [
        kept.key,
        *(stock.key for stock in labels.STOCKS),
    ]
    shop.save_settings(replace(shop.settings(), label_stock=kept.key))
    assert label_pdf.stock(shop, "").key == kept.key
    label_stocks.remove_stock(shop, kept.key)
    assert label_pdf.stock(shop, "").key == labels.DEFAULT_STOCK
    with pytest.raises(LabelsRefused) as refused:
        label_pdf.stock(shop, kept.key)
    known = ", ".join(stock.key for stock in labels.STOCKS)
    assert str(refused.value) == f'"{kept.key}" is no label stock that is known here. Choose one of: {known}.'


def test_a_backup_takes_own_stocks_and_their_printing_along(shop: Shop, tmp_path: Path) -> None:
    kept = label_stocks.save_stock(shop, typed(TAG, Unit.INCH))
    label_stocks.keep_printing(shop, label_stocks.find_stock(shop, kept.key), StockPrinting(PhotoTone.BLACK, 300))
    backups.backup(shop, tmp_path / "backup.zip")
    backups.restore(tmp_path / "backup.zip", tmp_path / "again")
    with Shop.open(tmp_path / "again") as again:
        assert label_stocks.own_stocks(again) == (kept,)
        assert label_stocks.find_stock(again, kept.key).dpi == 300
