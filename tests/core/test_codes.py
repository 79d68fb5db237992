"""The code of a tag against an independent calculation of its check character, and against slips of hand and eye."""

from __future__ import annotations

from random import Random

import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

from inventory.core.codes import (
    ALPHABET,
    InvalidCode,
    check_character,
    example_code,
    format_code,
    new_code,
    read_code,
    read_scanned,
)

# The base 32 of D. Crockford: ten digits and the letters without I, L, O and U; 37 check symbols.
SYMBOLS = "0123456789ABCDEFGHJKMNPQRSTVWXYZ*~$=U"

sixes = st.text(alphabet=SYMBOLS[:32], min_size=6, max_size=6)


def calculated(six: str) -> str:
    """The check symbol by long division of a string of bits, digit by digit."""
    bits = "".join(format(SYMBOLS.index(character), "05b") for character in six)
    rest = 0
    for bit in bits:
        rest = (rest + rest + (bit == "1")) % 37
    return SYMBOLS[rest]


codes = sixes.filter(lambda six: calculated(six) in ALPHABET).map(lambda six: six + calculated(six))


def test_the_alphabet_is_the_published_one() -> None:
    assert SYMBOLS[:32] == ALPHABET


# A worked example that goes around with this encoding (from memory): 1234 is 16J, its check symbol D.
def test_the_check_character_of_1234_is_d() -> None:
    assert check_character("00016J") == "D"


@given(sixes)
def test_the_check_character_is_the_number_modulo_37_and_none_for_the_five_that_are_not_given(six: str) -> None:
    expected = calculated(six)
    assert check_character(six) == (expected if expected in ALPHABET else None)


@given(codes)
def test_a_code_reads_back_from_its_shown_form_however_it_is_typed(code: str) -> None:
    assert format_code(code) == f"{code[:3]}-{code[3:]}"
    spaced = " ".join(code)
    unclear = code.replace("1", "I").replace("0", "O")
    handwritten = code.lower().replace("1", "l").replace("0", "o")
    for typed in (code, format_code(code), code.lower(), spaced, f"  {code}\n", unclear, handwritten, "‑".join(code)):
        assert read_code(typed) == code


@given(codes, st.integers(0, 6), st.sampled_from(ALPHABET))
def test_one_wrong_character_is_always_found(code: str, place: int, wrong: str) -> None:
    assume(code[place] != wrong)
    with pytest.raises(InvalidCode):
        read_code(code[:place] + wrong + code[place + 1 :])


def test_one_wrong_character_is_found_at_every_place_of_a_code_by_every_other() -> None:
    code = "7K2M9X" + calculated("7K2M9X")
    for place in range(7):
        for wrong in ALPHABET.replace(code[place], ""):
            with pytest.raises(InvalidCode):
                read_code(code[:place] + wrong + code[place + 1 :])


@given(codes, st.integers(0, 4))
def test_two_neighbours_that_changed_places_are_always_found(code: str, place: int) -> None:
    assume(code[place] != code[place + 1])
    with pytest.raises(InvalidCode):
        read_code(code[:place] + code[place + 1] + code[place] + code[place + 2 :])


@given(st.integers(0, 10**9))
def test_every_new_code_reads_back_and_needs_no_forgiving(seed: int) -> None:
    code = new_code(Random(seed).randrange)
    assert len(code) == 7
    assert set(code) <= set(ALPHABET)
    assert code[6] == calculated(code[:6])
    assert read_code(code) == code


def test_a_new_code_is_drawn_again_where_its_check_would_be_a_sign() -> None:
    drawn = iter([0, 0, 0, 0, 1, 0, 0, 0, 0, 0, 0, 1])  # 000010 is 32, whose check symbol is *
    assert new_code(lambda below: next(drawn)) == "0000011"


@pytest.mark.parametrize(
    ("typed", "message"),
    [
        ("", '"" is no code: a tag has 7 letters and digits, such as 4G7-M2KM. Type all 7.'),
        ("7K2M9X", '"7K2M9X" is no code: a tag has 7 letters and digits, such as 4G7-M2KM. Type all 7.'),
        ("7K2-M9X1Z", '"7K2-M9X1Z" is no code: a tag has 7 letters and digits, such as 4G7-M2KM. Type all 7.'),
        ("7K2M9X*", '"7K2M9X*" is no code: it has a character that no tag has. Read the tag once more.'),
        ("7K2M9UU", '"7K2M9UU" is no code: it has a character that no tag has. Read the tag once more.'),
        ("0000012", '"0000012" is not quite a code: the last character does not match. Read the tag once more.'),
    ],
)
def test_what_is_no_code_is_refused_with_a_sentence(typed: str, message: str) -> None:
    with pytest.raises(InvalidCode) as refused:
        read_code(typed)
    assert str(refused.value) == message


@given(st.text(max_size=60))
def test_whatever_is_typed_is_a_code_or_one_sentence(text: str) -> None:
    try:
        code = read_code(text)
    except InvalidCode as refused:
        assert str(refused).endswith(".")
    else:
        assert code[6] == calculated(code[:6])


@given(codes, st.sampled_from(["", "http://rack.example:8765/t/", "HTTP://RACK.EXAMPLE:8765/T/", "https://a.b/t/"]))
def test_a_scanner_reads_a_bare_code_or_the_address_that_ends_in_it(code: str, address: str) -> None:
    for text in (address + code, address + code.lower(), f" {address}{code} "):
        assert read_scanned(text) == code


@pytest.mark.parametrize("scanned", ["http://rack.example/other/0000011", "https://rack.example/t/", "WIFI:S:shop;;"])
def test_another_qr_is_refused(scanned: str) -> None:
    with pytest.raises(InvalidCode) as refused:
        read_scanned(scanned)
    assert "is no code" in str(refused.value)


def test_the_example_is_a_code() -> None:
    assert read_code(example_code()) == example_code()
