"""The code of a tag: six characters of Crockford base 32 and one check character.

Source of alphabet and check: the base 32 encoding that D. Crockford published (no I, L, O, U; check = value mod 37,
with `*~$=U` for 32 to 36). Codes whose check would be one of those five are not given.
"""

from __future__ import annotations

import re
from collections.abc import Callable

from inventory.core.errors import UserError

ALPHABET = "0123456789ABCDEFGHJKMNPQRSTVWXYZ"
CODE_LETTERS = 6
CHECK_MODULUS = 37
_FORGIVEN = str.maketrans({"I": "1", "L": "1", "O": "0"})

_IN_PICTURE = re.compile(rf"(?:https?://[^\s?#]+/t/)?([{ALPHABET}]{{7}})", re.IGNORECASE | re.ASCII)


class InvalidCode(UserError):
    """Something typed or scanned that is not the code of a tag."""


def check_character(six: str) -> str | None:
    """The check character for six code characters, None where it would be a sign or U.

    >>> check_character("000001"), check_character("00000Z"), check_character("000010")
    ('1', 'Z', None)
    """
    value = 0
    for character in six:
        value = value * 32 + ALPHABET.index(character)
    rest = value % CHECK_MODULUS
    return ALPHABET[rest] if rest < len(ALPHABET) else None


def new_code(randbelow: Callable[[int], int]) -> str:
    """A new code of seven characters; `randbelow(n)` returns a random number in 0 … n−1, as `secrets.randbelow` does.

    It may have been given before; the caller checks that.
    """
    while True:
        six = "".join(ALPHABET[randbelow(32)] for _ in range(CODE_LETTERS))
        check = check_character(six)
        if check is not None:
            return six + check


def read_code(text: str) -> str:
    """The seven characters of a code as typed: case, spaces and hyphens don't matter, I and L are 1, O is 0.

    Raises InvalidCode with a sentence to show.

    >>> read_code("ooo-oo1 i")
    '0000011'
    """
    shown = text.strip()[:40]
    plain = _plain(text)
    if len(plain) != CODE_LETTERS + 1:
        raise InvalidCode(f'"{shown}" is no code: a tag has 7 letters and digits, such as 4G7-M2KM. Type all 7.')
    if any(character not in ALPHABET for character in plain):
        raise InvalidCode(f'"{shown}" is no code: it has a character that no tag has. Read the tag once more.')
    if check_character(plain[:-1]) != plain[-1]:
        raise InvalidCode(f'"{shown}" is not quite a code: the last character does not match. Read the tag once more.')
    return plain


def read_tag(text: str) -> str:
    """A tag as typed: a code in its usual form, a name of somebody else's rack as it stands.

    >>> read_tag("ooo-oo1 i"), read_tag(" shelf 3 ")
    ('0000011', 'shelf 3')
    """
    try:
        return read_code(text)
    except InvalidCode:
        return text.strip()


def tag_key(tag: str) -> str:
    """The form in which two spellings of a tag are the same: case, spaces, hyphens, I or L for 1, O for 0.

    >>> tag_key("shelf-3"), tag_key("SHELF 3")
    ('SHE1F3', 'SHE1F3')
    """
    return _plain(tag)


def one_typo_away(text: str) -> tuple[str, ...]:
    """The codes that a text may be meant for: a character wrong, missing or too many, or two of them exchanged.

    >>> "0000011" in one_typo_away("000-0021"), "0000011" in one_typo_away("000001"), one_typo_away("oak")
    (True, True, ())
    """
    plain = _plain(text)
    places = range(len(plain))
    match len(plain) - CODE_LETTERS - 1:
        case 0:
            candidates = [plain[:at] + letter + plain[at + 1 :] for at in places for letter in ALPHABET]
            candidates += [plain[:at] + plain[at + 1] + plain[at] + plain[at + 2 :] for at in places[:-1]]
        case -1:
            candidates = [plain[:at] + letter + plain[at:] for at in (*places, len(plain)) for letter in ALPHABET]
        case 1:
            candidates = [plain[:at] + plain[at + 1 :] for at in places]
        case _:
            candidates = []
    codes = (each for each in candidates if set(each) <= set(ALPHABET) and check_character(each[:-1]) == each[-1])
    return tuple(dict.fromkeys(codes))


def _plain(text: str) -> str:
    return re.sub(r"[\s\-‐‑–]", "", text.upper()).translate(_FORGIVEN)


def read_scanned(text: str) -> str:
    """The code in what a scanner read: a bare code or an address that ends in `/t/<code>`.

    Raises InvalidCode.

    >>> read_scanned("HTTP://RACK.EXAMPLE:8765/T/0000011")
    '0000011'
    """
    found = re.fullmatch(r"https?://[^\s?#]+/t/([^/?#]+)/?", text.strip(), re.IGNORECASE)
    return read_code(found.group(1) if found else text)


def code_in_picture(text: str) -> str | None:
    """The code in what a decoder saw in a photo, None where it is no tag's.

    A photo is not typed: nothing is forgiven. It is a whole code with the right
    check character, bare or at the end of an address, whatever the host.

    >>> code_in_picture("HTTP://OLD-NAME.EXAMPLE/T/0000011"), code_in_picture("000-0011"), code_in_picture("0000012")
    ('0000011', None, None)
    """
    found = _IN_PICTURE.fullmatch(text)
    code = found.group(1).upper() if found else ""
    return code if code and check_character(code[:-1]) == code[-1] else None


def format_code(code: str) -> str:
    """The code as printed in clear, in two groups.

    >>> format_code("0000011")
    '000-0011'
    """
    return f"{code[:3]}-{code[3:]}"


def format_tag(tag: str) -> str:
    """A tag's code in its two groups; a name of somebody else's rack as it stands.

    >>> format_tag("0000011"), format_tag("shelf 3")
    ('000-0011', 'shelf 3')
    """
    try:
        return format_code(read_code(tag))
    except InvalidCode:
        return tag


def example_code() -> str:
    """A code that is never on a tag by chance: its six characters are zeros."""
    return "0000000"
