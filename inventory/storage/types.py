"""Column types: what the program works with, converted to what SQLite stores in one place.

SQLite has no dates, no enumerations and no JSON type of its own; all of these are TEXT, in a form that sorts as its
value does.
"""

from __future__ import annotations

import json
from datetime import UTC, date, datetime
from enum import Enum
from fractions import Fraction
from functools import lru_cache
from typing import Any, TypeVar

from sqlalchemy import Dialect, Integer, Text
from sqlalchemy.types import TypeDecorator

from inventory.core.lengths import Length
from inventory.core.offcuts import Mark

Word = TypeVar("Word", bound=Enum)


class Moment(TypeDecorator[datetime]):
    """An aware datetime as ISO 8601 text in UTC with six decimals, so that texts sort as moments do.

    It is read back in the time zone of this machine.
    """

    impl = Text
    cache_ok = True

    def process_bind_param(self, value: datetime | None, dialect: Dialect) -> str | None:
        return None if value is None else utc_text(value)

    def process_result_value(self, value: str | None, dialect: Dialect) -> datetime | None:
        return None if value is None else datetime.fromisoformat(value).astimezone()


def utc_text(moment: datetime) -> str:
    """How a `Moment` is stored.

    >>> utc_text(datetime.fromisoformat("2030-01-31T10:00:00+02:00"))
    '2030-01-31T08:00:00.000000+00:00'
    """
    return moment.astimezone(UTC).isoformat(timespec="microseconds")


class Day(TypeDecorator[date]):
    """A date as ISO 8601 text."""

    impl = Text
    cache_ok = True

    def process_bind_param(self, value: date | None, dialect: Dialect) -> str | None:
        return None if value is None else value.isoformat()

    def process_result_value(self, value: str | None, dialect: Dialect) -> date | None:
        return None if value is None else date.fromisoformat(value)


class Nanometers(TypeDecorator[Length]):
    """A Length as INTEGER nanometers."""

    impl = Integer
    cache_ok = True

    def process_bind_param(self, value: Length | None, dialect: Dialect) -> int | None:
        return None if value is None else int(value)

    def process_result_value(self, value: int | None, dialect: Dialect) -> Length | None:
        return None if value is None else Length(value)


class EnumWord(TypeDecorator[Word]):
    """A member of an Enum as its value, a text."""

    impl = Text
    cache_ok = True

    def __init__(self, words: type[Word]) -> None:
        super().__init__()
        self.words = words

    def process_bind_param(self, value: Word | None, dialect: Dialect) -> str | None:
        return None if value is None else str(value.value)

    def process_result_value(self, value: str | None, dialect: Dialect) -> Word | None:
        return None if value is None else self.words(value)


class MarkWords(TypeDecorator[tuple[Mark, ...]]):
    """The marks of a piece as a JSON list of their words."""

    impl = Text
    cache_ok = True

    def process_bind_param(self, value: tuple[Mark, ...] | None, dialect: Dialect) -> str | None:
        return None if value is None else json.dumps([mark.value for mark in value])

    def process_result_value(self, value: str | None, dialect: Dialect) -> tuple[Mark, ...] | None:
        return None if value is None else _read_marks(value)


@lru_cache(maxsize=256)
def _read_marks(text: str) -> tuple[Mark, ...]:
    return tuple(Mark(word) for word in json.loads(text))


class Tenths(TypeDecorator[Fraction]):
    """A number with one decimal as an INTEGER of tenths."""

    impl = Integer
    cache_ok = True

    def process_bind_param(self, value: Fraction | None, dialect: Dialect) -> int | None:
        return None if value is None else int(value * 10)

    def process_result_value(self, value: int | None, dialect: Dialect) -> Fraction | None:
        return None if value is None else Fraction(value, 10)


class Json(TypeDecorator[Any]):
    """A JSON document as text."""

    impl = Text
    cache_ok = True

    def process_bind_param(self, value: Any, dialect: Dialect) -> str | None:
        return None if value is None else json.dumps(value, ensure_ascii=False)

    def process_result_value(self, value: str | None, dialect: Dialect) -> Any:
        return None if value is None else json.loads(value)
