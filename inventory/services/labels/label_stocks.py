"""Label stocks: the sheets, rolls and tags that labels are printed on, with the shop's own, and how each is printed."""

from __future__ import annotations

from dataclasses import replace
from fractions import Fraction

from sqlalchemy import Connection

import labels
from inventory.core.errors import Conflict, UserError
from inventory.core.lengths import NM_PER_MM, Length
from inventory.shop import Shop
from inventory.storage.label_stock_records import OwnStock, PhotoTone, RulerMeasures, StockKind, StockPrinting, TagHole
from inventory.storage.repositories import label_stocks

MAX_OWN_STOCKS = 200
MIN_DPI, MAX_DPI = 150, 1200


class StockRefused(UserError):
    """A stock that is invalid or unknown; `what` names the field, empty for the whole."""

    def __init__(self, message: str, what: str = "") -> None:
        super().__init__(message)
        self.what = what


def all_stocks(shop: Shop) -> tuple[labels.Stock, ...]:
    """All stocks as they are printed: the shop's own first, then those that come with the program."""
    with shop.reading() as connection:
        own = label_stocks.own_stocks(connection)
        printing = label_stocks.stock_printings(connection)
    whole = (*(laid_out(stock) for stock in own), *labels.STOCKS)
    return tuple(_as_printed(stock, printing.get(stock.key)) for stock in whole)


def own_stocks(shop: Shop) -> tuple[OwnStock, ...]:
    """The shop's own stocks by their names."""
    with shop.reading() as connection:
        return label_stocks.own_stocks(connection)


def own_stock(shop: Shop, key: str) -> OwnStock:
    """The shop's own stock with this key. Raises StockRefused."""
    for stock in own_stocks(shop):
        if stock.key == key:
            return stock
    raise StockRefused(f'"{key[:40]}" is none of the shop\'s own stocks. Choose one from the list of stocks.')


def find_stock(shop: Shop, key: str) -> labels.Stock:
    """The stock with this key, as it is printed. Raises StockRefused."""
    known = all_stocks(shop)
    for stock in known:
        if stock.key == key:
            return stock
    named = ", ".join(stock.key for stock in known)
    raise StockRefused(f'"{key[:40]}" is no label stock that is known here. Choose one of: {named}.')


def default_stock(shop: Shop) -> labels.Stock:
    """The stock of the shop's settings; where that is unknown, the first one of the program."""
    try:
        return find_stock(shop, shop.settings().label_stock or labels.DEFAULT_STOCK)
    except StockRefused:
        return find_stock(shop, labels.DEFAULT_STOCK)


def save_stock(shop: Shop, stock: OwnStock) -> OwnStock:
    """Saves a stock of the shop's own; one without a key is new and gets one from its name.

    Measurements of its test sheet are dropped where the lines of that sheet move.
    Raises StockRefused where it is invalid, Conflict where somebody else changed it.
    """
    stock_errors = faults_of(stock)
    if stock_errors:
        raise StockRefused(stock_errors[0])
    with shop.writing() as connection:
        kept = label_stocks.own_stocks(connection)
        if any(other.name == stock.name and other.key != stock.key for other in kept):
            raise StockRefused(f'There is a stock named "{stock.name}" already. Give this one another name.', "name")
        if stock.key:
            if not label_stocks.change_stock(connection, stock):
                raise Conflict(
                    f'Somebody changed "{stock.name}" or took it away meanwhile, so nothing was kept. '
                    "Look at it as it is now, or keep yours once more."
                )
            _forget_other_lines(connection, next(other for other in kept if other.key == stock.key), stock)
            return replace(stock, version=stock.version + 1)
        if len(kept) >= MAX_OWN_STOCKS:
            raise StockRefused(f"The shop keeps {MAX_OWN_STOCKS} stocks of its own. Take one away first.")
        new = replace(stock, key=_free_key(stock.name, {other.key for other in kept}), version=1)
        label_stocks.add_stock(connection, new)
        return new


def _forget_other_lines(connection: Connection, before: OwnStock, after: OwnStock) -> None:
    """Drops the measurements of a test sheet whose lines have moved."""
    printing = label_stocks.stock_printings(connection).get(after.key)
    old, new = (labels.calibration_lines(laid_out(stock)).measures for stock in (before, after))
    if printing is not None and old != new:
        label_stocks.upsert_printing(connection, after.key, replace(printing, ruler_measures=None))


def remove_stock(shop: Shop, key: str) -> OwnStock:
    """Removes a stock of the shop's own. Raises StockRefused."""
    stock = own_stock(shop, key)
    with shop.writing() as connection:
        label_stocks.remove_stock(connection, key)
    return stock


def faults_of(stock: OwnStock) -> tuple[str, ...]:
    """Everything that is wrong with a stock, each in one sentence."""
    return labels.stock_errors(laid_out(stock))


