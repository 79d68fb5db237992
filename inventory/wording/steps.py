"""The work in words: what is done to each piece, and to the glue-up, step by step.

Sizes and numbers are those of the layout, so that the words agree with the drawing. The steps name no machine, unless
the usual one is dangerous. The suggestions on growth rings are common practice, no source.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import groupby

from inventory.core.allowances import Allowances
from inventory.core.lengths import NM_PER_INCH, Display, Unit, format_length, inch_text
from inventory.core.offcuts import Face, Mark, Offcut
from inventory.cutting.marking_out import MarkedLength, Region, RegionUse, ResawnStrip
from inventory.layout.end_grain_rows import SlicedBoard
from inventory.layout.operations import MIN_MACHINED_LENGTH, THIN_RIP_WIDTH
from inventory.layout.positions import GlueUpLayout, LetteredPiece
from inventory.wording.construction_text import CONSTRUCTION_TEXTS

# common practice, no source
_THIN = " Thin rips: on the band saw or with a guide made for thin rips, and never under 1/8 in (3 mm) on a table saw."
# common practice, no source
_SHORT = (
    " So short, it goes over no jointer and through no planer: flatten and joint the piece before this crosscut, "
    "or by hand after it."
)
# common practice, no source
_THIN_STOCK = " Leaves go through a planer only on a carrier board, and only if its manual allows stock so thin."


@dataclass(frozen=True)
class PieceSteps:
    """What is done to one piece, or alike to each of several like pieces."""

    crosscut: str
    flatten: str
    rip: tuple[str, ...]
    resaw: tuple[str, ...] = ()
    metal: str = ""

    @property
    def all(self) -> tuple[str, ...]:
        """Every step in order; metal in the piece comes first."""
        return (*([self.metal] if self.metal else []), self.crosscut, self.flatten, *self.rip, *self.resaw)


def piece_steps(pieces: Sequence[LetteredPiece], layout: GlueUpLayout, display: Display) -> PieceSteps:
    """The steps for like pieces that are cut alike; for one piece a sequence of one."""
    words = _StepText(pieces, layout, display)
    metal = find_metal(pieces[0].offcut, len(pieces))
    return PieceSteps(words.crosscut(), words.flatten(), tuple(words.rips()), tuple(words.resaws()), metal)


def find_metal(offcut: Offcut, pieces: int = 1) -> str:
    """The first step at a piece with the mark `metal`, or at so many like pieces; empty without it."""
    if Mark.METAL not in offcut.marks:
        return ""
    these = "this piece" if pieces == 1 else "each of these pieces"
    return (
        f"Metal was found in {these}: find all of it with a detector, and take it out before a blade touches the wood."
    )


def glue_up_steps(layout: GlueUpLayout, display: Display) -> tuple[str, ...]:
    """From strips to board, or to the panel of an end-grain board: lay in order, glue, flatten, joint, trim."""

    def size_text(size: int) -> str:
        return format_length(size, display)

    def fine_text(size: int) -> str:
        return format_fine(size, display)

    request = layout.request
    many = len(layout.strips)
    first, last = layout.strips[0].number, layout.strips[-1].number
    numbers = f"strip {first}" if many == 1 else f"strips {first} to {last}"
    steps: list[str] = []
    words = CONSTRUCTION_TEXTS[layout.grain]
    steps += [step.format(numbers=numbers, thickness=size_text(layout.thickness)) for step in words.lay_steps]
    steps += turning_steps(layout)
    if many > 2:
        steps.append(
            f"A suggestion: where the ends show curved growth rings, let the curves point {words.rings} in turn, "
            "strip by strip, so that the board cups less as a whole."
        )
    oily = [strip.number for strip in layout.strips if Mark.OILY in strip.offcut.marks]
    if oily and many > 1:
        steps.append(
            f"Wipe the faces to be glued of {'strip' if len(oily) == 1 else 'strips'} {format_numbers(oily)} with "
            "solvent just before the glue-up, freshly cut as they are: their wood is oily."
        )
    if many > 1:
        glue_lines = "1 glue line" if many == 2 else f"{many - 1} glue lines"
        steps.append(
            f"Try the clamps dry, then glue up: {glue_lines}, {size_text(layout.width)} wide. "
            "The glue's own sheet says how long it stays open and how long it is clamped."
        )
    if max(layout.face_trims) > 0:
        steps.append(
            f"Flatten both faces, {fine_text(max(layout.face_trims))} off each: {size_text(request.thickness)} thick."
        )
    if max(layout.side_trims) > 0:
        steps.append(
            f"Joint the two sides, {fine_text(max(layout.side_trims))} off each: "
            f"{size_text(layout.planned.jointed_width)} wide."
        )
    if max(layout.end_trims) > 0:
        steps.append(
            f"Trim the two ends, {fine_text(max(layout.end_trims))} off each: {size_text(request.length)} long."
        )
    return tuple(steps)


def turning_steps(layout: GlueUpLayout) -> list[str]:
    """Which strips are turned or flipped."""
    steps = []
    for turned, how in (
        ([strip.number for strip in layout.strips if strip.turned], "end for end"),
        ([strip.number for strip in layout.strips if strip.flipped], "over, the other face up"),
    ):
        if turned:
            steps.append(f"Turn {'strip' if len(turned) == 1 else 'strips'} {format_numbers(turned)} {how}.")
    return steps


def second_glue_up_steps(board: SlicedBoard, display: Display) -> tuple[str, ...]:
    """From the panels to the end-grain board: slice, turn the slices up, glue again, flatten, trim."""

    def size_text(size: int) -> str:
        return format_length(size, display)

    rows = board.rows
    slices = "one slice" if rows == 1 else f"{rows} slices"
    where = "the panel" if len(board.panels) == 1 else f"the {len(board.panels)} panels"
    steps = [
        f"Crosscut {where} into {slices} of {size_text(board.slice_length)}, and number them. A slice is short "
        "along the grain: carry it past the blade on a sled or a mitre gauge, with a stop that is clear of the blade.",
        f"Turn every slice up, so that its end grain shows: each is now {size_text(board.depth)} of the "
        "board's length.",
    ]
    turned = board.turned_rows
    if turned:
        steps.append(
            f"Turn every second slice end for end, {format_numbers(turned)}, so that no glue line runs on "
            "through two rows."
            if any(not panel.is_mirrored for panel in board.panels)
            else f"Turn every second slice end for end, {format_numbers(turned)}."
        )
    if rows > 1:
        glue_lines = "1 glue line" if rows == 2 else f"{rows - 1} glue lines"
        steps.append(f"Try the clamps dry, then glue up the second time: {glue_lines}, {size_text(board.length)} long.")
    steps.append(
        f"Flatten both faces to {size_text(board.thickness)} thick by sanding, or with a router on a sled: end "
        "grain in a planer can break out or be thrown back, unless the planer's manual allows it."
    )
    if max(board.side_trims) > 0:
        trim = format_fine(max(board.side_trims), display)
        steps.append(f"Trim the two sides, {trim} off each: {size_text(board.finished_width)} wide.")
    if board.finished_length is not None and board.length > board.finished_length:
        trim = format_fine(max(board.end_trims), display)
        steps.append(f"Trim the first and the last row, {trim} off each: {size_text(board.finished_length)} long.")
    return tuple(steps)


def format_fine(size: int, display: Display, *, with_unit: bool = True) -> str:
    """A size as the shop reads it, but to the 64th of an inch where that is exact: an allowance may be as small.

    >>> from inventory.core.lengths import inches
    >>> format_fine(inches("1/32"), Display()), format_fine(inches("1/8"), Display())
    ('1/32 in', '1/8 in')
    """
    if display.unit is Unit.INCH and size * 64 % NM_PER_INCH == 0:
        return f"{inch_text(size)} in" if with_unit else inch_text(size)
    return format_length(size, display, with_unit=with_unit)


def format_numbers(numbers: Sequence[int]) -> str:
    """Strip numbers as read out.

    >>> format_numbers([4]), format_numbers([4, 5]), format_numbers([3, 4, 5, 6]), format_numbers([1, 4, 9])
    ('4', '4 and 5', '3 to 6', '1, 4 and 9')
    """
    if len(numbers) > 2 and list(numbers) == list(range(numbers[0], numbers[0] + len(numbers))):
        return f"{numbers[0]} to {numbers[-1]}"
    words = [str(number) for number in numbers]
    return words[0] if len(words) == 1 else f"{', '.join(words[:-1])} and {words[-1]}"


class _StepText:
    def __init__(self, pieces: Sequence[LetteredPiece], layout: GlueUpLayout, display: Display) -> None:
        self.pieces = pieces
        self.marked = pieces[0].marked
        self.offcut = pieces[0].offcut
        self.allowances: Allowances = layout.request.allowances
        self.grain = layout.grain
        self.display = display

    def size_text(self, size: int) -> str:
        return format_length(size, self.display)

    def flatten(self) -> str:
        """What comes off each face, and how thick it then is."""
        clean = f"{format_fine(self.marked.clean, self.display)} of {self.size_text(self.offcut.thickness)} is left"
        faces = [
            f"{format_fine(self.allowances.off(face), self.display)} off face {name} ({_condition(face)})"
            for name, face in (("A", self.offcut.face_a), ("B", self.offcut.face_b))
            if self.allowances.off(face) > 0
        ]
        if not faces:
            return f"Both faces count as flat and bare: {self.size_text(self.marked.clean)} thick."
        return f"Take {' and '.join(faces)}: {clean}."

    def crosscut(self) -> str:
        lengths = len(self.marked.lengths)
        size = self.size_text(self.marked.lengths[0].length)
        if not self.marked.crosscuts:
            return f"It is {size} long, just as needed: no crosscut."
        count = "one length" if lengths == 1 else f"{lengths} lengths"
        short = _SHORT if self.marked.lengths[0].length < MIN_MACHINED_LENGTH <= self.offcut.length else ""
        return f"Crosscut {count} of {size} from one end.{self._left(self.marked.leftover)}{short}"

    def rips(self) -> list[str]:
        """One sentence for each crosscut length; lengths in a row that are ripped alike share one."""
        lengths = self.marked.lengths
        sentences = []
        for _, group in groupby(range(len(lengths)), key=lambda place: _ripped_alike(lengths[place])):
            places = list(group)
            where = ""
            if len(places) > 1:
                where = f"lengths {format_numbers([place + 1 for place in places])}, each: "
            elif len(lengths) > 1:
                where = f"length {places[0] + 1}: "
            sentences.append(_sentence(where + self._rip(lengths[places[0]], self._numbers(places))))
        return sentences

    def _numbers(self, places: Sequence[int]) -> str:
        """The strips of some lengths, of each like piece by its letter."""
        return self._named([[piece.numbers_by_length[place] for place in places] for piece in self.pieces])

    def _named(self, numbers: Sequence[Sequence[tuple[int, ...]]]) -> str:
        """Numbers of strips, for each like piece in groups; a group that no glue-up needs is spare."""
        lists = [[format_numbers(group) if group else "a spare" for group in groups] for groups in numbers]
        if len(lists) == 1:
            count = sum(map(len, numbers[0]))
            word = "" if count == 0 else "strip " if count == 1 else "strips "
            return f"{word}{', then '.join(lists[0])}"
        return ", ".join(
            f"{', then '.join(groups)} from {piece.letter}" for piece, groups in zip(self.pieces, lists, strict=True)
        )

    def _rip(self, length: MarkedLength, numbers: str) -> str:
        count = len(length.strips)
        ripped, glued_width = self.size_text(length.ripped), self.size_text(length.glued_width)
        left = self._left(length.leftover)
        if self.grain.on_edge:
            joint = "joint one edge, then rip" if self.allowances.edge_jointing > 0 else "rip"
            strips = f"one strip {ripped} wide" if count == 1 else f"{count} strips {ripped} wide"
            if self.marked.resawn:
                return f"{joint} {strips}, to be resawn.{left}"
            return f"{joint} {strips}: {numbers}.{left}"
        jointed = f"joint both edges to {glued_width}" if self.allowances.edge_jointing > 0 else f"{glued_width} wide"
        thin = _THIN if length.ripped < THIN_RIP_WIDTH else ""
        if count == 1 and self._is_whole(length):
            return f"leave it whole and {jointed}: {numbers}.{left}"
        strips = "one strip" if count == 1 else f"{count} {'equal ' if self._is_whole(length) else ''}strips"
        each = "" if count == 1 else " each"
        return f"rip {strips} {ripped} wide and {jointed}{each}: {numbers}.{thin}{left}"

    def _is_whole(self, length: MarkedLength) -> bool:
        """Whether all of the width becomes strips."""
        return length.regions[-1].use is RegionUse.STRIP

    def resaws(self) -> list[str]:
        """One sentence for strips in a row that give as many leaves."""
        resawn = self.marked.resawn
        sentences = []
        for _, group in groupby(range(len(resawn)), key=lambda place: (resawn[place].leaves, resawn[place].passes)):
            places = list(group)
            strips = "the strip" if len(resawn) == 1 else f"{_counted(len(places))} of the strips"
            if len(places) == len(resawn) > 1:
                strips = "each strip"
            numbers = self._named([[piece.numbers_by_strip[place] for place in places] for piece in self.pieces])
            sentences.append(_sentence(f"{self._resaw(resawn[places[0]], strips)}: {numbers}.{_THIN_STOCK}"))
        return sentences

    def _resaw(self, strip: ResawnStrip, strips: str) -> str:
        leaf = format_fine(strip.leaf, self.display)
        if not strip.passes:
            return f"plane {strips} down to {leaf}"
        leaves = "one leaf" if strip.leaves == 1 else f"{strip.leaves} leaves"
        each = "it" if strip.leaves == 1 else "each"
        clean = f", and clean {each} to {leaf}" if strip.sawn > strip.leaf else ""
        return f"resaw {strips} on the band saw into {leaves} {format_fine(strip.sawn, self.display)} thick{clean}"

    def _left(self, region: Region | None) -> str:
        """What is left and whether it goes back on the rack."""
        if region is None:
            return ""
        size = f"{self.size_text(region.length)} × {self.size_text(region.width)}"
        return f" Left: {size}, {'keep it' if region.use is RegionUse.KEPT else 'not kept'}."


def _counted(many: int) -> str:
    return "one" if many == 1 else str(many)


def _ripped_alike(length: MarkedLength) -> tuple[object, ...]:
    left = length.leftover
    return (len(length.strips), length.ripped, length.part, left and (left.width, left.use))


def _sentence(text: str) -> str:
    return text[0].upper() + text[1:]


def _condition(face: Face) -> str:
    match face:
        case Face.ROUGH:
            return "rough"
        case Face.FINISHED:
            return "old finish"
        case Face.PLANED:
            return "planed"


def repeated_glue_up_text(layout: GlueUpLayout) -> str:
    """One line for a glue-up whose steps are those of an identical one: its strips, in the same order."""
    numbers = format_numbers([strip.number for strip in layout.strips])
    strips = f"strip {numbers}" if len(layout.strips) == 1 else f"strips {numbers}"
    return " ".join(
        [
            f"Board {layout.planned.board + 1}: {strips}, in the same order.",
            *turning_steps(layout),
        ]
    )
