"""Encoding of Internet Printing Protocol requests and decoding of responses (RFC 8010)."""

from __future__ import annotations

import struct
from collections.abc import Sequence
from dataclasses import dataclass, field
from enum import IntEnum

from inventory.core.errors import UserError

VERSION = b"\x02\x00"
"""IPP/2.0."""


class InvalidIpp(UserError):
    """A response that is truncated or not IPP."""


class Group(IntEnum):
    """The delimiter before a group of attributes (RFC 8010, 3.5.1)."""

    OPERATION = 0x01
    JOB = 0x02
    END = 0x03
    PRINTER = 0x04


class ValueTag(IntEnum):
    """The type of a value (RFC 8010, 3.5.2), as far as it is used here."""

    INTEGER = 0x21
    BOOLEAN = 0x22
    ENUM = 0x23
    COLLECTION = 0x34
    TEXT_WITH_LANGUAGE = 0x35
    NAME_WITH_LANGUAGE = 0x36
    END_COLLECTION = 0x37
    TEXT = 0x41
    NAME = 0x42
    KEYWORD = 0x44
    URI = 0x45
    CHARSET = 0x47
    LANGUAGE = 0x48
    MEDIA_TYPE = 0x49


Value = str | int | bool

_TEXTS = range(0x40, 0x60)
_LAST_DELIMITER = 0x0F


@dataclass(frozen=True)
class Attribute:
    """A name with one value or several of one kind."""

    kind: ValueTag
    name: str
    values: tuple[Value, ...]


@dataclass(frozen=True)
class IppResponse:
    """A response: a status, and attributes group by group in order."""

    status: int
    groups: tuple[tuple[int, dict[str, tuple[Value, ...]]], ...] = field(default=())

    @property
    def succeeded(self) -> bool:
        """Whether the status is one of the successful ones (RFC 8011, appendix B)."""
        return self.status < 0x0100

    def each(self, group: Group) -> tuple[dict[str, tuple[Value, ...]], ...]:
        """The attributes of every group of this sort."""
        return tuple(attributes for delimiter, attributes in self.groups if delimiter == group)


def request(
    operation: int, number: int, groups: Sequence[tuple[Group, Sequence[Attribute]]], document: bytes = b""
) -> bytes:
    """The bytes of a request. The caller gives the operation group, with charset and language first."""
    written = [VERSION, struct.pack(">HI", operation, number)]
    for group, attributes in groups:
        written.append(bytes([group]))
        written += [_attribute(each) for each in attributes]
    return b"".join([*written, bytes([Group.END]), document])


def _attribute(attribute: Attribute) -> bytes:
    name = attribute.name.encode("ascii")
    written = b""
    for value in attribute.values:
        content = _content(attribute.kind, value)
        written += struct.pack(">BH", attribute.kind, len(name)) + name + struct.pack(">H", len(content)) + content
        name = b""  # further values of the same attribute go without its name
    return written


def _content(kind: ValueTag, value: Value) -> bytes:
    if kind is ValueTag.BOOLEAN:
        return b"\x01" if value else b"\x00"
    if kind in (ValueTag.INTEGER, ValueTag.ENUM):
        return struct.pack(">i", value)
    return str(value).encode("utf-8")


def answer(received: bytes) -> IppResponse:
    """Decodes a response; collections, ranges and dates in it are skipped. Raises InvalidIpp."""
    reader = _Reader(received)
    reader.take(2)
    status = reader.number(2)
    reader.take(4)
    groups: list[tuple[int, dict[str, tuple[Value, ...]]]] = []
    name, depth = "", 0
    while (tag := reader.number(1)) != Group.END:
        if tag <= _LAST_DELIMITER:
            groups.append((tag, {}))
            continue
        given = reader.take(reader.number(2)).decode("utf-8", "replace")
        content = reader.take(reader.number(2))
        if tag == ValueTag.COLLECTION:
            depth += 1
        elif tag == ValueTag.END_COLLECTION:
            depth -= 1
        elif depth == 0 and groups:
            name = given or name
            groups[-1][1][name] = (*groups[-1][1].get(name, ()), *_value(tag, content))
    return IppResponse(status, tuple(groups))


def _value(kind: int, content: bytes) -> tuple[Value, ...]:
    """The value as a tuple of one; empty for what is passed over."""
    if kind in (ValueTag.INTEGER, ValueTag.ENUM) and len(content) == 4:
        return tuple(struct.unpack(">i", content))
    if kind == ValueTag.BOOLEAN and len(content) == 1:
        return (content != b"\x00",)
    if kind in (ValueTag.TEXT_WITH_LANGUAGE, ValueTag.NAME_WITH_LANGUAGE):
        inner = _Reader(content)
        inner.take(inner.number(2))
        return (inner.take(inner.number(2)).decode("utf-8", "replace"),)
    if kind in _TEXTS:
        return (content.decode("utf-8", "replace"),)
    return ()


class _Reader:
    """Bytes, read from the front. Raises InvalidIpp where they end too soon."""

    def __init__(self, content: bytes) -> None:
        self._content = content
        self._at = 0

    def take(self, count: int) -> bytes:
        end = self._at + count
        if end > len(self._content):
            raise InvalidIpp("The printing system's answer is cut off. Try again; if it stays so, restart CUPS.")
        taken = self._content[self._at : end]
        self._at = end
        return taken

    def number(self, count: int) -> int:
        return int.from_bytes(self.take(count), "big")
