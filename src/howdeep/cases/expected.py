"""Whether an answer is what a worked case expects of it."""

from __future__ import annotations

from collections.abc import Collection, Container, Iterable, Iterator, Mapping, Sequence
from decimal import Decimal
from itertools import pairwise

from ..errors import nearest
from ..model.expect import Expect
from ..model.knowledge import Knowledge
from ..model.odds import OddsWord, at_least, at_most, odds_words
from ..model.results import Assessment
from ..model.truth import Truth

LEADING = 5
CLEARLY_LEADING = 3
SUSPECT = 0.35
"""A cause less likely to have a hand in it calls for no work of its own: it leads in name only."""
CERTAIN = 0.9
"""A cause this probable is among the leading ones, however many others are as sure."""
SAYS = 0.05
"""Decibans below which a sign says nothing of a cause."""
CAUSES = ("first", "among_leading", "not_leading", "likelier", "odds_at_least", "odds_at_most", "speaks_for")
FINDINGS = ("present", "absent", "unknown")
OPERATIONS = ("operations", "not_operations", "may_turn_up", "work_at", "not_work_at")


def failed(expect: Expect, answer: Assessment) -> Iterator[str]:
    """Every expectation that the answer does not meet."""
    yield from _leading(expect, answer)
    hands = {belief.cause: belief.hand for belief in answer.beliefs}
    rows = (*expect.likelier, *expect.odds_at_least.values(), *expect.odds_at_most.values())
    for name in sorted({name for row in rows for name in row} - hands.keys()):
        yield f"odds of {name}: this engine has no such cause"
    for row in expect.likelier:
        for name, other in pairwise(row):
            if name in hands and other in hands and not hands[name] > hands[other]:
                yield f"likelier: expected {name} ({hands[name]:.2f}) before {other} ({hands[other]:.2f})"
    yield from _by_word("odds of", expect.odds_at_least, expect.odds_at_most, hands)
    yield from _signs(expect, answer)
    yield from _decided(expect, answer)
    for truth, names in (
        (Truth.PRESENT, expect.present),
        (Truth.ABSENT, expect.absent),
        (Truth.UNKNOWN, expect.unknown),
    ):
        for name in names:
            found = answer.conclusions.findings.get(name)
            if found is not truth:
                yield f"finding {name}: expected {truth.value}, found {found.value if found else 'no such finding'}"
    yield from _told(expect, answer)
    yield from _jobs(expect, answer)
    yield from _work(expect, answer)


def _leading(expect: Expect, answer: Assessment) -> Iterator[str]:
    """What is not met of the causes that lead."""
    order = [belief.cause for belief in answer.beliefs]
    odds = {belief.cause: belief.posterior for belief in answer.beliefs}
    present = sorted(order, key=lambda name: -odds[name])  # what may be there stands beside what has a hand in it
    hands = {belief.cause: belief.hand for belief in answer.beliefs}
    shown = ", ".join(f"{name} {hands[name]:.2f}" for name in order[:LEADING])
    certain = {belief.cause for belief in answer.beliefs if belief.hand >= CERTAIN}
    if not (answer.decision.opened and certain & set(expect.first)):
        yield from _one_of("first cause", expect.first, order[0], shown)
    for name in expect.among_leading:
        if name not in order[:LEADING] and name not in present[:LEADING] and odds.get(name, 0.0) < CERTAIN:
            yield f"among the leading {LEADING}: expected {name} ({odds.get(name, 0):.2f}), found {shown}"
    for name in expect.not_leading:
        if name in order[:CLEARLY_LEADING] and hands[name] >= SUSPECT:
            yield f"not among the leading {CLEARLY_LEADING}: {name}, found {shown}"


def _decided(expect: Expect, answer: Assessment) -> Iterator[str]:
    """What is not met of depth, kind, job, next check and worth of the decision."""
    decision = answer.decision
    yield from _one_of("scope", expect.scope, decision.rung, f"{decision.rung} ({_ladder(answer)})")
    if decision.rung in expect.not_scope:
        yield f"scope: must not be {decision.rung} ({_ladder(answer)})"
    yield from _one_of("kind", expect.kind, decision.kind)
    yield from _one_of("job", expect.job, decision.job)
    asked = answer.checks and decision.then == "check_first"
    yield from _one_of("next check", expect.next_check, answer.checks[0].check if asked else "quote_now")
    found = " and ".join(decision.worth) or "no value stated"
    yield from _held("{}: expected, found " + found, expect.worth, decision.worth)
    yield from _not_held(f"{{}}: must not be said ({decision.beyond})", expect.not_worth, decision.worth)
    line = decision.line(decision.job)
    chance = line.enough if line.came_for is None else line.came_for
    word = odds_words(chance)
    yield from _one_of("came for", expect.came_for, word, f"{word} ({chance:.2f})")


