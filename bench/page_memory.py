"""Does the page's server grow? Answers that change jobs, over loopback, against the production server.

A few people answer on some twenty jobs; a job whose talk is over has an earlier answer changed, again and again. The
server is the one that `howdeep page` runs, in a process of its own; its memory, with that of the processes that reckon
beside it, is read every so many answers, as it is in the midst of the work; and less often while everybody rests, which
is what it keeps.

Usage: python bench/page_memory.py [--answers 2000] [--jobs 20] [--people 4] [--every 100] [--rest 500]
"""

from __future__ import annotations

import argparse
import http.client
import os
import random
import re
import sys
import tempfile
import threading
import time
from pathlib import Path

sys.path.insert(0, str(Path(__file__).resolve().parents[1]))

from tests.over_http import Client, Server, answer_to, copies_of_case

MOST_MINUTES = 60
LOOKS, SECONDS = 3, 1.2
"""While everybody rests the list of jobs is looked at so often, at such intervals: free memory is given back then."""


class Crew:
    """People who answer, each on jobs of his own, and what the server's memory came to meanwhile."""

    def __init__(self, server: Server, jobs: list[str], answers: int, every: int, people: int, rest: int) -> None:
        self.server, self.most, self.every, self.rest = server, answers, every, rest
        self.jobs = [jobs[number::people] for number in range(people)]
        self.lock, self.stop = threading.Lock(), threading.Event()
        self.given, self.course, self.kept, self.errors = 0, [], [], []
        self.at_work, self.go = threading.Semaphore(people), threading.Event()
        self.go.set()
        self.people = people

    def person(self, number: int) -> None:
        rng, device = random.Random(number), Client(self.server.port)
        while not self.stop.is_set():
            job = rng.choice(self.jobs[number])
            self.go.wait()
            try:
                with self.at_work:
                    self._sit(device, job, rng)
            except (OSError, http.client.HTTPException) as error:
                with self.lock:
                    self.errors.append(f"{type(error).__name__}: {error}")
        device.close()

    def rests(self) -> None:
        """Everybody stops; what is held then is noted, and all go on."""
        self.go.clear()
        for _ in range(self.people):
            self.at_work.acquire()
        device = Client(self.server.port)
        for _ in range(LOOKS):
            device.send("GET", "/")
            time.sleep(SECONDS)
        device.close()
        self.kept.append((self.given, self.server.memory()))
        print(f"{self.given} answers, at rest: {self.kept[-1][1]:.0f} MB", flush=True)
        self.at_work.release(self.people)
        self.go.set()

    def _sit(self, device: Client, job: str, rng: random.Random) -> None:
        """Three answers on a job: the questions that it asks, or earlier answers changed."""
        html = device.send("GET", f"/job/{job}/ask?last=complaint")[2]
        for _ in range(3):
            if self.stop.is_set():
                return
            fields = answer_to(html, rng)
            if fields is None:
                given = re.findall(r"/ask\?question=([a-z0-9_]+)", device.send("GET", f"/job/{job}/answers")[2])
                html = device.send("GET", f"/job/{job}/ask?question={rng.choice(given)}")[2]
                fields = answer_to(html, rng)
                if fields is None:
                    return
            status, where, told = device.send("POST", f"/job/{job}/answer", fields)
            html = device.send("GET", where)[2] if status == 303 else ""
            with self.lock:
                if status != 303:
                    self.errors.append(f"{job}, {fields['question']}: {status} {told[:200]}")
                self.given += 1
                if self.given % self.every == 0:
                    self.course.append((self.given, self.server.memory()))
                    print(f"{self.given} answers: {self.course[-1][1]:.0f} MB", flush=True)
                if self.given >= self.most:
                    self.stop.set()


def main() -> int:
    """Print the figures; 1 where a request failed."""
    options = argparse.ArgumentParser(description=__doc__.partition("\n")[0])
    options.add_argument("--answers", type=int, default=2000)
    options.add_argument("--jobs", type=int, default=20)
    options.add_argument("--people", type=int, default=4)
    options.add_argument("--every", type=int, default=100)
    options.add_argument("--rest", type=int, default=500)
    given = options.parse_args()
    with tempfile.TemporaryDirectory() as kept:
        names = [f"job-{number}" for number in range(given.jobs)]
        folder = copies_of_case(Path(kept) / "jobs", names)
        with Server(folder, Path(kept) / "state") as server:
            begun, first = time.perf_counter(), server.memory()
            crew = Crew(server, names, given.answers, given.every, given.people, given.rest)
            people = [
                threading.Thread(target=crew.person, args=(number,), daemon=True) for number in range(given.people)
            ]
            for one in people:
                one.start()
            while not crew.stop.wait(1) and time.perf_counter() - begun < 60 * MOST_MINUTES:
                if crew.given >= given.rest * (len(crew.kept) + 1):
                    crew.rests()
            crew.stop.set()
            for one in people:
                one.join(120)
            crew.rests()
            seconds = time.perf_counter() - begun
    print(
        f"{given.people} people, {given.jobs} jobs, {crew.given} answers in {seconds:.0f} s, load of the machine "
        f"{os.getloadavg()[0]:.1f} on {os.cpu_count()} cores; errors: {len(crew.errors)}"
    )
    for line in crew.errors[:10]:
        print(f"  {line}")
    print(
        f"resident memory, MB (answers): {first:.0f} (0), "
        + ", ".join(f"{memory:.0f} ({answers})" for answers, memory in crew.course)
    )
    print("at rest, MB (answers): " + ", ".join(f"{memory:.0f} ({answers})" for answers, memory in crew.kept))
    return 1 if crew.errors else 0


if __name__ == "__main__":
    raise SystemExit(main())
