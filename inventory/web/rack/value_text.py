"""Value and weight of wood as pages show them, naming the species that a total leaves out.

Without any price in the settings pages show no value.
"""

from __future__ import annotations

from collections.abc import Sequence

from inventory.core.species import format_weight
from inventory.services.rack import valuation
from inventory.services.rack.valuation import WeightTotal, Worth
from inventory.settings import Settings
from inventory.web.bench.answer_view import FillView
from inventory.web.drawings.hatching import species_name
from inventory.web.request_context import current_settings

AT_PRICES = "at your prices"


def format_worth(wood: Sequence[tuple[str, int]], settings: Settings) -> str:
    """`12.50 €, without elm` of some wood; empty where the shop has no prices, or none of this wood has one."""
    worth: Worth = valuation.worth_of(wood, settings.prices)
    return "" if worth.amount is None else settings.prices.format(worth.amount) + _without(worth.unpriced)


def format_total_weight(wood: Sequence[tuple[str, int]], settings: Settings) -> str:
    """`about 8.3 lb, without driftwood`; empty where no weight is known."""
    weighed: WeightTotal = valuation.weight_of(wood)
    if weighed.kilograms is None:
        return ""
    return format_weight(weighed.kilograms, settings.unit) + _without(weighed.unknown)


def _without(species: Sequence[str]) -> str:
    return f", without {', '.join(species_name(each) for each in species)}" if species else ""


def worth_figures(shown: FillView) -> list[tuple[str, str]]:
    """The value of the wood of an option as (term, value): in its boards, and including what is lost."""
    settings = current_settings()
    within = format_worth(valuation.wood_in_boards(shown.fill, shown.fill_layout.request), settings)
    used = format_worth(valuation.wood_used(shown.fill), settings)
    figures = ((f"Wood in it, {AT_PRICES}", within), (f"Wood off the rack, {AT_PRICES}", used))
    return [(term, value) for term, value in figures if value]
