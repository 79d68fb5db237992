"""Whether a plan is right: every fill reckoned anew by hand's rules (cutting model, sections 3 to 5 and 9).

Knows the cutting model's text and nothing of how a plan was found: it shares no
code with `inventory.cutting` or the search, so that the two can be held against
each other. Lengths are whole nanometres, volumes whole mm³, areas whole mm².

Where the model leaves room, this is the reading: an offcut without a day, or
tagged after the day of the request, has been 0 days on the rack; the mm² of one
offcut are rounded down once, both faces together; where a length does not divide
into its strips, `strip_width` is the whole nanometres of one; the closing strip
comes from a piece that could also give a whole length; a strip is thicker than 0.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from inventory.cutting.cost import Preference
from inventory.cutting.cuts import Cut
from inventory.fill.plan import Fill, Plan
from inventory.fill.request import BoardRequest, Grain
from inventory.fill.verify_shortfall import shortfall_faults
from inventory.pieces import Face, Offcut, species_key

_NM2_IN_A_MM2 = 10**12
_NM3_IN_A_MM3 = 10**18

Box = tuple[int, int, int, bool]
"""Length, width, thickness and whether it is kept."""


@dataclass(frozen=True)
class _Given:
    """What one cut must say."""

    lengths_cut: int
    rips: tuple[int, ...]
    strip_width: int
    adds: int


@dataclass(frozen=True)
class _Spent:
    """What one piece costs, all its cuts together."""

    loss: int
    dirty: int
    remainders: tuple[Box, ...]


def faults(plan: Plan, rack: Sequence[Offcut]) -> list[str]:
    """Every way in which the plan is wrong, one sentence each; an empty list if it is right.

    `rack` is what the search was given, each offcut with its free count. That no
    better fill exists can't be seen from the plan alone; that a fill which calls
    itself proven is beaten by another of the same plan can, and is.
    """
    found = list(_asked_for(plan))
    if plan.shortfall is not None:
        found += shortfall_faults(plan.request, plan.shortfall, rack)
    costs: list[tuple[int, ...] | None] = []
    for place, fill in enumerate(plan.fills, 1):
        spent, wrong = _recomputed(plan.request, fill, rack)
        if spent is not None:
            wrong += _told_totals(plan.request, fill, spent)
        costs.append(None if spent is None or wrong else _totals(spent, plan.request))
        found += [f"Fill {place} ({fill.prefer.value}): {sentence}" for sentence in wrong]
    return found + list(_ranking(plan, costs))


def _asked_for(plan: Plan) -> Iterator[str]:
    request = plan.request
    if plan.fills and plan.shortfall is not None:
        yield "The plan has fills and says that the rack falls short."
    if not plan.fills and plan.shortfall is None:
        yield "The plan has no fill and does not say what is missing."
    groups = [fill.prefer for fill in plan.fills]
    order = list(dict.fromkeys(groups))
    if plan.fills and order != list(dict.fromkeys(request.prefer)):
        told, asked = (", ".join(each.value for each in these) or "none" for these in (order, request.prefer))
        yield f"The fills are for {told}; asked for were {asked}."
    elif sorted(groups, key=order.index) != groups:
        yield "The fills of one preference do not stand together."
    for prefer, many in Counter(groups).items():
        if many > request.fills:
            yield f"There are {many} fills for {prefer.value}; {request.fills} were asked for."


# --- one fill ------------------------------------------------------------------------------------


def _recomputed(
    request: BoardRequest, fill: Fill, rack: Sequence[Offcut]
) -> tuple[dict[tuple[Offcut, int], _Spent] | None, list[str]]:
    """What each piece costs by the model, None where a piece can't be reckoned, with all that is wrong."""
    wrong = list(_off_the_rack(request, fill, rack))
    by_piece: dict[tuple[Offcut, int], list[Cut]] = {}
    for cut in fill.cuts:
        by_piece.setdefault((cut.offcut, cut.piece), []).append(cut)
    closing = [cut for cut in fill.cuts if cut.closing]
    if len(closing) > 1:
        wrong.append(f"{len(closing)} closing strips; a board has at most one.")
    missing = request.width + request.allowances.side_trim - _whole_width(request, fill)
    filled, spent, refused = 0, {}, False
    for (offcut, piece), cuts in by_piece.items():
        who = f"{_name(offcut)} piece {piece}" if offcut.count > 1 else _name(offcut)
        reason = _misplaced(request, cuts) or (
            _edge_refusal(request, offcut, cuts[0].strips)
            if request.grain is Grain.EDGE
            else _face_refusal(request, offcut, cuts, missing)
        )
        if reason is not None:
            wrong.append(f"{who} {reason}.")
            refused = True
            continue
        cost, given = _by_the_model(request, offcut, cuts, missing)
        spent[offcut, piece] = cost
        for cut, model in zip(cuts, given, strict=True):
            filled += model.adds
            wrong += [f"{who} {sentence}" for sentence in _unlike(cut, model, cost, len(cuts))]
    if not refused and filled < request.width + request.allowances.side_trim:
        wrong.append(f"the glue-up is {request.width + request.allowances.side_trim - filled} nm too narrow.")
    return (None if refused else spent), wrong


