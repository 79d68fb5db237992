"""`rackful fill`: which offcuts make a board or several, how many of a board there are, and how they are cut."""

from __future__ import annotations

import json
from collections.abc import Callable, Iterable, Iterator, Sequence
from datetime import date
from pathlib import Path
from typing import Any, BinaryIO, TypeVar

import click

from inventory.cli.plan_text import format_count, format_plan, format_shortfall_line
from inventory.cli.program import CommandContext, NegativeResult, rackful_command
from inventory.cli.progress import best_answer
from inventory.core.allowances import Allowances
from inventory.core.errors import UserError
from inventory.core.lengths import Display, Nearest, Unit
from inventory.core.offcuts import Offcut
from inventory.core.workshop import DEFAULT_WORKSHOP, Workshop
from inventory.fill.plan import Plan
from inventory.fill.plan_document import plan_document
from inventory.fill.request import BoardRequest, InvalidRequest, read_request
from inventory.orders.answer import fill_rack
from inventory.orders.nearly import with_nearly
from inventory.services.boards import filling, several_boards
from inventory.services.boards.several_boards import BatchSolution, BoardOrder
from inventory.services.rack import csv_transfer, queries

T = TypeVar("T")


class InvalidJson(UserError):
    """A request file that is not a JSON object."""


@rackful_command("fill")
@click.option("--length", metavar="SIZE", help="The board's finished length, along the grain.")
@click.option("--width", metavar="SIZE", help="Its finished width.")
@click.option("--thickness", metavar="SIZE", help="Its finished thickness.")
@click.option("--grain", metavar="edge|face|end", help="Strips on edge, laid flat, or slices turned up. Default: edge.")
@click.option("--count", type=int, metavar="N", help="How many like boards. Default: 1.")
@click.option("--species", multiple=True, metavar="NAME", help="A wood that may go in; several may be named.")
@click.option(
    "--prefer",
    multiple=True,
    metavar="NAME",
    help="best-use, least-waste, fewest-pieces, least-milling, oldest-first; several may be named. Default: all.",
)
@click.option("--fills", type=int, metavar="N", help="How many fills of each preference, 1 to 10. Default: 3.")
@click.option(
    "--allow",
    multiple=True,
    metavar="NAME=SIZE",
    help="An allowance of the cutting model for this board, such as rip_kerf=3/32in; several may be given.",
)
@click.option("--mix", metavar="one|free", help="one: a board is of one species. free: of mixed ones. Default: one.")
@click.option("--without", multiple=True, metavar="TAG", help="A piece that is not taken; several may be named.")
@click.option("--with", "with_", multiple=True, metavar="TAG", help="A piece that must be used; several may be named.")
@click.option("--longest", metavar="SIZE", help="No piece longer than this is cut.")
@click.option("--faces", metavar="any|bare|planed", help="bare: no old finish. planed: both faces. Default: any.")
@click.option("--no-short-work", is_flag=True, help="Take no piece shorter than the allowance shortest_machined.")
@click.option("--batch", metavar="WORD", help="Only pieces of this batch.")
@click.option("--on", metavar="DAY", help="The day from which time on the rack is counted. Default: today.")
@click.option(
    "--request",
    "request_files",
    type=click.File("rb"),
    multiple=True,
    metavar="FILE",
    help="The request as JSON; options go over it. Several may be given: boards to be filled together.",
)
@click.option("--how-many", is_flag=True, help="Count how many of this board are in the rack, and fill them all.")
@click.option("--rack", type=click.File("rb"), metavar="FILE.csv", help="Search this rack alone, without a shop.")
@click.option(
    "--unit",
    type=click.Choice([unit.value for unit in Unit]),
    help="What a bare number means where --rack is given. Default: in.",
)
def command(
    run: CommandContext,
    request_files: Sequence[BinaryIO],
    how_many: bool,
    rack: BinaryIO | None,
    unit: str | None,
    **typed: Any,
) -> None:
    """Searches the rack for sets of strips that fill a board, and tells how each offcut is cut.

    Exits with 1 where the rack can't fill it, and says what is missing. Bands of several species, and how the panels
    of an end-grain board are made, are asked for in a request file.

    Several boards are filled together: --count of one kind, or one --request for each kind. --how-many finds as many
    as there are, by the first preference, and says how many there can be at most. Both may take a while: a terminal
    shows how far it is, and Ctrl-C takes the best so far. With --json, "beside" holds the further kinds of boards, and
    "how_many" the boards found and the most there can be: {"boards": 41, "at_most": 45}.

    \b
    Examples:
      rackful fill --length 18 --width 12 --thickness 1-1/2 --prefer least-waste
      rackful fill --request board.json --allow rip_kerf=3/32in --json
      rackful fill --rack rack.csv --unit mm --length 450 --width 300 --thickness 38 --species ash
      rackful fill --length 18 --width 12 --thickness 1-1/2 --how-many
      rackful fill --request board.json --request shelf.json
    """
    if unit is not None and rack is None:
        raise click.UsageError("--unit goes with --rack: a shop has its own unit. Write the unit behind each size.")
    if how_many and typed["count"] is not None:
        raise click.UsageError("--how-many finds how many boards there are; --count asks for so many. Leave one out.")
    if not all(name.strip() for name in typed["species"]):
        raise click.UsageError("--species names no wood. Type one, such as --species ash; leave it out for any.")
    if not request_files:
        _require_sizes(typed)
    documents = [_read_json(file) for file in request_files] or [{}]
    documents = [given | _from_options(typed, given) for given in documents]
    if rack is None:
        with run.shop() as shop:
            settings = shop.settings()
            display, workshop = settings.display, settings.workshop
            asked = _read_each(documents, request_files, lambda given: filling.request(shop, given))
            question = BoardOrder(asked, how_many)
            _warn_unknown_species(run, asked, lambda: queries.species_here(shop))
            found = _fill_one(filling.fill, shop, question) or _search(run, several_boards.search_rack(shop, question))
    else:
        display = Display(Nearest.TENTH_MM if unit == Unit.MILLIMETER.value else Nearest.SIXTEENTH)
        workshop, today = DEFAULT_WORKSHOP, date.today()
        asked = _read_each(
            documents, request_files, lambda given: read_request(given, Allowances(), display.unit, today)
        )
        question = BoardOrder(asked, how_many)
        offcuts = _read_rack(run, rack, display.unit)
        _warn_unknown_species(run, asked, lambda: {each.species for each in offcuts})
        found = _fill_one(_fill_from_file, offcuts, question) or _search(
            run, several_boards.improving_answers(offcuts, question)
        )
        found = several_boards.with_shop_cautions(found, workshop, display)
    _answer(run, found, question, workshop, display)


