"""What one piece gives to a glue-up and what it costs, recomputed (cutting model, sections 3 to 5, 7 and 9).

From `inventory.cutting` it uses only the classes of a cut. Lengths are whole nanometers, volumes whole mm³, areas
whole mm². The letters are the model's.

Where the model leaves room, this is the reading: the mm² of one piece are rounded down once, both faces together;
where a length does not divide into its strips, `strip_width` is the whole nanometers of one; a part of a length
comes from a piece that could also give a whole length, and where no number of strips makes up just what is missing, it
is the next wider part that some number does; a strip is thicker than 0; a face-grain stripe comes from a piece that is
thick and long enough for a field, of any width.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from inventory.core.lengths import mm_text
from inventory.core.offcuts import Face, Offcut
from inventory.cutting.cuts import Cut
from inventory.fill.request import BoardRequest, Grain
from tests.verify.asked import BandRequirement

_NM2_IN_A_MM2 = 10**12
_NM3_IN_A_MM3 = 10**18

Sizes = tuple[int, int, int]
"""Length, width, thickness."""

Box = tuple[int, int, int, bool]
"""Length, width, thickness and whether it is kept."""


@dataclass(frozen=True)
class ExpectedCut:
    """What one cut must say."""

    lengths_cut: int
    rips: tuple[int, ...]
    strip_width: int
    adds: int
    leaves: int | None = None

    @property
    def strips(self) -> int:
        """Strips for the glue-up, leaves where they are resawn."""
        return sum(self.rips) if self.leaves is None else self.leaves

    def adds_of(self, strips: int) -> tuple[int, int]:
        """The least and the most that some of the strips add: strips of whole nanometers, or shares of the width."""
        return strips * (self.adds // self.strips), strips * self.adds // self.strips


@dataclass(frozen=True)
class PieceCost:
    """What one piece costs, all its cuts together."""

    loss: int
    worth_lost: int
    milling: int
    milling_area: int
    leftovers: tuple[Box, ...]


PieceResult = tuple[PieceCost, list[ExpectedCut]]


def off_both_faces(request: BoardRequest, offcut: Offcut) -> int:
    """What comes off both faces together (section 3)."""
    a = request.allowances
    off = {Face.ROUGH: a.rough_face, Face.PLANED: a.planed_face, Face.FINISHED: a.finished_face}
    return off[offcut.face_a] + off[offcut.face_b]


def strips_in(
    request: BoardRequest, requirement: BandRequirement, sizes: Sizes, off: int, length: int, thickness: int
) -> tuple[int, int]:
    """How many strips (in the face grain of a pool: whole lengths) a piece of these sizes gives, and what each adds.

    `length` and `thickness` are the board's, finished; `off` is what comes off both
    faces. The strips of an edge-grain stripe are leaves. 0 where the piece can't serve.
    """
    a = request.allowances
    t, s = sizes[2] - off, thickness + a.flattening
    m = (sizes[0] + a.crosscut_kerf) // (length + a.end_trim + a.crosscut_kerf)
    if request.grain is Grain.EDGE:
        across = across_edge_grain(request, sizes[1], s) * m
        if requirement.is_stripe:
            return across * leaves_of_a_strip(request, requirement, t), requirement.each
        return (across, t) if t > 0 and t >= a.thinnest_lamination else (0, 0)
    if t < s:
        return 0, 0
    if requirement.is_stripe:
        return across_face_stripe(request, requirement, sizes[1]) * m, requirement.each
    parts = parts_of_a_length(request, sizes[1])
    return (0, 0) if parts is None else (m, parts[1])


def expected_result(
    request: BoardRequest, requirement: BandRequirement, offcut: Offcut, cuts: Sequence[Cut], d: int
) -> PieceResult | str:
    """What these cuts of one piece must say and cost, or why they can't be; `d` is what its pool still misses."""
    whole = [cut for cut in cuts if not cut.part]
    if len(whole) > 1 or len(cuts) - len(whole) > 1:
        return f"is cut {len(cuts)} times"
    if len(whole) < len(cuts) and (request.grain is Grain.EDGE or requirement.is_stripe):
        return "gives a part of a length, which only a pool of a face-grain board has"
    sizes = (offcut.length, offcut.width, offcut.thickness)
    off = off_both_faces(request, offcut)
    most, _ = strips_in(request, requirement, sizes, off, request.length, request.thickness)
    in_lengths = request.grain is Grain.FACE and not requirement.is_stripe
    if in_lengths:
        taken = sum(1 if cut.part else cut.lengths_cut for cut in cuts)
    else:
        taken = cuts[0].strips if cuts[0].leaves is None else cuts[0].leaves
    what = "lengths" if in_lengths else "strips"
    if most == 0:
        return "can't serve: too short, too narrow or too thin"
    if not 1 <= taken <= most or any(cut.lengths_cut < 1 for cut in cuts):
        return f"gives {taken} {what}; it can give 1 to {most}"
    if request.grain is Grain.EDGE:
        return _edge_grain(request, requirement, offcut, taken)
    if requirement.is_stripe:
        return _face_stripe(request, requirement, offcut, taken)
    return _face_grain(request, offcut, cuts, d)


