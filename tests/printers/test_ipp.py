"""IPP on the wire: the standard's own examples, and answers that are none."""

import struct

import pytest

from inventory.printers import ipp
from inventory.printers.ipp import Attribute, Group, InvalidIpp, ValueTag


def attribute(kind: int, name: str, value: bytes) -> bytes:
    return struct.pack(">BH", kind, len(name)) + name.encode() + struct.pack(">H", len(value)) + value


# RFC 8010, appendix A.1 and A.2 (from memory), but for the version, which is 2.0 here.
PRINT_JOB = (
    b"\x02\x00\x00\x02\x00\x00\x00\x01\x01"
    + attribute(0x47, "attributes-charset", b"utf-8")
    + attribute(0x48, "attributes-natural-language", b"en-us")
    + attribute(0x45, "printer-uri", b"ipp://printer.example.com/ipp/print/pinetree")
    + attribute(0x42, "job-name", b"foobar")
    + attribute(0x22, "ipp-attribute-fidelity", b"\x01")
    + b"\x02"
    + attribute(0x21, "copies", b"\x00\x00\x00\x14")
    + attribute(0x44, "sides", b"two-sided-long-edge")
    + b"\x03%PDF"
)
PRINTED = (
    b"\x02\x00\x00\x00\x00\x00\x00\x01\x01"
    + attribute(0x47, "attributes-charset", b"utf-8")
    + attribute(0x48, "attributes-natural-language", b"en-us")
    + attribute(0x41, "status-message", b"successful-ok")
    + b"\x02"
    + attribute(0x21, "job-id", b"\x00\x00\x00\x93")
    + attribute(0x45, "job-uri", b"ipp://printer.example.com/ipp/print/pinetree/147")
    + attribute(0x23, "job-state", b"\x00\x00\x00\x03")
    + b"\x03"
)


def test_a_job_is_written_as_the_standard_shows_it() -> None:
    operation = (
        Attribute(ValueTag.CHARSET, "attributes-charset", ("utf-8",)),
        Attribute(ValueTag.LANGUAGE, "attributes-natural-language", ("en-us",)),
        Attribute(ValueTag.URI, "printer-uri", ("ipp://printer.example.com/ipp/print/pinetree",)),
        Attribute(ValueTag.NAME, "job-name", ("foobar",)),
        Attribute(ValueTag.BOOLEAN, "ipp-attribute-fidelity", (True,)),
    )
    job = (
        Attribute(ValueTag.INTEGER, "copies", (20,)),
        Attribute(ValueTag.KEYWORD, "sides", ("two-sided-long-edge",)),
    )
    assert ipp.request(0x0002, 1, [(Group.OPERATION, operation), (Group.JOB, job)], b"%PDF") == PRINT_JOB


def test_an_answer_is_read_as_the_standard_shows_it() -> None:
    answer = ipp.answer(PRINTED)
    assert answer.succeeded
    assert answer.each(Group.JOB) == (
        {
            "job-id": (147,),
            "job-uri": ("ipp://printer.example.com/ipp/print/pinetree/147",),
            "job-state": (3,),
        },
    )


def test_further_values_go_without_the_name_and_are_read_so() -> None:
    written = ipp.request(0, 7, [(Group.JOB, [Attribute(ValueTag.KEYWORD, "requested-attributes", ("a", "bc"))])])
    assert written.endswith(attribute(0x44, "requested-attributes", b"a") + attribute(0x44, "", b"bc") + b"\x03")
    assert ipp.answer(written).each(Group.JOB) == ({"requested-attributes": ("a", "bc")},)


def test_collections_and_ranges_are_passed_over() -> None:
    inside = attribute(0x4A, "", b"x-dimension") + attribute(0x21, "", b"\x00\x00\x00\x05")
    content = (
        b"\x02\x00\x00\x00\x00\x00\x00\x01\x04"
        + attribute(0x34, "media-col-default", b"")
        + inside
        + attribute(0x37, "", b"")
        + attribute(0x33, "copies-supported", struct.pack(">ii", 1, 99))
        + attribute(0x36, "printer-info", b"\x00\x02en\x00\x04Desk")
        + attribute(0x10, "printer-location", b"")
        + b"\x03"
    )
    [printer] = ipp.answer(content).each(Group.PRINTER)
    assert printer["printer-info"] == ("Desk",)
    assert not any(printer.get(name) for name in ("media-col-default", "x-dimension", "copies-supported"))


@pytest.mark.parametrize("length", [0, 1, 7, 8, 12, 40, len(PRINTED) - 1])
def test_an_answer_that_is_cut_off_is_reported(length: int) -> None:
    with pytest.raises(InvalidIpp) as fault:
        ipp.answer(PRINTED[:length])
    assert str(fault.value) == ("The printing system's answer is cut off. Try again; if it stays so, restart CUPS.")
