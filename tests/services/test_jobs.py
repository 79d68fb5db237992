"""Long work beside the pages: one of a kind at a time, with progress, cancel and errors."""

import threading
from collections.abc import Generator
from typing import Any

import pytest

from inventory.core.errors import UserError
from inventory.services.jobs import Jobs, JobState, Progress


def counting(to: int) -> Generator[Progress, None, int]:
    for number in range(to):
        yield Progress(number / to, f"{number} counted", number)
    return to


def test_a_job_ends_with_its_outcome() -> None:
    jobs = Jobs()
    started_at = jobs.start("count", "Counting", lambda: counting(3))
    done = jobs.wait("count", 10)
    assert started_at.running and done is not None
    assert (done.number, done.state, done.share, done.outcome) == (started_at.number, JobState.DONE, 1.0, 3)


def test_a_job_is_begun_once_and_stopped_between_two_steps() -> None:
    jobs, may_go_on = Jobs(), threading.Event()

    def waiting() -> Generator[Progress, None, Any]:
        for number in range(1000):
            yield Progress(0.5, "waiting", number)
            may_go_on.wait(10)

    first = jobs.start("wait", "Waiting", waiting)
    assert jobs.start("wait", "Waiting again", waiting).number == first.number
    jobs.stop("wait")
    may_go_on.set()
    stopped = jobs.wait("wait", 10)
    assert stopped is not None and stopped.state is JobState.STOPPED
    assert stopped.outcome in (0, 1)


def test_a_job_that_the_machine_can_t_begin_is_begun_when_asked_again(monkeypatch: pytest.MonkeyPatch) -> None:
    def full(_: threading.Thread) -> None:
        raise RuntimeError("can't start new thread")

    jobs = Jobs()
    with monkeypatch.context() as full_machine:
        full_machine.setattr(threading.Thread, "start", full)
        with pytest.raises(RuntimeError, match="new thread"):
            jobs.start("count", "Counting", lambda: counting(3))
    assert (jobs.job("count"), jobs.running()) == (None, ())
    jobs.start("count", "Counting", lambda: counting(3))
    done = jobs.wait("count", 10)
    assert done is not None and done.outcome == 3


def test_what_can_be_fixed_and_what_nobody_foresaw_are_reported_in_a_sentence() -> None:
    jobs = Jobs(lambda error: f"unforeseen: {error}")

    def failing(error: Exception) -> Generator[Progress, None, Any]:
        yield Progress(0.0, "begun")
        raise error

    jobs.start("one", "One", lambda: failing(UserError("The rack is empty. Tag a piece.")))
    jobs.start("other", "Other", lambda: failing(RuntimeError("a gap")))
    text = [jobs.wait(key, 10) for key in ("one", "other")]
    assert [(each and each.state, each and each.fault) for each in text] == [
        (JobState.FAILED, "The rack is empty. Tag a piece."),
        (JobState.FAILED, "unforeseen: a gap"),
    ]
    assert jobs.job("third") is None
    jobs.close()


def test_a_program_that_ends_stops_all_jobs_and_waits_for_no_endless_step() -> None:
    jobs, under_way, may_end = Jobs(), threading.Event(), threading.Event()

    def long_step() -> Generator[Progress, None, Any]:
        yield Progress(0.0, "begun")
        under_way.set()
        may_end.wait(60)
        yield Progress(0.5, "the long step is done", "so far")

    jobs.start("long", "Long", long_step)
    jobs.start("count", "Counting", lambda: counting(10**9))
    assert under_way.wait(60)
    jobs.close(0.1)
    counted = jobs.wait("count", 60)
    assert counted is not None and counted.state is JobState.STOPPED
    assert [job.key for job in jobs.running()] == ["long"]
    may_end.set()
    long = jobs.wait("long", 60)
    assert long is not None and (long.state, long.outcome) == (JobState.STOPPED, "so far")
