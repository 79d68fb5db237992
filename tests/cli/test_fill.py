"""`rackful fill`: from a shop and from a file alone, as tables and as the contract's JSON."""

import io
import json
import sys
from dataclasses import replace
from datetime import date
from pathlib import Path

import pytest

from inventory.cli import main
from inventory.cli.plan_text import format_plan
from inventory.core.allowances import Allowances
from inventory.core.lengths import Display, Unit
from inventory.core.workshop import DEFAULT_WORKSHOP
from inventory.fill.plan import Plan
from inventory.fill.plan_document import plan_document
from inventory.fill.request import read_request
from inventory.orders.answer import fill_rack
from inventory.services.boards.filling import unknown_species
from inventory.services.rack import tagging
from inventory.services.rack.csv_transfer import read_rack
from inventory.shop import Shop
from inventory.wording.cautions import with_cautions
from tests.cli.conftest import Rackful
from tests.verify import faults

RACK = (
    "tag,species,length,width,thickness,face_a,face_b,count\n"
    "0000011,ash,30 in,6 in,1 in,planed,planed,1\n"
    ",cherry,30 in,6 in,1 in,planed,rough,2\n"
    "short one,ash,10 in,4 in,1 in,planed,planed,1\n"
)
BOARD = ("--length", "18 in", "--width", "3 in", "--thickness", "1 in")
BEST = ("--prefer", "least-waste", "--fills", "1")


@pytest.fixture
def rack(tmp_path: Path) -> Path:
    path = tmp_path / "rack.csv"
    path.write_text(RACK)
    return path


def sound_plan(rack: Path, asked: dict[str, object], unit: Unit = Unit.INCH) -> Plan:
    """The plan that the domain gives for the same rack and request, checked by the independent verifier."""
    offcuts, _ = read_rack(rack.read_bytes(), unit)
    plan = with_cautions(fill_rack(offcuts, read_request(asked, Allowances(), unit, date.today())))
    assert faults(plan, offcuts) == []
    return plan


def test_json_is_the_plan_s_document_and_nothing_else(rackful: Rackful, rack: Path, folder: Path) -> None:
    done = rackful("fill", "--rack", rack, *BOARD, "--json")
    assert (done.code, done.err) == (0, "")
    plan = sound_plan(rack, {"length": "18 in", "width": "3 in", "thickness": "1 in"})
    assert done.document == plan_document(plan)
    assert done.document["plan"] == 1 and len(done.document["fills"]) >= 4
    assert not folder.exists()


def test_every_option_reaches_the_request(rackful: Rackful, rack: Path) -> None:
    done = rackful(
        "fill", "--rack", rack, *BOARD, "--grain", "face", "--species", "Ash", "--species", "cherry", "--prefer",
        "clear-out", "--prefer", "least-waste", "--fills", 2, "--allow", "rip_kerf=3/32in",
        "--allow", "keep_length = 9", "--on", "2040-01-31", "--json",
    )  # fmt: skip
    asked = done.document["request"]
    assert (asked["length"], asked["width"], asked["thickness"]) == ("457.2 mm", "76.2 mm", "25.4 mm")
    assert (asked["grain"], asked["prefer"], asked["fills"]) == ("face", ["oldest-first", "least-waste"], 2)
    assert asked["bands"][0]["species"] == ["ash", "cherry"]
    assert asked["on"] == "2040-01-31"
    assert (asked["allowances"]["rip_kerf"], asked["allowances"]["keep_length"]) == ("2.38125 mm", "228.6 mm")


def test_what_is_ruled_out_reaches_the_request(rackful: Rackful, rack: Path) -> None:
    done = rackful(
        "fill", "--rack", rack, *BOARD, "--without", "ooo-oo11", "--without", "Short One", "--longest", "60 in",
        "--faces", "planed", "--no-short-work", "--batch", "elm 2029", "--json",
    )  # fmt: skip
    asked = done.document["request"]
    assert asked["without"] == ["0000011", "Short One"]
    assert (asked["longest"], asked["faces"], asked["short_work"]) == ("1524 mm", "planed", False)
    assert asked["batch"] == "elm 2029"
    assert (done.code, done.document["shortfall"]["fell_out"]["ruled out"]) == (1, 3)


def test_a_named_piece_is_used_in_spite_of_its_mark(rackful: Rackful, tmp_path: Path) -> None:
    rack = "tag,species,length,width,thickness,marks\nA,ash,30,6,1 1/4,damp;knots\nB,ash,30,6,1 1/4,\n"
    (tmp_path / "rack.csv").write_text(rack)
    done = rackful("fill", "--rack", tmp_path / "rack.csv", *BOARD, "--with", "a", "--json")
    assert done.code == 0
    assert all("A" in {cut["tag"] for cut in fill["cuts"]} for fill in done.document["fills"])


