"""A form is read in one pass: every field that can't be read has its sentence, and a value all the same."""

import pytest

from inventory.core.errors import UserError
from inventory.core.lengths import Unit, inches
from inventory.core.offcuts import Face, InvalidOffcut, read_face
from inventory.web.forms import Form, FormError, errors_by_field

MISSING = "The size is missing. Type 23 1/2, 23.5 in or 597 mm."


def form(**typed: str) -> Form:
    return Form(typed, Unit.INCH)


def test_lengths_are_read_in_the_unit_of_the_form() -> None:
    asked = form(length=" 23 1/2 ", width="x", thickness="")
    assert asked.length("length") == inches("23 1/2")
    assert asked.length("thickness", empty=inches("1")) == inches("1")
    assert (asked.length("width"), asked.length("thickness"), asked.length("depth")) == (0, 0, 0)
    assert asked.errors == {
        "width": '"x" is not a length. Type 23 1/2, 23.5 in or 597 mm.',
        "thickness": MISSING,
        "depth": MISSING,
    }


def test_whole_numbers_have_bounds_and_the_sentence_quotes_what_was_typed() -> None:
    asked = form(rows="41", columns="3", copies="", count="a" * 30)
    assert asked.integer("columns", "", 1, 12) == 3
    assert asked.integer("copies", "", empty=1) == 1
    assert asked.integer("rows", '"{}" is no number. Type 1 to 40.', 1, 40) == 1
    assert asked.integer("count", '"{}" is no number.') == 0
    assert asked.errors == {"rows": '"41" is no number. Type 1 to 40.', "count": f'"{"a" * 20}" is no number.'}


def test_a_choice_is_one_of_those_offered() -> None:
    asked = form(face="planed", other="{}", third="")
    assert asked.choice("face", Face, "") is Face.PLANED
    assert asked.choice("third", Face, "", empty=Face.PLANED) is Face.PLANED
    assert asked.choice("other", Face, 'No face is "{}".') is Face.ROUGH
    assert asked.errors == {"other": 'No face is "{}".'}


def test_the_first_sentence_of_a_field_is_kept_and_the_first_field_is_the_message() -> None:
    asked = form(face="wet")
    asked.check()
    assert asked.read("face", read_face, Face.ROUGH) is Face.ROUGH
    first = asked.errors["face"]
    asked.reject("face", "Another one.")
    asked.reject("", "All of it.")
    with pytest.raises(FormError) as refused:
        asked.check()
    assert (str(refused.value), refused.value.errors) == (first, {"face": first, "": "All of it."})


def test_an_error_goes_beside_the_field_that_it_names() -> None:
    assert errors_by_field(InvalidOffcut("Too long.", "length")) == {"length": "Too long."}
    assert errors_by_field(UserError("No."), "name") == {"name": "No."}
    assert errors_by_field(UserError("No.")) == {"": "No."}
