"""Invented shops, the same for the same seed: a rack that has grown over years, and what the shop usually makes."""

from __future__ import annotations

from dataclasses import dataclass, replace
from datetime import date, timedelta
from fractions import Fraction
from random import Random

from inventory.core.allowances import Allowances
from inventory.core.lengths import NM_PER_INCH, Length, volume_mm3
from inventory.core.offcuts import Face, Offcut
from inventory.cutting.bands import Band, FieldBand, StripeBand, bands_of_species
from inventory.cutting.costs import Preference
from inventory.fill.request import BoardRequest, Grain
from inventory.orders.answer import fill_rack
from inventory.pruning.usual_boards import UsualBoard

ON = date(2030, 1, 31)
_SPECIES = ("ash", "beech", "cherry", "hard maple", "walnut", "white oak")
_FACES = ((Face.ROUGH, Face.ROUGH), (Face.ROUGH, Face.ROUGH), (Face.PLANED, Face.PLANED), (Face.ROUGH, Face.PLANED))
_FACES += ((Face.FINISHED, Face.PLANED),)
_THICKNESSES = (12, 13, 14, 14, 16, 17, 20, 24, 28, 32)
"""In sixteenths of an inch."""


@dataclass(frozen=True)
class SeededShop:
    """A rack and the boards that are made from it."""

    rack: tuple[Offcut, ...]
    boards: tuple[UsualBoard, ...]


def seeded_shop(seed: int, tags: int | None = None) -> SeededShop:
    """The shop of this seed: 100 to 220 tags unless said otherwise, 4 to 8 usual boards.

    What the boards of two years hold is 6 to 18 % of the rack's wood: most of a rack waits in vain.
    """
    random = Random(f"shop {seed}")
    species = tuple(random.sample(_SPECIES, random.randint(3, 5)))
    rack = tuple(_offcut(random, species, number) for number in range(tags or random.randint(100, 220)))
    prefer = random.choice((Preference.LEAST_WASTE, Preference.LEAST_WASTE, *Preference))
    requests: list[BoardRequest] = []
    wanted = random.randint(4, 8)
    while len(requests) < wanted:
        request = _board(random, species, prefer)
        if fill_rack(rack, request).fills:
            requests.append(request)
    weights = [random.choice((1, 2, 2, 4, 8)) / _volume(request) ** 0.5 for request in requests]
    held = sum(each.count * volume_mm3(each.length, each.width, each.thickness) for each in rack)
    boards_hold = held * random.uniform(0.06, 0.18) / 2
    scale = boards_hold / sum(weight * _volume(request) for weight, request in zip(weights, requests, strict=True))
    boards = tuple(
        UsualBoard(f"board {number}", request, max(Fraction(round(weight * scale * 100), 100), Fraction(1, 4)))
        for number, (weight, request) in enumerate(zip(weights, requests, strict=True))
    )
    return SeededShop(rack, boards)


def _volume(request: BoardRequest) -> int:
    return volume_mm3(request.length, request.width, request.thickness)


def _sixteenths(many: float) -> Length:
    return Length(max(int(many), 1) * NM_PER_INCH // 16)


def _offcut(random: Random, species: tuple[str, ...], number: int) -> Offcut:
    face_a, face_b = random.choice(_FACES)
    return Offcut(
        length=_sixteenths(16 * min(7 + random.expovariate(1 / 14), 96)),
        width=_sixteenths(16 * min(0.9 + random.expovariate(1 / 2.6), 12)),
        thickness=_sixteenths(random.choice(_THICKNESSES)),
        species=random.choice(species),
        face_a=face_a,
        face_b=face_b,
        count=random.choice((1, 1, 1, 1, 1, 1, 2, 4)),
        tag=f"T{number:03d}",
        tagged_on=ON - timedelta(days=random.randint(0, 1500)),
    )


def _board(random: Random, species: tuple[str, ...], prefer: Preference) -> BoardRequest:
    grain = random.choice((Grain.EDGE, Grain.EDGE, Grain.FACE))
    inches_long = random.choice((8, 10, 12, 14, 16, 18, 24, 30))
    inches_wide = random.choice((4, 6, 8, 9, 10, 12, 14))
    thickness = random.choice((10, 12)) if grain is Grain.FACE else random.choice((14, 18, 20, 24))
    bands: tuple[Band, ...] = bands_of_species((random.choice(species),) if random.random() < 0.6 else ())
    if random.random() < 0.15:
        one, other = random.sample(species, 2)
        bands = (FieldBand((one,)), StripeBand((other,), 1, _sixteenths(4)), FieldBand((one,)))
    return BoardRequest(
        length=_sixteenths(16 * inches_long),
        width=_sixteenths(16 * inches_wide),
        thickness=_sixteenths(thickness),
        grain=grain,
        bands=bands,
        prefer=(prefer,),
        fills=1,
        allowances=replace(Allowances()),
        on=ON,
    )
