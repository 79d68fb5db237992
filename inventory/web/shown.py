"""A plan as the pages show it: sets of offcuts, drawn and told, each once however often it is best.

Knows how fills are named, ranked and compared on a page. Knows nothing of how
they are found, and no address.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from markupsafe import Markup

from inventory.cutting.cost import Preference
from inventory.fill.layout import Layout, PieceInFill, lay_out
from inventory.fill.plan import Fill, Plan
from inventory.fill.request import BoardRequest
from inventory.fill.steps import PieceSteps, glue_up_steps, piece_steps
from inventory.fill.workshop import Workshop
from inventory.measures import Display, Unit, show_volume
from inventory.pieces import Face, Offcut
from inventory.services.filling import fill_key
from inventory.web.drawings.cutting import draw_cutting
from inventory.web.drawings.glue_up import draw_glue_up
from inventory.web.drawings.patterns import Hatchings, species_name
from inventory.web.effort import ShownEffort, show_effort, unbroken

MM2_PER_SQUARE_FOOT = 92_903.04
"""1 ft = 304.8 mm exactly (NIST Special Publication 811, Appendix B.6; from memory)."""

PLACES = (
    "Best",
    *("Second best", "Third best", "Fourth best", "Fifth best", "Sixth best"),
    *("Seventh best", "Eighth best", "Ninth best", "Tenth best"),
)


@dataclass(frozen=True)
class ShownPieces:
    """One piece, or like pieces that are cut alike, with drawing and steps."""

    pieces: tuple[PieceInFill, ...]
    drawing: Markup
    steps: PieceSteps

    @property
    def offcut(self) -> Offcut:
        return self.pieces[0].offcut

    @property
    def letters(self) -> str:
        return ", ".join(piece.letter for piece in self.pieces)

    @property
    def finished(self) -> bool:
        """Whether an old finish has to come off."""
        return Face.FINISHED in self.offcut.faces


@dataclass(frozen=True)
class Shown:
    """One glue-up, drawn, with its pieces, its steps and the figures that tell what it costs."""

    fill: Fill
    layout: Layout
    drawing: Markup
    pieces: tuple[ShownPieces, ...]
    glue_up: tuple[str, ...]
    species: tuple[tuple[str, Markup], ...]
    figures: tuple[tuple[str, str], ...]
    effort: ShownEffort


@dataclass(frozen=True)
class Place:
    """Where a set stands for some preferences: `rank` from 0, and how sure that is."""

    preferences: tuple[Preference, ...]
    rank: int
    sure: str

    @property
    def word(self) -> str:
        return PLACES[self.rank]


@dataclass(frozen=True)
class NamedSet:
    """A set of offcuts with the name it goes by on the page, e.g. `Set 2`, and its places."""

    name: str
    anchor: str
    key: str
    shown: Shown
    places: tuple[Place, ...]

    @property
    def best_for(self) -> tuple[Preference, ...]:
        return tuple(each for place in self.places if place.rank == 0 for each in place.preferences)


@dataclass(frozen=True)
class Answer:
    """All sets of a plan, the best ones first, and by preference in their order."""

    sets: tuple[NamedSet, ...]
    ranking: tuple[tuple[Preference, tuple[NamedSet, ...]], ...]

    @property
    def best(self) -> tuple[NamedSet, ...]:
        return tuple(each for each in self.sets if each.best_for)

    @property
    def further(self) -> tuple[NamedSet, ...]:
        return tuple(each for each in self.sets if not each.best_for)


def show_fill(
    fill: Fill, request: BoardRequest, workshop: Workshop, display: Display, hatchings: Hatchings, drawing_id: str
) -> Shown:
    """One fill, drawn and told. `drawing_id` must be unique on the page."""
    layout = lay_out(fill, request)
    effort = show_effort(fill, layout, workshop, display)
    pieces = tuple(
        ShownPieces(
            group,
            draw_cutting(group, display, hatchings, f"{drawing_id}-{group[0].letter.lower()}"),
            _unbroken_steps(piece_steps(group, layout, display)),
        )
        for group in layout.like_pieces
    )
    species = sorted({piece.offcut.species for piece in layout.pieces})
    return Shown(
        fill=fill,
        layout=layout,
        drawing=draw_glue_up(layout, display, hatchings, drawing_id),
        pieces=pieces,
        glue_up=tuple(unbroken(step) for step in glue_up_steps(layout, display)),
        species=tuple(
            (species_name(name), hatchings.sample(name, f"{drawing_id}-sample-{place}"))
            for place, name in enumerate(species)
        ),
        figures=(*figures(fill, layout, display.unit), *effort.figures),
        effort=effort,
    )


def show_answer(plan: Plan, workshop: Workshop, display: Display) -> Answer:
    """The plan's sets, each drawn once; the best of each preference come first."""
    hatchings = Hatchings.of(cut.offcut.species for fill in plan.fills for cut in fill.cuts)
    by_preference: dict[Preference, list[Fill]] = {}
    for fill in plan.fills:
        by_preference.setdefault(fill.prefer, []).append(fill)
    places: dict[object, list[Place]] = {}
    first: dict[object, Fill] = {}
    ranked = sorted(
        ((rank, order, fill) for order, fills in enumerate(by_preference.values()) for rank, fill in enumerate(fills)),
        key=lambda each: each[:2],
    )
    for rank, _, fill in ranked:
        same = _same_cuts(fill)
        first.setdefault(same, fill)
        places.setdefault(same, []).append(Place((fill.prefer,), rank, how_sure(fill, rank)))
    sets = {
        same: NamedSet(
            name=f"Set {number}",
            anchor=f"set-{number}",
            key=fill_key(fill),
            shown=show_fill(fill, plan.request, workshop, display, hatchings, f"set-{number}"),
            places=_together(places[same]),
        )
        for number, (same, fill) in enumerate(first.items(), 1)
    }
    ranking = tuple(
        (preference, tuple(sets[_same_cuts(fill)] for fill in fills)) for preference, fills in by_preference.items()
    )
    return Answer(tuple(sets.values()), ranking)


