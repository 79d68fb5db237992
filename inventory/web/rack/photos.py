"""The page of one photo of a piece: turn it, crop it, measure the piece by marking points in it."""

from __future__ import annotations

import re
from collections.abc import Callable

from flask import Blueprint, Response, flash, redirect, render_template, request, url_for
from werkzeug.wrappers import Response as AnyResponse

from inventory.core.codes import format_code
from inventory.core.errors import Conflict, UserError
from inventory.core.lengths import (
    NM_PER_INCH,
    NM_PER_MM,
    InvalidLength,
    Length,
    Unit,
    format_length,
    read_length,
    typed_text,
)
from inventory.core.whole_numbers import read_integer
from inventory.services.labels import label_pdf
from inventory.services.rack import photo_editing, queries
from inventory.services.rack.photo_editing import CannotMeasure, SizeEstimate, Turn
from inventory.storage.records import OffcutRecord, PhotoRecord
from inventory.web.forms import Form, posted_version
from inventory.web.request_context import current_settings, current_shop

blueprint = Blueprint("photos", __name__)

Page = str | tuple[str, int] | AnyResponse
PhotoPoint = tuple[float, float]

IMAGE_INPUT_WIDTH = 340
"""Pixels. Without a script the photo is shown this wide, and a press on it arrives as a point at this scale."""
MARK_PROMPTS = {
    "measure": (
        "Mark one end of the length.",
        "Mark the other end of the length.",
        "Mark one side of the width.",
        "Mark the other side of the width.",
    ),
    "crop": ("Mark one corner of what to keep.", "Mark the opposite corner."),
}
MAX_TAG_SIDE, MIN_TAG_SIDE = 60.0, 8.0
LABELS = {"tag_side": "Width of a tag's large code"}
_PLACE = re.compile(r"(\d{1,5}(?:\.\d{1,2})?),(\d{1,5}(?:\.\d{1,2})?)")


@blueprint.get("/t/<code>/photos/<int:number>")
def page(code: str, number: int) -> Page:
    """The photo with the points marked so far, and the measured sizes once all are there."""
    shop = current_shop()
    record = queries.record(shop, code)
    photo = photo_editing.get_photo(shop, code, number)
    do = request.args.get("do", "")
    marks = MARK_PROMPTS.get(do, ())
    places = _places(photo)[: len(marks)]
    proposals: tuple[SizeEstimate, ...] = ()
    usual_side = label_pdf.main_code_side(shop)
    form = Form(request.args, current_settings().unit)
    if do == "measure" and len(places) == len(marks):
        side = form.read("tag_side", _read_tag_side, None) if form.text("tag_side") else usual_side
        spans = ((places[0], places[1]), (places[2], places[3]))
        try:
            if not form.errors:
                proposals = photo_editing.measure(shop, photo, spans, side, _pixels_per_screen_pixel(photo))
        except CannotMeasure as error:
            form.reject("", str(error))
    page = render_template(
        "rack/photo.html",
        record=record,
        offcut=record.offcut,
        code=record.code,
        photo=photo,
        do=do if marks else "",
        marks=marks,
        places=places,
        written=_format_points(places),
        ask=marks[len(places)] if len(places) < len(marks) else "",
        back=_format_points(places[:-1]) if places else "",
        proposals=proposals,
        change=_change_query(proposals),
        size_text=_size_text,
        turns=Turn,
        image_input_width=IMAGE_INPUT_WIDTH,
        image_input_height=max(round(IMAGE_INPUT_WIDTH * photo.height / photo.width), 1),
        scale=request.args.get("scale", ""),
        typed={"tag_side": request.args.get("tag_side", "")},
        errors=form.errors,
        labels=LABELS,
        usual_side=Length(round(usual_side * NM_PER_MM)) if usual_side else None,
    )
    return (page, 422) if form.errors else page


@blueprint.post("/t/<code>/photos/<int:number>/turn")
def turn(code: str, number: int) -> Page:
    """Turns the photo by a quarter turn."""
    way = Turn.LEFT if request.form.get("way") == Turn.LEFT.value else Turn.RIGHT
    return _done(code, number, lambda version: photo_editing.turn(current_shop(), code, version, number, way))


