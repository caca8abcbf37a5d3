"""Why this kind of answer and this job, and why not another: worded from the figures that the decision used."""

from __future__ import annotations

from collections.abc import Callable
from decimal import Decimal

from ..assessment.explain import Explanation, explain
from ..decision.answer_kind import OWNERS_STRETCH, PARTS_ENOUGH, SUSPECT
from ..decision.recommend import HOPEFUL, LIKELY, SHALLOW
from ..errors import Fault, HowdeepError, nearest
from ..model.answer_kinds import KINDS, Kind
from ..model.knowledge import Knowledge
from ..model.results import Assessment, CheckValue, JobLine, Look
from ..model.terms import DEPTH, RUNGS, rung_named
from ..pricing.money import known
from ..quote.held import held_checks
from ..quote.jobs import twins
from .general import LOOK_UP, look_up_lines
from .headline import HEADINGS, headline, job_title, left_by, work_words
from .reasons import reason_text, reasons_of
from .sentences import check_title, flip_lines, lower_first
from .what_next import stage_lines
from .words import minutes, money, odds_words, parts_words, percent

DEEP = DEPTH["refresh"]
"""From this rung on a job is not promised unseen unless the odds are firm."""
NAMED = 3


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
            for place, text in enumerate(_why(knowledge, answer, decision.then))
        ]
    if decision.then != "can_wait":
        says += [f"The job: {lower_first(job_title(knowledge, line))}. {_figures(answer, line)}"]
        if not line.whole:
            says.append(f"Its work: {work_words(knowledge, answer)}.")
    says += [f"{reason_text(knowledge, reason)}." for reason in reasons_of(knowledge, answer)]
    says += [f"Still to come: {line.told}." for line in stage_lines(knowledge, answer)]
    says += [f"{LOOK_UP}: {text}." for text in look_up_lines(knowledge, answer)]
    not_so = [
        f"Not {_kind_words(kind)}: {lower_first(_why_not(knowledge, answer, kind)[0])}"
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


def why_kind(knowledge: Knowledge, answer: Assessment, kind: Kind) -> Explanation:
    """Why, or why not, one kind of answer."""
    decision = answer.decision
    if kind == decision.kind:
        says = [f"This is the answer: {lower_first(HEADINGS[kind])}.", *_why(knowledge, answer, kind)]
    elif kind == decision.then:
        says = ["It is the answer once what forbids running is cleared.", *_why(knowledge, answer, kind)]
    elif kind == decision.afterwards:
        says = ["It is the answer once the checks are made, as things stand.", *_why(knowledge, answer, kind)]
    else:
        says = [f"Not this one: {lower_first(HEADINGS[kind])}.", *_why_not(knowledge, answer, kind)]
    return Explanation("kind", kind, HEADINGS[kind], tuple(says), (), (), (), ())


def _kind_words(kind: Kind) -> str:
    return {
        "do_not_run": "'do not run it'",
        "promise": "a promise",
        "check_first": "checks first",
        "look_inside": "a look inside",
        "begin_with": "a beginning",
        "can_wait": "'it can wait'",
        "stop": "'stop'",
    }[kind]


def _why(knowledge: Knowledge, answer: Assessment, kind: Kind) -> list[str]:
    """Why a kind holds."""
    decision = answer.decision
    line = decision.line(decision.job)
    if kind == "do_not_run":
        return [
            f"{_title(knowledge, danger.kind, danger.subject)}"
            f"{', seen' if danger.chance >= 1 else f', {percent(danger.chance)}'}: "
            f"{danger.text}"
            for danger in decision.dangers
        ]
    if kind == "promise":
        return [
            f"{job_title(knowledge, line)} is enough in {percent(line.enough)}, and the shop promises from "
            f"{percent(decision.floor)}. In the end it costs {_cost(answer, line.expected)}, and nothing with some "
            "hope is clearly cheaper.",
            *_nothing_held(answer),
        ]
    if kind == "check_first":
        return [*_first(decision.because), *_checks_worth(knowledge, answer)]
    if kind == "look_inside":
        look = _look_at(answer, decision.look)
        says = list(decision.because[-1:])
        if look:
            says.append(
                f"Opening so far costs {_cost(answer, look.price)}, of which {_cost(answer, look.credit)} is "
                f"credited; in the end {_cost(answer, look.expected)} is expected."
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
        cheapest = _cheapest(answer)
        return [
            *decision.because[-1:],
            f"The way that costs least in the end, {lower_first(job_title(knowledge, cheapest))}, comes to "
            f"{_cost(answer, cheapest.expected)}; stopping costs the owner {_cost(answer, decision.stop)}.",
        ]
    return list(decision.because[-1:])


def _first(because: tuple[str, ...]) -> list[str]:
    return list(because[:1])


def _why_not(knowledge: Knowledge, answer: Assessment, kind: Kind) -> list[str]:
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
            lower_first(_title(knowledge, danger.kind, danger.subject)) for danger in answer.decision.dangers[:NAMED]
        )
        return [f"The engine stands open, so nobody runs it; before it runs again this must be gone: {named}."]
    says = "Nothing that was noticed forbids running it"
    if likeliest is None:
        return [f"{says}, and no fault that this engine can have does."]
    return [
        f"{says}, and the likeliest fault that would, {lower_first(knowledge.causes[likeliest[1]].title)}, has "
        f"{percent(likeliest[0])}; it counts from {percent(LIKELY)}."
    ]


def _no_promise(knowledge: Knowledge, answer: Assessment) -> list[str]:
    decision = answer.decision
    if decision.provisional:
        return ["Without prices nothing is promised."]
    if _nothing_noticed(answer):
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
            *_checks_worth(knowledge, answer),
        ]
    if decision.afterwards == "look_inside":
        return [
            f"{job_title(knowledge, line)} is a deep job: unseen it is promised from {percent(decision.firm)} "
            f"only, and the surest that costs least has {percent(_reaching(answer).enough)}."
        ]
    if decision.afterwards == "stop":
        return [
            f"{job_title(knowledge, _reaching(answer))} reaches {percent(_reaching(answer).enough)}, but costs "
            f"{_cost(answer, _reaching(answer).expected)} in the end, and stopping costs the owner "
            f"{_cost(answer, decision.stop)}."
        ]
    reaching = _reaching(answer)
    return [
        f"{job_title(knowledge, reaching)} reaches {percent(reaching.enough)}, but costs "
        f"{_cost(answer, reaching.expected)} in the end; beginning with {lower_first(job_title(knowledge, line))} "
        f"({percent(line.enough)} enough) is expected to cost {_cost(answer, line.expected)}."
    ]


