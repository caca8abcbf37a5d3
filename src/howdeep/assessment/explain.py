"""Why: from a cause, finding, operation, hold or rung down to the answers given, the rules and their sources."""

from __future__ import annotations

from collections.abc import Iterable
from typing import Protocol

from ..beliefs.waterfall import BROUGHT_IN
from ..errors import Fault, HowdeepError, nearest
from ..knowledge.engine_facts import engine_facts
from ..logic.applicability import applies
from ..logic.proof import Branch, chain, why_not
from ..model.causes import Cause
from ..model.frozen import dataclass
from ..model.knowledge import Knowledge
from ..model.operations import Operation
from ..model.results import Assessment, Belief, WaterfallStep
from ..model.sources import Source
from ..model.terms import DEPTH, rung_named
from ..model.truth import Truth


@dataclass(frozen=True, slots=True)
class Explanation:
    """One thing explained."""

    kind: str
    """answer, kind, job, cause, finding, operation, hold, check, rung or observation."""
    id: str
    title: str
    says: tuple[str, ...]
    """Sentences, the conclusion first."""
    steps: tuple[WaterfallStep, ...]
    """For a cause: the way from base odds to the odds now, in decibans."""
    chains: tuple[Branch, ...]
    """Down to answers and readings."""
    open: tuple[str, ...]
    """Questions not asked that bear on it, as 'id: title'."""
    sources: tuple[str, ...]
    """Sources of the statements used."""
    changes: tuple[str, ...] = ()
    """For an answer: what would change it, as sentences."""


LIKELIEST = 3
"""Outcomes of a check that are told."""
UNPUBLISHED = {
    "common practice": "common practice, no source",
    "judgement": "our judgement, no source",
    "memory": "from memory, no source",
}
"""Standing of what nobody published -> its words."""


def source_text(knowledge: Knowledge, source: Source) -> str:
    """One source in words, with its standing."""
    if source.standing != "published":
        return UNPUBLISHED[source.standing]
    work = knowledge.sources[source.of]
    parts = (work.number,) if work.number and work.number in work.title else (work.number, work.title)
    named = " ".join(filter(None, parts))
    return ", ".join(
        part
        for part in (f"published: {work.author}" if work.author else "published", named, work.year, source.where)
        if part
    )


class Sourced(Protocol):
    """An entry that says where it comes from."""

    @property
    def source(self) -> tuple[Source, ...]: ...


def _sources(knowledge: Knowledge, entries: Iterable[Sourced]) -> tuple[str, ...]:
    seen = dict.fromkeys(source_text(knowledge, source) for entry in entries for source in entry.source)
    return tuple(seen)


def explain(knowledge: Knowledge, answer: Assessment, what: str | None) -> Explanation:
    """Explain `what` (an id); without it, the leading cause. Raises HowdeepError for an id that is nothing here."""
    if what is None:
        what = answer.beliefs[0].cause
    kinds = {
        "causes": _cause,
        "findings": _finding,
        "operations": _operation,
        "holds": _hold,
        "checks": _check,
        "scopes": _rung,
    }
    for kind, function in kinds.items():
        if what in getattr(knowledge, kind):
            return function(knowledge, answer, what)
    if what in knowledge.observations:
        return _observation(knowledge, answer, what)
    known = [name for kind in (*kinds, "observations") for name in getattr(knowledge, kind)]
    raise HowdeepError(
        Fault(
            "",
            0,
            0,
            f"there is no cause, finding, operation, hold, check, rung or observation '{what}'",
            nearest(what, known),
        )
    )


def _cause(knowledge: Knowledge, answer: Assessment, name: str) -> Explanation:
    cause = knowledge.causes[name]
    belief = next((belief for belief in answer.beliefs if belief.cause == name), None)
    if belief is None:
        return Explanation(
            "cause",
            name,
            cause.title,
            ("This engine cannot have it, by the way it is built.",),
            (),
            (),
            (),
            _sources(knowledge, [cause]),
        )
    told = _told(knowledge, answer, belief, name)
    says = [
        f"Believed at {100 * belief.posterior:.1f} %; before any sign {100 * belief.prior:.1f} %, for engines of this "
        f"kind and history.",
        cause.because,
    ]
    says += [
        f"{knowledge.findings[name_].title}: already counted, {knowledge.findings[by].title.lower()} tells the "
        "same story"
        for name_, by in sorted(answer.counted.already.items())
        if name in knowledge.findings[name_].explained_by
    ]
    chains = tuple(chain(knowledge, answer.conclusions, answer.facts, label) for label in told)
    silent = [
        key
        for key, finding in knowledge.findings.items()
        if name in finding.explained_by and answer.conclusions.findings[key] is Truth.UNKNOWN
    ]
    wanted = dict.fromkeys(question for key in silent for question in _questions(knowledge, answer, key))
    return Explanation(
        "cause",
        name,
        cause.title,
        tuple(says),
        belief.steps,
        chains,
        tuple(wanted),
        _sources(knowledge, [cause, *(knowledge.findings[label] for label in told)]),
    )


