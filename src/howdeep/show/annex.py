"""What stands behind an estimate, for who wants it: every line with its reason, everything found, pictures; in the
shop's copy also the evidence behind each line and the way to each suspect."""

from __future__ import annotations

from typing import Any

from ..assessment.explain import source_text
from ..model.frozen import dataclass
from ..model.knowledge import Knowledge
from ..model.results import Assessment, Belief
from ..quote.beside import FoundRow, found_rows
from ..quote.estimate_values import Estimate
from ..quote.found import found_sentences
from ..quote.orders import order_list
from ..quote.values import OrderLine, Quote, QuoteLine
from .paper_parts import likely_sentence
from .pictures import pictures, shop_pictures
from .price_notes import kind_note, price_notes
from .reasons import reasons_of
from .spoken import AsSaid
from .words import suspects_title

KINDS = {
    "labour": "Labour",
    "part": "Parts",
    "consumable": "Consumables",
    "machine": "Machine shop",
    "supplies": "Shop supplies",
    "replacement": "Replacement",
}


@dataclass(frozen=True, slots=True)
class Annex:
    """The annex of one quote."""

    quote: Quote
    date: str
    shop_copy: bool
    told: str
    """The customer's own words, whole."""
    found: tuple[FoundRow, ...]
    opened: tuple[str, ...]
    """What was found on opening, as sentences."""
    likely_title: str
    """What stands over them."""
    likely: tuple[str, ...]
    """What it most likely is, with the signs."""
    groups: tuple[tuple[str, tuple[QuoteLine, ...], str], ...]
    """(kind of line, lines, what is to be said of their price)."""
    notes: tuple[str, ...]
    """What is to be said of the prices."""
    compare: Quote | None
    apart: tuple[tuple[str, str], ...]
    """(work, where it is) of what only one of two compared jobs has."""
    pictures: tuple[tuple[str, Any], ...]
    """(caption, SVG that may be printed as it is)."""
    order: tuple[OrderLine, ...]
    beliefs: tuple[tuple[str, Belief], ...]
    """(title, belief) of the likeliest causes; shop's copy."""
    present: tuple[str, ...]
    """Findings that hold; shop's copy."""
    sources: tuple[str, ...]
    """Works behind them; shop's copy."""


def annex_of(
    quote: Quote,
    knowledge: Knowledge,
    answer: Assessment,
    estimate: Estimate,
    *,
    shop_copy: bool = False,
    compare: Quote | None = None,
    date: str = "",
    units: str = "",
) -> Annex:
    """The annex of a quote; prices are old by `date`, measured figures stand in the shop's `units`."""
    from markupsafe import Markup

    groups = [(title, tuple(line for line in quote.lines if line.kind == kind)) for kind, title in KINDS.items()]
    drawn = [*pictures(answer, quote, estimate, units), *(shop_pictures(knowledge, answer, units) if shop_copy else ())]
    found = tuple(
        FoundRow(row.observation, row.title, AsSaid(row.read), AsSaid(row.should_be), row.past)
        for row in found_rows(knowledge, answer, units)
    )
    likely = reasons_of(knowledge, answer, 3, knowledge.settings.telling.to_customer_from)
    return Annex(
        quote,
        date,
        shop_copy,
        AsSaid(" ".join(answer.job.job.customer.words.split())),
        found,
        found_sentences(knowledge, answer),
        suspects_title((reason.hand for reason in likely), "What it most likely is"),
        tuple(likely_sentence(knowledge, reason) for reason in likely),
        tuple((title, lines, kind_note(list(lines), quote, date)) for title, lines in groups if lines),
        tuple(price_notes(quote, date)),
        compare,
        tuple(work_apart(quote, compare)),
        tuple((caption, Markup(svg)) for caption, svg in drawn),  # drawn by this program, its texts escaped there
        order_list(knowledge, answer, quote.job or quote.rung) if shop_copy else (),
        tuple((knowledge.causes[belief.cause].title, belief) for belief in answer.beliefs[:8]) if shop_copy else (),
        tuple(
            knowledge.findings[name].title
            for name, truth in answer.conclusions.findings.items()
            if truth.value == "present"
        )
        if shop_copy
        else (),
        tuple(_sources(knowledge, answer)) if shop_copy else (),
    )


def _sources(knowledge: Knowledge, answer: Assessment) -> dict[str, None]:
    """Works behind the signs of the likeliest causes, each once."""
    found: dict[str, None] = {}
    for belief in answer.beliefs[:5]:
        for step in belief.steps:
            for source in knowledge.findings[step.label].source if step.label in knowledge.findings else ():
                found[source_text(knowledge, source)] = None
    return found


def work_apart(quote: Quote, compare: Quote | None) -> list[tuple[str, str]]:
    """What one scope has that the other has not, by operation."""
    if compare is None:
        return []
    mine = {line.subject: line for line in quote.lines if line.kind == "labour"}
    other = {line.subject: line for line in compare.lines if line.kind == "labour"}
    return [(line.title, "only here") for key, line in mine.items() if key not in other] + [
        (line.title, f"only in {compare.title.lower()}") for key, line in other.items() if key not in mine
    ]
