"""`rackful prune`: which offcuts to keep and which to prune."""

from __future__ import annotations

import sys
from collections.abc import Generator, Sequence
from datetime import date
from pathlib import Path
from typing import Any, BinaryIO

import click

from inventory.cli.plurals import counted
from inventory.cli.program import CommandContext, NegativeResult, rackful_command
from inventory.core.codes import format_tag
from inventory.core.lengths import Display, Nearest, Unit, format_length, format_volume
from inventory.core.offcuts import Offcut
from inventory.pruning.disposal import STOVE_CAUTION
from inventory.pruning.loss import Outcome
from inventory.pruning.reason_text import lost_text, percent_text, reason_text
from inventory.pruning.simulation import Arrivals
from inventory.pruning.storage_limit import StorageLimit, read_pieces, read_shelves, read_volume
from inventory.pruning.usual_boards import UsualBoard
from inventory.services.boards import usual_board_list
from inventory.services.jobs import Progress
from inventory.services.pruning import forecasts, prune_advice
from inventory.services.pruning.forecasts import ForecastInputs
from inventory.services.pruning.prune_advice import PruneResult, answer_document, rule_text
from inventory.services.rack import csv_transfer
from inventory.settings import Settings
from inventory.shop import Shop

MIN_YEARS, MAX_YEARS = 40, 20_000


@rackful_command("prune")
@click.option("--volume", metavar="VOLUME", help="How much may stay: 40 bd ft, 0.1 m3, or 60% of what is there.")
@click.option("--pieces", metavar="N", help="How many pieces may stay.")
@click.option(
    "--shelf",
    multiple=True,
    metavar="LOCATION=LENGTH",
    help="How much running shelf a location has, pieces stood on edge; several may be given.",
)
@click.option(
    "--years",
    type=click.IntRange(MIN_YEARS, MAX_YEARS),
    default=400,
    show_default=True,
    metavar="N",
    help="How many years to simulate, in runs of two years.",
)
@click.option("--no-new", is_flag=True, help="Draw no new offcuts, whatever the shop's history shows.")
@click.option(
    "--board",
    "single",
    multiple=True,
    metavar="FILE.json=N",
    help="A usual board for this once: a request file and how many a year; several may be given.",
)
@click.option(
    "--boards", type=click.File("rb"), metavar="FILE.json", help="A whole list of usual boards for this once."
)
@click.option(
    "--rack", type=click.File("rb"), metavar="FILE.csv", help="Prune this rack, without a shop; needs --board(s)."
)
@click.option(
    "--unit",
    type=click.Choice([unit.value for unit in Unit]),
    help="What a bare number means where --rack is given. Default: in.",
)
def command(
    run: CommandContext,
    boards: BinaryIO | None,
    single: Sequence[str],
    rack: BinaryIO | None,
    unit: str | None,
    years: int,
    no_new: bool,
    **limit: Any,
) -> None:
    """Says which offcuts to let go, so that the rest keeps to the room and loses least of the boards you make.

    Years of the shop are simulated: its usual boards come by chance, each is filled from the rack as it then is,
    leftovers go back. Changes nothing. Exits with 1 where pieces that are kept overfill the room.

    \b
    --json prints one document:
      simulated_years, rack_pieces; room_taken (mm3, pieces, or nm of shelf) before
      let_go      pieces to let go, least needed first: tag, pieces (of so many under the tag),
                  sizes, location, reason, ways (no stove for old finishes or unknown treatment)
      keep        what stays: tag, pieces
      chance      times cut in so many two-year replications, its share and standard error
      chances     by tag, that the first piece of it is cut within 12 and 24 months
      whole_rack, kept, rules[].kept   boards asked for and filled in fresh years: share, and
                  lost_points against the whole rack with error_points (standard error)
      boards      by usual board, how often it was asked for and could be filled

    \b
    Examples:
      rackful prune --volume 60%
      rackful prune --pieces 80 --board board.json=12 --json
      rackful prune --rack rack.csv --boards usual.json --shelf "wall 2=40 in"
    """
    if (unit is not None or rack is not None) and (rack is None or not (boards or single)):
        raise click.UsageError("--unit goes with --rack, and --rack with --board or --boards: a shop has its own.")
    if rack is None:
        with run.shop() as shop:
            settings = shop.settings()
            listed = _boards(boards, single, settings, shop.today())
            answer = _prune_shop(shop, listed, limit, years, no_new)
    else:
        settings = Settings(display=Display(Nearest.TENTH_MM if unit == Unit.MILLIMETER.value else Nearest.SIXTEENTH))
        offcuts, warnings = csv_transfer.read_rack(rack, settings.unit)
        for warning in warnings:
            run.warn(warning)
        listed = _boards(boards, single, settings, date.today())
        asked = ForecastInputs(tuple(offcuts), listed, Arrivals(), date.today(), False)
        answer = _run_with_progress(_advise(asked, limit, settings, frozenset(), years))
    run.answer(answer_document(answer, settings.display), "\n".join(_result_lines(answer, settings.display)))
    if not answer.advice.fits:
        raise NegativeResult(
            "The pieces that are kept overfill the room by themselves. Take the mark keep off some, or give more room."
        )