def _told(knowledge: Knowledge, answer: Assessment, belief: Belief, cause: str) -> list[str]:
    """Findings that stand in a cause's way from base odds to the odds now; where the present ones are too many to be
    told one by one, all of them that speak of it."""
    told = [step.label for step in belief.steps if step.kind in ("present", "absent") and step.label != BROUGHT_IN]
    if all(label in knowledge.findings for label in told):
        return told
    return list(
        dict.fromkeys(
            [
                *(label for label in told if label in knowledge.findings),
                *(name for name in answer.counted.present if cause in knowledge.findings[name].explained_by),
            ]
        )
    )


def _questions(knowledge: Knowledge, answer: Assessment, finding: str) -> list[str]:
    """Observations whose answers would decide a finding that is unknown."""
    result = []
    built = engine_facts(answer.job.engine)
    for part in why_not(knowledge, answer.conclusions, answer.facts, finding).leaves():
        if (
            part.kind == "unknown"
            and part.subject in knowledge.observations
            and applies(knowledge.observations[part.subject], built)
        ):
            result.append(f"{part.subject}: {knowledge.observations[part.subject].title}")
    return result


def _finding(knowledge: Knowledge, answer: Assessment, name: str) -> Explanation:
    finding = knowledge.findings[name]
    truth = answer.conclusions.findings[name]
    says = [f"{truth.value.capitalize()}.", finding.because, f"Fooled by: {finding.fooled_by}"]
    if name in answer.counted.already:
        says.append(f"Already counted: {knowledge.findings[answer.counted.already[name]].title} tells the same story.")
    if finding.explained_by:
        says.append(
            "How often it is seen with: "
            + "; ".join(
                f"{knowledge.causes[cause].title.lower()}: {word}" for cause, word in finding.explained_by.items()
            )
            + f"; with none of these: {finding.otherwise}."
        )
    tree = (chain if truth is Truth.PRESENT else why_not)(knowledge, answer.conclusions, answer.facts, name)
    return Explanation(
        "finding",
        name,
        finding.title,
        tuple(says),
        (),
        (tree,),
        tuple(_questions(knowledge, answer, name)) if truth is Truth.UNKNOWN else (),
        _sources(knowledge, [finding]),
    )


def _operation(knowledge: Knowledge, answer: Assessment, name: str) -> Explanation:
    operation = knowledge.operations[name]
    rung = answer.decision.rung
    held = (*answer.works[answer.decision.job].items, *answer.works[rung].items)  # of the job, else of its package
    entry = next((item for item in held if item.operation == name), None)
    says, chains = [operation.plain], []
    entries: list[Operation | Cause] = [operation]
    if entry is None:
        says.insert(0, f"Not part of {knowledge.scopes[rung].title.lower()} for this job.")
    elif entry.if_found:
        says.insert(0, f"Only if found: the chance that it is needed is {100 * entry.chance:.0f} %.")
    for reason in entry.because if entry else ():
        kind, _, subject = reason.partition("/")
        if kind == "causes":
            belief = next(belief for belief in answer.beliefs if belief.cause == subject)
            says.append(
                f"It cures {knowledge.causes[subject].title.lower()}, believed at {100 * belief.posterior:.0f} %."
            )
            entries.append(knowledge.causes[subject])
            chains += [
                chain(knowledge, answer.conclusions, answer.facts, label)
                for label in _told(knowledge, answer, belief, subject)
                if answer.conclusions.findings[label] is Truth.PRESENT
            ]
        elif kind == "observations":
            says.append(
                f"The engine stands open already, for '{knowledge.observations[subject].title.lower()}' was "
                "taken, and has to be put together again."
            )
        elif kind == "scopes":
            says.append(f"General rule: it always belongs to {knowledge.scopes[rung_named(subject)].title.lower()}.")
        elif subject != name:
            says.append(
                f"General rule: it comes with '{knowledge.operations[subject].title.lower()}' once this far in."
            )
        elif operation.ends_job:
            says.append("General rule: a job that runs the engine ends with its start and proof.")
        else:
            says.append("Called for by its own condition, which the findings meet.")
    return Explanation(
        "operation",
        name,
        operation.title,
        tuple(says),
        (),
        tuple(dict.fromkeys(chains)),
        (),
        _sources(knowledge, entries),
    )