def _told(expect: Expect, answer: Assessment) -> Iterator[str]:
    """What is not met of holds, readings that do not count, contradictions and dangers."""
    states = {hold.hold: hold.state for hold in answer.holds}
    standing = {name for name, state in states.items() if state == "stands"}
    for name in expect.held_by:
        if name not in standing:
            yield f"hold {name}: expected to stand, found {states.get(name, 'not called for')}"
    yield from _not_held("hold {}: must not stand", expect.not_held_by, standing)
    invalid = {remark.observation for remark in answer.facts.remarks if remark.kind in ("not valid", "refused")}
    yield from _held("not valid: expected {}, found " + _list(sorted(invalid)), expect.invalid, invalid)
    against = answer.contradictions
    yield from _held("contradiction: expected {}, found " + _list(against), expect.contradictions, against)
    if expect.straight and against:
        yield f"contradiction: expected none, found {_list(against)}"
    dangers = {danger.subject for danger in answer.decision.dangers}
    yield from _held("danger {}: expected, found " + _list(sorted(dangers)), expect.dangers, dangers)
    yield from _not_held("danger {}: must not be said", expect.not_dangers, dangers)


def _signs(expect: Expect, answer: Assessment) -> Iterator[str]:
    """What is not met of what each sign says by itself, in decibans of the odds of a cause."""
    says = {
        (step.label, belief.cause): step.alone
        for belief in answer.beliefs
        for step in belief.steps
        if step.kind == "present" and step.alone is not None
    }
    for sign, causes in expect.speaks_for.items():
        for cause in causes:
            if (found := says.get((sign, cause), 0.0)) < SAYS:
                yield f"{sign} speaks for: expected {cause}, found {found:.1f} decibans"
    for sign, rows in expect.speaks_rather_for.items():
        for cause, others in rows.items():
            more = says.get((sign, cause), 0.0)
            for other in others:
                if more <= (less := says.get((sign, other), 0.0)):
                    yield f"{sign} speaks rather for: expected {cause} ({more:.1f} decibans) than {other} ({less:.1f})"


def _jobs(expect: Expect, answer: Assessment) -> Iterator[str]:
    """What is not met of chances, prices and hours of jobs."""
    lines = {line.job: line for line in answer.decision.jobs}
    named = {
        job for groups in (expect.enough_at_least, expect.enough_at_most) for row in groups.values() for job in row
    }
    for job in sorted(named - lines.keys()):
        yield f"enough {job}: no such job here ({', '.join(lines)})"
    enough = {job: line.enough for job, line in lines.items()}
    yield from _by_word("enough", expect.enough_at_least, expect.enough_at_most, enough)
    yield from _between("price", expect.price, {job: line.price for job, line in lines.items()})
    hours = {job: sum(entry.hours for entry in work.items if not entry.if_found) for job, work in answer.works.items()}
    yield from _between("hours", expect.hours, hours)


def _work(expect: Expect, answer: Assessment) -> Iterator[str]:
    """What is not met of operations, parts, cautions, what may turn up, and the work of each depth."""
    decision, work = answer.decision, answer.works[answer.decision.job]
    items = {entry.operation: entry for entry in work.items}
    sure = _sure(answer, decision.job)
    done = sure | _sure(answer, "rebuild") if decision.kind == "stop" else sure  # stopping weighs what is not done
    yield from _held("operation {}: expected in the work", expect.operations, done)
    yield from _not_held("operation {}: must not be in the work", expect.not_operations, sure)
    parts = {line.part for line in work.parts}
    yield from _held("part {}: expected on the list", expect.parts, parts)
    yield from _not_held("part {}: must not be on the list", expect.not_parts, parts)
    perhaps = [key for key, entry in items.items() if entry.if_found]
    yield from _held("may turn up: expected {}, found " + _list(perhaps), expect.may_turn_up, perhaps)
    for name, cautions in expect.cautions.items():
        entry = items.get(name)
        found = "not in the work" if entry is None else _list(entry.cautions)
        there = () if entry is None else entry.cautions
        yield from _held(f"caution {{}} before {name}: expected, found {found}", cautions, there)
    for rung, names in expect.work_at.items():
        yield from _held(f"work of {rung}: expected {{}}", names, _sure(answer, rung))
    for rung, names in expect.not_work_at.items():
        yield from _not_held(f"work of {rung}: must not hold {{}}", names, _sure(answer, rung))


