"""The filter of the rack: species, minimum sizes, condition, location, mark, batch, words, order, page."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, fields, replace
from enum import Enum
from typing import Any, TypeVar
from urllib.parse import urlencode

from inventory.core.errors import UserError
from inventory.core.lengths import InvalidLength, Length, Unit, exact_text, read_length
from inventory.core.offcuts import MAX_NAME_LENGTH, Mark
from inventory.core.whole_numbers import read_integer
from inventory.settings import MAX_MONTHS

EnumT = TypeVar("EnumT", bound=Enum)

LONGEST_SEARCH = 200
MOST_PAGES = 1_000_000


class InvalidFilter(UserError):
    """A filter that can't be read; `what` is the key in the address."""

    def __init__(self, message: str, what: str) -> None:
        super().__init__(message)
        self.what = what


class StatusFilter(Enum):
    """Which pieces are shown, by their state."""

    HERE = "here"
    FREE = "on the rack"
    ON_HOLD = "set aside"
    USED_UP = "used up"
    GONE = "let go"
    ALL = "all"


class Condition(Enum):
    """The condition of the faces: both planed, at least one rough, at least one finished."""

    PLANED = "planed"
    ROUGH = "rough"
    FINISHED = "finished"


class RackSort(Enum):
    """The order of the rack, first word first; ties go by code."""

    NEWEST = "newest"
    OLDEST = "oldest"
    LONGEST = "longest"
    WIDEST = "widest"
    THICKEST = "thickest"
    LARGEST = "largest"
    SPECIES = "species"
    LOCATION = "location"


class RackView(Enum):
    """How the rack is laid out on the page."""

    PICTURES = "pictures"
    TABLE = "table"


@dataclass(frozen=True)
class RackFilter:
    """What to show of the rack. Empty text and None filter nothing; sizes are minimums; pages count from 1.

    `location` includes its parts: "wall" finds "wall 2". `unseen` finds what was not
    checked for so many months.
    """

    species: str = ""
    length: Length | None = None
    width: Length | None = None
    thickness: Length | None = None
    condition: Condition | None = None
    status: StatusFilter = StatusFilter.HERE
    location: str = ""
    text: str = ""
    unseen: int | None = None
    mark: Mark | None = None
    batch: str = ""
    sort: RackSort = RackSort.NEWEST
    view: RackView = RackView.PICTURES
    page: int = 1

    @property
    def is_active(self) -> bool:
        """Whether it shows anything but all pieces in the shop."""
        return replace(self, sort=RackSort.NEWEST, view=RackView.PICTURES, page=1) != RackFilter()

    def query(self, **changes: Any) -> dict[str, str]:
        """This filter (with some fields changed) as query parameters; defaults are left out.

        A change of anything but `page` and `view` starts at page 1. Sizes carry their unit.

        >>> RackFilter(species="ash", page=3).query(sort=RackSort.LONGEST)
        {'species': 'ash', 'sort': 'longest'}
        """
        page = self.page if set(changes) <= {"page", "view"} else 1
        after = replace(self, **({"page": page} | changes))
        usual = RackFilter()
        return {
            each.name: _written(each.name, getattr(after, each.name))
            for each in fields(after)
            if getattr(after, each.name) != getattr(usual, each.name)
        }

    def address(self, **changes: Any) -> str:
        """As `query`, percent-encoded, with `?` before it; `?` alone where nothing is asked.

        >>> RackFilter(species="white oak").address(page=2)
        '?species=white+oak&page=2'
        """
        return "?" + urlencode(self.query(**changes))


SIZES = ("length", "width", "thickness")


def _written(name: str, value: str | int | Enum) -> str:
    if isinstance(value, Enum):
        return str(value.value)
    if name in SIZES and isinstance(value, int):
        # Inches where 64ths are exact, else mm: with the unit, so that the address does not depend on the setting.
        return exact_text(value, Unit.INCH)
    return str(value)


def read_filter(query: Mapping[str, str], unit: Unit) -> RackFilter:
    """The filter in an address or a form; keys are the fields of RackFilter. Unknown keys are not looked at.

    Raises InvalidFilter for a size, word or page that can't be read.
    """
    asked = {key: " ".join(value.split()) for key, value in query.items()}
    sizes = {name: _read_size(asked.get(name, ""), name, unit) for name in SIZES}
    longest_of = dict.fromkeys(("species", "location", "batch"), MAX_NAME_LENGTH) | {"text": LONGEST_SEARCH}
    for name, longest in longest_of.items():
        if len(asked.get(name, "")) > longest:
            raise InvalidFilter(f"The {name} to look for is longer than {longest} letters. Shorten it.", name)
    return RackFilter(
        species=asked.get("species", ""),
        length=sizes["length"],
        width=sizes["width"],
        thickness=sizes["thickness"],
        condition=_read_word(Condition, asked["condition"], "condition") if asked.get("condition") else None,
        status=_read_word(StatusFilter, asked.get("status") or StatusFilter.HERE.value, "status"),
        location=asked.get("location", ""),
        text=asked.get("text", ""),
        unseen=_read_months(asked["unseen"]) if asked.get("unseen") else None,
        mark=_read_word(Mark, asked["mark"], "mark") if asked.get("mark") else None,
        batch=asked.get("batch", ""),
        sort=_read_word(RackSort, asked.get("sort") or RackSort.NEWEST.value, "sort"),
        view=_read_word(RackView, asked.get("view") or RackView.PICTURES.value, "view"),
        page=_read_page(asked.get("page") or "1"),
    )


def _read_size(text: str, name: str, unit: Unit) -> Length | None:
    if not text:
        return None
    try:
        return read_length(text, unit) or None
    except InvalidLength as error:
        raise InvalidFilter(str(error), name) from None


def _read_word(kind: type[EnumT], text: str, name: str) -> EnumT:
    words = [str(each.value) for each in kind]
    if text not in words:
        raise InvalidFilter(f'{name} can\'t be "{text[:40]}". Choose one of: {", ".join(words)}.', name)
    return kind(text)


def _read_months(text: str) -> int:
    months = read_integer(text, 1, MAX_MONTHS)
    if months is None:
        raise InvalidFilter(
            f'"{text[:40]}" is no number of months from 1 to {MAX_MONTHS}. Type one such as 12.', "unseen"
        )
    return months


def _read_page(text: str) -> int:
    page = read_integer(text, 1, MOST_PAGES)
    if page is None:
        raise InvalidFilter(f'"{text[:40]}" is no page. Pages count from 1.', "page")
    return page
