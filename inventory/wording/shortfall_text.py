"""A shortfall in words: what is missing, why pieces were ruled out, what would let one serve, which smaller size helps.

Pages and command line share these words. The figures come from `inventory.orders.shortfall`.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from inventory.core.codes import format_tag
from inventory.core.lengths import Display, Length, Unit, exact_text, format_length, format_length_down, inches
from inventory.core.species import display_name
from inventory.cutting.bands import Demand
from inventory.fill.plan import (
    NOT_ON_THE_RACK,
    OTHER_SPECIES,
    RULED_OUT,
    AllowanceFix,
    NearMiss,
    Purchase,
    Shortage,
    Shortfall,
)
from inventory.fill.request import BoardRequest, Faces, Grain
from inventory.wording.effort_text import join_words

SIZE_ADJECTIVES = {"length": "long", "width": "wide", "thickness": "thick"}
# NHLA rules: boards of the common grades are at least 3 in wide.
NARROWEST_SOLD = inches("3")
SHARING_FAILED = "There is width enough, but no way was found to share it out among the parts."
"""Where each part could be filled alone, but not all of them together."""


BY_MIXING = "Of mixed species the rack has enough wood for it."
"""Where each board is to be of one species and only that is in the way."""


def shortfall_title(shortfall: Shortfall, asked: BoardRequest, display: Display) -> str:
    """What is missing in all, in a few words."""
    tags = [each.tag for each in shortfall.demands if each.tag is not None]
    if tags:
        return f"{_tags(tags)} can't be used"
    if not shortfall.shortages and shortfall.demands:
        return "What is asked of the pieces can't be met"
    if not shortfall.shortages:
        return "The bands want the same wood" if len(asked.bands) > 1 else "No way was found to share the wood out"
    if all(shortage.strips is not None for shortage in shortfall.shortages):
        many = sum(shortage.strips or 0 for shortage in shortfall.shortages)
        return f"{many} strip{'' if many == 1 else 's'} of a stripe {'is' if many == 1 else 'are'} missing"
    return f"{format_length(shortfall.missing, display)} of width is missing"


def shortage_sentences(shortfall: Shortfall, asked: BoardRequest, display: Display) -> Iterator[str]:
    """Of a request for one kind of board, a sentence for each pool and stripe that is short, or one on the sharing.

    Then one for each demand that can't be met.
    """
    yield from demand_sentences(shortfall, asked, display)
    if not shortfall.shortages and shortfall.demands:
        return
    if not shortfall.shortages and len(asked.bands) <= 1:
        yield (
            "There is width enough for all of it together, but no way was found to share the strips out among the "
            "glue-ups. Ask for one board fewer, or make them a little narrower."
        )
    elif not shortfall.shortages:
        yield (
            "Each band could be filled if it had the wood to itself, but not all of them from what is there. "
            "Give a band other species, or make it narrower."
        )
    demands = {demand.bands[0]: demand for demand in asked.demands()}
    for shortage in shortfall.shortages:
        yield _shortage_sentence(shortage, demands[shortage.band], asked, display)
    if shortfall.by_mixing:
        yield BY_MIXING


def demand_sentences(shortfall: Shortfall, asked: BoardRequest, display: Display) -> Iterator[str]:
    """A sentence for each demand that can't be met; `asked` is the first board of an order."""
    for each in shortfall.demands:
        if each.tag is not None and each.reason is not None:
            yield f"{format_tag(each.tag)} has to be used, but {_cannot_serve(each.reason)}"
        else:
            yield f"The rack could fill this {_if_dropped(each.field, asked, display)}."


def _cannot_serve(reason: str) -> str:
    """Why a piece can't be used that has to be, and what to do."""
    by = reason.removeprefix(f"{RULED_OUT} by ")
    if by != reason:
        return f"{by.replace('_', ' ')} rules it out. Change one of the two."
    match reason:
        case _ if reason == NOT_ON_THE_RACK:
            return "no free piece on the rack has this tag. Check the tag, or release the piece."
        case _ if reason == OTHER_SPECIES:
            return "it is not of a species that is asked for. Name its species, or leave it out."
        case _:
            return f"it is {reason}: it gives no strip. Leave it out, or change the board."