def _sure(answer: Assessment, job: str) -> set[str]:
    """Operations of a job that it holds whatever is found."""
    return {entry.operation for entry in answer.works[job].items if not entry.if_found}


def _list(names: Collection[str]) -> str:
    return ", ".join(names) or "none"


def _held(said: str, names: Iterable[str], there: Container[str]) -> Iterator[str]:
    """What is said, `{}` being the name, of every name that is not there."""
    return (said.replace("{}", name) for name in names if name not in there)


def _not_held(said: str, names: Iterable[str], there: Container[str]) -> Iterator[str]:
    """The same of every name that is there."""
    return (said.replace("{}", name) for name in names if name in there)


def _one_of(what: str, wanted: Sequence[str], found: str, told: str = "") -> Iterator[str]:
    """One fault where something is wanted and what was found is none of it; `told`: what was found, in more words."""
    if wanted and found not in wanted:
        yield f"{what}: expected {' or '.join(wanted)}, found {told or found}"


def _by_word(
    what: str,
    least: Mapping[OddsWord, Iterable[str]],
    most: Mapping[OddsWord, Iterable[str]],
    chances: Mapping[str, float],
) -> Iterator[str]:
    """What of some chances is not at least, or not at most, what a word of the scale of odds means; a name without a
    chance is passed over. `least`, `most`: word -> names."""
    for groups, holds, bound in ((least, at_least, "least"), (most, at_most, "most")):
        for word, names in groups.items():
            for name in names:
                chance = chances.get(name)
                if chance is not None and not holds(chance, word):
                    yield f"{what} {name}: expected at {bound} {word}, found {odds_words(chance)} ({chance:.2f})"


def _between(
    what: str, ranges: Mapping[str, tuple[float, float]], found: Mapping[str, float | Decimal | None]
) -> Iterator[str]:
    """What of some amounts is not there or out of its range. `ranges`: name -> least and most."""
    for name, (least, most) in ranges.items():
        amount = found.get(name)
        if amount is None or not least <= amount <= most:
            yield f"{what} {name}: expected {least:g} to {most:g}, found {amount}"


def misnamed(expect: Expect, knowledge: Knowledge) -> Iterator[str]:
    """Names of an expectation that the rule base does not have: one that must not be so would hold unseen."""
    for kind, known, names in (
        ("cause", knowledge.causes, (*_flat(expect, CAUSES), *_rather(expect))),
        ("finding", knowledge.findings, (*_flat(expect, FINDINGS), *expect.speaks_for, *expect.speaks_rather_for)),
        ("hold", knowledge.holds, _flat(expect, ("held_by", "not_held_by"))),
        ("contradiction", knowledge.contradictions, expect.contradictions),
        ("observation", knowledge.observations, expect.invalid),
        ("operation", knowledge.operations, (*_flat(expect, OPERATIONS), *expect.cautions)),
        ("part", knowledge.parts, _flat(expect, ("parts", "not_parts"))),
        ("caution", knowledge.cautions, _flat(expect, ("cautions",))),
        ("finding or cause", {*knowledge.findings, *knowledge.causes}, _flat(expect, ("dangers", "not_dangers"))),
    ):
        for name in names:
            if name not in known:
                yield f"expect: no {kind} '{name}' {nearest(name, known)}".rstrip()


def _rather(expect: Expect) -> Iterator[str]:
    """Every cause named in what signs speak rather for."""
    for rows in expect.speaks_rather_for.values():
        for cause, others in rows.items():
            yield from (cause, *others)


def _flat(expect: Expect, fields: tuple[str, ...]) -> tuple[str, ...]:
    """Every name in some fields of an expectation, whatever their shape."""
    rows = [
        value.values() if isinstance(value, dict) else (value,) for value in (getattr(expect, key) for key in fields)
    ]
    return tuple(
        name for row in rows for item in row for part in item for name in ((part,) if isinstance(part, str) else part)
    )


def _ladder(answer: Assessment) -> str:
    return ", ".join(
        f"{line.rung} {line.enough:.2f}" + (f" {line.expected:.0f}" if line.expected is not None else "")
        for line in answer.decision.ladder
    )
