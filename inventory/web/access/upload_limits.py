"""What a request brings is kept on the way in only where who sends it may enter.

waitress puts a body into a temporary file before the app is asked. From the network
anybody could fill the disk so, a few hundred MB at a time. Here the guard looks at the
headers first: of a stranger's body nothing is kept beyond what a sign-in may hold. It is
read to its end all the same, so that a browser that is signed out gets its sentence.
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
    """A body that arrives and is not kept."""

    def append(self, chunk: bytes) -> None:
        pass

    def getfile(self) -> BytesIO:
        return BytesIO()

    def close(self) -> None:
        pass

    def __len__(self) -> int:
        return 0


def limit_anonymous_uploads(server: Any, app: Flask) -> None:
    """Has a server of waitress ask the guards of its app before it keeps a body."""

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
