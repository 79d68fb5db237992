"""What every app makes again and always the same, kept for the next app of this process."""

from __future__ import annotations

from collections.abc import Callable
from typing import ClassVar

from jinja2 import BytecodeCache
from jinja2.bccache import Bucket
from werkzeug.routing import Rule


class TemplateCache(BytecodeCache):
    """Templates as Python code. The library compares a template's source before it takes what is kept."""

    def __init__(self) -> None:
        self._known: dict[str, bytes] = {}

    def load_bytecode(self, bucket: Bucket) -> None:
        if bucket.key in self._known:
            bucket.bytecode_from_string(self._known[bucket.key])

    def dump_bytecode(self, bucket: Bucket) -> None:
        self._known[bucket.key] = bucket.bytecode_to_string()


class CachedRule(Rule):
    """An address of the pages, with the code that builds it from its parts."""

    _known: ClassVar[dict[tuple[object, ...], Callable[..., tuple[str, str]]]] = {}

    def _compile_builder(self, append_unknown: bool = True) -> Callable[..., tuple[str, str]]:
        key = (self.rule, self.subdomain, self.host, repr(self.defaults), append_unknown)
        if key not in self._known:
            self._known[key] = super()._compile_builder(append_unknown)
        return self._known[key]
