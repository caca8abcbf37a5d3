"""The assessment in a terminal: 80 columns, readable without colour and in a pipe."""

from __future__ import annotations

from collections.abc import Iterator
from decimal import Decimal

from rich.console import RenderableType
from rich.table import Table
from rich.text import Text

from ..model.knowledge import RUNGS, Knowledge
from ..model.results import Assessment, Belief
from ..quote.held import held_checks, standing, waived_sentences
from .bars import compression_bars
from .layout import bar, heading, indent, item
from .leading import TELLING, leading
from .sentences import (
    cautions_of,
    check_title,
    defended_sentence,
    first_sentence,
    flip_text,
    held_lines,
    no_check_sentence,
    opened_sentence,
    others_sentence,
    reason_text,
    risk_sentence,
    step_title,
    subject_title,
)
from .words import ADVICE, minutes, money, noticed_words, odds_words, one_in, percent

LEADING = 6


def assessment_text(knowledge: Knowledge, answer: Assessment, *, brief: bool = False) -> Iterator[RenderableType]:
    """The answer page, part by part."""
    yield from _head(answer)
    yield from _doubts(knowledge, answer)
    yield from _recommendation(knowledge, answer)
    yield from _ladder(knowledge, answer)
    yield from _causes(knowledge, answer)
    yield from _bars(answer)
    yield from _checks(knowledge, answer)
    yield from _moves(knowledge, answer)
    if not brief:
        yield from _work(knowledge, answer)
        yield from _parts(knowledge, answer)
        yield from _tests(knowledge, answer)
        yield from _gaps(knowledge, answer)
    yield heading("Mind")
    yield indent(ADVICE)
    yield indent(f"Rule base {knowledge.version}.")


def _head(answer: Assessment) -> Iterator[RenderableType]:
    job = answer.job.job
    yield Text(job.title or "Job", style="bold")
    yield indent(f"Engine: {answer.job.engine.name}")
    if job.customer.words:
        words = " ".join(job.customer.words.split())
        yield indent(f'The customer says: "{words if len(words) <= 300 else words[:297] + "..."}"')


def _doubts(knowledge: Knowledge, answer: Assessment) -> Iterator[RenderableType]:
    lines = [f"Contradiction: {knowledge.contradictions[name].title}. Ask again; neither is resolved here."
             for name in answer.contradictions]
    lines += [f"{subject_title(knowledge, remark.observation)}: {remark.kind}. {remark.text}"
              + (f" Instead: {check_title(knowledge, remark.instead)}." if remark.instead else "")
              for remark in answer.facts.remarks]
    lines += [f"{knowledge.observations[name].title}: answered, but its ground is gone; it is left out."
              for name in answer.dropped]
    if lines:
        yield heading("Answers and readings in doubt")
        for line in lines:
            yield item(line, "!")


def _bars(answer: Assessment) -> Iterator[RenderableType]:
    bars = compression_bars(answer.facts, 76)
    if bars:
        yield heading("Compression")
        yield indent(bars)


