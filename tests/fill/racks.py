"""Random racks and boards of inch, metric and mixed shops, the same for the same seed."""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence
from dataclasses import replace
from datetime import date, timedelta
from enum import Enum
from random import Random

from inventory.core.allowances import Allowances
from inventory.core.lengths import NM_PER_INCH, NM_PER_MM, Length, inches, millimeters
from inventory.core.offcuts import Face, Mark, Offcut
from inventory.cutting.bands import Band, FieldBand, StripeBand, bands_of_species
from inventory.fill.request import BoardRequest, Eligibility, Faces, Grain, InvalidRequest, PanelSpec
from tests.fill.brute_force import FillPart, combinations, fill_parts
from tests.fill.calculation import max_width, piece_options, target
from tests.verify.asked import requirements_of
from tests.verify.glue_ups import glue_ups

ON = date(2030, 1, 31)
LONG_GRAIN = (Grain.EDGE, Grain.FACE)
"""The two glue-ups of strips; end grain is made from either."""

SPECIES = ("ash", "cherry", "hard maple", "white oak", "walnut")


class ShopUnits(Enum):
    """How the shop measures."""

    SIXTEENTHS = "1/16 in"
    SIXTY_FOURTHS = "1/64 in"
    WHOLE_MM = "1 mm"
    HALF_MM = "0.5 mm"
    MIXED = "some in inches, some in mm"


INCH_SHOP = Allowances()
METRIC_SHOP = Allowances(
    rip_kerf=millimeters("3"),
    crosscut_kerf=millimeters("3"),
    resaw_kerf=millimeters("1.5"),
    rough_face=millimeters("1.5"),
    finished_face=millimeters("1"),
    edge_jointing=millimeters("1"),
    leaf_clean=millimeters("1"),
    flattening=millimeters("3"),
    end_trim=millimeters("25"),
    side_trim=millimeters("3"),
    row_trim=millimeters("3"),
    keep_length=millimeters("150"),
    keep_width=millimeters("20"),
    keep_thickness=millimeters("6"),
    max_strip_width=millimeters("100"),
    min_strip_width=millimeters("20"),
    thinnest_lamination=millimeters("6"),
    prime_length=millimeters("2400"),
    prime_width=millimeters("150"),
)

_FACES = [(Face.ROUGH, Face.ROUGH)] * 4 + [(Face.PLANED, Face.PLANED)] * 3
_FACES += [(Face.ROUGH, Face.PLANED), (Face.FINISHED, Face.FINISHED), (Face.FINISHED, Face.PLANED)]
_THICKNESSES_MM = (13, 19, 20, 21, 22, 24, 26, 27, 33, 38, 45, 52)


def make_rack(seed: int, pieces: int, shop: ShopUnits) -> list[Offcut]:
    """A rack of exactly `pieces` pieces; some stand in bundles, some are near-copies of others."""
    random = Random(f"rack {seed} {pieces} {shop.name}")
    rack: list[Offcut] = []
    left = pieces
    while left:
        count = min(left, random.choice((1, 1, 1, 1, 2, 3, 5)))
        sizes_of = random.choice(rack) if rack and random.random() < 0.15 else _offcut(random, shop)
        rack.append(
            Offcut(
                length=sizes_of.length,
                width=sizes_of.width,
                thickness=sizes_of.thickness,
                species=sizes_of.species,
                face_a=sizes_of.face_a,
                face_b=sizes_of.face_b,
                count=count,
                tag=f"T{len(rack):03d}",
                tagged_on=sizes_of.tagged_on,
            )
        )
        left -= count
    return rack


def _offcut(random: Random, shop: ShopUnits) -> Offcut:
    step = grid_step(random, shop)
    face_a, face_b = random.choice(_FACES)
    tagged_on = None if random.random() < 0.1 else ON - timedelta(days=random.choice((0, 3, 40, 200, 500, 729, 900)))
    return Offcut(
        length=round_to_step(random.randint(160, 1300), step),
        width=round_to_step(random.randint(25, 210), step),
        thickness=round_to_step(random.choice(_THICKNESSES_MM), step),
        species=random.choice(SPECIES),
        face_a=face_a,
        face_b=face_b,
        tagged_on=tagged_on,
    )


