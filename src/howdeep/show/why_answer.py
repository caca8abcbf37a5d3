"""Why this answer and no other; whatever else has an id is explained as it is."""

from __future__ import annotations

from ..assessment.explain import Explanation, explain
from ..errors import Fault, HowdeepError, nearest
from ..model.answer_kinds import KINDS
from ..model.knowledge import Knowledge
from ..model.results import Assessment
from ..model.terms import RUNGS
from ..quote.jobs import twins
from .general import LOOK_UP, look_up_lines
from .headline import headline, job_title, work_words
from .reasons import reason_text, reasons_of
from .sentences import flip_lines, lower_first
from .what_next import stage_lines
from .why_figures import figures_words
from .why_job import why_job, why_not_job
from .why_kind import kind_words, why_kind, why_so
from .why_not_kind import why_not_so


def why(knowledge: Knowledge, answer: Assessment, what: str | None) -> Explanation:
    """Explain the answer (nothing named), a kind of answer, a job, or whatever else has an id.

    Raises HowdeepError for a name that is none of these.
    """
    if what is None:
        return why_answer(knowledge, answer)
    name = what.replace("-", "_")
    if name in KINDS:
        return why_kind(knowledge, answer, name)
    rung, _, only = name.partition(":")
    if rung in RUNGS and only in ("", "only"):
        return why_job(knowledge, answer, name)
    try:
        return explain(knowledge, answer, what)
    except HowdeepError as error:
        fault = error.faults[0]
        hint = fault.hint or nearest(what, (*KINDS, *(line.job for line in answer.decision.jobs)))
        raise HowdeepError(Fault("", 0, 0, f"{fault.message}, nor a kind of answer or a job", hint)) from None


def why_answer(knowledge: Knowledge, answer: Assessment) -> Explanation:
    """Why this kind and this job, why no other, and what would change it."""
    decision = answer.decision
    line = decision.line(decision.job)
    says = [*why_kind(knowledge, answer, decision.kind).says]
    if decision.kind != decision.then:
        says += [
            f"Once that is cleared: {lower_first(text)}" if place == 0 else text
            for place, text in enumerate(why_so(knowledge, answer, decision.then))
        ]
    if decision.then != "can_wait":
        says += [f"The job: {lower_first(job_title(knowledge, line))}. {figures_words(answer, line)}"]
        if not line.whole:
            says.append(f"Its work: {work_words(knowledge, answer)}.")
    says += [f"{reason_text(knowledge, reason)}." for reason in reasons_of(knowledge, answer)]
    says += [f"Still to come: {line.told}." for line in stage_lines(knowledge, answer)]
    says += [f"{LOOK_UP}: {text}." for text in look_up_lines(knowledge, answer)]
    not_so = [
        f"Not {kind_words(kind)}: {lower_first(why_not_so(knowledge, answer, kind)[0])}"
        for kind in KINDS
        if kind not in (decision.kind, decision.then)
    ]
    not_so += [
        why_not_job(knowledge, answer, other)
        for other in decision.jobs
        if other.job != decision.job and other.job not in twins(answer)
    ]
    return Explanation(
        "answer",
        decision.kind,
        headline(knowledge, answer, decision.kind),
        tuple(says + not_so),
        (),
        (),
        (),
        (),
        tuple(flip_lines(knowledge, answer.flips)),
    )
