"""Scanning tags: a photo of one tag or a shelf, the live camera where the browser allows it, a typed code.

What was seen goes into the address of the list, so that it can be loaded again; nothing is stored.
"""

from __future__ import annotations

from dataclasses import replace
from typing import BinaryIO, cast

from flask import Blueprint, jsonify, redirect, render_template, request, url_for
from werkzeug.wrappers import Response

from inventory.core.codes import InvalidCode, format_code
from inventory.core.errors import UserError
from inventory.core.whole_numbers import read_integer
from inventory.services.rack import scanning
from inventory.services.rack.scanning import PhotoScan, ReadTag, TagStatus
from inventory.web.access.access_control import accepts_uploads
from inventory.web.request_context import current_shop
from inventory.web.saw.code_redirect import address_of, address_of_input

blueprint = Blueprint("scanning", __name__)

Page = str | tuple[str, int] | Response

MAX_OTHER_CODES = 10
MAX_OTHER_LENGTH = 60


@blueprint.get("/scan")
def index() -> str:
    """The page with the camera, a photo field and a field for a code."""
    return _front({}, {})


@blueprint.get("/scan/code")
def typed() -> Page:
    """Redirects a typed code to its piece, or to the saw for a blank tag."""
    text = request.args.get("text", "").strip()
    address = address_of_input(current_shop(), text)
    if address:
        return redirect(address, 303)
    try:
        (tag,) = scanning.look_up(current_shop(), [text])
        return redirect(address_of(tag), 303)
    except InvalidCode as error:
        return _front({"text": text}, {"text": str(error)}, scanning.similar_tags(current_shop(), text)), 422


@blueprint.post("/scan")
@accepts_uploads
def photo() -> Page:
    """Reads the tags in one or more photos; a single tag redirects to its page, several are listed."""
    scans: list[PhotoScan] = []
    errors: list[str] = []
    for file in request.files.getlist("photo"):
        if file.filename:
            try:
                scans.append(scanning.scan_photo(current_shop(), cast(BinaryIO, file.stream), file.filename))
            except UserError as error:
                errors.append(str(error))
    if not scans:
        sentence = " ".join(errors) or "No photo was chosen. Take one or choose one, then send it."
        return _front({}, {"photo": sentence}), 422
    tags = {each.code: each for scan in scans for each in scan.tags}
    half = sum(len(scan.undecoded) for scan in scans)
    others = list(dict.fromkeys(text[:MAX_OTHER_LENGTH] for scan in scans for text in scan.others))[:MAX_OTHER_CODES]
    if len(tags) == 1 and not half and not others and not errors:
        return redirect(address_of(next(iter(tags.values()))), 303)
    return redirect(url_for("scanning.seen", tag=list(tags), half=half, other=others, unread=len(errors) or None), 303)


@blueprint.get("/scan/seen")
def seen() -> str:
    """The pieces that were seen, and the codes that could not be read."""
    codes = request.args.getlist("tag")
    try:
        tags = scanning.look_up(current_shop(), codes)
    except InvalidCode:
        tags = ()
    return render_template(
        "saw/scanned.html",
        pieces=[each for each in tags if each.status is TagStatus.PIECE],
        blanks=[each for each in tags if each.status is TagStatus.BLANK],
        strange=[each for each in tags if each.status is TagStatus.STRANGE],
        half=_number("half"),
        unread=_number("unread"),
        others=request.args.getlist("other")[:MAX_OTHER_CODES],
        address_of=address_of,
    )


@blueprint.post("/scan/frame")
@accepts_uploads
def frame() -> Response:
    """One frame of the live camera: the address of its tag, or a message."""
    file = request.files.get("photo")
    try:
        scan = scanning.scan_still(current_shop(), cast(BinaryIO, file.stream) if file else b"")
    except UserError as error:
        return jsonify(words=str(error))
    return jsonify(**_scan_response(scan))


def _scan_response(scan: PhotoScan) -> dict[str, str]:
    if scan.tags:
        tag = replace(scan.tags[0], places=())
        return {"address": address_of(tag), "words": _tag_text(tag)}
    if scan.undecoded:
        return {"words": "A tag is here, but it can't be read yet. Hold still, come nearer, wipe it."}
    if scan.others:
        return {"words": "That code is no tag of Rackful's."}
    return {"words": "No tag in sight."}


def _tag_text(tag: ReadTag) -> str:
    match tag.status:
        case TagStatus.PIECE:
            return f"{format_code(tag.code)}: opening its piece."
        case TagStatus.BLANK:
            return f"{format_code(tag.code)} is a blank tag: opening the saw."
        case TagStatus.STRANGE:
            return f"{format_code(tag.code)} was never given in this shop."


def _number(name: str) -> int:
    return read_integer(request.args.get(name, "")) or 0


def _front(typed: dict[str, str], errors: dict[str, str], meant: tuple[ReadTag, ...] = ()) -> str:
    return render_template("saw/scanning.html", typed=typed, errors=errors, meant=meant, address_of=address_of)
