"""Readings judged and graded as the rules declare it (model/judged.py): one measurement beside a band and a limit, or
between marks. Pure; which reading, figures, gauge and words is data."""

from __future__ import annotations

from dataclasses import replace

from ..model.engine import Fit, StandIn
from ..model.frozen import dataclass
from ..model.judged import Grade, Judge, Mark
from .figures import Band, Figure, above, band, figure, first, shown, times
from .given import error_of, field_of, first_field, inches_of, limit_of
from .judge import Judged, judge
from .measured import Collect, Taken
from .verdict_text import add_verdict, add_verdicts, listed

_FUZZ = 1e-9


def reduce_judged(taken: Taken, out: Collect) -> None:
    """Every fact of the rules that is judged or graded and whose reading was taken."""
    for name, fact in taken.rules.reduced.items():
        if fact.judge is not None and fact.judge.of in taken.values:
            _judged(taken, name, fact.judge, out)
        elif fact.grade is not None and fact.grade.of in taken.values:
            _graded(taken, name, fact.grade, out)


def band_of(taken: Taken, rule: Judge, unit: str) -> Band:
    """What the measurement is held to: the sheet's band and limit, and general limits where it is silent.

    A general low or high never stands beside one of the sheet. Where the sheet says what is new and not how far it may
    go, the allowances over that go before a general limit.
    """
    found = first_field(taken.engine, rule.sheet)
    given = (
        band(found, unit)
        if isinstance(found, Fit)
        else Band(wear=figure(found, unit) if isinstance(found, str) else None)
    )
    ends, inches = rule.limits, inches_of(taken.engine, rule.per)
    low, high = given.low, given.high
    silent = low is None and high is None
    if silent:
        low, high = (_limit(taken, name, unit, inches) for name in (ends.low, ends.high))
    wear = given.wear
    if wear is None:
        over, general = _over(taken, high, ends.over_high, unit, inches), _limit(taken, ends.wear, unit, inches)
        wear = first(_share(taken, low, ends.share_of_low), *((general, over) if silent else (over, general)))
    return Band(low, high, wear)


def _limit(taken: Taken, name: str, unit: str, inches: float | None) -> Figure | None:
    """A general limit, times the inches that it is counted for where it is counted per inch."""
    counted = name in taken.limits.by_id and taken.limits.by_id[name].per
    return limit_of(taken, name, unit, inches if counted else 1.0)


def _over(taken: Taken, high: Figure | None, names: tuple[str, ...], unit: str, inches: float | None) -> Figure | None:
    """The most of a new part and what may be added to it; an allowance in percent is a share of it."""
    if not names:
        return None
    for name in names:
        limit = taken.limits.by_id.get(name)
        if limit is None or high is None:
            return None
        if limit.unit == "percent":
            high = times(replace(high, basis=f"general limit {name}"), 1.0 + limit.value / 100.0)
        else:
            high = above(high, _limit(taken, name, unit, inches))
    return high


def _share(taken: Taken, low: Figure | None, name: str) -> Figure | None:
    """Percent of the least of a new part."""
    share = limit_of(taken, name, "percent") if name and low is not None else None
    return None if share is None or low is None else Figure(low.value * share.value / 100.0, low.unit, share.basis)


def error_of_reading(taken: Taken, rule: Judge, unit: str) -> float:
    """How far the reading may stand off the truth: by the gauge that the rule names, else the observation's own."""
    seen = taken.rules.observations[rule.of]
    if not rule.gauge and seen.error is not None:
        error = seen.error
    else:
        error = error_of(taken, rule.gauge or seen.gauge, unit)
    return error * 2**0.5 if rule.differences else error


def judge_by(rule: Judge, value: float, limits: Band, error: float, unit: str) -> Judged:
    """One value held to its limits; a word of the rule's own for values tighter than new stands in the verdict."""
    new = limits.high
    if new is None and rule.good_share is not None:
        new = times(limits.wear, rule.good_share)
    if rule.worse == "low":
        return judge(value, unit, new=limits.low, limit=limits.wear, worse="less", error=error)
    item = judge(value, unit, low=limits.low, new=new, limit=limits.wear, error=error)
    return replace(item, note=rule.tighter) if item.verdict == "tight" else item


def _judged(taken: Taken, name: str, rule: Judge, out: Collect) -> None:
    unit = taken.units.get(rule.of, "")
    one, values = taken.number(rule.of, unit), taken.numbers(rule.of, unit)
    if one is None and values is None:
        return
    limits = band_of(taken, rule, unit)
    if rule.silent and limits.wear is None and (limits.low if rule.worse == "low" else limits.high) is None:
        out.remark(rule.of, "conditions not recorded", rule.silent)
        return
    error = error_of_reading(taken, rule, unit)
    if one is not None:
        add_verdict(out, name, rule.of, judge_by(rule, one, limits, error, unit), rule.words)
    if values is not None:
        judged = [None if value is None else judge_by(rule, value, limits, error, unit) for value in values]
        add_verdicts(out, name, rule.of, judged, rule.words)


@dataclass(frozen=True, slots=True)
class Known:
    """A mark with its figure."""

    figure: Figure
    said: str
    """What is said of where it comes from."""


def _known(taken: Taken, mark: Mark, unit: str) -> Known | None:
    """The sheet's figure, else the general limit; None where neither is known."""
    text = field_of(taken.engine, mark.sheet) if mark.sheet else None
    sheet = times(figure(text, unit), mark.times) if isinstance(text, str) else None
    if sheet is not None:
        return Known(sheet, mark.from_kind if isinstance(text, StandIn) else mark.from_sheet)
    general = limit_of(taken, mark.limit, unit)
    return None if general is None else Known(general, mark.from_limit)


def _edge(text: str, marks: dict[str, Known]) -> float:
    """'wanted - tolerance' in figures."""
    name, _, rest = text.partition(" ")
    value = marks[name].figure.value
    if rest:
        other = marks[rest[2:]].figure.value
        value = value - other if rest[0] == "-" else value + other
    return value


def grade_of(rule: Grade, value: float, marks: dict[str, Known]) -> str:
    """The word of the first step that the value does not pass."""
    for step in rule.steps:
        if step.below and value < _edge(step.below, marks) - _FUZZ:
            return step.word
        if step.up_to and value <= _edge(step.up_to, marks) + _FUZZ:
            return step.word
    return rule.steps[-1].word


def _graded(taken: Taken, name: str, rule: Grade, out: Collect) -> None:
    unit = taken.units.get(rule.of, "")
    one, values = taken.number(rule.of, unit), taken.numbers(rule.of, unit)
    if one is None and values is None:
        return
    found = {label: _known(taken, mark, unit) for label, mark in rule.marks.items()}
    marks = {label: item for label, item in found.items() if item is not None}
    if len(marks) < len(found):
        if rule.silent:
            out.remark(rule.of, "conditions not recorded", rule.silent)
        return
    reading = listed(values, unit) if values is not None else shown(one or 0.0, unit)
    told = rule.told.format(
        reading=reading,
        build=taken.engine.build,
        sheet=taken.engine,
        **{label: item.figure for label, item in marks.items()},
        **{f"{label}_from": item.said for label, item in marks.items()},
    ).replace(" ,", ",")
    word = (
        grade_of(rule, one, marks)
        if one is not None
        else tuple(None if value is None else grade_of(rule, value, marks) for value in values or ())
    )
    out.fact(name, word, told, next(iter(marks.values())).figure.basis)
