"""Sheets and rolls of labels as PDF, for pieces, blank tags and the test sheet.

Changes nothing in the shop: a piece leaves the print queue when its label is marked as printed.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence

import labels
from inventory.core.errors import UserError
from inventory.core.lengths import NM_PER_MM
from inventory.services.labels import label_content, label_stocks
from inventory.settings import Settings
from inventory.shop import Shop
from inventory.storage.photos import NoSuchPhoto, PhotoSize
from inventory.storage.records import OffcutRecord

MAX_NAMED = 8
"""So many letters that can't be printed are named one by one."""


SAMPLE_CODE = "7K3M0QV"
"""Every code is as long as this one, and so is what its symbol holds."""


class LabelsRefused(UserError):
    """Labels that can't be printed with this stock, start cell or address."""


def stock(shop: Shop, key: str) -> labels.Stock:
    """The stock of this key as it is printed, the shop's usual one for an empty key. Raises LabelsRefused."""
    if not key:
        return label_stocks.default_stock(shop)
    try:
        return label_stocks.find_stock(shop, key)
    except label_stocks.StockRefused as fault:
        raise LabelsRefused(str(fault)) from None


def pieces_pdf(
    shop: Shop,
    records: Sequence[OffcutRecord],
    stock_key: str = "",
    *,
    start_cell: int = 1,
    copies: int = 1,
    ruler: bool = False,
    cut_marks: bool = False,
) -> bytes:
    """One label for each piece (or bundle), in this order, beginning at a cell of the sheet.

    Raises LabelsRefused.
    """
    settings = shop.settings()
    chosen = stock(shop, stock_key)
    with_photo = labels.has_picture_room(chosen)
    # One label at a time: three thousand photos at once would fill the memory of a small computer.
    texts = (_piece_text(shop, record, settings, with_photo) for record in records)
    return _sheet(texts, chosen, start_cell, copies, ruler, cut_marks)


def blanks_pdf(
    shop: Shop,
    codes: Sequence[str],
    stock_key: str = "",
    *,
    start_cell: int = 1,
    copies: int = 1,
    ruler: bool = False,
    cut_marks: bool = False,
) -> bytes:
    """One blank tag for each of these codes. Raises LabelsRefused."""
    settings = shop.settings()
    contents = (label_content.blank_content(code, settings) for code in codes)
    texts = (labels.LabelText(each.code_text, each.qr, bare_code=each.code) for each in contents)
    return _sheet(texts, stock(shop, stock_key), start_cell, copies, ruler, cut_marks)


def test_sheet(shop: Shop, stock_key: str = "", *, corrected: bool = False) -> bytes:
    """The cells of a stock with numbers and scales, to measure with a ruler; `corrected` as labels are printed.

    Raises LabelsRefused.
    """
    return labels.test_sheet_pdf(stock(shop, stock_key), corrected=corrected)


def unprintable(shop: Shop, records: Sequence[OffcutRecord]) -> str:
    """A sentence on letters of these labels that no font on this computer has; empty where there are none."""
    settings = shop.settings()
    contents = (label_content.label_content(record, settings) for record in records)
    missing_characters = labels.missing_characters(
        "".join(f"{each.species}{each.condition}{each.location}" for each in contents)
    )
    if not missing_characters:
        return ""
    named = ", ".join(missing_characters[:MAX_NAMED]) + (" and others" if len(missing_characters) > MAX_NAMED else "")
    return (
        f"No font on this computer has {named}: on the label stands {labels.MISSING_GLYPH} instead. Install a "
        "TrueType font that has it, or write the name in other letters."
    )


def _sheet(
    texts: Iterable[labels.LabelText],
    chosen: labels.Stock,
    start_cell: int,
    copies: int,
    ruler: bool,
    cut_marks: bool,
) -> bytes:
    try:
        return labels.sheet_pdf(texts, chosen, start_cell=start_cell, copies=copies, ruler=ruler, cut_marks=cut_marks)
    except labels.LabelError as fault:
        raise LabelsRefused(str(fault)) from None


def main_code_side(shop: Shop) -> float | None:
    """The side in mm of the large code on the shop's usual labels; None where they have no room for one."""
    settings, chosen = shop.settings(), stock(shop, "")
    payload = label_content.qr_text(SAMPLE_CODE, settings)
    try:
        return labels.main_code_side(chosen, payload, with_picture=labels.has_picture_room(chosen))
    except labels.LabelError:
        return None


def measuring_strips(shop: Shop) -> bytes:
    """The page of measuring strips, on the paper of the shop's usual labels; on Letter where those are a roll."""
    usual = stock(shop, "")
    return labels.measuring_strips_pdf(labels.find_stock(labels.DEFAULT_STOCK) if usual.is_roll else usual)


def _piece_text(shop: Shop, record: OffcutRecord, settings: Settings, with_photo: bool) -> labels.LabelText:
    content = label_content.label_content(record, settings)
    return labels.LabelText(
        code_text=content.code_text,
        qr_payload=content.qr,
        species=content.species,
        sizes=content.sizes,
        condition=content.condition,
        location=content.location,
        picture=_picture(shop, content.photo) if with_photo else None,
        silhouette=(record.offcut.length / NM_PER_MM, record.offcut.width / NM_PER_MM),
        bare_code=content.code,
    )


def _picture(shop: Shop, digest: str | None) -> bytes | None:
    """The thumbnail of the main photo; None where its file is missing, and the label then has the silhouette."""
    if digest is None:
        return None
    try:
        return shop.photos.path(digest, PhotoSize.THUMB).read_bytes()
    except (NoSuchPhoto, OSError):
        return None
