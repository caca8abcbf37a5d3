"""The answer in words, once: every section of it as a value. Terminal, page, talk, papers and JSON lay it out."""

from __future__ import annotations

from collections.abc import Callable, Sequence

from ..model.knowledge import Knowledge
from ..model.prices import PriceList
from ..model.results import Assessment
from . import answer_sections, odds_sections, work_sections
from .doubts import doubt_lines, remark_lines
from .general import LOOK_UP, assumed_lines, assumed_title, look_up_lines
from .headline import HEADINGS, headline, names_job
from .section import Figure, Line, Section, Verdict
from .sentences import lower_first
from .settled import settled
from .unexplained import unexplained_lines
from .used_text import used_line, used_small_print
from .what_next import stage_lines
from .words import ADVICE, ADVICE_LINE


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
    past = settled(knowledge, answer)
    instead = {section.id: section for section in past.sections} if past else {}
    made = (
        instead[name]
        if name in instead
        else answer_sections.job(knowledge, answer, prices, spread=spread)
        if name == "job"
        else BUILD[name](knowledge, answer, prices)
        for name in SECTIONS
        if wanted is None or name in wanted
    )
    sections = tuple(section for section in made if section.lines or section.table or section.before)
    if past is not None:
        told = f"{past.heading}: {lower_first(past.job)}" if past.job else past.heading
        return Verdict(kind, past.heading, told, past.job, "", True, sections, past.way)
    return Verdict(
        kind,
        heading,
        said,
        job[:1].upper() + job[1:],
        headline(knowledge, answer, then) if then != kind else "",
        names_job(answer, then),
        sections,
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
    "general": answer_sections.general,
    "dangers": answer_sections.dangers,
    "because": answer_sections.because,
    "job": answer_sections.job,
    "doubt": lambda k, a, p: _lines("doubt", "Ask or measure again", doubt_lines(k, a)),
    "misfits": answer_sections.misfits,
    "remarks": lambda k, a, p: _lines("remarks", "To be said of the readings", remark_lines(k, a)),
    "prices": answer_sections.prices,
    "waived": answer_sections.waived,
    "next": answer_sections.steps,
    "held": answer_sections.held,
    "reasons": answer_sections.reasons,
    "unexplained": lambda k, a, p: _lines("unexplained", "Not explained", unexplained_lines(k, a)),
    "stages": lambda k, a, p: _lines("stages", "Then", stage_lines(k, a, p)),
    "turns_up": work_sections.turns_up,
    "leaves": answer_sections.leaves,
    "owner": answer_sections.owner,
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
