"""How much a question could still tell, in money: a measure for choosing among questions that are not yet decisive.

The value of sample information looks one step ahead, and early in an interview no single answer moves the
recommendation, so that every question is worth nothing by it. This measure asks instead how uncertain the causes are
that the question bears on, how strongly it bears on them, and what being wrong about them costs. It only orders
questions and says when to stop; it never enters the recommendation.
"""

from __future__ import annotations

from ..model.condition import facts_read, findings_read
from ..model.knowledge import Knowledge
from ..model.results import Assessment
from ..model.truth import Truth
from ..reasoning.order import once_per_value


@once_per_value(keep=4)
def readers(knowledge: Knowledge) -> dict[str, tuple[str, ...]]:
    """Observation -> findings that its answer can reach, directly, through a reduced fact or through other findings."""
    found: dict[str, set[str]] = {name: set() for name in knowledge.observations}
    for name in knowledge.findings:
        fringe, seen = [name], {name}
        while fringe:
            here = knowledge.findings[fringe.pop()].when
            for fact in facts_read(here):
                taken = knowledge.reduced[fact].taken_from if fact in knowledge.reduced else (fact,)
                for observation in taken:
                    if observation in found:
                        found[observation].add(name)
            for other in findings_read(here) - seen:
                seen.add(other)
                fringe.append(other)
    return {name: tuple(sorted(names)) for name, names in found.items()}


def stakes(answer: Assessment) -> dict[str, float]:
    """Cause -> money at stake on it: the dearest rung that leaves it uncured, less the cheapest, at least a little."""
    prices = {line.rung: float(line.price or 0) for line in answer.decision.ladder}
    top = max(prices.values(), default=0.0) or 1.0
    result = {}
    for belief in answer.beliefs:
        leaving = [prices[line.rung] for line in answer.decision.ladder
                   if any(cause == belief.cause for cause, _ in line.not_cured)]
        result[belief.cause] = max(leaving, default=0.0) + 0.05 * top
    return result


def interest(knowledge: Knowledge, answer: Assessment) -> dict[str, float]:
    """Observation -> how much its answer could still tell, in money; 0 where it can tell nothing new."""
    words = knowledge.settings.words
    odds = {belief.cause: belief.posterior for belief in answer.beliefs}
    at_stake = stakes(answer)
    truths = answer.conclusions.findings
    in_line: dict[str, float] = {}
    for line in knowledge.lines.values():
        for index, name in enumerate(line.findings):
            if any(truths[better] is Truth.PRESENT for better in line.findings[:index]):
                in_line[name] = 0.0  # a more telling sign of the same story is already there
    worth: dict[str, float] = {}
    for name, finding in knowledge.findings.items():
        if truths[name] is not Truth.UNKNOWN or not finding.explained_by:
            continue
        leak = words[finding.otherwise] if finding.otherwise else 0.0
        total = 0.0
        for cause, word in finding.explained_by.items():
            if cause in odds:
                spread = odds[cause] * (1 - odds[cause])
                total += spread * max(0.0, words[word] - leak) ** 2 * at_stake[cause]
        worth[name] = total * in_line.get(name, 1.0)
    return {name: max((worth.get(finding, 0.0) for finding in found), default=0.0)
            for name, found in readers(knowledge).items()}
