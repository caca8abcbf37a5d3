"""A process that only reckons: it is handed a shop and a job, gives the answer, and touches no file of either.

Frames go over its standard input and output: the length in eight bytes, then a pickled value. Both ends are this
program and the pipe is nobody else's, so what is unpickled is only what it pickled itself.
"""

from __future__ import annotations

import contextlib
import os
import pickle
import signal
import struct
import sys
import time
from collections import OrderedDict
from collections.abc import Callable, Mapping
from dataclasses import replace
from typing import IO, Any, Literal, cast

from ..assessment.changes import with_changes
from ..assessment.session import Shop
from ..interview.session import Part, worked_out
from ..model.engine import Engine
from ..model.job import OpenJob
from ..model.results import Assessment
from .memory import Collector, Trimmer

_LENGTH = struct.Struct(">Q")
ENGINES_KEPT = 32
"""Engines of which the one object is kept, for what is worked out of an engine is remembered by it."""
READY = "ready"
Task = Literal["part", "whole", "changes"]


def part_of(shop: Shop, job: OpenJob, part: Part) -> Assessment:
    """The answer with what a part of the interview needs."""
    return worked_out(shop, job, part)


def whole_of(shop: Shop, job: OpenJob) -> Assessment:
    """The answer with where checks lead and what is worth looking up."""
    return shop.with_look_ups(shop.assess(job, gaps=True, questions=True))


def changes_of(shop: Shop, job: OpenJob, answer: Assessment) -> Assessment:
    """An answer with what else would change it."""
    return with_changes(shop.knowledge, replace(answer, job=job), shop.prices)


TASKS: Mapping[Task, Callable[..., Assessment]] = {"part": part_of, "whole": whole_of, "changes": changes_of}


Reckon = Callable[..., Assessment]
"""Task, shop, job and what more the task wants -> the answer."""


def here(task: Task, shop: Shop, job: OpenJob, *given: Any) -> Assessment:
    """A task done in this process."""
    return TASKS[task](shop, job, *given)


def send(stream: IO[bytes], value: object) -> None:
    """Write one frame."""
    data = pickle.dumps(value, pickle.HIGHEST_PROTOCOL)
    stream.write(_LENGTH.pack(len(data)))
    stream.write(data)
    stream.flush()


def receive(stream: IO[bytes]) -> Any:
    """Read one frame. Raises EOFError where the other end is gone."""
    head = stream.read(_LENGTH.size)
    if len(head) < _LENGTH.size:
        raise EOFError
    (length,) = _LENGTH.unpack(head)
    data = stream.read(length)
    if len(data) < length:
        raise EOFError
    return pickle.loads(data)


class Bench:
    """What one process has been told: the shop, and engines by the bytes they came in."""

    def __init__(self) -> None:
        self.shop: Shop | None = None
        self.collect, self.anew = Collector(), True
        self.engines: OrderedDict[bytes, Engine] = OrderedDict()

    def told(self, shop: Shop) -> None:
        """Work for a shop as it is now."""
        self.shop, self.anew = shop, True
        self.engines.clear()

    def answer(self, task: Task, job: OpenJob, engine: bytes, *given: Any) -> Assessment | None:
        """The answer without its job, which the server has; None where it cannot be given: the server then tries itself
        and tells what is wrong."""
        if engine not in self.engines:
            self.engines[engine] = pickle.loads(engine)
        self.engines.move_to_end(engine)
        while len(self.engines) > ENGINES_KEPT:
            self.engines.popitem(last=False)
        try:
            answer = here(task, cast(Shop, self.shop), replace(job, engine=self.engines[engine]), *given)
        except Exception:  # whatever it is
            return None
        return replace(answer, job=cast(OpenJob, None))

    def tidy(self) -> None:
        """Between two answers; after the first of a shop all is there that is made once."""
        self.collect(anew=self.anew)
        self.anew = False


def main() -> None:
    """Reckon until the server that began it is gone, however it went."""
    with contextlib.suppress(ValueError, OSError):
        signal.signal(signal.SIGINT, signal.SIG_IGN)  # Ctrl-C reaches every process of the terminal; the server ends us
    asked, told = sys.stdin.buffer, os.fdopen(os.dup(sys.stdout.fileno()), "wb")
    sys.stdout = sys.stderr
    trimmer, bench = Trimmer(), Bench()
    with contextlib.suppress(EOFError, BrokenPipeError):
        send(told, READY)
        while True:
            task, *given = receive(asked)
            if task == "shop":
                bench.told(*given)
            else:
                begun = time.thread_time()
                answer = bench.answer(task, *given)
                send(told, (answer, time.thread_time() - begun))
                bench.tidy()
                trimmer()


if __name__ == "__main__":
    main()
