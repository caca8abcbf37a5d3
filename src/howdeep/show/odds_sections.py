"""Sections on how likely and how deep: the ladder, the causes, the checks and what would change the answer."""

from __future__ import annotations

from ..beliefs.waterfall import BROUGHT_IN
from ..model.knowledge import Knowledge
from ..model.odds import odds_words
from ..model.results import Assessment, Belief, CheckValue, WaterfallStep
from ..model.terms import DEPTH
from ..quote.first_steps import worth_making as useful_checks
from ..quote.jobs import points_to_work, twins
from .headline import job_title
from .leading import TELLING, leading
from .section import Line, Row, Section, Table
from .sentences import (
    MONEY,
    cautions_of,
    check_title,
    flips_told,
    led_words,
    lower_first,
    no_check_sentence,
    others_sentence,
    step_title,
)
from .words import minutes, money, parts_words, percent, takes

LEADING, CHECKS, OUTCOMES, MOVES, SIGNS = 6, 5, 5, 12, 3
"""Causes, checks, outcomes of a check, moves of the answer, and signs of a cause on either side that are told."""
SPEAKS = {
    "nothing": "hardly",
    "barely": "a little",
    "substantial": "clearly",
    "strong": "strongly",
    "very strong": "very strongly",
    "decisive": "decisively",
}
"""Strength of a sign in words -> how it speaks."""


def ladder(knowledge: Knowledge, answer: Assessment) -> Section:
    """Every job from shallow to deep with its chance, and where there are prices with price and cost in the end."""
    decision, hidden, meant = answer.decision, twins(answer), points_to_work(answer)
    priced = any(line.expected is not None for line in decision.jobs)
    rows = [
        Row(
            (
                job_title(knowledge, line),
                percent(line.enough),
                *((money(line.price, whole=True), money(line.expected, whole=True)) if priced else ()),
            ),
            why=line.job,
            chosen=line.job == decision.job and meant,
            share=min(1.0, max(0.0, line.enough)),
        )
        for line in sorted(decision.jobs, key=lambda line: (DEPTH[line.rung], line.whole))
        if line.job not in hidden
    ]
    after = []
    if priced:
        after.append(
            f"In {decision.currency}, before tax and allowances. 'In the end' adds what growth at teardown, "
            "comebacks and what follows them would cost, weighted by their chances."
        )
    stands = decision.line(decision.job).expected if meant else None
    hopeful = knowledge.settings.deciding.hopeful
    if stands is not None and any(
        line.expected is not None and line.expected < stands and line.enough < hopeful for line in decision.jobs
    ):
        after.append(f"Below {percent(hopeful)} nothing is advised, however little it costs in the end.")
    if hidden:
        names = ", ".join(lower_first(job_title(knowledge, decision.line(job))) for job in sorted(hidden))
        after.append(f"Not shown, for on this engine it is the very work of a shallower depth: {names}.")
    heads = ("Job", "Enough", *(("Price", "In the end") if priced else ()))
    title = f"How deep: every job{', prices before tax' if priced else ''}"
    return Section("ladder", title, table=Table(heads, tuple(rows)), after=tuple(after))


def causes(knowledge: Knowledge, answer: Assessment) -> Section:
    """The likely causes, each with what speaks for it and against it."""
    lines = []
    for belief in leading(answer, LEADING):
        signs = [("for", _telling(belief, 1)), ("against", _telling(belief, -1))]
        lines.append(
            Line(
                f"{percent(belief.hand)}, {odds_words(belief.hand)}",
                knowledge.causes[belief.cause].title,
                why=belief.cause,
                under=(
                    Line(f"{percent(belief.posterior)}, before any sign {percent(belief.prior)}", "in the engine"),
                    *(
                        Line("; ".join(_step_text(knowledge, step) for step in steps), side)
                        for side, steps in signs
                        if steps
                    ),
                ),
            )
        )
    after = [
        "The figure is the chance that a cause is behind the trouble. Several can be, so they need not add up to 100 %."
    ]
    if any(len(line.under) > 1 for line in lines):
        after.append("In brackets: how strongly a sign speaks.")
    others = others_sentence(knowledge, answer)
    return Section("causes", "Likely causes", tuple(lines), after=(*after, *([others] if others else [])))


