"""Long work beside the pages: started once, told how far it is, stopped when asked.

Each kind of work (`key`) runs once at a time; its last outcome stays until the next begins. A work is a generator:
what it yields is how far it is, what it returns is its outcome, and it is stopped between two steps.
"""

from __future__ import annotations

import threading
import time
from collections.abc import Callable, Generator
from dataclasses import dataclass, field, replace
from enum import Enum
from typing import Any

from inventory.core.errors import UserError


class JobState(Enum):
    """How a job stands."""

    RUNNING = "running"
    DONE = "done"
    STOPPED = "stopped"
    FAILED = "failed"


@dataclass(frozen=True)
class Progress:
    """How far a job is: a share from 0 to 1 and what is being done; `so_far` is what it would answer if stopped now."""

    share: float
    message: str
    so_far: Any = None


@dataclass(frozen=True)
class Job:
    """A job as it stands now. `number` tells it from earlier ones; `outcome` is there once it is done or stopped."""

    key: str
    number: int
    title: str
    state: JobState = JobState.RUNNING
    share: float = 0.0
    message: str = ""
    outcome: Any = None
    fault: str = ""
    started_at: float = field(default_factory=time.monotonic)

    @property
    def running(self) -> bool:
        return self.state is JobState.RUNNING

    @property
    def seconds(self) -> int:
        """How long ago it was begun."""
        return int(time.monotonic() - self.started_at)


MAX_ENDED_JOBS = 20
"""Of so many jobs that ended the outcome is kept; older ones are forgotten."""

STOP_TIMEOUT = 5.0
"""Seconds that a program which is stopped waits for its jobs. common practice, no source"""

JobSteps = Callable[[], Generator[Progress, None, Any]]


class Jobs:
    """The jobs of one running program. Safe to ask from every thread."""

    def __init__(self, failed: Callable[[Exception], str] = str) -> None:
        """`failed` turns what nobody foresaw into a sentence."""
        self._lock = threading.Lock()
        self._jobs: dict[str, Job] = {}
        self._stops: dict[str, threading.Event] = {}
        self._threads: dict[str, threading.Thread] = {}
        self._failed = failed
        self._last = 0

    def start(self, key: str, title: str, work: JobSteps) -> Job:
        """Begins a job, or answers with the one of this key that is running already."""
        with self._lock:
            found = self._jobs.get(key)
            if found is not None and found.running:
                return found
            self._last += 1
            job = Job(key, self._last, title)
            stop = threading.Event()
            thread = threading.Thread(target=self._run, args=(job, work, stop), name=f"job {key}", daemon=True)
            # Begun before anybody may wait for it; what it notes waits for the lock.
            thread.start()
            # The latest stands last.
            self._jobs.pop(key, None)
            self._jobs[key], self._stops[key], self._threads[key] = job, stop, thread
            self._forget()
        return job

    def job(self, key: str) -> Job | None:
        """The job of this key as it stands, None where none was begun."""
        with self._lock:
            return self._jobs.get(key)

    def running(self) -> tuple[Job, ...]:
        """The jobs that are under way, the first begun first."""
        with self._lock:
            return tuple(job for job in self._jobs.values() if job.running)

    def _forget(self) -> None:
        """Drops the oldest of those that ended, beyond as many as are kept; the lock is held."""
        ended = [job.key for job in self._jobs.values() if not job.running]
        for key in ended[: max(len(ended) - MAX_ENDED_JOBS, 0)]:
            del self._jobs[key], self._stops[key], self._threads[key]

    def stop(self, key: str) -> None:
        """Asks a job to stop after the step it is at."""
        with self._lock:
            if key in self._stops:
                self._stops[key].set()

    def wait(self, key: str, seconds: float | None = None) -> Job | None:
        """Waits for a job to end, no longer than so many seconds."""
        with self._lock:
            thread = self._threads.get(key)
        if thread is not None:
            thread.join(seconds)
        return self.job(key)

    def close(self, seconds: float = STOP_TIMEOUT) -> None:
        """Stops all jobs and waits for their last steps, no longer than so many seconds in all.

        A step that takes longer ends with the program: a service's transaction is whole or not there.
        """
        until = time.monotonic() + seconds
        for job in self.running():
            self.stop(job.key)
        for job in self.running():
            self.wait(job.key, max(until - time.monotonic(), 0))

    def _run(self, job: Job, work: JobSteps, stop: threading.Event) -> None:
        try:
            self._keep(self._run_steps(job, work(), stop))
        except UserError as error:
            self._keep(replace(job, state=JobState.FAILED, fault=str(error)))
        except Exception as error:
            self._keep(replace(job, state=JobState.FAILED, fault=self._failed(error)))

    def _run_steps(self, job: Job, steps: Generator[Progress, None, Any], stop: threading.Event) -> Job:
        so_far: Any = None
        while True:
            try:
                step = next(steps)
            except StopIteration as end:
                return replace(job, state=JobState.DONE, share=1.0, outcome=end.value)
            so_far = step.so_far
            job = replace(job, share=step.share, message=step.message)
            self._keep(job)
            if stop.is_set():
                steps.close()
                return replace(job, state=JobState.STOPPED, outcome=so_far)

    def _keep(self, job: Job) -> None:
        with self._lock:
            self._jobs[job.key] = job
