"""The work in words: what is done to each piece, and to the glue-up, step by step.

Knows the order of work (cutting model, section 3) and how a shop reads lengths.
Reckons nothing: sizes and numbers are those of `inventory.fill.layout`, so that
the words agree with the drawing. Which machine does a step is the shop's to say.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import groupby

from inventory.cutting.marking import MarkedLength, Region, Use
from inventory.fill.layout import Layout, PieceInFill
from inventory.fill.request import Grain
from inventory.measures import NM_PER_INCH, Display, Unit, inch_text, show
from inventory.pieces import Allowances, Face


@dataclass(frozen=True)
class PieceSteps:
    """What is done to one piece, or alike to each of several like pieces."""

    flatten: str
    crosscut: str
    rip: tuple[str, ...]

    @property
    def all(self) -> tuple[str, ...]:
        """Every step in order."""
        return (self.flatten, self.crosscut, *self.rip)


def piece_steps(pieces: Sequence[PieceInFill], layout: Layout, display: Display) -> PieceSteps:
    """The steps for like pieces that are cut alike; for one piece a sequence of one."""
    words = _Words(pieces, layout, display)
    return PieceSteps(words.flatten(), words.crosscut(), tuple(words.rips()))


def glue_up_steps(layout: Layout, display: Display) -> tuple[str, ...]:
    """From strips to board: lay in order, glue, flatten, joint the sides, trim the ends."""

    def told(size: int) -> str:
        return show(size, display)

    def finely(size: int) -> str:
        return show_finely(size, display)

    request = layout.request
    last = len(layout.strips)
    numbers = "strip 1" if last == 1 else f"strips 1 to {last}"
    steps: list[str] = []
    if layout.grain is Grain.EDGE:
        steps.append(f"Turn the strips on edge and lay {numbers} in order as drawn, face against face.")
    else:
        steps.append(f"Plane all strips to {told(layout.thickness)} thick.")
        steps.append(f"Lay {numbers} flat in order as drawn, edge against edge.")
    if last > 1:
        glue_lines = "1 glue line" if last == 2 else f"{last - 1} glue lines"
        steps.append(
            f"Try the clamps dry, then glue up: {glue_lines}, {told(layout.width)} wide. "
            "The glue's own sheet says how long it stays open and how long it is clamped."
        )
    if max(layout.face_trims) > 0:
        steps.append(f"Flatten both faces, {finely(max(layout.face_trims))} off each: {told(request.thickness)} thick.")
    if max(layout.side_trims) > 0:
        steps.append(f"Joint the two sides, {finely(max(layout.side_trims))} off each: {told(request.width)} wide.")
    if max(layout.end_trims) > 0:
        steps.append(f"Trim the two ends, {finely(max(layout.end_trims))} off each: {told(request.length)} long.")
    return tuple(steps)


def show_finely(size: int, display: Display) -> str:
    """A size as the shop reads it, but to the 64th of an inch where that is exact: an allowance may be no more.

    >>> from inventory.measures import inches
    >>> show_finely(inches("1/32"), Display()), show_finely(inches("1/8"), Display())
    ('1/32 in', '1/8 in')
    """
    if display.unit is Unit.INCH and size * 64 % NM_PER_INCH == 0:
        return f"{inch_text(size)} in"
    return show(size, display)


def listed(numbers: Sequence[int]) -> str:
    """Strip numbers as read out.

    >>> listed([4]), listed([4, 5]), listed([3, 4, 5, 6]), listed([1, 4, 9])
    ('4', '4 and 5', '3 to 6', '1, 4 and 9')
    """
    if len(numbers) > 2 and list(numbers) == list(range(numbers[0], numbers[0] + len(numbers))):
        return f"{numbers[0]} to {numbers[-1]}"
    words = [str(number) for number in numbers]
    return words[0] if len(words) == 1 else f"{', '.join(words[:-1])} and {words[-1]}"


class _Words:
    def __init__(self, pieces: Sequence[PieceInFill], layout: Layout, display: Display) -> None:
        self.pieces = pieces
        self.marked = pieces[0].marked
        self.offcut = pieces[0].offcut
        self.allowances: Allowances = layout.request.allowances
        self.grain = layout.grain
        self.display = display

    def told(self, size: int) -> str:
        return show(size, self.display)

    def flatten(self) -> str:
        """What comes off each face, and how thick it then is."""
        clean = f"{show_finely(self.marked.clean, self.display)} of {self.told(self.offcut.thickness)} is left"
        faces = [
            f"{show_finely(self.allowances.off(face), self.display)} off face {name} ({_condition(face)})"
            for name, face in (("A", self.offcut.face_a), ("B", self.offcut.face_b))
            if self.allowances.off(face) > 0
        ]
        if not faces:
            return f"Both faces count as flat and bare: {self.told(self.marked.clean)} thick."
        return f"Take {' and '.join(faces)}: {clean}."

    def crosscut(self) -> str:
        lengths = len(self.marked.lengths)
        size = self.told(self.marked.lengths[0].length)
        if not self.marked.crosscuts:
            return f"It is {size} long, just as needed: no crosscut."
        count = "one length" if lengths == 1 else f"{lengths} lengths"
        return f"Crosscut {count} of {size} from one end.{self._left(self.marked.left_over)}"

    def rips(self) -> list[str]:
        """One sentence for each crosscut length; lengths in a row that are ripped alike share one."""
        lengths = self.marked.lengths
        sentences = []
        for _, group in groupby(range(len(lengths)), key=lambda place: _ripped_alike(lengths[place])):
            places = list(group)
            where = ""
            if len(places) > 1:
                where = f"lengths {listed([place + 1 for place in places])}, each: "
            elif len(lengths) > 1:
                where = f"length {places[0] + 1}: "
            sentences.append(_sentence(where + self._rip(lengths[places[0]], self._numbers(places))))
        return sentences

    def _numbers(self, places: Sequence[int]) -> str:
        """The strips of some lengths, of each like piece by its letter."""
        lists = [[listed(piece.by_length[place]) for place in places] for piece in self.pieces]
        if len(lists) == 1:
            one = len(places) == 1 and len(self.pieces[0].by_length[places[0]]) == 1
            return f"{'strip' if one else 'strips'} {', then '.join(lists[0])}"
        return ", ".join(
            f"{', then '.join(numbers)} from {piece.letter}" for piece, numbers in zip(self.pieces, lists, strict=True)
        )

    def _rip(self, length: MarkedLength, numbers: str) -> str:
        count = len(length.strips)
        ripped, glued = self.told(length.ripped), self.told(length.glued)
        left = self._left(length.left_over)
        if self.grain is Grain.EDGE:
            joint = "joint one edge, then rip" if self.allowances.edge_jointing > 0 else "rip"
            strips = f"one strip {ripped} wide" if count == 1 else f"{count} strips {ripped} wide"
            return f"{joint} {strips}: {numbers}.{left}"
        jointed = f"joint both edges to {glued}" if self.allowances.edge_jointing > 0 else f"{glued} wide"
        if length.closing:
            return f"rip one strip {ripped} wide and {jointed}: {numbers}.{left}"
        if count == 1:
            return f"leave it whole and {jointed}: {numbers}.{left}"
        return f"rip {count} equal strips {ripped} wide and {jointed} each: {numbers}.{left}"

    def _left(self, region: Region | None) -> str:
        """What is left and whether it goes back on the rack."""
        if region is None:
            return ""
        size = f"{self.told(region.length)} × {self.told(region.width)}"
        return f" Left: {size}, {'keep it' if region.use is Use.KEPT else 'not kept'}."


def _ripped_alike(length: MarkedLength) -> tuple[object, ...]:
    left = length.left_over
    return (len(length.strips), length.ripped, length.closing, left and (left.width, left.use))


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
