"""Papers as one self-contained HTML page each: no script, no outside resource, fit for Letter and A4."""

from __future__ import annotations

import itertools
from collections.abc import Sequence
from typing import Any

from ..explain import source_text
from ..model.knowledge import Knowledge
from ..model.prices import Letterhead
from ..model.results import Assessment
from ..quote.orders import order_list
from ..quote.values import ChangeSheet, Quote, Sheets
from .general import general_sentence
from .paper_parts import letter_of, pictures
from .price_notes import kind_note, price_notes
from .templates import environment
from .words import STAGES

KINDS = {"labour": "Labour", "part": "Parts", "consumable": "Consumables", "machine": "Machine shop",
         "supplies": "Shop supplies", "replacement": "Replacement"}


def _svg(svg: str) -> Any:
    from markupsafe import Markup

    return Markup(svg)  # drawn by this program; its texts were escaped where they were put in


def quote_page(quote: Quote, knowledge: Knowledge, answer: Assessment, *, shop: Letterhead | None = None,
               shop_copy: bool = False, compare: Quote | None = None, date: str = "", back: str = "",
               promised: bool = False, signs: str = "", units: str = "", lacking: Sequence[str] = (),
               fill: str = "") -> str:
    """The customer's quote with its letter; the shop's copy adds the trace. Prices are old by `date`; `signs` is who
    signs for the shop, and measured figures stand in its `units`. `lacking` names the prices that can be typed at the
    address `fill`, which is shown on the screen alone."""
    groups = [(title, [line for line in quote.lines if line.kind == kind]) for kind, title in KINDS.items()]
    sources: dict[str, None] = {}
    if shop_copy:
        for belief in answer.beliefs[:5]:
            for step in belief.steps:
                for source in knowledge.findings[step.label].source if step.label in knowledge.findings else ():
                    sources[source_text(knowledge, source)] = None
    return environment().get_template("quote.html").render(
        general=general_sentence(answer), quote=quote, back=back, lacking=lacking, fill=fill,
        job=answer.job.job, engine=answer.job.engine, shop=shop, shop_copy=shop_copy,
        compare=compare, extra=work_apart(quote, compare), notes=price_notes(quote, date), today=date,
        groups=[(title, lines, kind_note(lines, quote, date)) for title, lines in groups if lines],
        letter=letter_of(knowledge, answer, quote, promised=promised, units=units), signs=signs, date=date,
        sources=list(sources),
        pictures=[(caption, _svg(svg)) for caption, svg in pictures(knowledge, answer, units)], units=units,
        order=order_list(knowledge, answer, quote.job or quote.rung), beliefs=answer.beliefs[:8], knowledge=knowledge,
        findings=[(knowledge.findings[name].title, truth.value)
                  for name, truth in answer.conclusions.findings.items() if truth.value == "present"])


def work_apart(quote: Quote, compare: Quote | None) -> list[tuple[str, str]]:
    """What one scope has that the other has not, by operation."""
    if compare is None:
        return []
    mine = {line.subject: line for line in quote.lines if line.kind == "labour"}
    other = {line.subject: line for line in compare.lines if line.kind == "labour"}
    return [(line.title, "only here") for key, line in mine.items() if key not in other] + [
        (line.title, f"only in {compare.title.lower()}") for key, line in other.items() if key not in mine]


def change_page(sheet: ChangeSheet, answer: Assessment, currency: str, *, shop: Letterhead | None = None,
                signs: str = "", units: str = "") -> str:
    """The change sheet after teardown."""
    return environment().get_template("change.html").render(sheet=sheet, job=answer.job.job, engine=answer.job.engine,
                                                             currency=currency, shop=shop, signs=signs, units=units,
                                                             general=general_sentence(answer))


def sheets_page(sheets: Sheets, answer: Assessment, *, shop: Letterhead | None = None, signs: str = "",
                units: str = "") -> str:
    """The assembly sheet and the proof sheet, with blanks to fill in."""
    stages = [(STAGES[stage], list(parts)) for stage, parts in itertools.groupby(sheets.parts, lambda part: part.stage)]
    return environment().get_template("sheets.html").render(sheets=sheets, stages=stages, job=answer.job.job,
                                                             engine=answer.job.engine, shop=shop, signs=signs,
                                                             units=units, general=general_sentence(answer))