def test_what_a_piece_carries_stands_beside_it(rackful: Rackful, tmp_path: Path) -> None:
    rack = (
        "tag,species,length,width,thickness,marks,moisture,moisture_on,batch,notes\n"
        'A,ash,30,6,1 1/4,metal;knots,8.5,2029-03-01,elm 2029,"a nail\nat one end"\n'
    )
    (tmp_path / "rack.csv").write_text(rack)
    done = rackful("fill", "--rack", tmp_path / "rack.csv", *BOARD, *BEST)
    assert done.code == 0
    assert (
        "  A: metal, knots; 8.5 % moisture on 2029-03-01; batch elm 2029; note: a nail at one end\n"
        "  A: Metal was found in this piece: find all of it with a detector, and take it out before a blade touches "
        "the wood.\n"
    ) in done.out


def test_a_named_tag_that_is_not_there_is_an_answer_that_names_it(rackful: Rackful, rack: Path) -> None:
    done = rackful("fill", "--rack", rack, *BOARD, "--with", "W04-SP0M", "--json")
    assert done.code == 1
    assert done.document["shortfall"]["demand"] == [{"field": "with", "tag": "W04SP0M", "reason": "not on the rack"}]
    assert done.err == (
        "The rack can't fill this board: W04-SP0M can't be used. "
        "No smaller length, width or thickness alone would help.\n"
    )
    shown = rackful("fill", "--rack", rack, *BOARD, "--with", "W04-SP0M").out
    assert (
        "  W04-SP0M has to be used, but no free piece on the rack has this tag. Check the tag, or release the piece.\n"
    ) in shown


def test_marks_of_a_file_keep_pieces_back(rackful: Rackful, tmp_path: Path) -> None:
    (tmp_path / "rack.csv").write_text("tag,species,length,width,thickness,marks\nA,ash,30,6,1 1/4,damp;knots\n")
    done = rackful("fill", "--rack", tmp_path / "rack.csv", *BOARD, "--json")
    assert (done.code, done.document["shortfall"]["fell_out"]["marked"]) == (1, 1)


