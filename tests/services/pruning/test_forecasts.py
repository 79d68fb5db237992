"""Forecasts: the years that were drawn are an answer, whether or not they can be kept."""

from collections.abc import Generator
from datetime import date

import pytest

from inventory.core.lengths import inches
from inventory.core.offcuts import Offcut
from inventory.pruning.forecast import Forecast, TagForecast
from inventory.pruning.simulation import Arrivals
from inventory.pruning.storage_limit import StorageLimit
from inventory.services.jobs import Jobs, JobState, Progress
from inventory.services.pruning import forecasts, prune_advice
from inventory.services.pruning.forecasts import ForecastInputs
from inventory.services.pruning.prune_advice import PruneResult
from inventory.shop import Shop
from inventory.storage.errors import StorageFault
from inventory.storage.repositories import prune_checklists

DRAWN = Forecast(40, {}, ())


def drawing(_: ForecastInputs, *, replications: int) -> Generator[Progress, None, Forecast]:
    yield Progress(0.5, f"{replications} years drawn", DRAWN)
    return DRAWN


def test_years_that_a_full_disk_keeps_nothing_of_are_an_answer_all_the_same(
    shop: Shop, monkeypatch: pytest.MonkeyPatch
) -> None:
    def full(*_: object) -> None:
        raise StorageFault("The disk is full: nothing of this was kept.")

    monkeypatch.setattr(forecasts, "drawing", drawing)
    asked, jobs = forecasts.basis(shop), Jobs()
    with monkeypatch.context() as full_disk:
        full_disk.setattr(prune_checklists, "save_forecast", full)
        jobs.start("years", "Simulation", lambda: forecasts.run_forecast(shop, asked))
        done = jobs.wait("years", 60)
    assert done is not None and (done.state, done.outcome) == (JobState.DONE, DRAWN)
    assert forecasts.latest(shop) is None
    jobs.start("years", "Simulation", lambda: forecasts.run_forecast(shop, asked))
    jobs.wait("years", 60)
    latest = forecasts.latest(shop)
    assert latest is not None and latest.forecast == DRAWN


def test_some_years_are_a_first_answer_to_what_may_go() -> None:
    pieces = [Offcut(inches("20"), inches("4"), inches("1"), tag=tag) for tag in ("never", "often")]
    foretold = Forecast(
        20, {"never": TagForecast((0,), (0,), frozenset()), "often": TagForecast((9,), (18,), frozenset({0}))}, ()
    )

    def years() -> Generator[Progress, None, Forecast]:
        yield Progress(0.025, "10 of 400 years drawn")
        yield Progress(0.1, "40 of 400 years drawn", foretold)
        return foretold

    asked = ForecastInputs(tuple(pieces), (), Arrivals(), date(2030, 1, 31), with_arrivals=False)
    steps = prune_advice.compute_advice(asked, StorageLimit(pieces=1), frozenset(), years())
    assert next(steps) == Progress(0.0125, "10 of 400 years drawn")
    first = next(steps)
    assert first.message == "40 of 400 years drawn, so far 1 of the pieces may go"
    assert isinstance(first.so_far, PruneResult)
    assert [each.offcut.tag for each in first.so_far.advice.going] == ["never"]
    steps.close()