def _off_the_rack(request: BoardRequest, fill: Fill, rack: Sequence[Offcut]) -> Iterator[str]:
    if not fill.cuts:
        yield "it has no cut."
    there = Counter[Offcut]()
    for offcut in rack:
        there[offcut] += offcut.count
    wanted = {species_key(name) for name in request.species}
    taken = {(cut.offcut, cut.piece) for cut in fill.cuts}
    for offcut, many in Counter(offcut for offcut, _ in taken).items():
        if offcut not in there:
            yield f"{_name(offcut)} is not on the rack."
        elif many > there[offcut]:
            yield f"{_name(offcut)} is used {many} times; there are {there[offcut]} of it."
        if wanted and species_key(offcut.species) not in wanted:
            yield f'{_name(offcut)} is of "{offcut.species}", which was not asked for.'
    for offcut, piece in sorted(taken, key=lambda one: one[1]):
        if offcut in there and not 1 <= piece <= there[offcut]:
            yield f"{_name(offcut)} has no piece {piece}; there are {there[offcut]} of it."


def _misplaced(request: BoardRequest, cuts: Sequence[Cut]) -> str | None:
    """Why these cuts can't all be of one piece."""
    whole = sum(not cut.closing for cut in cuts)
    if request.grain is Grain.EDGE and whole < len(cuts):
        return "gives a closing strip, which an edge-grain board has not"
    if whole > 1 or len(cuts) - whole > 1:
        return f"is cut {len(cuts)} times"
    if any(cut.band or cut.board for cut in cuts):
        return "is cut for a band or board that was not asked for"
    if any(cut.leaves is not None for cut in cuts):
        return "gives leaves, which this board has not"
    return None


def _by_the_model(
    request: BoardRequest, offcut: Offcut, cuts: Sequence[Cut], missing: int
) -> tuple[_Spent, list[_Given]]:
    if request.grain is Grain.EDGE:
        return _edge_grain(request, offcut, cuts[0].strips)
    return _face_grain(request, offcut, cuts, missing)


def _unlike(cut: Cut, model: _Given, cost: _Spent, cuts_of_piece: int) -> Iterator[str]:
    """Where a cut says something else than the model. Of two cuts the closing one carries the costs."""
    told: list[tuple[str, object, object]] = [
        ("lengths cut", cut.lengths_cut, model.lengths_cut),
        ("rips", cut.rips, model.rips),
        ("strip width", cut.strip_width, model.strip_width),
        ("width added", cut.adds, model.adds),
    ]
    carries = cuts_of_piece == 1 or cut.closing
    boxes = tuple((left.length, left.width, left.thickness, left.kept) for left in cut.remainders)
    told += [
        ("loss", cut.loss, cost.loss if carries else 0),
        ("dirty area", cut.dirty, cost.dirty if carries else 0),
        ("remainders", sorted(boxes), sorted(cost.remainders) if carries else []),
    ]
    for what, said, right in told:
        if said != right:
            yield f"says {what} {said}; by the model it is {right}."


# --- section 4: edge grain -----------------------------------------------------------------------


def _clean(request: BoardRequest, offcut: Offcut) -> int:
    """t of section 3."""
    allowances = request.allowances
    off = {Face.ROUGH: allowances.rough_face, Face.PLANED: allowances.planed_face}
    off[Face.FINISHED] = allowances.finished_face
    return offcut.thickness - off[offcut.face_a] - off[offcut.face_b]


def _lengths_in(request: BoardRequest, offcut: Offcut) -> int:
    """m of section 4."""
    kerf = request.allowances.crosscut_kerf
    return (offcut.length + kerf) // (request.length + request.allowances.end_trim + kerf)


