"""A client for CUPS by IPP over its socket: list printers, send a job, read its state.

Every job states its media and `print-scaling=none`: without them CUPS scales it to the printer's usual paper silently.
"""

from __future__ import annotations

import getpass
import http.client
import os
import socket
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from enum import IntEnum
from fractions import Fraction
from urllib.parse import quote

from inventory.core.errors import UserError
from inventory.printers import ipp, media
from inventory.printers.ipp import Attribute, Group, IppResponse, Value, ValueTag
from inventory.printers.reasons import describe_reasons
from inventory.storage.records import PrintState

# Where Debian and others, and macOS, have it listen; the files of CUPS's own packages say so.
SOCKETS = ("/run/cups/cups.sock", "/var/run/cups/cups.sock", "/private/var/run/cupsd")
CUPS_PORT = 631
TIMEOUT = 6.0
"""Seconds to wait for an answer. common practice, no source"""


class Operation(IntEnum):
    """Operations by number: RFC 8011, 5.4.15; CUPS-Get-Printers from "CUPS Implementation of IPP"."""

    PRINT_JOB = 0x0002
    CANCEL_JOB = 0x0008
    GET_JOB_ATTRIBUTES = 0x0009
    GET_PRINTER_ATTRIBUTES = 0x000B
    CUPS_GET_PRINTERS = 0x4002


NOT_FOUND = 0x0406
"""client-error-not-found (RFC 8011, appendix B). CUPS says so too where there are no printers at all."""

# RFC 8011, 5.3.7: the states of a job by number.
_STATES = {
    3: PrintState.QUEUED,  # pending
    4: PrintState.QUEUED,  # pending-held
    5: PrintState.PRINTING,  # processing
    6: PrintState.PRINTING,  # processing-stopped
    7: PrintState.FAILED,  # canceled
    8: PrintState.FAILED,  # aborted
    9: PrintState.PRINTED,  # completed
}
_STOPPED = 5
"""RFC 8011, 5.4.11: a printer that is stopped."""

_PRINTER_ATTRIBUTES = (
    "printer-name", "printer-info", "printer-location", "printer-state", "printer-state-reasons",
    "printer-state-message", "printer-is-accepting-jobs", "media-supported",
)  # fmt: skip
_JOB_ATTRIBUTES = ("job-id", "job-state", "job-state-reasons", "job-printer-state-message", "job-printer-uri")


class CupsFault(UserError):
    """CUPS can't be reached, or refuses."""


@dataclass(frozen=True)
class Printer:
    """A printer of CUPS. `stopped_reason` says in words why it is stopped; empty where it is ready."""

    name: str
    shown: str
    stopped_reason: str
    accepts: bool
    papers: tuple[str, ...]

    def paper_name(self, width: Fraction, height: Fraction) -> str | None:
        """The name of a paper of this size in mm, None where this printer has none."""
        return media.media_name(width, height, self.papers)


@dataclass(frozen=True)
class JobStatus:
    """The state of a job at its printer; `reason` is a sentence, or empty."""

    number: int
    state: PrintState
    reason: str