def laid_out(stock: OwnStock) -> labels.Stock:
    """A stock of the shop's own as `labels` lays it out."""
    (page, cell), hole = ((_size(stock.page), _size(stock.cell)), stock.hole)
    return labels.Stock(
        key=stock.key,
        name=stock.name,
        paper=_paper(stock),
        page=page,
        columns=stock.columns,
        rows=stock.rows,
        cell=cell,
        left=_mm(stock.margins[0]),
        top=_mm(stock.margins[1]),
        column_gap=_mm(stock.pitch[0]) - cell.width,
        row_gap=_mm(stock.pitch[1]) - cell.height,
        rounding=_mm(stock.corner),
        hole=None if hole is None else labels.Hole(_mm(hole.across), _mm(hole.down), _mm(hole.diameter)),
        tone=labels.Tone.BLACK if stock.kind is StockKind.ROLL else labels.Tone.GREY,
        dpi=labels.ROLL_DPI if stock.kind is StockKind.ROLL else labels.SHEET_DPI,
    )


def copy_as_own(stock: labels.Stock) -> OwnStock:
    """A stock of the program as one of the shop's own, to start a new one from.

    Sizes that are not whole nanometers, such as 1 1/3 in, are rounded.
    """
    hole = stock.hole
    return OwnStock(
        key="",
        name=stock.name,
        kind=StockKind.ROLL if stock.is_roll else StockKind.SHEET,
        page=(_nm(stock.page.width), _nm(stock.page.height)),
        columns=stock.columns,
        rows=stock.rows,
        cell=(_nm(stock.cell.width), _nm(stock.cell.height)),
        margins=(_nm(stock.left), _nm(stock.top)),
        pitch=(_nm(stock.cell.width + stock.column_gap), _nm(stock.cell.height + stock.row_gap)),
        corner=_nm(stock.rounding),
        hole=None if hole is None else TagHole(_nm(hole.across), _nm(hole.down), _nm(hole.diameter)),
    )


def printing_of(shop: Shop, stock: labels.Stock) -> StockPrinting:
    """How a stock is printed: as the shop has set it, else the default."""
    with shop.reading() as connection:
        kept = label_stocks.stock_printings(connection).get(stock.key)
    return kept or StockPrinting(PhotoTone(stock.tone.value), stock.dpi)


def keep_printing(shop: Shop, stock: labels.Stock, printing: StockPrinting) -> None:
    """Saves how a stock is printed. Raises StockRefused where the measurements can't be right."""
    if not MIN_DPI <= printing.dpi <= MAX_DPI:
        raise StockRefused(
            f"{printing.dpi} dots per inch are none of a label printer. Type a number from {MIN_DPI} to {MAX_DPI}, "
            "such as 203 or 300.",
            "dpi",
        )
    try:
        _as_printed(stock, printing)
    except labels.LabelError as fault:
        raise StockRefused(str(fault), "across") from None
    with shop.writing() as connection:
        label_stocks.upsert_printing(connection, stock.key, printing)


def _as_printed(stock: labels.Stock, printing: StockPrinting | None) -> labels.Stock:
    if printing is None:
        return stock
    correction = stock.correction
    if printing.ruler_measures is not None:
        correction = labels.correction_for(labels.calibration_lines(stock).measures, _measured(printing.ruler_measures))
    return replace(stock, tone=labels.Tone(printing.tone.value), dpi=printing.dpi, correction=correction)


def _measured(ruler_measures: RulerMeasures) -> labels.LineMeasures:
    return labels.LineMeasures(
        *(_mm(size) for size in (ruler_measures.across, ruler_measures.down, ruler_measures.left, ruler_measures.top))
    )


def _free_key(name: str, taken: set[str]) -> str:
    """A key from a name, for the command line: own-, then its letters and digits with hyphens between."""
    letters = "".join(letter if letter.isalnum() else " " for letter in name.casefold())
    wanted = "-".join(["own", *letters.split()])
    number, key = 1, wanted
    while key in taken:
        number += 1
        key = f"{wanted}-{number}"
    return key


def _paper(stock: OwnStock) -> labels.Paper:
    if stock.kind is StockKind.ROLL:
        return labels.Paper.ROLL if stock.hole is None else labels.Paper.TAG
    known = {size: paper for paper, size in labels.PAPER_SIZES.items()}
    return known.get(_size(stock.page), labels.Paper.SHEET)


def _size(sides: tuple[Length, Length]) -> labels.Size:
    return labels.Size(_mm(sides[0]), _mm(sides[1]))


def _nm(millimeters: Fraction) -> Length:
    return Length(int(millimeters * NM_PER_MM))


def _mm(length: Length) -> Fraction:
    return Fraction(length, NM_PER_MM)
