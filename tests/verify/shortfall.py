"""Whether an answer "the rack cannot fill it" is right, recomputed (cutting model, section 10).

Lengths are whole nanometers.

Where the model leaves room, this is the reading: what a pool or stripe lacks is
stated as if the whole rack were its own; a piece that is ruled out for more than one
reason counts once, under any of them; the largest sizes are finished sizes, exact
to the nanometer; "set aside" can't be seen from the rack. Whether pools that want
the same species can be filled together is not checked, only whether each can;
of several glue-ups only whether they can be filled one after another.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import replace

from inventory.core.lengths import mm_text
from inventory.core.offcuts import Offcut, species_key
from inventory.fill.plan import NearMiss, Shortfall
from inventory.fill.request import BoardRequest, Grain, Mix
from tests.verify.asked import BandRequirement, disjoint, requirements_of
from tests.verify.eligible import MARKED, RULED_OUT, barred, is_named, plain
from tests.verify.glue_ups import glue_ups
from tests.verify.piece import Sizes, off_both_faces, strips_in

_SET_ASIDE = "set aside"
_OTHER_SPECIES = "other species"
_BY_AXIS = ("too short", "too narrow", "too thin")
_SMALLEST = 10**6
"""No board is smaller than 1 mm in any direction."""
_AMPLE = 10**13
"""Longer, wider and thicker than anything."""


def shortfall_faults(
    request: BoardRequest, shortfall: Shortfall, rack: Sequence[Offcut], other_requests: Sequence[BoardRequest] = ()
) -> list[str]:
    """Every way in which the shortfall is wrong, one sentence each; `other_requests` are further boards of a batch."""
    usable = [offcut for offcut in rack if barred(request, offcut) is None]
    if request.count > 1 or request.grain is Grain.END or other_requests:
        return _of_several((request, *other_requests), usable)
    asked = requirements_of(request)
    right = [
        (requirement, _lack(request, requirement, usable, request.length, request.thickness)) for requirement in asked
    ]
    named = {shortage.band: frozenset(map(species_key, shortage.species)) for shortage in shortfall.shortages}
    shortages = [
        (requirement.band, _short_of(request, requirement, usable, width, named), width, strips)
        for requirement, (width, strips) in right
        if width > 0
    ]
    unable = [
        tag
        for tag in request.eligibility.required
        if not any(plain(offcut.tag) == plain(tag) and _gives(request, offcut, asked) for offcut in usable)
    ]
    stated_unable = [each.tag for each in shortfall.demands if each.tag is not None]
    if stated_unable != unable:
        shown = ", ".join(stated_unable) or "no piece"
        return [f"The shortfall names {shown}; {', '.join(unable) or 'none'} can't be used."]
    # Whether named pieces fit one stripe or one species together is not checked.
    together = request.mix is Mix.ONE or any(requirement.is_stripe for requirement in asked)
    checked = disjoint(asked) and not unable and not (together and request.eligibility.required)
    if not shortages and checked:
        return ["The rack holds enough for every band, yet the plan has no fill."]
    stated = [
        (shortage.band, frozenset(name.casefold() for name in shortage.species), shortage.width, shortage.strips)
        for shortage in shortfall.shortages
    ]
    found = []
    if stated != shortages:
        found.append(f"The shortfall says that {_listed(stated)} is missing; by the model it is {_listed(shortages)}.")
    found += _wrong_reasons(request, shortfall, rack)
    for miss in shortfall.nearest:
        found += _wrong_miss(request, miss, rack)
    if checked:
        largest = (shortfall.largest_length, shortfall.largest_width, shortfall.largest_thickness)
        for axis, size in enumerate(largest):
            found += _wrong_largest(request, axis, size, usable)
    return found


def _gives(
    request: BoardRequest, offcut: Offcut, asked: Sequence[BandRequirement], length: int = 0, thickness: int = 0
) -> bool:
    """Whether the offcut gives a strip to some pool or stripe, of a board so long and thick where given."""
    off = off_both_faces(request, offcut)
    return any(
        strips_in(request, each, _sizes(offcut), off, length or request.length, thickness or request.thickness)[0] > 0
        for each in asked
        if each.accepts(request, offcut)
    )


def _short_of(
    request: BoardRequest,
    requirement: BandRequirement,
    rack: Sequence[Offcut],
    width: int,
    named: Mapping[int, frozenset[str]],
) -> frozenset[str]:
    """The species of which a pool or stripe is short: of one species, any that misses no more than `width`."""
    if request.mix is Mix.FREE:
        return requirement.species
    mixed = replace(request, mix=Mix.FREE)
    closest = [
        frozenset((name,))
        for name in _species(rack)
        if _lack(
            mixed,
            requirement,
            [each for each in rack if species_key(each.species) == name and requirement.accepts(request, each)],
            request.length,
            request.thickness,
        )[0]
        == width
    ]
    stated = named.get(requirement.band, frozenset())
    return stated if stated in closest or not closest else closest[0]


def _of_several(requests: Sequence[BoardRequest], rack: Sequence[Offcut]) -> list[str]:
    """A fault if the glue-ups can be filled one after another, each piece serving one band of one of them."""
    left = [offcut for offcut in rack for _ in range(offcut.count)]
    if any(request.grain is Grain.END and request.panel.row_depth is None for request in requests):
        return []
    if requests[0].eligibility.required:
        # Whether all of these can be used with the rest is not checked.
        return []
    each_made = [each.made for request in requests for each in glue_ups(request, request.panel.row_depth)]
    for made in each_made:
        for requirement in requirements_of(made):
            if requests[0].mix is Mix.ONE:
                # Which species each board is to be of is left open.
                return []
            missing = requirement.width
            while missing > 0:
                gives = [(_most(made, requirement, offcut), place) for place, offcut in enumerate(left)]
                most, place = max(gives, default=(0, 0))
                if not most:
                    return []
                missing -= most
                del left[place]
    return ["The rack holds enough for every glue-up, one after another, yet the plan has no fill."]


def _most(request: BoardRequest, requirement: BandRequirement, offcut: Offcut) -> int:
    if not requirement.accepts(request, offcut):
        return 0
    off = off_both_faces(request, offcut)
    strips, adds = strips_in(request, requirement, _sizes(offcut), off, request.length, request.thickness)
    return strips * adds


def _listed(shortages: Sequence[tuple[int, frozenset[str], int, int | None]]) -> str:
    words = [
        f"{mm_text(width)} mm of {' or '.join(sorted(species)) or 'any wood'} in band {band}"
        + ("" if strips is None else f" ({strips} strips)")
        for band, species, width, strips in shortages
    ]
    return ", ".join(words) or "nothing"


def _lack(
    request: BoardRequest, requirement: BandRequirement, rack: Sequence[Offcut], length: int, thickness: int
) -> tuple[int, int | None]:
    """The width that this pool or stripe misses, and the strips of a stripe; 0 or less where it is filled.

    Where it is to be of one species, that is what the species misses that comes closest.
    """
    if request.mix is Mix.ONE:
        alone = [[each for each in rack if species_key(each.species) == name] for name in _species(rack)] or [[]]
        mixed = replace(request, mix=Mix.FREE)
        return min(_lack(mixed, requirement, each, length, thickness) for each in alone)
    there = 0
    for offcut in rack:
        if requirement.accepts(request, offcut):
            strips, adds = strips_in(
                request, requirement, _sizes(offcut), off_both_faces(request, offcut), length, thickness
            )
            there += offcut.count * strips * adds
    missing = requirement.width - there
    return missing, missing // requirement.each if requirement.is_stripe else None


def _species(rack: Sequence[Offcut]) -> list[str]:
    return sorted({species_key(offcut.species) for offcut in rack})


def _sizes(offcut: Offcut) -> Sizes:
    return offcut.length, offcut.width, offcut.thickness


def _serves(request: BoardRequest, requirement: BandRequirement, offcut: Offcut, sizes: Sizes) -> bool:
    off = off_both_faces(request, offcut)
    return strips_in(request, requirement, sizes, off, request.length, request.thickness)[0] > 0


def _faulty_sizes(request: BoardRequest, requirement: BandRequirement, offcut: Offcut, sizes: Sizes) -> set[str]:
    """The sizes for which a piece is ruled out of one pool or stripe: it can't serve though its others are ample."""
    a = request.allowances
    fields_of_a_face = request.grain is Grain.FACE and not requirement.is_stripe
    ample_width = a.max_strip_width + 2 * a.edge_jointing if fields_of_a_face else _AMPLE
    found = set()
    for axis, reason in enumerate(_BY_AXIS):
        tried = [_AMPLE, ample_width, _AMPLE]
        tried[axis] = sizes[axis]
        if not _serves(request, requirement, offcut, (tried[0], tried[1], tried[2])):
            found.add(reason)
    return found


