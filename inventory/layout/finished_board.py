"""What the finished board will be: how heavy, and how far its width moves through the year.

Tells nothing in words: that is `inventory.wording.effort_text`. Weights in kg, sizes Length.

Strips of flat-sawn stock turned on edge show their radial direction across the glue-up; laid flat, the tangential
one. Quarter-sawn stock is the other way round (growth rings turn with the strip: Wood Handbook, FPL-GTR-190,
chapter 13).
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from enum import Enum
from fractions import Fraction

from inventory.core.lengths import Length, volume_mm3
from inventory.core.moisture import (
    MovementModel,
    TotalShrinkage,
    coefficients_valid,
    equilibrium_moisture,
    relative_change,
)
from inventory.core.species import movement_of, weight_kg
from inventory.core.workshop import Workshop
from inventory.cutting.cuts import Cut
from inventory.fill.plan import PlannedGlueUp
from inventory.fill.request import BoardRequest, Grain
from inventory.layout.operations import slice_length, strips_by_glue_up


class Direction(Enum):
    """Across the grain from bark to pith, or along the growth rings."""

    RADIAL = "radial"
    TANGENTIAL = "tangential"

    @property
    def other(self) -> Direction:
        return Direction.TANGENTIAL if self is Direction.RADIAL else Direction.RADIAL


@dataclass(frozen=True)
class BoardWeight:
    """The weight at 12 % moisture content, without glue and finish; None where a species' is not known."""

    kilograms: Fraction | None
    unknown: tuple[str, ...]


@dataclass(frozen=True)
class SizeMovement:
    """By how much a size grows from the driest air to the dampest, by the coefficient of one direction.

    `by` is None where a species' is not known. `sources` are those of the
    coefficients; `rough` are the species calculated from their total shrinkage instead,
    each with its source.
    """

    direction: Direction
    by: Length | None
    unknown: tuple[str, ...]
    sources: tuple[str, ...]
    rough: tuple[tuple[str, str], ...]


@dataclass(frozen=True)
class SizeChange:
    """How one size of the board, `width` or `length`, moves if the stock was flat-sawn, and if quarter-sawn.

    `strips` is how its strips were laid, turned on edge or flat; the length of a board
    moves only where it was a panel's thickness.
    """

    name: str
    size: Length
    strips: Grain
    flat_sawn: SizeMovement
    quarter_sawn: SizeMovement


@dataclass(frozen=True)
class SeasonalMoisture:
    """The moisture content of wood in the driest and in the dampest air, in percent."""

    driest: Fraction
    dampest: Fraction

    @property
    def coefficients_valid(self) -> bool:
        """Whether the coefficients hold over the whole swing."""
        return coefficients_valid(self.driest) and coefficients_valid(self.dampest)


@dataclass(frozen=True)
class FinishedBoard:
    """A board as it will be, or several boards alike; `boards` are their numbers from 0."""

    boards: tuple[int, ...]
    weight: BoardWeight
    seasons: SeasonalMoisture
    changes: tuple[SizeChange, ...]


@dataclass(frozen=True)
class BoardComposition:
    """One board as it will be: its sizes, its volume in whole mm³, and the share of each species in it."""

    board: int
    length: Length
    width: Length
    thickness: Length
    shares: tuple[tuple[str, Fraction], ...]

    @property
    def volume(self) -> int:
        return volume_mm3(self.length, self.width, self.thickness)


def board_compositions(
    cuts: Sequence[Cut], glue_ups: Sequence[PlannedGlueUp], request: BoardRequest
) -> tuple[BoardComposition, ...]:
    """Every board of these cuts by its wood; `request` as for `finished_boards`. Species with most first."""
    found = []
    for board, (shares, glue_up) in enumerate(_board_shares(cuts, glue_ups)):
        sizes = _board_request(glue_up, request) if glue_up.rows else glue_up.request
        most_first = tuple(sorted(shares.items(), key=lambda each: (-each[1], each[0])))
        found.append(BoardComposition(board, sizes.length, sizes.width, sizes.thickness, most_first))
    return tuple(found)


