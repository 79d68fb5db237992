"""Stock checks: choose a location, note its tags by photo, camera, code or tick, reconcile the differences.

Pieces that nobody has seen for long are confirmed on a page of their own.
"""

from __future__ import annotations

from collections.abc import Mapping
from itertools import groupby
from typing import BinaryIO, cast

from flask import Blueprint, flash, jsonify, redirect, render_template, request, url_for
from werkzeug.wrappers import Response

from inventory.core.codes import format_code
from inventory.core.errors import UserError
from inventory.core.offcuts import location_key
from inventory.services.rack.scanning import PhotoScan, ReadTag, TagStatus
from inventory.services.stock_check import stock_checks, unseen
from inventory.services.stock_check.stock_checks import Reconciliation
from inventory.services.stock_check.unseen import CheckResult
from inventory.settings import InvalidSetting
from inventory.web.access.access_control import accepts_uploads
from inventory.web.forms import posted_form
from inventory.web.request_context import current_settings, current_shop, update_settings
from inventory.web.saw.code_redirect import address_of
from inventory.web.template_filters import counted

blueprint = Blueprint("stock_check", __name__, url_prefix="/stock-check")

Page = str | tuple[str, int] | Response
LABELS = {"location": "Location", "other": "Another location", "code": "Code", "photo": "Photo", "ask_after": "Months"}
MAX_MESSAGES = 10
"""Of more tags that are typed at once only the first get a message: a cookie holds no more."""
MAX_LISTED = 150
"""A longer list of what is not seen yet is shown in parts, so that a phone can show the page."""


@blueprint.get("")
def index() -> str:
    """The locations, the open stock checks, and the pieces not seen for long."""
    return _front({}, {})


@blueprint.post("")
def start() -> Page:
    """Starts the stock check of a location, or opens the one that is open."""
    typed = request.form
    try:
        number = stock_checks.begin(current_shop(), typed.get("other", "").strip() or typed.get("location", ""))
    except stock_checks.InvalidLocation as error:
        return _front(typed, {"location": str(error)}), 422
    return redirect(url_for("stock_check.page", number=number), 303)


@blueprint.get("/<int:number>")
def page(number: int) -> str:
    """What was seen so far and what was not; after the end, the outcome."""
    return _look(number, {}, {})


@blueprint.post("/<int:number>/seen")
def seen(number: int) -> Page:
    """Records typed or scanned codes, or a ticked piece, as seen."""
    ticked, typed = request.form.get("tick", ""), request.form.get("code", "")
    try:
        tags = stock_checks.see(current_shop(), number, ticked or typed)
    except UserError as error:
        return _rejected(number, "code", error)
    if ticked:
        return redirect(url_for("stock_check.page", number=number, _anchor=_next_anchor(number)), 303)
    here = stock_checks.location_of(current_shop(), number)
    for tag in tags[:MAX_MESSAGES]:
        flash(_tag_text(here, tag), "done" if tag.status is TagStatus.PIECE else "note")
    if len(tags) > MAX_MESSAGES:
        flash(f"And {counted(len(tags) - MAX_MESSAGES, 'more tag')}, all noted below.")
    return redirect(url_for("stock_check.page", number=number), 303)


@blueprint.post("/<int:number>/photo")
@accepts_uploads
def photo(number: int) -> Page:
    """Records all tags in photos of the shelf as seen."""
    files = [file for file in request.files.getlist("photo") if file.filename]
    tags: set[str] = set()
    half = 0
    if not files:
        return _look(number, {}, {"photo": "No photo was chosen. Take one or choose one, then send it."}), 422
    try:
        for file in files:
            scan = stock_checks.see_photo(current_shop(), number, cast(BinaryIO, file.stream), file.filename or "")
            tags |= {tag.code for tag in scan.tags}
            half += len(scan.undecoded)
    except UserError as error:
        return _rejected(number, "photo", error)
    flash(f"{counted(len(tags), 'tag')} read in {counted(len(files), 'photo')}.", "done" if tags else "note")
    if half:
        flash(
            f"{counted(half, 'tag')} can't be read there. Come nearer, or type the code. Nothing was guessed.", "note"
        )
    return redirect(url_for("stock_check.page", number=number), 303)


