"""Sections of the answer itself: what stands before it, the job, what it leaves, what is next and why."""

from __future__ import annotations

from decimal import Decimal

from ..model.knowledge import Knowledge
from ..model.odds import odds_words
from ..model.prices import PriceList
from ..model.results import Assessment
from ..model.terms import DEPTH, RUNGS
from ..pricing.money import read_money
from ..quote.bills import job_of
from ..quote.held import NOT_MADE, WAIVED_BY, check_lacking, held_checks, standing, waived_sentences
from ..quote.told_dangers import told_dangers
from .doubts import misfit_lines
from .general import general_sentence
from .headline import job_title, points_to_work, price_words, range_of, range_words, work_words
from .price_notes import gap_sentences
from .reasons import reason_text, reasons_of
from .section import Figure, Line, Section
from .sentences import check_title, defended_sentence, lower_first, opened_sentence, risk_sentence
from .what_next import next_figures, next_lines
from .words import came_for_words, every_words, minutes, money, percent

SUSPECTS = 3


ROOM = 146
"""Letters of a suspect with its signs where there is little room: two lines of a terminal."""


MISSING = 6
"""Missing prices named."""


def general(knowledge: Knowledge, answer: Assessment, prices: PriceList | None) -> Section:
    """That general figures stand in for an engine without a sheet."""
    text, general = general_sentence(answer), answer.job.general
    if general is None:
        return Section("general", "")
    line = Line(
        text, short="General figures of its kind stand in; the whole answer names them and what to look up.", warns=True
    )
    return Section("general", "The engine", (line,), figures=(Figure("kind", (lower_first(general.title),)),))


def dangers(knowledge: Knowledge, answer: Assessment, prices: PriceList | None) -> Section:
    """What forbids running it."""
    told = told_dangers(knowledge, answer)
    return Section(
        "dangers",
        "What forbids running it",
        tuple(
            Line(
                f"{danger.title}"
                f"{'' if danger.chance >= 1 else f', {odds_words(danger.chance)} ({percent(danger.chance)})'}: "
                f"{danger.hazard}",
                why="do_not_run",
                warns=True,
            )
            for danger in told
        ),
        figures=tuple(Figure("hazard", (danger.hazard,)) for danger in told[:1]),
    )


def misfits(knowledge: Knowledge, answer: Assessment, prices: PriceList | None) -> Section:
    """Faults found open that the answers spoke against."""
    lines = misfit_lines(knowledge, answer)
    figures = tuple(Figure("found", (knowledge.findings[line.why].title,)) for line in lines[:1])
    return Section("misfits", "Found open, against the answers", lines, figures=figures)


def because(knowledge: Knowledge, answer: Assessment, prices: PriceList | None) -> Section:
    """Why this kind of answer."""
    return Section(
        "because",
        "Why this kind of answer",
        tuple(Line(text, why=answer.decision.kind) for text in answer.decision.because),
    )


def job(knowledge: Knowledge, answer: Assessment, prices: PriceList | None, *, spread: bool = True) -> Section:
    """The job that the answer speaks of: what it is, its chance, its price; nothing where none is meant."""
    if not points_to_work(answer):
        return Section("job", "")
    decision = answer.decision
    line = decision.line(decision.job)
    span = range_of(knowledge, answer, prices) if spread else None
    price, ends = price_words(knowledge, answer, line, prices), range_words(span, decision.currency)
    chance = (
        f"Chance that this is enough: {came_for_words(line.came_for, line.enough)}. {price}"
        f"{f'; {ends}' if ends else ''}."
    )
    more = [
        "The evidence is too tangled for an exact figure; this one is estimated." if decision.estimated else "",
        every_words(line.enough, next(item.every for item in decision.ladder if item.rung == line.rung))
        if line.whole
        else "",
        knowledge.scopes[line.rung].plain,
    ]
    lines = [
        Line(
            chance,
            job_title(knowledge, line),
            short=came_for_words(line.came_for, line.enough),
            why=line.job,
            under=tuple(Line(text) for text in more if text),
        )
    ]
    if does := work_words(knowledge, answer):
        lines.append(Line(f"{does}.", "Work"))
    return Section("job", "The job", tuple(lines), figures=_job_figures(knowledge, answer, prices, span))


def _job_figures(
    knowledge: Knowledge, answer: Assessment, prices: PriceList | None, span: tuple[Decimal, Decimal] | None
) -> tuple[Figure, ...]:
    """Chance, price and range, as a paper may write them."""
    line = answer.decision.line(answer.decision.job)
    figures = [Figure("enough", (percent(line.enough),))]
    total = None if prices is None else job_of(knowledge, answer).total(line.job, prices)
    if total is not None:
        figures.append(Figure("price", (money(total), money(total, whole=True))))
    if span is not None:
        figures += [
            Figure(name, (money(sum_), money(sum_, whole=True)))
            for name, sum_ in zip(("low", "high"), span, strict=True)
        ]
    return tuple(figures)


