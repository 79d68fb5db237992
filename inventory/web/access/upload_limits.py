"""Keeps the body of a request only where its sender has access.

waitress writes a body into a temporary file before it calls the app, so anybody in the
network could fill the disk, a few hundred MB at a time. Here access is checked by the
headers first, and the body of an anonymous request is dropped beyond what a sign-in needs.
It is still read to its end, so that a browser that is signed out gets its error page.
"""

from __future__ import annotations

from io import BytesIO
from typing import Any

from flask import Flask
from waitress.channel import HTTPChannel
from waitress.parser import HTTPRequestParser
from werkzeug.test import create_environ

from inventory.web.access import access_control

MAX_ANONYMOUS_BODY = 64_000


class _DiscardedBody:
    """A request body that is read and dropped."""

    def append(self, chunk: bytes) -> None:
        pass

    def getfile(self) -> BytesIO:
        return BytesIO()

    def close(self) -> None:
        pass

    def __len__(self) -> int:
        return 0


def limit_anonymous_uploads(server: Any, app: Flask) -> None:
    """Makes a waitress server check access before it keeps a request body."""

    class Parser(HTTPRequestParser):  # type: ignore[misc]
        def parse_header(self, header_plus: bytes) -> None:
            super().parse_header(header_plus)
            if (self.chunked or self.content_length > MAX_ANONYMOUS_BODY) and not _has_access(app, self.headers):
                self.body_rcv.buf = _DiscardedBody()

    class Channel(HTTPChannel):  # type: ignore[misc]
        parser_class = Parser

    server.channel_class = Channel


def _has_access(app: Flask, headers: dict[str, str]) -> bool:
    asked = {f"HTTP_{name}": value for name, value in headers.items() if name not in ("CONTENT_TYPE", "CONTENT_LENGTH")}
    with app.request_context(create_environ(environ_overrides=asked)):
        return access_control.has_access()
