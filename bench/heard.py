"""How much of what customers say is heard, and is anything heard that they did not say?

    python bench/heard.py [--of worked|aside|later|country|unseen|all] [--misses] [--json] [--keep] [--speed]

`bench/words` holds what customers of a shop say about their engines, invented, and what a good mechanic takes it to
say (`takes`), might take it to say as well (`may`) and would not (`not`). Two hundred sayings were written in one go,
before any phrase of the rules was read, and parted by lot: *worked* is what phrases and reader were widened on,
*aside* was not run before that was done; *later* are forty more, odder in their wording, written and run when all was
done. *country* are eighty in country speech, written with the phrases known and before they were run, on which phrases
and reader were widened again, and *unseen* forty more, written and run when that was done. Offered is what the first
card of the talk reads back: complaints and answers of the counter, whatever engine they are said of.

Printed: of all that is to be taken the share that is offered, and of all that is offered the share that is neither to
be taken nor might be, over all and by complaint and question. --misses names each, --keep writes the shares as bounds
that the tests hold, --speed times the reading of a long story.
"""

from __future__ import annotations

import argparse
import json
import statistics
import sys
import time
from collections import Counter
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from pathlib import Path

from howdeep.assessment.session import open_shop
from howdeep.files.strict_yaml import read
from howdeep.interview.own_words import complaints_offered, said_in
from howdeep.knowledge.questions import COMPLAINTS
from howdeep.model.knowledge import Knowledge

WORDS = Path(__file__).with_name("words")
SHARES = WORDS / "shares.json"
SETS = ("worked", "aside", "later", "country", "unseen")


@dataclass(frozen=True, slots=True)
class Saying:
    """What one customer says, with what it says as `question=answer`."""

    words: str
    takes: frozenset[str]
    may: frozenset[str]
    never: frozenset[str]
    """What lies near and is not said."""


@dataclass(frozen=True, slots=True)
class Listened:
    """One saying, and what was offered of it."""

    saying: Saying
    heard: frozenset[str]
    missed: frozenset[str]
    wrong: frozenset[str]
    """Offered, though it is neither to be taken nor might be."""
    forbidden: frozenset[str]
    """Of these, what the saying names as not said."""


def sayings(name: str, knowledge: Knowledge) -> tuple[Saying, ...]:
    """The sayings of one set; ValueError names the first that speaks of what the rule base does not know."""
    found = []
    for entry in read(WORDS / f"{name}.yaml").value:
        told = {field: frozenset(entry.get(field, ())) for field in ("takes", "may", "not")}
        for pair in frozenset().union(*told.values()):
            question, _, answer = pair.partition("=")
            item = knowledge.observations.get(question)
            if item is None or answer not in item.answers or item.moment != "talk":
                raise ValueError(f"{name}.yaml, {entry['words']!r}: {pair} is no answer of the counter")
        found.append(Saying(entry["words"], told["takes"], told["may"], told["not"]))
    return tuple(found)


def offered_of(knowledge: Knowledge, words: str) -> frozenset[str]:
    """All that the words offer, as `question=answer`."""
    signs = (
        f"{said.question}={said.answer}"
        for said in said_in(knowledge, words)
        if said.question not in COMPLAINTS and knowledge.observations[said.question].moment == "talk"
    )
    return frozenset((*signs, *(f"complaint={told}" for told in complaints_offered(knowledge, words))))


def implied(knowledge: Knowledge, pairs: Iterable[str]) -> frozenset[str]:
    """What goes without saying once these are said: what the rules say of it, and that what smokes smokes."""
    found = set()
    for pair in pairs:
        question, _, answer = pair.partition("=")
        for name, value in knowledge.observations[question].implies.get(answer, {}).items():
            found.add(f"{name}={value}")
        if question.startswith("smoke_") and answer not in ("none", "no"):
            found.update(("smoke_any=yes", "complaint=smokes"))
    return frozenset(found)


