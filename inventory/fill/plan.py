"""The answer to a request: fills, or what is missing (contract, "Plan").

Lengths are `Length`, volumes whole mm³, areas whole mm².
"""

from __future__ import annotations

from collections.abc import Hashable
from dataclasses import dataclass
from fractions import Fraction
from math import ceil

from inventory.core.lengths import NM_PER_INCH, Length, Unit, board_feet, volume_mm3
from inventory.core.offcuts import species_key
from inventory.cutting.cuts import Cut
from inventory.fill.request import BoardRequest, Mix, Preference

OTHER_SPECIES, ON_HOLD, MARKED = "other species", "set aside", "marked"
RULED_OUT, NOT_ON_THE_RACK = "ruled out", "not on the rack"
"""Why a piece does not serve, beside the reasons of `cutting.alternatives.Misfit`; the contract's words."""


@dataclass(frozen=True)
class PlannedGlueUp:
    """One glue-up of a fill: for which board, which of its panels, and what is glued up.

    `request` is an edge-grain or face-grain board: the board itself, or a panel of an
    end-grain board, whose side trim holds the row trim too. `rows` is the number of slices of a panel, 0 for a board;
    `board_length` is the finished length of a panel's board, where it is known.
    """

    board: int
    panel: int
    rows: int
    request: BoardRequest
    board_length: Length | None = None

    @property
    def jointed_width(self) -> Length:
        """How wide it is once its sides are jointed: of a panel, with what is trimmed off its rows later."""
        return Length(self.request.width + (self.request.allowances.row_trim if self.rows else 0))


@dataclass(frozen=True)
class Nearly:
    """An allowance that, halved for once, brings a clearly cheaper fill (cutting model, section 10).

    `tags` are those of the pieces that then serve and don't now, `pieces_more` of them in all. `cost` is that fill's
    first cost by its preference, `yield_share` its yield, `pieces` how many offcuts it takes.
    """

    allowance: str
    to: Length
    tags: tuple[str, ...]
    pieces_more: int
    cost: int
    yield_share: float
    pieces: int


@dataclass(frozen=True)
class OtherSpecies:
    """Another species of which the board could be made, the first cost of its best fill, and the yield of that."""

    species: str
    cost: int
    yield_share: float


@dataclass(frozen=True)
class RowDepthRunnerUp:
    """The second-best row depth of an end-grain board, and the first cost of its best fill."""

    row_depth: Length
    cost: int


@dataclass(frozen=True)
class Fill:
    """One set of strips that fills the board, or all boards and panels asked for.

    `bound` is a proven lower bound of what the preference minimizes first; where
    `proven`, this fill reaches the best there is in the whole order. `glue_ups` is
    never empty: a plain board is one glue-up. `nearly` is filled in by `orders.nearly`. With one species for each
    board, the first fill of the first preference has the `other_species` that would do as well, the cheapest first.
    The first fill of a preference has the `row_depth_runner_up` where an end-grain board names no row depth.
    """

    prefer: Preference
    proven: bool
    bound: int
    cuts: tuple[Cut, ...]
    board_volume: int
    glue_ups: tuple[PlannedGlueUp, ...]
    cautions: tuple[str, ...] = ()
    nearly: tuple[Nearly, ...] = ()
    other_species: tuple[OtherSpecies, ...] = ()
    row_depth_runner_up: RowDepthRunnerUp | None = None

    def __post_init__(self) -> None:
        if not self.glue_ups:
            raise ValueError("a fill has at least one glue-up")

    @property
    def loss(self) -> int:
        return sum(cut.loss for cut in self.cuts)

    @property
    def waste(self) -> int:
        return self.loss - self.board_volume

    @property
    def yield_share(self) -> float:
        """Board volume over the volume that leaves the rack, 0 to 1."""
        return self.board_volume / self.loss if self.loss > 0 else 0.0

    @property
    def species(self) -> str | None:
        """The one species of a single board without stripes, where it may not be mixed; else None."""
        requests = {glue_up.request for glue_up in self.glue_ups}
        single = all(request.mix is Mix.ONE and len(request.demands()) == 1 for request in requests)
        return self.species_of_cuts if single else None

    @property
    def species_of_cuts(self) -> str | None:
        """The species of all its pieces, None where they differ."""
        names = {species_key(cut.offcut.species) for cut in self.cuts}
        return names.pop() if len(names) == 1 else None

    @property
    def worth_lost(self) -> int:
        """Thousandths of a mm³ of prime wood."""
        return sum(cut.worth_lost for cut in self.cuts)

    @property
    def milling(self) -> int:
        """mm³ that are planed away."""
        return sum(cut.milling for cut in self.cuts)

    @property
    def milling_area(self) -> int:
        """mm² of milled faces that are not surfaced."""
        return sum(cut.milling_area for cut in self.cuts)

    @property
    def pieces(self) -> int:
        """Offcuts used; each piece under one tag counts."""
        return len({(cut.offcut.tag, cut.piece) for cut in self.cuts})

    @property
    def strips(self) -> int:
        return sum(cut.strips for cut in self.cuts)

    @property
    def glue_lines(self) -> int:
        return max(sum(cut.glued_strips for cut in self.cuts) - len(self.glue_ups), 0)

    @property
    def cuts_key(self) -> Hashable:
        """Equal for fills that take the same pieces and cut them in the same way: one option, whichever preference."""
        return frozenset(
            (cut.offcut.tag, cut.piece, cut.band, cut.rips, cut.leaves, cut.adds, cut.part, cut.shares)
            for cut in self.cuts
        )

    @property
    def row_depth(self) -> Length | None:
        """How deep the rows of an end-grain board are, of several boards those of the first; None without rows."""
        return self.glue_ups[0].request.thickness if self.glue_ups[0].rows else None

    @property
    def filled_width(self) -> Length:
        return Length(sum(cut.adds for cut in self.cuts))


