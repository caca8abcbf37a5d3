"""Which questions count, and with which answer: each question speaks once, and no story is told twice.

- The complaint counts unless what it is about was told in more words (`covers`), or toned down.
- A question that was answered counts with the most alarming of its findings that is present, or as sound.
- An answer that is neither sound nor told by a finding says nothing.
- Within a line of evidence (`rules/lines`) the first listed finding that is present counts; where none is, the first
  listed that is absent.
- What follows from a finding that is present, whatever is behind it, says nothing of its own (an engine that does not
  turn does not run).
- A finding over several readings, unless it is the fault itself, yields where each reading that made it true has a
  question of its own that counts; otherwise it counts, and the telling questions it is made of yield to it.
- A finding over several readings that covers others says nothing where it is absent: the ones it covers say it.
- A fault that shows at one of several places is denied by none of the others once it shows at one.
- What one reading denies of a cause it denies once: a sound answer keeps silent of causes of which another answer of
  the same reading speaks.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace

from ..knowledge.questions import complaint_alone, is_toned_down
from ..logic.evaluate import KLEENE, Kleene, all_kleene, any_kleene, value_test
from ..logic.evidence_lines import count, stories
from ..model.condition import AllOf, Condition, FactTest, FindingTest, Not
from ..model.frozen import dataclass
from ..model.knowledge import Knowledge
from ..model.truth import Truth
from ..model.values import Values
from .evidence import Sign
from .network import Network, Node
from .questions import telling_answers
from .speakers import readings_of


@dataclass(frozen=True, slots=True)
class Signs:
    """What counts, and what was left to others."""

    signs: tuple[Sign, ...]
    """In order of node."""
    present: tuple[str, ...]
    """Findings of the telling signs, in order of id."""
    absent: tuple[str, ...]
    """Findings that the sound signs deny, in order of id."""
    already: dict[str, str]
    """Finding that does not count -> the finding that tells it already."""
    shown_too: tuple[str, ...]
    """Those of `already` that are present."""


def signs_of(network: Network, knowledge: Knowledge, facts: Values, findings: Mapping[str, Truth]) -> Signs:
    """The signs that count. `facts` hold engine facts too."""
    covered = covered_by(knowledge, findings)
    untold = covered.keys() | (complaint_alone(knowledge) if is_toned_down(knowledge, facts) else frozenset())
    findings = {name: Truth.UNKNOWN if name in untold else truth for name, truth in findings.items()}
    named, already = _named(network, findings)
    already |= covered
    told = stories(knowledge)
    heard = _heard(network, knowledge, facts, findings, named)
    several = {
        name
        for name in heard
        if len(network.nodes[number_of(network, name)[0]].readings) > 1 and not knowledge.findings[name].direct
    }
    # two answers as one sign: where they are not both there, each of them says so itself
    silent = {name for name in several if findings[name] is Truth.ABSENT and knowledge.findings[name].covers}
    heard = [name for name in heard if name not in silent]
    several -= silent
    counted = count(told, {name: findings[name] for name in heard if name not in several})
    already |= counted.already
    by_node: dict[int, Sign] = {}
    for name in counted.present:
        node, answer = number_of(network, name)
        by_node[node] = Sign(node, answer)
    denied = {
        *counted.absent,
        *(
            name
            for name, other in counted.already.items()
            if findings[name] is Truth.ABSENT and number_of(network, name)[0] == number_of(network, other)[0]
        ),
    }  # all of its question
    for name in sorted(several, key=lambda name: (len(network.nodes[number_of(network, name)[0]].readings), name)):
        lines = [line for line in told.group_of.get(name, ()) if name in line]
        if findings[name] is Truth.PRESENT:
            _join_story(network, knowledge, facts, findings, name, lines, by_node, already)
        elif not any(
            findings.get(other) is Truth.PRESENT or (other in denied and line.index(other) < line.index(name))
            for line in lines
            for other in line
            if other != name
        ):
            denied.add(name)
    for name in sorted(denied):
        node, answer = number_of(network, name)
        if node not in by_node:
            by_node[node] = Sign(node, 0, denies=(answer,))
        elif by_node[node].answer == 0:
            by_node[node] = replace(by_node[node], denies=tuple(sorted((*by_node[node].denies, answer))))
    signs = _silenced(network, by_node, _shown_elsewhere(network, knowledge, by_node))
    present = tuple(sorted(network.nodes[sign.node].findings[sign.answer - 1] for sign in signs if sign.answer))
    absent = tuple(
        sorted(
            network.nodes[sign.node].findings[answer - 1] for sign in signs if not sign.answer for answer in sign.denies
        )
    )
    already = {name: other for name, other in sorted(already.items()) if name not in present and name not in absent}
    return Signs(
        signs,
        present,
        absent,
        already,
        tuple(name for name in already if name in covered or findings[name] is Truth.PRESENT),
    )


def covered_by(knowledge: Knowledge, findings: Mapping[str, Truth]) -> dict[str, str]:
    """Present finding that follows from another that is present -> that other one."""
    return {
        other: name
        for name in sorted(findings, reverse=True)
        if findings[name] is Truth.PRESENT
        for other in knowledge.findings[name].covers
        if findings.get(other) is Truth.PRESENT
    }


def _named(network: Network, findings: Mapping[str, Truth]) -> tuple[dict[int, int], dict[str, str]]:
    """Question -> its most alarming answer that is present (none: not here), and the findings that lie beneath it."""
    named: dict[int, int] = {}
    already: dict[str, str] = {}
    for number, node in enumerate(network.nodes):
        present = [answer for answer, name in enumerate(node.findings, start=1) if findings.get(name) is Truth.PRESENT]
        if present:
            named[number] = present[-1]
            already.update((node.findings[answer - 1], node.findings[present[-1] - 1]) for answer in present[:-1])
    return named, already


def _heard(
    network: Network, knowledge: Knowledge, facts: Values, findings: Mapping[str, Truth], named: Mapping[int, int]
) -> list[str]:
    """Findings that may count: the one named of each question, and what a sound answer denies."""
    heard = []
    for number, node in enumerate(network.nodes):
        if number in named:
            heard.append(node.findings[named[number] - 1])
        elif _is_sound(knowledge, facts, node):
            heard += [name for name in node.findings if findings.get(name) is Truth.ABSENT]
    return heard


def _is_sound(knowledge: Knowledge, facts: Values, node: Node) -> bool:
    """Whether the answer to a question of one choice is a sound one; questions of several facts always count so."""
    if len(node.question.facts) != 1:
        return True
    fact = node.question.facts[0]
    entry = knowledge.observations.get(fact) or knowledge.reduced.get(fact)
    value = facts.get(fact)
    if entry is None or entry.kind != "choice" or not isinstance(value, str):
        return True
    return value in telling_answers(entry)[0]


def _join_story(
    network: Network,
    knowledge: Knowledge,
    facts: Values,
    findings: Mapping[str, Truth],
    finding: str,
    lines: list[tuple[str, ...]],
    by_node: dict[int, Sign],
    already: dict[str, str],
) -> None:
    """Count a finding over several readings, or leave it to the questions of those readings."""
    limits = {name: limit.value for name, limit in knowledge.limits.items()}
    number, answer = number_of(network, finding)
    node = network.nodes[number]
    present = {_name(network, sign): other for other, sign in by_node.items() if sign.answer}
    before = next((other for line in lines for other in line[: line.index(finding)] if other in present), None)
    if before is not None:
        already[finding] = before
        return
    made_of = readings_of(knowledge, supports(knowledge.findings[finding].when, facts, findings, limits, knowledge))
    made_of &= node.readings
    alone = [other for other in network.nodes if len(other.readings) == 1]
    asked = {reading for reading in made_of if any(other.readings == {reading} for other in alone)}
    told_by = {reading: other for other in by_node for reading in network.nodes[other].readings & made_of}
    answered = {
        reading
        for reading in asked
        if any(
            other.readings == {reading}
            and any(findings.get(name, Truth.UNKNOWN) is not Truth.UNKNOWN for name in other.findings)
            and _tells(knowledge, facts, findings, other)
            for other in alone
        )
    }
    if told_by and asked <= told_by.keys() | answered:
        already[finding] = _name(network, by_node[min(told_by.values())])
        return
    by_node[number] = Sign(number, answer)
    for other in sorted(set(told_by.values())):
        name = _name(network, by_node[other])
        if network.nodes[other].readings <= made_of and not knowledge.findings[name].direct:
            already[name] = finding
            del by_node[other]


def _tells(knowledge: Knowledge, facts: Values, findings: Mapping[str, Truth], node: Node) -> bool:
    """Whether the answer to a question is told by a finding or is a sound one."""
    return any(findings.get(name) is Truth.PRESENT for name in node.findings) or _is_sound(knowledge, facts, node)


def number_of(network: Network, finding: str) -> tuple[int, int]:
    """(node, answer) of a finding."""
    return network.number()[finding]


def _name(network: Network, sign: Sign) -> str:
    return network.nodes[sign.node].findings[sign.answer - 1]


def supports(
    condition: Condition,
    facts: Values,
    findings: Mapping[str, Truth],
    limits: Mapping[str, float],
    knowledge: Knowledge,
) -> frozenset[str]:
    """The facts by which a condition is what it is: those of the parts that settle it."""
    return _supports(condition, facts, findings, limits, knowledge)[1]


def _supports(
    condition: Condition,
    facts: Values,
    findings: Mapping[str, Truth],
    limits: Mapping[str, float],
    knowledge: Knowledge,
) -> tuple[Kleene, frozenset[str]]:
    if isinstance(condition, FactTest):
        value = facts.get(condition.fact)
        truth = None if value is None else value_test(condition, limits)(value)
        return truth, frozenset() if condition.fact.startswith("engine.") else frozenset({condition.fact})
    if isinstance(condition, FindingTest):
        inner = knowledge.findings[condition.finding].when
        return (
            KLEENE[findings.get(condition.finding, Truth.UNKNOWN)],
            _supports(inner, facts, findings, limits, knowledge)[1],
        )
    if isinstance(condition, Not):
        truth, read = _supports(condition.part, facts, findings, limits, knowledge)
        return (None if truth is None else not truth), read
    parts = [_supports(part, facts, findings, limits, knowledge) for part in condition.parts]
    truth = (all_kleene if isinstance(condition, AllOf) else any_kleene)([part for part, _ in parts])
    return truth, frozenset().union(*(read for part, read in parts if part is truth))


def _shown_elsewhere(network: Network, knowledge: Knowledge, by_node: Mapping[int, Sign]) -> Mapping[str, set[int]]:
    """Finding of a place -> numbers of the causes that show at another of their places."""
    present = {network.nodes[number].findings[sign.answer - 1] for number, sign in by_node.items() if sign.answer}
    found: dict[str, set[int]] = {}
    for number, cause in enumerate(network.causes):
        places = knowledge.causes[cause].places
        if present.intersection(places):
            for place in places:
                found.setdefault(place, set()).add(number)
    return found


def _silenced(network: Network, by_node: Mapping[int, Sign], elsewhere: Mapping[str, set[int]]) -> tuple[Sign, ...]:
    """Sound signs made silent of causes of which another sign of the same reading speaks, and of those that show at
    another of their places. Where several sound signs of one reading deny a cause, the strongest of them speaks: a
    reading tells one thing once, and no less than the most telling part of it."""
    spoken: dict[str, set[int]] = {}
    for number, sign in by_node.items():
        if sign.answer:
            for reading in network.nodes[number].readings:
                spoken.setdefault(reading, set()).update(_causes(network.nodes[number]))
    result = [sign for sign in by_node.values() if sign.answer]
    sound = sorted(
        (number for number, sign in by_node.items() if not sign.answer),
        key=lambda number: (len(network.nodes[number].readings), number),
    )
    quiet: dict[int, set[int]] = {}
    claims = []
    for number in sound:
        node = network.nodes[number]
        causes = _causes(node)
        silent = {cause for cause in causes if any(cause in spoken.get(reading, ()) for reading in node.readings)}
        silent |= causes & set.union(set(), *(elsewhere.get(name, set()) for name in node.findings))
        quiet[number] = silent
        for cause in causes - silent:
            claims.append((float(node.at_most[1, cause, 0]), len(node.readings), number, cause))
    denied: dict[str, set[int]] = {}
    for _, _, number, cause in sorted(claims):
        node = network.nodes[number]
        if any(cause in denied.get(reading, ()) for reading in node.readings):
            quiet[number].add(cause)
        else:
            for reading in node.readings:
                denied.setdefault(reading, set()).add(cause)
    for number in sound:
        result.append(replace(by_node[number], silent=frozenset(quiet[number])))
    return tuple(sorted(result, key=lambda sign: sign.node))


def _causes(node: Node) -> set[int]:
    return set((node.at_most[1, :, 0] < 1.0).nonzero()[0].tolist())
