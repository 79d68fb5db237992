"""The page of a piece, reached by the code on its tag: its facts, its history, and its actions."""

from __future__ import annotations

from collections.abc import Callable, Mapping

from flask import Blueprint, flash, redirect, render_template, request, send_file, url_for
from werkzeug.wrappers import Response

from inventory.core.codes import InvalidCode, format_code, read_code
from inventory.core.errors import Conflict, UserError
from inventory.core.offcuts import Face
from inventory.services.rack import editing, queries, retagging, scanning
from inventory.services.rack.editing import ChangeNotAllowed, RemovalReason
from inventory.services.rack.queries import NoSuchPiece, PieceView
from inventory.services.rack.retagging import CodeTaken, PieceGone
from inventory.services.rack.scanning import TagStatus
from inventory.storage.records import OffcutRecord
from inventory.web.access.access_control import accepts_uploads
from inventory.web.forms import FormError, posted_form, posted_version
from inventory.web.rack.piece_facts import build_facts
from inventory.web.rack.pruning import pruning_status
from inventory.web.request_context import current_settings, current_shop
from inventory.web.saw.code_redirect import address_of, address_of_input
from inventory.web.saw.offcut_form import FIELD_LABELS, MARK_FIELDS, piece_form_values, read_offcut
from inventory.web.saw.photo_field import save_uploads

blueprint = Blueprint("piece", __name__)

Page = str | tuple[str, int] | Response

ONE_YEAR_SECONDS = 365 * 24 * 3600


@blueprint.get("/t/<code>")
@blueprint.get("/T/<code>", endpoint="page_in_capitals")
def page(code: str) -> Page:
    """The page of a piece; a code in another spelling, or of a tag that was replaced, redirects to its one address.

    A blank tag that has no piece yet redirects to the saw, with its code.
    """
    try:
        view = queries.piece(current_shop(), code)
    except NoSuchPiece as error:
        (tag,) = scanning.look_up(current_shop(), [code])
        if tag.status is TagStatus.BLANK:
            return redirect(url_for("tagging.index", code=tag.code), 303)
        return _unknown(str(error), code, blank=read_code(code))
    except InvalidCode as error:
        return _unknown(str(error), code)
    canonical = url_for("piece.page", code=view.record.code)
    if request.path == canonical:
        return _piece_page(view)
    # Browsers cache a permanent redirect; the piece of a replaced tag may change again.
    return redirect(canonical, 301 if read_code(code) == view.record.code else 303)


def _unknown(sentence: str, text: str, blank: str = "") -> tuple[str, int]:
    meant = scanning.similar_tags(current_shop(), text)
    context = {"sentence": sentence, "text": text, "blank": blank, "meant": meant, "address_of": address_of}
    return render_template("rack/unknown_tag.html", **context), 404


@blueprint.get("/find")
def find() -> Page:
    """Redirects a code to its piece, any other text to the rack filtered by it."""
    text = request.args.get("text", "").strip()
    return redirect(address_of_input(current_shop(), text) or url_for("rack.index", text=text), 303)


@blueprint.get("/photos/<digest>/<size>.jpg")
def photo(digest: str, size: str) -> Response:
    """A photo. Its name is the hash of its content, so a browser may cache it forever."""
    answer = send_file(
        current_shop().photos.path(digest, size), "image/jpeg", max_age=ONE_YEAR_SECONDS, etag=digest + size
    )
    answer.cache_control.private = True
    answer.cache_control.immutable = True
    return answer


@blueprint.get("/t/<code>/change")
def change_form(code: str) -> Page:
    """The form with the data of the piece; sizes measured in a photo come in the address."""
    record = queries.record(current_shop(), code)
    proposed = {name: request.args[name] for name in ("length", "width") if request.args.get(name)}
    return _change_page(record, piece_form_values(record.offcut, current_settings().unit) | proposed)


@blueprint.post("/t/<code>/change")
def change(code: str) -> Page:
    """Saves the form; where somebody else saved first, shows both and overwrites nothing."""
    shop, version = current_shop(), posted_version()
    record = queries.record(shop, code)
    try:
        offcut = read_offcut(posted_form())
        editing.change(shop, code, version, offcut)
    except FormError as error:
        return _change_page(record, request.form, error.errors, version), 422
    except Conflict as error:
        return _change_page(queries.record(shop, code), request.form, conflict=str(error)), 409
    except UserError as error:
        return _change_page(record, request.form, {"": str(error)}, version), 422
    flash(f"{format_code(record.code)} is changed.")
    return redirect(url_for("piece.page", code=record.code), 303)


@blueprint.post("/t/<code>/let-go")
def remove(code: str) -> Page:
    """Records that the piece left the shop unused, and why."""
    form = posted_form()
    reason = form.choice("reason", RemovalReason, "No reason is chosen. Choose why the piece goes.")
    if form.errors:
        return _piece_page(queries.piece(current_shop(), code), form.errors, request.form), 422
    note = request.form.get("note", "")
    return _apply_and_redirect(
        code,
        lambda version: editing.remove(current_shop(), code, version, reason, note),
        f"{{}} is let go: {reason.value}.",
    )