def _boards(boards: BinaryIO | None, single: Sequence[str], settings: Settings, today: date) -> tuple[UsualBoard, ...]:
    """The usual boards named on the command line."""
    listed = usual_board_list.read_list(boards.read(), settings, today) if boards else ()
    for each in single:
        name, sign, rate = each.rpartition("=")
        if not sign:
            raise click.UsageError(f'"{each}" is no usual board. Type it as FILE.json=N, such as board.json=12.')
        try:
            request = Path(name).read_bytes()
        except OSError as error:
            raise click.UsageError(f'"{name}" can\'t be read ({(error.strerror or str(error)).lower()}).') from None
        listed += (usual_board_list.read_one(request, Path(name).stem, rate, settings, today),)
    return listed


def _prune_shop(
    shop: Shop, listed: tuple[UsualBoard, ...], limit: dict[str, Any], years: int, no_new: bool
) -> PruneResult:
    """The answer of a shop; what is drawn by the shop's own list is kept for its pages."""
    asked = forecasts.basis(shop, with_arrivals=not no_new)
    if not listed:
        wanted = _read_limit(limit, asked.rack, shop.settings().unit)
        return _run_with_progress(
            prune_advice.prune_rack(shop, wanted, with_arrivals=not no_new, replications=years // 2)
        )
    other = ForecastInputs(asked.rack, listed, asked.arrivals, asked.on, asked.with_arrivals)
    return _run_with_progress(_advise(other, limit, shop.settings(), prune_advice.pinned(shop), years))


def _advise(
    asked: ForecastInputs, limit: dict[str, Any], settings: Settings, pins: frozenset[str], years: int
) -> Generator[Progress, None, PruneResult]:
    wanted = _read_limit(limit, asked.rack, settings.unit)
    return prune_advice.compute_advice(asked, wanted, pins, forecasts.drawing(asked, replications=years // 2))


def _read_limit(typed: dict[str, Any], rack: Sequence[Offcut], unit: Unit) -> StorageLimit:
    given = [name for name in ("volume", "pieces", "shelf") if typed[name]]
    if len(given) != 1:
        raise click.UsageError("Give the room in one way: --volume, --pieces or --shelf.")
    if typed["volume"]:
        whole = sum(StorageLimit(volume=0).space_of(each) * each.count for each in rack)
        return StorageLimit(volume=read_volume(typed["volume"], unit, whole))
    if typed["pieces"]:
        return StorageLimit(pieces=read_pieces(typed["pieces"]))
    shelves = {}
    for each in typed["shelf"]:
        location, sign, length = each.rpartition("=")
        if not sign:
            raise click.UsageError(f'"{each}" names no shelf. Type it as LOCATION=LENGTH, such as "wall 2=40 in".')
        if location.strip() in shelves:
            raise click.UsageError(f'--shelf names "{location.strip()}" twice. Give its shelf once.')
        shelves[location.strip()] = length
    return StorageLimit(shelves=read_shelves(shelves, unit))


def _run_with_progress(steps: Generator[Progress, None, PruneResult]) -> PruneResult:
    """Runs all steps, and shows the progress on a terminal."""
    is_terminal = sys.stderr.isatty()
    while True:
        try:
            step = next(steps)
        except StopIteration as end:
            found: PruneResult = end.value
            break
        if is_terminal:
            click.echo(f"\r{step.share * 100:3.0f} %  {step.message:<60}", err=True, nl=False)
    if is_terminal:
        click.echo(f"\r{' ' * 70}\r", err=True, nl=False)
    return found


def _result_lines(answer: PruneResult, display: Display) -> list[str]:
    going = answer.advice.going
    lines = [_summary_line(answer, display)]
    for each in going:
        offcut = each.offcut
        sizes = " × ".join(
            format_length(size, display, with_unit=False) for size in (offcut.length, offcut.width, offcut.thickness)
        )
        many = f", {each.pieces} of {offcut.count}" if offcut.count > 1 else ""
        where = f" @ {offcut.location}" if offcut.location else ""
        lines.append(
            f"  {format_tag(offcut.tag)}  {offcut.species or 'species not noted'} "
            f"{sizes} {display.unit.value}{many}{where}"
        )
        lines.append(f"      {reason_text(each)}")
    if answer.whole is not None and answer.outcome is not None:
        lines.append(f"In fresh simulated years the whole rack fills {percent_text(answer.whole.share)} of the boards.")
        lines.append(f"  This advice: {format_outcome(answer.outcome)}")
        lines += [
            f"  {rule_text(each.rule, display).capitalize()} ({counted(each.rule.pieces, 'piece')} go): "
            f"{format_outcome(each.outcome)}"
            for each in answer.rules
            if each.outcome is not None
        ]
    lines += [
        f'"{each.name}" could not be filled once: nothing on the rack holds it.'
        for each in answer.forecast.boards
        if each.asked and not each.filled
    ]
    return [*lines, STOVE_CAUTION] if going else lines


def _summary_line(answer: PruneResult, display: Display) -> str:
    if not answer.advice.going:
        return "The rack keeps to this room already: nothing has to go."
    return (
        f"{counted(answer.pieces, 'piece')} may go ({format_volume(answer.volume, display.unit)}), "
        f"least needed first; {answer.forecast.years:,} years were simulated."
    )


def format_outcome(outcome: Outcome) -> str:
    """The share of boards that a smaller rack fills, with its standard error."""
    return f"fills {percent_text(outcome.share)}; lost: {lost_text(outcome)}"