def _reasons(request: BoardRequest, offcut: Offcut) -> set[str]:
    """Every reason for which a piece is ruled out of the board; none if it serves some pool or stripe."""
    wanted = [requirement for requirement in requirements_of(request) if requirement.accepts(request, offcut)]
    left_out = {reason} if (reason := barred(request, offcut)) else set[str]()
    if any(_serves(request, requirement, offcut, _sizes(offcut)) for requirement in wanted):
        return left_out
    found = left_out | ({_OTHER_SPECIES} if len(wanted) < len(requirements_of(request)) else set())
    return found.union(*(_faulty_sizes(request, requirement, offcut, _sizes(offcut)) for requirement in wanted))


def _wrong_reasons(request: BoardRequest, shortfall: Shortfall, rack: Sequence[Offcut]) -> Iterator[str]:
    why = [(offcut.count, _reasons(request, offcut)) for offcut in rack]
    fell_out = sum(count for count, reasons in why if reasons)
    stated = {reason: many for reason, many in shortfall.reasons.items() if reason != _SET_ASIDE}
    if sum(stated.values()) != fell_out:
        yield f"The shortfall counts {sum(stated.values())} pieces that fell out; there are {fell_out}."
    for reason, many in stated.items():
        most = sum(count for count, reasons in why if reason in reasons)
        if many > most:
            yield f'The shortfall counts {many} pieces as "{reason}"; there are at most {most}.'


