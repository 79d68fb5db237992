"""Reading the fields of a form, and answering one that can't be read: status 422, everything as it was typed."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass, field
from enum import Enum
from typing import Any, TypeVar

from flask import render_template, request

from inventory.core.errors import UserError
from inventory.core.lengths import Length, Unit, read_length
from inventory.core.whole_numbers import LARGEST, read_integer
from inventory.web.request_context import current_settings

T = TypeVar("T")
EnumT = TypeVar("EnumT", bound=Enum)


class FormError(UserError):
    """A form with fields that can't be read; `errors` has a sentence for each, by the name of the field."""

    def __init__(self, errors: Mapping[str, str]) -> None:
        super().__init__(next(iter(errors.values())))
        self.errors = dict(errors)


@dataclass
class Form:
    """The fields of a form as typed, and in `errors` a sentence for each that can't be read.

    A reading method returns a value even where it adds a sentence, so that one pass finds everything that is wrong.
    `unit` is that of a bare number.
    """

    typed: Mapping[str, str]
    unit: Unit
    errors: dict[str, str] = field(default_factory=dict)

    def text(self, name: str) -> str:
        """What was typed into a field, without the spaces around it."""
        return self.typed.get(name, "").strip()

    def reject(self, name: str, sentence: str) -> None:
        """Adds a sentence, except where the field has one."""
        self.errors.setdefault(name, sentence)

    def read(self, name: str, reader: Callable[[str], T], failed: T) -> T:
        """A field as `reader` reads it; `failed` with the sentence of its UserError."""
        try:
            return reader(self.text(name))
        except UserError as error:
            self.reject(name, str(error))
            return failed

    def length(self, name: str, empty: Length | None = None) -> Length:
        """A length, 0 where it can't be read; `empty` for an empty field, where that is allowed."""
        if empty is not None and not self.text(name):
            return empty
        return self.read(name, lambda text: read_length(text, self.unit), Length(0))

    def integer(self, name: str, sentence: str, least: int = 0, most: int = LARGEST, empty: int | None = None) -> int:
        """A whole number, `least` where it can't be read; `empty` for an empty field, where that is allowed.

        `sentence` has `{}` where what was typed belongs.
        """
        if empty is not None and not self.text(name):
            return empty
        number = read_integer(self.text(name), least, most)
        if number is None:
            self.reject(name, sentence.replace("{}", self.text(name)[:20]))
            return least
        return number

    def choice(self, name: str, choices: Iterable[EnumT], sentence: str, empty: EnumT | None = None) -> EnumT:
        """The choice whose value was sent, the first one where none was; `empty` for an empty field, where allowed.

        `sentence` has `{}` where what was typed belongs.
        """
        offered = {str(each.value): each for each in choices}
        if empty is not None and not self.text(name):
            return empty
        if self.text(name) not in offered:
            self.reject(name, sentence.replace("{}", self.text(name)[:20]))
            return next(iter(offered.values()))
        return offered[self.text(name)]

    def check(self) -> None:
        """Raises FormError where a field could not be read."""
        if self.errors:
            raise FormError(self.errors)


def posted_form() -> Form:
    """The form that this request sends."""
    return Form(request.form, current_settings().unit)


def posted_version() -> int:
    """The version of what the page showed; 0, which nothing has, where it is no number."""
    return read_integer(request.form.get("version", "")) or 0


def errors_by_field(error: UserError, field: str = "") -> dict[str, str]:
    """The sentence of an error under the name of the field it belongs to.

    Errors that know which value is wrong say so in `what`; `field` is the name
    where this one doesn't. Under an empty name the sentence stands above the form.
    """
    return {str(getattr(error, "what", "") or field): str(error)}


def render_rejected(
    template: str, errors: Mapping[str, str], typed: Mapping[str, str], *, status: int = 422, **context: Any
) -> tuple[str, int]:
    """The page of the form again."""
    return render_template(template, errors=errors, typed=typed, **context), status
