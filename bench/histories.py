"""Random histories of jobs: changed, changed by hand, taken back; the journal replayed gives the file byte for byte.

    python bench/histories.py [--histories 1000] [--rounds 2000] [--seed 1]

Then rounds of two and three programs that write one job at once, some killed and some stopped amid a save: no answer
that was taken may be lost, none written over unseen, and nothing may be left lying about. Engine and answers invented.
"""

from __future__ import annotations

import argparse
import contextlib
import os
import random
import signal
import sys
import tempfile
import time
from multiprocessing import get_context
from pathlib import Path

from howdeep.errors import HowdeepError, StaleFile
from howdeep.files.strict_yaml import read
from howdeep.job import write
from howdeep.job.journal import acting, read_journal, undone
from howdeep.job.take_back import take_back

ANSWERS = {"runs": ("yes", "no"), "smoke_any": ("yes", "no"), "power": ("good", "down_some"), "noise": ("none", "tap")}


def one_history(folder: Path, rng: random.Random) -> str:
    """One job's history; what went wrong, or nothing."""
    path = folder / "job.yaml"
    for old in folder.iterdir():
        old.unlink()
    write.create(path, write.new_job("tarn-30", answers={"runs": "yes"}))
    for _ in range(rng.randint(1, 14)):
        step = rng.random()
        if step < 0.15:
            text = path.read_text(encoding="utf-8")
            path.write_text(f"# {rng.choice(('oil', 'Öl', 'a: b'))}\n{text}", encoding="utf-8")
            continue
        with acting(rng.choice(("anna", "ben"))):
            if step < 0.35 and undone(read_journal(path).lines) is not None:
                try:
                    take_back(path)
                except HowdeepError:
                    continue  # by hand in between: refused, and that is right
            else:
                name = rng.choice(sorted(ANSWERS))
                value = rng.choice((*ANSWERS[name], None, "unknown"))

                def change(plain: dict, name: str = name, value: str | None = value) -> dict:
                    told = {key: item for key, item in (plain.get("answers") or {}).items() if key != name}
                    return {**plain, "answers": {**told, **({name: value} if value else {})}}

                write.save(path, read(path).digest, change)
        if read_journal(path).text.encode() != path.read_bytes():
            return "replayed it gives another file"
    return ""


def writer(path: Path, name: str, count: int, pipe) -> None:
    """Adds its own answers one after the other, again where somebody else was first; says each that was taken."""
    for number in range(count):
        while True:
            try:
                write.save(
                    path,
                    read(path).digest,
                    lambda plain, number=number: {
                        **plain,
                        "answers": {**(plain.get("answers") or {}), f"{name}{number}": "yes"},
                    },
                )
                break
            except (StaleFile, HowdeepError):
                time.sleep(0.001)
        pipe.send(f"{name}{number}")
    pipe.send("")


def one_round(folder: Path, rng: random.Random) -> str:
    """Two or three writers of one job at once, one killed or stopped for a while; what went wrong, or nothing."""
    for old in folder.iterdir():
        old.unlink()
    path = folder / "job.yaml"
    write.create(path, write.new_job("tarn-30"))
    context = get_context("fork")
    running = []
    for name in ("a", "b", "c")[: rng.choice((2, 3))]:
        here, there = context.Pipe(duplex=False)
        process = context.Process(target=writer, args=(path, name, 4, there))
        process.start()
        there.close()
        running.append((process, here))
    time.sleep(rng.uniform(0.0, 0.03))
    victim, fate = rng.choice(running)[0], rng.random()
    with contextlib.suppress(ProcessLookupError):  # it was done before
        if fate < 0.5:
            os.kill(victim.pid, signal.SIGKILL)
        elif fate < 0.8:
            os.kill(victim.pid, signal.SIGSTOP)
            time.sleep(0.01)
            os.kill(victim.pid, signal.SIGCONT)
    taken = set()
    for process, pipe in running:
        try:
            while told := pipe.recv():
                taken.add(told)
        except EOFError:
            pass  # killed
        process.join()
    write.save(path, read(path).digest, lambda plain: {**plain, "title": "after"})
    there = read(path).value.get("answers") or {}
    if lost := taken - there.keys():
        return f"lost: {sorted(lost)}"
    if read_journal(path).text.encode() != path.read_bytes():
        return "replayed the journal gives another file"
    left = sorted(item.name for item in folder.iterdir())
    return "" if left == ["job.journal", "job.yaml"] else f"left over: {left}"


def main() -> int:
    parser = argparse.ArgumentParser(description=__doc__.split("\n")[0])
    parser.add_argument("--histories", type=int, default=1000)
    parser.add_argument("--rounds", type=int, default=2000)
    parser.add_argument("--seed", type=int, default=1)
    options = parser.parse_args()
    faults = 0
    for what, count, step in (("histories", options.histories, one_history), ("rounds", options.rounds, one_round)):
        rng = random.Random(f"{options.seed} {what}")
        with tempfile.TemporaryDirectory() as folder:
            found = [fault for _ in range(count) if (fault := step(Path(folder), rng))]
        faults += len(found)
        print(f"{count} {what}: {len(found)} faults" + "".join(f"\n  {fault}" for fault in found[:10]), flush=True)
    return 1 if faults else 0


if __name__ == "__main__":
    sys.exit(main())