def _strips_across(request: BoardRequest, offcut: Offcut) -> int:
    """n of section 4; 0 where the piece is narrower than its jointing."""
    allowances = request.allowances
    s = request.thickness + allowances.flattening
    return max(0, (offcut.width - allowances.edge_jointing + allowances.rip_kerf) // (s + allowances.rip_kerf))


def _edge_refusal(request: BoardRequest, offcut: Offcut, x: int) -> str | None:
    n, m = _strips_across(request, offcut), _lengths_in(request, offcut)
    t = _clean(request, offcut)
    if t < request.allowances.thinnest_lamination or t <= 0:
        return f"is {t} nm thick when clean, too thin to serve"
    if not 1 <= x <= n * m:
        return f"gives {x} strips; it can give 1 to {n * m}" if n * m else f"gives {x} strips; no strip fits"
    return None


def _edge_grain(request: BoardRequest, offcut: Offcut, x: int) -> tuple[_Spent, list[_Given]]:
    allowances = request.allowances
    s, n, t = request.thickness + allowances.flattening, _strips_across(request, offcut), _clean(request, offcut)
    q = -(-x // n)
    rips = (*[n] * (q - 1), x - (q - 1) * n)
    widths = [offcut.width - allowances.edge_jointing - y * (s + allowances.rip_kerf) for y in rips]
    return _spent(request, offcut, q, widths), [_Given(q, rips, s, x * t)]


# --- section 5: face grain -----------------------------------------------------------------------


def _parts(request: BoardRequest, offcut: Offcut) -> tuple[int, int] | None:
    """k and g of section 5, None where the strips would be too narrow."""
    allowances = request.allowances
    k, g = 1, offcut.width - 2 * allowances.edge_jointing
    while g > k * allowances.max_strip_width:
        k += 1
        g = offcut.width - (k - 1) * allowances.rip_kerf - 2 * k * allowances.edge_jointing
    return (k, g) if g >= k * allowances.min_strip_width else None


def _whole_width(request: BoardRequest, fill: Fill) -> int:
    """What all whole lengths of a face-grain fill add, by the model."""
    if request.grain is Grain.EDGE:
        return 0
    parts = [(cut.lengths_cut, _parts(request, cut.offcut)) for cut in fill.cuts if not cut.closing]
    return sum(x * kg[1] for x, kg in parts if kg is not None)


def _face_refusal(request: BoardRequest, offcut: Offcut, cuts: Sequence[Cut], d: int) -> str | None:
    allowances = request.allowances
    t, s, m = _clean(request, offcut), request.thickness + allowances.flattening, _lengths_in(request, offcut)
    if t < s:
        return f"is {t} nm thick when clean, too thin to serve"
    parts = _parts(request, offcut)
    if parts is None:
        return "has a width from which no strips of the right width can be ripped"
    lengths = sum(1 if cut.closing else cut.lengths_cut for cut in cuts)
    if lengths > m or any(cut.lengths_cut < 1 for cut in cuts):
        return f"gives {lengths} lengths; it can give 1 to {m}" if m else f"gives {lengths} lengths; no length fits"
    if any(cut.closing for cut in cuts):
        least, most = allowances.min_strip_width, min(parts[1], allowances.max_strip_width)
        if not least <= d <= most:
            return f"can't close a gap of {d} nm: its closing strip is {least} to {most} nm wide"
    return None


def _face_grain(request: BoardRequest, offcut: Offcut, cuts: Sequence[Cut], d: int) -> tuple[_Spent, list[_Given]]:
    allowances = request.allowances
    k, g = _parts(request, offcut) or (1, 0)
    x = sum(cut.lengths_cut for cut in cuts if not cut.closing)
    closes = any(cut.closing for cut in cuts)
    beside = [offcut.width - (d + 2 * allowances.edge_jointing) - allowances.rip_kerf] if closes else []
    given = [_Given(1, (1,), d, d) if cut.closing else _Given(x, (k,) * x, g // k, x * g) for cut in cuts]
    return _spent(request, offcut, x + closes, beside), given


# --- section 9: what it costs --------------------------------------------------------------------


def _spent(request: BoardRequest, offcut: Offcut, q: int, widths: Sequence[int]) -> _Spent:
    """The cost of a piece of which `q` lengths are crosscut; `widths` are left beside the strips of a length."""
    allowances = request.allowances
    strip_length = request.length + allowances.end_trim
    sizes: list[tuple[int, int]] = [(offcut.length - q * (strip_length + allowances.crosscut_kerf), offcut.width)]
    sizes += [(strip_length, width) for width in widths]
    boxes: list[Box] = []
    for length, width in sizes:
        if length > 0 and width > 0:
            long = length >= allowances.keep_length and width >= allowances.keep_width
            boxes.append((length, width, offcut.thickness, long and offcut.thickness >= allowances.keep_thickness))
    kept = sum(length * width * thickness // _NM3_IN_A_MM3 for length, width, thickness, keep in boxes if keep)
    bare = [offcut.face_a, offcut.face_b].count(Face.PLANED)
    return _Spent(
        loss=offcut.length * offcut.width * offcut.thickness // _NM3_IN_A_MM3 - kept,
        dirty=q * strip_length * offcut.width * (2 - bare) // _NM2_IN_A_MM2,
        remainders=tuple(boxes),
    )


def _weight(request: BoardRequest, offcut: Offcut) -> int:
    days = 0 if offcut.tagged_on is None else max(0, (request.on - offcut.tagged_on).days)
    return 1000 - 750 * min(days, 730) // 730


def _totals(spent: dict[tuple[Offcut, int], _Spent], request: BoardRequest) -> tuple[int, ...]:
    """Loss, pieces, dirty area, weighted loss."""
    costs = spent.values()
    cleared = sum(cost.loss * _weight(request, offcut) // 1000 for (offcut, _), cost in spent.items())
    return sum(cost.loss for cost in costs), len(spent), sum(cost.dirty for cost in costs), cleared


def _order(prefer: Preference, totals: tuple[int, ...]) -> tuple[int, int]:
    loss, pieces, dirty, cleared = totals
    match prefer:
        case Preference.LEAST_WASTE:
            return loss, pieces
        case Preference.FEWEST_PIECES:
            return pieces, loss
        case Preference.LEAST_MILLING:
            return dirty, loss
        case Preference.CLEAR_OUT:
            return cleared, pieces


def _told_totals(request: BoardRequest, fill: Fill, spent: dict[tuple[Offcut, int], _Spent]) -> Iterator[str]:
    allowances = request.allowances
    loss, pieces, dirty, cleared = _totals(spent, request)
    volume = request.length * request.width * request.thickness // _NM3_IN_A_MM3
    told: list[tuple[str, float, float]] = [
        ("loss", fill.loss, loss),
        ("pieces", fill.pieces, pieces),
        ("dirty area", fill.dirty, dirty),
        ("board volume", fill.board_volume, volume),
        ("waste", fill.waste, loss - volume),
        ("yield", fill.yield_share, volume / loss if loss else 0.0),
        ("strip length", fill.strip_length, request.length + allowances.end_trim),
        ("rough thickness", fill.rough_thickness, request.thickness + allowances.flattening),
        ("target width", fill.target, request.width + allowances.side_trim),
    ]
    for what, said, right in told:
        if said != right:
            yield f"it says {what} {said}; by the model it is {right}."
    first, _ = _order(fill.prefer, (loss, pieces, dirty, cleared))
    if fill.bound > first:
        yield f"its bound {fill.bound} lies above its own cost {first}."
    elif fill.proven and fill.bound < first:
        yield f"it says that it is proven, but its bound {fill.bound} lies below its cost {first}."


# --- the fills beside one another ----------------------------------------------------------------


def _ranking(plan: Plan, costs: Sequence[tuple[int, ...] | None]) -> Iterator[str]:
    """Order, repetitions, and claims that another fill of the same plan disproves."""
    taken = [Counter(offcut for offcut, _ in {(cut.offcut, cut.piece) for cut in fill.cuts}) for fill in plan.fills]
    for place, fill in enumerate(plan.fills):
        name = f"Fill {place + 1} ({fill.prefer.value})"
        earlier = [each for each in range(place) if plan.fills[each].prefer is fill.prefer]
        for before in earlier:
            if taken[before] == taken[place]:
                yield f"{name} takes the same offcuts as fill {before + 1}."
        own = costs[place]
        if own is None:
            continue
        for other, totals in enumerate(costs):
            if totals is None or other == place or _order(fill.prefer, totals) >= _order(fill.prefer, own):
                continue
            if other > place and plan.fills[other].prefer is fill.prefer:
                yield f"{name} stands before fill {other + 1}, which is better."
            elif fill.proven and all(taken[other] != taken[before] for before in earlier):
                yield f"{name} says that it is proven, but fill {other + 1} is better in its own order."
            elif not earlier and _order(fill.prefer, totals)[0] < fill.bound:
                yield f"{name} has the bound {fill.bound}, but fill {other + 1} costs less."


def _name(offcut: Offcut) -> str:
    return f"offcut {offcut.tag}" if offcut.tag else "an offcut without a tag"
