"""Which one species each pool and stripe of an order could be of, the cheapest first (cutting model, section 7).

A choice names one species for each pool and stripe. Choices come in the order of a lower bound: the sum of the
Lagrangian bounds of all pools and stripes, each alone with its species. So the caller may stop where the bound exceeds
the cost of what it has found.
"""

from __future__ import annotations

import heapq
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace

from inventory.core.offcuts import species_key
from inventory.cutting.bands import Band, FieldBand
from inventory.cutting.costs import Preference
from inventory.fill.demands import Part, problem_for
from inventory.fill.glue_ups import glue_ups_for, with_each_depth
from inventory.fill.item_classes import ItemClasses
from inventory.fill.request import BoardRequest, Mix
from inventory.orders.strip_inventory import PooledPart, pool_parts
from inventory.solver.search import lower_bound


@dataclass(frozen=True)
class SpeciesChoice:
    """One species for each pool and stripe of each request, as requests that allow no other.

    `bound` is a lower bound of the first cost of everything that fills them.
    """

    requests: tuple[BoardRequest, ...]
    bound: int


@dataclass(frozen=True)
class _Candidate:
    """A species of which a pool or stripe could be; `bound` as in `SpeciesChoice`."""

    species: str
    bound: int


def species_choices(
    requests: Sequence[BoardRequest], item_classes: ItemClasses, preference: Preference
) -> Iterator[SpeciesChoice]:
    """Every choice with which each pool and stripe alone can be filled, the lowest bound first."""
    places: list[tuple[int, tuple[int, ...]]] = []
    candidates: list[list[_Candidate]] = []
    for number, request in enumerate(requests):
        for bands, by_depth in _parts_by_bands(request).items():
            places.append((number, bands))
            candidates.append(_candidates(by_depth, item_classes, preference))
    if not all(candidates):
        return
    first = (0,) * len(candidates)
    waiting = [(sum(each[0].bound for each in candidates), first)]
    seen = {first}
    while waiting:
        bound, ranks = heapq.heappop(waiting)
        chosen = [each[rank].species for each, rank in zip(candidates, ranks, strict=True)]
        narrowed = tuple(
            _narrowed(
                request,
                {
                    band: species
                    for (place, bands), species in zip(places, chosen, strict=True)
                    if place == number
                    for band in bands
                },
            )
            for number, request in enumerate(requests)
        )
        # Two pools of one species would become one pool, which the strips of either could fill.
        if all(len(one.demands()) == len(other.demands()) for one, other in zip(narrowed, requests, strict=True)):
            yield SpeciesChoice(narrowed, bound)
        for place, each in enumerate(candidates):
            following = (*ranks[:place], ranks[place] + 1, *ranks[place + 1 :])
            if following[place] < len(each) and following not in seen:
                seen.add(following)
                more = each[following[place]].bound - each[ranks[place]].bound
                heapq.heappush(waiting, (bound + more, following))


def _parts_by_bands(request: BoardRequest) -> dict[tuple[int, ...], list[list[PooledPart]]]:
    """By bands the parts that fill them, at each row depth to try: all of one species."""
    found: dict[tuple[int, ...], list[list[PooledPart]]] = {}
    for each in with_each_depth(request):
        by_bands: dict[tuple[int, ...], list[PooledPart]] = {}
        for pooled in pool_parts(glue_ups_for([each])):
            by_bands.setdefault(pooled.part.demand.bands, []).append(pooled)
        for bands, parts in by_bands.items():
            found.setdefault(bands, []).append(parts)
    return found


def _candidates(
    by_depth: Sequence[Sequence[PooledPart]], item_classes: ItemClasses, preference: Preference
) -> list[_Candidate]:
    """The species of which each of these pools alone could be, at some row depth, the lowest bound first."""
    rows = item_classes.rows_for(by_depth[0][0].part.demand)
    found = []
    for species in sorted({species_key(item_classes.names[number]) for number in item_classes.species[rows].tolist()}):
        bounds = [_bound(parts, species, item_classes, preference) for parts in by_depth]
        if feasible := [bound for bound in bounds if bound is not None]:
            found.append(_Candidate(species, min(feasible)))
    return sorted(found, key=lambda each: (each.bound, each.species))


def _bound(parts: Sequence[PooledPart], species: str, item_classes: ItemClasses, preference: Preference) -> int | None:
    """A lower bound of the first cost of these parts of one species, None where one of them can't be filled."""
    bound = 0
    for pooled in parts:
        problem = problem_for(_of_species(pooled.part, species), item_classes, preference)
        if not problem.reaches_target():
            return None
        bound += lower_bound(problem, len(pooled.glue_ups))
    return bound


def _of_species(part: Part, species: str) -> Part:
    return replace(part, demand=replace(part.demand, species=(species,)))


def _narrowed(request: BoardRequest, species: dict[int, str]) -> BoardRequest:
    """The request with one species for each of these bands."""
    bands: tuple[Band, ...] = request.bands or (FieldBand(),)
    return replace(
        request,
        bands=tuple(replace(band, species=(species[number],)) for number, band in enumerate(bands)),
        mix=Mix.FREE,
    )