def grid_step(random: Random, shop: ShopUnits) -> Length:
    match shop:
        case ShopUnits.SIXTEENTHS:
            return Length(NM_PER_INCH // 16)
        case ShopUnits.SIXTY_FOURTHS:
            return Length(NM_PER_INCH // 64)
        case ShopUnits.WHOLE_MM:
            return Length(NM_PER_MM)
        case ShopUnits.HALF_MM:
            return Length(NM_PER_MM // 2)
        case ShopUnits.MIXED:
            return grid_step(random, random.choice([each for each in ShopUnits if each is not ShopUnits.MIXED]))


def round_to_step(about_mm: int, step: int) -> Length:
    return Length(max(1, about_mm * NM_PER_MM // step) * step)


def make_request(seed: int, rack: list[Offcut], shop: ShopUnits, grain: Grain, *, widest_mm: int = 400) -> BoardRequest:
    """A board that the rack can fill where anything fits at all: up to 80 % of what it holds."""
    random = Random(f"board {seed} {len(rack)} {shop.name} {grain.value}")
    step = grid_step(random, shop)
    inch = shop in (ShopUnits.SIXTEENTHS, ShopUnits.SIXTY_FOURTHS) or (
        shop is ShopUnits.MIXED and random.random() < 0.6
    )
    species = () if random.random() < 0.7 else tuple(random.sample(SPECIES, 3))
    thickness = random.choice((12, 16, 18)) if grain is Grain.FACE else random.choice((18, 24, 32, 38))
    request = BoardRequest(
        length=round_to_step(random.randint(150, 420), step),
        width=inches("4") if inch else millimeters("100"),
        thickness=round_to_step(thickness, step),
        grain=grain,
        bands=bands_of_species(species),
        allowances=INCH_SHOP if inch else METRIC_SHOP,
        on=ON,
    )
    holds = max_width(rack, request) // NM_PER_MM
    width = min(widest_mm, max(40, holds * random.randint(30, 80) // 100))
    return replace(request, width=round_to_step(width, step))


def make_small_case(
    seed: int, shop: ShopUnits, grain: Grain, most_combinations: int
) -> tuple[list[Offcut], BoardRequest]:
    """A board and a rack of few enough pieces to try every combination; at least one fill, often some more."""
    random = Random(f"small {seed} {shop.name} {grain.value}")
    while True:
        rack = make_rack(random.randrange(10**6), random.randint(4, 10), shop)
        request = make_request(random.randrange(10**6), rack, shop, grain)
        if max_width(rack, request) >= target(request) and combinations(rack, fill_parts(request)) <= most_combinations:
            return rack, request


def make_small_banded_case(
    seed: int, shop: ShopUnits, grain: Grain, most_combinations: int, *, shared_wood: bool
) -> tuple[list[Offcut], BoardRequest]:
    """A board of two fields and a stripe or two, and a rack of few enough pieces to try every combination.

    Where species are shared, some species may serve more than one of the bands.
    """
    random = Random(f"bands {seed} {shop.name} {grain.value} {shared_wood}")
    while True:
        rack = make_rack(random.randrange(10**6), random.randint(5, 9), shop)
        request = replace(make_request(random.randrange(10**6), rack, shop, grain), bands=())
        first, second, third, *_ = random.sample(SPECIES, 5)
        each = round_to_step(random.choice((5, 8, 12)), grid_step(random, shop))
        outer = (first, second) if shared_wood else (first,)
        bands: tuple[Band, ...] = (
            FieldBand(outer, random.randint(1, 3)),
            StripeBand((third,), random.randint(1, 3), each),
            FieldBand((second, third) if shared_wood else (second,)),
        )
        if random.random() < 0.3:
            bands = (StripeBand((third,), 1, each), *bands)
        try:
            request = replace(request, width=Length(request.width // 2), bands=bands)
        except InvalidRequest:
            continue
        parts = fill_parts(request)
        alone = [sum(_most(offcut, part) * offcut.count for offcut in rack) >= part.requirement.width for part in parts]
        if all(alone) and combinations(rack, parts) <= most_combinations:
            return rack, request


def _most(offcut: Offcut, part: FillPart) -> int:
    return max((choice.adds for choice in piece_options(offcut, part.request, part.requirement).choices), default=0)


def make_small_batch(
    seed: int, shop: ShopUnits, most_combinations: int, *, end_grain: bool
) -> tuple[list[Offcut], BoardRequest, list[FillPart]]:
    """Two or three boards on edge, or one of end grain from panels, and a rack to try every combination of."""
    random = Random(f"batch {seed} {shop.name} {end_grain}")
    while True:
        rack = make_rack(random.randrange(10**6), random.randint(4, 8), shop)
        request = make_request(random.randrange(10**6), rack, shop, Grain.EDGE)
        depth: Length | None = None
        if end_grain:
            depth = round_to_step(random.choice((13, 19, 38)), grid_step(random, shop))
            request = replace(
                request,
                grain=Grain.END,
                length=round_to_step(random.choice((60, 100, 150)), grid_step(random, shop)),
                width=Length(min(request.width, 150 * NM_PER_MM) // random.choice((1, 2))),
                thickness=round_to_step(random.choice((15, 25)), grid_step(random, shop)),
                panel=PanelSpec(Grain.EDGE, random.choice((1, 2, 2, 3)), depth),
            )
        else:
            request = replace(request, count=random.choice((2, 2, 3)), width=Length(request.width // 2))
        like = Counter(glue_up.made for glue_up in glue_ups(request, depth))
        parts = [
            FillPart(made, requirement, copies)
            for made, copies in like.items()
            for requirement in requirements_of(made)
        ]
        if 20 <= combinations(rack, parts) <= most_combinations:
            return rack, request, parts


def with_rules(random: Random, rack: Sequence[Offcut], request: BoardRequest) -> tuple[list[Offcut], BoardRequest]:
    """The case with marks, batches and unknown wood on some pieces, and a request that rules some of them out."""
    marked = [
        replace(
            offcut,
            species=offcut.species if random.random() < 0.85 else random.choice(("", "birch plywood")),
            marks=() if random.random() < 0.7 else (random.choice(list(Mark)),),
            batch=random.choice(("", "Elm 2029", "oak")),
        )
        for offcut in rack
    ]
    some, *others = random.sample(marked, len(marked))
    rules = Eligibility(
        without=(some.tag, "000000A") if random.random() < 0.4 else (),
        required=tuple(each.tag for each in others[: random.choice((0, 1, 1, 2, 3))]),
        longest=some.length if random.random() < 0.3 else None,
        faces=random.choice((Faces.ANY, Faces.ANY, *Faces)),
        short_work=random.random() < 0.6,
        batch=random.choice(("", "", "", "elm  2029")),
    )
    return marked, replace(request, eligibility=rules)
