"""Values that cannot be right: each is questioned with the likely slip named, kept in the job, and draws no finding.

Up to where a value is believed stands in the rules (`believed` of an observation, rules/limits/readings.yaml); what the
rules do not say is believed. What takes more than one figure to say is in believed_parts.py and believed_tests.py.
"""

from __future__ import annotations

from collections.abc import Callable
from typing import TypeVar

from ..model.engine import Fit
from ..model.judged import Believed
from ..model.observations import Observation
from ..model.results import Remark
from .figures import Figure, band, shown
from .given import error_of, field_of, inches_of, limit_of
from .measured import Taken
from .slips import question

Item = TypeVar("Item")
Questioned = tuple[Taken, list[Remark]]
"""The readings without the questionable ones, and a remark for each of those."""


def question_each(
    taken: Taken, name: str, values: tuple[Item | None, ...] | None, what: str, judged: Callable[[Item], str]
) -> Questioned:
    """Question each value of a reading; `judged` gives the sentence, or an empty one for a credible value."""
    if values is None:
        return taken, []
    said = {index + 1: judged(value) for index, value in enumerate(values) if value is not None}
    bad = {number: text for number, text in said.items() if text}
    if not bad:
        return taken, []
    remarks = [Remark(name, "questioned", f"{what} {number}: {text}", name) for number, text in sorted(bad.items())]
    return taken.without(name, frozenset(bad)), remarks


def question_one(taken: Taken, name: str, text: str) -> Questioned:
    """Question a single value where there is something to say."""
    return (taken.without(name), [Remark(name, "questioned", text, name)]) if text else (taken, [])


def question_declared(taken: Taken) -> Questioned:
    """Every reading whose observation says up to where it is believed."""
    remarks: list[Remark] = []
    for name in tuple(taken.values):
        item = taken.rules.observations.get(name)
        if item is not None and item.believed is not None:
            taken, said = _declared(taken, name, item, item.believed)
            remarks += said
    return taken, remarks


def _declared(taken: Taken, name: str, item: Observation, rule: Believed) -> Questioned:
    unit, new = item.unit, _new(taken, rule, item.unit)
    times = inches_of(taken.engine, rule.per) if rule.per else new.value if new else 1.0
    if times is None or (rule.share_of and new is None):
        return taken, []
    limit = limit_of(taken, rule.most, "percent" if rule.share_of else unit, times)
    most = float("inf") if limit is None else limit.value / (100.0 if rule.share_of else 1.0)
    slack = item.error if item.error is not None else error_of(taken, item.gauge, unit) if item.gauge else 0.0
    low, high = (end * times for end in rule.usual)
    told = rule.told.format(most=shown(most, unit), inches=f"{times:.3f} in", new=new)

    def judged(value: float) -> str:
        if value < -slack:
            return question(value, unit, "is less than nothing by more than the gauge's error", 0.0, most)
        return question(value, unit, told, low, high) if value > most else ""

    if not item.each:
        value = taken.number(name, unit)
        return question_one(taken, name, "" if value is None else judged(value))
    what = "cylinder" if item.each == "cylinder" else "valve" if item.each.endswith("valve") else "journal"
    return question_each(taken, name, taken.numbers(name, unit), what, judged)


def _new(taken: Taken, rule: Believed, unit: str) -> Figure | None:
    """The sheet's figure of a new part that a share is counted of."""
    found = field_of(taken.engine, rule.share_of) if rule.share_of else None
    sheet = band(found, unit) if isinstance(found, Fit) else None
    return None if sheet is None else sheet.high or sheet.low
