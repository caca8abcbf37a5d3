"""Cases: rules that no worked case fires, or that no case finds absent (Wilkins and Buchanan 1986; Barr 1999)."""

from __future__ import annotations

from collections.abc import Iterator

from ..logic.evaluate import evaluate
from ..model.condition import Condition
from ..model.truth import Truth
from .base import Check, Complaint
from .subject import Subject


def truths(subject: Subject, kind: str, condition: Condition) -> set[Truth]:
    """What a condition comes to in the cases; contradictions are read over the answers as given."""
    limits = subject.vocabulary.limits
    if kind == "contradictions":
        return {evaluate(condition, case.given or case.facts, {}, limits) for case in subject.cases or ()}
    return {evaluate(condition, case.facts, case.findings, limits) for case in subject.cases or ()}


def _never(subject: Subject, truth: Truth, add: str) -> Iterator[Complaint]:
    """Every rule that no worked case makes so."""
    if subject.cases is None:
        return
    for name in subject.knowledge.findings:
        if not any(case.findings.get(name) is truth for case in subject.cases):
            yield Complaint(f"findings/{name}", f"no case makes '{name}' {truth.value}", add)
    for kind in ("history", "holds", "contradictions"):
        for name, entry in getattr(subject.knowledge, kind).items():
            if truth not in truths(subject, kind, entry.when):
                yield Complaint(f"{kind}/{name}", f"no case makes '{name}' {truth.value}", add)


class NeverFired(Check):
    """A rule that no worked case makes present.

    Why it matters: nobody has ever seen it work. A misspelt answer or a figure in the wrong unit would pass unnoticed.
    What to do: add a case in which it fires, and expect it there (expect: {present: [...]}).
    Bad: a finding that is absent or unknown in every case.
    Good: one case where it is present, one where it is absent.
    """

    code, severity = "never-fired", "warning"

    def finalize(self, subject: Subject) -> Iterator[Complaint]:
        yield from _never(subject, Truth.PRESENT, "add a case in which it fires")


class NeverSilent(Check):
    """A rule that no worked case makes absent.

    Why it matters: absent means "looked, and not seen", and speaks against the causes. Without a case in which it keeps
    quiet, a rule that fires too easily looks right.
    What to do: add a case where the question is answered the other way, and expect it there (expect: {absent: [...]}).
    Bad: a finding that is present or unknown in every case.
    Good: one case where it is present, one where it is absent.
    """

    code, severity = "never-silent", "warning"

    def finalize(self, subject: Subject) -> Iterator[Complaint]:
        yield from _never(subject, Truth.ABSENT, "add a case in which it keeps quiet")
