"""Why another kind of answer does not hold, by the figures that the decision used."""

from __future__ import annotations

from collections.abc import Callable
from decimal import Decimal

from ..decision.recommend import SHALLOW
from ..model.answer_kinds import Kind
from ..model.knowledge import Knowledge
from ..model.results import Assessment
from ..model.terms import DEPTH
from ..pricing.money import known
from ..quote.jobs import anything_noticed
from .headline import job_title
from .sentences import lower_first
from .why_figures import (
    NAMED,
    cheapest_job,
    check_words,
    checks_worth,
    cost_words,
    job_reaching,
    least_price,
    net_of,
    title_of,
)
from .words import minutes, parts_words, percent

DEEP = DEPTH["refresh"]
"""From this rung on a job is not promised unseen unless the odds are firm."""


def why_not_so(knowledge: Knowledge, answer: Assessment, kind: Kind) -> list[str]:
    """Why another kind does not hold, by the figures."""
    ways: dict[Kind, Callable[[Knowledge, Assessment], list[str]]] = {
        "do_not_run": _not_dangerous,
        "promise": _no_promise,
        "check_first": _no_check,
        "look_inside": _no_look,
        "begin_with": _no_beginning,
        "can_wait": _cannot_wait,
        "stop": _no_stop,
    }
    return ways[kind](knowledge, answer)


def _not_dangerous(knowledge: Knowledge, answer: Assessment) -> list[str]:
    likeliest = max(
        (
            (belief.hand, belief.cause)
            for belief in answer.beliefs
            if knowledge.causes[belief.cause].run_on == "dangerous"
        ),
        default=None,
    )
    if answer.decision.dangers:
        named = "; ".join(
            lower_first(title_of(knowledge, danger.kind, danger.subject)) for danger in answer.decision.dangers[:NAMED]
        )
        return [f"The engine stands open, so nobody runs it; before it runs again this must be gone: {named}."]
    says = "Nothing that was noticed forbids running it"
    if likeliest is None:
        return [f"{says}, and no fault that this engine can have does."]
    return [
        f"{says}, and the likeliest fault that would, {lower_first(knowledge.causes[likeliest[1]].title)}, has "
        f"{percent(likeliest[0])}; it counts from {percent(knowledge.settings.deciding.likely)}."
    ]


def _no_promise(knowledge: Knowledge, answer: Assessment) -> list[str]:
    decision = answer.decision
    if decision.provisional:
        return ["Without prices nothing is promised."]
    if not anything_noticed(answer):
        return ["Nothing was noticed that a job would have to cure."]
    surest = max(decision.jobs, key=lambda line: (line.enough, -DEPTH[line.rung]))
    if surest.enough < decision.floor:
        return [
            f"No job reaches the {percent(decision.floor)} from which the shop promises; the surest, "
            f"{lower_first(job_title(knowledge, surest))}, has {percent(surest.enough)}."
        ]
    line = decision.line(decision.job)
    if decision.afterwards == "promise":
        return [
            f"{job_title(knowledge, line)} would be promised as it stands ({percent(line.enough)} against a floor "
            f"of {percent(decision.floor)}), but checks come first.",
            *checks_worth(knowledge, answer),
        ]
    if decision.afterwards == "look_inside":
        return [
            f"{job_title(knowledge, line)} is a deep job: unseen it is promised from {percent(decision.firm)} "
            f"only, and the surest that costs least has {percent(job_reaching(answer).enough)}."
        ]
    if decision.afterwards == "stop":
        return [
            f"{job_title(knowledge, job_reaching(answer))} reaches {percent(job_reaching(answer).enough)}, but costs "
            f"{cost_words(answer, job_reaching(answer).expected)} in the end, and stopping costs the owner "
            f"{cost_words(answer, decision.stop)}."
        ]
    reaching = job_reaching(answer)
    return [
        f"{job_title(knowledge, reaching)} reaches {percent(reaching.enough)}, but costs "
        f"{cost_words(answer, reaching.expected)} in the end; beginning with {lower_first(job_title(knowledge, line))} "
        f"({percent(line.enough)} enough) is expected to cost {cost_words(answer, line.expected)}."
    ]


def _no_check(knowledge: Knowledge, answer: Assessment) -> list[str]:
    if not answer.checks:
        return ["No check is left that can be made before opening."]
    if not anything_noticed(answer):
        return ["Nothing was noticed that a check could trace."]
    by_money = max(answer.checks, key=lambda check: (check.net, check.check))
    by_parts = max(answer.checks, key=lambda check: (check.parts, check.check))
    text = f"No open check saves more than it costs: the best, {check_words(by_money)}, {net_of(answer, by_money)}"
    if answer.decision.afterwards == "promise":
        return [f"{text}; what is promised would stay the same."]
    if by_parts.parts < knowledge.settings.hardly_parts:
        return [f"{text}; and none parts the suspects."]
    instead = {
        "begin_with": "what is begun with comes first: it is cheap, as good as certain, or lies open, and shows more",
        "look_inside": "a look inside shows more",
    }.get(answer.decision.afterwards)
    return [
        f"{text}. {by_parts.title} ({minutes(by_parts.minutes)}) {parts_words(by_parts.parts)}, but {instead}."
        if instead
        else f"{text}; what it would show would not change the answer."
    ]


