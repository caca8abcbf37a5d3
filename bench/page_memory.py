"""Does the page's server grow? Answers that change jobs, over loopback, against the production server.

A few people answer on some twenty jobs; a job whose talk is over has an earlier answer changed, again and again. The
server is the one that `howdeep page` runs, in a process of its own; its resident memory is read every so many answers.

Usage: python bench/page_memory.py [--answers 2000] [--jobs 20] [--people 4] [--every 100]
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


class Crew:
    """People who answer, each on jobs of his own, and what the server's memory came to meanwhile."""

    def __init__(self, server: Server, jobs: list[str], answers: int, every: int, people: int) -> None:
        self.server, self.most, self.every = server, answers, every
        self.jobs = [jobs[number::people] for number in range(people)]
        self.lock, self.stop = threading.Lock(), threading.Event()
        self.given, self.course, self.errors = 0, [], []

    def person(self, number: int) -> None:
        rng, device = random.Random(number), Client(self.server.port)
        while not self.stop.is_set():
            job = rng.choice(self.jobs[number])
            try:
                self._sit(device, job, rng)
            except (OSError, http.client.HTTPException) as error:
                with self.lock:
                    self.errors.append(f"{type(error).__name__}: {error}")
        device.close()

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
    given = options.parse_args()
    with tempfile.TemporaryDirectory() as kept:
        names = [f"job-{number}" for number in range(given.jobs)]
        folder = copies_of_case(Path(kept) / "jobs", names)
        with Server(folder, Path(kept) / "state") as server:
            begun, first = time.perf_counter(), server.memory()
            crew = Crew(server, names, given.answers, given.every, given.people)
            people = [
                threading.Thread(target=crew.person, args=(number,), daemon=True) for number in range(given.people)
            ]
            for one in people:
                one.start()
            crew.stop.wait(60 * MOST_MINUTES)
            crew.stop.set()
            for one in people:
                one.join(120)
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
    return 1 if crew.errors else 0


if __name__ == "__main__":
    raise SystemExit(main())
