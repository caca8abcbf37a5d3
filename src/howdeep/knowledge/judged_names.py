"""Facts that are judged or graded hold together: what they judge, by which field, limits, gauge and words."""

from __future__ import annotations

import re

from ..errors import nearest
from ..model.engine import Fit
from ..model.judged import BAND_WORDS, BandWord, Grade, Judge
from ..model.knowledge import Knowledge
from ..model.observations import Reduced
from ..model.quantity import DIMENSION
from .engine_facts import engine_fact_words
from .given_names import check_computed, check_given_by, check_observations
from .held_to import (
    Place,
    Report,
    field_at,
    field_kind,
    known_entry,
    limit_at,
    per_inch_of,
    same_kind,
    sheet_fields,
    template_at,
)

EDGE = re.compile(r"([a-z0-9_]+)(?: ([+-]) ([a-z0-9_]+))?")
"""A mark, or one mark and another added or taken away."""


def check_judged(knowledge: Knowledge, report: Report) -> None:
    """Every fault of observations, judged, graded and computed facts in what they are held to."""
    sheet = sheet_fields()
    for name, gauge in knowledge.gauges.items():
        if gauge.unit not in DIMENSION:
            report(f"gauges/{name}", ("unit",), f"'{gauge.unit}' is not a unit known here", "")
        if not gauge.error > 0:
            report(f"gauges/{name}", ("error",), f"'{gauge.error:g}' is no error of a gauge", "a number above 0")
    check_observations(knowledge, sheet, report)
    for name, item in knowledge.reduced.items():
        ways = [way for way in ("judge", "grade", "computed_by") if getattr(item, way)]
        if len(ways) > 1:
            report(
                f"reduced/{name}",
                (ways[1],),
                "a fact is judged, graded or computed, one of them",
                f"leave out {ways[0]} or {ways[1]}",
            )
        if item.judge:
            _judge(knowledge, name, item, item.judge, sheet, report)
        if item.grade:
            _grade(knowledge, name, item, item.grade, sheet, report)
        if item.computed_by:
            check_given_by(knowledge, name, item.computed_by, report)
    for name, entry in knowledge.computed.items():
        check_computed(knowledge, name, entry, sheet, report)


def _measured(knowledge: Knowledge, key: str, path: Place, of: str, fact: Reduced, report: Report) -> str:
    """The unit of the observation that is judged; empty, and reported, where it cannot be."""
    if not known_entry(knowledge, key, path, of, "observations", report):
        return ""
    item = knowledge.observations[of]
    if item.kind != "number" or item.rows or item.columns:
        report(
            key,
            path,
            f"'{of}' is {'a choice' if item.kind != 'number' else 'read at several places'}: judge a single number",
            "",
        )
        return ""
    if item.each != fact.each:
        report(
            key,
            ("each",) if fact.each else path,
            f"'{of}' has one value per {item.each or 'engine'}, and the fact one per {fact.each or 'engine'}",
            f"write each: {item.each}" if item.each else "leave out 'each'",
        )
    return item.unit