@dataclass(frozen=True)
class AllowanceFix:
    """The allowance that would let an offcut serve after all, and what it would have to be."""

    allowance: str
    to: Length


@dataclass(frozen=True)
class NearMiss:
    """An offcut that was ruled out, by how little, and the one allowance that would let it serve, if any."""

    tag: str
    reason: str
    by: Length
    fix: AllowanceFix | None = None


@dataclass(frozen=True)
class Shortage:
    """What one pool or stripe is short of: `width` of glue-up; of a stripe also how many `strips`."""

    band: int
    species: tuple[str, ...]
    width: Length
    strips: int | None = None


@dataclass(frozen=True)
class Purchase:
    """Wood to buy for one pool or stripe: boards of a `thickness` as it is named and paid, which is `delivered`.

    They are at least so long and wide. `volume` counts the named thickness.
    """

    band: int
    species: tuple[str, ...]
    unit: Unit
    thickness: Length
    delivered: Length
    length: Length
    width: Length
    volume: int

    @property
    def quarters(self) -> str | None:
        """The thickness in quarters of an inch, `5/4`, as it is named where wood is sold in inches."""
        return f"{4 * self.thickness // NM_PER_INCH}/4" if self.unit is Unit.INCH else None

    @property
    def amount(self) -> Fraction:
        """Board feet, or m³ where wood is sold in millimeters, rounded up to a tenth, or a thousandth."""
        if self.unit is Unit.INCH:
            return Fraction(ceil(board_feet(self.volume) * 10), 10)
        return Fraction(-(-self.volume // 10**6), 1000)


@dataclass(frozen=True)
class UnmetDemand:
    """A demand of the request (cutting model, section 8) that can't be met, by its key in files.

    Of `with` it names the `tag` and the `reason`: `not on the rack`, `ruled out by longest`, or why the piece gives no
    strip. Without a tag the board could be filled if this one demand were dropped.
    """

    field: str
    tag: str | None = None
    reason: str | None = None


@dataclass(frozen=True)
class Shortfall:
    """Why the rack cannot fill the board (cutting model, section 10).

    `shortages` is empty where each pool could be filled alone, but not all from the same
    pieces, or not with all that the request demands. `reasons` counts pieces by `too short`, `too narrow`, `too thin`,
    `other species`, `marked`, `ruled out`, `set aside`. The largest sizes are exact for one pool; where pools share
    species, each is a size that can be filled. None where no size can. `by_mixing` says that the
    rack would fill the board if its pools and stripes could be of mixed species. `panels` is from how many panels an
    end-grain board could be filled that can't be from as many as were asked for.
    """

    shortages: tuple[Shortage, ...]
    reasons: dict[str, int]
    nearest: tuple[NearMiss, ...]
    largest_width: Length | None
    largest_length: Length | None
    largest_thickness: Length | None
    to_buy: tuple[Purchase, ...] = ()
    demands: tuple[UnmetDemand, ...] = ()
    by_mixing: bool = False
    panels: int | None = None

    @property
    def missing(self) -> Length:
        """The missing width of all pools together."""
        return Length(sum(shortage.width for shortage in self.shortages))

    @property
    def species(self) -> tuple[str, ...]:
        """Every species of which something is missing; empty for any species."""
        return tuple(dict.fromkeys(name for shortage in self.shortages for name in shortage.species))


@dataclass(frozen=True)
class Plan:
    """Fills by preference, best first; with none, `shortfall` says why.

    `other_requests` are the further boards of a batch of different ones.
    """

    request: BoardRequest
    fills: tuple[Fill, ...]
    shortfall: Shortfall | None = None
    other_requests: tuple[BoardRequest, ...] = ()

    @property
    def board_volume(self) -> int:
        return volume_mm3(self.request.length, self.request.width, self.request.thickness)

    @property
    def requests(self) -> tuple[BoardRequest, ...]:
        """All boards that were asked for together."""
        return (self.request, *self.other_requests)
