"""Forecasts: the years that were drawn are an answer, whether or not they can be kept."""

from collections.abc import Generator
from datetime import date

import pytest

from inventory.measures import inches
from inventory.pieces import Offcut
from inventory.pruning.forecast import Forecast, TagForecast
from inventory.pruning.room import Room
from inventory.pruning.years import Arrivals
from inventory.services import foreseeing, pruning
from inventory.services.foreseeing import Basis
from inventory.services.jobs import Jobs, JobState, Step
from inventory.services.pruning import Answer
from inventory.shop import Shop
from inventory.storage import walks
from inventory.storage.faults import StorageFault

DRAWN = Forecast(40, {}, ())


def drawing(_: Basis, *, spells: int) -> Generator[Step, None, Forecast]:
    yield Step(0.5, f"{spells} years drawn", DRAWN)
    return DRAWN


def test_years_that_a_full_disk_keeps_nothing_of_are_an_answer_all_the_same(
    shop: Shop, monkeypatch: pytest.MonkeyPatch
) -> None:
    def full(*_: object) -> None:
        raise StorageFault("The disk is full: nothing of this was kept.")

    monkeypatch.setattr(foreseeing, "drawing", drawing)
    asked, jobs = foreseeing.basis(shop), Jobs()
    with monkeypatch.context() as full_disk:
        full_disk.setattr(walks, "keep_forecast", full)
        jobs.start("years", "Years", lambda: foreseeing.foreseeing(shop, asked))
        done = jobs.wait("years", 60)
    assert done is not None and (done.state, done.outcome) == (JobState.DONE, DRAWN)
    assert foreseeing.latest(shop) is None
    jobs.start("years", "Years", lambda: foreseeing.foreseeing(shop, asked))
    jobs.wait("years", 60)
    latest = foreseeing.latest(shop)
    assert latest is not None and latest.forecast == DRAWN


def test_some_years_are_a_first_answer_to_what_may_go() -> None:
    pieces = [Offcut(inches("20"), inches("4"), inches("1"), tag=tag) for tag in ("never", "often")]
    foretold = Forecast(
        20, {"never": TagForecast((0,), (0,), frozenset()), "often": TagForecast((9,), (18,), frozenset({0}))}, ()
    )

    def years() -> Generator[Step, None, Forecast]:
        yield Step(0.025, "10 of 400 years drawn")
        yield Step(0.1, "40 of 400 years drawn", foretold)
        return foretold

    asked = Basis(tuple(pieces), (), Arrivals(), date(2030, 1, 31), with_arrivals=False)
    steps = pruning.advising(asked, Room(pieces=1), frozenset(), years())
    assert next(steps) == Step(0.0125, "10 of 400 years drawn")
    first = next(steps)
    assert first.words == "40 of 400 years drawn, so far 1 of the pieces may go"
    assert isinstance(first.so_far, Answer)
    assert [each.offcut.tag for each in first.so_far.advice.going] == ["never"]
    steps.close()
