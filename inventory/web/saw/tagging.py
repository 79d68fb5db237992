"""The page at the saw: tag a piece by a form, or by one typed line."""

from __future__ import annotations

import secrets
from collections.abc import Mapping
from fractions import Fraction

from flask import Blueprint, flash, redirect, render_template, request, url_for
from werkzeug.wrappers import Response

from inventory.core.codes import InvalidCode, format_code
from inventory.core.errors import UserError
from inventory.core.lengths import Unit
from inventory.core.offcuts import Face, Offcut
from inventory.core.whole_numbers import read_integer
from inventory.services.rack import editing, queries, tagging
from inventory.services.rack.editing import RemovalReason
from inventory.services.rack.queries import NoSuchPiece
from inventory.services.rack.tagging import CodeTaken
from inventory.services.rack.typed_line import read_line
from inventory.storage.records import OffcutRecord
from inventory.web.access.access_control import accepts_uploads
from inventory.web.forms import FormError, posted_form, posted_version
from inventory.web.request_context import current_settings, current_shop
from inventory.web.saw.offcut_form import (
    FIELD_LABELS,
    MARK_FIELDS,
    choice_buttons,
    defaults_from_last,
    offcut_form_values,
    read_offcut,
)
from inventory.web.saw.photo_field import SavedPhoto, save_uploads

blueprint = Blueprint("tagging", __name__)

BUTTONS = 6
DEFAULT_SPECIES = ("ash", "cherry", "hard maple", "red oak", "white oak", "black walnut")
"""The buttons until the shop has tagged its first species."""

SIXTEENTHS = tuple(str(Fraction(number, 16)) for number in range(1, 16))
"""The fraction keys, in the order of a rule."""

Page = str | tuple[str, int] | Response


@blueprint.get("/saw")
def index() -> str:
    """The form for the next piece: as `like` one, with the `code` of a blank tag, at a `location`, after `tagged`."""
    like = _piece_from_query("like")
    typed = offcut_form_values(like.offcut, current_settings().unit) if like else _next_piece()
    typed["code"] = request.args.get("code", "")
    location = request.args.get("location", "").strip()
    if location:
        # The location of a stock check takes precedence over that of the last piece.
        typed |= {"location": location, "location_other": ""}
    return _form(typed, tagged=_piece_from_query("tagged"), like=like)


@blueprint.post("/saw")
@accepts_uploads
def tag() -> Page:
    """Tags one piece; the same form sent twice tags once."""
    shop = current_shop()
    files = [*request.files.getlist("photo"), *request.files.getlist("more_photos")]
    sent = save_uploads(shop, files, request.form.getlist("kept"))
    errors = {"photo": sent.error_text} if sent.errors else {}
    try:
        offcut = read_offcut(posted_form())
        if not errors:
            code = request.form.get("code", "").strip() or None
            token = request.form.get("form_token", "")
            record = tagging.tag(shop, offcut, photos=sent.photos, code=code, form_token=token)
            return redirect(url_for("tagging.index", tagged=record.code), 303)
    except FormError as error:
        errors |= error.errors
    except (InvalidCode, CodeTaken) as error:
        errors["code"] = str(error)
    except UserError as error:
        errors[""] = str(error)
    return _form(request.form.to_dict(), errors, kept=sent.kept), 422


@blueprint.post("/saw/line")
def tag_by_line() -> Page:
    """Tags one piece from one typed line."""
    shop, line = current_shop(), request.form.get("line", "")
    try:
        offcut = read_line(line, current_settings(), last=_last_piece())
        record = tagging.tag(shop, offcut, form_token=request.form.get("form_token", ""))
    except UserError as error:
        return _form(_next_piece() | {"line": line}, {"line": str(error)}), 422
    return redirect(url_for("tagging.index", tagged=record.code), 303)


@blueprint.post("/saw/again")
def tag_again() -> Page:
    """Tags more pieces like a tagged one, each with a code of its own."""
    copies = read_integer(request.form.get("copies", "")) or 0
    records = tagging.tag_copies(
        current_shop(), request.form.get("code", ""), copies=copies, form_token=request.form.get("form_token", "")
    )
    flash(f"Tagged like the piece before: {', '.join(format_code(record.code) for record in records)}.")
    return redirect(url_for("tagging.index", tagged=records[-1].code), 303)


@blueprint.post("/saw/undo")
def undo() -> Page:
    """Removes a piece that was tagged by mistake, and fills its data into the form."""
    code = request.form.get("code", "")
    record = editing.remove(current_shop(), code, posted_version(), RemovalReason.OTHER, "tagged by mistake")
    flash(f"{format_code(record.code)} is taken back. Mend what was wrong below, or tag the next piece.", "note")
    return redirect(url_for("tagging.index", like=record.code), 303)


def _form(
    typed: Mapping[str, str],
    errors: Mapping[str, str] | None = None,
    *,
    tagged: OffcutRecord | None = None,
    like: OffcutRecord | None = None,
    kept: tuple[SavedPhoto, ...] = (),
) -> str:
    shop, settings = current_shop(), current_settings()
    return render_template(
        "saw/tagging.html",
        typed=typed,
        errors=errors or {},
        labels=FIELD_LABELS,
        tagged=tagged,
        like=like,
        kept=kept,
        species=choice_buttons(tagging.recent_species(shop, BUTTONS) or DEFAULT_SPECIES, typed.get("species", "")),
        locations=choice_buttons(tagging.recent_locations(shop, BUTTONS), typed.get("location", "")),
        faces=[(face.value, face.value) for face in Face],
        marks=MARK_FIELDS,
        batches=choice_buttons(tagging.recent_batches(shop, BUTTONS), typed.get("batch", "")),
        fractions=SIXTEENTHS if settings.unit is Unit.INCH else (),
        form_token=secrets.token_hex(16),
    )


def _last_piece() -> Offcut | None:
    last = tagging.last_tagged(current_shop())
    return last.offcut if last else None


def _next_piece() -> dict[str, str]:
    return defaults_from_last(_last_piece())


def _piece_from_query(name: str) -> OffcutRecord | None:
    """The piece whose code this parameter of the address holds; None where there is none."""
    try:
        return queries.record(current_shop(), request.args.get(name, ""))
    except (InvalidCode, NoSuchPiece):
        return None
