"""Labels at a printer: wanted until it is done, out of sight meanwhile, back in the queue when it fails."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, field
from datetime import timedelta, timezone

import pytest

from inventory.core.codes import format_code
from inventory.printers.cups import CupsFault, JobStatus, Printer
from inventory.services.labels import label_content, print_jobs
from inventory.services.labels.print_jobs import CannotSend, NoSuchJob
from inventory.services.rack import editing, queries, retagging
from inventory.services.rack.editing import RemovalReason
from inventory.shop import Shop
from inventory.storage.records import EventKind, OffcutRecord, PrintJob, PrintState
from labels import Stock, find_stock
from tests.conftest import Clock
from tests.services.fills import tagged

SHEET, ROLL = find_stock("letter-3x10"), find_stock("roll-62x29")


@dataclass
class FakeSystem:
    """A printing system whose jobs stand as the test says."""

    known: tuple[Printer, ...] = (
        Printer("desk", "The desk", "", True, ("na_letter_8.5x11in",)),
        Printer("old", "The old one", "It is switched off or can't be reached.", False, ()),
    )
    sent: list[tuple[str, str, str]] = field(default_factory=list)
    stands: JobStatus = field(default_factory=lambda: JobStatus(41, PrintState.QUEUED, ""))
    cancelled: list[int] = field(default_factory=list)
    lets_cancel: bool = True
    while_sending: Callable[[], object] = lambda: None

    def printers(self) -> tuple[Printer, ...]:
        return self.known

    def send(self, printer: str, pdf: bytes, title: str, paper: str) -> JobStatus:
        self.sent.append((printer, title, paper))
        self.while_sending()
        return self.stands

    def job(self, number: int, printer: str) -> JobStatus:
        return self.stands

    def cancel(self, number: int) -> None:
        if not self.lets_cancel:
            raise CupsFault("CUPS did not cancel the job.")
        self.cancelled.append(number)


@pytest.fixture
def system() -> FakeSystem:
    return FakeSystem()


@pytest.fixture
def ash(shop: Shop) -> OffcutRecord:
    return tagged(shop, "ash 9x3x1")


@pytest.fixture
def oak(shop: Shop) -> OffcutRecord:
    return tagged(shop, "oak 9x3x1")


def queued(shop: Shop) -> list[str]:
    return [record.code for record in label_content.queue(shop)]


def send(shop: Shop, system: FakeSystem, *records: OffcutRecord, stock: Stock = SHEET) -> PrintJob:
    return print_jobs.send(shop, system, "desk", b"%PDF", stock, f"{len(records)} labels", records)


def test_labels_at_the_printer_are_wanted_still_but_offered_to_nobody_else(
    shop: Shop, system: FakeSystem, ash: OffcutRecord, oak: OffcutRecord
) -> None:
    job = send(shop, system, ash)
    assert system.sent == [("desk", "1 labels", "na_letter_8.5x11in")]
    assert (job.state, job.number, job.labels, job.ended_at) == (PrintState.QUEUED, 41, (ash.code,), None)
    assert queued(shop) == [oak.code]
    assert queries.piece(shop, ash.code).record.label_wanted
    assert [each.id for each in print_jobs.latest(shop)] == [job.id]


def test_a_job_that_is_done_takes_its_labels_out_of_the_queue(
    shop: Shop, system: FakeSystem, ash: OffcutRecord, oak: OffcutRecord
) -> None:
    job = send(shop, system, ash)
    system.stands = JobStatus(41, PrintState.PRINTING, "Its toner runs low.")
    print_jobs.poll_jobs(shop, system)
    now = print_jobs.job_of(shop, job.id)
    assert (now.state, now.reason, now.ended_at) == (PrintState.PRINTING, "Its toner runs low.", None)
    system.stands = JobStatus(41, PrintState.PRINTED, "")
    print_jobs.poll_jobs(shop, system)
    now = print_jobs.job_of(shop, job.id)
    assert (now.state, now.reason, now.ended_at) == (PrintState.PRINTED, "", shop.now())
    assert queued(shop) == [oak.code]
    assert not queries.piece(shop, ash.code).record.label_wanted
    assert queries.piece(shop, ash.code).history[0].kind is EventKind.LABEL_PRINTED


def test_a_job_that_failed_leaves_its_labels_where_they_stood_in_the_queue(
    shop: Shop, system: FakeSystem, ash: OffcutRecord, oak: OffcutRecord
) -> None:
    job = send(shop, system, ash)
    system.stands = JobStatus(41, PrintState.FAILED, "Paper is jammed in it.")
    print_jobs.poll_jobs(shop, system)
    assert queued(shop) == [ash.code, oak.code]
    assert print_jobs.job_of(shop, job.id).reason == "Paper is jammed in it."


def test_a_label_printed_again_goes_into_the_queue_when_its_job_fails(
    shop: Shop, system: FakeSystem, ash: OffcutRecord, oak: OffcutRecord
) -> None:
    label_content.mark_printed(shop, [ash.code, oak.code])
    editing.remove(shop, oak.code, queries.piece(shop, oak.code).record.version, RemovalReason.OTHER)
    gone, here = (queries.piece(shop, code).record for code in (oak.code, ash.code))
    send(shop, system, here, gone)
    assert queued(shop) == []
    system.stands = JobStatus(41, PrintState.FAILED, "")
    print_jobs.poll_jobs(shop, system)
    assert queued(shop) == [ash.code]


def test_what_was_settled_once_stays_so(shop: Shop, system: FakeSystem, ash: OffcutRecord) -> None:
    system.stands = JobStatus(41, PrintState.PRINTED, "")
    job = send(shop, system, ash)
    assert job.state is PrintState.PRINTED
    system.stands = JobStatus(41, PrintState.FAILED, "late")
    print_jobs.poll_jobs(shop, system)
    print_jobs.give_up(shop, job.id, system)
    assert print_jobs.job_of(shop, job.id) == job
    assert (queued(shop), system.cancelled) == ([], [])


def test_a_job_given_up_is_cancelled_and_its_labels_wait_again(
    shop: Shop, system: FakeSystem, ash: OffcutRecord
) -> None:
    first = print_jobs.give_up(shop, send(shop, system, ash).id, system)
    assert (first.state, first.reason, system.cancelled) == (PrintState.FAILED, "It was given up here.", [41])
    assert queued(shop) == [ash.code]
    system.lets_cancel = False
    second = print_jobs.give_up(shop, send(shop, system, ash).id, system)
    assert second.reason == "It was given up here, but the printer may still print it."
    third = print_jobs.give_up(shop, send(shop, system, ash).id, None)
    assert third.reason == "It was given up here, but the printer may still print it."
    system.lets_cancel = True
    system.while_sending = lambda: print_jobs.give_up(shop, print_jobs.latest(shop)[0].id, system)
    fourth = send(shop, system, ash)
    assert (fourth.number, fourth.reason, system.cancelled) == (41, third.reason, [41])
    assert queued(shop) == [ash.code]


def test_what_a_printer_can_t_do_is_reported_and_nothing_is_sent(
    shop: Shop, system: FakeSystem, ash: OffcutRecord
) -> None:
    text = []
    for printer, stock in (("attic", SHEET), ("old", SHEET), ("desk", ROLL)):
        with pytest.raises(CannotSend) as fault:
            print_jobs.send(shop, system, printer, b"%PDF", stock, "1 label", [ash])
        text.append(str(fault.value))
    assert text == [
        '"attic" is no printer that CUPS knows here. It knows: desk, old.',
        'The printer "old" takes no jobs now. It is switched off or can\'t be reached. Choose another one.',
        'The printer "desk" has no paper of 62 × 29 mm, so Roll, 62 × 29 mm would come out scaled. '
        "Choose another printer or stock, or add the size to the printer in CUPS.",
    ]
    assert (system.sent, queued(shop), print_jobs.latest(shop)) == ([], [ash.code], ())


def test_the_printer_that_a_stock_was_last_sent_to_is_remembered(
    shop: Shop, system: FakeSystem, ash: OffcutRecord
) -> None:
    assert print_jobs.last_printer(shop, SHEET.key) == ""
    send(shop, system, ash)
    assert (print_jobs.last_printer(shop, SHEET.key), print_jobs.last_printer(shop, ROLL.key)) == ("desk", "")


def test_jobs_of_yesterday_are_reported_of_only_while_they_are_under_way(
    shop: Shop, clock: Clock, system: FakeSystem, ash: OffcutRecord, oak: OffcutRecord
) -> None:
    waiting = send(shop, system, ash)
    system.stands = JobStatus(42, PrintState.FAILED, "")
    send(shop, system, oak)
    assert len(print_jobs.latest(shop)) == 2
    clock.add(days=1)
    assert [job.id for job in print_jobs.latest(shop)] == [waiting.id]


def test_a_job_of_this_night_is_reported_of_although_the_clock_was_set_back(
    shop: Shop, clock: Clock, system: FakeSystem, ash: OffcutRecord
) -> None:
    clock.moment = clock.moment.astimezone(timezone(timedelta(hours=-4)))
    system.stands = JobStatus(41, PrintState.PRINTED, "")
    job = send(shop, system, ash)
    clock.moment = (clock.moment + timedelta(hours=12)).astimezone(timezone(timedelta(hours=-3)))
    assert print_jobs.latest(shop) == (job,)
    clock.add(minutes=1)
    assert print_jobs.latest(shop) == ()


def test_two_devices_that_send_the_same_queue_at_once_print_it_once(
    shop: Shop, system: FakeSystem, ash: OffcutRecord, oak: OffcutRecord
) -> None:
    text = []

    def from_another_device() -> None:
        system.while_sending = lambda: None
        print_jobs.poll_jobs(shop, system)  # whose page is opened meanwhile settles nothing of it
        for records in ((ash, oak), (oak,)):
            with pytest.raises(CannotSend) as fault:
                send(shop, system, *records)
            text.append(str(fault.value))

    system.while_sending = from_another_device
    job = send(shop, system, ash, oak)
    assert (job.state, job.number, queued(shop), len(system.sent)) == (PrintState.QUEUED, 41, [], 1)
    system.stands = JobStatus(41, PrintState.PRINTED, "")
    print_jobs.poll_jobs(shop, system)
    with pytest.raises(CannotSend) as late:
        send(shop, system, ash, oak)
    ending = "at a printer already, or printed a moment ago. Nothing was sent. Look at the labels that wait."
    assert [*text, str(late.value)] == [
        f"These 2 labels are {ending}",
        f"The label of {format_code(oak.code)} is {ending}",
        f"These 2 labels are {ending}",
    ]
    assert len(system.sent) == 1


def test_labels_that_cups_does_not_take_wait_on_and_so_do_those_of_a_sending_that_was_broken_off(
    shop: Shop, clock: Clock, system: FakeSystem, ash: OffcutRecord
) -> None:
    def refuse() -> None:
        raise CupsFault("CUPS gave no answer.")

    def stop() -> None:
        raise KeyboardInterrupt

    system.while_sending = refuse
    with pytest.raises(CupsFault):
        send(shop, system, ash)
    assert (queued(shop), print_jobs.latest(shop)) == ([ash.code], ())
    system.while_sending = stop
    with pytest.raises(KeyboardInterrupt):
        send(shop, system, ash)
    assert queued(shop) == []
    clock.add(minutes=3)
    print_jobs.poll_jobs(shop, system)
    [job] = print_jobs.latest(shop)
    assert (job.state, job.reason) == (
        PrintState.FAILED,
        "Rackful was stopped while it sent the job. Look whether the labels came out.",
    )
    assert queued(shop) == [ash.code]


def test_a_job_that_was_never_sent_is_reported(shop: Shop) -> None:
    for number in (7, 0, 2**63, 10**30):
        with pytest.raises(NoSuchJob) as fault:
            print_jobs.job_of(shop, number)
        assert str(fault.value) == f"There is no print job {number} here. Look at the labels that wait."


def test_a_tag_replaced_while_its_label_is_at_the_printer_still_wants_the_new_label(
    shop: Shop, system: FakeSystem, ash: OffcutRecord, oak: OffcutRecord
) -> None:
    job = send(shop, system, ash, oak)
    new = retagging.replace_tag(shop, ash.code, ash.version)
    assert queued(shop) == [new.code]
    system.stands = JobStatus(41, PrintState.PRINTED, "")
    print_jobs.poll_jobs(shop, system)
    assert print_jobs.job_of(shop, job.id).labels == (oak.code,)
    assert queued(shop) == [new.code]
