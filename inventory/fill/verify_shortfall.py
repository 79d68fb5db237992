"""Whether an answer "the rack cannot fill it" is right, reckoned anew (cutting model, section 10).

Knows the cutting model's text and nothing of how the answer was found; shares no
code with `inventory.cutting` or the search. Lengths are whole nanometres.

Where the model leaves room, this is the reading: a piece that falls out for more
than one reason counts once, under any of them; the largest sizes are finished
sizes, exact to the nanometre; "set aside" can't be seen from the rack.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from inventory.fill.plan import NearMiss, Shortfall
from inventory.fill.request import BoardRequest, Grain
from inventory.pieces import Face, Offcut, species_key

_SET_ASIDE = "set aside"
_OTHER_SPECIES = "other species"
_BY_AXIS = ("too short", "too narrow", "too thin")
_AMPLE = 10**13
"""Longer, wider and thicker than anything, in nanometres."""

Sizes = tuple[int, int, int]
"""Length, width, thickness."""


def shortfall_faults(request: BoardRequest, shortfall: Shortfall, rack: Sequence[Offcut]) -> list[str]:
    """Every way in which the shortfall is wrong, one sentence each."""
    target = request.width + request.allowances.side_trim
    there = _all_strips(request, rack, request.length, request.thickness)
    if there >= target:
        return [f"The rack gives {there} nm, enough for the {target} nm of the glue-up, yet the plan has no fill."]
    found = []
    if shortfall.missing != target - there:
        found.append(f"The shortfall says that {shortfall.missing} nm are missing; it is {target - there} nm.")
    if {species_key(name) for name in shortfall.species} != {species_key(name) for name in request.species}:
        found.append("The shortfall names other species than the request.")
    found += _wrong_reasons(request, shortfall, rack)
    for miss in shortfall.nearest:
        found += _wrong_miss(request, miss, rack)
    for axis, largest in enumerate((shortfall.largest_length, shortfall.largest_width, shortfall.largest_thickness)):
        found += _wrong_largest(request, axis, largest, rack)
    return found


def _all_strips(request: BoardRequest, rack: Sequence[Offcut], length: int, thickness: int) -> int:
    """The width of a glue-up of everything that serves a board of this finished length and thickness."""
    wanted = {species_key(name) for name in request.species}
    return sum(
        offcut.count * _gives(request, _sizes(offcut), _off(request, offcut), length, thickness)
        for offcut in rack
        if not wanted or species_key(offcut.species) in wanted
    )


def _sizes(offcut: Offcut) -> Sizes:
    return offcut.length, offcut.width, offcut.thickness


def _off(request: BoardRequest, offcut: Offcut) -> int:
    """What comes off both faces together (section 3)."""
    a = request.allowances
    by_face = {Face.ROUGH: a.rough_face, Face.PLANED: a.planed_face, Face.FINISHED: a.finished_face}
    return by_face[offcut.face_a] + by_face[offcut.face_b]


def _gives(request: BoardRequest, piece: Sizes, off: int, length: int, thickness: int) -> int:
    """The width that a piece of these sizes adds at most: sections 4 and 5, letters as there."""
    a = request.allowances
    t, s = piece[2] - off, thickness + a.flattening
    m = (piece[0] + a.crosscut_kerf) // (length + a.end_trim + a.crosscut_kerf)
    if request.grain is Grain.EDGE:
        n = (piece[1] - a.edge_jointing + a.rip_kerf) // (s + a.rip_kerf)
        return n * m * t if n > 0 and t > 0 and t >= a.thinnest_lamination else 0
    if t < s:
        return 0
    g, k = piece[1] - 2 * a.edge_jointing, 1
    while g > a.max_strip_width * k:
        k += 1
        g = piece[1] - (k - 1) * a.rip_kerf - 2 * k * a.edge_jointing
    return m * g if g >= k * a.min_strip_width else 0


def _reasons(request: BoardRequest, offcut: Offcut, sizes: Sizes) -> set[str]:
    """Every reason for which this piece, had it these sizes, falls out; none if it serves.

    A size is at fault where the piece can't serve though its other two are ample.
    """
    wanted = {species_key(name) for name in request.species}
    found = {_OTHER_SPECIES} if wanted and species_key(offcut.species) not in wanted else set()
    edge = request.grain is Grain.EDGE
    ample_width = _AMPLE if edge else request.allowances.max_strip_width + 2 * request.allowances.edge_jointing
    for axis, reason in enumerate(_BY_AXIS):
        tried = [_AMPLE, ample_width, _AMPLE]
        tried[axis] = sizes[axis]
        piece = (tried[0], tried[1], tried[2])
        if not _gives(request, piece, _off(request, offcut), request.length, request.thickness):
            found.add(reason)
    return found


def _wrong_reasons(request: BoardRequest, shortfall: Shortfall, rack: Sequence[Offcut]) -> Iterator[str]:
    why = [(offcut.count, _reasons(request, offcut, _sizes(offcut))) for offcut in rack]
    fell_out = sum(count for count, reasons in why if reasons)
    told = {reason: many for reason, many in shortfall.reasons.items() if reason != _SET_ASIDE}
    if sum(told.values()) != fell_out:
        yield f"The shortfall counts {sum(told.values())} pieces that fell out; there are {fell_out}."
    for reason, many in told.items():
        most = sum(count for count, reasons in why if reason in reasons)
        if many > most:
            yield f'The shortfall counts {many} pieces as "{reason}"; there are at most {most}.'


def _wrong_miss(request: BoardRequest, miss: NearMiss, rack: Sequence[Offcut]) -> Iterator[str]:
    named = [offcut for offcut in rack if offcut.tag == miss.tag]
    if not named:
        yield f"The near miss {miss.tag} is not on the rack."
        return
    [offcut, *_] = named
    if miss.reason not in _reasons(request, offcut, _sizes(offcut)) - {_OTHER_SPECIES}:
        yield f'The near miss {miss.tag} is not "{miss.reason}".'
        return
    at_fault = []
    for more in (miss.by, miss.by - 1):
        grown = [size + more * (reason == miss.reason) for size, reason in zip(_sizes(offcut), _BY_AXIS, strict=True)]
        at_fault.append(miss.reason in _reasons(request, offcut, (grown[0], grown[1], grown[2])))
    if at_fault != [False, True]:
        yield f'The near miss {miss.tag} is "{miss.reason}" by another amount than {miss.by} nm.'


def _wrong_largest(request: BoardRequest, axis: int, largest: int | None, rack: Sequence[Offcut]) -> Iterator[str]:
    """The largest size must be fillable, one nanometre more must not; capacity only falls as a board grows."""
    name = ("length", "width", "thickness")[axis]

    def fills(size: int) -> bool:
        board = [request.length, request.width, request.thickness]
        length, width, thickness = (size if each == axis else board[each] for each in range(3))
        return _all_strips(request, rack, length, thickness) >= width + request.allowances.side_trim

    if largest is None:
        if fills(1):
            yield f"The shortfall says that no {name} can be filled; a small one can."
    elif largest <= 0 or not fills(largest):
        yield f"The largest {name} of the shortfall, {largest} nm, can't be filled."
    elif fills(largest + 1):
        yield f"The largest {name} of the shortfall, {largest} nm, is not the largest."