def _together(places: Sequence[Place]) -> tuple[Place, ...]:
    """Places of one rank and certainty as one: a set that is best for three preferences says so once."""
    grouped: dict[tuple[int, str], tuple[Preference, ...]] = {}
    for place in places:
        key = (place.rank, place.sure)
        grouped[key] = grouped.get(key, ()) + place.preferences
    return tuple(Place(preferences, rank, sure) for (rank, sure), preferences in grouped.items())


def how_sure(fill: Fill, rank: int) -> str:
    """Whether a better one could be on the rack."""
    if fill.proven:
        return "Proven: the rack holds none better." if rank == 0 else "Proven: none better with other offcuts."
    value = _minimised_first(fill)
    if value is None or fill.bound <= 0:
        return "Not proven to be the best."
    share = 100 * (value - fill.bound) / fill.bound
    return f"Not proven: at most {share:.1f} % from the best there can be."


def figures(fill: Fill, layout: Layout, unit: Unit) -> list[tuple[str, str]]:
    """What the set costs and what work it is, as (term, value)."""
    offcuts = list(dict.fromkeys((cut.offcut, cut.piece) for cut in fill.cuts))
    faces = [face for offcut, _ in offcuts for face in offcut.faces]
    return [
        ("Yield", f"{fill.yield_share * 100:.0f} %"),
        ("Wood off the rack", show_volume(fill.loss, unit)),
        ("Waste", show_volume(fill.waste, unit)),
        ("Offcuts", str(fill.pieces)),
        ("Strips", str(fill.strips)),
        ("Rips", str(layout.rips)),
        ("Crosscuts", str(layout.crosscuts)),
        ("Glue lines", str(fill.glue_lines)),
        ("Rough faces to flatten", str(faces.count(Face.ROUGH))),
        ("Faces with old finish", str(faces.count(Face.FINISHED))),
        ("Area to flatten or strip", _area(fill.dirty, unit)),
    ]


def _unbroken_steps(steps: PieceSteps) -> PieceSteps:
    return PieceSteps(unbroken(steps.flatten), unbroken(steps.crosscut), tuple(unbroken(step) for step in steps.rip))


def _area(mm2: int, unit: Unit) -> str:
    return f"{mm2 / MM2_PER_SQUARE_FOOT:.1f} sq ft" if unit is Unit.INCH else f"{mm2 / 1e6:.2f} m²"


def _same_cuts(fill: Fill) -> object:
    """Equal for fills that take the same pieces and cut them alike."""
    return frozenset((cut.offcut.tag, cut.piece, cut.rips, cut.adds, cut.closing) for cut in fill.cuts)


def _minimised_first(fill: Fill) -> int | None:
    """What the fill's preference minimises first; None where it can't be read off the fill alone."""
    match fill.prefer:
        case Preference.LEAST_WASTE:
            return fill.loss
        case Preference.FEWEST_PIECES:
            return fill.pieces
        case Preference.LEAST_MILLING:
            return fill.dirty
        case Preference.CLEAR_OUT:
            return None


def tags_of(sets: Sequence[NamedSet]) -> tuple[str, ...]:
    """The tags of all offcuts in these sets, each once."""
    return tuple(dict.fromkeys(cut.offcut.tag for each in sets for cut in each.shown.fill.cuts))
