"""Label stocks: the list, the form of the shop's own ones, and how each is printed."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

from flask import Blueprint, flash, redirect, render_template, request, url_for
from markupsafe import Markup
from werkzeug.wrappers import Response

import labels
from inventory.core.errors import Conflict
from inventory.core.lengths import Unit
from inventory.services.labels import label_content, label_stocks
from inventory.services.labels.label_stocks import StockRefused
from inventory.storage.label_stock_records import OwnStock, PhotoTone
from inventory.web.forms import errors_by_field, posted_version
from inventory.web.labels.label_sheet import stocks_by_paper
from inventory.web.labels.label_stock_form import (
    BLANK,
    FIELDS,
    PAPERS,
    RULED,
    printing_as_typed,
    read_printing,
    read_stock,
    stock_as_typed,
)
from inventory.web.request_context import current_settings, current_shop

blueprint = Blueprint("label_stocks", __name__, url_prefix="/labels/stocks")

Page = str | tuple[str, int] | Response

SAMPLE = "0000011"
# The scales that are measured on a test sheet are in millimeters, whatever the shop's unit: the inch scale beside
# them ends elsewhere.
RULER_UNIT = Unit.MILLIMETER
FIELD_NAMES = {
    "name": "Name",
    "paper": "What the labels come on",
    "page_width": "Width of the sheet",
    "page_height": "Height of the sheet",
    "columns": "Labels side by side",
    "rows": "Labels one under the other",
    "cell_width": "Width of a label",
    "cell_height": "Height of a label",
    "left": "Left edge of the sheet to the first label",
    "top": "Top edge of the sheet to the first label",
    "across": "From a label's left edge to the next one's",
    "down": "From a label's top edge to the next one's",
    "corner": "Radius of the corners",
    "hole_across": "Left edge of the label to the middle of the hole",
    "hole_down": "Top edge of the label to the middle of the hole",
    "hole_diameter": "Diameter of the hole",
}
TONE_LABELS = {
    PhotoTone.GREY: "In greys, for office printers",
    PhotoTone.BLACK: "In black dots, for thermal printers",
}


@blueprint.get("")
def index() -> str:
    """All stocks, the shop's own first."""
    own = {stock.key for stock in label_stocks.own_stocks(current_shop())}
    usual = label_stocks.default_stock(current_shop()).key
    return render_template(
        "labels/label_stocks.html", papers=stocks_by_paper(), own=own, usual=usual, caution=labels.CAUTION
    )


@blueprint.get("/new")
def new() -> Page:
    """The form of a new stock with a preview; `like` names a stock to start from."""
    typed = {name: request.args.get(name, "") for name in FIELDS}
    if not any(typed.values()):
        typed = _like(request.args.get("like", ""))
    return _form_page(typed)


@blueprint.post("/new")
def add() -> Page:
    """Saves a new stock."""
    return _keep("", 1)


@blueprint.get("/<key>")
def change(key: str) -> Page:
    """The form of one of the shop's own stocks with a preview."""
    stock = label_stocks.own_stock(current_shop(), key)
    typed = {name: request.args[name] for name in FIELDS if name in request.args}
    version = request.args.get("version", "")
    return _form_page(typed or stock_as_typed(stock, current_settings().unit), stock, version=version)


@blueprint.post("/<key>")
def save(key: str) -> Page:
    """Saves the changes of a stock."""
    return _keep(key, posted_version())


@blueprint.post("/<key>/remove")
def remove(key: str) -> Page:
    """Removes one of the shop's own stocks."""
    stock = label_stocks.remove_stock(current_shop(), key)
    flash(f"“{stock.name}” is taken away.")
    return redirect(url_for("label_stocks.index"), 303)


@blueprint.get("/<key>/printing")
def printing(key: str) -> Page:
    """How a stock is printed: photos, resolution, and the measures of its test sheet."""
    stock = label_stocks.find_stock(current_shop(), key)
    kept = label_stocks.printing_of(current_shop(), stock)
    return _printing_page(stock, printing_as_typed(kept, RULER_UNIT), {})