@blueprint.post("/t/<code>/use-up")
def use_up(code: str) -> Page:
    """Records that some or all of the like pieces were used for something else."""
    form, pieces = posted_form(), None
    if form.text("pieces"):
        pieces = form.integer("pieces", '"{}" is no number of pieces. Type how many were used.')
    if form.errors:
        return _piece_page(queries.piece(current_shop(), code), form.errors, request.form), 422
    note = request.form.get("note", "")
    return _apply_and_redirect(
        code,
        lambda version: editing.use_up(current_shop(), code, version, pieces=pieces, note=note),
        "Noted what was used of {}.",
    )


@blueprint.post("/t/<code>/take-back")
def undo_removal(code: str) -> Page:
    """Puts a piece that was used up or pruned back on the rack."""
    return _apply_and_redirect(
        code, lambda version: editing.undo_removal(current_shop(), code, version), "{} is back on the rack."
    )


@blueprint.post("/t/<code>/new-tag")
def new_tag(code: str) -> Page:
    """Gives the piece a new code for a lost tag: that of a blank tag, or a new one."""
    shop, given = current_shop(), request.form.get("new_code", "")
    try:
        record = retagging.replace_tag(shop, code, posted_version(), given)
    except (InvalidCode, CodeTaken) as error:
        return _piece_page(queries.piece(shop, code), {"new_code": str(error)}, request.form), 422
    except (Conflict, PieceGone) as error:
        return _rejected_page(code, error)
    flash(f"The piece is {format_code(record.code)} now, and its label waits to be printed. Its old tag finds it too.")
    return redirect(url_for("piece.page", code=record.code), 303)


@blueprint.post("/t/<code>/photos")
@accepts_uploads
def add_photos(code: str) -> Page:
    """Adds one or more photos to the piece, each good one even where another is bad.

    An added photo overwrites nothing, so the version of the page is not checked.
    """
    shop = current_shop()
    sent = save_uploads(shop, request.files.getlist("photo"), ())
    try:
        for each in sent.photos:
            editing.add_photo(shop, code, queries.record(shop, code).version, each)
    except (Conflict, ChangeNotAllowed) as error:
        return _rejected_page(code, error)
    if sent.errors or not sent.kept:
        sentence = " ".join(sent.errors) or "No photo was chosen. Take one or choose one, then send it."
        return _piece_page(queries.piece(shop, code), {"photo": sentence}), 422
    flash("The photo is kept." if len(sent.kept) == 1 else f"{len(sent.kept)} photos are kept.")
    return redirect(url_for("piece.page", code=read_code(code)), 303)


@blueprint.post("/t/<code>/photos/<int:number>/main")
def choose_photo(code: str, number: int) -> Page:
    """Makes a photo the main one, which the rack and the label show."""
    return _apply_and_redirect(
        code,
        lambda version: editing.choose_main_photo(current_shop(), code, version, number),
        "The rack and the label of {} show that photo now.",
    )


@blueprint.post("/t/<code>/photos/<int:number>/remove")
def remove_photo(code: str, number: int) -> Page:
    """Removes a photo from the piece."""
    return _apply_and_redirect(
        code, lambda version: editing.remove_photo(current_shop(), code, version, number), "The photo is off {}."
    )


def _apply_and_redirect(code: str, act: Callable[[int], OffcutRecord], sentence: str) -> Page:
    """Applies one action to a piece at the version that the page showed, and redirects to its page."""
    try:
        record = act(posted_version())
    except (Conflict, ChangeNotAllowed) as error:
        return _rejected_page(code, error)
    flash(sentence.format(format_code(record.code)))
    return redirect(url_for("piece.page", code=record.code), 303)


def _rejected_page(code: str, error: UserError) -> tuple[str, int]:
    """The current page of the piece, with the error and what was typed."""
    page = _piece_page(queries.piece(current_shop(), code), {"": str(error)}, request.form)
    return page, 409 if isinstance(error, Conflict) else 422


def _piece_page(
    view: PieceView, errors: Mapping[str, str] | None = None, typed: Mapping[str, str] | None = None
) -> str:
    return render_template(
        "rack/piece.html",
        view=view,
        record=view.record,
        offcut=view.record.offcut,
        facts=build_facts(view.record, current_settings()),
        keeping=pruning_status(view.record.code),
        reasons=[(reason.value, reason.value) for reason in RemovalReason],
        errors=errors or {},
        typed=typed or {},
        former=retagging.former(current_shop(), view.record),
        labels=FIELD_LABELS | {"reason": "Reason", "pieces": "Pieces used", "new_code": "New code"},
    )


def _change_page(
    record: OffcutRecord,
    typed: Mapping[str, str],
    errors: Mapping[str, str] | None = None,
    version: int | None = None,
    conflict: str = "",
) -> str:
    choices = queries.choices(current_shop())
    return render_template(
        "rack/edit_piece.html",
        record=record,
        typed=typed,
        errors=errors or {},
        version=record.version if version is None else version,
        conflict=conflict,
        stands=piece_form_values(record.offcut, current_settings().unit),
        faces=[(face.value, face.value) for face in Face],
        known_species=choices.species,
        known_locations=choices.locations,
        known_batches=choices.batches,
        marks=MARK_FIELDS,
        labels=FIELD_LABELS | {"face_a": "Face A", "face_b": "Face B"},
    )
