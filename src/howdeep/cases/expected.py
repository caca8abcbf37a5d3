"""Whether an answer is what a worked case expects of it."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from itertools import pairwise

from ..errors import nearest
from ..model.expect import Expect
from ..model.knowledge import Knowledge
from ..model.odds import at_least, at_most, odds_words
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
    order = [belief.cause for belief in answer.beliefs]
    odds = {belief.cause: belief.posterior for belief in answer.beliefs}
    present = sorted(order, key=lambda name: -odds[name])  # what may be there stands beside what has a hand in it
    hands = {belief.cause: belief.hand for belief in answer.beliefs}
    shown = ", ".join(f"{name} {hands[name]:.2f}" for name in order[:LEADING])
    certain = {belief.cause for belief in answer.beliefs if belief.hand >= CERTAIN}
    if expect.first and order[0] not in expect.first and not (answer.decision.opened and certain & set(expect.first)):
        yield f"first cause: expected {' or '.join(expect.first)}, found {shown}"
    for name in expect.among_leading:
        if name not in order[:LEADING] and name not in present[:LEADING] and odds.get(name, 0.0) < CERTAIN:
            yield f"among the leading {LEADING}: expected {name} ({odds.get(name, 0):.2f}), found {shown}"
    for name in expect.not_leading:
        if name in order[:CLEARLY_LEADING] and hands[name] >= SUSPECT:
            yield f"not among the leading {CLEARLY_LEADING}: {name}, found {shown}"
    yield from _odds(expect, hands)
    yield from _signs(expect, answer)
    rung = answer.decision.rung
    if expect.scope and rung not in expect.scope:
        yield f"scope: expected {' or '.join(expect.scope)}, found {rung} ({_ladder(answer)})"
    if rung in expect.not_scope:
        yield f"scope: must not be {rung} ({_ladder(answer)})"
    if expect.kind and answer.decision.kind not in expect.kind:
        yield f"kind: expected {' or '.join(expect.kind)}, found {answer.decision.kind}"
    if expect.job and answer.decision.job not in expect.job:
        yield f"job: expected {' or '.join(expect.job)}, found {answer.decision.job}"
    if expect.next_check:
        asked = answer.checks and answer.decision.then == "check_first"
        best = answer.checks[0].check if asked else "quote_now"
        if best not in expect.next_check:
            yield f"next check: expected {' or '.join(expect.next_check)}, found {best}"
    for truth, names in (
        (Truth.PRESENT, expect.present),
        (Truth.ABSENT, expect.absent),
        (Truth.UNKNOWN, expect.unknown),
    ):
        for name in names:
            found = answer.conclusions.findings.get(name)
            if found is not truth:
                yield f"finding {name}: expected {truth.value}, found {found.value if found else 'no such finding'}"
    states = {hold.hold: hold.state for hold in answer.holds}
    for name in expect.held_by:
        if states.get(name) != "stands":
            yield f"hold {name}: expected to stand, found {states.get(name, 'not called for')}"
    for name in expect.not_held_by:
        if states.get(name) == "stands":
            yield f"hold {name}: must not stand"
    invalid = {remark.observation for remark in answer.facts.remarks if remark.kind in ("not valid", "refused")}
    for name in expect.invalid:
        if name not in invalid:
            yield f"not valid: expected {name}, found {', '.join(sorted(invalid)) or 'none'}"
    for name in expect.contradictions:
        if name not in answer.contradictions:
            yield f"contradiction: expected {name}, found {', '.join(answer.contradictions) or 'none'}"
    if expect.straight and answer.contradictions:
        yield f"contradiction: expected none, found {', '.join(answer.contradictions)}"
    work = {entry.operation for entry in answer.works[answer.decision.job].items if not entry.if_found}
    done = (
        work
        if answer.decision.kind != "stop"
        else work
        | {  # to stop weighs the rebuild that is not done
            entry.operation for entry in answer.works["rebuild"].items if not entry.if_found
        }
    )
    for name in expect.operations:
        if name not in done:
            yield f"operation {name}: expected in the work"
    for name in expect.not_operations:
        if name in work:
            yield f"operation {name}: must not be in the work"
    for verdict in expect.worth:
        if verdict not in answer.decision.worth:
            yield f"{verdict}: expected, found {' and '.join(answer.decision.worth) or 'no value stated'}"
    for verdict in expect.not_worth:
        if verdict in answer.decision.worth:
            yield f"{verdict}: must not be said ({answer.decision.beyond})"
    yield from _jobs(expect, answer)
    yield from _work(expect, answer)
    dangers = {danger.subject for danger in answer.decision.dangers}
    for name in expect.dangers:
        if name not in dangers:
            yield f"danger {name}: expected, found {', '.join(sorted(dangers)) or 'none'}"
    for name in expect.not_dangers:
        if name in dangers:
            yield f"danger {name}: must not be said"


def _odds(expect: Expect, hands: Mapping[str, float]) -> Iterator[str]:
    """What is not met of the order and the odds of causes."""
    known = {name for row in expect.likelier for name in row}
    known |= {name for groups in (expect.odds_at_least, expect.odds_at_most) for row in groups.values() for name in row}
    for name in sorted(known - hands.keys()):
        yield f"odds of {name}: this engine has no such cause"
    for row in expect.likelier:
        for name, other in pairwise(row):
            if name in hands and other in hands and not hands[name] > hands[other]:
                yield f"likelier: expected {name} ({hands[name]:.2f}) before {other} ({hands[other]:.2f})"
    for groups, holds, bound in ((expect.odds_at_least, at_least, "least"), (expect.odds_at_most, at_most, "most")):
        for word, row in groups.items():
            for name in row:
                hand = hands.get(name)
                if hand is not None and not holds(hand, word):
                    yield f"odds of {name}: expected at {bound} {word}, found {odds_words(hand)} ({hand:.2f})"


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
    for groups, holds, bound in ((expect.enough_at_least, at_least, "least"), (expect.enough_at_most, at_most, "most")):
        for word, row in groups.items():
            for job in row:
                line = lines.get(job)
                if line is None:
                    yield f"enough {job}: no such job here ({', '.join(lines)})"
                elif not holds(line.enough, word):
                    yield (
                        f"enough {job}: expected at {bound} {word}, found {odds_words(line.enough)} ({line.enough:.2f})"
                    )
    if expect.came_for:
        line = answer.decision.line(answer.decision.job)
        chance = line.enough if line.came_for is None else line.came_for
        if odds_words(chance) not in expect.came_for:
            yield f"came for: expected {' or '.join(expect.came_for)}, found {odds_words(chance)} ({chance:.2f})"
    for job, (least, most) in expect.price.items():
        price = lines[job].price if job in lines else None
        if price is None or not least <= price <= most:
            yield f"price {job}: expected {least:g} to {most:g}, found {price}"
    for job, (least, most) in expect.hours.items():
        work = answer.works.get(job)
        hours = sum(entry.hours for entry in work.items if not entry.if_found) if work else None
        if hours is None or not least <= hours <= most:
            yield f"hours {job}: expected {least:g} to {most:g}, found {hours}"


def _work(expect: Expect, answer: Assessment) -> Iterator[str]:
    """What is not met of parts, cautions, what may turn up, and the work of each depth."""
    work = answer.works[answer.decision.job]
    parts = {line.part for line in work.parts}
    for name in expect.parts:
        if name not in parts:
            yield f"part {name}: expected on the list"
    for name in expect.not_parts:
        if name in parts:
            yield f"part {name}: must not be on the list"
    items = {entry.operation: entry for entry in work.items}
    for name in expect.may_turn_up:
        if name not in items or not items[name].if_found:
            found = ", ".join(key for key, entry in items.items() if entry.if_found) or "none"
            yield f"may turn up: expected {name}, found {found}"
    for name, cautions in expect.cautions.items():
        entry = items.get(name)
        for caution in cautions:
            if entry is None or caution not in entry.cautions:
                found = "not in the work" if entry is None else ", ".join(entry.cautions) or "none"
                yield f"caution {caution} before {name}: expected, found {found}"
    for rungs, wanted in ((expect.work_at, True), (expect.not_work_at, False)):
        for rung, names in rungs.items():
            there = {entry.operation for entry in answer.works[rung].items if not entry.if_found}
            for name in names:
                if (name in there) is not wanted:
                    yield f"work of {rung}: {'expected' if wanted else 'must not hold'} {name}"


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
