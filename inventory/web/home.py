"""The first page: the three places, what waits in each, and the pairing code."""

from __future__ import annotations

from flask import Blueprint, render_template

from inventory.services.rack import queries
from inventory.web.access.pairing import pairing_qr
from inventory.web.request_context import current_shop

blueprint = Blueprint("home", __name__)


@blueprint.get("/")
def index() -> str:
    """The first page."""
    return render_template("home.html", shop_summary=queries.shop_summary(current_shop()), code=pairing_qr())
