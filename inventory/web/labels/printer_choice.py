"""The printers that a page offers for a stock, and the state of recent print jobs."""

from __future__ import annotations

from dataclasses import dataclass

from inventory.printers.cups import Cups, CupsFault, find_cups
from inventory.services.labels import print_jobs
from inventory.storage.records import PrintJob
from inventory.web.request_context import current_shop
from labels import Stock


@dataclass(frozen=True)
class PrinterOption:
    """A printer to choose; `remark` says why it can't be chosen, or why it is stopped."""

    name: str
    shown: str
    remark: str
    can_print: bool


@dataclass(frozen=True)
class PrinterChoice:
    """The printers that a page offers. `there` is False without CUPS; `error` says why CUPS did not answer."""

    there: bool
    printers: tuple[PrinterOption, ...] = ()
    chosen: str = ""
    error: str = ""

    @property
    def can_print(self) -> bool:
        return any(each.can_print for each in self.printers)


def printers_for(stock: Stock) -> PrinterChoice:
    """The printers of this machine for this stock, with the one that it was last printed on preselected."""
    system = find_cups()
    if system is None:
        return PrinterChoice(False)
    try:
        known = system.printers()
    except CupsFault as error:
        return PrinterChoice(True, error=str(error))
    lines = []
    for printer in known:
        fits = printer.paper_name(stock.page.width, stock.page.height) is not None
        remark = printer.stopped_reason if fits else "It has no paper of this size."
        lines.append(PrinterOption(printer.name, printer.shown, remark, fits and printer.accepts))
    able = [line.name for line in lines if line.can_print]
    last = print_jobs.last_printer(current_shop(), stock.key)
    return PrinterChoice(True, tuple(lines), last if last in able else next(iter(able), ""))


def cups_with_updates() -> Cups | None:
    """CUPS, after the states of the active jobs were updated; None where it is missing or doesn't answer."""
    system = find_cups()
    if system is None:
        return None
    try:
        print_jobs.poll_jobs(current_shop(), system)
    except CupsFault:
        return None
    return system


def recent_print_jobs() -> tuple[PrintJob, ...]:
    """The recent jobs with their current state."""
    cups_with_updates()
    return print_jobs.latest(current_shop())
