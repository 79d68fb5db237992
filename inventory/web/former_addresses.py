"""Leads from the addresses that pages once had to those that they have now."""

from __future__ import annotations

from flask import Blueprint, redirect, request
from werkzeug.wrappers import Response

blueprint = Blueprint("former_addresses", __name__)

FORMER_ADDRESSES = {
    "/batch": "/several-boards",
    "/usual": "/usual-boards",
    "/usual.json": "/usual-boards.json",
    "/rack/pile": "/rack/stock-levels",
    "/rack/pile/room": "/rack/stock-levels/storage-limit",
    "/stocktake": "/stock-check",
    "/stocktake/asked": "/stock-check/unchecked",
    "/let-go": "/pruning",
    "/boards/<int:number>/order": "/boards/{number}/strip-order",
    "/boards/yield": "/boards/yield-report",
    "/labels/blank": "/labels/blank-tags",
    "/labels/jobs": "/labels/print-jobs",
    "/settings/pass-phrase": "/settings/passphrase",
    "/settings/no-pass-phrase": "/settings/no-passphrase",
    "/join": "/pair",
    "/patterns": "/components",
}
"""Former addresses and present ones. What comes after `/` or `?` is kept."""
_REST = "/<path:rest>"


def moved(rest: str = "", **parts: int) -> Response:
    """To the present address. Status 308 keeps the method, so that a form of a page opened before still arrives."""
    former = request.url_rule.rule.removesuffix(_REST) if request.url_rule else ""
    path = FORMER_ADDRESSES[former].format(**parts) + (f"/{rest}" if rest else "")
    query = request.query_string.decode("ascii", "replace")
    return redirect(f"{path}?{query}" if query else path, 308)


for _former in FORMER_ADDRESSES:
    for _rule in (_former, _former + _REST):
        blueprint.add_url_rule(_rule, view_func=moved, methods=["GET", "POST"])
