"""Background jobs in threads, with progress and stop.

Only one job of a `key` runs at a time; its outcome is kept until the next one starts. A job is a generator: it yields
its progress, returns its outcome, and can be stopped between two steps.
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
    """The state of a job."""

    RUNNING = "running"
    DONE = "done"
    STOPPED = "stopped"
    FAILED = "failed"


@dataclass(frozen=True)
class Progress:
    """The progress of a job: a share from 0 to 1 and what it is doing; `so_far` is its outcome if stopped now."""

    share: float
    message: str
    so_far: Any = None


@dataclass(frozen=True)
class Job:
    """A snapshot of a job. `number` identifies it among jobs of its key; `outcome` is set once it has ended."""

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
        """Seconds since it was started."""
        return int(time.monotonic() - self.started_at)


MAX_ENDED_JOBS = 20
"""Of so many jobs that ended the outcome is kept; older ones are forgotten."""

STOP_TIMEOUT = 5.0
"""Seconds that a program which is stopped waits for its jobs. common practice, no source"""

JobSteps = Callable[[], Generator[Progress, None, Any]]


class Jobs:
    """The jobs of one running program. Thread-safe."""

    def __init__(self, failed: Callable[[Exception], str] = str) -> None:
        """`failed` turns an unexpected error into a sentence."""
        self._lock = threading.Lock()
        self._jobs: dict[str, Job] = {}
        self._stops: dict[str, threading.Event] = {}
        self._threads: dict[str, threading.Thread] = {}
        self._failed = failed
        self._last = 0

    def start(self, key: str, title: str, work: JobSteps) -> Job:
        """Starts a job, or returns the running one of this key."""
        with self._lock:
            found = self._jobs.get(key)
            if found is not None and found.running:
                return found
            self._last += 1
            job = Job(key, self._last, title)
            stop = threading.Event()
            thread = threading.Thread(target=self._run, args=(job, work, stop), name=f"job {key}", daemon=True)
            # Started before anybody can wait for it; its first report waits for the lock.
            thread.start()
            # The latest is last.
            self._jobs.pop(key, None)
            self._jobs[key], self._stops[key], self._threads[key] = job, stop, thread
            self._forget()
        return job

    def job(self, key: str) -> Job | None:
        """The job of this key, None where none was started."""
        with self._lock:
            return self._jobs.get(key)

    def running(self) -> tuple[Job, ...]:
        """The running jobs, in the order in which they were started."""
        with self._lock:
            return tuple(job for job in self._jobs.values() if job.running)

    def _forget(self) -> None:
        """Drops the oldest ended jobs beyond the limit; the caller holds the lock."""
        ended = [job.key for job in self._jobs.values() if not job.running]
        for key in ended[: max(len(ended) - MAX_ENDED_JOBS, 0)]:
            del self._jobs[key], self._stops[key], self._threads[key]

    def stop(self, key: str) -> None:
        """Asks a job to stop after its present step."""
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
