"""Two signs of one cause never lower it together, unless a fault that explains both takes the blame.

For every question with one telling answer, and for the most telling answer of every other, alone and with every second
one that names the same cause, on every shipped engine: the odds of the cause may not fall by the second sign. Middle
answers are left out: one may well lower a cause that gives the heavier answer. Pairs in one line of evidence, and those
of which one covers the other, are left out too, for only one of them counts.

Explaining away lowers a cause rightly where another one that the first sign names shows the second sign oftener. Each
such second sign stands with a mechanic's reason in `explained_away.yaml`.
"""

from __future__ import annotations

import time
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path

from howdeep.beliefs.evidence import Sign
from howdeep.beliefs.frames import frame_of
from howdeep.beliefs.network import Network
from howdeep.beliefs.waterfall import says_alone, says_together
from howdeep.files.strict_yaml import read
from howdeep.knowledge.engine_facts import engine_facts
from howdeep.model.engine import Engine
from howdeep.model.knowledge import Knowledge

EXCEPTIONS = Path(__file__).with_name("explained_away.yaml")
HAIR = 0.5
"""A fall of no more decibans is a hair: the waterfall names no blame for it either."""


@dataclass(frozen=True, slots=True)
class Lowered:
    """A sign that lowers a cause which it names."""

    engine: str
    first: str
    """The sign that was there before; empty for none."""
    second: str
    cause: str
    falls: float
    """Decibans."""
    rivals: tuple[str, ...]
    """Causes that both signs name and that show the second one oftener."""


def exceptions() -> dict[str, dict]:
    """Second sign -> causes it may lower beside another sign, and why."""
    return dict(read(EXCEPTIONS).value or {})


def lowered(knowledge: Knowledge, engine: str, network: Network, *, part: int = 1) -> Iterator[Lowered]:
    """Every sign that lowers a cause it names by more than half a hair, alone or second; of pairs every `part`-th."""
    words = knowledge.settings.words
    findings, lines = knowledge.findings, {}
    for name, line in knowledge.lines.items():
        for finding in line.findings:
            lines.setdefault(finding, set()).add(name)
    signs = [Sign(number, len(node.findings)) for number, node in enumerate(network.nodes)]
    names = [node.findings[-1] for node in network.nodes]
    alone = [says_alone(network, sign) for sign in signs]
    number = {cause: place for place, cause in enumerate(network.causes)}
    named = [
        {number[cause] for cause, word in findings[name].explained_by.items() if cause in number and word != "never"}
        for name in names
    ]
    for name, says, causes in zip(names, alone, named, strict=True):
        for cause in sorted(causes):
            if says[cause] < -1e-9:
                yield Lowered(engine, "", name, network.causes[cause], float(-says[cause]), ())
    pairs = [
        (one, other)
        for one in range(len(signs))
        for other in range(one + 1, len(signs))
        if named[one] & named[other]
        and not lines.get(names[one], set()) & lines.get(names[other], set())
        and names[one] not in findings[names[other]].covers
        and names[other] not in findings[names[one]].covers
    ]
    for one, other in pairs[::part]:
        together = says_together(network, (signs[one], signs[other]))
        for first, second in ((one, other), (other, one)):
            for cause in sorted(named[one] & named[other]):
                falls = float(alone[first][cause] - together[cause])
                if falls > HAIR / 2:
                    shows = {name: words[word] for name, word in findings[names[second]].explained_by.items()}
                    name = network.causes[cause]
                    rivals = tuple(
                        rival
                        for rival in sorted(findings[names[first]].explained_by)
                        if rival in number and shows.get(rival, 0.0) > shows[name]
                    )
                    yield Lowered(engine, names[first], names[second], name, falls, rivals)


def together(knowledge: Knowledge, engines: dict[str, Engine], *, part: int = 1) -> list[str]:
    """What is wrong: signs that lower a cause without a reason, and (over all pairs) reasons that cover nothing."""
    started = time.perf_counter()
    known, faults, met = exceptions(), [], set()
    found = [
        item
        for name, engine in engines.items()
        for item in lowered(knowledge, name, frame_of(knowledge, engine_facts(engine)), part=part)
    ]
    for item in found:
        met.add((item.second, item.cause))
        if item.first and item.falls <= HAIR:
            continue  # a kept reason is not stale for a hair, and none is needed
        where = f"{item.second}{f' beside {item.first}' if item.first else ''} lowers {item.cause} by {item.falls:.1f}"
        if not item.first:
            faults.append(f"{where}, alone")
        elif not item.rivals:
            faults.append(f"{where}, and nothing that both name explains it")
        elif item.cause not in known.get(item.second, {}).get("lowers", ()):
            faults.append(f"{where}: no reason is kept (does {', '.join(item.rivals)} take the blame?)")
    if part == 1:
        faults += [
            f"explained_away.yaml: {name} lowers {cause} beside nothing any more"
            for name, entry in known.items()
            for cause in entry["lowers"]
            if (name, cause) not in met
        ]
    found = [item for item in found if item.falls > HAIR]
    deepest = max((item.falls for item in found), default=0.0)
    falls = len({(item.first, item.second, item.cause) for item in found})
    print(
        f"together     {falls:,} falls of a cause by a second sign of it (at most {deepest:.1f} decibans), by "
        f"{len({item.second for item in found})} signs; {len(set(faults))} faults; "
        f"{time.perf_counter() - started:.1f} s"
    )
    return sorted(set(faults))


__all__ = ["Lowered", "exceptions", "lowered", "together"]
