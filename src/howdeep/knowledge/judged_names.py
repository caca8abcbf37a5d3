"""Entries that say how a fact comes about hold together: what they judge, by which field, limits, gauge and words."""

from __future__ import annotations

import functools
import re
import string
import typing
from collections.abc import Callable, Collection, Iterator
from dataclasses import fields

from ..errors import nearest
from ..model.engine import Engine, Fit, Journal
from ..model.judged import BAND_WORDS, Computed, Grade, Judge
from ..model.knowledge import Knowledge, Limit, Reduced
from ..quantity import DIMENSION, Quantity
from .engine_facts import engine_fact_words
from .sheet_guard import MONEY, NO_FIGURES
from .signatures import PARTS, SIGNATURES

Report = Callable[[str, tuple, str, str], None]
EDGE = re.compile(r"([a-z0-9_]+)(?: ([+-]) ([a-z0-9_]+))?")
"""A mark, or one mark and another added or taken away."""


@functools.cache
def sheet_fields() -> dict[str, type]:
    """Field of the engine sheet -> whether it is a band (Fit), journals (Journal) or one figure (str)."""
    found: dict[str, type] = {}
    for shape, prefix in ((Engine, ""), (Journal, "crankpins."), (Journal, "mains.")):
        hints = typing.get_type_hints(shape)
        for item in fields(shape):
            kinds = {hints[item.name], *typing.get_args(hints[item.name])}
            kind = next((one for one in (Fit, Journal) if one in kinds), None)
            if kind is not None:
                found[f"{prefix}{item.name}"] = kind
            elif kinds == {str} and item.name not in (*NO_FIGURES, *MONEY):
                found[f"{prefix}{item.name}"] = str
    return found


def check_judged(knowledge: Knowledge, report: Report) -> None:
    """Every fault of observations, judged, graded and computed facts in what they are held to."""
    sheet = sheet_fields()
    for name, item in knowledge.gauges.items():
        if item.unit not in DIMENSION:
            report(f"gauges/{name}", ("unit",), f"'{item.unit}' is not a unit known here", "")
        if not item.error > 0:
            report(f"gauges/{name}", ("error",), f"'{item.error:g}' is no error of a gauge", "a number above 0")
    _observations(knowledge, sheet, report)
    for name, item in knowledge.reduced.items():
        ways = [way for way in ("judge", "grade", "computed_by") if getattr(item, way)]
        if len(ways) > 1:
            report(f"reduced/{name}", (ways[1],), "a fact is judged, graded or computed, one of them",
                   f"leave out {ways[0]} or {ways[1]}")
        if item.judge:
            _judge(knowledge, name, item, item.judge, sheet, report)
        if item.grade:
            _grade(knowledge, name, item, item.grade, sheet, report)
        if item.computed_by:
            _given_by(knowledge, name, item.computed_by, report)
    for name, item in knowledge.computed.items():
        _computed(knowledge, name, item, sheet, report)


def limits_named(knowledge: Knowledge) -> Iterator[str]:
    """Every limit that a judged, graded or computed fact, or a belief, may use; {volts} with each of its words."""
    for item in knowledge.reduced.values():
        if item.judge:
            ends = item.judge.limits
            for limit in (ends.low, ends.high, ends.wear, ends.share_of_low, *ends.over_high):
                yield from _spelt(limit)
        if item.grade:
            for mark in item.grade.marks.values():
                yield from _spelt(mark.limit)
    for item in knowledge.computed.values():
        for limit in item.limits.values():
            yield from _spelt(limit)
    for item in knowledge.observations.values():
        if item.believed:
            yield item.believed.most


def _spelt(limit: str) -> Iterator[str]:
    """'charge_low_{volts}' -> charge_low_6, charge_low_12, ...; nothing for none."""
    field = next((part[1] for part in string.Formatter().parse(limit) if part[1]), "") if "{" in limit else ""
    if not field:
        yield from (limit,) if limit else ()
        return
    for word in engine_fact_words().get(f"engine.{field}", ()):
        yield limit.replace(f"{{{field}}}", word)


def _known(knowledge: Knowledge, key: str, path: tuple, name: str, where: str, report: Report) -> bool:
    """Whether there is such an entry; reported where not."""
    entries = getattr(knowledge, where)
    if name not in entries:
        singular = {"gauges": "gauge", "observations": "observation", "computed": "computation",
                    "reduced": "reduced fact"}
        report(key, path, f"there is no {singular[where]} '{name}'", nearest(name, entries))
    return name in entries


