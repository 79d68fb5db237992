"""The first page: the three places, what waits in each, and the code that lets a phone in.

Knows the counts that a glance gives. Reckons nothing.
"""

from __future__ import annotations

from flask import Blueprint, render_template

from inventory.services import finding
from inventory.web.at_hand import current_shop
from inventory.web.joining import code_to_scan

blueprint = Blueprint("home", __name__)


@blueprint.get("/")
def front() -> str:
    """The first page."""
    return render_template("home/front.html", glance=finding.glance(current_shop()), code=code_to_scan())
