"""Other programs that save a job: real processes, forked from a server that has the modules loaded, to be killed."""

import contextlib
import multiprocessing
import os
import signal

from howdeep.errors import HowdeepError, StaleFile
from howdeep.files.strict_yaml import read
from howdeep.job import write

_CONTEXT = multiprocessing.get_context("forkserver")
_CONTEXT.set_forkserver_preload(["howdeep.job.write", "filelock", "tests.writers"])


class Writer:
    """A process that runs one of the functions below; `said` collects what it told until now."""

    def __init__(self, work, *args):
        self.pipe, other = _CONTEXT.Pipe()
        self.process = _CONTEXT.Process(target=work, args=(other, *args), daemon=True)
        self.process.start()
        other.close()
        self.said = []

    def hear(self, seconds=120.0):
        """The next thing it says."""
        assert self.pipe.poll(seconds), "the writer says nothing"
        self.said.append(self.pipe.recv())
        return self.said[-1]

    def drain(self):
        """Whatever it said before it ended."""
        with contextlib.suppress(EOFError, OSError):
            while True:
                self.said.append(self.pipe.recv())

    def signal(self, number):
        os.kill(self.process.pid, number)

    def go_on(self):
        """Let one that stops itself go on. It may not have come to that yet: it is told until it says something."""
        for _ in range(600):
            self.signal(signal.SIGCONT)
            if self.pipe.poll(0.2):
                return
        raise AssertionError("the writer says nothing")

    def kill(self):
        """End it as a power cut would; the exit code proves that it was killed and did not end by itself."""
        self.signal(signal.SIGKILL)
        self.process.join(30)
        assert self.process.exitcode == -signal.SIGKILL
        self.drain()
        self.pipe.close()

    def end(self):
        self.process.join(30)
        assert self.process.exitcode == 0
        self.drain()
        self.pipe.close()


def set_title(path, title):
    write.save(path, read(path).digest, lambda plain: {**plain, "title": title})


def counts_up(pipe, path, number):
    """Save one title after another, and say when each begins and when it is taken."""
    while True:
        number += 1
        pipe.send(("begun", number))
        set_title(path, f"answer {number}")
        pipe.send(("taken", number))


def stops_inside(pipe, path, title):
    """Stop within a save, where the lock is held; say what came of it when let go on."""

    def change(plain):
        pipe.send("inside")
        os.kill(os.getpid(), signal.SIGSTOP)
        return {**plain, "title": title}

    try:
        write.save(path, read(path).digest, change)
        pipe.send("taken")
    except HowdeepError as error:
        pipe.send(str(error))


def adds(pipe, path, name, count):
    """Add so many entries, each time from the file as it is; a save that is refused is tried again."""
    refused = 0
    for number in range(count):
        while True:
            digest = read(path).digest

            def change(plain, number=number):
                waived = plain.get("waived") or {}
                return {**plain, "waived": {**waived, f"{name}{number}": {"reason": "x", "by": "y"}}}

            try:
                write.save(path, digest, change)
                break
            except StaleFile:
                refused += 1
    pipe.send(refused)


def increments(pipe, path, left, count):
    """Count up a number in a file under its lock, with nothing but the lock to keep others out."""
    from howdeep.files.whole import locked

    for _ in range(count):
        with locked(path):
            path.write_text(str(int(path.read_text()) + 1))
        left.touch()  # as a killed program leaves it
    pipe.send("done")


def on_demand(pipe, path):
    """Save what is asked for: (waiver, None or the digest it was read with) -> 'taken', 'stale' or the fault."""
    while (asked := pipe.recv()) is not None:
        pipe.send("begun")

        def change(plain, asked=asked):
            return {**plain, "waived": {**(plain.get("waived") or {}), asked: {"reason": "x", "by": "y"}}}

        try:
            write.save(path, read(path).digest, change)
            pipe.send("taken")
        except StaleFile:
            pipe.send("stale")
        except HowdeepError as error:
            pipe.send(str(error))


def dies_before(pipe, path, title, steps, which):
    """Save a title (or, without one, a promise), and die as in a power cut before the call number `which` of those
    that touch the disk."""
    import importlib

    count = 0

    def counted(call):
        def wrapped(*args, **options):
            nonlocal count
            count += 1
            if count > which:
                os._exit(9)
            return call(*args, **options)

        return wrapped

    for name in steps:
        module, _, call = name.rpartition(".")
        setattr(importlib.import_module(module), call, counted(getattr(importlib.import_module(module), call)))
    if title is None:
        from howdeep.quote.promise import storing

        write.save(path, read(path).digest, storing("first", {"date": "2026-03-05", "rung": "refresh"}))
    else:
        set_title(path, title)


def takes_numbers(pipe, path, count):
    """Take so many numbers of the shop, and say them."""
    from howdeep.knowledge.load import load
    from howdeep.shop.numbers import take_number

    from .conftest import SMALL

    knowledge = load([SMALL])
    pipe.send([take_number(path, knowledge) for _ in range(count)])
