"""The assessment in a terminal: 80 columns, readable without colour and in a pipe."""

from __future__ import annotations

from collections.abc import Iterator
from decimal import Decimal

from rich.console import RenderableType
from rich.table import Table
from rich.text import Text

from ..beliefs.waterfall import BROUGHT_IN
from ..model.knowledge import Knowledge
from ..model.results import Assessment, Belief, WaterfallStep
from ..model.terms import DEPTH, RUNGS
from ..quote.first_steps import worth_making as useful_checks
from ..quote.held import held_checks, standing, waived_sentences
from ..quote.jobs import twins
from ..work.stages import in_order
from .answer import answer_of, job_title, unexplained_sentences
from .bars import compression_bars
from .general import LOOK_UP, assumed_lines, assumed_title, general_sentence, look_up_lines
from .layout import bar, heading, indent, item
from .leading import TELLING, leading
from .sentences import (
    cautions_of,
    check_title,
    defended_sentence,
    doubt_sentences,
    first_sentence,
    flip_lines,
    held_lines,
    led_words,
    lower_first,
    opened_sentence,
    others_sentence,
    reason_text,
    risk_sentence,
    step_title,
)
from .spoken import Said, spoken
from .used_text import used_small_print
from .words import ADVICE, every_words, minutes, money, odds_words, one_in, parts_words, percent

LEADING = 6
SPEAKS = {
    "nothing": "hardly",
    "barely": "a little",
    "substantial": "clearly",
    "strong": "strongly",
    "very strong": "very strongly",
    "decisive": "decisively",
}
"""Strength of a sign in words -> how it speaks."""


def assessment_text(
    knowledge: Knowledge, answer: Assessment, *, parts: tuple[str, ...] = (), units: str = ""
) -> Iterator[RenderableType]:
    """The whole answer part by part, or only the named parts; figures in the shop's units."""
    return spoken(_text(knowledge, answer, parts, units), units)


def _text(knowledge: Knowledge, answer: Assessment, parts: tuple[str, ...], units: str) -> Iterator[RenderableType]:
    yield from _head(answer)
    if parts:
        yield from _doubts(knowledge, answer)
        for name in parts:
            for part in PARTS[name]:
                yield from part(knowledge, answer)
        return
    yield from _doubts(knowledge, answer)
    yield from _recommendation(knowledge, answer)
    yield from _ladder(knowledge, answer)
    yield from _causes(knowledge, answer)
    yield from _bars(answer, units)
    yield from _checks(knowledge, answer)
    yield from _moves(knowledge, answer)
    yield from _work(knowledge, answer)
    yield from _parts(knowledge, answer)
    yield from _tests(knowledge, answer)
    yield from _unknown_engine(knowledge, answer)
    yield from _gaps(knowledge, answer)
    yield heading("Mind")
    yield indent(ADVICE)
    yield indent(f"Rule base {knowledge.version}.")


def _head(answer: Assessment) -> Iterator[RenderableType]:
    job = answer.job.job
    yield Text(job.title or "Job", style="bold")
    yield indent(f"Engine: {answer.job.engine.name}")
    if general := general_sentence(answer):
        yield item(general, "!")
    if job.customer.words:
        words = " ".join(job.customer.words.split())
        yield indent(Said(f'The customer says: "{words if len(words) <= 300 else words[:297] + "..."}"'))


def _doubts(knowledge: Knowledge, answer: Assessment) -> Iterator[RenderableType]:
    lines = doubt_sentences(knowledge, answer)
    if lines:
        yield heading("Answers and readings in doubt")
        for line in lines:
            yield item(line, "!")


def _bars(answer: Assessment, units: str) -> Iterator[RenderableType]:
    bars = compression_bars(answer.facts, 76, units)
    if bars:
        yield heading("Compression")
        yield indent(bars)


def _recommendation(knowledge: Knowledge, answer: Assessment) -> Iterator[RenderableType]:
    decision = answer.decision
    told = answer_of(knowledge, answer)
    yield heading(told.heading)
    for text in told.dangers:
        yield item(text, "!")
    line = decision.line(decision.job)
    held = held_checks(answer, line.rung)
    yield indent(Text(told.job + ("   (HELD: see below)" if held else ""), style="bold"))
    yield indent(knowledge.scopes[line.rung].plain)
    for text in decision.because:
        yield indent(text)
    enough = f"Chance that this is enough: {told.chance}. {told.price}."
    if decision.estimated:
        enough += " The evidence is too tangled for an exact figure; this one is estimated."
    yield indent(enough)
    every = every_words(line.enough, next(item.every for item in decision.ladder if item.rung == line.rung))
    if every and line.whole:
        yield indent(every)
    if decision.provisional:
        yield indent(
            "Provisional: without prices the shallowest rung likely enough to hold stands in for the cheapest "
            "in the end. "
            + (
                f"Missing: {', '.join(decision.missing[:6])}{' ...' if len(decision.missing) > 6 else ''}."
                if decision.missing
                else ""
            )
        )
    for sentence in told.prices:
        yield item(sentence, "!")
    for sentence in (
        defended_sentence(knowledge, answer),
        opened_sentence(answer),
        risk_sentence(knowledge, answer),
        told.owner,
    ):
        if sentence:
            yield indent(sentence)
    for sentence in waived_sentences(knowledge, answer):
        yield item(sentence, "!")
    if told.next:
        yield indent("Next:")
        for text in told.next:
            yield item(text, ">", 4)
    if held:
        safe = min((hold.above for hold in standing(answer, line.rung)), key=RUNGS.index)
        yield indent(
            f"Before promising more than {knowledge.scopes[safe].title.lower()}, make these checks "
            f"({minutes(sum(check.minutes for check in held))} in all) or waive them in writing "
            "(howdeep waive):"
        )
        for text in held_lines(knowledge, answer):
            yield item(text, "[ ]", 4)


