"""The cautions that a plan carries (cutting model, section 11).

The tool defers to the makers' manuals, local codes and qualified advice, and every plan with cautions says so.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import replace

from inventory.core.lengths import Display, format_length, inches
from inventory.core.offcuts import Face
from inventory.core.species import contact_remarks, dust_remarks, find_species
from inventory.core.species_cautions import ANY_CONTACT, ANY_DUST, HANSARD, SHORT_SOURCES, Remark
from inventory.core.workshop import DEFAULT_WORKSHOP, Workshop
from inventory.fill.plan import Fill, Plan
from inventory.layout.operations import (
    MIN_RIP_WIDTH,
    THIN_RIP_WIDTH,
    Flattening,
    Operations,
    operations_for,
    strips_by_glue_up,
)
from inventory.wording.effort_text import format_minutes, strips

DEFAULT_DISPLAY = Display()

METAL = "Look for nails, screws and staples, by eye and with a detector, before any blade touches salvaged wood."
# CPSC 16 CFR 1303 (United States): paint sold before 1978 may hold lead.
LEAD = (
    "A finish of unknown age may hold lead (paint before 1978 in the United States, CPSC 16 CFR 1303): "
    "do not sand or scrape it dry; test it or take it off wet, away from food and children."
)
# common practice, no source: THIN, TOO_THIN, SHORT, PUSH, and what follows from planer and glue
THIN = (
    "Strips under 1/4 in (6 mm) are ripped on the band saw or with a guide made for thin rips, "
    "and never under 1/8 in (3 mm) on a table saw."
)
TOO_THIN = "A strip of this plan is thinner than 1/8 in (3 mm): do not rip it on a table saw."
SHORT = "Pieces shorter than 12 in (300 mm) do not go over a jointer or through a planer; the machine's manual governs."
# common practice, no source
WIDE_STRIP = inches("5")
WIDE = "A strip over 5 in (125 mm) wide may cup if it is flat-sawn: let it come to rest before the glue-up."
PUSH = "Keep hands clear of the blade: use a push stick for narrow strips and for the end of every rip."
# Haz-Map, U.S. National Library of Medicine, after IARC: hardwood dust and cancer.
DUST = (
    "Wear a dust mask and draw the dust off: dust of some species irritates or sensitises, hardwood dust can cause "
    "cancer of the nose (IARC, in Haz-Map), and a wood that is not named here is not thereby harmless."
)
# FDA Food Code 4-101.17 (United States) binds food businesses, not homes.
FOOD = (
    "If food will touch the board: trade kitchens use hard maple or an equally hard, close-grained wood "
    "(FDA Food Code 4-101.17, United States)."
)
END_GRAIN = (
    "An end-grain board goes through no planer unless its maker allows it: a router sled or a drum sander flattens it."
)
DEFER = "The makers' manuals, local codes and qualified advice come before anything said here."


def with_cautions(plan: Plan, workshop: Workshop = DEFAULT_WORKSHOP, display: Display = DEFAULT_DISPLAY) -> Plan:
    """The plan with the cautions of each of its fills, as this shop's planer and glue make them due."""
    return replace(
        plan,
        fills=tuple(replace(fill, cautions=cautions_for(fill, workshop, display)) for fill in plan.fills),
    )


def cautions_for(fill: Fill, workshop: Workshop, display: Display) -> tuple[str, ...]:
    """The cautions of this fill, the most dangerous first."""
    return tuple(_applicable(fill, workshop, display))


def _applicable(fill: Fill, workshop: Workshop, display: Display) -> Iterator[str]:
    cuts, operations = fill.cuts, operations_for(fill, workshop)
    yield METAL
    if any(face is Face.FINISHED for cut in cuts for face in cut.offcut.faces):
        yield LEAD
    if operations.thinnest < THIN_RIP_WIDTH:
        yield THIN
    if operations.thinnest < MIN_RIP_WIDTH:
        yield TOO_THIN
    if operations.short_offcuts or operations.short_lengths:
        yield SHORT
    if any(
        width > WIDE_STRIP and not glue_up.request.grain.on_edge
        for glue_up, own in zip(fill.glue_ups, strips_by_glue_up(fill), strict=True)
        for _, width in own
    ):
        yield WIDE
    yield PUSH
    yield from _gluing(operations, workshop, display)
    names = sorted({known.name for cut in cuts if (known := find_species(cut.offcut.species)) is not None})
    yield DUST
    for name in names:
        yield from recorded_effects(f"Dust of {name}, on record", dust_remarks(name), ANY_DUST)
    yield FOOD
    for name in names:
        yield from recorded_effects(f"Food on {name}, on record", contact_remarks(name), ANY_CONTACT)
    yield DEFER


def recorded_effects(about: str, remarks: Iterable[Remark], for_any: Sequence[Remark]) -> Iterator[str]:
    """One sentence with every remark that is this species' own, each with its source in brackets."""
    own = [each for each in remarks if each not in for_any]
    # A list that names a wood and no effect adds nothing where another source names one.
    own = [each for each in own if each.source != HANSARD] or own
    if own:
        text = "; ".join(
            f"{each.text} [{SHORT_SOURCES[each.source]}{'' if each.seen else ', from memory'}]" for each in own
        )
        yield f"{about}: {text}."


def _gluing(operations: Operations, workshop: Workshop, display: Display) -> Iterator[str]:
    methods = {each.flattening for each in operations.glue_ups}
    if methods & {Flattening.AFTER_TRIMMING, Flattening.IN_PARTS, Flattening.OTHER_METHOD}:
        yield (
            f"A glue-up wider than the planer ({format_length(workshop.planer_width, display)}) is flattened "
            "another way or glued in parts that go through it."
        )
    if any(each.exceeds_spread for each in operations.glue_ups):
        yield (
            "More strips than one spread of glue covers are glued in stages: here "
            f"{workshop.max_strips_per_spread}, by {format_minutes(workshop.open_time)} of open time at "
            f"{strips(workshop.spread_rate)} a minute. "
            "The glue's own sheet governs."
        )
    if Flattening.END_GRAIN in methods:
        yield END_GRAIN
