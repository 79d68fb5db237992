"""The effort of a fill and the finished board in words, for page, cut sheet and command line alike.

Knows how a shop reads lengths, weights and temperatures. Reckons nothing.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from fractions import Fraction

from inventory.core.codes import format_tag
from inventory.core.lengths import Display, Length, Nearest, Unit, format_length, rounded_to
from inventory.core.moisture import COEFFICIENTS_MAX, COEFFICIENTS_MIN, EMC_SOURCE
from inventory.core.species import format_weight
from inventory.core.workshop import Sawn, Workshop
from inventory.fill.request import Grain
from inventory.layout.effort import Effort
from inventory.layout.finished_board import FinishedBoard, Moved, Seasons, SizeChange, Weight
from inventory.layout.operations import THIN_RIP, Flattening, GlueUpWork, SetUps, Work
from inventory.wording.steps import listed, show_finely

# Wood Handbook, FPL-GTR-190 (2010), chapter 5: specific gravity varies by about 10 % within a species (from memory).
WEIGHT_VARIES = "wood of one species differs by a tenth and more"


def told_set_ups(set_ups: SetUps, display: Display) -> str:
    """Every setting of fence and stop: `Set-ups: rip fence 1 (1 5/8 in), crosscut stop 1 (19 in).`"""
    told = [
        f"{name} {len(sizes)} ({', '.join(told_size(size, display) for size in sizes)})"
        for name, sizes, told_size in (
            ("rip fence", set_ups.fence, format_length),
            ("crosscut stop", set_ups.stop, format_length),
            # As finely as the step tells it.
            ("band saw fence for leaves", set_ups.resaw, show_finely),
        )
        if sizes
    ]
    return f"Set-ups: {', '.join(told)}." if told else "Set-ups: none, every piece is glued in as it is."


MOST_TOLD_ALONE = 4
"""More glue-ups that need parts are told together."""


def told_effort(effort: Effort, workshop: Workshop, display: Display) -> tuple[str, ...]:
    """The work and the boards of one fill; `told_basis` says what the figures rest on."""
    return (*told_work(effort.work, workshop, display), *told_boards(effort.boards, workshop, display))


def told_work(work: Work, workshop: Workshop, display: Display) -> tuple[str, ...]:
    """Cutting, then gluing."""
    return (*told_cutting(work, display), *told_gluing(work, workshop, display))


def told_cutting(work: Work, display: Display) -> tuple[str, ...]:
    """Set-ups, and pieces that are thin or short."""
    told = [told_set_ups(work.set_ups, display)]
    if work.thinnest < THIN_RIP:
        told.append(f"The thinnest piece at the saw is {format_length(work.thinnest, display)}.")
    if work.short_lengths:
        lengths = in_a_row([format_length(length, display) for length in work.short_lengths])
        told.append(f"Lengths of {lengths} are too short for jointer and planer: joint and plane before the crosscuts.")
    if work.short_offcuts:
        told.append(f"Too short for them even before: {in_a_row([format_tag(tag) for tag in work.short_offcuts])}.")
    return tuple(told)


def told_gluing(work: Work, workshop: Workshop, display: Display) -> tuple[str, ...]:
    """Every glue-up that needs parts, or another way than the planer; many of them together."""
    if len(work.glue_ups) == 1:
        return tuple(_told_glue_up(work.glue_ups[0], "The glue-up", workshop, display))
    told = [
        (number, glue_up, tuple(_told_glue_up(glue_up, f"Glue-up {number}", workshop, display)))
        for number, glue_up in enumerate(work.glue_ups, 1)
    ]
    due = [(number, glue_up) for number, glue_up, sentences in told if sentences]
    if len(due) <= MOST_TOLD_ALONE:
        return tuple(sentence for _, _, sentences in told for sentence in sentences)
    wide = [number for number, glue_up in due if not glue_up.is_of_rows and glue_up.flattening is not Flattening.WHOLE]
    long = [number for number, glue_up in due if glue_up.over_spread]
    together = []
    if wide:
        together.append(
            f"Glue-ups wider than the planer takes ({format_length(workshop.planer_width, display)}): "
            f"{listed(wide)}. Cut each "
            "to width before it is planed, glue it in parts that go through, or flatten it another way."
        )
    if long:
        together.append(
            f"Glue-ups of more strips or rows than one spread of glue covers ({_told_spread(workshop)}): "
            f"{listed(long)}. Glue each in parts, then the parts together."
        )
    return tuple(together)


def _told_glue_up(glue_up: GlueUpWork, which: str, workshop: Workshop, display: Display) -> Iterator[str]:
    width, planer = format_length(glue_up.width, display), format_length(workshop.planer_width, display)
    pieces = "rows" if glue_up.is_of_rows else "strips"
    parts = f"in {len(glue_up.parts)} parts {_told_parts(glue_up, pieces)}"
    if glue_up.flattening is Flattening.ONCE_NARROWED:
        yield f"{which} is {width} wide, the planer takes {planer}: cut it to width before it is planed."
    if glue_up.flattening is Flattening.OTHERWISE:
        yield f"{which} is {width} wide, a strip alone wider than the planer takes ({planer}): flatten it another way."
    if glue_up.flattening is Flattening.IN_PARTS:
        yield (
            f"{which} is {width} wide, the planer takes {planer}: glue it {parts}, plane each, "
            "then glue them together; or flatten it another way."
        )
    elif len(glue_up.parts) > 1:
        yield (
            f"{which} has {glue_up.strips} {pieces}, one spread of glue covers {_told_spread(workshop)}: "
            f"glue it {parts}, then glue them together."
        )


def _told_spread(workshop: Workshop) -> str:
    """`16, in 5 minutes at 3 strips a minute`."""
    return f"{workshop.strips_at_once}, in {minutes(workshop.open_time)} at {strips(workshop.spread_rate)} a minute"


def _told_parts(glue_up: GlueUpWork, pieces: str) -> str:
    """`(strips 1 to 7, 8 to 12)` as the drawing numbers them; without a drawing `of at most 7 strips`."""
    if glue_up.first is None:
        return f"of at most {max(glue_up.parts)} {pieces}"
    told, number = [], glue_up.first
    for many in glue_up.parts:
        told.append(str(number) if many == 1 else f"{number} to {number + many - 1}")
        number += many
    return f"({pieces} {', '.join(told)})"


def told_boards(boards: Sequence[FinishedBoard], workshop: Workshop, display: Display) -> tuple[str, ...]:
    """What the finished board weighs, and how far it moves with the seasons; of several, from the least to the most."""
    alike: dict[tuple[str, Length], list[SizeChange]] = {}
    for change in (change for board in boards for change in board.changes):
        alike.setdefault((change.name, change.size), []).append(change)
    return (
        _told_weights(boards, display),
        *(_told_change(changes, workshop, display) for changes in alike.values()),
    )


def told_basis(efforts: Sequence[Effort], workshop: Workshop, display: Display) -> tuple[str, ...]:
    """What weights and movements of these fills rest on, and how sure they are; once for all of them."""
    boards = [board for effort in efforts for board in effort.boards]
    moved = [each for board in boards for change in board.changes for each in _both(change) if each.by is not None]
    told = []
    if any(board.weight.kilograms is not None for board in boards):
        told.append(f"Weights are at 12 % moisture content, without glue and finish; {WEIGHT_VARIES}.")
    if moved:
        told += [_told_air(boards[0].seasons, workshop, display), _told_sources(moved, boards[0].seasons)]
    return tuple(told)


def _told_weights(boards: Sequence[FinishedBoard], display: Display) -> str:
    unknown = dict.fromkeys(name for board in boards for name in board.weight.unknown)
    if all(board.weight.kilograms is None for board in boards):
        return f"Weight not known: none is on record here for {woods(unknown)}."
    whose = "" if len(boards) == len(boards[0].boards) == 1 else " of each board"
    told = f"Weight{whose} {shown_weights([board.weight for board in boards], display)}."
    return f"{told[:-1]} where known: none is on record here for {woods(unknown)}." if unknown else told


def shown_weights(weights: Sequence[Weight], display: Display) -> str:
    """`about 8.3 lb`; of several boards `about 7.9 to 8.3 lb`; `not known` where none is."""
    known = sorted(weight.kilograms for weight in weights if weight.kilograms is not None)
    if not known:
        return "not known"
    low, high = format_weight(known[0], display.unit), format_weight(known[-1], display.unit)
    return low if low == high else f"{low[: low.rindex(' ')]} to {high.removeprefix('about ')}"


def shown_changes(changes: Sequence[SizeChange], sawn: Sawn, display: Display) -> str:
    """The change alone: `1/32 in`, `1/32 to 5/64 in` where boards differ or the sawing is not known, or `not known`."""
    sizes = [moved.by for change in changes for moved in _asked(change, sawn)]
    known = [size for size in sizes if size is not None]
    return "not known" if len(known) < len(sizes) else _range(known, display)


def _range(sizes: Sequence[int], display: Display) -> str:
    low, high = shown_movement(min(sizes), display), shown_movement(max(sizes), display)
    return high if low == high else f"{low.removesuffix(f' {display.unit.value}')} to {high}"


def shown_movement(size: int, display: Display) -> str:
    """A movement to the nearest 1/64 in or 0.1 mm: finer than boards are measured, coarser than it is known.

    >>> shown_movement(1_980_000, Display()), shown_movement(1_980_000, Display(Nearest.TENTH_MM))
    ('5/64 in', '2 mm')
    """
    fine = Display(Nearest.SIXTY_FOURTH if display.unit is Unit.INCH else Nearest.TENTH_MM)
    nearest = rounded_to(size, fine.nearest.step)
    return format_length(nearest, fine) if nearest else f"under {format_length(fine.nearest.step, fine)}"


def shown_temperature(celsius: Fraction, unit: Unit) -> str:
    """In whole °F in an inch shop, else in whole °C.

    >>> shown_temperature(Fraction(20), Unit.INCH), shown_temperature(Fraction(20), Unit.MILLIMETER)
    ('68 °F', '20 °C')
    """
    return f"{round(celsius * 9 / 5 + 32)} °F" if unit is Unit.INCH else f"{round(celsius)} °C"


def shown_gluing(work: Work) -> str:
    """How often glue is spread: `once`, `3 times`."""
    return "once" if work.gluings == 1 else f"{work.gluings} times"


def woods(names: Iterable[str]) -> str:
    """Species in a row: `ash, cherry and wood whose species is not noted`."""
    return in_a_row([name or "wood whose species is not noted" for name in names])


def in_a_row(words: Sequence[str]) -> str:
    """Words in a row.

    >>> in_a_row(["ash", "cherry", "oak"])
    'ash, cherry and oak'
    """
    return words[0] if len(words) == 1 else f"{', '.join(words[:-1])} and {words[-1]}"


def minutes(time: Fraction) -> str:
    """`5 minutes`, `1 minute`, `7.5 minutes`."""
    return f"{float(time):g} {'minute' if time == 1 else 'minutes'}"


def strips(many: Fraction) -> str:
    """`3 strips`, `1 strip`, `2.5 strips`."""
    return f"{float(many):g} {'strip' if many == 1 else 'strips'}"


def _told_air(seasons: Seasons, workshop: Workshop, display: Display) -> str:
    return (
        f"From {_percent(workshop.driest)} to {_percent(workshop.dampest)} relative humidity at "
        f"{shown_temperature(workshop.celsius, display.unit)} wood goes from {float(seasons.driest):.1f} to "
        f"{float(seasons.dampest):.1f} % moisture content ({EMC_SOURCE})."
    )


def _told_change(changes: Sequence[SizeChange], workshop: Workshop, display: Display) -> str:
    """How one size moves, the same of several boards."""
    change = changes[0]
    flat = [each.flat_sawn for each in changes]
    quarter = [each.quarter_sawn for each in changes]
    if all(moved.by is None for moved in (*flat, *quarter)):
        return (
            f"How far the {change.name} moves is not known: nothing is on record here for "
            f"{woods(dict.fromkeys(name for moved in (*flat, *quarter) for name in moved.unknown))}."
        )
    was = ", once the panel's thickness," if change.name == "length" else ""
    grows = (
        f"From {_percent(workshop.driest)} to {_percent(workshop.dampest)} humidity the {change.name} of "
        f"{format_length(change.size, display)}{was} grows"
    )
    lies = "turned on edge" if change.strips is Grain.EDGE else "laid flat"
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


def _by(moves: Sequence[Moved], display: Display) -> str:
    unknown = dict.fromkeys(name for moved in moves for name in moved.unknown)
    if unknown:
        return f"by an amount not known here for {woods(unknown)}"
    movement = _range([moved.by for moved in moves if moved.by is not None], display)
    return f"by {movement}" if movement.startswith("under") else f"by about {movement}"


def _told_sources(known: Sequence[Moved], seasons: Seasons) -> str:
    told = "Movements are a guide, not a measurement."
    sources = dict.fromkeys(source for moved in known for source in moved.sources)
    if sources:
        told += f" Coefficients, by equation 13-2: {'; '.join(sources)}."
    if sources and not seasons.coefficients_valid:
        told += (
            f" They hold from {COEFFICIENTS_MIN} to {COEFFICIENTS_MAX} % moisture content; this swing goes beyond, "
            "so it is rough."
        )
    rough = dict.fromkeys(each for moved in known for each in moved.rough)
    if rough:
        told += (
            " From total shrinkage by equation 4-9, and rough, since sources differ on it: "
            f"{'; '.join(f'{species} ({source})' for species, source in rough)}."
        )
    return told


def _both(change: SizeChange) -> tuple[Moved, Moved]:
    return (change.flat_sawn, change.quarter_sawn)


def _asked(change: SizeChange, sawn: Sawn) -> tuple[Moved, ...]:
    match sawn:
        case Sawn.FLAT:
            return (change.flat_sawn,)
        case Sawn.QUARTER:
            return (change.quarter_sawn,)
        case Sawn.UNKNOWN:
            return _both(change)


def _percent(value: Fraction) -> str:
    return f"{float(value):g} %"