def _ladder(knowledge: Knowledge, answer: Assessment) -> Iterator[RenderableType]:
    decision = answer.decision
    yield heading("The ladder")
    table = Table(box=None, pad_edge=False, padding=(0, 2, 0, 0), show_edge=False)
    table.add_column("  Scope", no_wrap=True)
    table.add_column("Enough", justify="right", no_wrap=True)
    priced = any(line.expected is not None for line in decision.jobs)
    table.add_column("Price" if priced else "", justify="right", no_wrap=True)
    table.add_column("In the end" if priced else "", justify="right", no_wrap=True)
    table.add_column("", no_wrap=True)
    known = [line.expected for line in decision.jobs if line.expected is not None]
    most = max(known, default=Decimal(1)) or Decimal(1)
    hidden = twins(answer)
    for line in sorted(decision.jobs, key=lambda line: (DEPTH[line.rung], line.whole)):
        if line.job in hidden:
            continue
        mark = ">" if line.job == decision.job else " "
        table.add_row(
            f"{mark} {job_title(knowledge, line)}",
            percent(line.enough),
            money(line.price, whole=True) if priced else "",
            money(line.expected, whole=True) if priced else "",
            bar(float(line.expected / most)) if line.expected is not None else bar(line.enough),
        )
    yield indent(table, 0)
    if priced:
        yield indent(
            f"In {decision.currency}, before tax and allowances. 'In the end' adds what growth at teardown, "
            "comebacks and what follows them would cost, weighted by their chances."
        )
    if hidden:
        names = ", ".join(lower_first(job_title(knowledge, decision.line(job))) for job in sorted(hidden))
        yield indent(f"Not shown, for on this engine it is the very work of a shallower depth: {names}.")


def _causes(knowledge: Knowledge, answer: Assessment) -> Iterator[RenderableType]:
    yield heading("Likely causes")
    for belief in leading(answer, LEADING):
        cause = knowledge.causes[belief.cause]
        yield item(
            f"{cause.title}: behind it {percent(belief.hand)}, {odds_words(belief.hand)}; present in the engine "
            f"{percent(belief.posterior)} (before any sign: {percent(belief.prior)})",
            "*",
        )
        for label, steps in (("for", _telling(belief, 1)), ("against", _telling(belief, -1))):
            if steps:
                yield indent(item(f"{label}: " + "; ".join(_step_text(knowledge, step) for step in steps), " ", 2), 2)
    yield indent(
        "Several can be present at once, so the figures need not add up to 100 %. In brackets: how strongly a "
        "sign speaks."
    )
    for text in unexplained_sentences(knowledge, answer):
        yield item(f"{text}.", "?")
    others = others_sentence(knowledge, answer)
    if others:
        yield indent(others)


def _telling(belief: Belief, sign: int, most: int = 3) -> list[WaterfallStep]:
    steps = [
        step
        for step in belief.steps
        if step.kind != "base" and step.label != BROUGHT_IN and sign * step.decibans > TELLING
    ]
    return sorted(steps, key=lambda step: (-sign * step.decibans, step.label))[:most]


def _step_text(knowledge: Knowledge, step: WaterfallStep) -> str:
    return f"{lower_first(step_title(knowledge, step.label, step.kind))} ({SPEAKS.get(step.words, step.words)})"


