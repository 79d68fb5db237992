"""What the finished board will be: its sizes and wood, how heavy it is, and how far it moves through the year.

Weights in kg, sizes Length. In words: `inventory.wording.effort_text`.

Strips of flat-sawn stock turned on edge show their radial direction across the glue-up; laid flat, the tangential
one. Quarter-sawn stock is the other way round (growth rings turn with the strip: Wood Handbook, FPL-GTR-190,
chapter 13).
"""

from __future__ import annotations

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
from inventory.core.workshop import Sawn, Workshop
from inventory.fill.plan import Fill, PlannedGlueUp
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
class SizeMovement:
    """By how much one size of a board grows from the driest air to the dampest, if its stock was `sawn` so.

    `name` is `width` or `length`; the length of a board moves only where it was a panel's thickness. `strips` is how
    its strips were laid, which gives the `direction` of the coefficient. `by` is None where a species' is not known.
    `sources` are those of the coefficients; `rough` are the species calculated from their total shrinkage instead, each
    with its source.
    """

    name: str
    size: Length
    strips: Grain
    sawn: Sawn
    direction: Direction
    by: Length | None
    unknown: tuple[str, ...]
    sources: tuple[str, ...]
    rough: tuple[tuple[str, str], ...]


@dataclass(frozen=True)
class FinishedBoard:
    """A board as it will be, or several boards alike; `boards` are their numbers from 0.

    `shares` has the share of each species in the wood, species with most first. `strips` is how the strips were laid,
    turned on edge or flat; of a board `sliced` from panels, those of the panels.
    """

    boards: tuple[int, ...]
    length: Length
    width: Length
    thickness: Length
    shares: tuple[tuple[str, Fraction], ...]
    strips: Grain
    sliced: bool

    @property
    def volume(self) -> int:
        """In whole mm³."""
        return volume_mm3(self.length, self.width, self.thickness)

    @property
    def kilograms(self) -> Fraction | None:
        """The weight at 12 % moisture content, without glue and finish; None where a species' is not known."""
        weights = [weight_kg(int(self.volume * share), species) for species, share in self.shares]
        known = [weight for weight in weights if weight is not None]
        return sum(known, Fraction(0)) if len(known) == len(weights) else None

    @property
    def unweighed(self) -> tuple[str, ...]:
        """The species of which no weight is known, in order of their names."""
        return tuple(sorted(species for species, _ in self.shares if weight_kg(self.volume, species) is None))


def finished_boards(fill: Fill, request: BoardRequest) -> tuple[FinishedBoard, ...]:
    """Every board of a fill; those of the same sizes and the same mix of species together.

    `request` gives the sizes of a board whose panels don't have its length; any other board is its own glue-up's
    request.
    """
    boards = []
    for number, (shares, glue_up) in enumerate(_board_shares(fill)):
        sizes = _board_request(glue_up, request) if glue_up.rows else glue_up.request
        most_first = tuple(sorted(shares.items(), key=lambda each: (-each[1], each[0])))
        strips, sliced = glue_up.request.grain, glue_up.rows > 0
        boards.append(FinishedBoard((number,), sizes.length, sizes.width, sizes.thickness, most_first, strips, sliced))
    alike: dict[FinishedBoard, list[int]] = {}
    for board in boards:
        alike.setdefault(replace(board, boards=()), []).extend(board.boards)
    return tuple(replace(board, boards=tuple(numbers)) for board, numbers in alike.items())


def size_movements(board: FinishedBoard, workshop: Workshop) -> tuple[SizeMovement, ...]:
    """How each size of the board that lies across the grain of its strips moves in this workshop's air.

    Two for each size: of flat-sawn stock, then of quarter-sawn. In an end-grain board what was through the panel's
    thickness runs along the rows.
    """
    across = flat_sawn_direction(board.strips)
    moving = [("width", board.width, across)]
    if board.sliced:
        moving.append(("length", board.length, across.other))
    return tuple(
        _movement(board, name, size, sawn, direction, workshop)
        for name, size, flat in moving
        for sawn, direction in ((Sawn.FLAT, flat), (Sawn.QUARTER, flat.other))
    )


def moisture_range(workshop: Workshop) -> tuple[Fraction, Fraction]:
    """The moisture content of wood in the workshop's driest and in its dampest air, in percent."""
    return (
        equilibrium_moisture(workshop.driest, workshop.celsius),
        equilibrium_moisture(workshop.dampest, workshop.celsius),
    )


def coefficients_hold(workshop: Workshop) -> bool:
    """Whether the coefficients of movement hold over the whole range of moisture."""
    return all(map(coefficients_valid, moisture_range(workshop)))


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


def _board_shares(fill: Fill) -> list[tuple[dict[str, Fraction], PlannedGlueUp]]:
    """For each board the share of each species in it, and one of its glue-ups."""
    wood: dict[int, dict[str, int]] = {}
    first: dict[int, PlannedGlueUp] = {}
    for glue_up, strips in zip(fill.glue_ups, strips_by_glue_up(fill), strict=True):
        first.setdefault(glue_up.board, glue_up)
        here = wood.setdefault(glue_up.board, {})
        for species, width in strips:
            here[species] = here.get(species, 0) + width * max(glue_up.rows, 1)
    return [
        ({species: Fraction(width, sum(woods.values())) for species, width in woods.items()}, first[board])
        for board, woods in sorted(wood.items())
    ]


def _movement(
    board: FinishedBoard, name: str, size: Length, sawn: Sawn, direction: Direction, workshop: Workshop
) -> SizeMovement:
    """What each species' share of the size moves, summed up: equation 13-2 over the strips."""
    driest, dampest = moisture_range(workshop)
    grown = Fraction(0)
    unknown, sources, rough = [], [], []
    for species, share in sorted(board.shares):
        moves, source = _moves(species, direction)
        if moves is None:
            unknown.append(species)
            continue
        grown += size * share * relative_change(moves, driest, dampest)
        if isinstance(moves, TotalShrinkage):
            rough.append((species, source))
        else:
            sources.append(source)
    return SizeMovement(
        name=name,
        size=size,
        strips=board.strips,
        sawn=sawn,
        direction=direction,
        by=None if unknown else Length(round(grown)),
        unknown=tuple(unknown),
        sources=tuple(dict.fromkeys(sources)),
        rough=tuple(rough),
    )


def _moves(species: str, direction: Direction) -> tuple[MovementModel | None, str]:
    known = movement_of(species)
    if known is None:
        return None, ""
    return (known.radial if direction is Direction.RADIAL else known.tangential), known.source
