"""Several boards at once: filled together, or as many of one board as the rack gives (cutting model, section 8)."""

from __future__ import annotations

import hashlib
from collections.abc import Generator, Iterator, Sequence
from dataclasses import dataclass, replace

from inventory.core.errors import UserError
from inventory.core.lengths import Display
from inventory.core.offcuts import Offcut
from inventory.core.workshop import Workshop
from inventory.fill.plan import Plan
from inventory.fill.request import MAX_BOARDS, BoardRequest
from inventory.orders.answer import fill_rack, improving_plans, shortfall_plan
from inventory.orders.counting import count_boards
from inventory.services.jobs import Job, Jobs, Progress
from inventory.shop import Shop
from inventory.storage.repositories.free_pieces import free_pieces, pieces_on_hold
from inventory.wording.cautions import with_cautions

MAX_BOARD_KINDS = 12
"""Boards of so many different kinds may be asked for together."""
MAX_SEARCHES = 2
"""So many looks through the rack run beside the pages; more would only slow each other."""
_KEY = "batch "


class InvalidBatch(UserError):
    """Boards that can't be requested together."""


class TooManySearches(UserError):
    """Another search while too many are running."""


@dataclass(frozen=True)
class BoardOrder:
    """Boards to be filled together or, with `how_many`, one board of which as many as possible are wanted.

    Preferences, allowances and day are those of the first request; counting uses
    its first preference alone. Raises InvalidBatch.
    """

    requests: tuple[BoardRequest, ...]
    how_many: bool = False

    def __post_init__(self) -> None:
        if not self.requests:
            raise InvalidBatch("There is no board on the list. Put one on it.")
        if self.how_many and len(self.requests) > 1:
            raise InvalidBatch(
                "Boards of one kind can be counted, not of several. Name one board, or ask for all of them together."
            )
        if len(self.requests) > MAX_BOARD_KINDS:
            raise InvalidBatch(f"A list holds at most {MAX_BOARD_KINDS} kinds of boards. Fill them in two batches.")
        if self.boards > MAX_BOARDS:
            raise InvalidBatch(f"These are {self.boards:,} boards; at most {MAX_BOARDS} can be asked for together.")

    @property
    def boards(self) -> int:
        return sum(each.count for each in self.requests)

    @property
    def key(self) -> str:
        """A short name (16 hex digits), the same for equal orders."""
        return hashlib.sha256(repr((self.requests, self.how_many)).encode()).hexdigest()[:16]


@dataclass(frozen=True)
class BatchSolution:
    """The best found so far: `plan` with all its `boards` boards, None while there is none.

    `upper_bound` bounds a count. A plan without fills is a shortfall, and the final result.
    """

    boards: int
    upper_bound: int | None
    plan: Plan | None

    @property
    def is_optimal(self) -> bool:
        """Whether the count can't be higher."""
        return self.upper_bound is not None and self.boards >= self.upper_bound

    @property
    def message(self) -> str:
        """The progress as one line."""
        if self.upper_bound is not None:
            so_far = f"{_boards(self.boards)} found so far"
            return (
                f"{so_far}, and there are never more" if self.is_optimal else f"{so_far}, at most {self.upper_bound:,}"
            )
        if self.plan is None or not self.plan.fills:
            return "No way to fill them all was found yet"
        share = max(fill.yield_share for fill in self.plan.fills)
        return f"All {_boards(self.boards)} are filled, {100 * share:.0f} % yield so far"

    @property
    def activity_text(self) -> str:
        """What the search is doing."""
        if self.upper_bound is not None:
            return (
                "Looking for a way to lose less wood" if self.is_optimal else f"Looking for board {self.boards + 1:,}"
            )
        if self.plan is None or not self.plan.fills:
            return "Looking for a way to share the strips out"
        return "Looking for a better way"


def _boards(count: int) -> str:
    return f"{count:,} board{'' if count == 1 else 's'}"


def improving_answers(rack: Sequence[Offcut], question: BoardOrder, on_hold: int = 0) -> Iterator[BatchSolution]:
    """Better and better solutions from these offcuts; the last one is the best found, or the shortfall."""
    first = question.requests[0]
    if question.how_many:
        found = BatchSolution(0, None, None)
        for count in count_boards(rack, first):
            found = BatchSolution(count.boards, count.upper_bound, count.plan)
            yield found
        if not found.boards:
            alone = replace(first, count=1, prefer=first.prefer[:1], fills=1)
            yield BatchSolution(0, 0, fill_rack(rack, alone, on_hold=lambda: on_hold))
        return
    best: Plan | None = None
    for plan in improving_plans(rack, question.requests):
        best = plan or best
        yield BatchSolution(question.boards, None, best)
    if best is None:
        yield BatchSolution(question.boards, None, shortfall_plan(rack, question.requests, on_hold=on_hold))


def search_rack(shop: Shop, question: BoardOrder) -> Iterator[BatchSolution]:
    """`improving_answers` from the free pieces of the rack, which are read once, when the first is needed.

    The cautions are those for this shop's planer and glue.
    """
    with shop.reading() as connection:
        rack, aside = free_pieces(connection).all_offcuts(), pieces_on_hold(connection)
    settings = shop.settings()
    for found in improving_answers(rack, question, aside):
        yield with_shop_cautions(found, settings.workshop, settings.display)


def with_shop_cautions(found: BatchSolution, workshop: Workshop, display: Display) -> BatchSolution:
    """The plan with the cautions for this workshop's planer and glue."""
    return found if found.plan is None else replace(found, plan=with_cautions(found.plan, workshop, display))


def start(shop: Shop, jobs: Jobs, question: BoardOrder) -> Job:
    """Starts a search, or returns the running one for the same order. Raises TooManySearches."""
    under_way = [job.key for job in jobs.running() if job.key.startswith(_KEY)]
    if _KEY + question.key not in under_way and len(under_way) >= MAX_SEARCHES:
        raise TooManySearches(
            f"{MAX_SEARCHES} looks through the rack are under way already. Stop one of them, or wait until it is done."
        )
    title = "How many are in the rack" if question.how_many else "Boards filled together"
    return jobs.start(_KEY + question.key, title, lambda: _work(shop, question))


def _work(shop: Shop, question: BoardOrder) -> Generator[Progress, None, BatchSolution | None]:
    found: BatchSolution | None = None
    for found in search_rack(shop, question):
        share = found.boards / found.upper_bound if found.upper_bound else 0.0
        yield Progress(share, f"{found.message}. {found.activity_text}", found)
    return found


def job_of(jobs: Jobs, key: str) -> Job | None:
    """The search for the order with this key; None where none was started since the program runs."""
    return jobs.job(_KEY + key)


def stop(jobs: Jobs, key: str) -> None:
    """Stops the search with the best that it has found."""
    jobs.stop(_KEY + key)
