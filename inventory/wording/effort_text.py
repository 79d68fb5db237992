"""The work of a fill and the finished board in words, for page, cut sheet and command line alike."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from fractions import Fraction

from inventory.core.codes import format_tag
from inventory.core.lengths import Display, Length, Nearest, Unit, format_length, rounded_to
from inventory.core.moisture import COEFFICIENTS_MAX, COEFFICIENTS_MIN, EMC_SOURCE
from inventory.core.species import format_weight
from inventory.core.workshop import Sawn, Workshop
from inventory.layout.finished_board import (
    FinishedBoard,
    SizeMovement,
    coefficients_hold,
    moisture_range,
    size_movements,
)
from inventory.layout.operations import THIN_RIP_WIDTH, Flattening, GlueUpOperation, Operations
from inventory.wording.construction_text import CONSTRUCTION_TEXTS
from inventory.wording.steps import format_fine, format_numbers

# Wood Handbook, FPL-GTR-190 (2010), chapter 5: specific gravity varies by about 10 % within a species (from memory).
WEIGHT_VARIES = "wood of one species differs by a tenth and more"


def format_set_ups(operations: Operations, display: Display) -> str:
    """Every setting of fence and stop: `Set-ups: rip fence 1 (1 5/8 in), crosscut stop 1 (19 in).`"""
    text = [
        f"{name} {len(sizes)} ({', '.join(format_size(size, display) for size in sizes)})"
        for name, sizes, format_size in (
            ("rip fence", operations.fence, format_length),
            ("crosscut stop", operations.stop, format_length),
            # As finely as in the steps.
            ("band saw fence for leaves", operations.resaw, format_fine),
        )
        if sizes
    ]
    return f"Set-ups: {', '.join(text)}." if text else "Set-ups: none, every piece is glued in as it is."


MAX_LISTED_SINGLY = 4
"""The most glue-ups that are listed one by one; more are listed together."""


def format_operations(operations: Operations, workshop: Workshop, display: Display) -> tuple[str, ...]:
    """Cutting, then gluing."""
    return (*format_cutting(operations, display), *format_gluing(operations, workshop, display))


def format_cutting(operations: Operations, display: Display) -> tuple[str, ...]:
    """Set-ups, and pieces that are thin or short."""
    text = [format_set_ups(operations, display)]
    if operations.thinnest < THIN_RIP_WIDTH:
        text.append(f"The thinnest piece at the saw is {format_length(operations.thinnest, display)}.")
    if operations.short_lengths:
        lengths = join_words([format_length(length, display) for length in operations.short_lengths])
        text.append(f"Lengths of {lengths} are too short for jointer and planer: joint and plane before the crosscuts.")
    if operations.short_offcuts:
        text.append(
            f"Too short for them even before: {join_words([format_tag(tag) for tag in operations.short_offcuts])}."
        )
    return tuple(text)


def format_gluing(operations: Operations, workshop: Workshop, display: Display) -> tuple[str, ...]:
    """Every glue-up that needs parts, or another way than the planer; many of them together."""
    if len(operations.glue_ups) == 1:
        return tuple(_glue_up_text(operations.glue_ups[0], "The glue-up", workshop, display))
    text = [
        (number, glue_up, tuple(_glue_up_text(glue_up, f"Glue-up {number}", workshop, display)))
        for number, glue_up in enumerate(operations.glue_ups, 1)
    ]
    due = [(number, glue_up) for number, glue_up, sentences in text if sentences]
    if len(due) <= MAX_LISTED_SINGLY:
        return tuple(sentence for _, _, sentences in text for sentence in sentences)
    wide = [number for number, glue_up in due if not glue_up.joins_rows and glue_up.flattening is not Flattening.WHOLE]
    long = [number for number, glue_up in due if glue_up.exceeds_spread]
    together = []
    if wide:
        together.append(
            f"Glue-ups wider than the planer takes ({format_length(workshop.planer_width, display)}): "
            f"{format_numbers(wide)}. Cut each to width before it is planed, glue it in parts that go through, or "
            "flatten it another way."
        )
    if long:
        together.append(
            f"Glue-ups of more strips or rows than one spread of glue covers ({_spread_text(workshop)}): "
            f"{format_numbers(long)}. Glue each in parts, then the parts together."
        )
    return tuple(together)


def _glue_up_text(glue_up: GlueUpOperation, which: str, workshop: Workshop, display: Display) -> Iterator[str]:
    width, planer = format_length(glue_up.width, display), format_length(workshop.planer_width, display)
    pieces = "rows" if glue_up.joins_rows else "strips"
    parts = f"in {len(glue_up.parts)} parts {_parts_text(glue_up, pieces)}"
    if glue_up.flattening is Flattening.AFTER_TRIMMING:
        yield f"{which} is {width} wide, the planer takes {planer}: cut it to width before it is planed."
    if glue_up.flattening is Flattening.OTHER_METHOD:
        yield f"{which} is {width} wide, a strip alone wider than the planer takes ({planer}): flatten it another way."
    if glue_up.flattening is Flattening.IN_PARTS:
        yield (
            f"{which} is {width} wide, the planer takes {planer}: glue it {parts}, plane each, "
            "then glue them together; or flatten it another way."
        )
    elif len(glue_up.parts) > 1:
        yield (
            f"{which} has {glue_up.strips} {pieces}, one spread of glue covers {_spread_text(workshop)}: "
            f"glue it {parts}, then glue them together."
        )


def _spread_text(workshop: Workshop) -> str:
    """`16, in 5 minutes at 3 strips a minute`."""
    return (
        f"{workshop.max_strips_per_spread}, in {format_minutes(workshop.open_time)} at "
        f"{strips(workshop.spread_rate)} a minute"
    )


def _parts_text(glue_up: GlueUpOperation, pieces: str) -> str:
    """`(strips 1 to 7, 8 to 12)` as the drawing numbers them; without a drawing `of at most 7 strips`."""
    if glue_up.first is None:
        return f"of at most {max(glue_up.parts)} {pieces}"
    text, number = [], glue_up.first
    for many in glue_up.parts:
        text.append(str(number) if many == 1 else f"{number} to {number + many - 1}")
        number += many
    return f"({pieces} {', '.join(text)})"


def format_boards(boards: Sequence[FinishedBoard], workshop: Workshop, display: Display) -> tuple[str, ...]:
    """What the finished board weighs, and how far it moves with the seasons; of several, from the least to the most."""
    by_size: dict[tuple[str, Length], list[SizeMovement]] = {}
    for movement in (movement for board in boards for movement in size_movements(board, workshop)):
        by_size.setdefault((movement.name, movement.size), []).append(movement)
    return (
        _weights_text(boards, display),
        *(_movement_text(movements, workshop, display) for movements in by_size.values()),
    )


def format_basis(boards: Sequence[FinishedBoard], workshop: Workshop, display: Display) -> tuple[str, ...]:
    """What weights and movements of these boards rest on, and how sure they are; once for all of them."""
    movements = [movement for board in boards for movement in size_movements(board, workshop)]
    known = [movement for movement in movements if movement.by is not None]
    text = []
    if any(board.kilograms is not None for board in boards):
        text.append(f"Weights are at 12 % moisture content, without glue and finish; {WEIGHT_VARIES}.")
    if known:
        text += [_humidity_text(workshop, display), _sources_text(known, workshop)]
    return tuple(text)


def _weights_text(boards: Sequence[FinishedBoard], display: Display) -> str:
    unknown = dict.fromkeys(name for board in boards for name in board.unweighed)
    if all(board.kilograms is None for board in boards):
        return f"Weight not known: none is on record here for {species_list(unknown)}."
    whose = "" if len(boards) == len(boards[0].boards) == 1 else " of each board"
    text = f"Weight{whose} {format_weights(boards, display)}"
    return f"{text} where known: none is on record here for {species_list(unknown)}." if unknown else f"{text}."


def format_weights(boards: Sequence[FinishedBoard], display: Display) -> str:
    """`about 8.3 lb`; of several boards `about 7.9 to 8.3 lb`; `not known` where none is."""
    known = sorted(board.kilograms for board in boards if board.kilograms is not None)
    if not known:
        return "not known"
    low, high = format_weight(known[0], display.unit), format_weight(known[-1], display.unit)
    return low if low == high else f"{low[: low.rindex(' ')]} to {high.removeprefix('about ')}"


def format_known_weights(boards: Sequence[FinishedBoard], display: Display) -> str:
    """What boards weigh; where some weights are not known, it says so."""
    some = len({board.kilograms is None for board in boards}) > 1
    return f"{format_weights(boards, display)}{' where known' if some else ''}"


def format_movements(movements: Sequence[SizeMovement], sawn: Sawn, display: Display) -> str:
    """By how much a size grows, of stock that was `sawn` so; `not known` where it is not of all.

    A range, `1/32 to 5/64 in`, where boards differ or the sawing is not known; else one size.
    """
    sizes = [movement.by for movement in movements if sawn in (movement.sawn, Sawn.UNKNOWN)]
    known = [size for size in sizes if size is not None]
    return "not known" if len(known) < len(sizes) else _range(known, display)


def _range(sizes: Sequence[int], display: Display) -> str:
    low, high = format_movement(min(sizes), display), format_movement(max(sizes), display)
    return high if low == high else f"{low.removesuffix(f' {display.unit.value}')} to {high}"


def format_movement(size: int, display: Display) -> str:
    """A movement to the nearest 1/64 in or 0.1 mm: finer than boards are measured, coarser than it is known.

    >>> format_movement(1_980_000, Display()), format_movement(1_980_000, Display(Nearest.TENTH_MM))
    ('5/64 in', '2 mm')
    """
    fine = Display(Nearest.SIXTY_FOURTH if display.unit is Unit.INCH else Nearest.TENTH_MM)
    nearest = rounded_to(size, fine.nearest.step)
    return format_length(nearest, fine) if nearest else f"under {format_length(fine.nearest.step, fine)}"


def format_temperature(celsius: Fraction, unit: Unit) -> str:
    """In whole °F in an inch shop, else in whole °C.

    >>> format_temperature(Fraction(20), Unit.INCH), format_temperature(Fraction(20), Unit.MILLIMETER)
    ('68 °F', '20 °C')
    """
    return f"{round(celsius * 9 / 5 + 32)} °F" if unit is Unit.INCH else f"{round(celsius)} °C"


def format_glue_spreads(operations: Operations) -> str:
    """How often glue is spread: `once`, `3 times`."""
    return "once" if operations.glue_spreads == 1 else f"{operations.glue_spreads} times"


def species_list(names: Iterable[str]) -> str:
    """Species in a row: `ash, cherry and wood whose species is not noted`."""
    return join_words([name or "wood whose species is not noted" for name in names])


def join_words(words: Sequence[str]) -> str:
    """Words in a row.

    >>> join_words(["ash", "cherry", "oak"])
    'ash, cherry and oak'
    """
    return words[0] if len(words) == 1 else f"{', '.join(words[:-1])} and {words[-1]}"


def format_minutes(time: Fraction) -> str:
    """`5 minutes`, `1 minute`, `7.5 minutes`."""
    return f"{float(time):g} {'minute' if time == 1 else 'minutes'}"


def strips(many: Fraction) -> str:
    """`3 strips`, `1 strip`, `2.5 strips`."""
    return f"{float(many):g} {'strip' if many == 1 else 'strips'}"


def _humidity_text(workshop: Workshop, display: Display) -> str:
    driest, dampest = moisture_range(workshop)
    return (
        f"From {_percent(workshop.driest)} to {_percent(workshop.dampest)} relative humidity at "
        f"{format_temperature(workshop.celsius, display.unit)} wood goes from {float(driest):.1f} to "
        f"{float(dampest):.1f} % moisture content ({EMC_SOURCE})."
    )


def _movement_text(movements: Sequence[SizeMovement], workshop: Workshop, display: Display) -> str:
    """How one size moves, the same of several boards."""
    flat = [movement for movement in movements if movement.sawn is Sawn.FLAT]
    quarter = [movement for movement in movements if movement.sawn is Sawn.QUARTER]
    name, size = movements[0].name, movements[0].size
    if all(movement.by is None for movement in movements):
        return (
            f"How far the {name} moves is not known: nothing is on record here for "
            f"{species_list(dict.fromkeys(species for movement in (*flat, *quarter) for species in movement.unknown))}."
        )
    was = ", once the panel's thickness," if name == "length" else ""
    grows = (
        f"From {_percent(workshop.driest)} to {_percent(workshop.dampest)} humidity the {name} of "
        f"{format_length(size, display)}{was} grows"
    )
    lies = CONSTRUCTION_TEXTS[movements[0].strips].placed
    if_flat, if_quarter = flat[0].direction.value, quarter[0].direction.value
    match workshop.sawn:
        case Sawn.UNKNOWN:
            return (
                f"{grows} {_by(flat, display)} if its strips are flat-sawn stock {lies} ({if_flat} coefficient), "
                f"{_by(quarter, display)} if quarter-sawn ({if_quarter})."
            )
        case Sawn.FLAT:
            return (
                f"{grows} {_by(flat, display)}: flat-sawn stock {lies}, {if_flat} coefficient. "
                f"Quarter-sawn stock swaps them: {_by(quarter, display)} ({if_quarter})."
            )
        case Sawn.QUARTER:
            return (
                f"{grows} {_by(quarter, display)}: quarter-sawn stock {lies}, {if_quarter} coefficient. "
                f"Flat-sawn stock swaps them: {_by(flat, display)} ({if_flat})."
            )


def _by(moves: Sequence[SizeMovement], display: Display) -> str:
    unknown = dict.fromkeys(name for movement in moves for name in movement.unknown)
    if unknown:
        return f"by an amount not known here for {species_list(unknown)}"
    movement = _range([movement.by for movement in moves if movement.by is not None], display)
    return f"by {movement}" if movement.startswith("under") else f"by about {movement}"


def _sources_text(known: Sequence[SizeMovement], workshop: Workshop) -> str:
    text = "Movements are a guide, not a measurement."
    sources = dict.fromkeys(source for movement in known for source in movement.sources)
    if sources:
        text += f" Coefficients, by equation 13-2: {'; '.join(sources)}."
    if sources and not coefficients_hold(workshop):
        text += (
            f" They hold from {COEFFICIENTS_MIN} to {COEFFICIENTS_MAX} % moisture content; this swing goes beyond, "
            "so it is rough."
        )
    rough = dict.fromkeys(each for movement in known for each in movement.rough)
    if rough:
        text += (
            " From total shrinkage by equation 4-9, and rough, since sources differ on it: "
            f"{'; '.join(f'{species} ({source})' for species, source in rough)}."
        )
    return text


def _percent(value: Fraction) -> str:
    return f"{float(value):g} %"