def _wrong_miss(request: BoardRequest, miss: NearMiss, rack: Sequence[Offcut]) -> Iterator[str]:
    named = [offcut for offcut in rack if offcut.tag == miss.tag]
    if not named:
        yield f"The near miss {miss.tag} is not on the rack."
        return
    [offcut, *_] = named
    wanted = [requirement for requirement in requirements_of(request) if requirement.accepts(request, offcut)]
    if miss.reason not in _reasons(request, offcut) - {_OTHER_SPECIES, MARKED, RULED_OUT}:
        yield f'The near miss {miss.tag} is not "{miss.reason}".'
    elif not any(_misses_by(request, requirement, offcut, miss) for requirement in wanted):
        yield f'The near miss {miss.tag} is "{miss.reason}" by another amount than {mm_text(miss.by)} mm.'


def _misses_by(request: BoardRequest, requirement: BandRequirement, offcut: Offcut, miss: NearMiss) -> bool:
    """Whether that much more, and no nanometer less, would fix this size."""
    at_fault = []
    for more in (miss.by, miss.by - 1):
        grown = [size + more * (reason == miss.reason) for size, reason in zip(_sizes(offcut), _BY_AXIS, strict=True)]
        at_fault.append(miss.reason in _faulty_sizes(request, requirement, offcut, (grown[0], grown[1], grown[2])))
    return at_fault == [False, True]


def _wrong_largest(request: BoardRequest, axis: int, largest: int | None, rack: Sequence[Offcut]) -> Iterator[str]:
    """The largest size must be fillable, one nanometer more must not; what a rack gives only falls as a board grows."""
    name = ("length", "width", "thickness")[axis]
    stripes = sum(requirement.width for requirement in requirements_of(request) if requirement.is_stripe)

    def fills(size: int) -> bool:
        board = [request.length, request.width, request.thickness]
        length, width, thickness = (size if each == axis else board[each] for each in range(3))
        asked = requirements_of(request, width)
        named = [offcut for offcut in rack if is_named(request, offcut)]
        return (
            bool(asked)
            and all(_gives(request, offcut, asked, length, thickness) for offcut in named)
            and all(_lack(request, requirement, rack, length, thickness)[0] <= 0 for requirement in asked)
        )

    smallest = max(_SMALLEST, stripes + 1 if name == "width" else 0)
    if largest is None:
        if fills(smallest):
            yield f"The shortfall says that no {name} can be filled; a small one can."
    elif largest <= 0 or not fills(largest):
        yield f"The largest {name} of the shortfall, {mm_text(largest)} mm, can't be filled."
    elif fills(largest + 1):
        yield f"The largest {name} of the shortfall, {mm_text(largest)} mm, is not the largest."
