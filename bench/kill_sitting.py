"""The interview killed at random moments of a sitting: no answer that was read back is lost, no file is half written.

    python bench/kill_sitting.py [--kills 200] [--seed 7]

Each time the real program is started on a job in a terminal of 80 by 24, some answers are typed, and it is killed
(SIGKILL) at a random moment after the last key, between the prompt and well past the next question. Then the job must
read without a fault, hold every answer that the screen read back, word for word, and every one that it held before. A
job whose talk has come to its end is followed by a new one.
"""

from __future__ import annotations

import argparse
import dataclasses
import os
import random
import re
import signal
import sys
import tempfile
import time
from pathlib import Path

from in_a_window import in_a_window

from howdeep.assessment.session import Shop, open_shop
from howdeep.job import write
from howdeep.job.read import read_job
from howdeep.job.sections import section_of
from howdeep.show.answers import echo

QUESTION, MORE, END = "\n> ", "-- Enter = on, q = [a-z ]+ -- ", "Enter = leave[^\n]*: "
ENGINE = "tarn-30"
LONGEST = 0.3
"""Seconds after a key within which the program is killed: longer than it takes to the next question."""
MOST_BEFORE = 4
"""Answers typed before the one that is followed by the kill."""


@dataclasses.dataclass(slots=True)
class Tally:
    """What a number of kills came to."""

    kills: int = 0
    read_back: int = 0
    """Answers that the screen read back."""
    kept: int = 0
    """Of them, those that the job holds."""
    unseen: int = 0
    """Kills after which the job held an answer that the screen had not read back yet: they fell behind the save."""
    jobs: int = 0
    lost: list[str] = dataclasses.field(default_factory=list)
    """What was lost, in words."""


def killed_sittings(shop: Shop, folder: Path, kills: int, rng: random.Random) -> Tally:
    """Kill the interview so many times, and look after the job each time."""
    tally, path = Tally(), folder / "job.yaml"
    titles = {item.title: name for name, item in shop.knowledge.observations.items()}
    before: dict[str, object] = {}
    while tally.kills < kills:
        if not before:
            path.unlink(missing_ok=True)
            write.create(path, write.new_job(ENGINE))
            tally.jobs += 1
        told, ended = _one_sitting(path, rng, "1112d" if before else "134")
        tally.kills += 1
        after = held(shop, path)
        tally.lost += [
            f"kill {tally.kills}: {name} was {value}, is {after.get(name)}"
            for name, value in before.items()
            if after.get(name) != value
        ]
        seen = set()
        for line in told.split("\n")[:-1]:  # the last one may be half of one
            name = titles.get(match.group(1)) if (match := re.match(r"  ([^:]+): ", line)) else None
            if name is None:
                continue
            seen.add(name)
            tally.read_back += 1
            wanted = echo(shop.knowledge.observations[name], after[name]) if name in after else ""
            if wanted.startswith(line.strip()):
                tally.kept += 1
            else:
                tally.lost.append(f"kill {tally.kills}: '{line.strip()}' was read back, on disk: '{wanted}'")
        tally.unseen += bool(after.keys() - before.keys() - seen)
        before = {} if ended else after
    return tally


def held(shop: Shop, path: Path) -> dict[str, object]:
    """The plain answers of a job. Raises HowdeepError where the file is not whole."""
    job = read_job(path, shop.knowledge, shop.folders).job
    return {
        name: value
        for name, item in shop.knowledge.observations.items()
        if (value := getattr(job, section_of(item)).get(name)) is not None
    }


def _one_sitting(path: Path, rng: random.Random, keys: str) -> tuple[str, bool]:
    """(what the screen showed, whether the talk had come to its end) of one sitting that was killed. `keys`: what is
    typed, by chance."""
    child = in_a_window("interview", path)
    told, left, ended = "", rng.randrange(MOST_BEFORE + 1), False
    while not ended:
        found = child.expect([QUESTION, MORE, END])
        told += child.before + child.after
        ended = found == 2
        if found == 0:
            left -= 1
        if left < 0 or ended:
            break
        child.send("\r" if found == 1 else f"{rng.choice(keys)}\r")
    if not ended:
        child.send(f"{rng.choice(keys)}\r")
        time.sleep(rng.uniform(0, LONGEST))
    os.kill(child.pid, signal.SIGKILL)
    try:
        told += child.read()
    except OSError:  # the other end of the terminal is gone with it
        told += child.before or ""
    child.wait()
    assert child.signalstatus == signal.SIGKILL
    return told.replace("\r", ""), ended


def main() -> None:
    """Kill, count, and say what was lost."""
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("--kills", type=int, default=200)
    parser.add_argument("--seed", type=int, default=7)
    options = parser.parse_args()
    with tempfile.TemporaryDirectory() as folder:
        tally = killed_sittings(
            open_shop(example_prices=True), Path(folder), options.kills, random.Random(options.seed)
        )
    print(
        f"{tally.kills} kills in {tally.jobs} jobs: {tally.read_back} answers read back, {tally.kept} of them kept; "
        f"{tally.unseen} kills between a save and its echo; lost: {len(tally.lost)}"
    )
    for text in tally.lost:
        print(f"  {text}")
    sys.exit(bool(tally.lost))


if __name__ == "__main__":
    main()
