"""Which printers a page can offer for a stock, and how the jobs stand that were sent to one.

What a job does to the queue is `inventory.services.labels.print_jobs`'.
"""

from __future__ import annotations

from dataclasses import dataclass

from inventory.printers.cups import Cups, CupsFault, find_cups
from inventory.services.labels import print_jobs
from inventory.storage.records import PrintJob
from inventory.web.request_context import current_shop
from labels import Stock


@dataclass(frozen=True)
class PrinterOption:
    """A printer to choose; `remark` says why it can't be, or why it stands still."""

    name: str
    shown: str
    remark: str
    can_print: bool


@dataclass(frozen=True)
class PrinterChoice:
    """What a page offers. `there` is False on a machine without CUPS; `fault` is why CUPS could not be asked."""

    there: bool
    printers: tuple[PrinterOption, ...] = ()
    chosen: str = ""
    fault: str = ""

    @property
    def can_print(self) -> bool:
        return any(each.can_print for each in self.printers)


def printers_for(stock: Stock) -> PrinterChoice:
    """The printers of this machine for this stock, the one it was last printed on chosen."""
    system = find_cups()
    if system is None:
        return PrinterChoice(False)
    try:
        known = system.printers()
    except CupsFault as fault:
        return PrinterChoice(True, fault=str(fault))
    lines = []
    for printer in known:
        fits = printer.paper_name(stock.page.width, stock.page.height) is not None
        remark = printer.stopped_reason if fits else "It has no paper of this size."
        lines.append(PrinterOption(printer.name, printer.shown, remark, fits and printer.accepts))
    able = [line.name for line in lines if line.can_print]
    last = print_jobs.last_printer(current_shop(), stock.key)
    return PrinterChoice(True, tuple(lines), last if last in able else next(iter(able), ""))


def cups_with_updates() -> Cups | None:
    """CUPS, asked how the jobs under way stand; None where it isn't there or doesn't answer."""
    system = find_cups()
    if system is None:
        return None
    try:
        print_jobs.poll_jobs(current_shop(), system)
    except CupsFault:
        return None
    return system


def recent_print_jobs() -> tuple[PrintJob, ...]:
    """The jobs to tell of, as they stand now."""
    cups_with_updates()
    return print_jobs.latest(current_shop())
