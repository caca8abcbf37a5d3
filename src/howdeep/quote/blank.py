"""A sheet to be filled in by hand at the bench: conditions to tick, and a place for every figure, in the order in which
they are typed in afterwards."""

from __future__ import annotations

from collections.abc import Sequence

from ..knowledge.engine_facts import count_of, engine_facts
from ..knowledge.figure_words import figure_title
from ..logic.applicability import applies, asked_on, rung_on
from ..model.knowledge import Knowledge
from ..model.results import Assessment
from ..model.shown_units import in_prose, unit_in
from ..model.terms import DEPTH, Rung
from .sheet_values import BlankRow, BlankSheet, SheetCaution, SheetPart
from .sheets import letters, wanted_of

PLACES = {
    "cylinder": "cylinder",
    "main": "main journal",
    "crankpin": "crankpin",
    "inlet_valve": "inlet valve",
    "exhaust_valve": "exhaust valve",
}
"""What a reading is taken for -> its word."""


def blank_sheet(
    knowledge: Knowledge,
    answer: Assessment,
    title: str,
    names: Sequence[str],
    *,
    conditions: Sequence[str] = (),
    strip: tuple[SheetPart, ...] = (),
    strip_cautions: tuple[SheetCaution, ...] = (),
    procedures: bool = True,
    units: str = "",
) -> BlankSheet:
    """The sheet for observations, in the order of `names`; `conditions` are those of a valid test, ticked first.

    `strip` is what is done while the engine comes apart, with its cautions; cautions of the observations that do not
    stand among those are told at the head. `procedures` also tells how each is made.
    """
    built = engine_facts(answer.job.engine)
    told = {caution.title for caution in (*strip_cautions, *(one for part in strip for one in part.cautions))}
    wanted = [
        name
        for name in dict.fromkeys(
            caution for observation in (*conditions, *names) for caution in knowledge.observations[observation].cautions
        )
        if applies(knowledge.cautions[name], built) and knowledge.cautions[name].title not in told
    ]
    cautions = tuple(
        SheetCaution(
            letters(index + len(told)), knowledge.cautions[name].title, in_prose(knowledge.cautions[name].text, units)
        )
        for index, name in enumerate(wanted)
    )
    heads = (*strip_cautions, *cautions)
    rows = tuple(_row(knowledge, answer, name, units, heads) for name in names)
    how = tuple(
        (knowledge.observations[name].title, in_prose(knowledge.observations[name].procedure, units))
        for name in names
        if procedures and knowledge.observations[name].procedure
    )
    ticked = tuple(_row(knowledge, answer, name, units, heads) for name in conditions)
    return BlankSheet(
        title, heads, ticked, rows, how, strip, sum(knowledge.observations[name].minutes for name in names)
    )


def within(knowledge: Knowledge, answer: Assessment, names: Sequence[str], rung: Rung) -> tuple[str, ...]:
    """Of observations of the open engine those that lie open at a depth."""
    built = engine_facts(answer.job.engine)

    def depth(name: str) -> int:
        rungs = [rung_on(knowledge.operations[one].rung, built) for one in knowledge.observations[name].opened_by]
        return min((DEPTH[one] for one in rungs if one is not None), default=DEPTH["refresh"])

    return tuple(name for name in names if depth(name) <= DEPTH[rung])


def _row(knowledge: Knowledge, answer: Assessment, name: str, units: str, heads: tuple[SheetCaution, ...]) -> BlankRow:
    engine = answer.job.engine
    item = asked_on(knowledge.observations[name], engine_facts(engine))
    places = tuple(
        ", ".join(filter(None, (row, column))).replace("_", " ")
        for row in item.rows
        for column in item.columns or ("",)
    ) or ("",)
    wanted = wanted_of(item, engine, units)
    if not wanted and item.sheet:
        wanted = f"no {figure_title(item.sheet[0])} in the sheet: a general limit stands in"
    return BlankRow(
        name,
        item.title,
        in_prose(item.ask, units),
        wanted,
        unit_in(item.unit, units),
        tuple(in_prose(text, units) for text in item.answers.values()),
        places,
        count_of(engine, item.each),
        PLACES.get(item.each, ""),
        tuple(head.mark for head in heads if head.title in {knowledge.cautions[one].title for one in item.cautions}),
    )