def listen(knowledge: Knowledge, saying: Saying) -> Listened:
    """One saying, read."""
    offered = offered_of(knowledge, saying.words)
    right = saying.takes | saying.may
    wrong = offered - right - implied(knowledge, right)
    return Listened(saying, offered & saying.takes, saying.takes - offered, wrong, offered & saying.never)


def shares(listened: Sequence[Listened]) -> dict[str, float]:
    """Share of what is to be taken that is offered; of what is offered that is wrong; wrong offers in a hundred
    sayings."""
    wanted = sum(len(one.saying.takes) for one in listened)
    heard = sum(len(one.heard) for one in listened)
    wrong = sum(len(one.wrong) for one in listened)
    right = sum(len(offered - one.wrong) for one, offered in ((one, one.heard | one.wrong) for one in listened))
    return {
        "to be taken": wanted,
        "heard": round(heard / wanted, 3),
        "not heard": round(1 - heard / wanted, 3),
        "wrong": round(wrong / max(1, right + wrong), 3),
        "wrong in a hundred sayings": round(100 * wrong / len(listened), 1),
        "named as not said, and offered": sum(len(one.forbidden) for one in listened),
    }


def by_question(listened: Sequence[Listened]) -> list[tuple[str, int, int, int]]:
    """(complaint or question, to be taken, heard, wrong), what is missed most first."""
    wanted, heard, wrong = Counter[str](), Counter[str](), Counter[str]()
    for one in listened:
        for counter, pairs in ((wanted, one.saying.takes), (heard, one.heard), (wrong, one.wrong)):
            counter.update(pair if pair.startswith("complaint=") else pair.split("=")[0] for pair in pairs)
    rows = [(name, wanted[name], heard[name], wrong[name]) for name in wanted | wrong]
    return sorted(rows, key=lambda row: (row[2] - row[1], -row[3], row[0]))


def speed(knowledge: Knowledge) -> tuple[float, float, float]:
    """Milliseconds of processor time: of the first words read, for which all phrases are made ready, and of a long
    story (4000 characters of the sayings) never read before, median and worst of twenty."""
    told = [saying.words for saying in sayings("worked", knowledge)]
    times = []
    for story in ("It smokes.", *(" ".join(told[number:] + told[:number])[:4000] for number in range(20))):
        start = time.process_time()
        offered_of(knowledge, story)
        times.append(1000 * (time.process_time() - start))
    return times[0], statistics.median(times[1:]), max(times[1:])


def main() -> None:
    ask = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    ask.add_argument("--of", choices=(*SETS, "all"), default="all")
    for name in ("misses", "json", "keep", "speed"):
        ask.add_argument(f"--{name}", action="store_true")
    chosen = ask.parse_args()
    knowledge = open_shop().knowledge
    if chosen.speed:
        print("first words {:.0f} ms, a long story {:.1f} ms, {:.1f} ms at most".format(*speed(knowledge)))
        return
    names = SETS if chosen.of == "all" else (chosen.of,)
    found = {name: [listen(knowledge, saying) for saying in sayings(name, knowledge)] for name in names}
    result = {name: shares(listened) for name, listened in found.items()}
    if chosen.keep:
        SHARES.write_text(json.dumps(result, indent=1) + "\n", encoding="utf-8")
    if chosen.json:
        json.dump(result, sys.stdout, indent=1)
        return
    for name, listened in found.items():
        print(f"{name}: " + ", ".join(f"{key} {value}" for key, value in result[name].items()))
        for question, wanted, heard, wrong in by_question(listened):
            print(f"  {question:32} to be taken {wanted:3}  heard {heard:3}  wrong {wrong:3}")
        for one in listened if chosen.misses else ():
            if one.missed or one.wrong:
                print(f"- {one.saying.words}")
                for label, pairs in (("not heard", one.missed), ("WRONG", one.wrong)):
                    if pairs:
                        print(f"    {label}: {', '.join(sorted(pairs))}")


if __name__ == "__main__":
    main()
