"""Outcomes of checks: whether what may be seen covers what the rule base itself predicts."""

from __future__ import annotations

import itertools
from collections.abc import Iterator

from ..model.condition import facts_read
from .base import Check, Complaint
from .subject import Subject

LEAST_COVERED = 0.6


class LowCoverage(Check):
    """The outcomes that a check lists are less than what it may show.

    Why it matters: what no outcome covers counts as no news, so a check that lists too little looks worth less than it
    is, and is offered too late.
    What to do: list the outcome that is missing, usually the sound one ("nothing found").
    Bad: a compression test with the outcomes "low everywhere" and "low on one cylinder".
    Good: the same with "good everywhere", "low on two neighbours" and "low here and there".
    """

    code, severity = "low-coverage", "warning"

    def finalize(self, subject: Subject) -> Iterator[Complaint]:
        covered: dict[str, list[tuple[float, str]]] = {}
        for case in subject.cases or ():
            for check, share in case.covered.items():
                covered.setdefault(check, []).append((share, case.name))
        for name in sorted(covered):
            if name not in subject.knowledge.checks:
                continue
            shares = sorted(covered[name])
            middle = shares[len(shares) // 2][0]
            if middle < LEAST_COVERED:
                yield Complaint(
                    f"checks/{name}",
                    f"its outcomes cover {100 * middle:.0f} % of what is predicted "
                    f"(middle of {len(shares)} cases, least in {shares[0][1]})",
                    "list the outcome that is missing",
                    ("outcomes",),
                )


class SilentOutcome(Check):
    """An outcome that no rule can hear.

    Why it matters: it gives only facts that no condition reads, so it can move no belief: a check ending so was for
    nothing.
    What to do: let a rule read one of its facts, or take the outcome out.
    Bad: an outcome that gives only compression_strokes.
    Good: an outcome that gives compression.level.
    """

    code, severity = "silent-outcome", "warning"

    def finalize(self, subject: Subject) -> Iterator[Complaint]:
        read = {fact for finding in subject.knowledge.findings.values() for fact in facts_read(finding.when)}
        for name, check in subject.knowledge.checks.items():
            for outcome, item in check.outcomes.items():
                if not set(item.facts) & read:
                    yield Complaint(
                        f"checks/{name}",
                        f"no rule reads what the outcome '{outcome}' gives",
                        "let a rule read it, or take it out",
                        ("outcomes", outcome),
                    )


class OverlappingOutcomes(Check):
    """Two outcomes of one check do not exclude each other.

    Why it matters: the value of a check is a sum over outcomes of which only one can happen; where two can, the same
    probability is counted twice and the check looks worth more than it is.
    What to do: give both a fact in which they differ.
    Bad: "low dry" {compression.level: {each: low}} and "comes up wet" {compression.wet_rise_percent: {each: 20}}.
    Good: "low dry, comes up wet" and "low dry, stays down wet", each with both facts.
    """

    code, severity = "overlapping-outcomes", "error"

    def finalize(self, subject: Subject) -> Iterator[Complaint]:
        for name, check in subject.knowledge.checks.items():
            for (first, one), (second, two) in itertools.combinations(check.outcomes.items(), 2):
                if all(one.facts[fact] == two.facts[fact] for fact in one.facts.keys() & two.facts.keys()):
                    yield Complaint(
                        f"checks/{name}",
                        f"the outcomes '{first}' and '{second}' can both be true",
                        "give both a fact in which they differ",
                        ("outcomes", second),
                    )