@blueprint.post("/<key>/printing")
def save_printing(key: str) -> Page:
    """Saves how a stock is printed."""
    stock = label_stocks.find_stock(current_shop(), key)
    typed = {name: request.form.get(name, "") for name in ("tone", "dpi", *RULED)}
    read, errors = read_printing(typed, RULER_UNIT)
    if not errors:
        try:
            label_stocks.keep_printing(current_shop(), stock, read)
        except StockRefused as error:
            errors = errors_by_field(error)
    if errors:
        return _printing_page(stock, typed, errors), 422
    flash(f"Kept for “{stock.name}”.")
    return redirect(url_for("label_stocks.printing", key=key), 303)


def _like(key: str) -> dict[str, str]:
    """The fields of a stock to start from, without its name; of a common sheet where none is named."""
    if not key:
        return dict(BLANK)
    stock = label_stocks.find_stock(current_shop(), key)
    return {**stock_as_typed(label_stocks.copy_as_own(stock), current_settings().unit), "name": ""}


def _keep(key: str, version: int) -> Page:
    typed = {name: request.form.get(name, "") for name in FIELDS}
    stock, errors = read_stock(typed, current_settings().unit, key, version)
    if not errors:
        try:
            kept = label_stocks.save_stock(current_shop(), stock)
        except Conflict as error:
            own = label_stocks.own_stock(current_shop(), key)
            return _form_page(typed, own, refused={"": str(error)}, version=str(own.version)), 409
        except StockRefused as error:
            errors = errors_by_field(error)
        else:
            flash(f"“{kept.name}” is kept. Print its test sheet first.")
            return redirect(url_for("label_stocks.printing", key=kept.key), 303)
    kept_so_far = label_stocks.own_stock(current_shop(), key) if key else None
    return _form_page(typed, kept_so_far, refused=errors, version=str(version)), 422


def _form_page(
    typed: dict[str, str], own: OwnStock | None = None, refused: dict[str, str] | None = None, version: str = ""
) -> str:
    """The form as typed, with a preview of the stock where it can be read."""
    stock, errors = read_stock(typed, current_settings().unit)
    begun = any(typed.get(name, "").strip() for name in ("cell_width", "cell_height"))
    drawable = not set(errors) - {"name"}
    sentences = label_stocks.faults_of(stock if stock.name else replace(stock, name="This stock")) if drawable else ()
    missing = {name: each for name, each in errors.items() if typed.get(name, "").strip() or refused is not None}
    return render_template(
        "labels/label_stock.html",
        own=own,
        version=version or (str(own.version) if own else ""),
        typed=typed,
        errors={**missing, **(refused or {})},
        names=FIELD_NAMES,
        papers=list(PAPERS.items()),
        sentences=sentences,
        good=not errors and not sentences,
        begun=begun,
        nameless=set(errors) == {"name"},
        drawn=_stock_preview(stock) if drawable else "",
        unit=current_settings().unit.value,
        caution=labels.CAUTION,
    )


def _stock_preview(stock: OwnStock) -> Markup:
    laid_out = label_stocks.laid_out(stock)
    words = label_content.sample_content(SAMPLE, current_settings())
    sample = labels.LabelText(
        words.code_text,
        words.qr,
        words.species,
        words.sizes,
        words.condition,
        words.location,
        silhouette=(600.0, 90.0),
        bare_code=words.code,
    )
    return Markup(labels.preview(laid_out, sample))


def _printing_page(stock: labels.Stock, typed: dict[str, str], errors: dict[str, str]) -> str:
    context: dict[str, Any] = {
        "stock": stock,
        "typed": typed,
        "errors": errors,
        "tones": [(tone.value, words) for tone, words in TONE_LABELS.items()],
        "lines": labels.calibration_lines(stock),
        "corrected": stock.correction != labels.Correction(),
        "unit": RULER_UNIT.value,
        "caution": labels.CAUTION,
        "print_at_100": labels.PRINT_AT_100,
        "is_own": any(own.key == stock.key for own in label_stocks.own_stocks(current_shop())),
    }
    return render_template("labels/stock_printing.html", **context)
