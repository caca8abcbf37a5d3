"""Answers worked out beside the server: the same answers, none lost with a process, no process left over."""

import contextlib
import dataclasses
import http.client
import os
import signal
import subprocess
import sys
import threading
import time
from pathlib import Path

import pytest

from howdeep.knowledge.where import shipped_cases
from howdeep.web import reckoning
from howdeep.web.reckoner import here
from howdeep.web.reckoning import HERE, Reckoners, cores

from .at_once import at_once
from .over_http import Client, Server, copies_of_case, free_port

several = pytest.mark.skipif(cores() < 2, reason="one processor: the server works everything out itself")
linux = pytest.mark.skipif(not Path("/proc/self/task").exists(), reason="processes are looked up in /proc")


@pytest.fixture(scope="module")
def jobs(shop):
    return [shop.open_job(path) for path in sorted(shipped_cases().glob("*.yaml"))[11::110]]


def wait_for(what, seconds=60.0):
    end = time.monotonic() + seconds
    while not what():
        assert time.monotonic() < end, "it did not come"
        time.sleep(0.02)


@pytest.fixture
def reckoners(shop, jobs):
    made = Reckoners(2)
    made("part", shop, jobs[0], "talk")
    made("part", shop, jobs[1], "talk")
    assert not made.all, "one person alone starts no process"
    with made.lock:  # answers are shared between tests, so that two never wait at the same time here
        made._begin()
    wait_for(lambda: made.ready == 2)
    yield made
    made.end()
    assert all(one.process.poll() is not None for one in made.all)


def parts_of(answer):
    """What of an answer can be compared."""
    told = {
        field.name: getattr(answer, field.name) for field in dataclasses.fields(answer) if field.name != "questions"
    }
    return {**told, "questions": [(item.observation, item.worth, item.moved) for item in answer.questions]}


def test_another_process_gives_the_same_answer_and_its_end_loses_none(shop, jobs, reckoners):
    for job in jobs:
        reckoners.spent.seconds = 0.0
        answer = reckoners("part", shop, job, "both")
        assert reckoners.spent.seconds > 0, "it was not asked"
        assert answer.job is job
        assert parts_of(answer) == parts_of(here("part", shop, job, "both")), job.path
    dearer = dataclasses.replace(shop, prices=dataclasses.replace(shop.prices, labour_rate="400.00"))
    assert reckoners("part", dearer, jobs[0], "both").decision == here("part", dearer, jobs[0], "both").decision
    assert reckoners("part", shop, jobs[0], "both").decision != reckoners("part", dearer, jobs[0], "both").decision
    broken = dataclasses.replace(shop, knowledge=None)
    with pytest.raises(AttributeError):  # as the server itself would have it, with its trace
        reckoners("part", broken, jobs[0], "both")
    gone = list(reckoners.all)
    for one in gone:
        os.kill(one.process.pid, signal.SIGTERM)
        one.process.wait(30)
    for _ in gone:
        assert reckoners("part", shop, jobs[0], "talk").decision.job
    assert reckoners.ready == 0 and not reckoners.all
    with reckoners.lock:
        reckoners._begin()
    wait_for(lambda: reckoners.ready == 2)


def test_one_that_cannot_start_is_not_tried_again(shop, jobs, monkeypatch):
    monkeypatch.setattr(sys, "executable", "/bin/false")
    made = Reckoners(1)
    with made.lock:
        made._begin()
    wait_for(lambda: made.count == 0)
    assert made("part", shop, jobs[0], "talk").decision.job
    made.end()


def test_one_that_never_gets_ready_is_ended_all_the_same(tmp_path, monkeypatch):
    """As when an interrupt of the terminal met it in the midst of starting."""
    stuck = tmp_path / "stuck"
    stuck.write_text("#!/bin/sh\nexec sleep 600\n")
    stuck.chmod(0o755)
    monkeypatch.setattr(sys, "executable", str(stuck))
    made = Reckoners(2)
    with made.lock:
        made._begin()
    begun = list(made.all)
    time.sleep(0.2)  # until each is waited for
    ended = threading.Thread(target=made.end, daemon=True)
    ended.start()
    ended.join(10)
    try:
        assert not ended.is_alive() and all(one.process.poll() is not None for one in begun) and made.ready == 0
    finally:
        for one in begun:
            one.process.kill()


def test_the_server_itself_works_out_no_more_than_a_few_at_once(shop, jobs, monkeypatch):
    lock, now, most, done = threading.Lock(), [0], [0], []

    def slowly(task, *given):
        with lock:
            now[0] += 1
            most[0] = max(most[0], now[0])
        time.sleep(0.05)
        with lock:
            now[0] -= 1
        done.append(task)
        return "answer"

    monkeypatch.setattr(reckoning, "here", slowly)
    made = Reckoners(0)
    at_once(*[lambda: made("part", shop, jobs[0], "talk")] * (3 * HERE))
    assert most[0] == HERE and len(done) == 3 * HERE and made.at_work == 0


def ask_together(port, until):
    """Two people answer at the same time, until something holds."""
    end = time.monotonic() + 60
    while not until():
        assert time.monotonic() < end, "no process was started"
        at_once(*(lambda name=name: Client(port).send("GET", f"/job/{name}") for name in ("job-0", "job-1")))


def children_of(pid):
    tasks = Path(f"/proc/{pid}/task").glob("*/children")
    return [int(child) for task in tasks for child in task.read_text().split()]


def is_there(pid):
    with contextlib.suppress(OSError):
        return "Z" not in Path(f"/proc/{pid}/stat").read_text().rpartition(")")[2].split()[0]
    return False


@several
@linux
def test_a_killed_server_leaves_no_process_behind(tmp_path):
    folder = copies_of_case(tmp_path / "jobs", ["job-0", "job-1"])
    with Server(folder, tmp_path / "state") as server:
        ask_together(server.port, lambda: len(server.processes()) > 1)
        others = server.processes()[1:]
        server.kill()
        wait_for(lambda: not any(is_there(pid) for pid in others))


@several
@linux
def test_one_interrupt_ends_the_page_and_all_its_processes(tmp_path):
    folder, port = copies_of_case(tmp_path / "jobs", ["job-0", "job-1"]), free_port()
    page = subprocess.Popen(
        [sys.executable, "-m", "howdeep", "page", str(folder), "--port", str(port)],
        stdout=subprocess.PIPE,
        stderr=subprocess.PIPE,
        text=True,
        start_new_session=True,
        env={**os.environ, "HOWDEEP_STATE": str(tmp_path / "state")},
    )
    try:
        assert "http://localhost" in page.stdout.readline()
        with contextlib.suppress(OSError, http.client.HTTPException):
            ask_together(port, lambda: bool(children_of(page.pid)))
        others = children_of(page.pid)
        os.killpg(page.pid, signal.SIGINT)  # as a terminal does: to all of them
        _, said = page.communicate(timeout=60)
        assert page.returncode == 0 and said == "", said
        assert others and not any(is_there(pid) for pid in others)
    finally:
        if page.poll() is None:
            page.kill()