@blueprint.post("/t/<code>/photos/<int:number>/crop")
def crop(code: str, number: int) -> Page:
    """Crops the photo to the two marked corners."""
    places = _read_places(request.form.get("at", ""))
    if len(places) != 2:
        flash("Two corners must be marked to crop a photo. Mark them once more.", "stop")
        return redirect(url_for("photos.page", code=code, number=number, do="crop"), 303)
    one, other = places
    return _done(code, number, lambda version: photo_editing.crop(current_shop(), code, version, number, one, other))


@blueprint.get("/labels/strips.pdf")
def measuring_strips() -> Response:
    """The PDF of printed rulers, on the paper that labels are printed on."""
    return Response(label_pdf.measuring_strips(current_shop()), mimetype="application/pdf")


def _done(code: str, number: int, act: Callable[[int], OffcutRecord]) -> Page:
    try:
        record = act(posted_version())
    except Conflict as error:
        flash(str(error), "stop")
        return redirect(url_for("piece.page", code=code), 303)
    except UserError as error:
        flash(str(error), "stop")
        return redirect(url_for("photos.page", code=code, number=number), 303)
    flash(f"The photo of {format_code(record.code)} is changed.")
    return redirect(url_for("piece.page", code=record.code, _anchor="photos-heading"), 303)


def _places(photo: PhotoRecord) -> list[PhotoPoint]:
    """The points in the address; one that was pressed without a script is the last of them."""
    places = _read_places(request.args.get("at", ""))
    x, y = (read_integer(request.args.get(f"press.{axis}", "")) for axis in "xy")
    if x is not None and y is not None:
        scale = photo.width / IMAGE_INPUT_WIDTH
        places.append((x * scale, y * scale))
    return [(min(x, photo.width), min(y, photo.height)) for x, y in places]


def _read_places(text: str) -> list[PhotoPoint]:
    return [(float(x), float(y)) for x, y in _PLACE.findall(text[:200])]


def _format_points(places: list[PhotoPoint]) -> str:
    return " ".join(f"{x:.1f},{y:.1f}" for x, y in places)


def _pixels_per_screen_pixel(photo: PhotoRecord) -> float:
    typed = request.args.get("scale", "")
    if re.fullmatch(r"\d{1,3}(\.\d{1,3})?", typed):
        return float(typed)
    return photo.width / IMAGE_INPUT_WIDTH


def _read_tag_side(typed: str) -> float:
    """The side of a tag's code as typed, mm. Raises CannotMeasure."""
    try:
        side = read_length(typed, current_settings().unit) / NM_PER_MM
    except InvalidLength as error:
        raise CannotMeasure(f"The side of the code: {error}") from None
    if not MIN_TAG_SIDE <= side <= MAX_TAG_SIDE:
        raise CannotMeasure(
            f"The side of a tag's code is between {MIN_TAG_SIDE:.0f} and {MAX_TAG_SIDE:.0f} mm. Measure it once more."
        )
    return side


def _size_text(proposal: SizeEstimate) -> str:
    """A size with its uncertainty, both rounded as the shop displays lengths."""
    display = current_settings().display
    return (
        f"{format_length(proposal.size, display)} ± {format_length(proposal.within, display)} "
        f"({proposal.share * 100:.1f} %)"
    )


def _change_query(proposals: tuple[SizeEstimate, ...]) -> dict[str, str]:
    """The sizes as parameters of the form that changes a piece."""
    unit = current_settings().unit
    return {
        name: typed_text(_rounded(each.size), unit) for name, each in zip(("length", "width"), proposals, strict=False)
    }


def _rounded(size: Length) -> Length:
    """To 1/32 in or 1 mm, finer than any uncertainty."""
    grain = NM_PER_INCH // 32 if current_settings().unit is Unit.INCH else NM_PER_MM
    return Length(round(size / grain) * grain)