def _read_each(
    documents: Sequence[dict[str, Any]], files: Sequence[BinaryIO], read: Callable[[dict[str, Any]], BoardRequest]
) -> tuple[BoardRequest, ...]:
    """Reads every request; of several files, the error names the one that is wrong."""
    asked = []
    for number, given in enumerate(documents):
        try:
            asked.append(read(given))
        except InvalidRequest as error:
            if len(documents) == 1:
                raise
            raise InvalidRequest(f'"{_name_of(files[number])}": {error}', error.what) from None
    return tuple(asked)


def _answer(
    run: CommandContext, found: BatchSolution, question: BoardOrder, workshop: Workshop, display: Display
) -> None:
    if found.plan is None:
        raise ValueError("a finished search has a plan")
    document, text = plan_document(found.plan), format_plan(found.plan, workshop, display)
    if question.how_many:
        document |= {"how_many": {"boards": found.boards, "at_most": found.upper_bound}}
        text = f"{format_count(found)}\n\n{text}"
    run.answer(document, text)
    if found.plan.shortfall is not None:
        raise NegativeResult(format_shortfall_line(found.plan, display))


def _fill_from_file(offcuts: Sequence[Offcut], asked: BoardRequest) -> Plan:
    return with_nearly(fill_rack(offcuts, asked), offcuts)


