"""How a rejected form is answered: 422, every answer exactly as typed, a sentence beside what to fix."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from flask import render_template

from inventory.core.errors import UserError


def faults_of(error: UserError, field: str = "") -> dict[str, str]:
    """The sentence of an error under the name of the field it belongs to.

    Errors that know which value is wrong say so in `what`; `field` is the name
    where this one doesn't. Under an empty name the sentence stands above the form.
    """
    return {str(getattr(error, "what", "") or field): str(error)}


def render_rejected(
    template: str, errors: Mapping[str, str], typed: Mapping[str, str], **context: Any
) -> tuple[str, int]:
    """The page of the form again, with status 422."""
    return render_template(template, errors=errors, typed=typed, **context), 422
