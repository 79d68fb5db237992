"""A plan as the pages show it: sets of offcuts, drawn and told, each once however often it is best."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from markupsafe import Markup

from inventory.core.lengths import Display, Unit, format_volume
from inventory.core.offcuts import Face, Offcut
from inventory.core.workshop import Workshop
from inventory.cutting.bands import StripeBand
from inventory.cutting.costs import Preference
from inventory.cutting.cuts import Cut
from inventory.fill.certainty import certainty_of
from inventory.fill.plan import Fill, Plan
from inventory.fill.request import BoardRequest
from inventory.layout.positions import FillLayout, LetteredPiece
from inventory.layout.rounds import Round, whole
from inventory.layout.strip_layout import lay_out_fill
from inventory.services.boards.filling import fill_key
from inventory.web.bench.effort_view import EffortView, build_effort_view, nonbreaking
from inventory.web.bench.glue_up_views import GlueUpView, SlicedBoardView, build_glue_up_views, build_sliced_board_views
from inventory.web.bench.pools_view import PoolView, build_pool_views
from inventory.web.drawings.cut_diagram import draw_cutting
from inventory.web.drawings.hatching import HatchPatterns, species_name
from inventory.web.drawings.photo_texture import Texture
from inventory.web.drawings.resawing import draw_resawing
from inventory.wording.certainty_text import certainty_sentence
from inventory.wording.steps import PieceSteps, piece_steps

MM2_PER_SQUARE_FOOT = 92_903.04
"""1 ft = 304.8 mm exactly (NIST Special Publication 811, Appendix B.6; from memory)."""

RANK_NAMES = (
    "Best",
    *("Second best", "Third best", "Fourth best", "Fifth best", "Sixth best"),
    *("Seventh best", "Eighth best", "Ninth best", "Tenth best"),
)


@dataclass(frozen=True)
class CutPiecesView:
    """One piece, or like pieces that are cut alike, with drawing and steps; `resawing` where strips are resawn."""

    pieces: tuple[LetteredPiece, ...]
    drawing: Markup
    resawing: Markup | None
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
class FillView:
    """A fill, drawn: its glue-ups, its pieces, and the figures that tell what it costs.

    `sliced` are the end-grain boards that are made of the glue-ups.
    """

    fill: Fill
    fill_layout: FillLayout
    pieces: tuple[CutPiecesView, ...]
    glue_ups: tuple[GlueUpView, ...]
    sliced: tuple[SlicedBoardView, ...]
    species: tuple[tuple[str, Markup], ...]
    figures: tuple[tuple[str, str], ...]
    effort: EffortView

    @property
    def strips(self) -> str:
        """How many strips: `5 strips`, or `8 strips ripped, 9 glued up`."""
        words = _strips(self.fill, self.fill_layout)
        number, _, more = words.partition(" ")
        return f"{number} strip{'s' if number != '1' else ''}{f' {more}' if more else ''}"

    def letter_of(self, cut: Cut) -> str:
        """The letter of the piece that a cut is made in."""
        return self.fill_layout.letters[cut.offcut.tag, cut.piece]


@dataclass(frozen=True)
class OptionRank:
    """Where a set stands for some preferences: `rank` from 0, and how sure that is."""

    preferences: tuple[Preference, ...]
    rank: int
    certainty: str

    @property
    def word(self) -> str:
        return RANK_NAMES[self.rank]


@dataclass(frozen=True)
class OptionView:
    """A set of offcuts with the name it goes by on the page, e.g. `Set 2`, and its places."""

    name: str
    anchor: str
    key: str
    shown: FillView
    places: tuple[OptionRank, ...]
    pools: tuple[PoolView, ...]

    @property
    def best_for(self) -> tuple[Preference, ...]:
        return tuple(each for place in self.places if place.rank == 0 for each in place.preferences)


@dataclass(frozen=True)
class AnswerView:
    """All sets of a plan, the best ones first, and by preference in their order."""

    sets: tuple[OptionView, ...]
    ranking: tuple[tuple[Preference, tuple[OptionView, ...]], ...]

    @property
    def best(self) -> tuple[OptionView, ...]:
        return tuple(each for each in self.sets if each.best_for)

    @property
    def further(self) -> tuple[OptionView, ...]:
        return tuple(each for each in self.sets if not each.best_for)


def build_fill_view(
    fill: Fill, request: BoardRequest, workshop: Workshop, display: Display, hatchings: HatchPatterns, drawing_id: str
) -> FillView:
    """One fill in its proposed order, drawn and told. `drawing_id` must be unique on the page."""
    return build_layout_view(fill, lay_out_fill(fill, request), workshop, display, hatchings, drawing_id, None)


def build_layout_view(
    fill: Fill,
    fill_layout: FillLayout,
    workshop: Workshop,
    display: Display,
    hatchings: HatchPatterns,
    drawing_id: str,
    textures: Mapping[str, Texture] | None,
    part: Round | None = None,
) -> FillView:
    """One fill as it is laid out, drawn and told; with `textures` its glue-ups show the photos of its offcuts.

    With a `part` only that round of it is drawn; the figures are those of the whole.
    """
    effort = build_effort_view(fill, fill_layout.request, fill_layout.layouts, workshop, display)
    part = part or whole(fill_layout)
    pieces = tuple(
        CutPiecesView(
            group,
            draw_cutting(group, display, hatchings, f"{drawing_id}-{group[0].letter.lower()}"),
            draw_resawing(group, display, hatchings, f"{drawing_id}-{group[0].letter.lower()}-end"),
            _nonbreaking_steps(piece_steps(group, part.fill_layout.layout_of(group[0]), display)),
        )
        for group in part.fill_layout.identical_pieces
    )
    species = sorted({strip.offcut.species for strip in part.fill_layout.strips})
    return FillView(
        fill=fill,
        fill_layout=fill_layout,
        pieces=pieces,
        glue_ups=build_glue_up_views(part, display, hatchings, drawing_id, textures),
        sliced=build_sliced_board_views(part, display, hatchings, drawing_id),
        species=tuple(
            (species_name(name), hatchings.sample(name, f"{drawing_id}-sample-{place}"))
            for place, name in enumerate(species)
        ),
        figures=(*figures(fill, fill_layout, display.unit), *effort.figures),
        effort=effort,
    )


def build_answer_view(plan: Plan, workshop: Workshop, display: Display) -> AnswerView:
    """The plan's sets, each drawn once; the best of each preference come first."""
    hatchings = HatchPatterns.of(cut.offcut.species for fill in plan.fills for cut in fill.cuts)
    by_preference: dict[Preference, list[Fill]] = {}
    for fill in plan.fills:
        by_preference.setdefault(fill.prefer, []).append(fill)
    places: dict[object, list[OptionRank]] = {}
    first: dict[object, Fill] = {}
    ranked = sorted(
        ((rank, order, fill) for order, fills in enumerate(by_preference.values()) for rank, fill in enumerate(fills)),
        key=lambda each: each[:2],
    )
    for rank, _, fill in ranked:
        same = fill.cuts_key
        first.setdefault(same, fill)
        places.setdefault(same, []).append(
            OptionRank((fill.prefer,), rank, certainty_sentence(certainty_of(fill, plan.request.on), best=rank == 0))
        )
    sets: dict[object, OptionView] = {}
    for number, (same, fill) in enumerate(first.items(), 1):
        shown = build_fill_view(fill, plan.request, workshop, display, hatchings, f"set-{number}")
        sets[same] = OptionView(
            name=f"Set {number}",
            anchor=f"set-{number}",
            key=fill_key(fill),
            shown=shown,
            places=_merge_ranks(places[same]),
            pools=build_pool_views(fill, plan.request, shown.letter_of, display),
        )
    ranking = tuple(
        (preference, tuple(sets[fill.cuts_key] for fill in fills)) for preference, fills in by_preference.items()
    )
    return AnswerView(tuple(sets.values()), ranking)


