"""The answer in words, once: every section of it as a value. Terminal, page, talk, papers and JSON lay it out."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from decimal import Decimal

from ..decision.repair_or_replace import ASK_FROM
from ..model.knowledge import Knowledge
from ..model.prices import PriceList
from ..model.results import Assessment
from ..model.terms import RUNGS
from ..pricing.money import read_money
from ..quote.bills import job_of
from ..quote.held import check_lacking, held_checks, standing, waived_sentences
from ..quote.told_dangers import told_dangers
from . import odds_sections, work_sections
from .doubts import doubt_lines, misfit_lines, remark_lines
from .general import LOOK_UP, assumed_lines, assumed_title, general_sentence, look_up_lines
from .headline import (
    HEADINGS,
    NAMES_JOB,
    headline,
    job_title,
    points_to_work,
    price_words,
    range_of,
    range_words,
    work_words,
)
from .price_notes import gap_sentences
from .reasons import reason_text, reasons_of
from .section import Figure, Line, Section, Verdict
from .sentences import check_title, defended_sentence, lower_first, opened_sentence, risk_sentence
from .unexplained import unexplained_lines
from .used_text import used_line, used_small_print
from .what_next import next_figures, next_lines, stage_lines
from .words import ADVICE, ADVICE_LINE, every_words, minutes, money, odds_words, percent

SUSPECTS = 3
ROOM = 146
"""Letters of a suspect with its signs where there is little room: two lines of a terminal."""
MISSING = 6
"""Missing prices named."""


def verdict_of(
    knowledge: Knowledge,
    answer: Assessment,
    prices: PriceList | None = None,
    wanted: Sequence[str] | None = None,
    *,
    spread: bool = True,
) -> Verdict:
    """The verdict. With `prices` its sums are with tax; `wanted` keeps to the sections that are needed, and `spread`
    says whether the range of bills is told, for these take a while."""
    decision = answer.decision
    kind, then = decision.kind, decision.then
    heading, said = HEADINGS[kind], headline(knowledge, answer, kind)
    job = said[len(heading) :].lstrip(":; ")
    made = (
        _job(knowledge, answer, prices, spread=spread) if name == "job" else BUILD[name](knowledge, answer, prices)
        for name in SECTIONS
        if wanted is None or name in wanted
    )
    return Verdict(
        kind,
        heading,
        said,
        job[:1].upper() + job[1:],
        headline(knowledge, answer, then) if then != kind else "",
        then in NAMES_JOB,
        tuple(section for section in made if section.lines or section.table or section.before),
    )


def _general(knowledge: Knowledge, answer: Assessment, prices: PriceList | None) -> Section:
    text, general = general_sentence(answer), answer.job.general
    if general is None:
        return Section("general", "")
    line = Line(
        text, short="General figures of its kind stand in; the whole answer names them and what to look up.", warns=True
    )
    return Section("general", "The engine", (line,), figures=(Figure("kind", (lower_first(general.title),)),))


def _dangers(knowledge: Knowledge, answer: Assessment, prices: PriceList | None) -> Section:
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


def _because(knowledge: Knowledge, answer: Assessment, prices: PriceList | None) -> Section:
    return Section(
        "because",
        "Why this kind of answer",
        tuple(Line(text, why=answer.decision.kind) for text in answer.decision.because),
    )


def _job(knowledge: Knowledge, answer: Assessment, prices: PriceList | None, *, spread: bool = True) -> Section:
    """The job that the answer speaks of: what it is, its chance, its price; nothing where none is meant."""
    if not points_to_work(answer):
        return Section("job", "")
    decision = answer.decision
    line = decision.line(decision.job)
    span = range_of(knowledge, answer, prices) if spread else None
    price, ends = price_words(knowledge, answer, line, prices), range_words(span, decision.currency)
    chance = (
        f"Chance that this is enough: {percent(line.enough)}, {odds_words(line.enough)}. {price}"
        f"{f'; {ends}' if ends else ''}."
    )
    more = [
        "The evidence is too tangled for an exact figure; this one is estimated." if decision.estimated else "",
        every_words(line.enough, next(item.every for item in decision.ladder if item.rung == line.rung))
        if line.whole
        else "",
        knowledge.scopes[line.rung].plain,
    ]
    lines = [Line(chance, job_title(knowledge, line), why=line.job, under=tuple(Line(text) for text in more if text))]
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


def _prices(knowledge: Knowledge, answer: Assessment, prices: PriceList | None) -> Section:
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


def _leaves(knowledge: Knowledge, answer: Assessment, prices: PriceList | None) -> Section:
    told = (
        (defended_sentence(knowledge, answer), opened_sentence(answer), risk_sentence(knowledge, answer))
        if points_to_work(answer)
        else (opened_sentence(answer),)
    )
    return Section("leaves", "What it leaves", tuple(Line(text) for text in told if text))


def _owner(knowledge: Knowledge, answer: Assessment, prices: PriceList | None) -> Section:
    text = owner_sentence(answer) if points_to_work(answer) else ""
    said = answer.job.job.customer.value_running or answer.job.engine.value_running
    figures: tuple[Figure, ...] = ()
    if said:
        worth = read_money(said, answer.decision.currency)
        figures = (Figure("worth", (money(worth, whole=True),)),)
    return Section("owner", "For the owner to decide", (Line(text, why="stop"),) if text else (), figures=figures)


def owner_sentence(answer: Assessment) -> str:
    """What the machine is worth beside it, and the right to stop; empty where the work is far from both."""
    decision = answer.decision
    expected = decision.line(decision.job).expected
    near = decision.stop is not None and expected is not None and expected * 100 >= decision.stop * ASK_FROM
    if not near and set(decision.worth) <= {"worth it"}:
        return ""
    text = decision.beyond
    if near and decision.kind != "stop":
        text = f"{text} Stopping instead costs the owner {money(decision.stop, decision.currency, whole=True)}.".strip()
    return text


def _waived(knowledge: Knowledge, answer: Assessment, prices: PriceList | None) -> Section:
    told = waived_sentences(knowledge, answer)
    return Section(
        "waived",
        "Waived",
        tuple(Line(text, warns=True) for text in told),
        figures=tuple(Figure("waived", (text,)) for text in told[:1]),
    )


def _next(knowledge: Knowledge, answer: Assessment, prices: PriceList | None) -> Section:
    return Section(
        "next", "Next", next_lines(knowledge, answer, prices), figures=next_figures(knowledge, answer, prices)
    )


def _held(knowledge: Knowledge, answer: Assessment, prices: PriceList | None) -> Section:
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
    before = (
        f"Before more than {lower_first(knowledge.scopes[safe].title)} is promised, these are made "
        f"({minutes(sum(item.minutes for item in held))} in all) or waived in writing."
    )
    figures = tuple(Figure("check", (check_title(knowledge, item.check),)) for item in held)
    return Section("held", "Before a promise", tuple(lines), before=(before,), figures=figures)


def _reasons(knowledge: Knowledge, answer: Assessment, prices: PriceList | None) -> Section:
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


def _lines(name: str, title: str, lines: Sequence[Line]) -> Section:
    return Section(name, title, tuple(lines))


def _not_asked(knowledge: Knowledge, answer: Assessment, prices: PriceList | None) -> Section:
    told = []
    for label, moment in (("Questions", "talk"), ("Checks", "test")):
        names = [name for name in answer.not_asked if knowledge.observations[name].moment == moment]
        if names:
            told.append(Line(", ".join(knowledge.observations[name].title.lower() for name in names), label))
    return _lines("not_asked", "Not asked, so evidence of nothing", told)


def _misfits(knowledge: Knowledge, answer: Assessment, prices: PriceList | None) -> Section:
    lines = misfit_lines(knowledge, answer)
    figures = tuple(Figure("found", (knowledge.findings[line.why].title,)) for line in lines[:1])
    return Section("misfits", "Found open, against the answers", lines, figures=figures)


def _used(knowledge: Knowledge, answer: Assessment, prices: PriceList | None) -> Section:
    if answer.used is None:
        return Section("used", "")
    line = used_line(answer.used)
    first, *rest = used_small_print(answer.used)
    lines, figures = (Line(first, short=line), *_sentences(rest)), (Figure("used", (line,)),)
    return Section("used", "What this answer was made with", lines, figures=figures)


def _sentences(texts: Sequence[str]) -> tuple[Line, ...]:
    return tuple(Line(text) for text in texts)


Build = Callable[[Knowledge, Assessment, PriceList | None], Section]
BUILD: dict[str, Build] = {
    "general": _general,
    "dangers": _dangers,
    "because": _because,
    "job": _job,
    "doubt": lambda k, a, p: _lines("doubt", "In doubt", doubt_lines(k, a)),
    "misfits": _misfits,
    "remarks": lambda k, a, p: _lines("remarks", "To be said of the readings", remark_lines(k, a)),
    "prices": _prices,
    "waived": _waived,
    "next": _next,
    "held": _held,
    "reasons": _reasons,
    "unexplained": lambda k, a, p: _lines("unexplained", "Not explained", unexplained_lines(k, a)),
    "stages": lambda k, a, p: _lines("stages", "Then", stage_lines(k, a, p)),
    "turns_up": work_sections.turns_up,
    "leaves": _leaves,
    "owner": _owner,
    "ladder": lambda k, a, p: odds_sections.ladder(k, a),
    "causes": lambda k, a, p: odds_sections.causes(k, a),
    "checks": lambda k, a, p: odds_sections.checks(k, a),
    "plan": lambda k, a, p: odds_sections.plan(k, a),
    "moves": lambda k, a, p: odds_sections.moves(k, a),
    "work": lambda k, a, p: work_sections.work(k, a),
    "parts": lambda k, a, p: work_sections.parts(k, a),
    "tests": lambda k, a, p: work_sections.tests(k, a),
    "look_ups": lambda k, a, p: _lines("look_ups", LOOK_UP, _sentences(look_up_lines(k, a))),
    "assumed": lambda k, a, p: _lines("assumed", assumed_title(a), _sentences(assumed_lines(a))),
    "stand_ins": lambda k, a, p: _lines("stand_ins", "General limits that stood in", _sentences(a.stand_ins)),
    "not_asked": _not_asked,
    "used": _used,
    "advice": lambda k, a, p: Section(
        "advice",
        "Mind",
        (Line(ADVICE, short=ADVICE_LINE),),
        figures=(
            Figure("judgement", ("odds are our judgement", "odds and frequencies are judgement")),
            Figure("manual", ("maker's manual",)),
        ),
    ),
}
"""Id of a section -> what makes it, in the order in which it is told."""
SECTIONS = tuple(BUILD)
BESIDE = ("dangers", "job", "doubt", "held", "ladder", "causes")
"""What stands beside a question: each takes a few milliseconds without the range of bills."""
