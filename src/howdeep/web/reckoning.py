"""Answers worked out by processes beside the server, where several people wait for one at the same time.

The server stays one process with all that is kept, locked and written; only the reckoning, which is most of the time
of an answer and holds no state, is handed to others. One person alone never starts a second process.
"""

from __future__ import annotations

import contextlib
import os
import pickle
import queue
import subprocess
import sys
import threading
from dataclasses import replace
from typing import IO, Any, cast

from ..assessment.session import Shop
from ..model.engine import Engine
from ..model.job import OpenJob
from ..model.results import Assessment
from .reckoner import READY, Task, here, receive, send

MOST = 4
"""Processes at most: each holds some hundred MB."""
PATIENT = 0.5
"""Seconds to wait for a process that is at work, before an answer is worked out in the server itself."""
HERE = 2
"""Answers worked out in the server at once: more would not be quicker, for they share one processor, and each holds
tables of its own."""
_BROKEN = (OSError, EOFError, ValueError, pickle.PickleError)


def cores() -> int:
    """Processors that this process may use."""
    try:
        return len(os.sched_getaffinity(0))
    except AttributeError:  # not on every system
        return os.cpu_count() or 1


class Reckoner:
    """One process, and the shop that it was told of last."""

    def __init__(self) -> None:
        self.process = subprocess.Popen(
            [sys.executable, "-P", "-m", "howdeep.web.reckoner"],
            stdin=subprocess.PIPE,
            stdout=subprocess.PIPE,
            stderr=subprocess.DEVNULL,
            env={**os.environ, "PYTHONPATH": os.pathsep.join(path for path in sys.path if path)},
        )
        self.asked, self.told = cast(IO[bytes], self.process.stdin), cast(IO[bytes], self.process.stdout)
        self.shop: Shop | None = None

    def ready(self) -> bool:
        """Wait until it is; False where it ended instead."""
        try:
            return bool(receive(self.told) == READY)
        except _BROKEN:
            return False

    def answer(self, task: Task, shop: Shop, job: OpenJob, *given: Any) -> tuple[Assessment | None, float]:
        """What it answers, None where it cannot, and its seconds of the processor. Raises one of _BROKEN where it is
        gone."""
        if self.shop is not shop:
            send(self.asked, ("shop", shop))
            self.shop = shop
        engine = pickle.dumps(job.engine, pickle.HIGHEST_PROTOCOL)
        send(self.asked, (task, replace(job, engine=cast(Engine, None)), engine, *given))
        answer, seconds = receive(self.told)
        return None if answer is None else replace(answer, job=job), seconds

    def end(self) -> None:
        """End it. It is killed before its pipes are closed: whoever waits for its word holds them until it is gone."""
        self.process.kill()
        for stream in (self.asked, self.told):
            with contextlib.suppress(OSError):
                stream.close()
        self.process.wait()


class Reckoners:
    """Works out answers here while one is wanted at a time, and by `count` processes once two are."""

    def __init__(self, count: int) -> None:
        self.count = count
        self.lock = threading.Lock()
        self.at_work, self.ready, self.ended = 0, 0, False
        self.all: list[Reckoner] = []
        self.free: queue.LifoQueue[Reckoner] = queue.LifoQueue()
        self.here = threading.BoundedSemaphore(HERE)
        self.spent = threading.local()
        """`seconds` of the processor that other processes took for a thread, for who measures."""

    def __call__(self, task: Task, shop: Shop, job: OpenJob, *given: Any) -> Assessment:
        """The answer to a task."""
        with self.lock:
            self.at_work += 1
            if self.at_work > 1 and not self.all and self.count and not self.ended:
                self._begin()
        try:
            failed = False
            while True:
                one = None if failed else self._free_soon()
                if one is not None:
                    answer = self._by(one, task, shop, job, *given)
                    if answer is not None:
                        return answer
                    failed = True  # another would fail as well: it is tried here, where it tells what is wrong
                if self.here.acquire(timeout=PATIENT if failed or not self.ready else 0):
                    try:
                        return here(task, shop, job, *given)
                    finally:
                        self.here.release()
        finally:
            with self.lock:
                self.at_work -= 1

    def _begin(self) -> None:
        """Start the processes; what is asked meanwhile is worked out here."""
        self.all = [Reckoner() for _ in range(self.count)]
        for one in self.all:
            threading.Thread(target=self._enlist, args=(one,), daemon=True).start()

    def _enlist(self, one: Reckoner) -> None:
        if one.ready():
            self.ready += 1
            self.free.put(one)
        else:  # it cannot be started here, and would not be the next time
            self.count = 0
            one.end()

    def _free_soon(self) -> Reckoner | None:
        """A process that has nothing to do; None where there is none soon."""
        if not self.ready:
            return None
        try:
            return self.free.get(timeout=PATIENT)
        except queue.Empty:
            return None

    def _by(self, one: Reckoner, task: Task, shop: Shop, job: OpenJob, *given: Any) -> Assessment | None:
        """The answer of a process; None where that one cannot give it."""
        try:
            answer, seconds = one.answer(task, shop, job, *given)
        except _BROKEN:
            self._lose(one)
            return None
        self.free.put(one)
        self.spent.seconds = getattr(self.spent, "seconds", 0.0) + seconds
        return answer

    def _lose(self, one: Reckoner) -> None:
        """One that ended: once none is left they are started anew where two answers are wanted again."""
        one.end()
        with self.lock:
            self.ready -= 1
            if one in self.all:
                self.all.remove(one)

    def end(self) -> None:
        """End every process."""
        with self.lock:
            self.ended, gone, self.all = True, self.all, []
        for one in gone:
            one.end()


__all__ = ["Reckoners", "cores"]