def _telling(belief: Belief, sign: int) -> list[WaterfallStep]:
    steps = [
        step
        for step in belief.steps
        if step.kind != "base" and step.label != BROUGHT_IN and sign * step.decibans > TELLING
    ]
    return sorted(steps, key=lambda step: (-sign * step.decibans, step.label))[:SIGNS]


def _step_text(knowledge: Knowledge, step: WaterfallStep) -> str:
    return f"{lower_first(step_title(knowledge, step.label, step.kind))} ({SPEAKS.get(step.words, step.words)})"


def net_words(check: CheckValue, currency: str) -> str:
    """What a check saves beyond its cost, or costs beyond what it saves."""
    amount = money(abs(check.net), currency, whole=True)
    return f"saves about {amount} more than it costs" if check.net > 0 else f"costs about {amount} more than it saves"


def worth_words(check: CheckValue, currency: str, hardly: float) -> str:
    """What makes a check worth making, in a few words: money saved, the trade's habit where it parts by less bits than
    `hardly`, or that it parts suspects."""
    if check.net > 0:
        return net_words(check, currency)
    if check.first_look and check.parts < hardly:
        return "looked at first for such a complaint"
    return parts_words(check.parts)


def checks(knowledge: Knowledge, answer: Assessment) -> Section:
    """The checks worth making with their cautions, and where their outcomes lead."""
    lines = []
    for check in useful_checks(knowledge, answer)[:CHECKS]:
        held = "; stands before a promise: make it or waive it" if check.hold else ""
        cautions = cautions_of(knowledge, check.observations, answer.job.engine)
        outcomes = sorted(check.outcomes, key=lambda item: (-item.chance, item.title))[:OUTCOMES]
        lines.append(
            Line(
                f"{worth_words(check, answer.decision.currency, knowledge.settings.hardly_parts)}{held}",
                f"{check.title} ({takes(check.minutes, check.days)})",
                why=check.observations[0],
                ask=check.observations[0],
                under=(
                    *([Line("; ".join(cautions), "Caution first", warns=True)] if cautions else []),
                    *(
                        Line(
                            f"{percent(item.chance)} {item.title}"
                            + (f" -> {led_words(knowledge, item.leads_to)}" if item.leads_to else "")
                        )
                        for item in outcomes
                        if item.chance >= knowledge.settings.telling.outcomes_from
                    ),
                ),
            )
        )
    none = () if lines else (no_check_sentence(knowledge, answer),)
    return Section("checks", "Checks, and where each outcome leads", tuple(lines), before=none)


def plan(knowledge: Knowledge, answer: Assessment) -> Section:
    """The checks of one round in the order in which they are made."""
    names = [name for _, made in answer.plan for name in made]
    if len(useful_checks(knowledge, answer)) < 2 or not names:
        return Section("plan", "")
    return Section(
        "plan",
        f"Checks in one round, in this order ({minutes(answer.plan_minutes)} in all)",
        tuple(Line(check_title(knowledge, name), ask=_first_of(knowledge, name)) for name in names),
    )


def _first_of(knowledge: Knowledge, name: str) -> str:
    check = knowledge.checks.get(name)
    return check.observations[0] if check else name


def moves(knowledge: Knowledge, answer: Assessment) -> Section:
    """What would change the answer."""
    return Section(
        "moves",
        "What would change the answer",
        tuple(
            Line(text, why="" if subject in MONEY else subject)
            for subject, text in flips_told(knowledge, answer.flips)[:MOVES]
        ),
    )
