"""How often the printed cause could come first at all, by what the program says of itself and by what the works say.

Two bounds, both from the entries and answers that bench/handbooks.py holds against each other:

*Stated*: the mean of the hand that the program gives its own first cause. A calibrated belief is right as often as it
says, so that no change of the order can come first much oftener with the same facts. It is given apart for entries
that print one cause and for those that print several: where several are printed any of them will do, and the share
may come out above the hand of a single cause.

*Disagreement*: entries that tell the same facts of engines that burn the same fuel, and print different causes. One
answer to those facts can satisfy no more of them than the cause that most of them print.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass

from howdeep.casebook.entries import Entry
from howdeep.knowledge.engine_facts import engine_facts
from howdeep.record.score import wilson

HOW_A_TEST_WAS_MADE = "test_conditions"
"""Group of the questions that say how a test was made: no facts about a fault."""


@dataclass(frozen=True, slots=True)
class Stated:
    """What is stated of the first cause, and what came of it, over some entries."""

    name: str
    count: int
    hand: float
    """Mean hand of the first cause, 0 to 1."""
    first: int
    """Entries in which a printed cause came first."""

    @property
    def interval(self) -> tuple[float, float]:
        """95 % interval (Wilson) of the share that a belief with this mean would come to over so many entries."""
        return wilson(round(self.hand * self.count), self.count)


@dataclass(frozen=True, slots=True)
class Alike:
    """Entries that tell the same facts and do not all print one and the same set of causes."""

    entries: tuple[str, ...]
    causes: tuple[frozenset[str], ...]
    """What each of them prints."""
    at_best: int
    """The most of them that one first cause can satisfy."""


def stated(rows: Sequence[tuple[str, bool, Sequence[tuple[str, float]], int]]) -> tuple[Stated, ...]:
    """Rows of (series, printed cause first, causes with their hands, number of printed causes) -> bounds a series."""
    found = []
    for series in dict.fromkeys(row[0] for row in rows):
        mine = [row for row in rows if row[0] == series]
        parts = {"": mine, ", one cause printed": [row for row in mine if row[3] == 1]}
        parts[", several printed"] = [row for row in mine if row[3] > 1]
        for name, part in parts.items():
            if part:
                hand = sum(row[2][0][1] for row in part if row[2]) / len(part)
                found.append(Stated(series + name, len(part), hand, sum(row[1] for row in part)))
    return tuple(found)


def disagreements(entries: Iterable[Entry], groups: Mapping[str, str]) -> tuple[Alike, ...]:
    """Entries with the same facts and different printed causes; groups: observation -> its group."""
    told: dict[tuple[object, ...], list[Entry]] = defaultdict(list)
    for entry in entries:
        if entry.job is None or not entry.printed.causes:
            continue
        facts = {
            name: value
            for part in (entry.printed.answers, entry.printed.readings, entry.printed.teardown)
            for name, value in part.items()
            if groups[name] != HOW_A_TEST_WAS_MADE
        }
        told[engine_facts(entry.job.engine)["engine.fuel"], repr(sorted(facts.items()))].append(entry)
    found = []
    for same in told.values():
        causes = tuple(frozenset(entry.printed.causes) for entry in same)
        if len(set(causes)) > 1:
            best = max(sum(name in one for one in causes) for name in frozenset().union(*causes))
            found.append(Alike(tuple(entry.name for entry in same), causes, best))
    return tuple(found)


def lines(bounds: Sequence[Stated], alike: Sequence[Alike]) -> Iterable[str]:
    """Both bounds, as lines."""
    yield "Hand that the program gives its own first cause, and how often a printed cause was first:"
    for item in bounds:
        low, high = item.interval
        yield (
            f"  {item.name:26} {item.count:3} entries: stated {100 * item.hand:4.1f} % "
            f"({100 * low:.1f} to {100 * high:.1f}), first {100 * item.first / item.count:4.1f} %"
        )
    count = sum(len(item.entries) for item in alike)
    lost = sum(len(item.entries) - item.at_best for item in alike)
    yield (
        f"\nEntries with the same facts and different printed causes: {count} in {len(alike)} groups; "
        f"{lost} cannot be met."
    )
    for item in alike:
        yield f"  {' = '.join(item.entries)}: one first cause meets {item.at_best} of {len(item.entries)}"