def _recommendation(knowledge: Knowledge, answer: Assessment) -> Iterator[RenderableType]:
    decision = answer.decision
    line = next(line for line in decision.ladder if line.rung == decision.rung)
    scope = knowledge.scopes[decision.rung]
    held = held_checks(answer, decision.rung)
    yield heading("How deep")
    yield indent(Text(f"{scope.title}" + ("   (HELD: see below)" if held else ""), style="bold"))
    yield indent(scope.plain)
    enough = f"Chance that this is enough: {percent(line.enough)} ({odds_words(line.enough)})."
    if decision.estimated:
        enough += " The evidence is too tangled for an exact figure; this one is estimated."
    yield indent(enough)
    noticed = noticed_words(line.enough, line.noticed)
    if noticed:
        yield indent(noticed)
    if decision.provisional:
        yield indent("Provisional: without prices the shallowest rung likely enough to hold stands in for the cheapest "
                     "in the end. " + (f"Missing: {', '.join(decision.missing[:6])}"
                                       f"{' ...' if len(decision.missing) > 6 else ''}." if decision.missing else ""))
    elif decision.wins_by is not None and decision.runner_up:
        yield indent(f"It costs least in the end, by {money(decision.wins_by, decision.currency, whole=True)} before "
                     f"{knowledge.scopes[decision.runner_up].title.lower()}.")
    for sentence in (defended_sentence(knowledge, answer), opened_sentence(answer)):
        if sentence:
            yield indent(sentence)
    risk = risk_sentence(knowledge, answer)
    if risk:
        yield indent(risk)
    if decision.beyond:
        yield indent(decision.beyond)
    for sentence in waived_sentences(knowledge, answer):
        yield item(sentence, "!")
    if held:
        safe = min((hold.above for hold in standing(answer, decision.rung)), key=RUNGS.index)
        yield indent(f"Before promising more than {knowledge.scopes[safe].title.lower()}, make these checks "
                     f"({minutes(sum(check.minutes for check in held))} in all) or waive them in writing "
                     "(howdeep waive):")
        for line in held_lines(knowledge, answer):
            yield item(line, "[ ]", 4)


def _ladder(knowledge: Knowledge, answer: Assessment) -> Iterator[RenderableType]:
    decision = answer.decision
    yield heading("The ladder")
    table = Table(box=None, pad_edge=False, padding=(0, 2, 0, 0), show_edge=False)
    table.add_column("  Scope", no_wrap=True)
    table.add_column("Enough", justify="right", no_wrap=True)
    priced = any(line.expected is not None for line in decision.ladder)
    table.add_column("Price" if priced else "", justify="right", no_wrap=True)
    table.add_column("In the end" if priced else "", justify="right", no_wrap=True)
    table.add_column("", no_wrap=True)
    known = [line.expected for line in decision.ladder if line.expected is not None]
    most = max(known, default=Decimal(1)) or Decimal(1)
    for line in decision.ladder:
        mark = ">" if line.rung == decision.rung else " "
        table.add_row(
            f"{mark} {knowledge.scopes[line.rung].title}",
            percent(line.enough),
            money(line.price, whole=True) if priced else "",
            money(line.expected, whole=True) if priced else "",
            bar(float(line.expected / most)) if line.expected is not None else bar(line.enough),
        )
    yield indent(table, 0)
    if priced:
        yield indent(f"In {decision.currency}, before tax and allowances. 'In the end' adds what growth at teardown "
                     "and comebacks would cost, weighted by their chances.")


def _causes(knowledge: Knowledge, answer: Assessment) -> Iterator[RenderableType]:
    yield heading("Likely causes")
    for belief in leading(answer, LEADING):
        cause = knowledge.causes[belief.cause]
        yield item(f"{cause.title}: {percent(belief.posterior)}, {odds_words(belief.posterior)} "
                   f"(before any sign: {percent(belief.prior)})", "*")
        for label, steps in (("for", _telling(belief, 1)), ("against", _telling(belief, -1))):
            if steps:
                yield indent(item(f"{label}: " + "; ".join(_step_text(knowledge, step) for step in steps), " ", 2), 2)
    yield indent("Several can be present at once, so the figures need not add up to 100 %.")
    others = others_sentence(knowledge, answer)
    if others:
        yield indent(others)


def _telling(belief: Belief, sign: int, most: int = 3):
    steps = [step for step in belief.steps if step.kind != "base" and sign * step.decibans > TELLING]
    return sorted(steps, key=lambda step: (-sign * step.decibans, step.label))[:most]


def _step_text(knowledge: Knowledge, step) -> str:
    return f"{step_title(knowledge, step.label, step.kind)} ({step.decibans:+.1f})"