def _limit(knowledge: Knowledge, key: str, path: tuple, limit: str, unit: str, report: Report) -> Limit | None:
    """The limit (the first, where a word of the build is filled in) if it is there and of the kind of `unit`."""
    if not limit:
        return None
    spelt = list(_spelt(limit))
    found = next((knowledge.limits[name] for name in spelt if name in knowledge.limits), None)
    if "{" in limit and not spelt:
        words = [name.removeprefix("engine.") for name in engine_fact_words()]
        field = limit.partition("{")[2].partition("}")[0]
        report(key, path, f"'{field}' is no word of how an engine is built", nearest(field, words))
    elif found is None:
        report(key, path, f"there is no limit '{limit}'", nearest(limit, knowledge.limits))
    elif unit and DIMENSION.get(found.unit) not in (DIMENSION.get(unit), None):
        report(key, path, f"'{limit}' is a {DIMENSION[found.unit]}, and what it limits is a {DIMENSION[unit]}", "")
        return None
    return found


def _field(key: str, path: tuple, name: str, sheet: dict[str, type], kinds: Collection[type], report: Report) -> bool:
    if name in sheet and sheet[name] in kinds:
        return True
    likely = [field for field, kind in sheet.items() if kind in kinds]
    report(key, path, f"'{name}' is no figure of an engine sheet that can stand here"
           if name in sheet else f"there is no field '{name}' in an engine sheet", nearest(name, likely))
    return False


def _observations(knowledge: Knowledge, sheet: dict[str, type], report: Report) -> None:
    figures = {f"{field}.{end}" for field, kind in sheet.items() if kind is Fit for end in ("low", "high", "wear")}
    figures |= {field for field, kind in sheet.items() if kind is str}
    for name, item in knowledge.observations.items():
        key = f"observations/{name}"
        if item.kind != "number" and (item.gauge or item.error is not None or item.believed or item.decided_by):
            report(key, (), "gauge, error, believed and decided_by are of numbers alone", "")
        if item.gauge and _known(knowledge, key, ("gauge",), item.gauge, "gauges", report):
            _same_kind(key, ("gauge",), f"the gauge '{item.gauge}'", knowledge.gauges[item.gauge].unit, item.unit,
                       report)
        if item.error is not None and not item.error > 0:
            report(key, ("error",), f"'{item.error:g}' is no error of a gauge", "a number above 0")
        if item.decided_by and item.decided_by not in figures:
            report(key, ("decided_by",), f"there is no figure '{item.decided_by}' in an engine sheet",
                   nearest(item.decided_by, figures))
        if item.believed:
            here, unit = item.believed, "percent" if item.believed.share_of else item.unit
            found = _limit(knowledge, key, ("believed", "most"), here.most, unit, report)
            for field in ("per", "share_of"):
                if getattr(here, field):
                    _field(key, ("believed", field), getattr(here, field), sheet, (Fit, str), report)
            if found is not None:
                _per(key, ("believed",), here.per, {here.most: found}, report)
            _template(key, ("believed", "told"), here.told, ("most", "inches", "new"), report)


def _same_kind(key: str, path: tuple, what: str, unit: str, wanted: str, report: Report) -> None:
    if DIMENSION.get(unit) != DIMENSION.get(wanted):
        report(key, path, f"{what} reads a {DIMENSION.get(unit, unit)}, and this is a "
               f"{DIMENSION.get(wanted, wanted)}", "")


def _per(key: str, path: tuple, per: str, limits: dict[str, Limit], report: Report) -> None:
    """A limit that is counted per inch needs to know of what; where none is, nothing may be named."""
    counted = [name for name, limit in limits.items() if limit.per]
    if counted and not per:
        report(key, path, f"'{counted[0]}' is counted per {limits[counted[0]].per}: of which figure of the sheet?",
               "add per, e.g. per: bore")
    elif per and limits and not counted:
        report(key, (*path, "per"), f"none of its limits is counted per inch of '{per}'", "leave it out")


def _measured(knowledge: Knowledge, key: str, path: tuple, of: str, fact: Reduced, report: Report) -> str:
    """The unit of the observation that is judged; empty, and reported, where it cannot be."""
    if not _known(knowledge, key, path, of, "observations", report):
        return ""
    item = knowledge.observations[of]
    if item.kind != "number" or item.rows or item.columns:
        report(key, path, f"'{of}' is {'a choice' if item.kind != 'number' else 'read at several places'}: judge a "
               "single number", "")
        return ""
    if item.each != fact.each:
        report(key, ("each",) if fact.each else path, f"'{of}' has one value per {item.each or 'engine'}, and the fact "
               f"one per {fact.each or 'engine'}", f"write each: {item.each}" if item.each else "leave out 'each'")
    return item.unit


