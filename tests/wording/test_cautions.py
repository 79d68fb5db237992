"""When a plan carries which caution, and that what is on record of its species comes with a source."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from fractions import Fraction

import pytest

from inventory.core.lengths import Display, Length, Nearest, inches
from inventory.core.offcuts import Face
from inventory.core.species_cautions import CONTACT, DUST, SHORT_SOURCES
from inventory.core.workshop import DEFAULT_WORKSHOP, Workshop
from inventory.cutting.cuts import Cut
from inventory.fill.request import BoardRequest, Grain
from inventory.orders.answer import fill_rack
from inventory.wording import cautions
from inventory.wording.cautions import cautions_for, with_cautions
from tests.fill.racks import ShopUnits, make_rack
from tests.verify import paper_plans as paper
from tests.verify.paper_plans import mm

MM = Display(Nearest.TENTH_MM)
PLAIN = replace(paper.EDGE_CUT, offcut=replace(paper.ASH, species=""))
ALWAYS = (cautions.METAL, cautions.PUSH, cautions.DUST, cautions.FOOD, cautions.DEFER)


def due(
    cuts: Sequence[Cut], request: BoardRequest = paper.EDGE, workshop: Workshop = DEFAULT_WORKSHOP
) -> tuple[str, ...]:
    return cautions_for(paper.for_request(replace(paper.EDGE_FILL, cuts=tuple(cuts)), request), workshop, MM)


def of_species(*names: str) -> list[str]:
    """The cautions of these species, beside those of every plan."""
    cuts = [replace(PLAIN, offcut=replace(PLAIN.offcut, species=name, tag=name)) for name in names]
    return [each for each in due(cuts) if each not in ALWAYS]


def test_every_plan_carries_the_general_cautions_and_defers_last() -> None:
    assert due([PLAIN]) == ALWAYS


def test_an_old_finish_is_suspected_of_lead() -> None:
    painted = replace(PLAIN, offcut=replace(PLAIN.offcut, face_b=Face.FINISHED))
    assert due([painted]) == (cautions.METAL, cautions.LEAD, *ALWAYS[1:])


@pytest.mark.parametrize(
    ("rip", "text"),
    [
        (inches("1/4"), []),
        (Length(inches("1/4") - 1), [cautions.THIN]),
        (inches("1/8"), [cautions.THIN]),
        (Length(inches("1/8") - 1), [cautions.THIN, cautions.TOO_THIN]),
    ],
)
def test_thin_rips_are_reported_below_a_quarter_and_an_eighth_of_an_inch(rip: Length, text: list[str]) -> None:
    thin = replace(PLAIN, strip_width=rip)
    assert [each for each in due([thin]) if each not in ALWAYS] == text


def test_pieces_shorter_than_12_inches_are_reported() -> None:
    just = Length(inches("12") - paper.EDGE.allowances.end_trim)
    assert cautions.SHORT not in due([PLAIN], replace(paper.EDGE, length=just))
    assert cautions.SHORT in due([PLAIN], replace(paper.EDGE, length=Length(just - 1)))


@pytest.mark.parametrize(("width", "due_there"), [(inches("5"), False), (Length(inches("5") + 1), True)])
def test_a_strip_over_5_inches_laid_flat_may_cup(width: Length, due_there: bool) -> None:
    wide = replace(paper.WHOLE_CUT, rips=(1,), strip_width=width, adds=width)
    assert (cautions.WIDE in due([wide], paper.FACE)) is due_there
    assert cautions.WIDE not in due([wide])


# Five strips of 20 for a board 97 wide.
@pytest.mark.parametrize(("planer", "warned"), [("100", False), ("99", True), ("60", True), ("10", True)])
def test_a_glue_up_wider_than_this_shops_planer_is_reported(planer: str, warned: bool) -> None:
    sentence = (
        f"A glue-up wider than the planer ({planer} mm) is flattened another way or glued in parts that go through it."
    )
    assert (sentence in due([PLAIN], workshop=replace(DEFAULT_WORKSHOP, planer_width=mm(planer)))) is warned


@pytest.mark.parametrize(("lines", "warned"), [(4, False), (3, True)])
def test_more_strips_than_one_spread_of_glue_covers_are_reported(lines: int, warned: bool) -> None:
    sentence = (
        f"More strips than one spread of glue covers are glued in stages: here {lines + 1}, by 1 minute of open time "
        f"at {lines} strips a minute. The glue's own sheet governs."
    )
    workshop = replace(DEFAULT_WORKSHOP, spread_rate=Fraction(lines), open_time=Fraction(1))
    assert (sentence in due([PLAIN], workshop=workshop)) is warned


def test_an_end_grain_board_is_kept_from_the_planer() -> None:
    request = BoardRequest(inches("16"), inches("12"), inches("1 1/2"), Grain.END, fills=1)
    [fill, *_] = with_cautions(fill_rack(make_rack(1, 200, ShopUnits.SIXTEENTHS), request)).fills
    assert cautions.END_GRAIN in fill.cautions


# HSE WIS30 (from memory): sapele irritates the skin. ACGIH: oak is a confirmed carcinogen. Haz-Map: oak and ash can
# cause asthma. American Woodturner, June 1990: oak. The Wood Database: ash. USDA Misc. Publication 250: ash and butter.
def test_what_is_on_record_of_a_species_is_reported_once_with_its_sources() -> None:
    assert of_species("sapele") == ["Dust of sapele, on record: skin irritation [HSE WIS30, from memory]."]
    assert of_species("White Oak", "ash", "white ash") == [
        "Dust of white ash, on record: can cause asthma [Haz-Map]; skin irritation; decrease in lung function "
        "[The Wood Database].",
        "Dust of white oak, on record: confirmed human carcinogen (A1) [ACGIH]; can cause asthma [Haz-Map]; "
        "sensitiser; eyes, skin, potency 2 of 4, rare; nasal cancer [American Woodturner, June 1990].",
        "Food on white ash, on record: gave butter no odour or flavour when well seasoned "
        "[USDA Misc. Publication 250, 1936].",
    ]


# House of Commons, 2 August 1978, lists pine and Douglas-fir and names no effect; HSE WIS30 (from memory) names some.
def test_a_list_that_names_no_effect_is_reported_only_where_nothing_else_is() -> None:
    assert of_species("pine", "douglas fir") == [
        "Dust of Douglas-fir, on record: dermatitis; splinters go septic [HSE WIS30, from memory].",
        "Dust of pine, on record: named among woods with effects on health, none said which "
        "[House of Commons, 2 August 1978].",
    ]


def test_a_species_of_which_nothing_is_on_record_is_not_called_harmless() -> None:
    assert of_species("cherry", "driftwood", "") == []
    assert "a wood that is not named here is not thereby harmless" in cautions.DUST


def test_every_source_of_a_remark_has_a_name_that_fits_a_sentence() -> None:
    sources = {each.remark.source for each in (*DUST, *CONTACT)}
    assert sources <= set(SHORT_SOURCES)
    assert all(len(name) <= 50 for name in SHORT_SOURCES.values())


def test_a_plan_is_reported_again_for_another_shop() -> None:
    before = with_cautions(fill_rack([paper.ASH], paper.EDGE))
    after = with_cautions(before, replace(DEFAULT_WORKSHOP, planer_width=mm("60")), MM)
    [first, *_], [second, *_] = before.fills, after.fills
    assert len(second.cautions) == len(first.cautions) + 1
    assert replace(second, cautions=first.cautions) == first
