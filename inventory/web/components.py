"""A page with every component once, to see the effect of a change of style."""

from __future__ import annotations

from flask import Blueprint, render_template

from inventory.core.lengths import inches, millimeters
from inventory.core.offcuts import Offcut, State
from inventory.storage.records import BoardState

blueprint = Blueprint("components", __name__)

SPECIES = (("ash", "Ash", "34 pieces"), ("cherry", "Cherry", "12 pieces"), ("white oak", "White oak", ""))
PIECES = (
    Offcut(inches("23 1/2"), inches("3 1/4"), inches("13/16"), "ash", tag="0000011", location="wall 2"),
    Offcut(millimeters("597"), inches("4"), inches("1"), "cherry", tag="0000022", location="bin"),
)
TYPED = {"name": "Stair treads", "length": "23 1/0", "notes": "\nknot near one end", "species": "ash", "day": "yes"}
ERRORS = {
    "length": '"23 1/0" is not a length: the fraction has 0 below the line. Type 23 1/2, 23.5 in or 597 mm.',
    "picture": "The picture is cut off. Take it again.",
}


@blueprint.get("/components")
def index() -> str:
    """The page."""
    return render_template(
        "components.html",
        typed=TYPED,
        errors=ERRORS,
        species=SPECIES,
        pieces=PIECES,
        states=[state.value for state in (*State, *BoardState)],
        address=lambda page: f"/components?page={page}",
    )