def _judge(knowledge: Knowledge, name: str, fact: Reduced, judge: Judge, sheet: dict[str, type],
           report: Report) -> None:
    key = f"reduced/{name}"
    unit = _measured(knowledge, key, ("judge", "of"), judge.of, fact, report)
    for index, field in enumerate(judge.sheet):
        _field(key, ("judge", "sheet", index), field, sheet, (Fit, str), report)
    if judge.per:
        _field(key, ("judge", "per"), judge.per, sheet, (Fit, str), report)
    ends = {end: _limit(knowledge, key, ("judge", "limits", end), getattr(judge.limits, end), unit, report)
            for end in ("low", "high", "wear")}
    plain = {getattr(judge.limits, end): limit for end, limit in ends.items() if limit is not None}
    for index, limit in enumerate(judge.limits.over_high):
        found = _limit(knowledge, key, ("judge", "limits", "over_high", index), limit, "", report)
        if found is not None and unit:
            if found.unit != "percent":
                _same_kind(key, ("judge", "limits", "over_high", index), f"'{limit}'", found.unit, unit, report)
            plain[limit] = found
    _limit(knowledge, key, ("judge", "limits", "share_of_low"), judge.limits.share_of_low, "percent", report)
    _per(key, ("judge",), judge.per, plain, report)
    _order_of_ends(key, judge, ends, report)
    gauge = judge.gauge
    if gauge and _known(knowledge, key, ("judge", "gauge"), gauge, "gauges", report) and unit:
        _same_kind(key, ("judge", "gauge"), f"the gauge '{gauge}'", knowledge.gauges[gauge].unit, unit, report)
    elif not gauge and unit:
        seen = knowledge.observations[judge.of]
        if not seen.gauge and seen.error is None:
            report(key, ("judge", "of"), f"nobody says how far a reading of '{judge.of}' may stand off the truth",
                   "add a gauge or an error to the observation, or a gauge here")
    if not judge.sheet and not any((*ends.values(), judge.limits.over_high, judge.limits.share_of_low)):
        report(key, ("judge",), "nothing to judge by", "name a field of the sheet, or limits")
    for band, word in judge.words.items():
        if word not in fact.answers:
            report(key, ("judge", "words", band), f"'{word}' is not one of the answers", nearest(word, fact.answers))
    for band in _bands_of(judge):
        word = judge.words.get(band, band)
        if band not in judge.words and word not in fact.answers:
            report(key, ("answers",), f"'{word}' can come out, and is not one of the answers",
                   f"add it, or write words: {{{band}: ...}}")


def _bands_of(judge: Judge) -> tuple[str, ...]:
    """Bands in which a reading can fall: it can be tight only where more is worse and the least of new may be known."""
    banded = any(sheet_fields().get(field) is Fit for field in judge.sheet)
    return BAND_WORDS if judge.worse == "high" and (judge.limits.low or banded) else BAND_WORDS[:-1]


def _order_of_ends(key: str, judge: Judge, ends: dict[str, Limit | None], report: Report) -> None:
    """General limits that are the wrong way round would condemn what is new, or nothing."""
    def value(end: str) -> float | None:
        limit = ends[end]
        return None if limit is None else Quantity(limit.value, limit.unit).to(next(
            item.unit for item in ends.values() if item is not None))

    rising = ("low", "high", "wear") if judge.worse == "high" else ("wear", "low", "high")
    known = [(end, value(end)) for end in rising if ends[end] is not None]
    if len({ends[end].per for end, _ in known if ends[end] is not None}) > 1:
        return
    for (before, less), (after, more) in zip(known, known[1:], strict=False):
        if less is not None and more is not None and less > more:
            side = "more" if judge.worse == "high" else "less"
            report(key, ("judge", "limits", after), f"'{getattr(judge.limits, after)}' ({more:g}) lies below "
                   f"'{getattr(judge.limits, before)}' ({less:g})", f"where {side} is worse, {', '.join(rising)} rise")