@blueprint.post("/<int:number>/frame")
@accepts_uploads
def frame(number: int) -> Response:
    """Records the tag in one frame of the live camera as seen, and returns what it is."""
    file = request.files.get("photo")
    try:
        scan = stock_checks.see_still(current_shop(), number, cast(BinaryIO, file.stream) if file else b"")
    except UserError as error:
        return jsonify(words=str(error))
    return jsonify(words=_frame_text(number, scan))


@blueprint.post("/<int:number>/unseen")
def unsee(number: int) -> Page:
    """Undoes that a tag was seen."""
    try:
        code = stock_checks.unsee(current_shop(), number, request.form.get("code", ""))
    except UserError as error:
        return _rejected(number, "code", error)
    flash(f"{format_code(code)} counts as not seen.")
    return redirect(url_for("stock_check.page", number=number), 303)


@blueprint.post("/<int:number>/count")
def count(number: int) -> Page:
    """Records the number of pieces of a bundle."""
    code, typed = request.form.get("code", ""), request.form.get("pieces", "")
    try:
        found = stock_checks.count(current_shop(), number, code, typed)
    except UserError as error:
        return _rejected(number, f"pieces-{code}", error, {f"pieces-{code}": typed})
    flash(
        f"{format_code(found.record.code)}: {counted(found.pieces or 0, 'piece')}, kept when the stocktake is finished."
    )
    return redirect(url_for("stock_check.page", number=number, _anchor=f"seen-{found.record.code}"), 303)


@blueprint.get("/<int:number>/finish")
def differences(number: int) -> Page:
    """The differences with the choices for each."""
    found = stock_checks.view(current_shop(), number)
    if found.stock_check.ended_at is not None:
        return redirect(url_for("stock_check.page", number=number), 303)
    return render_template("rack/stock_check_differences.html", view=found, address_of=address_of)


@blueprint.post("/<int:number>/finish")
def finish(number: int) -> Page:
    """Reconciles all differences at once."""
    asked = Reconciliation(*(frozenset(request.form.getlist(name)) for name in ("not_found", "left", "back")))
    try:
        stock_check = stock_checks.finish(current_shop(), number, asked)
    except (stock_checks.InvalidCount, stock_checks.StockCheckEnded) as error:
        return _rejected(number, "", error)
    flash(f"The stocktake of {stock_check.location} is finished.")
    return redirect(url_for("stock_check.page", number=number), 303)


@blueprint.post("/<int:number>/away")
def cancel(number: int) -> Page:
    """Cancels a stock check that was started by mistake."""
    try:
        stock_check = stock_checks.put_away(current_shop(), number)
    except (stock_checks.StockCheckNotEmpty, stock_checks.StockCheckEnded) as error:
        return _rejected(number, "code", error)
    flash(f"The stocktake of {stock_check.location} is put away. Nothing was changed.")
    return redirect(url_for("stock_check.index"), 303)


@blueprint.get("/unchecked")
def unchecked() -> str:
    """The pieces that nobody has seen for a long time."""
    return _unchecked_page({}, {})


@blueprint.post("/unchecked")
def confirm() -> Page:
    """Records the ticked pieces as present, or as not found."""
    form, codes = posted_form(), request.form.getlist("code")
    settled = form.choice("settled", CheckResult, "Nothing was asked for. Press one of the two buttons below the list.")
    try:
        form.check()
        pieces = unseen.settle(current_shop(), codes, settled)
    except UserError as error:
        return _unchecked_page(request.form, {"pieces": str(error)}, codes), 422
    flash(
        f"{counted(pieces, 'tag')} noted as seen today."
        if settled is CheckResult.HERE
        else f"{counted(pieces, 'tag')} let go as not found. Each can be taken back on its own page."
    )
    return redirect(url_for("stock_check.unchecked"), 303)