def _merge_ranks(places: Sequence[OptionRank]) -> tuple[OptionRank, ...]:
    """Places of one rank and certainty as one: a set that is best for three preferences says so once."""
    grouped: dict[tuple[int, str], tuple[Preference, ...]] = {}
    for place in places:
        key = (place.rank, place.certainty)
        grouped[key] = grouped.get(key, ()) + place.preferences
    return tuple(OptionRank(preferences, rank, certainty) for (rank, certainty), preferences in grouped.items())


def figures(fill: Fill, fill_layout: FillLayout, unit: Unit) -> list[tuple[str, str]]:
    """What the set costs and what work it is, as (term, value)."""
    offcuts = list(dict.fromkeys((cut.offcut, cut.piece) for cut in fill.cuts))
    faces = [face for offcut, _ in offcuts for face in offcut.faces]
    return [
        ("Yield", f"{fill.yield_share * 100:.0f} %"),
        ("Wood off the rack", format_volume(fill.loss, unit)),
        ("Waste", format_volume(fill.waste, unit)),
        ("Offcuts", str(fill.pieces)),
        ("Strips", _strips(fill, fill_layout)),
        ("Rips", str(fill_layout.rips)),
        ("Crosscuts", str(fill_layout.crosscuts)),
        *(
            [("Resaws", str(fill_layout.resaws))]
            if any(isinstance(each, StripeBand) for each in fill_layout.request.bands)
            else []
        ),
        *_slicing(fill, fill_layout),
        ("Rough faces to flatten", str(faces.count(Face.ROUGH))),
        ("Faces with old finish", str(faces.count(Face.FINISHED))),
        ("Area to flatten or strip", _area(fill.milling_area, unit)),
    ]


def _slicing(fill: Fill, fill_layout: FillLayout) -> list[tuple[str, str]]:
    """The lines of glue; of end grain the slices too, and the lines of both glue-ups."""
    panels = [layout.planned for layout in fill_layout.layouts if layout.planned.rows]
    if not panels:
        return [("Glue lines", str(fill.glue_lines))]
    slices = sum(panel.rows for panel in panels)
    between = slices - len({panel.board for panel in panels})
    first = "the panel" if len(panels) == 1 else "the panels"
    return [("Slices", str(slices)), ("Glue lines", f"{fill.glue_lines} in {first}, {between} between rows")]


def _strips(fill: Fill, fill_layout: FillLayout) -> str:
    """How many are ripped; where some are resawn to leaves, or are spare, how many are glued up too."""
    glued = sum(len(layout.strips) for layout in fill_layout.layouts)
    return str(fill.strips) if glued == fill.strips else f"{fill.strips} ripped, {glued} glued up"


def _nonbreaking_steps(steps: PieceSteps) -> PieceSteps:
    return PieceSteps(
        nonbreaking(steps.crosscut),
        nonbreaking(steps.flatten),
        tuple(nonbreaking(step) for step in steps.rip),
        tuple(nonbreaking(step) for step in steps.resaw),
    )


def _area(mm2: int, unit: Unit) -> str:
    return f"{mm2 / MM2_PER_SQUARE_FOOT:.1f} sq ft" if unit is Unit.INCH else f"{mm2 / 1e6:.2f} m²"


def option_tags(sets: Sequence[OptionView]) -> tuple[str, ...]:
    """The tags of all offcuts in these sets, each once."""
    return tuple(dict.fromkeys(cut.offcut.tag for each in sets for cut in each.shown.fill.cuts))