class Cups:
    """CUPS at a socket's path, or at `host:port`."""

    def __init__(self, where: str, timeout: float = TIMEOUT) -> None:
        self.where = where
        self._timeout = timeout

    def printers(self) -> tuple[Printer, ...]:
        """All printers, by name. Raises CupsFault."""
        answer = self._ask(Operation.CUPS_GET_PRINTERS, "/", _requested_attributes(_PRINTER_ATTRIBUTES))
        if answer.status == NOT_FOUND:
            return ()
        return tuple(sorted((_printer(each) for each in answer.each(Group.PRINTER)), key=lambda each: each.name))

    def send(self, printer: str, pdf: bytes, title: str, paper: str) -> JobStatus:
        """Sends a PDF, one-sided, on this paper, at its own size. Raises CupsFault."""
        job = (
            Attribute(ValueTag.KEYWORD, "media", (paper,)),
            Attribute(ValueTag.KEYWORD, "print-scaling", ("none",)),
            Attribute(ValueTag.KEYWORD, "sides", ("one-sided",)),
        )
        operation_attributes = (
            _printer_uri(printer),
            _requesting_user(),
            Attribute(ValueTag.NAME, "job-name", (title,)),
            Attribute(ValueTag.MEDIA_TYPE, "document-format", ("application/pdf",)),
        )
        answer = self._ask(Operation.PRINT_JOB, f"/printers/{quote(printer)}", operation_attributes, job, pdf)
        if answer.status == NOT_FOUND:
            raise CupsFault(f'CUPS knows no printer "{printer}" any more. Choose another one.')
        if not answer.succeeded or not answer.each(Group.JOB):
            raise CupsFault(
                f'The printer "{printer}" did not take the job: {_status_text(answer)}. '
                "Choose another printer, or open the PDF and print that."
            )
        return self._job_status(answer, printer)

    def job(self, number: int, printer: str) -> JobStatus:
        """The state of a job. Raises CupsFault where CUPS can't be reached."""
        operation_attributes = (
            Attribute(ValueTag.URI, "job-uri", (f"ipp://localhost/jobs/{number}",)),
            _requesting_user(),
            *_requested_attributes(_JOB_ATTRIBUTES),
        )
        answer = self._ask(Operation.GET_JOB_ATTRIBUTES, f"/jobs/{number}", operation_attributes)
        if not answer.succeeded and answer.status != NOT_FOUND:
            # A busy CUPS says nothing about the job: its labels may still be printed.
            raise CupsFault(f"CUPS does not tell how the job stands: {_status_text(answer)}. Look at the printer.")
        # A shop restored on another machine finds other jobs under the same numbers.
        theirs = [each for each in answer.each(Group.JOB) if _is_at_printer(each, printer)]
        if answer.status == NOT_FOUND or not theirs:
            return JobStatus(
                number, PrintState.FAILED, "CUPS knows this job no more. Look whether the labels came out."
            )
        return self._job_status(answer, printer)

    def cancel(self, number: int) -> None:
        """Cancels a job. Raises CupsFault where CUPS does not let this user, or the job has ended."""
        operation_attributes = (
            Attribute(ValueTag.URI, "job-uri", (f"ipp://localhost/jobs/{number}",)),
            _requesting_user(),
        )
        answer = self._ask(Operation.CANCEL_JOB, f"/jobs/{number}", operation_attributes)
        if not answer.succeeded:
            raise CupsFault(f"CUPS did not cancel the job: {_status_text(answer)}. Cancel it at the printer.")

    def _job_status(self, answer: IppResponse, printer: str) -> JobStatus:
        job = answer.each(Group.JOB)[0]
        reasons = _texts(job, "job-state-reasons")
        state = _STATES.get(_number(job, "job-state"), PrintState.QUEUED)
        if state is PrintState.PRINTED and "job-completed-with-errors" in reasons:
            state = PrintState.FAILED
        said = ""
        if state is PrintState.FAILED:
            said = describe_reasons(reasons, _text(job, "job-printer-state-message"))
        elif state is not PrintState.PRINTED:
            said = self._stopped_reason(printer) or describe_reasons(reasons)
        return JobStatus(_number(job, "job-id"), state, said)

    def _stopped_reason(self, printer: str) -> str:
        """Why the printer of a waiting job doesn't print; empty where it would."""
        operation_attributes = (_printer_uri(printer), _requesting_user(), *_requested_attributes(_PRINTER_ATTRIBUTES))
        answer = self._ask(Operation.GET_PRINTER_ATTRIBUTES, f"/printers/{quote(printer)}", operation_attributes)
        return "".join(_printer(each).stopped_reason for each in answer.each(Group.PRINTER)[:1])

    def _ask(
        self,
        operation: Operation,
        path: str,
        operation_attributes: Sequence[Attribute],
        job: Sequence[Attribute] = (),
        document: bytes = b"",
    ) -> IppResponse:
        head = (
            Attribute(ValueTag.CHARSET, "attributes-charset", ("utf-8",)),
            Attribute(ValueTag.LANGUAGE, "attributes-natural-language", ("en",)),
        )
        groups = [(Group.OPERATION, (*head, *operation_attributes))] + ([(Group.JOB, job)] if job else [])
        sent = ipp.request(operation, 1, groups, document)
        connection = _Connection(self.where, self._timeout)
        try:
            connection.request("POST", path, sent, {"Content-Type": "application/ipp", "Host": "localhost"})
            response = connection.getresponse()
            received = response.read()
        except TimeoutError:
            raise CupsFault(
                f"CUPS gave no answer for {self._timeout:g} seconds. Look after it, or open the PDF and print that."
            ) from None
        except (OSError, http.client.HTTPException) as error:
            raise CupsFault(
                f"CUPS can't be reached at {self.where} ({str(error) or type(error).__name__}). "
                "Start it, or open the PDF and print that."
            ) from None
        finally:
            connection.close()
        if response.status != http.client.OK:
            raise CupsFault(
                f"CUPS refused to be asked by this user (it answered {response.status}). Give the user that runs "
                "Rackful the right to print, or open the PDF and print that."
            )
        try:
            return ipp.answer(received)
        except ipp.InvalidIpp as fault:
            raise CupsFault(str(fault)) from None


