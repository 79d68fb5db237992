"""Rules of thumb for pruning: shorter than, narrower than, older than, a species not kept.

Common practice, no source.
"""

from __future__ import annotations

from collections.abc import Callable, Collection, Sequence
from dataclasses import dataclass
from datetime import date
from enum import Enum

from inventory.core.lengths import Length
from inventory.core.offcuts import Offcut, species_key
from inventory.pruning.advice import must_stay, without_removed
from inventory.pruning.storage_limit import StorageLimit


class RuleKind(Enum):
    """What a rule looks at."""

    SHORTER = "shorter than"
    NARROWER = "narrower than"
    OLDER = "on the rack longer than"
    SPECIES = "species not kept"


@dataclass(frozen=True)
class Rule:
    """A rule with the bound that meets the limit: `below` a length, `days` an age, `species` names; `kept` stays."""

    kind: RuleKind
    kept: tuple[Offcut, ...]
    pieces: int
    below: Length | None = None
    days: int | None = None
    species: tuple[str, ...] = ()


def rules_for(
    rack: Sequence[Offcut], storage_limit: StorageLimit, on: date, pinned: Collection[str] = ()
) -> tuple[Rule, ...]:
    """Each rule with the bound that meets the limit; none where pieces that must stay exceed it."""
    if not any(_over_limit(rack, storage_limit)):
        return ()
    free = [each for each in rack if not must_stay(each, pinned)]
    ages = {each.tag: 0 if each.tagged_on is None else (on - each.tagged_on).days for each in free}
    found = [
        _by_size(rack, free, storage_limit, RuleKind.SHORTER, lambda each: each.length),
        _by_size(rack, free, storage_limit, RuleKind.NARROWER, lambda each: each.width),
        _by_age(rack, free, storage_limit, ages),
        _by_species(rack, free, storage_limit),
    ]
    return tuple(rule for rule in found if rule is not None)


def _over_limit(rack: Sequence[Offcut], storage_limit: StorageLimit) -> list[bool]:
    return [
        sum(storage_limit.space_of(each) * each.count for each in rack if part.contains(each)) > part.limit
        for part in storage_limit.parts()
    ]


def _groups_to_remove(
    rack: Sequence[Offcut], groups: Sequence[Sequence[Offcut]], storage_limit: StorageLimit
) -> tuple[int, dict[str, int]] | None:
    """How many groups must be removed, one after another, and the pieces in them that the limit applies to."""
    going: dict[str, int] = {}
    parts = storage_limit.parts()
    for number, group in enumerate(groups, 1):
        going |= {each.tag: each.count for each in group if any(part.contains(each) for part in parts)}
        if not any(_over_limit(without_removed(rack, going), storage_limit)):
            return number, going
    return None


def _groups(free: Sequence[Offcut], size: Callable[[Offcut], int]) -> list[list[Offcut]]:
    """Pieces of the same size together, the smallest first."""
    alike: dict[int, list[Offcut]] = {}
    for each in free:
        alike.setdefault(size(each), []).append(each)
    return [alike[key] for key in sorted(alike)]


def _by_size(
    rack: Sequence[Offcut],
    free: Sequence[Offcut],
    storage_limit: StorageLimit,
    kind: RuleKind,
    size: Callable[[Offcut], Length],
) -> Rule | None:
    groups = _groups(free, size)
    found = _groups_to_remove(rack, groups, storage_limit)
    if found is None:
        return None
    number, going = found
    # The rule names the first size that stays, or the value just above the last one removed.
    below = size(groups[number][0]) if number < len(groups) else Length(size(groups[-1][0]) + 1)
    return Rule(kind, without_removed(rack, going), sum(going.values()), below=below)


def _by_age(
    rack: Sequence[Offcut], free: Sequence[Offcut], storage_limit: StorageLimit, ages: dict[str, int]
) -> Rule | None:
    groups = _groups(free, lambda each: -ages[each.tag])
    found = _groups_to_remove(rack, groups, storage_limit)
    if found is None:
        return None
    number, going = found
    days = max(ages[groups[number - 1][0].tag] - 1, 0)
    return Rule(RuleKind.OLDER, without_removed(rack, going), sum(going.values()), days=days)


def _by_species(rack: Sequence[Offcut], free: Sequence[Offcut], storage_limit: StorageLimit) -> Rule | None:
    """The species with the least wood are removed first, until the limit is met."""
    alike: dict[str, list[Offcut]] = {}
    for each in free:
        alike.setdefault(species_key(each.species), []).append(each)
    names = sorted(
        alike, key=lambda name: (sum(storage_limit.space_of(each) * each.count for each in alike[name]), name)
    )
    found = _groups_to_remove(rack, [alike[name] for name in names], storage_limit)
    if found is None:
        return None
    number, going = found
    gone = tuple(name or "species not known" for name in names[:number])
    return Rule(RuleKind.SPECIES, without_removed(rack, going), sum(going.values()), species=gone)
