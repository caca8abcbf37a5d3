"""What comes next as lines: the next steps, what is still to come and what decides it."""

from __future__ import annotations

from ..knowledge.engine_facts import engine_facts
from ..model.condition import facts_read
from ..model.knowledge import Knowledge
from ..model.prices import PriceList
from ..model.results import Assessment, CheckValue, JobLine
from ..model.terms import DEPTH, RUNGS, WORDS
from ..quote.first_steps import with_tax
from ..quote.first_steps import worth_making as useful_checks
from ..quote.jobs import curing
from ..quote.told_dangers import told_dangers
from ..work.rules import rules_for
from .headline import job_title, left_by, price_words
from .leading import spoken_for
from .section import Figure, Line
from .sentences import check_title, first_sentence, led_words, lower_first
from .words import minutes, money, percent, takes

QUOTED = "howdeep quote JOB"
"""How a terminal makes the estimate; the page has a way to it."""
NEXT = 3
"""Steps named."""
REMEDIES, PROOFS, WAITS = 2, 2, 2
ENDS = 2
"""Outcomes of a check told where it is a next step."""


def next_lines(knowledge: Knowledge, answer: Assessment, prices: PriceList | None = None) -> tuple[Line, ...]:
    """What to do next; under what forbids running its remedy before all else. Prices with tax where `prices` are at
    hand."""
    first = (
        [Line(danger.remedy, warns=True) for danger in told_dangers(knowledge, answer)[:REMEDIES] if danger.remedy]
        if answer.decision.kind == "do_not_run"
        else []
    )
    again = _again(knowledge, answer)
    return tuple([*first, *again, *_then(knowledge, answer, prices)][: NEXT + len(first) + len(again)])


def _again(knowledge: Knowledge, answer: Assessment) -> list[Line]:
    """What was read on the open engine within the gauge's own error of its limit and is measured again before it is
    closed or parts are ordered; what the job renews anyhow is not."""
    if not answer.decision.opened or answer.decision.then == "stop":
        return []
    done = {item.operation for item in answer.works[answer.decision.job].items if not item.if_found}
    near = dict.fromkeys(
        remark.observation
        for remark in answer.facts.remarks
        if remark.kind == "too close to call" and knowledge.observations[remark.observation].moment == "teardown"
    )
    names = [
        name
        for name in near
        if any(not done & set(knowledge.causes[cause].cured_by) for cause in _hang_on(knowledge, answer, name))
    ]
    if not names:
        return []
    titles = ", ".join(lower_first(knowledge.observations[name].title) for name in names)
    return [Line(f"Measure again before it is closed, too near a limit to call: {titles}", ask=names[0], warns=True)]


def _hang_on(knowledge: Knowledge, answer: Assessment, observation: str) -> set[str]:
    """Causes that signs of a reading speak of, of each sign those that bring it most often."""
    facts = {observation, *(name for name, item in knowledge.reduced.items() if observation in item.taken_from)}
    causes: set[str] = set()
    for name in answer.counted.present:
        words = knowledge.findings[name].explained_by
        if words and facts & facts_read(knowledge.findings[name].when):
            most = max(words.values(), key=WORDS.index)
            causes |= {cause for cause, word in words.items() if word == most}
    return causes


def next_figures(knowledge: Knowledge, answer: Assessment, prices: PriceList | None = None) -> tuple[Figure, ...]:
    """What a paper that sells the next step must agree with: its checks, or the price of a look inside."""
    decision = answer.decision
    if decision.then == "check_first":
        return tuple(Figure("check", (check.title,)) for check in useful_checks(knowledge, answer)[:NEXT])
    if decision.then == "look_inside" and decision.looks and prices is not None:
        look = next(item for item in decision.looks if item.rung == decision.look)
        return (Figure("look", (money(with_tax(look.price, prices)),)),)
    return ()


