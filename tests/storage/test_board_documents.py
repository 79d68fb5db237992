"""A fill kept with its board is read back as exactly the same fill."""

import json
from dataclasses import fields, replace
from datetime import date
from fractions import Fraction
from typing import Any

from hypothesis import given
from hypothesis import strategies as st

from inventory.core.allowances import ALLOWANCE_NAMES, Allowances
from inventory.core.lengths import Length, Unit, inches, millimeters
from inventory.core.offcuts import Face, Mark, Offcut
from inventory.cutting.bands import FieldBand, StripeBand
from inventory.cutting.cuts import Cut, Leftover, StripShare
from inventory.fill.plan import Fill, PlannedGlueUp
from inventory.fill.plan_document import fill_document
from inventory.fill.request import BoardRequest, Eligibility, Faces, Grain, PanelSpec, Preference
from inventory.layout.strip_order import StripOrder, StripPlacement
from inventory.storage.board_documents import (
    order_document,
    read_order_document,
    read_requests_document,
    read_stored_fill,
    requests_document,
    stored_fill_document,
)
from inventory.storage.offcut_document import offcut_document, read_offcut_document
from tests.verify.paper_plans import EDGE_PLAN

SIZES = st.integers(1, 900_000_000).map(Length)
BOARD_SIZES = st.integers(1_000_000, 900_000_000).map(Length)
COLUMN_COUNT = st.integers(0, 2**62)

ELIGIBILITIES = st.builds(
    Eligibility,
    without=st.sampled_from([(), ("0000011",), ("shelf 3", "0000011")]),
    longest=st.none() | BOARD_SIZES,
    faces=st.sampled_from(Faces),
    short_work=st.booleans(),
    batch=st.sampled_from(["", "elm 2029"]),
)

REQUESTS = st.builds(
    BoardRequest,
    length=BOARD_SIZES,
    width=SIZES.map(lambda size: Length(size + 300_000_000)),
    thickness=BOARD_SIZES,
    grain=st.sampled_from([Grain.EDGE, Grain.FACE]),
    bands=st.lists(
        st.builds(
            FieldBand,
            species=st.lists(st.sampled_from(["ash", "white oak"]), max_size=2, unique=True).map(tuple),
            weight=st.integers(1, 9),
        ),
        max_size=3,
    ).map(tuple),
    prefer=st.lists(st.sampled_from(Preference), min_size=1, unique=True).map(tuple),
    fills=st.integers(1, 10),
    allowances=st.builds(Allowances, rip_kerf=SIZES, keep_length=SIZES),
    on=st.dates(),
    count=st.integers(1, 20),
    eligibility=ELIGIBILITIES,
    unit=st.sampled_from(Unit),
)

OFFCUTS = st.builds(
    Offcut,
    length=SIZES,
    width=SIZES,
    thickness=SIZES,
    species=st.text(st.characters(exclude_categories=["Cs"]), max_size=20),
    face_a=st.sampled_from(Face),
    face_b=st.sampled_from(Face),
    count=st.integers(1, 999),
    tag=st.just("0000011"),
    location=st.text(st.characters(exclude_categories=["Cs"]), max_size=20),
    tagged_on=st.none() | st.dates(),
    notes=st.text(st.characters(exclude_categories=["Cs"]), max_size=20),
    marks=st.sets(st.sampled_from(Mark)).map(tuple),
    moisture=st.integers(1, 2000).map(lambda tenths: Fraction(tenths, 10)),
    moisture_on=st.none() | st.dates(),
    batch=st.text(st.characters(exclude_categories=["Cs"]), max_size=20),
)

CUTS = st.builds(
    Cut,
    offcut=OFFCUTS,
    piece=st.integers(1, 999),
    lengths_cut=st.integers(1, 50),
    rips=st.lists(st.integers(0, 50), max_size=5).map(tuple),
    strip_width=SIZES,
    adds=SIZES,
    loss=COLUMN_COUNT,
    worth_lost=COLUMN_COUNT,
    milling=COLUMN_COUNT,
    milling_area=COLUMN_COUNT,
    leftovers=st.lists(st.builds(Leftover, SIZES, SIZES, SIZES, st.booleans()), max_size=3).map(tuple),
    part=st.booleans(),
    leaves=st.none() | st.integers(1, 9),
    band=st.integers(0, 9),
    board=st.integers(0, 9),
    shares=st.lists(st.builds(StripShare, st.integers(0, 9), st.integers(1, 9), SIZES), max_size=3).map(tuple),
)

FILLS = st.builds(
    Fill,
    prefer=st.sampled_from(Preference),
    proven=st.booleans(),
    bound=COLUMN_COUNT,
    cuts=st.lists(CUTS, max_size=3).map(tuple),
    board_volume=COLUMN_COUNT,
    cautions=st.lists(st.text(st.characters(exclude_categories=["Cs"]), max_size=20), max_size=2).map(tuple),
    glue_ups=st.lists(
        st.builds(
            PlannedGlueUp,
            st.integers(0, 9),
            st.integers(0, 9),
            st.integers(0, 99),
            REQUESTS,
            st.none() | BOARD_SIZES,
        ),
        min_size=1,
        max_size=2,
    ).map(tuple),
)


PAPER = EDGE_PLAN
ROWS = {"0000011": 7}
CODES = {7: "0000011"}


def stored(document: Any) -> Any:
    """The document as it comes back from the database."""
    return json.loads(json.dumps(document))