def test_a_request_file_is_read_and_options_go_over_it(
    rackful: Rackful, rack: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    request = {"length": "18 in", "width": "99 in", "thickness": "1 in", "allowances": {"end_trim": "1/2 in"}}
    (tmp_path / "board.json").write_text(json.dumps(request))
    over = ("--width", "3 in", "--allow", "rip_kerf=1/16in", "--json")
    asked = rackful("fill", "--rack", rack, "--request", tmp_path / "board.json", *over).document["request"]
    assert (asked["width"], asked["allowances"]["end_trim"]) == ("76.2 mm", "12.7 mm")
    assert asked["allowances"]["rip_kerf"] == "1.5875 mm"
    monkeypatch.setattr(sys, "stdin", io.TextIOWrapper(io.BytesIO(json.dumps(request).encode())))
    assert rackful("fill", "--rack", rack, "--request", "-", *over).document["request"] == asked


def test_the_shop_s_rack_is_searched_with_what_is_free_and_its_own_unit(rackful: Rackful) -> None:
    tag = rackful("add", "ash 30 x 4 x 1 planed", "--json").document["tag"]
    done = rackful("fill", "--length", 18, "--width", 2, "--thickness", 1, "--json")
    assert done.code == 0
    assert {cut["tag"] for fill in done.document["fills"] for cut in fill["cuts"]} == {tag}


def test_a_bare_number_in_a_file_is_in_the_unit_that_is_named(rackful: Rackful, tmp_path: Path) -> None:
    (tmp_path / "rack.csv").write_text("species,length,width,thickness,face_a,face_b\nash,600,100,25,planed,planed\n")
    board = ("--length", 400, "--width", 60, "--thickness", 20)
    done = rackful("fill", "--rack", tmp_path / "rack.csv", "--unit", "mm", *board, *BEST)
    assert done.code == 0
    assert done.out.startswith("Board 400 × 60 × 20 mm, edge grain\n")
    assert "line 2  ash, 600 × 100 × 25 mm" in done.out


def test_fills_are_shown_as_tables_and_the_same_fill_once(rackful: Rackful, rack: Path) -> None:
    done = rackful("fill", "--rack", rack, *BOARD, "--fills", 1, "--species", "ash")
    assert (done.code, done.err) == (0, "")
    text, cautions = done.out.split("\nCautions\n")
    # 18 × 3 × 1 in are 54 in³; the offcut's 180 in³ less the two leftovers of 65 1/4 and 18 13/32 in³ are 96.3 in³.
    assert text.splitlines() == [
        "Board 18 × 3 × 1 in, edge grain",
        "",
        "Fill 1: best by best-use, least-waste, fewest-pieces, least-milling and oldest-first (proven)",
        "  Tag       Offcut              Cut                             Adds  Left over",
        "  000-0011  ash, 30 × 6 × 1 in  1 length, 4 strips of 1 1/8 in  4 in  10 7/8 × 6 × 1 in; 19 × ≈1 × 1 in",
        "  1 offcut, 4 strips, 3 glue lines; the glue-up is 4 in wide.",
        "  Yield 56 %: 0.67 bd ft leave the rack, 0.29 bd ft of it waste.",
        "  Set-ups: rip fence 1 (1 1/8 in), crosscut stop 1 (19 in).",
        "  Weight about 1.3 lb.",
        "  From 35 % to 65 % humidity the width of 3 in grows by about 1/32 in if its strips are flat-sawn stock "
        "turned on edge (radial coefficient), by about 3/64 in if quarter-sawn (tangential).",
        "",
        "Weights are at 12 % moisture content, without glue and finish; wood of one species differs by a tenth and "
        "more.",
        "From 35 % to 65 % relative humidity at 68 °F wood goes from 7.0 to 12.0 % moisture content (Wood Handbook, "
        "FPL-GTR-282 (2021), equation 4-5).",
        "Movements are a guide, not a measurement. Coefficients, by equation 13-2: Wood Handbook, FPL-GTR-190 (2010), "
        "table 13-5.",
    ]
    assert cautions and all(line.startswith("  - ") for line in cautions.splitlines())


def test_how_far_from_the_best_a_fill_is_at_most_is_rounded_up(rack: Path) -> None:
    plan = sound_plan(rack, {"length": "18 in", "width": "3 in", "thickness": "1 in", "prefer": ["least-waste"]})
    best = plan.fills[0]
    unsure = replace(plan, fills=(replace(best, proven=False, bound=best.loss - 1),))
    assert "Fill 1: best by least-waste (not proven, at most 0.1 % from the best)" in format_plan(
        unsure, DEFAULT_WORKSHOP, Display()
    )
    tied = replace(plan, fills=(replace(best, proven=False, bound=best.loss),))
    assert "Fill 1: best by least-waste (proven but for ties)" in format_plan(tied, DEFAULT_WORKSHOP, Display())


def test_the_effort_is_that_of_the_shop_s_own_planer_and_glue(rackful: Rackful, folder: Path) -> None:
    with Shop.open(folder) as shop:
        typed = {"planer_width": "3 in", "spread_rate": "1", "open_time": "2", "sawn": "flat-sawn", "nearest": "0.1 mm"}
        shop.save_settings(shop.settings().changed(typed))
        tagging.tag(shop, tagging.read_line("5 of driftwood 30 in x 6 in x 1 in", shop.settings()))
    done = rackful("fill", *BOARD[:2], "--width", "4 in", *BOARD[4:], *BEST)
    assert "\n  The glue-up is " in done.out and " wide, the planer takes 76.2 mm: glue it in 2 parts" in done.out
    assert "\n  Weight not known: none is on record here for driftwood.\n" in done.out
    assert "\n\nWeights are " not in done.out
    assert "\n  - A glue-up wider than the planer (76.2 mm) is flattened another way" in done.out
    assert " are glued in stages: here 3, by 2 minutes of open time at 1 strip a minute." in done.out
    document = rackful("fill", *BOARD[:2], "--width", "4 in", *BOARD[4:], *BEST, "--json").document
    assert [each for each in document["fills"][0]["cautions"] if "planer (76.2 mm)" in each]


def test_several_glue_ups_are_listed_one_by_one(rackful: Rackful, rack: Path) -> None:
    done = rackful("fill", "--rack", rack, "--length", 18, "--width", 2, "--thickness", 1, *BEST, "--count", 2)
    lines = done.out.splitlines()
    assert lines[0] == "2 boards 18 × 2 × 1 in, edge grain"
    assert lines[3] == "  Glue-ups 1 and 2, for boards 1 and 2: 18 × 2 × 1 in each"
    assert "Glue-up" not in "".join(lines[4:])
    assert " to glue-up 1" in done.out and " to glue-up 2" in done.out
    assert "; all glue-ups together are " in done.out


def test_the_rows_of_an_end_grain_board_are_shown(rackful: Rackful, rack: Path, tmp_path: Path) -> None:
    request = {"length": "3 in", "width": "2 in", "thickness": "1 in", "grain": "end", "panel": {"row_depth": "1 in"}}
    (tmp_path / "board.json").write_text(json.dumps(request))
    done = rackful("fill", "--rack", rack, "--request", tmp_path / "board.json", *BEST)
    # 3 in and the side trim take 4 rows of 1 in; a panel of 4 rows is 4 × 1 1/8 in and 3 kerfs of 1/8 in long. Its
    # sides are trimmed once more after it is sliced.
    assert "\n  Glue-up 1, for board 1, panel 1, to be sliced into 4 rows: 4 7/8 × 2 1/8 × 1 in\n" in done.out


def test_the_bands_of_a_board_are_shown(rackful: Rackful, rack: Path, tmp_path: Path) -> None:
    bands = [{"species": ["ash"]}, {"species": ["cherry"], "strips": 1, "each": "1/4 in"}]
    request = {"length": "18 in", "width": "2 in", "thickness": "1 in", "bands": bands}
    (tmp_path / "board.json").write_text(json.dumps(request))
    done = rackful("fill", "--rack", rack, "--request", tmp_path / "board.json", *BEST)
    assert "strips of 1 1/8 in, band 1 " in done.out
    assert "1 strip of 1 1/8 in, 1 leaf, band 2 " in done.out


def test_a_board_that_the_rack_can_t_fill_exits_with_1_and_says_what_is_missing(rackful: Rackful, rack: Path) -> None:
    big = ("--length", "18 in", "--width", "40 in", "--thickness", "1 in")
    done = rackful("fill", "--rack", rack, *big)
    assert done.code == 1
    plan = sound_plan(rack, {"length": "18 in", "width": "40 in", "thickness": "1 in"})
    assert done.out == format_plan(plan, DEFAULT_WORKSHOP, Display()) + "\n"
    assert plan.shortfall is not None
    assert "\n  Fell out: 1 too short\n" in done.out
    assert "\n  Near miss: short one is 9 in too short\n" in done.out
    too_long = rackful("fill", "--rack", rack, "--length", "90 in", *big[2:])
    assert too_long.out.endswith("\n  No smaller width or thickness alone would help.\n")
    assert done.err.startswith("The rack can't fill this board: ") and done.err.count("\n") == 1
    done = rackful("fill", "--rack", rack, *big, "--json")
    assert (done.code, done.document) == (1, plan_document(plan))


@pytest.mark.parametrize(
    ("name", "message"),
    [
        ("Chery", 'Note: No piece on the rack is called "chery". Is cherry meant?\n'),
        ("ebony", 'Note: No piece on the rack is called "ebony".\n'),
        ("cherry", ""),
    ],
)
def test_a_species_that_no_piece_has_is_reported_with_the_one_that_may_be_meant(
    rackful: Rackful, rack: Path, name: str, message: str
) -> None:
    done = rackful("fill", "--rack", rack, *BOARD, *BEST, "--species", "ash", "--species", name)
    assert (done.code, done.err) == (0, message)


def test_a_word_of_a_name_suggests_every_name_that_has_it() -> None:
    asked = read_request(
        {"length": "1", "width": "1", "thickness": "1", "bands": [{"species": ["Oak"]}]},
        Allowances(),
        Unit.INCH,
        date.today(),
    )
    message = ('No piece on the rack is called "oak". Is red oak or White Oak meant?',)
    assert unknown_species([asked], ["ash", "White Oak", "red oak"]) == message


def test_a_bad_row_of_the_file_is_listed(rackful: Rackful, tmp_path: Path) -> None:
    (tmp_path / "rack.csv").write_text("length,width,thickness\n1,2,x\n")
    done = rackful("fill", "--rack", tmp_path / "rack.csv", *BOARD)
    reason = 'thickness: "x" is not a length. Type 23 1/2, 23.5 in or 597 mm.'
    assert (done.code, done.out) == (2, f"line 2: {reason}\n")
    assert done.err == f"Nothing was taken in: 1 row is not right. Line 2: {reason}\n"


@pytest.mark.parametrize(
    ("content", "message"),
    [
        (
            b'{"length": "18',
            '"board.json" is not JSON (line 1, column 12: unterminated string starting). Mend it there.',
        ),
        (b"\xff", '"board.json" is not text in UTF-8. Save it as UTF-8 and try again.'),
        (b"[" * 100_000, '"board.json" is not a request: it is nested too deep. See rackful fill --help.'),
        (
            b'{"count": ' + b"9" * 5000 + b"}",
            '"board.json" is not a request: a number in it has thousands of digits. Mend it there.',
        ),
        (b"[]", '"board.json" is not a request: it must be one JSON object, such as {"length": "18 in", ...}.'),
        (b'{"lenght": 1}', '"lenght" is no key of a request.'),
        (b'{"length": 18.5, "width": "1", "thickness": "1"}', '"length" must be a text such as "18 in" or "457 mm".'),
        (
            b'{"length": "18", "width": "1", "thickness": "1", "bands": [{"each": "1/4", "strips": "two"}]}',
            'bands: strips must be a whole number, not "two".',
        ),
        (b'{"length": "18"}', 'The request has no width. Add "width", for example "18 in".'),
    ],
)
def test_a_bad_request_is_reported_in_one_line(
    rackful: Rackful, rack: Path, tmp_path: Path, content: bytes, message: str
) -> None:
    (tmp_path / "board.json").write_bytes(content)
    done = rackful("fill", "--rack", rack, "--request", tmp_path / "board.json")
    assert (done.code, done.out) == (2, "")
    assert done.err.startswith(message) and done.err.count("\n") == 1


@pytest.mark.parametrize(
    ("arguments", "message"),
    [
        ([], "The board has no length. Add --length, for example --length 18in."),
        (BOARD[:4], "The board has no thickness. Add --thickness, for example --thickness 1-1/2in."),
        ([*BOARD, "--allow", "rip_kerf=wide"], 'rip_kerf: "wide" is not a length. Type 23 1/2, 23.5 in or 597 mm.'),
        ([*BOARD, "--grain", "diagonal"], 'grain can\'t be "diagonal". Choose one of: edge, face'),
        (
            [*BOARD, "--prefer", "cheapest"],
            'prefer can\'t be "cheapest". Choose one of: best-use, least-waste, fewest-pieces,',
        ),
        (
            [*BOARD, "--allow", "rip_kerf"],
            '"rip_kerf" sets no allowance. Type it as NAME=SIZE, such as rip_kerf=3/32in.',
        ),
        ([*BOARD, "--allow", "kerf=1"], 'allowances: "kerf" is no allowance of the cutting model.'),
        ([*BOARD, "--species", " "], "--species names no wood. Type one, such as --species ash; leave it out for any."),
        ([*BOARD, "--fills", "11"], "fills must be 1 to 10, not 11."),
        ([*BOARD, "--on", "soon"], 'on can\'t be "soon". Type a day as 2030-01-31.'),
        ([*BOARD, "--without", " "], 'without must be a list of tags, such as ["4G7-M2KM"].'),
        ([*BOARD, "--with", ""], 'with must be a list of tags, such as ["4G7-M2KM"].'),
        (
            [*BOARD, "--with", "000-0011", "--without", "oooooii"],
            '"000-0011" is under both with and without. Take it off one of them.',
        ),
        ([*BOARD, "--longest", "0"], "longest is 0: no piece is so short. Type the length of the longest piece, or"),
        ([*BOARD, "--faces", "clean"], 'faces can\'t be "clean". Choose one of: any, bare, planed.'),
        ([*BOARD, "--batch", ""], 'batch must be a word, such as "elm 2029"; leave it out for any.'),
        (["--length", "1", "--width", "0", "--thickness", "1"], "The board's width is 0. Type the finished width."),
    ],
)
def test_a_bad_option_is_reported_in_one_line(rackful: Rackful, rack: Path, arguments: list[str], message: str) -> None:
    done = rackful("fill", "--rack", rack, *arguments)
    assert (done.code, done.out) == (2, "")
    assert done.err.startswith(message) and done.err.count("\n") == 1


def test_a_unit_without_a_file_is_an_error(rackful: Rackful) -> None:
    done = rackful("fill", *BOARD, "--unit", "mm")
    message = "--unit goes with --rack: a shop has its own unit. Write the unit behind each size."
    assert (done.code, done.err) == (2, f'{message} Type "rackful fill --help" for what it takes.\n')


def test_no_shop_is_opened_or_made_for_a_file(
    rack: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    monkeypatch.setenv("XDG_DATA_HOME", str(tmp_path / "home"))
    assert main(["fill", "--rack", str(rack), *BOARD]) == 0
    assert not (tmp_path / "home").exists()