def _no_look(knowledge: Knowledge, answer: Assessment) -> list[str]:
    decision = answer.decision
    if decision.opened:
        return ["The engine stands open already: what is to be seen has been looked at."]
    if not anything_noticed(answer):
        return ["Nothing was noticed that would call for opening it."]
    if not decision.looks:
        return ["No price for opening and looking stands in the price list."]
    look = min(decision.looks, key=lambda item: (item.expected, DEPTH[item.rung]))
    line = decision.line(decision.job)
    text = (
        f"Opening to {lower_first(knowledge.scopes[look.rung].title)} and looking first is expected to cost "
        f"{cost_words(answer, look.expected)} in the end"
    )
    if decision.afterwards == "promise" and (DEPTH[line.rung] < DEEP or line.rung == "replace"):
        return [
            f"{text}; {lower_first(job_title(knowledge, line))} reaches the floor without it "
            f"({percent(line.enough)}), and only a refresh or a rebuild is sold in two steps."
        ]
    if decision.afterwards == "promise":
        return [
            f"{text}; the odds are firm enough without it: {lower_first(job_title(knowledge, line))} has "
            f"{percent(line.enough)}, and from {percent(decision.firm)} such a job is promised unseen."
            if line.enough >= decision.firm
            else f"{text}; looking first was waived."
        ]
    dear = decision.stop is not None and look.expected >= decision.stop
    if decision.afterwards == "can_wait" and not dear:
        return [f"{text}; what may be behind it does no harm."]
    if dear:
        return [f"{text}, no less than the {cost_words(answer, decision.stop)} that stopping costs."]
    if line.expected is not None and line.expected <= look.expected:
        return [
            f"{text}; {lower_first(job_title(knowledge, line))} first is expected to cost "
            f"{cost_words(answer, line.expected)}."
        ]
    return [f"{text}; the answer that stands has right of way over it."]


def _no_beginning(knowledge: Knowledge, answer: Assessment) -> list[str]:
    decision = answer.decision
    if not anything_noticed(answer):
        return ["Nothing was noticed that work would have to cure."]
    shallow = [line for line in decision.jobs if DEPTH[line.rung] <= SHALLOW and line.expected is not None]
    if not shallow:
        return ["Without prices no cheap beginning can be weighed."]
    best = min(shallow, key=lambda line: (line.expected, line.job))
    line = decision.line(decision.job)
    text = (
        f"The cheapest beginning, {lower_first(job_title(knowledge, best))}, is enough in {percent(best.enough)} "
        f"and is expected to cost {cost_words(answer, best.expected)} in the end"
    )
    if best.enough >= decision.floor:
        return [f"{text}: it reaches the floor of {percent(decision.floor)}, so it would be promised, not begun with."]
    hopeful = knowledge.settings.deciding.hopeful
    if best.enough < hopeful:
        return [f"{text}; below {percent(hopeful)} nothing is begun with."]
    if line.expected is not None and line.job != best.job and line.expected < known(best.expected):
        return [f"{text}; {lower_first(job_title(knowledge, line))} comes to {cost_words(answer, line.expected)}."]
    return [f"{text}; what stands has right of way over it."]


def _cannot_wait(knowledge: Knowledge, answer: Assessment) -> list[str]:
    suspect = knowledge.settings.deciding.suspect
    harm = [
        belief
        for belief in answer.beliefs
        if belief.hand >= suspect and knowledge.causes[belief.cause].run_on != "harmless"
    ]
    if not anything_noticed(answer):
        return [
            "It was brought in for trouble, and nothing that was told or tested shows it yet: nobody knows whether "
            "it can wait."
        ]
    if not harm:
        return [
            "Something was noticed, and no suspect is likely enough "
            f"({percent(suspect)}) to say that all of them are harmless."
        ]
    told = {"wears": "would wear it", "damages": "would damage it", "dangerous": "would be dangerous"}
    names = "; ".join(
        f"{lower_first(knowledge.causes[belief.cause].title)} ({percent(belief.hand)}) "
        f"{told[knowledge.causes[belief.cause].run_on]}"
        for belief in sorted(harm, key=lambda item: (-item.hand, item.cause))[:NAMED]
    )
    return [f"Running on with what may be behind it does harm: {names}."]


def _no_stop(knowledge: Knowledge, answer: Assessment) -> list[str]:
    decision = answer.decision
    if decision.stop is None:
        return ["Nobody has said what the machine is worth running, so stopping cannot be weighed."]
    if not anything_noticed(answer):
        return ["Nothing was noticed that would have to be paid for."]
    cheapest = cheapest_job(knowledge, answer)
    if cheapest.expected is None:
        return ["Without prices stopping cannot be weighed against the work."]
    ways = [(cheapest.expected, lower_first(job_title(knowledge, cheapest)))]
    ways += [
        (look.expected, f"looking inside to {lower_first(knowledge.scopes[look.rung].title)}")
        for look in decision.looks
        if look.expected < decision.stop
    ]
    expected, way = min(ways)
    bound = decision.stop * Decimal(str(knowledge.settings.owners_stretch))
    return [
        f"Stopping costs the owner {cost_words(answer, decision.stop)}; {way} is expected to cost "
        f"{cost_words(answer, expected)} in the end"
        + (
            f", and {cost_words(answer, least_price(knowledge, answer))} to begin with."
            if expected > bound
            else f", and an owner often goes to {cost_words(answer, bound)}."
            if expected > decision.stop
            else ", which is less."
        )
    ]
