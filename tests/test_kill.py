"""Killed at any moment, no answer that was taken is lost and no file is half written; two writers lose nothing."""

import multiprocessing
import os
import random
import signal
import subprocess
import sys
import time

from howdeep.errors import StaleFile
from howdeep.job import write
from howdeep.job.read import read_job

from .conftest import SMALL

WRITER = """
import sys
from pathlib import Path
from howdeep.files.strict_yaml import read
from howdeep.job import write
path = Path(sys.argv[1])
number = int(sys.argv[2])
while True:
    number += 1
    def change(plain, number=number):
        return {**plain, "title": f"answer {number}"}
    write.save(path, read(path).digest, change)
    print(number, flush=True)
"""
KILLS = 200


def test_two_hundred_kills_at_random_moments_lose_no_answer_that_was_taken(tmp_path, small):
    path = tmp_path / "job.yaml"
    write.create(path, write.new_job("twin", title="answer 0"))
    rng = random.Random(11)
    last = 0
    done = 0
    while done < KILLS:
        lock = tmp_path / ".job.yaml.lock"
        lock.unlink(missing_ok=True)  # a lock left by a killed program is stale after ten seconds; not waited for here
        child = subprocess.Popen([sys.executable, "-c", WRITER, str(path), str(last)],
                                 stdout=subprocess.PIPE, text=True)
        taken = last
        # several moments of one start: stop it, look, let it go on, then kill it
        assert child.stdout.readline()
        for _ in range(9):
            time.sleep(rng.uniform(0, 0.004))
            os.kill(child.pid, signal.SIGSTOP)
            job = read_job(path, small, [SMALL])
            assert job.job.title.startswith("answer ")
            done += 1
            os.kill(child.pid, signal.SIGCONT)
        time.sleep(rng.uniform(0, 0.01))
        child.kill()
        rest, _ = child.communicate()
        done += 1
        taken = max([taken, *(int(line) for line in rest.split())])
        found = int(read_job(path, small, [SMALL]).job.title.split()[1])
        assert found >= taken, "an answer that was taken is gone"
        last = found
    leftovers = [name for name in os.listdir(tmp_path) if name.endswith(".yaml") and not name.startswith(".")]
    assert leftovers == ["job.yaml"]


def writer(path, name, count):
    from howdeep.files.strict_yaml import read

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
    return refused


def test_two_writers_lose_nothing_and_overwrite_nothing(tmp_path):
    from howdeep.files.strict_yaml import read

    path = tmp_path / "job.yaml"
    write.create(path, write.new_job("twin"))
    with multiprocessing.get_context("spawn").Pool(2) as pool:
        results = [pool.apply_async(writer, (path, name, 25)) for name in ("a", "b")]
        for result in results:
            result.get(120)
    kept = read(path).value["waived"]
    assert set(kept) == {f"{name}{number}" for name in "ab" for number in range(25)}
