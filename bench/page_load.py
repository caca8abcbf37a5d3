"""Many people at the page at once: real answers that change jobs, over loopback, against the production server.

Each person opens a job, reads the question, answers it and gets the next, with a pause between; a job whose talk is
over is followed by another. The server is the one that `howdeep page` runs, in a process of its own. Reported: errors;
server time of an answer with its next question (the form saved and the page after it, as the server's own clock has it,
whole and of the processor), and of those that end the talk, whose page ranks the checks of the bench; what the person
waited; resident memory before and after.

Usage: python bench/page_load.py [--people 20] [--minutes 3] [--answers 0] [--pause 3]
"""

from __future__ import annotations

import argparse
import http.client
import os
import random
import sys
import tempfile
import threading
import time
from pathlib import Path

sys.path.insert(0, str(Path(__file__).resolve().parents[1]))

from tests.over_http import Client, Server, answer_to, copies_of_case

WARM = 10
"""Answers before the memory is first read: the rule base is loaded and the templates are compiled by then."""
MOST_MINUTES = 15
EVERY = 20
"""Seconds between two looks at the memory."""


class Crowd:
    """People at the page, and what they met."""

    def __init__(self, port: int, jobs: list[str], pause: float, most: int) -> None:
        self.port, self.jobs, self.pause, self.most = port, jobs, pause, most
        self.lock, self.stop = threading.Lock(), threading.Event()
        self.waits: list[float] = []
        self.asked: dict[str, list[bool]] = {}
        """Job -> of each answer in turn, whether another question followed."""
        self.errors: list[str] = []

    def next_job(self) -> str | None:
        with self.lock:
            return self.jobs.pop() if self.jobs else None

    def person(self, number: int) -> None:
        rng, device = random.Random(number), Client(self.port)
        job = self.next_job()
        html = ""
        while job and not self.stop.is_set():
            try:
                if not html:
                    _, _, html = device.send("GET", f"/job/{job}/ask?last=complaint")  # one by one
                fields = answer_to(html, rng)
                if fields is None:
                    job, html = self.next_job(), ""
                    continue
                if self.stop.wait(rng.expovariate(1 / self.pause) if self.pause else 0):
                    break  # not all at once, at the end
                begun = time.perf_counter()
                status, where, told = device.send("POST", f"/job/{job}/answer", fields)
                if status != 303:
                    self.note(f"{fields['question']}: {status} {told[:200]}")
                    html = ""
                    continue
                status, _, html = device.send("GET", where)
                if status != 200:
                    self.note(f"{where}: {status}")
                    html = ""
                    continue
                with self.lock:
                    self.asked.setdefault(job, []).append(answer_to(html, random.Random(0)) is not None)
                    self.waits.append(time.perf_counter() - begun)
                    if self.most and len(self.waits) >= self.most:
                        self.stop.set()
            except (OSError, http.client.HTTPException) as error:
                self.note(f"{type(error).__name__}: {error}")
                html = ""
        device.close()

    def note(self, what: str) -> None:
        with self.lock:
            self.errors.append(what)


def at(values: list[float], share: float) -> float:
    """The value below which a share of the values lies, in ms."""
    ordered = sorted(values) or [0.0]
    return 1000 * ordered[min(len(ordered) - 1, int(share * len(ordered)))]


def server_times(log: Path) -> dict[str, list[tuple[float, float]]]:
    """Job -> (seconds whole, seconds of the processor) of each answer in turn with the page after it."""
    found: dict[str, list[tuple[float, float]]] = {}
    open_ = {}
    for line in log.read_text(encoding="utf-8").splitlines() if log.exists() else ():
        method, path, seconds, processor = line.split()
        job = path.split("/")[2] if path.startswith("/job/") else ""
        if method == "POST" and path.endswith("/answer"):
            open_[job] = (float(seconds), float(processor))
        elif path.endswith("/ask") and job in open_:
            first = open_.pop(job)
            found.setdefault(job, []).append((first[0] + float(seconds), first[1] + float(processor)))
    return found


def main() -> int:
    """Print the figures; 1 where a request failed."""
    options = argparse.ArgumentParser(description=__doc__.partition("\n")[0])
    options.add_argument("--people", type=int, default=20)
    options.add_argument("--minutes", type=float, default=3)
    options.add_argument("--answers", type=int, default=0, help="end after so many answers")
    options.add_argument("--pause", type=float, default=3, help="mean seconds before an answer")
    given = options.parse_args()
    with tempfile.TemporaryDirectory() as kept:
        names = [f"job-{number}" for number in range(max(given.people * 20, given.answers // 5))]
        folder, log = copies_of_case(Path(kept) / "jobs", names), Path(kept) / "times"
        with Server(folder, Path(kept) / "state", log) as server:
            crowd = Crowd(server.port, names, given.pause, given.answers)
            people = [
                threading.Thread(target=crowd.person, args=(number,), daemon=True) for number in range(given.people)
            ]
            for one in people:
                one.start()
            begun = time.perf_counter()
            before, course = 0.0, []
            while (
                any(one.is_alive() for one in people)
                and not crowd.stop.is_set()
                and (time.perf_counter() - begun < 60 * min(given.minutes, MOST_MINUTES))
            ):
                time.sleep(0.2)
                if not before and len(crowd.waits) >= WARM:
                    before = server.memory()
                if time.perf_counter() - begun > EVERY * (len(course) + 1):
                    course.append((len(crowd.waits), server.memory()))
            crowd.stop.set()
            for one in people:
                one.join(120)
            after, seconds = server.memory(), time.perf_counter() - begun
        times = server_times(log)
    print(
        f"{given.people} people, {seconds:.0f} s, {len(crowd.waits)} answers ({len(crowd.waits) / seconds:.1f} a "
        f"second), load of the machine {os.getloadavg()[0]:.1f} on {os.cpu_count()} cores"
    )
    print(f"errors: {len(crowd.errors)}")
    for line in crowd.errors[:10]:
        print(f"  {line}")
    for title, wanted in (("with its next question", True), ("that ends the talk", False)):
        both = [
            pair
            for job, asked in crowd.asked.items()
            for pair, more in zip(times.get(job, ()), asked, strict=False)
            if more is wanted
        ]
        for clock, values in (("whole", [pair[0] for pair in both]), ("processor", [pair[1] for pair in both])):
            print(
                f"an answer {title} ({len(both)}), server, {clock}: p50 {at(values, 0.5):.0f} ms, "
                f"p95 {at(values, 0.95):.0f} ms"
            )
    print(f"waited: p50 {at(crowd.waits, 0.5):.0f} ms, p95 {at(crowd.waits, 0.95):.0f} ms")
    print(f"memory: {before:.0f} MB after {WARM} answers, {after:.0f} MB after {len(crowd.waits)}")
    print("on the way, MB (answers): " + ", ".join(f"{memory:.0f} ({answers})" for answers, memory in course))
    return 1 if crowd.errors else 0


if __name__ == "__main__":
    raise SystemExit(main())
