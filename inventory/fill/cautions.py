"""The cautions that a plan carries (cutting model, section 11).

Knows when which sentence is due. The tool defers to the makers' manuals, local
codes and qualified advice, and every plan with cautions says so.
"""

from __future__ import annotations

from collections.abc import Sequence

from inventory.cutting.cuts import Cut
from inventory.fill.request import BoardRequest
from inventory.measures import inches
from inventory.pieces import Face

# common practice, no source
THIN_RIP = inches("1/4")
NO_RIP = inches("1/8")
SHORTEST_MACHINED = inches("12")

METAL = "Look for nails, screws and staples, by eye and with a detector, before any blade touches salvaged wood."
# CPSC 16 CFR 1303 (United States): paint sold before 1978 may hold lead.
LEAD = (
    "A finish of unknown age may hold lead (paint before 1978 in the United States, CPSC 16 CFR 1303): "
    "do not sand or scrape it dry; test it or take it off wet, away from food and children."
)
THIN = (
    "Strips under 1/4 in are ripped on the band saw or with a guide made for thin rips, "
    "and never under 1/8 in on a table saw."
)
TOO_THIN = "A strip of this plan is thinner than 1/8 in: do not rip it on a table saw."
SHORT = "Pieces shorter than 12 in do not go over a jointer or through a planer; the machine's manual governs."
PUSH = "Keep hands clear of the blade: use a push stick for narrow strips and for the end of every rip."
DUST = "Wear a dust mask and draw the dust off: dust of some species irritates or sensitises."
DEFER = "The makers' manuals, local codes and qualified advice come before anything said here."


def cautions_for(cuts: Sequence[Cut], request: BoardRequest) -> tuple[str, ...]:
    """The sentences that this plan carries, the gravest first."""
    told = [METAL]
    if any(face is Face.FINISHED for cut in cuts for face in cut.offcut.faces):
        told.append(LEAD)
    thinnest = min(_thinnest_rip(cut) for cut in cuts)
    if thinnest < THIN_RIP:
        told.append(THIN)
    if thinnest < NO_RIP:
        told.append(TOO_THIN)
    if request.length + request.allowances.end_trim < SHORTEST_MACHINED:
        told.append(SHORT)
    return (*told, PUSH, DUST, DEFER)


def _thinnest_rip(cut: Cut) -> int:
    return min(cut.strip_width, cut.offcut.thickness)