def _checks(knowledge: Knowledge, answer: Assessment) -> Iterator[RenderableType]:
    yield heading("Checks")
    useful = useful_checks(answer)
    if not useful:
        yield indent("No check left parts the suspects or moves the choice.")
        return
    for check in useful[:5]:
        worth = (
            f"worth about {money(check.net, answer.decision.currency, whole=True)} more than it costs"
            if check.net > 0
            else "looked at first for such a complaint"
            if check.first_look and check.parts < 0.02
            else parts_words(check.parts)
        )
        held = "; asked for before any deeper promise: make it or waive it" if check.hold else ""
        yield item(f"{check.title} ({minutes(check.minutes)}): {worth}{held}.", "*")
        cautions = cautions_of(knowledge, check.observations, answer.job.engine)
        if cautions:
            yield indent(f"Caution first: {'; '.join(cautions)}.", 4)
        for outcome in sorted(check.outcomes, key=lambda o: (-o.chance, o.title))[:5]:
            if outcome.chance >= 0.02:
                leads = f" -> {led_words(knowledge, outcome.leads_to)}" if outcome.leads_to else ""
                yield indent(f"{percent(outcome.chance):>5}  {outcome.title}{leads}", 4)
    if len(useful) > 1 and answer.plan:
        names = [check_title(knowledge, name) for _, checks in answer.plan for name in checks]
        yield indent(f"In one round, in this order ({minutes(answer.plan_minutes)} in all): {'; '.join(names)}.")


def _moves(knowledge: Knowledge, answer: Assessment) -> Iterator[RenderableType]:
    if not answer.flips:
        return
    yield heading("What would change the answer")
    for text in flip_lines(knowledge, answer.flips)[:12]:
        yield item(text)


def _work(knowledge: Knowledge, answer: Assessment) -> Iterator[RenderableType]:
    work = answer.works[answer.decision.job]
    held = {entry.operation: entry for entry in work.items if not entry.if_found}
    order = dict.fromkeys(name for _, name in in_order(knowledge.operations, held))
    sure = [held[name] for name in (*order, *(name for name in held if name not in order))]
    maybe = [entry for entry in work.items if entry.if_found]
    yield heading("Work")
    if any(entry.cautions for entry in sure):
        yield indent("Each caution stands before the work it belongs to; howdeep sheet assembly prints them whole.")
    said: set[str] = set()
    for entry in sure:
        for name in entry.cautions:
            if name not in said:
                said.add(name)
                caution = knowledge.cautions[name]
                yield item(f"CAUTION, {caution.title.lower()}: {first_sentence(caution.text)}", "!")
        yield item(
            f"{knowledge.operations[entry.operation].title} ({entry.hours:g} h): {reason_text(knowledge, entry)}"
        )
    if maybe:
        yield indent("Only if found (an allowance in the quote):")
        for entry in sorted(maybe, key=lambda entry: (-entry.chance, entry.operation))[:10]:
            yield item(
                f"{knowledge.operations[entry.operation].title}: {one_in(entry.chance)}, "
                f"{reason_text(knowledge, entry)}",
                "-",
                4,
            )


def _parts(knowledge: Knowledge, answer: Assessment) -> Iterator[RenderableType]:
    lines = answer.works[answer.decision.job].parts
    if not lines:
        return
    yield heading("Parts")
    for line in lines:
        text = f"{line.quantity} x {knowledge.parts[line.part].title}"
        if line.size:
            text += f", {line.size}" + (f" (measured from {line.measured_from})" if line.measured_from else "")
        elif line.waits_for:
            text += f" - order after measuring: {knowledge.observations[line.waits_for].title.lower()}"
        yield item(text)


def _tests(knowledge: Knowledge, answer: Assessment) -> Iterator[RenderableType]:
    work = answer.works[answer.decision.job]
    if not (work.before or work.during or work.after):
        return
    yield heading("Tests")
    for label, names in (("Before opening", work.before), ("While open", work.during), ("To prove it", work.after)):
        if names:
            yield indent(f"{label}: {'; '.join(check_title(knowledge, name) for name in names)}.")


def _unknown_engine(knowledge: Knowledge, answer: Assessment) -> Iterator[RenderableType]:
    for title, lines in ((LOOK_UP, look_up_lines(knowledge, answer)), (assumed_title(answer), assumed_lines(answer))):
        if lines:
            yield heading(title)
            for text in lines:
                yield item(text)


def _gaps(knowledge: Knowledge, answer: Assessment) -> Iterator[RenderableType]:
    if answer.stand_ins:
        yield heading("General limits that stood in")
        for text in answer.stand_ins:
            yield item(text)
    talk = [name for name in answer.not_asked if knowledge.observations[name].moment == "talk"]
    test = [name for name in answer.not_asked if knowledge.observations[name].moment == "test"]
    if talk or test:
        yield heading("Not asked, so evidence of nothing")
        for label, names in (("Questions", talk), ("Checks", test)):
            if names:
                titles = [knowledge.observations[name].title.lower() for name in names]
                more = f" ... and {len(titles) - 25} more" if len(titles) > 25 else ""
                yield indent(f"{label}: {', '.join(titles[:25])}{more}.")
    if answer.used is not None:
        yield heading("What this answer was made with")
        for text in used_small_print(answer.used):
            yield item(text)


PARTS = {
    "causes": (_causes,),
    "ladder": (_ladder,),
    "checks": (_checks, _moves),
    "work": (_work,),
    "parts": (_parts,),
    "tests": (_tests,),
}
"""Name of a part -> what prints it."""