def prices(knowledge: Knowledge, answer: Assessment, prices: PriceList | None) -> Section:
    """What is to be said of the prices behind it."""
    decision = answer.decision
    told = list(gap_sentences(answer, prices))
    if decision.provisional:
        named = ", ".join(decision.missing[:MISSING]) + (" ..." if len(decision.missing) > MISSING else "")
        told.insert(
            0,
            "Provisional: without prices the shallowest rung likely enough to hold stands in for the cheapest in the "
            "end." + (f" Missing: {named}." if decision.missing else ""),
        )
    figures = (Figure("example", ("example",)),) if prices is not None and prices.example else ()
    return Section("prices", "Prices", tuple(Line(text, warns=True) for text in told), figures=figures)


def leaves(knowledge: Knowledge, answer: Assessment, prices: PriceList | None) -> Section:
    """What a careful person could defend, what stands open, and what the job leaves."""
    told = (
        (defended_sentence(knowledge, answer), opened_sentence(answer), risk_sentence(knowledge, answer))
        if points_to_work(answer)
        else (opened_sentence(answer),)
    )
    return Section("leaves", "What it leaves", tuple(Line(text) for text in told if text))


def owner(knowledge: Knowledge, answer: Assessment, prices: PriceList | None) -> Section:
    """What the machine is worth beside the work, and the right to stop."""
    text = owner_sentence(knowledge, answer) if points_to_work(answer) else ""
    said = answer.job.job.customer.value_running or answer.job.engine.value_running
    figures: tuple[Figure, ...] = ()
    if said:
        worth = read_money(said, answer.decision.currency)
        figures = (Figure("worth", (money(worth, whole=True),)),)
    return Section("owner", "For the owner to decide", (Line(text, why="stop"),) if text else (), figures=figures)


def owner_sentence(knowledge: Knowledge, answer: Assessment) -> str:
    """What the machine is worth beside it, and the right to stop; empty where the work is far from both."""
    decision = answer.decision
    expected = decision.line(decision.job).expected
    asked_from = Decimal(str(knowledge.settings.owner_asked_from))
    near = decision.stop is not None and expected is not None and expected >= decision.stop * asked_from
    if not near and set(decision.worth) <= {"worth it"}:
        return ""
    text = decision.beyond
    if near and decision.kind != "stop":
        text = f"{text} Stopping instead costs the owner {money(decision.stop, decision.currency, whole=True)}.".strip()
    return text


def waived(knowledge: Knowledge, answer: Assessment, prices: PriceList | None) -> Section:
    """What is gone on without, and who decided."""
    told = waived_sentences(knowledge, answer)
    return Section(
        "waived",
        "Waived",
        tuple(Line(text, warns=True) for text in told),
        figures=tuple(
            Figure("waived", (text.rpartition(WAIVED_BY)[0].removeprefix(NOT_MADE).rstrip("."),)) for text in told[:1]
        ),
    )


def steps(knowledge: Knowledge, answer: Assessment, prices: PriceList | None) -> Section:
    """What to do next."""
    return Section(
        "next", "Next", next_lines(knowledge, answer, prices), figures=next_figures(knowledge, answer, prices)
    )


def held(knowledge: Knowledge, answer: Assessment, prices: PriceList | None) -> Section:
    """The checks that stand before the recommended rung may be promised, each once, with what it is made for."""
    rung = answer.decision.rung
    held = held_checks(answer, rung)
    if not held:
        return Section("held", "")
    lines = []
    for item in held:
        check, lacking = knowledge.checks.get(item.check), check_lacking(knowledge, item.check)
        told = "; ".join(filter(None, (minutes(item.minutes), lacking)))
        lines.append(
            Line(
                f"{'. '.join(knowledge.holds[hold].title for hold in item.holds)}.",
                f"{check_title(knowledge, item.check)} ({told})",
                why=item.holds[0],
                ask=check.observations[0] if check else item.check,
                hold=item.holds[0],
            )
        )
    safe = min((hold.above for hold in standing(answer, rung)), key=RUNGS.index)
    more = "this" if DEPTH[rung] <= DEPTH[safe] else f"more than {lower_first(knowledge.scopes[safe].title)}"
    before = (
        f"Before {more} is promised, these are made "
        f"({minutes(sum(item.minutes for item in held))} in all) or waived in writing."
    )
    figures = tuple(Figure("check", (check_title(knowledge, item.check),)) for item in held)
    return Section("held", "Before a promise", tuple(lines), before=(before,), figures=figures)


def reasons(knowledge: Knowledge, answer: Assessment, prices: PriceList | None) -> Section:
    """The suspects with the signs that speak for them."""
    reasons = reasons_of(knowledge, answer, SUSPECTS)
    return Section(
        "reasons",
        "Why",
        tuple(
            Line(reason_text(knowledge, item), short=reason_text(knowledge, item, ROOM), why=item.cause)
            for item in reasons
        ),
        figures=tuple(Figure("suspect", (percent(item.hand),)) for item in reasons[:1]),
    )