def _hold(knowledge: Knowledge, answer: Assessment, name: str) -> Explanation:
    hold = knowledge.holds[name]
    state = next((item for item in answer.holds if item.hold == name), None)
    check = knowledge.checks.get(hold.check) or knowledge.observations[hold.check]
    said = {
        None: "Not called for by the signs in this job.",
        "stands": f"It stands until this is done: {check.title}.",
        "cleared": f"Cleared: {check.title} was done.",
        "waived": "Waived in writing.",
        "too late": f"The engine stands open; {check.title} was never done.",
    }
    return Explanation(
        "hold",
        name,
        hold.title,
        (said[state.state if state else None], hold.because),
        (),
        (),
        (),
        _sources(knowledge, [hold]),
    )


def _check(knowledge: Knowledge, answer: Assessment, name: str) -> Explanation:
    check = knowledge.checks[name]
    made = [item for item in check.observations if item in answer.job.values]
    value = next((item for item in answer.checks if item.check == name), None)
    if value is not None:
        says = [
            f"It takes {value.minutes:.0f} minutes and parts the suspects by {value.parts:.2f} bits; by what it may "
            f"change it saves {value.gain:,.0f} {answer.decision.currency} on average and costs {value.cost:,.0f}."
        ]
        likely = sorted(value.outcomes, key=lambda item: (-item.chance, item.title))[:LIKELIEST]
        says += [f"Likely: {item.title.lower()} ({100 * item.chance:.0f} %)." for item in likely]
    elif len(made) == len(check.observations):
        says = ["It was made."]
    else:
        says = ["It cannot be made now, is worth next to nothing, or part of it was made already."]
    open_ = [f"{item}: {knowledge.observations[item].title}" for item in check.observations if item not in made]
    return Explanation(
        "check", name, check.title, (*says, check.because), (), (), tuple(open_), _sources(knowledge, [check])
    )


def _rung(knowledge: Knowledge, answer: Assessment, name: str) -> Explanation:
    rung = rung_named(name)
    scope = knowledge.scopes[rung]
    line = next(line for line in answer.decision.ladder if line.rung == rung)
    says = [
        scope.plain,
        f"The chance that it is enough is {100 * line.enough:.1f} %, and "
        f"that no fault at all is left, {100 * line.every:.1f} %.",
    ]
    if line.expected is not None:
        says.append(
            f"It costs {line.price:,.0f} to begin with, {line.growth:,.0f} on average for growth seen at "
            f"teardown and {line.comeback:,.0f} for comebacks: {line.expected:,.0f} {answer.decision.currency} "
            "in the end."
        )
    if line.not_cured:
        says.append(
            "It does not cure: "
            + "; ".join(
                f"{knowledge.causes[cause].title.lower()} ({100 * odds:.0f} %)" for cause, odds in line.not_cured[:6]
            )
            + "."
        )
    if rung == answer.decision.rung:
        says.insert(0, "Recommended.")
    elif DEPTH[rung] < DEPTH[answer.decision.rung]:
        says.insert(0, "Shallower than recommended.")
    else:
        says.insert(0, "Deeper than recommended.")
    return Explanation("rung", name, scope.title, tuple(says), (), (), (), ())


def _observation(knowledge: Knowledge, answer: Assessment, name: str) -> Explanation:
    item = knowledge.observations[name]
    value = answer.job.values.get(name)
    says = [f"Answered: {value}." if value is not None else "Not answered.", item.ask]
    says += [f"{remark.kind}: {remark.text}" for remark in answer.facts.remarks if remark.observation == name]
    read = [firing.rule for firing in answer.conclusions.firings if any(fact == name for fact, _ in firing.matched)]
    says += [
        f"Read by: {knowledge.findings[rule].title} ({answer.conclusions.findings[rule].value})."
        for rule in dict.fromkeys(read)
    ]
    return Explanation("observation", name, item.title, tuple(says), (), (), (), _sources(knowledge, [item]))