def _judge(
    knowledge: Knowledge, name: str, fact: Reduced, judge: Judge, sheet: dict[str, type], report: Report
) -> None:
    key = f"reduced/{name}"
    unit = _measured(knowledge, key, ("judge", "of"), judge.of, fact, report)
    for index, field in enumerate(judge.sheet):
        if field_at(key, ("judge", "sheet", index), field, sheet, (Fit, str), report) and unit:
            field_kind(key, ("judge", "sheet", index), field, (unit,), report)
    if judge.per and field_at(key, ("judge", "per"), judge.per, sheet, (Fit, str), report):
        field_kind(key, ("judge", "per"), judge.per, ("in",), report)
    ends = {
        end: limit_at(knowledge, key, ("judge", "limits", end), getattr(judge.limits, end), unit, report)
        for end in ("low", "high", "wear")
    }
    plain = {getattr(judge.limits, end): limit for end, limit in ends.items() if limit is not None}
    for index, limit in enumerate(judge.limits.over_high):
        found = limit_at(knowledge, key, ("judge", "limits", "over_high", index), limit, "", report)
        if found is not None and unit:
            if found.unit != "percent" and f"limits/{limit}" not in knowledge.replaced:
                same_kind(key, ("judge", "limits", "over_high", index), f"'{limit}' is", found.unit, (unit,), report)
            plain[limit] = found
    limit_at(knowledge, key, ("judge", "limits", "share_of_low"), judge.limits.share_of_low, "percent", report)
    per_inch_of(key, ("judge",), judge.per, plain, report)
    gauge = judge.gauge
    if gauge and known_entry(knowledge, key, ("judge", "gauge"), gauge, "gauges", report) and unit:
        same_kind(key, ("judge", "gauge"), f"the gauge '{gauge}' reads", knowledge.gauges[gauge].unit, (unit,), report)
    elif not gauge and unit:
        seen = knowledge.observations[judge.of]
        if not seen.gauge and seen.error is None:
            report(
                f"observations/{judge.of}",
                (),
                f"nobody says how far such a reading may stand off the truth, and '{name}' judges it",
                "add a gauge, or an error",
            )
    if not judge.sheet and not any((*ends.values(), judge.limits.over_high, judge.limits.share_of_low)):
        report(key, ("judge",), "nothing to judge by", "name a field of the sheet, or limits")
    for named, word in judge.words.items():
        if word not in fact.answers:
            report(key, ("judge", "words", named), f"'{word}' is not one of the answers", nearest(word, fact.answers))
    for band in _bands_of(judge):
        word = judge.words.get(band, band)
        if band not in judge.words and word not in fact.answers:
            report(
                key,
                ("answers",),
                f"'{word}' can come out, and is not one of the answers",
                f"add it, or write words: {{{band}: ...}}",
            )


def _bands_of(judge: Judge) -> tuple[BandWord, ...]:
    """Bands in which a reading can fall: it can be tight only where more is worse and the least of new may be known."""
    banded = any(sheet_fields().get(field) is Fit for field in judge.sheet)
    return BAND_WORDS if judge.worse == "high" and (judge.limits.low or banded) else BAND_WORDS[:-1]


def _grade(
    knowledge: Knowledge, name: str, fact: Reduced, grade: Grade, sheet: dict[str, type], report: Report
) -> None:
    key = f"reduced/{name}"
    unit = _measured(knowledge, key, ("grade", "of"), grade.of, fact, report)
    figures = {
        **sheet,
        **{f"{field}.{end}": str for field, kind in sheet.items() if kind is Fit for end in ("low", "high", "wear")},
    }
    for label, mark in grade.marks.items():
        path = ("grade", "marks", label)
        if not mark.limit and not mark.sheet:
            report(key, path, f"the mark '{label}' has no figure", "name a limit, or a field of the sheet")
        limit_at(knowledge, key, (*path, "limit"), mark.limit, unit, report)
        if mark.sheet and field_at(key, (*path, "sheet"), mark.sheet, figures, (str,), report) and unit:
            field_kind(key, (*path, "sheet"), mark.sheet, (unit,), report)
    for index, step in enumerate(grade.steps):
        here = ("grade", "steps", index)
        if step.word not in fact.answers:
            report(key, (*here, "word"), f"'{step.word}' is not one of the answers", nearest(step.word, fact.answers))
        last = index + 1 == len(grade.steps)
        if bool(step.below) + bool(step.up_to) != (not last):
            report(
                key,
                here,
                "the last step has no end" if last else "a step has one end, below or up_to",
                "write it from the least reading to the greatest",
            )
        for end in ("below", "up_to"):
            edge: str = getattr(step, end)
            match = EDGE.fullmatch(edge)
            for named in [] if not edge else [edge] if match is None else [part for part in match.group(1, 3) if part]:
                if named not in grade.marks:
                    report(key, (*here, end), f"there is no mark '{named}'", nearest(named, grade.marks))
    never = [word for word in fact.answers if word not in {step.word for step in grade.steps}]
    if never:
        report(
            key,
            ("answers", fact.answers.index(never[0])),
            f"'{never[0]}' never comes out",
            "give it a step, or leave it out",
        )
    marks = (*grade.marks, *(f"{mark}_from" for mark in grade.marks))
    template_at(
        key,
        ("grade", "told"),
        grade.told,
        ("reading", "sheet.lash_state", *marks, *(name.replace("engine.", "build.") for name in engine_fact_words())),
        report,
    )