def _fill_one(fill: Callable[[T, BoardRequest], Plan], rack: T, question: BoardOrder) -> BatchSolution | None:
    """The answer for one board, which is quick; None for several boards."""
    if question.how_many or question.boards > 1:
        return None
    return BatchSolution(1, None, fill(rack, question.requests[0]))


def _search(run: CommandContext, answers: Iterator[BatchSolution]) -> BatchSolution:
    found, stopped = best_answer(answers)
    if stopped:
        run.warn("stopped; this is the best so far.")
    return found


def _read_rack(run: CommandContext, rack: BinaryIO, unit: Unit) -> list[Offcut]:
    offcuts, warnings = csv_transfer.read_rack(rack, unit)
    for warning in warnings:
        run.warn(warning)
    return offcuts


def _warn_unknown_species(
    run: CommandContext, asked: Sequence[BoardRequest], there: Callable[[], Iterable[str]]
) -> None:
    """Warns of requested species that no piece has: a typing error would otherwise only be ignored."""
    if any(band.species for each in asked for band in each.bands):
        for sentence in filling.unknown_species(asked, there()):
            run.warn(sentence)


SIZES = ("length", "width", "thickness")


def _require_sizes(typed: dict[str, Any]) -> None:
    for name, example in (("length", "18in"), ("width", "12in"), ("thickness", "1-1/2in")):
        if typed[name] is None:
            raise click.UsageError(f"The board has no {name}. Add --{name}, for example --{name} {example}.")


def _from_options(typed: dict[str, Any], given: dict[str, Any]) -> dict[str, Any]:
    """The keys of the request that were given as options."""
    asked = {
        name: typed[name]
        for name in (
            "length",
            "width",
            "thickness",
            "grain",
            "count",
            "fills",
            "mix",
            "longest",
            "faces",
            "batch",
            "on",
        )
        if typed[name] is not None
    }
    if typed["without"]:
        asked["without"] = list(typed["without"])
    if typed["with_"]:
        asked["with"] = list(typed["with_"])
    if typed["no_short_work"]:
        asked["short_work"] = False
    if typed["prefer"]:
        asked["prefer"] = list(typed["prefer"])
    if typed["species"]:
        asked["bands"] = [{"species": list(typed["species"])}]
    if typed["allow"]:
        before = given.get("allowances")
        asked["allowances"] = (before if isinstance(before, dict) else {}) | _read_allowances(typed["allow"])
    return asked


def _read_allowances(typed: Sequence[str]) -> dict[str, str]:
    allowances = {}
    for each in typed:
        name, sign, size = each.partition("=")
        if not sign:
            raise click.UsageError(f'"{each}" sets no allowance. Type it as NAME=SIZE, such as rip_kerf=3/32in.')
        allowances[name.strip()] = size.strip()
    return allowances


def _name_of(file: BinaryIO) -> str:
    return Path(file.name).name if isinstance(getattr(file, "name", None), str) else "the request"


def _read_json(file: BinaryIO) -> dict[str, Any]:
    shown = _name_of(file)
    try:
        document = json.loads(file.read())
    except UnicodeDecodeError:
        raise InvalidJson(f'"{shown}" is not text in UTF-8. Save it as UTF-8 and try again.') from None
    except json.JSONDecodeError as error:
        raise InvalidJson(
            f'"{shown}" is not JSON (line {error.lineno}, column {error.colno}: '
            f"{error.msg[:1].lower()}{error.msg[1:].removesuffix(' at')}). Mend it there."
        ) from None
    except RecursionError:
        raise InvalidJson(f'"{shown}" is not a request: it is nested too deep. See rackful fill --help.') from None
    except ValueError:
        # Python refuses to read an integer of more than some thousand digits.
        raise InvalidJson(
            f'"{shown}" is not a request: a number in it has thousands of digits. Mend it there.'
        ) from None
    if not isinstance(document, dict):
        raise InvalidJson(
            f'"{shown}" is not a request: it must be one JSON object, such as {{"length": "18 in", ...}}.'
        )
    return document
