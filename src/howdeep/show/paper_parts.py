"""What the papers show besides figures: the shop's head, the letter, the pictures of a job."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from decimal import Decimal

from ..model.knowledge import RUNGS, Knowledge
from ..model.results import Assessment
from ..quote.found import found_sentences
from ..quote.sheets import reading_text
from ..quote.values import Quote
from . import charts
from .leading import leading
from .sentences import step_title
from .words import every_words, money, one_in, percent

UNLIKELY_TO_NEED_MORE = 0.65
"""From this chance of being enough ('likely' in odds words) deeper work is said not to be likely to be needed."""


@dataclass(frozen=True, slots=True)
class Letter:
    """Half a page in plain words."""

    told: str
    measured: tuple[str, ...]
    found: tuple[str, ...]
    """What was found on opening; empty where nothing was opened."""
    likely: tuple[str, ...]
    propose: str
    worth: str
    """The work beside the machine's value and a replacement engine; empty where nothing is said of it."""
    not_propose: tuple[str, ...]
    could_turn_up: tuple[str, ...]
    waiting: tuple[str, ...]


def letter_of(knowledge: Knowledge, answer: Assessment, quote: Quote) -> Letter:
    """The explanation letter."""
    job = answer.job
    words = " ".join(job.job.customer.words.split())
    asked = knowledge.observations
    tests = [(name, value) for name, value in job.values.items()
             if asked[name].moment == "test" and asked[name].group != "test_conditions"]
    tests.sort(key=lambda test: (asked[test[0]].kind != "number", test[0]))
    measured = [f"{asked[name].title}: {reading_text(asked[name], value)}" for name, value in tests[:6]]
    likely = [f"{knowledge.causes[belief.cause].plain} ({one_in(belief.posterior)})"
              for belief in leading(answer, 3) if belief.posterior >= 0.2]
    scope = knowledge.scopes[quote.rung]
    propose = (f"{scope.title}: {scope.plain} The chance that this is enough is {percent(quote.enough)}. "
               f"{every_words(quote.enough, quote.every)}").rstrip()
    not_propose = [f"{knowledge.scopes[line.rung].title}: {_why_not(knowledge, answer, line.rung, quote.rung)}"
                   for line in answer.decision.ladder
                   if abs(RUNGS.index(line.rung) - RUNGS.index(quote.rung)) == 1]
    could = [f"{item.title}: {one_in(item.chance)}, {money(item.amount, quote.currency)} more."
             for item in quote.allowances[:4]]
    waiting = [knowledge.causes[belief.cause].wait for belief in answer.beliefs[:4]
               if belief.posterior >= 0.3 and knowledge.causes[belief.cause].wait]
    worth = answer.decision.beyond if quote.rung == answer.decision.rung else ""
    return Letter(words, tuple(measured), found_sentences(knowledge, answer), tuple(likely), propose, worth,
                  tuple(not_propose), tuple(could), tuple(waiting[:2]))


def _why_not(knowledge: Knowledge, answer: Assessment, rung: str, chosen: str) -> str:
    line = next(line for line in answer.decision.ladder if line.rung == rung)
    if RUNGS.index(rung) < RUNGS.index(chosen):
        return f"cheaper to begin with, but the chance that it holds is {percent(line.enough)}."
    here = next(other.enough for other in answer.decision.ladder if other.rung == chosen)
    if line.enough <= here:
        return f"it would not make sure of more: the chance that it is enough is {percent(line.enough)}."
    if here >= UNLIKELY_TO_NEED_MORE:
        return ("it would make sure of more, but on what we know now the extra work is not likely to be needed "
                f"(this less deep job has {percent(here)}).")
    chosen_price = next(other.price for other in answer.decision.ladder if other.rung == chosen)
    dearer = line.price is not None and chosen_price is not None and line.price > chosen_price
    return (f"it would make sure of more ({percent(line.enough)} against {percent(here)})"
            + (", but it costs more to begin with" if dearer else "")
            + "; whether it is needed is decided by what is found, and with you.")


def pictures(knowledge: Knowledge, answer: Assessment) -> Iterator[tuple[str, str]]:
    """(caption, SVG) of the pictures that this job can show."""
    values = answer.job.values
    dry, wet = values.get("compression_dry"), values.get("compression_wet")
    if isinstance(dry, tuple):
        yield "Compression of each cylinder", charts.compression_bars(dry, wet or (), _expected(answer), "psi")
    main = answer.beliefs[0] if answer.beliefs else None
    if main and len(main.steps) > 1:
        title = knowledge.causes[main.cause].title
        steps = [("before any sign" if step.kind == "base" else step_title(knowledge, step.label, step.kind),
                  step.decibans) for step in main.steps]
        shown = steps[:1] + sorted(steps[1:], key=lambda step: -abs(step[1]))[:10]
        rest = sum(size for _, size in steps) - sum(size for _, size in shown)
        if len(steps) > len(shown):
            shown.append((f"{len(steps) - len(shown)} smaller signs together", rest))
        yield f"How we came to: {title}", charts.waterfall(title, shown)
    ladder = answer.decision.ladder
    if all(line.expected is not None for line in ladder):
        rows = [(knowledge.scopes[line.rung].title, line.price or Decimal(0), line.growth or Decimal(0),
                 line.comeback or Decimal(0), line.rung == answer.decision.rung) for line in ladder]
        yield "What each scope costs in the end", charts.cost_by_scope(rows, answer.decision.currency)


def _expected(answer: Assessment) -> tuple[float, float] | None:
    """The band that this engine should crank at where it was tested, psi; None where the sheet gives none."""
    low, high = (answer.facts.values.get(f"compression.expected_{end}") for end in ("low", "high"))
    return (low, high) if isinstance(low, float) and isinstance(high, float) else None
