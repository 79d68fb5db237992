"""The strips that a rack can give to a part of many glue-ups (cutting model, section 8)."""

from __future__ import annotations

from collections.abc import Collection, Iterator, Sequence
from dataclasses import dataclass, replace

from inventory.core.lengths import Length
from inventory.core.offcuts import Offcut
from inventory.cutting.constructions import construction_for
from inventory.cutting.cuts import Cut, StripShare
from inventory.fill.demands import Part, eligible_rows, parts_of
from inventory.fill.item_classes import ItemClasses
from inventory.fill.plan import PlannedGlueUp

TakenStrips = tuple[Offcut, int, int]
"""An offcut, the number of its piece, and how much is taken of it."""


@dataclass(frozen=True)
class PooledPart:
    """A pool or stripe of several glue-ups: `targets` are theirs, the target of `part` is the sum."""

    part: Part
    glue_ups: tuple[int, ...]
    targets: tuple[int, ...]

    @property
    def stripe(self) -> Length | None:
        return self.part.demand.stripe


def pool_parts(glue_ups: Sequence[PlannedGlueUp]) -> tuple[PooledPart, ...]:
    """The parts of all glue-ups; those that the same strips serve are one part with the sum of their targets.

    The same strips serve parts of the same species and band in glue-ups of the same length,
    thickness, grain and allowances, of any width.
    """
    alike: dict[object, list[tuple[int, Part]]] = {}
    for number, each in enumerate(glue_ups):
        asked = each.request
        for part in parts_of(asked):
            demand = part.demand
            key = (asked.length, asked.thickness, asked.grain, asked.allowances, asked.on)
            alike.setdefault((*key, demand.bands[0], demand.species, demand.stripe), []).append((number, part))
    parts = []
    for members in alike.values():
        targets = tuple(part.demand.target for _, part in members)
        first = members[0][1]
        wide = replace(first.glue_up, target=Length(sum(part.glue_up.target for _, part in members)))
        demand = replace(first.demand, target=sum(targets))
        whole = Part(demand, construction_for(glue_ups[members[0][0]].request.grain, demand), wide)
        parts.append(PooledPart(whole, tuple(number for number, _ in members), targets))
    return tuple(parts)


@dataclass(frozen=True)
class StripSupply:
    """What one piece of the item class `row` gives at most: `strips` strips of one width.

    Where the width does not divide evenly, `width` is rounded down and `upper_bound` up.
    """

    row: int
    take: int
    strips: int
    width: int
    upper_bound: int


def strip_supply(group: PooledPart, item_classes: ItemClasses) -> tuple[StripSupply, ...]:
    """What one piece gives, for each item class that can serve the part."""
    rows = eligible_rows(group.part, item_classes)
    arrays, construction = item_classes.arrays.rows(rows), group.part.construction
    least = replace(group.part.glue_up, target=Length(1))
    single = construction.alternatives(arrays, least)
    once: dict[int, int] = {}
    for row, take, adds in zip(single.row.tolist(), single.take.tolist(), single.adds.tolist(), strict=True):
        if take == 1:
            once[row] = adds
    capacities = construction.capacities(arrays, group.part.glue_up)
    supplies = []
    for row, adds in once.items():
        take = int(capacities[row]) // adds
        cut = make_cut(item_classes.members[rows[row]][0], 1, take, group)
        strips = cut.glued_strips
        # A stripe counts strips, all of them equal.
        width = cut.adds if group.stripe is None else strips
        supplies.append(StripSupply(int(rows[row]), take, strips, width // strips, -(-width // strips)))
    return tuple(supplies)


def make_cut(offcut: Offcut, piece: int, take: int, group: PooledPart) -> Cut:
    """The cut by which the piece gives `take` to the part."""
    [cut] = group.part.construction.cuts(offcut, piece, take, None, group.part.glue_up)
    return cut.for_band(band=group.part.demand.bands[0])


def strip_width(cut: Cut, group: PooledPart) -> int:
    """What one strip adds to the part's targets, rounded down to a nanometer."""
    return cut.adds // cut.glued_strips if group.stripe is None else 1


def cuts_with_shares(
    taken: Sequence[TakenStrips],
    group: PooledPart,
    widths: Sequence[int],
    shares: Sequence[Sequence[int]],
    required: Collection[str],
) -> Iterator[Cut]:
    """The cuts of these pieces with their strips assigned to the glue-ups; strips that none needs are not cut.

    `shares` is, by glue-up, how many strips of each width it takes. Of pieces with strips of
    the same width, one of each tag in `required` is cut first, then those with the least loss per strip. A required
    piece of whose width no glue-up takes a strip gives one more than is needed, which a stripe has no room for.
    """
    wanted = {width: [share[place] for share in shares] for place, width in enumerate(widths)}
    supply = [(make_cut(offcut, piece, take, group), offcut, piece, take) for offcut, piece, take in taken]
    supply.sort(key=lambda one: (one[0].loss / one[0].glued_strips, one[1].tag, one[2]))
    first_of_tag = {one[1].tag: one for one in reversed(supply) if one[1].tag in required}
    supply = [*first_of_tag.values(), *(one for one in supply if first_of_tag.get(one[1].tag) is not one)]
    for place, (cut, offcut, piece, take) in enumerate(supply):
        here = cut.glued_strips
        strip_adds = cut.adds // here
        assigned = _assign_strips(wanted.get(strip_width(cut, group), []), here, strip_adds, group.glue_ups)
        if not assigned and place < len(first_of_tag) and group.stripe is None:
            assigned = (StripShare(group.glue_ups[0], 1, Length(strip_adds)),)
        used = sum(share.strips for share in assigned)
        if used:
            # In face grain a length gives its strips together; elsewhere each strip can stay uncut.
            yield make_cut(offcut, piece, -(-used * take // here), group).with_shares(assigned)


def _assign_strips(wanted: list[int], here: int, adds: int, glue_ups: tuple[int, ...]) -> tuple[StripShare, ...]:
    """Up to `here` strips for the glue-ups that still want one; reduces `wanted`."""
    assigned: list[StripShare] = []
    for place, number in enumerate(glue_ups[: len(wanted)]):
        many = min(here, wanted[place])
        if many:
            wanted[place] -= many
            here -= many
            assigned.append(StripShare(number, many, Length(many * adds)))
    return tuple(assigned)
