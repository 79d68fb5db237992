"""Forecasts: the years that were drawn are an answer, whether or not they can be kept."""

from collections.abc import Generator

import pytest

from inventory.pruning.forecast import Forecast
from inventory.services import foreseeing
from inventory.services.foreseeing import Basis
from inventory.services.jobs import Jobs, JobState, Step
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
