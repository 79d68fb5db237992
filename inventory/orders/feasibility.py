"""Whether a rack fills glue-ups at all, which is found faster than at what cost.

Method: one glue-up of a single part is filled where all strips together are wide enough; parts that share pieces are
filled in sequence, several glue-ups by the first try of `orders.joint_fill`. So "no" is exact only for a single part;
otherwise a filling may have been missed.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import replace
from itertools import islice

from inventory.cutting.costs import Preference
from inventory.fill.demands import eligible_rows, max_reach, parts_of, problem_for
from inventory.fill.item_classes import ItemClasses
from inventory.fill.plan import PlannedGlueUp
from inventory.fill.request import BoardRequest, Mix
from inventory.orders.joint_fill import improving_batches
from inventory.orders.species_choices import species_choices
from inventory.solver.branch_and_bound import is_feasible_in_sequence

MAX_CHOICES = 20
"""So many choices of species are tried where each pool and stripe is of one."""


def can_fill(glue_ups: Sequence[PlannedGlueUp], item_classes: ItemClasses) -> bool:
    """Whether the item classes fill all glue-ups, with what the request's `with` names."""
    if glue_ups[0].request.mix is Mix.ONE:
        return any(can_fill(each, item_classes) for each in _of_one_species(glue_ups, item_classes))
    if len(glue_ups) == 1:
        return _can_fill_one(glue_ups[0].request, item_classes)
    # The first try is fast, and a smaller board is only a proposal.
    return next(improving_batches(glue_ups, Preference.LEAST_WASTE, item_classes), None) is not None


def _of_one_species(glue_ups: Sequence[PlannedGlueUp], item_classes: ItemClasses) -> Iterator[list[PlannedGlueUp]]:
    """The glue-ups with one species for each pool and stripe, the same in identical glue-ups."""
    asked = list(dict.fromkeys(each.request for each in glue_ups))
    for choice in islice(species_choices(asked, item_classes, Preference.LEAST_WASTE), MAX_CHOICES):
        if choice.requests:
            narrowed = dict(zip(asked, choice.requests, strict=True))
            yield [replace(each, request=narrowed[each.request]) for each in glue_ups]


def _can_fill_one(request: BoardRequest, item_classes: ItemClasses) -> bool:
    parts = parts_of(request)
    if any(
        available < part.demand.target for part, available in zip(parts, max_reach(parts, item_classes), strict=True)
    ):
        return False
    required = item_classes.required_rows
    if len(parts) == 1:
        # A named piece that can give a strip may do so: a glue-up of a single field is never too wide.
        [part] = parts
        rows = eligible_rows(part, item_classes)
        serving = rows[part.construction.capacities(item_classes.arrays.rows(rows), part.glue_up) > 0]
        return set(required.tolist()).issubset(serving.tolist())
    problems = [problem_for(part, item_classes, Preference.LEAST_WASTE) for part in parts]
    return is_feasible_in_sequence(problems, required.tolist())
