"""What is made of answers that CUPS gives when it has trouble: none of them settles a job."""

from __future__ import annotations

import threading
from collections.abc import Iterator
from contextlib import contextmanager
from http.server import BaseHTTPRequestHandler, HTTPServer

import pytest

from inventory.printers import ipp
from inventory.printers.cups import Cups, CupsFault
from inventory.printers.ipp import Attribute, Group, ValueTag

BUSY = 0x0507
"""server-error-busy (RFC 8011, appendix B)."""


@contextmanager
def fake_cups(content: bytes) -> Iterator[Cups]:
    """A printing system that says the same whatever it is asked."""

    class Says(BaseHTTPRequestHandler):
        def do_POST(self) -> None:
            self.rfile.read(int(self.headers["Content-Length"]))
            self.send_response(200)
            self.send_header("Content-Length", str(len(content)))
            self.end_headers()
            self.wfile.write(content)

        def log_message(self, *_: object) -> None:
            pass

    with HTTPServer(("127.0.0.1", 0), Says) as server:
        serving = threading.Thread(target=server.serve_forever, kwargs={"poll_interval": 0.01})
        serving.start()
        try:
            yield Cups(f"127.0.0.1:{server.server_port}", timeout=60)
        finally:
            server.shutdown()
            serving.join()


def test_a_cups_that_is_busy_does_not_say_that_a_job_failed() -> None:
    said = Attribute(ValueTag.TEXT, "status-message", ("Too many requests.",))
    busy = ipp.request(BUSY, 1, [(Group.OPERATION, [said])])
    with fake_cups(busy) as cups, pytest.raises(CupsFault) as fault:
        cups.job(41, "desk")
    assert str(fault.value) == "CUPS does not tell how the job stands: Too many requests. Look at the printer."


def test_an_answer_that_is_cut_off_is_a_fault_of_cups_like_any_other() -> None:
    with fake_cups(b"\x02\x00\x00") as cups, pytest.raises(CupsFault) as fault:
        cups.printers()
    assert str(fault.value) == "The printing system's answer is cut off. Try again; if it stays so, restart CUPS."
