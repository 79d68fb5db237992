"""The facts on the page of a piece beyond its record: drawing, weight, strips that it can give, cautions.

Sizes and strips come from `inventory.cutting`, weight and dust from `inventory.core.species`.
"""

from __future__ import annotations

from dataclasses import dataclass

from markupsafe import Markup

from inventory.core.lengths import Length, Unit, inches, millimeters
from inventory.core.offcuts import Face, Offcut, moisture_text
from inventory.core.species import dust_remarks
from inventory.core.species_cautions import ANY_DUST, Remark
from inventory.cutting.capacity import PieceCapacity, piece_capacity
from inventory.layout.operations import MIN_MACHINED_LENGTH
from inventory.settings import Settings
from inventory.storage.records import OffcutRecord
from inventory.web.drawings.offcut import draw_offcut
from inventory.web.rack.value_text import format_total_weight, format_worth
from inventory.web.template_filters import day
from inventory.wording.cautions import DEFER, DUST, LEAD, METAL, SHORT

# common practice, no source: the most common finished thicknesses of boards
USUAL_BOARDS = {
    Unit.INCH: tuple(inches(text) for text in ("3/4", "1", "1 1/2", "2")),
    Unit.MILLIMETER: tuple(millimeters(text) for text in ("20", "25", "40", "50")),
}


@dataclass(frozen=True)
class PieceFacts:
    """The facts in the order of the page.

    Texts are empty where there is nothing to say: `moisture` was not read, the
    species of `weight` is not known, `worth` has no price.
    """

    drawing: Markup
    clean_thickness: Length
    moisture: str
    weight: str
    worth: str
    gives: PieceCapacity
    cautions: tuple[str, ...]
    dust: tuple[Remark, ...]


def build_facts(record: OffcutRecord, settings: Settings) -> PieceFacts:
    """The facts of this piece by the shop's settings."""
    offcut, allowances = record.offcut, settings.allowances
    return PieceFacts(
        drawing=draw_offcut(offcut, allowances, settings.display),
        clean_thickness=allowances.clean_thickness(offcut),
        moisture=_moisture_text(offcut),
        weight=format_total_weight(((offcut.species, record.volume),), settings),
        worth=format_worth(((offcut.species, record.volume),), settings),
        gives=piece_capacity(offcut, allowances, USUAL_BOARDS[settings.unit]),
        cautions=_cautions(offcut),
        dust=tuple(remark for remark in dust_remarks(offcut.species) if remark not in ANY_DUST),
    )


def _moisture_text(offcut: Offcut) -> str:
    if offcut.moisture is None:
        return ""
    read_on = f" on {day(offcut.moisture_on)}" if offcut.moisture_on else ""
    return f"{moisture_text(offcut.moisture)} %{read_on}"


def _cautions(offcut: Offcut) -> tuple[str, ...]:
    due = [METAL]
    if Face.FINISHED in offcut.faces:
        due.append(LEAD)
    if offcut.length < MIN_MACHINED_LENGTH:
        due.append(SHORT)
    return (*due, DUST, DEFER)