def _no_check(knowledge: Knowledge, answer: Assessment) -> list[str]:
    if not answer.checks:
        return ["No check is left that can be made before opening."]
    if _nothing_noticed(answer):
        return ["Nothing was noticed that a check could trace."]
    by_money = max(answer.checks, key=lambda check: (check.net, check.check))
    by_parts = max(answer.checks, key=lambda check: (check.parts, check.check))
    text = f"No open check saves more than it costs: the best, {_check(by_money)}, {_net(answer, by_money)}"
    if answer.decision.afterwards == "promise":
        return [f"{text}; what is promised would stay the same."]
    if by_parts.parts < PARTS_ENOUGH:
        return [f"{text}; and none parts the suspects."]
    return [
        f"{text}. {by_parts.title} ({minutes(by_parts.minutes)}) {parts_words(by_parts.parts)}, but what is begun "
        "with comes first: it is cheap, or as good as certain, and shows more."
        if answer.decision.afterwards == "begin_with"
        else f"{text}; what it would show would not change the answer."
    ]


def _no_look(knowledge: Knowledge, answer: Assessment) -> list[str]:
    decision = answer.decision
    if decision.opened:
        return ["The engine stands open already: what is to be seen has been looked at."]
    if _nothing_noticed(answer):
        return ["Nothing was noticed that would call for opening it."]
    if not decision.looks:
        return ["No price for opening and looking stands in the price list."]
    look = min(decision.looks, key=lambda item: (item.expected, DEPTH[item.rung]))
    line = decision.line(decision.job)
    text = (
        f"Opening to {lower_first(knowledge.scopes[look.rung].title)} and looking first is expected to cost "
        f"{_cost(answer, look.expected)} in the end"
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
    if decision.afterwards == "can_wait":
        return [f"{text}; what may be behind it does no harm."]
    if line.expected is not None and line.expected <= look.expected:
        return [
            f"{text}; {lower_first(job_title(knowledge, line))} first is expected to cost "
            f"{_cost(answer, line.expected)}."
        ]
    return [f"{text}; the answer that stands has right of way over it."]


def _no_beginning(knowledge: Knowledge, answer: Assessment) -> list[str]:
    decision = answer.decision
    if _nothing_noticed(answer):
        return ["Nothing was noticed that work would have to cure."]
    shallow = [line for line in decision.jobs if DEPTH[line.rung] <= SHALLOW and line.expected is not None]
    if not shallow:
        return ["Without prices no cheap beginning can be weighed."]
    best = min(shallow, key=lambda line: (line.expected, line.job))
    line = decision.line(decision.job)
    text = (
        f"The cheapest beginning, {lower_first(job_title(knowledge, best))}, is enough in {percent(best.enough)} "
        f"and is expected to cost {_cost(answer, best.expected)} in the end"
    )
    if best.enough >= decision.floor:
        return [f"{text}: it reaches the floor of {percent(decision.floor)}, so it would be promised, not begun with."]
    if best.enough < HOPEFUL:
        return [f"{text}; below {percent(HOPEFUL)} nothing is begun with."]
    if line.expected is not None and line.job != best.job and line.expected < known(best.expected):
        return [f"{text}; {lower_first(job_title(knowledge, line))} comes to {_cost(answer, line.expected)}."]
    return [f"{text}; what stands has right of way over it."]


def _cannot_wait(knowledge: Knowledge, answer: Assessment) -> list[str]:
    harm = [
        belief
        for belief in answer.beliefs
        if belief.hand >= SUSPECT and knowledge.causes[belief.cause].run_on != "harmless"
    ]
    if _nothing_noticed(answer):
        return [
            "It was brought in for trouble, and nothing that was told or tested shows it yet: nobody knows whether "
            "it can wait."
        ]
    if not harm:
        return [
            "Something was noticed, and no suspect is likely enough "
            f"({percent(SUSPECT)}) to say that all of them are harmless."
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
    if _nothing_noticed(answer):
        return ["Nothing was noticed that would have to be paid for."]
    cheapest = _cheapest(answer)
    if cheapest.expected is None:
        return ["Without prices stopping cannot be weighed against the work."]
    ways = [(cheapest.expected, lower_first(job_title(knowledge, cheapest)))]
    ways += [
        (look.expected, f"looking inside to {lower_first(knowledge.scopes[look.rung].title)}")
        for look in decision.looks
    ]
    expected, way = min(ways)
    bound = decision.stop * Decimal(str(OWNERS_STRETCH))
    return [
        f"Stopping costs the owner {_cost(answer, decision.stop)}; {way} is expected to cost "
        f"{_cost(answer, expected)} in the end"
        + (
            f", and {_cost(answer, _least_price(answer))} to begin with."
            if expected > bound
            else f", and an owner often goes to {_cost(answer, bound)}."
            if expected > decision.stop
            else ", which is less."
        )
    ]


def why_job(knowledge: Knowledge, answer: Assessment, name: str) -> Explanation:
    """Why, or why not, a job: a rung's package ('refresh') or only what cures what was noticed ('refresh:only')."""
    decision = answer.decision
    rung = rung_named(name.partition(":")[0])
    line = next((line for line in decision.jobs if line.job == name), None)
    scope = knowledge.scopes[rung]
    if line is None:
        return Explanation(
            "job",
            name,
            f"{scope.title}, only what cures it",
            (
                "There is no such job here: at this depth nothing narrower than the whole of it would cure "
                "what was noticed.",
                *why_job(knowledge, answer, rung).says,
            ),
            (),
            (),
            (),
            (),
        )
    title = job_title(knowledge, line)
    if name == decision.job and decision.then != "can_wait":
        says = [
            f"This is the job of the answer: {lower_first(headline(knowledge, answer, decision.kind))}.",
            _figures(answer, line),
        ]
        if not line.whole:
            says.append(f"Its work: {work_words(knowledge, answer)}.")
    else:
        says = [why_not_job(knowledge, answer, line), _figures(answer, line)]
    left = [(cause, hand) for cause, hand in left_by(knowledge, answer, line).items() if hand >= 0.01][:NAMED]
    if left:
        says.append(
            "It does not cure: "
            + "; ".join(f"{lower_first(knowledge.causes[cause].title)} ({percent(hand)})" for cause, hand in left)
            + "."
        )
    return Explanation("job", name, title, (*says, scope.plain), (), (), (), ())


def why_not_job(knowledge: Knowledge, answer: Assessment, line: JobLine) -> str:
    """Why not a job, beside the one that the answer speaks of, in one sentence with the figures."""
    decision = answer.decision
    now = decision.line(decision.job)
    title, other = job_title(knowledge, line), lower_first(job_title(knowledge, now))
    if _nothing_noticed(answer):
        return f"Nothing was noticed that {lower_first(title)} would have to cure."
    if line.expected is None or now.expected is None:
        if line.enough < decision.floor:
            return (
                f"{title} is enough in {percent(line.enough)}, and {other} in {percent(now.enough)}; without "
                "prices the shallowest job likely enough stands in for the cheapest."
            )
        return (
            f"{title} is enough in {percent(line.enough)}; without prices the shallowest job likely enough stands "
            f"in for the cheapest, and that is {other}."
        )
    if decision.then == "can_wait":
        return (
            f"{title} would be enough in {percent(line.enough)} for {_cost(answer, line.price)}, but what may be "
            "behind it does no harm and can wait."
        )
    if decision.then == "stop":
        return (
            f"{title} costs {_cost(answer, line.expected)} in the end, and stopping costs the owner "
            f"{_cost(answer, decision.stop)}."
        )
    dearer = line.expected - now.expected
    beside = (
        f"{_cost(answer, dearer)} more in the end than {other}"
        if dearer > 0
        else f"{_cost(answer, -dearer)} less in the end than {other}"
        if dearer < 0
        else f"the same in the end as {other}"
    )
    text = f"{title} is enough in {percent(line.enough)} and costs {beside}"
    if line.enough < HOPEFUL:
        return f"{text}; below {percent(HOPEFUL)} nothing is recommended, however little it costs."
    if line.enough < decision.floor <= now.enough:
        return f"{text}; it does not reach the {percent(decision.floor)} from which the shop promises."
    if dearer >= 0:
        more = line.enough - now.enough
        return (
            f"{text}, which makes it surer by {round(100 * more)} in a hundred."
            if more >= 0.005
            else f"{text}, and is no surer ({other}: {percent(now.enough)})."
        )
    if decision.then == "look_inside":
        return f"{text}; the odds are not firm enough to choose between them unseen."
    if line.enough < decision.floor:
        return f"{text}; it does not reach the {percent(decision.floor)} from which the shop promises."
    if DEPTH[now.rung] < DEPTH[line.rung]:
        return f"{text}; of jobs that cost nearly alike the least teardown comes first."
    return f"{text}; what stands, {other}, is enough in {percent(now.enough)}."


def _figures(answer: Assessment, line: JobLine) -> str:
    """Chance and cost of a job in one or two sentences."""
    text = f"The chance that it is enough is {percent(line.enough)}, {odds_words(line.enough)}."
    if line.price is None or line.expected is None:
        return f"{text} Prices are missing."
    return (
        f"{text} It costs {_cost(answer, line.price)} to begin with, {money(line.growth, whole=True)} on average "
        f"for growth seen on opening and {money(line.failing, whole=True)} for comebacks and what follows them: "
        f"{_cost(answer, line.expected)} in the end."
    )


def _nothing_held(answer: Assessment) -> list[str]:
    """That no check stands before a promise; nothing while one does."""
    if answer.decision.then != "promise":
        return []
    if any(hold.state == "waived" for hold in answer.holds):
        return ["The checks that stood before it were waived."]
    return ["No check stands before it, and none that is left would change it."]


def _checks_worth(knowledge: Knowledge, answer: Assessment) -> list[str]:
    """The checks that come first, with what each is worth."""
    says = []
    held = held_checks(answer, answer.decision.line(answer.decision.job).rung)
    for item in held[:NAMED]:
        holds = "; ".join(lower_first(knowledge.holds[hold].title) for hold in item.holds)
        says.append(f"{check_title(knowledge, item.check)} ({minutes(item.minutes)}) stands before it: {holds}.")
    told = [check for check in answer.checks if check.net > 0 or check.parts >= PARTS_ENOUGH][:NAMED]
    says += [
        f"{check.title} ({minutes(check.minutes)}) {_net(answer, check)} and {parts_words(check.parts)}."
        for check in told
    ]
    return says


def _check(check: CheckValue) -> str:
    return f"{lower_first(check.title)} ({minutes(check.minutes)})"


def _net(answer: Assessment, check: CheckValue) -> str:
    amount = money(abs(check.net), answer.decision.currency, whole=True)
    return f"saves {amount} more than it costs" if check.net > 0 else f"costs {amount} more than it saves"


def _cost(answer: Assessment, amount: Decimal | None) -> str:
    return money(amount, answer.decision.currency, whole=True)


def _cheapest(answer: Assessment) -> JobLine:
    """The job with some hope that costs least in the end; without prices the first."""
    priced = [line for line in answer.decision.jobs if line.expected is not None]
    hopeful = [line for line in priced if line.enough >= HOPEFUL] or priced
    return min(hopeful, key=lambda line: (line.expected, line.job), default=answer.decision.jobs[0])


def _least_price(answer: Assessment) -> Decimal:
    """Of the jobs with some hope; where none has any, of the answer's own."""
    decision = answer.decision
    hopeful = [line.price for line in decision.jobs if line.price is not None and line.enough >= HOPEFUL]
    return min(hopeful) if hopeful else known(decision.line(decision.job).price)


def _reaching(answer: Assessment) -> JobLine:
    """The job that reaches the floor and costs least in the end; where none does, the surest."""
    decision = answer.decision
    reaching = [line for line in decision.jobs if line.enough >= decision.floor and line.expected is not None]
    return min(
        reaching,
        key=lambda line: (line.expected, DEPTH[line.rung], line.whole),
        default=max(decision.jobs, key=lambda line: line.enough),
    )


def _look_at(answer: Assessment, rung: str | None) -> Look | None:
    return next((look for look in answer.decision.looks if look.rung == rung), None)


def _nothing_noticed(answer: Assessment) -> bool:
    """Whether there is nothing that has to go away: then every job is surely enough."""
    return all(line.enough >= 1 - 1e-9 for line in answer.decision.jobs)


def _title(knowledge: Knowledge, kind: str, name: str) -> str:
    return str(getattr(knowledge, kind)[name].title)
