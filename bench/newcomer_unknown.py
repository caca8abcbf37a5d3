"""Newcomers replayed in a pseudo-terminal of 80 by 24, and counted.

Usage: python bench/newcomer_unknown.py

An engine that nobody knows, from the first prompt to a first answer: how many prompts were answered until the interview
named a scope with the chance that it is enough. Every way of saying what is known is replayed, "don't know" as well.
"""

from __future__ import annotations

import sys
import tempfile
from dataclasses import dataclass
from pathlib import Path

import pexpect
from in_a_window import in_a_window

MOST_PROMPTS = 11
"""An answer comes in under twelve prompts."""
PROMPTS = (
    r"Engine \(number or name\): ",
    r"telephone \(may stay empty\): ",
    r"own words: ",
    r"sea level\): ",
    r"engine> ",
    r"\r\n> ",
)
ANSWER = r"now: [A-Za-z][^>]*?enough"
ENGINE, NAME, WORDS, HEIGHT, ON_ENGINE, QUESTION = range(len(PROMPTS))


@dataclass(frozen=True, slots=True)
class Newcomer:
    """What somebody answers: to the first prompt, to the questions on the engine, and to the questions after it."""

    title: str
    engine: tuple[str, ...]
    on_engine: tuple[str, ...]
    answers: tuple[str, ...]


HEARD = ("y", "4", "2", "2", "2", "1")
"""That so it is, and what is asked after it."""
UNKNOWN_ENGINES = (
    Newcomer("nobody knows anything of it", ("unknown",), ("d",), HEARD),
    Newcomer("a few words say it", ("unknown",), ("petrol four, flathead, tractor, radiator, 1930s",), HEARD),
    Newcomer("the first prompt is told what is known", ("petrol four side valve tractor pump 1948",), (), HEARD),
    Newcomer("only the kind is known", ("marine diesel four",), ("1970s", "d", "d"), HEARD),
    Newcomer("the name is misspelt, then given up", ("skery-7", "0"), ("diesel twin in a boat, 1970s",), HEARD),
)


@dataclass(frozen=True, slots=True)
class Replayed:
    """How one session went."""

    prompts: int
    """Prompts answered until the first answer; of those on the engine too."""
    on_engine: int
    answered: bool
    screen: str


def replay(newcomer: Newcomer, path: Path, *, most: int = 40) -> Replayed:
    """Answer prompts until a first answer stands on the screen, `most` prompts at most."""
    child = in_a_window("interview", path, timeout=120)
    given = {
        ENGINE: list(newcomer.engine),
        NAME: ["Ann O., 555 0101"],
        WORDS: ["it smokes blue and uses oil"],
        HEIGHT: [""],
        ON_ENGINE: list(newcomer.on_engine),
        QUESTION: list(newcomer.answers),
    }
    shown, prompts, on_engine, answered = "", 0, 0, False
    while prompts < most:
        seen = child.expect([*PROMPTS, ANSWER, pexpect.EOF])
        shown += child.before + (child.after if isinstance(child.after, str) else "")
        if seen >= len(PROMPTS):
            answered = seen == len(PROMPTS)
            break
        prompts += 1
        on_engine += seen == ON_ENGINE
        child.sendline(given[seen].pop(0) if given[seen] else "d" if seen == QUESTION else "")
    child.close(force=True)
    return Replayed(prompts, on_engine, answered, shown)


def unknown_engine(folder: Path) -> int:
    """Replay every newcomer with an unknown engine and print the counts; the number that took too many prompts."""
    failed = 0
    for number, newcomer in enumerate(UNKNOWN_ENGINES):
        went = replay(newcomer, folder / f"job-{number}.yaml")
        good = went.answered and went.prompts <= MOST_PROMPTS
        failed += not good
        print(
            f"{newcomer.title}: {went.prompts} prompts to a first answer, {went.on_engine} of them on the engine"
            + ("" if good else "  TOO MANY" if went.answered else "  NO ANSWER"),
            flush=True,
        )
    return failed


def main() -> int:
    """Replay the sessions; 1 where one took too long."""
    with tempfile.TemporaryDirectory() as folder:
        failed = unknown_engine(Path(folder))
    return int(bool(failed))


if __name__ == "__main__":
    sys.exit(main())