# --- section 4: edge grain, and its stripes (section 7) ------------------------------------------


def across_edge_grain(request: BoardRequest, width: int, s: int) -> int:
    """n of section 4; 0 where the piece is narrower than its jointing."""
    a = request.allowances
    return max(0, (width - a.edge_jointing + a.rip_kerf) // (s + a.rip_kerf))


def leaves_of_a_strip(request: BoardRequest, requirement: BandRequirement, t: int) -> int:
    """z of section 7; 0 where the strip is thinner than the stripe."""
    a, e = request.allowances, requirement.each
    z = max(0, (t + a.resaw_kerf) // (e + a.leaf_clean + a.resaw_kerf))
    return z or int(t >= e)


def _edge_grain(request: BoardRequest, requirement: BandRequirement, offcut: Offcut, taken: int) -> PieceResult:
    a = request.allowances
    s, t = request.thickness + a.flattening, offcut.thickness - off_both_faces(request, offcut)
    n = across_edge_grain(request, offcut.width, s)
    x = -(-taken // leaves_of_a_strip(request, requirement, t)) if requirement.is_stripe else taken
    rips = _ripped(x, n)
    beside = [offcut.width - a.edge_jointing - y * (s + a.rip_kerf) for y in rips]
    adds, leaves = (taken * requirement.each, taken) if requirement.is_stripe else (taken * t, None)
    return piece_cost(request, offcut, len(rips), beside, t), [ExpectedCut(len(rips), rips, s, adds, leaves)]


def _ripped(x: int, n: int) -> tuple[int, ...]:
    """`x` strips, `n` from each length and what remains from the last."""
    q = -(-x // n)
    return (*[n] * (q - 1), x - (q - 1) * n)


# --- section 5: face grain, and its stripes (section 7) ------------------------------------------


def parts_of_a_length(request: BoardRequest, width: int) -> tuple[int, int] | None:
    """k and g of section 5, None where the strips would be too narrow."""
    a = request.allowances
    k, g = 1, width - 2 * a.edge_jointing
    while g > k * a.max_strip_width:
        k += 1
        g = width - (k - 1) * a.rip_kerf - 2 * k * a.edge_jointing
    return (k, g) if g >= k * a.min_strip_width else None


def part_of_a_length(request: BoardRequest, missing: int) -> tuple[int, int]:
    """k and d of section 5: the strips of a part of a length that covers what is missing, and its width."""
    a = request.allowances
    k = 1
    while missing > k * a.max_strip_width:
        k += 1
    return k, max(missing, k * a.min_strip_width)


def across_face_stripe(request: BoardRequest, requirement: BandRequirement, width: int) -> int:
    """n of section 4 for the stripes of section 7: no jointing but that of each strip."""
    a = request.allowances
    return (width + a.rip_kerf) // (requirement.each + 2 * a.edge_jointing + a.rip_kerf)


def _face_stripe(request: BoardRequest, requirement: BandRequirement, offcut: Offcut, x: int) -> PieceResult:
    a = request.allowances
    s = requirement.each + 2 * a.edge_jointing
    rips = _ripped(x, across_face_stripe(request, requirement, offcut.width))
    beside = [offcut.width - y * (s + a.rip_kerf) for y in rips]
    t = offcut.thickness - off_both_faces(request, offcut)
    return piece_cost(request, offcut, len(rips), beside, t), [
        ExpectedCut(len(rips), rips, requirement.each, x * requirement.each)
    ]


def _face_grain(request: BoardRequest, offcut: Offcut, cuts: Sequence[Cut], d: int) -> PieceResult | str:
    a = request.allowances
    k, g = parts_of_a_length(request, offcut.width) or (1, 0)
    x = sum(cut.lengths_cut for cut in cuts if not cut.part)
    takes_part = any(cut.part for cut in cuts)
    strips, d = part_of_a_length(request, d)
    if takes_part and d > g:
        return f"can't give a part {mm_text(d)} mm wide: one of its lengths adds {mm_text(g)} mm"
    used = d + 2 * strips * a.edge_jointing + (strips - 1) * a.rip_kerf
    beside = [offcut.width - used - a.rip_kerf] if takes_part else []
    expected_cuts = [
        ExpectedCut(1, (strips,), d // strips, d) if cut.part else ExpectedCut(x, (k,) * x, g // k, x * g)
        for cut in cuts
    ]
    return piece_cost(request, offcut, x + takes_part, beside, request.thickness + a.flattening), expected_cuts


# --- section 9: what it costs --------------------------------------------------------------------


def worth_of(request: BoardRequest, sizes: Sizes) -> int:
    """worth(L, W, T) of section 9."""
    a = request.allowances
    volume = sizes[0] * sizes[1] * sizes[2] // _NM3_IN_A_MM3
    by_length = 250 + 750 * min(sizes[0], a.prime_length) // a.prime_length
    by_width = 500 + 500 * min(sizes[1], a.prime_width) // a.prime_width
    return volume * by_length * by_width // 1000


def piece_cost(request: BoardRequest, offcut: Offcut, q: int, beside: Sequence[int], used: int) -> PieceCost:
    """The cost of a piece of which `q` lengths are crosscut and `used` of the thickness is used.

    `beside` are the widths left of ripped lengths.
    """
    a = request.allowances
    strip_length = request.length + a.end_trim
    sizes: list[tuple[int, int]] = [(offcut.length - q * (strip_length + a.crosscut_kerf), offcut.width)]
    sizes += [(strip_length, width) for width in beside]
    boxes: list[Box] = []
    for length, width in sizes:
        if length > 0 and width > 0:
            ample = length >= a.keep_length and width >= a.keep_width and offcut.thickness >= a.keep_thickness
            boxes.append((length, width, offcut.thickness, ample))
    kept = sum(length * width * thickness // _NM3_IN_A_MM3 for length, width, thickness, keep in boxes if keep)
    unsurfaced_faces = sum(face is not Face.PLANED for face in (offcut.face_a, offcut.face_b))
    return PieceCost(
        loss=offcut.length * offcut.width * offcut.thickness // _NM3_IN_A_MM3 - kept,
        worth_lost=worth_of(request, (offcut.length, offcut.width, offcut.thickness))
        - sum(worth_of(request, box[:3]) for box in boxes if box[3]),
        milling=q * (strip_length * offcut.width * (offcut.thickness - used) // _NM3_IN_A_MM3),
        milling_area=q * strip_length * offcut.width * unsurfaced_faces // _NM2_IN_A_MM2,
        leftovers=tuple(boxes),
    )