def finished_boards(
    cuts: Sequence[Cut], glue_ups: Sequence[PlannedGlueUp], request: BoardRequest, workshop: Workshop
) -> tuple[FinishedBoard, ...]:
    """Every board of these cuts; boards of the same mix of species are told together.

    `request` gives the sizes of a board that is sliced from panels which don't tell its
    length; any other board is its own glue-up's request.
    """
    seasons = SeasonalMoisture(
        equilibrium_moisture(workshop.driest, workshop.celsius),
        equilibrium_moisture(workshop.dampest, workshop.celsius),
    )
    alike: dict[tuple[BoardWeight, tuple[SizeChange, ...]], list[int]] = {}
    for board, (shares, glue_up) in enumerate(_board_shares(cuts, glue_ups)):
        sizes = _board_request(glue_up, request) if glue_up.rows else glue_up.request
        volume = volume_mm3(sizes.length, sizes.width, sizes.thickness)
        changes = tuple(
            SizeChange(
                name,
                size,
                glue_up.request.grain,
                _movement_of(size, flat, shares, seasons),
                _movement_of(size, flat.other, shares, seasons),
            )
            for name, size, flat in _moving_sizes(sizes, glue_up)
        )
        alike.setdefault((_weight(volume, shares), changes), []).append(board)
    return tuple(FinishedBoard(tuple(boards), weight, seasons, changes) for (weight, changes), boards in alike.items())


def _board_request(panel: PlannedGlueUp, request: BoardRequest) -> BoardRequest:
    """The board that is sliced from a panel: its own sizes where the panel tells its length, else the request's."""
    if panel.board_length is None:
        return request
    request = panel.request
    thickness = Length(slice_length(panel) - request.allowances.flattening)
    return replace(request, length=panel.board_length, thickness=thickness)


def flat_sawn_direction(grain: Grain) -> Direction:
    """The direction of flat-sawn stock that lies across a glue-up of edge or face grain."""
    return Direction.RADIAL if grain.on_edge else Direction.TANGENTIAL


def _board_shares(
    cuts: Sequence[Cut], glue_ups: Sequence[PlannedGlueUp]
) -> list[tuple[dict[str, Fraction], PlannedGlueUp]]:
    """For each board the share of each species in it, and one of its glue-ups."""
    wood: dict[int, dict[str, int]] = {}
    first: dict[int, PlannedGlueUp] = {}
    for glue_up, strips in zip(glue_ups, strips_by_glue_up(cuts, len(glue_ups)), strict=True):
        first.setdefault(glue_up.board, glue_up)
        here = wood.setdefault(glue_up.board, {})
        for species, width in strips:
            here[species] = here.get(species, 0) + width * max(glue_up.rows, 1)
    return [
        ({species: Fraction(width, sum(woods.values())) for species, width in sorted(woods.items())}, first[board])
        for board, woods in sorted(wood.items())
    ]


def _moving_sizes(sizes: BoardRequest, glue_up: PlannedGlueUp) -> list[tuple[str, Length, Direction]]:
    """Each size that lies across the grain of the strips, with its direction in flat-sawn stock.

    In an end-grain board what was through the panel's thickness runs along the rows.
    """
    across = flat_sawn_direction(glue_up.request.grain)
    moving = [("width", sizes.width, across)]
    if glue_up.rows:
        moving.append(("length", sizes.length, across.other))
    return moving


def _weight(volume: int, shares: dict[str, Fraction]) -> BoardWeight:
    weights = {species: weight_kg(int(volume * share), species) for species, share in shares.items()}
    unknown = tuple(species for species, weight in weights.items() if weight is None)
    known = [weight for weight in weights.values() if weight is not None]
    return BoardWeight(None if unknown else sum(known, Fraction(0)), unknown)


def _movement_of(
    size: Length, direction: Direction, shares: dict[str, Fraction], seasons: SeasonalMoisture
) -> SizeMovement:
    """What each species' share of the size moves, summed up: equation 13-2 over the strips."""
    grown = Fraction(0)
    unknown, sources, rough = [], [], []
    for species, share in shares.items():
        moves, source = _moves(species, direction)
        if moves is None:
            unknown.append(species)
            continue
        grown += size * share * relative_change(moves, seasons.driest, seasons.dampest)
        if isinstance(moves, TotalShrinkage):
            rough.append((species, source))
        else:
            sources.append(source)
    by = None if unknown else Length(round(grown))
    return SizeMovement(direction, by, tuple(unknown), tuple(dict.fromkeys(sources)), tuple(rough))


def _moves(species: str, direction: Direction) -> tuple[MovementModel | None, str]:
    known = movement_of(species)
    if known is None:
        return None, ""
    return (known.radial if direction is Direction.RADIAL else known.tangential), known.source
