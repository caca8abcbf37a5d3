"""Why, or why not, one kind of answer."""

from __future__ import annotations

from ..assessment.explain import Explanation
from ..model.answer_kinds import Kind
from ..model.knowledge import Knowledge
from ..model.results import Assessment
from .headline import HEADINGS, job_title
from .sentences import lower_first
from .why_figures import cheapest_job, checks_worth, cost_words, look_at, title_of
from .why_not_kind import why_not_so
from .words import percent


def why_kind(knowledge: Knowledge, answer: Assessment, kind: Kind) -> Explanation:
    """Why, or why not, one kind of answer."""
    decision = answer.decision
    if kind == decision.kind:
        says = [f"This is the answer: {lower_first(HEADINGS[kind])}.", *why_so(knowledge, answer, kind)]
    elif kind == decision.then:
        says = ["It is the answer once what forbids running is cleared.", *why_so(knowledge, answer, kind)]
    elif kind == decision.afterwards:
        says = ["It is the answer once the checks are made, as things stand.", *why_so(knowledge, answer, kind)]
    else:
        says = [f"Not this one: {lower_first(HEADINGS[kind])}.", *why_not_so(knowledge, answer, kind)]
    return Explanation("kind", kind, HEADINGS[kind], tuple(says), (), (), (), ())


def kind_words(kind: Kind) -> str:
    """What 'not' stands before: 'a promise', 'checks first'."""
    return {
        "do_not_run": "'do not run it'",
        "promise": "a promise",
        "check_first": "checks first",
        "look_inside": "a look inside",
        "begin_with": "a beginning",
        "can_wait": "'it can wait'",
        "stop": "'stop'",
    }[kind]


def why_so(knowledge: Knowledge, answer: Assessment, kind: Kind) -> list[str]:
    """Why a kind holds."""
    decision = answer.decision
    line = decision.line(decision.job)
    if kind == "do_not_run":
        return [
            f"{title_of(knowledge, danger.kind, danger.subject)}"
            f"{', seen' if danger.chance >= 1 else f', {percent(danger.chance)}'}: "
            f"{danger.text}"
            for danger in decision.dangers
        ]
    if kind == "promise":
        return [
            f"{job_title(knowledge, line)} is enough in {percent(line.enough)}, and the shop promises from "
            f"{percent(decision.floor)}. In the end it costs {cost_words(answer, line.expected)}, and nothing with "
            "some hope is clearly cheaper.",
            *_nothing_held(answer),
        ]
    if kind == "check_first":
        return [*decision.because[:1], *checks_worth(knowledge, answer)]
    if kind == "look_inside":
        look = look_at(answer, decision.look)
        says = list(decision.because[-1:])
        if look:
            says.append(
                f"Opening so far costs {cost_words(answer, look.price)}, of which {cost_words(answer, look.credit)} is "
                f"credited; in the end {cost_words(answer, look.expected)} is expected."
            )
        return says
    if kind == "begin_with":
        return [
            *decision.because[-1:],
            f"{job_title(knowledge, line)} is enough in {percent(line.enough)}, below the "
            f"{percent(decision.floor)} from which the shop promises."
            if line.enough < decision.floor
            else f"{job_title(knowledge, line)} is enough in {percent(line.enough)}.",
        ]
    if kind == "stop":
        cheapest = cheapest_job(knowledge, answer)
        return [
            *decision.because[-1:],
            f"The way that costs least in the end, {lower_first(job_title(knowledge, cheapest))}, comes to "
            f"{cost_words(answer, cheapest.expected)}; stopping costs the owner {cost_words(answer, decision.stop)}.",
        ]
    return list(decision.because[-1:])


def _nothing_held(answer: Assessment) -> list[str]:
    """That no check stands before a promise; nothing while one does."""
    if answer.decision.then != "promise":
        return []
    if any(hold.state == "waived" for hold in answer.holds):
        return ["The checks that stood before it were waived."]
    return ["No check stands before it, and none that is left would change it."]