def find_cups(environment: Mapping[str, str] = os.environ) -> Cups | None:
    """The CUPS of this machine, or the one that CUPS_SERVER names; None where there is none."""
    named = environment.get("CUPS_SERVER", "").partition("/version=")[0]
    for where in (named,) if named else SOCKETS:
        connection = _Connection(where, TIMEOUT)
        try:
            connection.connect()
        except OSError:
            continue
        finally:
            connection.close()
        return Cups(where)
    return None


class _Connection(http.client.HTTPConnection):
    """HTTP over a socket in the file system, or to a host."""

    def __init__(self, where: str, timeout: float) -> None:
        self._path = where if where.startswith("/") else ""
        host, port = _host_and_port(where)
        super().__init__(host, port, timeout=timeout)

    def connect(self) -> None:
        if not self._path:
            super().connect()
            return
        if not hasattr(socket, "AF_UNIX"):
            raise OSError("this system has no such sockets")
        self.sock = socket.socket(socket.AF_UNIX, socket.SOCK_STREAM)
        self.sock.settimeout(self.timeout)
        self.sock.connect(self._path)


def _host_and_port(where: str) -> tuple[str, int]:
    """The parts of `host:port`, each of which may be missing; an IPv6 address before a port stands in brackets.

    >>> _host_and_port("[::1]:631"), _host_and_port("desk:6310"), _host_and_port("fe80::1")
    (('::1', 631), ('desk', 6310), ('fe80::1', 631))
    """
    bracketed, bracket, after = where.removeprefix("[").partition("]")
    if where.startswith("[") and bracket:
        host, port = bracketed, after.removeprefix(":")
    elif where.count(":") > 1:
        host, port = where, ""
    else:
        host, _, port = where.partition(":")
    return host or "localhost", int(port) if port.isascii() and port.isdigit() else CUPS_PORT


def _requested_attributes(names: Sequence[str]) -> tuple[Attribute, ...]:
    return (Attribute(ValueTag.KEYWORD, "requested-attributes", tuple(names)),)


def _printer_uri(printer: str) -> Attribute:
    return Attribute(ValueTag.URI, "printer-uri", (f"ipp://localhost/printers/{quote(printer)}",))


def _requesting_user() -> Attribute:
    try:
        user = getpass.getuser()
    except (OSError, KeyError):  # a user that the system has no name for
        user = "rackful"
    return Attribute(ValueTag.NAME, "requesting-user-name", (user,))


def _printer(attributes: Mapping[str, tuple[Value, ...]]) -> Printer:
    name = _text(attributes, "printer-name")
    shown = " · ".join(_text(attributes, each) for each in ("printer-info", "printer-location"))
    stopped = _number(attributes, "printer-state") == _STOPPED
    reasons = _texts(attributes, "printer-state-reasons")
    said = describe_reasons(reasons, _text(attributes, "printer-state-message") if stopped else "")
    accepts = attributes.get("printer-is-accepting-jobs", (True,)) != (False,)
    if not accepts:
        said = said or "It takes no jobs at present."
    elif stopped:
        said = said or "It is stopped."
    return Printer(name, shown.strip(" ·") or name, said, accepts, _texts(attributes, "media-supported"))


def _text(attributes: Mapping[str, tuple[Value, ...]], name: str) -> str:
    return " ".join(str(value) for value in attributes.get(name, ())[:1])


def _texts(attributes: Mapping[str, tuple[Value, ...]], name: str) -> tuple[str, ...]:
    return tuple(str(value) for value in attributes.get(name, ()))


def _number(attributes: Mapping[str, tuple[Value, ...]], name: str) -> int:
    found = attributes.get(name, (0,))[0]
    return found if isinstance(found, int) else 0


def _is_at_printer(job: Mapping[str, tuple[Value, ...]], printer: str) -> bool:
    where = _text(job, "job-printer-uri")
    return not where or where.rpartition("/")[2] == quote(printer)


def _status_text(answer: IppResponse) -> str:
    """The message of CUPS for a refused request; the status number where there is none."""
    said = " ".join(_text(each, "status-message") for each in answer.each(Group.OPERATION))
    return said.strip().rstrip(".") or f"status {answer.status:#06x}"