def _checks(knowledge: Knowledge, answer: Assessment) -> Iterator[RenderableType]:
    yield heading("Next check")
    if answer.decision.provisional:
        yield indent("Without prices a check cannot be weighed against its minutes.")
        return
    worth = [check for check in answer.checks if check.net > 0]
    if not worth:
        yield indent(no_check_sentence(knowledge, answer))
        return
    plan = answer.extra.get("plan", ())
    for check in worth[:3]:
        yield item(f"{check.title} ({minutes(check.minutes)}): worth about "
                   f"{money(check.net, answer.decision.currency, whole=True)} more than it costs.", "*")
        cautions = cautions_of(knowledge, check.observations)
        if cautions:
            yield indent(f"Caution first: {'; '.join(cautions)}.", 4)
        for outcome in sorted(check.outcomes, key=lambda o: (-o.chance, o.title))[:5]:
            if outcome.chance >= 0.005:
                yield indent(f"{percent(outcome.chance):>5}  {outcome.title} -> "
                             f"{knowledge.scopes[outcome.leads_to].title.lower()}", 4)
    if len(worth) > 1 and plan:
        names = [check_title(knowledge, name) for _, checks in plan for name in checks]
        total = answer.extra.get("plan_minutes", 0)
        yield indent(f"On the bench, in this order ({minutes(total)} in all): {'; '.join(names)}.")


def _moves(knowledge: Knowledge, answer: Assessment) -> Iterator[RenderableType]:
    if not answer.flips:
        return
    yield heading("What would change the answer")
    shown = 0
    for flip in answer.flips:
        if shown >= 8:
            break
        yield item(flip_text(knowledge, flip))
        shown += 1
    yield from _tornado(knowledge, answer)
    if len(answer.flips) > shown:
        yield indent(f"... and {len(answer.flips) - shown} more (--json lists them all).")


def _tornado(knowledge: Knowledge, answer: Assessment) -> Iterator[RenderableType]:
    """The figures that the choice hangs on: how far ahead the recommended rung is at both ends of each."""
    swings = [flip for flip in answer.flips if flip.low is not None and flip.high is not None][:6]
    if not swings:
        return
    table = Table(box=None, pad_edge=False, padding=(0, 2, 0, 0), show_edge=False)
    table.add_column("  Figure")
    for name in ("Now", "Flips at", "At the low end", "At the high end"):
        table.add_column(name, justify="right", no_wrap=name != "Figure")
    for flip in swings:
        table.add_row(f"  {subject_title(knowledge, flip.subject)}", flip.now, flip.at, money(flip.low, whole=True),
                      money(flip.high, whole=True))
    yield indent(f"How far behind (+) or ahead (-) of its best rival the recommended scope is, in "
                 f"{answer.decision.currency}, at each end:")
    yield table


def _work(knowledge: Knowledge, answer: Assessment) -> Iterator[RenderableType]:
    work = answer.works[answer.decision.rung]
    sure = [entry for entry in work.items if not entry.if_found]
    maybe = [entry for entry in work.items if entry.if_found]
    yield heading("Work")
    if any(entry.cautions for entry in sure):
        yield indent("Each caution stands before the work it belongs to; howdeep sheet prints them whole.")
    said: set[str] = set()
    for entry in sure:
        for name in entry.cautions:
            if name not in said:
                said.add(name)
                caution = knowledge.cautions[name]
                yield item(f"CAUTION, {caution.title.lower()}: {first_sentence(caution.text)}", "!")
        yield item(f"{knowledge.operations[entry.operation].title} ({entry.hours:g} h): "
                   f"{reason_text(knowledge, entry)}")
    if maybe:
        yield indent("Only if found (an allowance in the quote):")
        for entry in sorted(maybe, key=lambda entry: (-entry.chance, entry.operation))[:10]:
            yield item(f"{knowledge.operations[entry.operation].title}: {one_in(entry.chance)}, "
                       f"{reason_text(knowledge, entry)}", "-", 4)


def _parts(knowledge: Knowledge, answer: Assessment) -> Iterator[RenderableType]:
    lines = answer.works[answer.decision.rung].parts
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
    work = answer.works[answer.decision.rung]
    if not (work.before or work.during or work.after):
        return
    yield heading("Tests")
    for label, names in (("Before opening", work.before), ("While open", work.during), ("To prove it", work.after)):
        if names:
            yield indent(f"{label}: {'; '.join(check_title(knowledge, name) for name in names)}.")


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