ORDERS = st.lists(
    st.lists(
        st.builds(
            StripPlacement, st.just("0000011"), st.integers(1, 999), st.integers(0, 99), st.booleans(), st.booleans()
        ),
        max_size=4,
    ).map(tuple),
    max_size=3,
).map(tuple)


@given(ORDERS)
def test_an_order_of_strips_reads_back_as_the_same(order: StripOrder) -> None:
    assert read_order_document(stored(order_document(order, ROWS)), CODES) == order


@given(FILLS)
def test_a_fill_reads_back_as_the_same(fill: Fill) -> None:
    assert read_stored_fill(stored(stored_fill_document(fill, ROWS)), CODES, PAPER.request) == fill


def test_a_stored_fill_names_offcuts_by_row_alone() -> None:
    [fill] = PAPER.fills
    rows = {cut.offcut.tag: row for row, cut in enumerate(fill.cuts, 1)}
    text = json.dumps(stored_fill_document(fill, rows))
    assert not any(tag in text for tag in rows)
    renamed = read_stored_fill(json.loads(text), {row: f"NEW{row}" for row in rows.values()}, PAPER.request)
    assert [cut.offcut.tag for cut in renamed.cuts] == [f"NEW{rows[cut.offcut.tag]}" for cut in fill.cuts]


def test_a_fill_of_an_earlier_revision_without_glue_ups_has_one_for_its_request() -> None:
    [fill] = PAPER.fills
    rows = {cut.offcut.tag: row for row, cut in enumerate(fill.cuts, 1)}
    document = stored(stored_fill_document(fill, rows))
    document["kept"] |= {"glue_ups": [], "strip_length_mm": "325", "rough_thickness_mm": "43", "target_mm": "100"}
    assert read_stored_fill(document, {row: tag for tag, row in rows.items()}, PAPER.request) == fill


@given(REQUESTS)
def test_a_request_reads_back_as_the_same(request: BoardRequest) -> None:
    assert read_requests_document(stored(requests_document([request]))) == (request,)


def test_a_request_with_panels_and_stripes_reads_back_as_the_same() -> None:
    request = BoardRequest(
        inches("18"),
        inches("12"),
        inches("1 1/2"),
        Grain.END,
        (FieldBand(("ash",), 2), StripeBand(("cherry",), 2, inches("1/4")), FieldBand()),
        (Preference.OLDEST_FIRST,),
        7,
        replace(Allowances(), rip_kerf=millimeters("2.4")),
        date(2030, 1, 31),
        3,
        PanelSpec(Grain.FACE, 2, inches("7/8")),
    )
    assert read_requests_document(stored(requests_document([request]))) == (request,)


@given(st.lists(REQUESTS, min_size=2, max_size=4))
def test_boards_made_together_read_back_as_the_same(requests: list[BoardRequest]) -> None:
    assert read_requests_document(stored(requests_document(requests))) == tuple(requests)


def test_every_value_of_a_fill_is_tried_above() -> None:
    """Whoever adds a value to a fill, a cut or what hangs on them has to keep it with the boards, and try it here."""
    known = {
        # What another allowance or row depth would bring is not kept.
        Fill: "prefer proven bound cuts board_volume glue_ups cautions nearly other_species row_depth_runner_up",
        PlannedGlueUp: "board panel rows request board_length",
        Cut: (
            "offcut piece lengths_cut rips strip_width adds loss worth_lost milling milling_area leftovers part "
            "leaves band board shares"
        ),
        StripShare: "glue_up strips adds",
        Leftover: "length width thickness kept",
        Offcut: (
            "length width thickness species face_a face_b count tag location tagged_on notes "
            "marks moisture moisture_on batch"
        ),
        BoardRequest: "length width thickness grain bands prefer fills allowances on count panel eligibility mix unit",
        Eligibility: "without required longest faces short_work batch",
        PanelSpec: "grain panels row_depth",
        FieldBand: "species weight",
        StripeBand: "species strips each",
    }
    for kind, names in known.items():
        assert [each.name for each in fields(kind)] == names.split(), kind
    assert set(ALLOWANCE_NAMES) == {each.name for each in fields(Allowances)}


def test_what_is_kept_is_the_document_of_the_contract_and_more() -> None:
    fill = Fill(Preference.LEAST_WASTE, True, 7, (), 9, (PlannedGlueUp(0, 0, 0, PAPER.request),), ("Mind the knot.",))
    document = stored(stored_fill_document(fill, ROWS))
    del document["kept"]
    assert document == fill_document(fill)


def test_a_plan_stored_before_pieces_carried_marks_is_read() -> None:
    document = offcut_document(vars(Offcut(inches("20"), inches("3"), inches("1"), "ash")))
    for name in ("marks", "moisture", "moisture_on", "batch"):
        del document[name]
    assert Offcut(**read_offcut_document(document)) == Offcut(inches("20"), inches("3"), inches("1"), "ash")


def test_an_end_grain_board_stored_before_its_sides_were_trimmed_twice_is_read_as_it_was_made() -> None:
    panel = replace(PAPER.request, allowances=Allowances(row_trim=Length(0)))
    glue_up = PlannedGlueUp(0, 0, 4, panel, inches("12"))
    fill = replace(PAPER.fills[0], cuts=(), glue_ups=(glue_up,))
    document = stored(stored_fill_document(fill, ROWS))
    del document["kept"]["glue_ups"][0]["request"]["allowances"]["row_trim"]
    read = read_stored_fill(document, CODES, PAPER.request)
    assert read == fill
    assert read.glue_ups[0].jointed_width == PAPER.request.width