def _grade(knowledge: Knowledge, name: str, fact: Reduced, grade: Grade, sheet: dict[str, type],
           report: Report) -> None:
    key = f"reduced/{name}"
    unit = _measured(knowledge, key, ("grade", "of"), grade.of, fact, report)
    figures = {**sheet, **{f"{field}.{end}": str for field, kind in sheet.items() if kind is Fit
                           for end in ("low", "high", "wear")}}
    for label, mark in grade.marks.items():
        path = ("grade", "marks", label)
        if not mark.limit and not mark.sheet:
            report(key, path, f"the mark '{label}' has no figure", "name a limit, or a field of the sheet")
        _limit(knowledge, key, (*path, "limit"), mark.limit, unit, report)
        if mark.sheet:
            _field(key, (*path, "sheet"), mark.sheet, figures, (str,), report)
    for index, step in enumerate(grade.steps):
        path = ("grade", "steps", index)
        if step.word not in fact.answers:
            report(key, (*path, "word"), f"'{step.word}' is not one of the answers", nearest(step.word, fact.answers))
        last = index + 1 == len(grade.steps)
        if bool(step.below) + bool(step.up_to) != (not last):
            report(key, path, "the last step has no end" if last else "a step has one end, below or up_to",
                   "write it from the least reading to the greatest")
        for end in ("below", "up_to"):
            edge = getattr(step, end)
            match = EDGE.fullmatch(edge)
            for mark in [] if not edge else [edge] if match is None else [item for item in match.group(1, 3) if item]:
                if mark not in grade.marks:
                    report(key, (*path, end), f"there is no mark '{mark}'", nearest(mark, grade.marks))
    never = [word for word in fact.answers if word not in {step.word for step in grade.steps}]
    if never:
        report(key, ("answers", fact.answers.index(never[0])), f"'{never[0]}' never comes out",
               "give it a step, or leave it out")
    marks = (*grade.marks, *(f"{mark}_from" for mark in grade.marks))
    _template(key, ("grade", "told"), grade.told, ("reading", "sheet.lash_state", *marks,
                                                   *(name.replace("engine.", "build.") for name in
                                                     engine_fact_words())), report)


def _template(key: str, path: tuple, told: str, known: tuple[str, ...], report: Report) -> None:
    try:
        parts = [part[1] for part in string.Formatter().parse(told) if part[1] is not None]
    except ValueError as error:
        report(key, path, f"'{told}': {error}", "write figures as {name}")
        return
    for part in parts:
        if part not in known:
            report(key, path, f"'{{{part}}}' stands for nothing here", nearest(part, known)
                   or f"known: {', '.join(known[:8])}")


def _given_by(knowledge: Knowledge, name: str, by: str, report: Report) -> None:
    key = f"reduced/{name}"
    if _known(knowledge, key, ("computed_by",), by, "computed", report) \
            and name not in knowledge.computed[by].facts.values():
        report(key, ("computed_by",), f"the computation '{by}' does not give '{name}'",
               f"it gives {', '.join(knowledge.computed[by].facts.values()) or 'no fact'}")


def _computed(knowledge: Knowledge, name: str, item: Computed, sheet: dict[str, type], report: Report) -> None:
    key = f"computed/{name}"
    signature = SIGNATURES.get(item.by)
    if signature is None:
        report(key, ("by",), f"there is no function '{item.by}'", nearest(item.by, SIGNATURES))
        return
    for part in PARTS:
        given, wanted = getattr(item, part), getattr(signature, part)
        for parameter in given:
            if parameter not in wanted:
                report(key, (part, parameter), f"'{item.by}' takes no {part} '{parameter}'", nearest(parameter, wanted)
                       or (f"it takes {', '.join(wanted)}" if wanted else "leave it out"))
        missing = [parameter for parameter in wanted if parameter not in given]
        if missing:
            report(key, (part,) if given else (), f"'{item.by}' is not given {part} '{missing[0]}'",
                   f"it takes {', '.join(wanted)}")
    for part, where in (("readings", "observations"), ("gauges", "gauges"), ("facts", "reduced"),
                        ("judged", "reduced"), ("also", "computed")):
        for parameter, other in getattr(item, part).items():
            if not _known(knowledge, key, (part, parameter), other, where, report):
                continue
            if part == "facts" and knowledge.reduced[other].computed_by != name:
                report(key, (part, parameter), f"'{other}' does not say that it is computed by '{name}'",
                       f"write computed_by: {name} there")
            if part == "judged" and knowledge.reduced[other].judge is None:
                report(key, (part, parameter), f"'{other}' is not judged", "name a fact with judge")
    for parameter, limit in item.limits.items():
        _limit(knowledge, key, ("limits", parameter), limit, "", report)
    for parameter, chosen in item.sheet.items():
        for index, field in enumerate(chosen):
            _field(key, ("sheet", parameter, index), field, sheet, (Fit, Journal, str), report)