@blueprint.post("/unchecked/after")
def set_interval() -> Page:
    """Sets the number of months after which a piece is listed."""
    try:
        update_settings(lambda settings: settings.changed({"ask_after": request.form.get("ask_after", "")}))
    except InvalidSetting as error:
        return _unchecked_page(request.form, {error.what: str(error)}), 422
    return redirect(url_for("stock_check.unchecked"), 303)


def _front(typed: Mapping[str, str], errors: Mapping[str, str]) -> str:
    under_way, ended = stock_checks.listed(current_shop())
    places = stock_checks.places(current_shop())
    return render_template(
        "rack/stock_checks.html",
        typed=typed,
        errors=errors,
        labels=LABELS,
        under_way=under_way,
        ended=ended,
        places=[("", "choose"), *((name, f"{name} ({counted(tags, 'tag')})") for name, tags in places)],
        unseen=unseen.unchecked_pieces(current_shop()),
    )


def _look(number: int, typed: Mapping[str, str], errors: Mapping[str, str]) -> str:
    found = stock_checks.view(current_shop(), number)
    ended = found.stock_check.ended_at is not None
    return render_template(
        "rack/stock_check_ended.html" if ended else "rack/stock_check.html",
        view=found,
        outcome=found.stock_check.outcome,
        typed=typed,
        errors=errors,
        labels=LABELS,
        missing=found.missing[:MAX_LISTED],
        address_of=address_of,
    )


def _rejected(number: int, name: str, error: UserError, typed: Mapping[str, str] | None = None) -> Page:
    """The page with an error beside its field, all as it was typed."""
    if isinstance(error, stock_checks.NoSuchStockCheck):
        raise error
    return _look(number, typed or request.form, {name: str(error)}), (
        409 if isinstance(error, stock_checks.StockCheckEnded) else 422
    )


def _unchecked_page(typed: Mapping[str, str], errors: Mapping[str, str], ticked: list[str] | None = None) -> str:
    found = unseen.unchecked_pieces(current_shop())
    return render_template(
        "rack/unchecked.html",
        unseen=found,
        places=[
            list(pieces) for _, pieces in groupby(found.records, lambda record: location_key(record.offcut.location))
        ],
        typed=typed if "ask_after" in typed else {"ask_after": current_settings().ask_after},
        errors=errors,
        labels=LABELS,
        ticked=ticked or [],
        settled=CheckResult,
    )


def _next_anchor(number: int) -> str:
    """The anchor after a tick: the next piece that is not seen yet."""
    after = request.form.get("tick", "")
    missing = [each.code for each in stock_checks.view(current_shop(), number).missing]
    following = next((code for code in missing if code > after), None)
    return f"missing-{following}" if following else "missing"


def _tag_text(here: str, tag: ReadTag) -> str:
    """The message for a tag that was just seen."""
    code = format_code(tag.code)
    if tag.record is None:
        what = "is a blank tag" if tag.status is TagStatus.BLANK else "was never given here"
        return f"{code} {what}. Tag its piece below."
    location = tag.record.offcut.location
    if not tag.record.here:
        return f"{code} is here, and was {tag.record.state.value}."
    if location_key(location) != location_key(here):
        return f"{code} is here. It should lie at {location}." if location else f"{code} is here. It had no location."
    return f"{code} is where it should be."


def _frame_text(number: int, scan: PhotoScan) -> str:
    if scan.tags:
        return _tag_text(stock_checks.location_of(current_shop(), number), scan.tags[0])
    if scan.undecoded:
        return "A tag is here, but it can't be read yet. Hold still, come nearer, wipe it."
    return "That code is no tag of Rackful's." if scan.others else "No tag in sight."