def _if_dropped(field: str, asked: BoardRequest, display: Display) -> str:
    """Without which demand the board could be filled."""
    rules = asked.eligibility
    match field:
        case "without":
            return f"if {_tags(rules.without)} could be used"
        case "with":
            return f"if {_tags(rules.required)} did not have to be used"
        case "longest":
            longest = format_length(rules.longest or Length(0), display)
            return f"if pieces longer than {longest} could be cut"
        case "faces":
            unfit = "an old finish" if rules.faces is Faces.BARE else "other faces than surfaced ones"
            return f"if pieces with {unfit} could be used"
        case "short_work":
            shortest = format_length(asked.allowances.shortest_machined, display)
            return f"if pieces shorter than {shortest} could be used"
        case _:
            return f'if pieces of other batches than "{rules.batch}" could be used'


def _tags(tags: Sequence[str]) -> str:
    return join_words([format_tag(tag) for tag in tags])


def _shortage_sentence(shortage: Shortage, demand: Demand, asked: BoardRequest, display: Display) -> str:
    wood = _of_species(shortage.species)
    of_band = f"{format_band_numbers([band + 1 for band in demand.bands])}: " if len(asked.bands) > 1 else ""
    several = asked.count > 1 or asked.grain is Grain.END
    if shortage.strips is not None:
        there = max(demand.target - shortage.strips, 0)
        wanted = f"strips {format_length(demand.stripe or Length(0), display)} wide{wood}"
        if several:
            return f"{of_band}{shortage.strips} {wanted} are missing, all panels and boards together."
        return f"{of_band}{there} of {demand.target} {wanted} can be had."
    there = max(demand.target - shortage.width, 0)
    if several:
        return f"{of_band}{format_shortage(shortage, display)} is missing, all panels and boards together."
    if not there:
        return f"{of_band}No piece{wood} on the rack gives a single strip for it."
    return (
        f"{of_band}All strips{wood} that the rack can give reach {format_length(Length(there), display)} together; "
        f"the glue-up needs {format_length(Length(demand.target), display)}, side trim included."
    )


def order_shortfall_sentences(shortfall: Shortfall, asked: BoardRequest, display: Display) -> Iterator[str]:
    """Of an order of several boards, what is missing, and how many pieces were ruled out; `asked` is the first."""
    yield from demand_sentences(shortfall, asked, display)
    for shortage in shortfall.shortages:
        yield f"{format_shortage(shortage, display)} is missing."
    if not shortfall.shortages and not shortfall.demands:
        yield SHARING_FAILED
    if shortfall.by_mixing:
        yield BY_MIXING
    for purchase in shortfall.to_buy:
        yield f"To buy: {format_purchase(purchase, display)}."
    if reasons := format_reasons(shortfall):
        yield f"Pieces that fell out: {reasons}."


def format_shortage(shortage: Shortage, display: Display) -> str:
    """What one pool or stripe is short of.

    >>> format_shortage(Shortage(0, ("ash", "oak"), Length(25_400_000), strips=2), Display())
    '1 in of width of ash or oak (2 strips)'
    """
    strips = "" if shortage.strips is None else f" ({shortage.strips:,} strip{'' if shortage.strips == 1 else 's'})"
    return f"{format_length(shortage.width, display)} of width{_of_species(shortage.species)}{strips}"


def format_enough_panels(panels: int) -> str:
    """From how many panels an end-grain board can be made."""
    return f"From {panels} panels the rack fills it: they are shorter, so shorter offcuts serve."