def _then(knowledge: Knowledge, answer: Assessment, prices: PriceList | None) -> list[Line]:
    """What to do next, dangers aside."""
    decision = answer.decision
    work = answer.works[decision.job]
    if decision.then == "check_first":
        return [check_line(knowledge, check) for check in useful_checks(knowledge, answer)[:NEXT]]
    if decision.then == "look_inside" and decision.looks:
        look = next(item for item in decision.looks if item.rung == decision.look)
        price, credit, tax = look.price, look.credit, "before tax"
        if prices is not None:
            price, credit, tax = with_tax(price, prices), with_tax(credit, prices), "with tax"
        back = f", of which {money(credit, whole=True)} is credited when work follows" if credit else ""
        return [
            Line(
                f"Open to {lower_first(knowledge.scopes[look.rung].title)}, look, measure and report: "
                f"{money(price, decision.currency, whole=True)} {tax}{back}",
                why="look_inside",
            )
        ]
    if decision.then == "begin_with":
        proof = [_timed(knowledge, name) for name in proofs(knowledge, answer)[:PROOFS]]
        return [Line(f"Do it, then prove it: {', '.join(proof)}" if proof else "Do it, then try it and look again")]
    if decision.then == "can_wait":
        waits = [
            (belief.cause, knowledge.causes[belief.cause])
            for belief in answer.beliefs[:WAITS]
            if belief.hand >= knowledge.settings.telling.named_from and knowledge.causes[belief.cause].wait
        ]
        return [
            Line(f"Watch for this, {lower_first(cause.title)}: {lower_first(first_sentence(cause.wait))}", why=name)
            for name, cause in waits
        ] or [Line("Nothing has to be done; come back when something shows")]
    if decision.then == "stop":
        return [Line("Ask the owner before any more money goes in; he may still have reasons to mend it", why="stop")]
    before = [_timed(knowledge, name) for name in work.before[:3]]
    return ([Line(f"Before the work: {', '.join(before)}")] if before else []) + [Line(QUOTED, "Write the estimate")]


def check_line(knowledge: Knowledge, check: CheckValue) -> Line:
    """'Air cleaner (8 min): clogged -> tune-up; clean -> top end'."""
    leading = sorted((item for item in check.outcomes if item.leads_to), key=lambda item: (-item.chance, item.title))
    ends = [(lower_first(outcome.title), led_words(knowledge, outcome.leads_to)) for outcome in leading[:ENDS]]
    held = "; stands before a promise" if check.hold else ""
    return Line(
        "; ".join(f"{seen} -> {then}" for seen, then in ends),
        f"{check.title} ({takes(check.minutes, check.days)}{held})",
        why=check.observations[0],
        ask=check.observations[0],
    )


def _timed(knowledge: Knowledge, name: str) -> str:
    """'ignition timing (15 min)'."""
    entry = knowledge.checks.get(name) or knowledge.observations.get(name)
    text = lower_first(check_title(knowledge, name))
    return f"{text} ({minutes(entry.minutes)})" if entry else text


def proofs(knowledge: Knowledge, answer: Assessment) -> list[str]:
    """What proves the work, first what proves the operation that cures the likeliest suspect."""
    job = answer.decision.job
    after = answer.works[job].after
    wanted = [check for name in curing(answer, answer.works[job]) for check in knowledge.operations[name].proved_by]
    return list(dict.fromkeys([*(check for check in wanted if check in after), *after]))


def stage_lines(knowledge: Knowledge, answer: Assessment, prices: PriceList | None = None) -> tuple[Line, ...]:
    """Jobs that come into question later: the likelier shallower one and deeper one, and what decides for each."""
    decision = answer.decision
    if decision.then in ("promise", "can_wait", "stop"):
        return ()
    now = decision.line(decision.job)
    here = left_by(knowledge, answer, now)
    hands = {
        belief.cause: belief.hand
        for belief in answer.beliefs
        if belief.hand >= knowledge.settings.telling.decides_from and spoken_for(belief)
    }
    engine = answer.job.engine
    rules = rules_for(knowledge, engine, engine_facts(engine))
    need = {
        cause: min((DEPTH[rules.rungs[name]] for name in rules.cures.get(cause, ())), default=len(RUNGS))
        for cause in hands
    }
    told: dict[str, tuple[JobLine, str]] = {}
    ahead = sorted(
        (
            line
            for line in decision.jobs
            if line.expected is not None and line.enough >= knowledge.settings.deciding.hopeful and line.job != now.job
        ),
        key=lambda line: (line.expected, line.job),
    )
    for line in ahead:
        there = left_by(knowledge, answer, line)
        deeper = (DEPTH[line.rung], line.whole) > (DEPTH[now.rung], now.whole)
        order = here if deeper else sorted(hands, key=lambda name: (-round(hands[name], 9), name))
        cured = [cause for cause in order if cause not in there and cause in hands and need[cause] == DEPTH[line.rung]]
        if deeper and line.enough <= now.enough:
            continue
        way = "deeper" if deeper else "less"
        if cured and way not in told:
            names = " or ".join(lower_first(knowledge.causes[cause].title) for cause in cured[:2])
            told[way] = line, f"if it {'is' if deeper else 'is only'} {names}"
    return tuple(
        Line(
            f"{job_title(knowledge, line)} ({percent(line.enough)} enough, "
            f"{price_words(knowledge, answer, line, prices)}) {why}",
            why=line.job,
        )
        for _, (line, why) in sorted(told.items(), reverse=True)
    )