def format_purchase(purchase: Purchase, display: Display) -> str:
    """What to buy for one pool or stripe, as wood is sold there.

    >>> ash = Purchase(0, ("ash",), Unit.INCH, inches("1"), inches("13/16"), inches("19"), inches("1 3/4"), 9_137_644)
    >>> format_purchase(ash, Display())
    '3.9 board feet of 4/4 ash (13/16 in surfaced), at least 19 in long'
    """
    wood = " or ".join(map(display_name, purchase.species)) or "lumber"
    if purchase.unit is Unit.INCH:
        amount = f"{float(purchase.amount):,.1f} board {'foot' if purchase.amount == 1 else 'feet'}"
        stock = f"{amount} of {purchase.quarters} {wood} ({exact_text(purchase.delivered, Unit.INCH)} surfaced)"
    else:
        stock = (
            f"{float(purchase.amount):,.3f} m³ of {wood}, sawn {exact_text(purchase.thickness, Unit.MILLIMETER)} thick"
        )
    wide = f" and {_format_up(purchase.width, display)} wide" if purchase.width > NARROWEST_SOLD else ""
    return f"{stock}, at least {_format_up(purchase.length, display)} long{wide}"


def _format_up(size: Length, display: Display) -> str:
    step = display.nearest.step
    return format_length(-(-size // step) * step, display)


def _of_species(species: Sequence[str]) -> str:
    return f" of {' or '.join(map(display_name, species))}" if species else ""


def format_reasons(shortfall: Shortfall) -> str:
    """How many pieces were ruled out for which reason: `4 too short, 1 too thin`; empty where none was."""
    return ", ".join(f"{count:,} {reason}" for reason, count in shortfall.reasons.items() if count)


def format_miss(miss: NearMiss, display: Display) -> str:
    """By how much a piece was ruled out: `9 in too short`."""
    return f"{format_length(miss.by, display)} {miss.reason}"


def format_fix(fix: AllowanceFix, display: Display) -> str:
    """What would let a near miss serve: `with 13/16 in end trim it fits`."""
    return f"with {exact_text(fix.to, display.unit)} {fix.allowance.replace('_', ' ')} it fits"


def smaller_sizes(shortfall: Shortfall, asked: BoardRequest, display: Display) -> dict[str, Length]:
    """By name, the largest that each size alone could be; rounded down to what the shop reads, which is filled too."""
    found = {
        "width": shortfall.largest_width,
        "length": shortfall.largest_length,
        "thickness": shortfall.largest_thickness,
    }
    step = display.nearest.step
    rounded = {name: Length(0 if size is None else size // step * step) for name, size in found.items()}
    return {name: size for name, size in rounded.items() if 0 < size < getattr(asked, name)}


def format_smaller_sizes(shortfall: Shortfall, asked: BoardRequest, display: Display) -> list[str]:
    """The largest that each size alone could be: `17 in long`, `3 1/4 in wide`; none where no smaller one helps."""
    smaller = smaller_sizes(shortfall, asked, display)
    return [
        f"{format_length_down(smaller[name], display)} {adjective}"
        for name, adjective in SIZE_ADJECTIVES.items()
        if name in smaller
    ]


def format_unhelpful_sizes(shortfall: Shortfall, asked: BoardRequest, display: Display) -> str:
    """Which sizes need not be tried: `No smaller width or thickness alone would help.` Empty where each helps."""
    smaller = smaller_sizes(shortfall, asked, display)
    names = [name for name in SIZE_ADJECTIVES if name not in smaller]
    if not names:
        return ""
    either = names[0] if len(names) == 1 else f"{', '.join(names[:-1])} or {names[-1]}"
    return f"No smaller {either} alone would help."


def format_band_numbers(numbers: Sequence[int]) -> str:
    """Bands as read out, counted from 1.

    >>> format_band_numbers((2,)), format_band_numbers((1, 3, 5))
    ('Band 2', 'Bands 1, 3 and 5')
    """
    return f"Band{'s' if len(numbers) > 1 else ''} {join_words(list(map(str, numbers)))}"
