"""How readings are judged, graded and computed, as links and sentences of a shown entry."""

from __future__ import annotations

from collections.abc import Iterator

from ..knowledge.held_to import spelt
from ..model.judged import Computed, Grade, Judge
from ..model.knowledge import Knowledge
from ..model.observations import Observation, Reduced

Edge = tuple[str, str, str, str, str]
"""(from, label, to, label seen from there, note)"""


def judged_edges(knowledge: Knowledge) -> Iterator[Edge]:
    """Links of observations, judged and graded facts, and computations to limits, gauges and each other."""
    for name, item in knowledge.observations.items():
        if item.gauge:
            yield f"observations/{name}", "Read with", f"gauges/{item.gauge}", "Reads", ""
        if item.believed:
            yield from _limits(
                knowledge, f"observations/{name}", item.believed.most, "Believed up to", "Up to here is believed", ""
            )
        if item.shown_as:
            yield f"observations/{name}", "Shown as", f"reduced/{item.shown_as}", "Shown in place of", ""
    for name, fact in knowledge.reduced.items():
        key = f"reduced/{name}"
        for end, limit in _ends(fact):
            yield from _limits(knowledge, key, limit, "Judged by", "Judges", end)
        if fact.judge and fact.judge.gauge:
            yield key, "Read with", f"gauges/{fact.judge.gauge}", "Reads", ""
        if fact.computed_by:
            yield key, "Computed by", f"computed/{fact.computed_by}", "Gives", ""
    for name, entry in knowledge.computed.items():
        yield from _given(knowledge, f"computed/{name}", entry)
    for name, machining in knowledge.machining.items():
        if machining.machined_to:
            yield f"machining/{name}", "Size from", f"reduced/{machining.machined_to}", "Gives the size of", ""


def _ends(fact: Reduced) -> Iterator[tuple[str, str]]:
    """(what a limit is for, its id) of a judged or graded fact."""
    if fact.judge:
        ends = fact.judge.limits
        yield from (
            ("least of new", ends.low),
            ("most of new", ends.high),
            ("in service", ends.wear),
            ("percent of the least of new", ends.share_of_low),
        )
        for allowance in ends.over_high:
            yield "over the most of new", allowance
    if fact.grade:
        for label, mark in fact.grade.marks.items():
            yield label.replace("_", " "), mark.limit


def _limits(knowledge: Knowledge, key: str, limit: str, label: str, back: str, note: str) -> Iterator[Edge]:
    """A link to a limit, to each where a word of the build is filled in."""
    for name in spelt(limit):
        if name in knowledge.limits:
            yield key, label, f"limits/{name}", back, note


def _given(knowledge: Knowledge, key: str, entry: Computed) -> Iterator[Edge]:
    for part, kind, label, back in (
        ("readings", "observations", "Given", "Given to"),
        ("gauges", "gauges", "Read with", "Reads"),
        ("judged", "reduced", "By the limits of", "Its limits are used by"),
        ("also", "computed", "Builds on", "Built on by"),
    ):
        for parameter, other in getattr(entry, part).items():
            yield key, label, f"{kind}/{other}", back, parameter.replace("_", " ")
    for parameter, limit in entry.limits.items():
        yield from _limits(knowledge, key, limit, "Judged by", "Judges", parameter.replace("_", " "))


def judged_says(entry: object) -> Iterator[tuple[str, str]]:
    """(label, text) of how an entry is judged, graded, computed or believed."""
    if isinstance(entry, Reduced) and entry.judge:
        yield "Judged", _judge_text(entry.judge)
    if isinstance(entry, Reduced) and entry.grade:
        yield "Graded", _grade_text(entry.grade)
    if isinstance(entry, Computed):
        yield "Function", entry.by
    if isinstance(entry, Observation) and entry.error is not None:
        yield "Stands off the truth by", f"{entry.error:g} {entry.unit}".strip()


def _judge_text(rule: Judge) -> str:
    told = [
        f"by {' or '.join(rule.sheet)} of the engine sheet, else by general limits"
        if rule.sheet
        else "by general limits",
        "less is worse" if rule.worse == "low" else "more is worse",
    ]
    told += [f"{band.replace('_', ' ')}: {word}" for band, word in rule.words.items()]
    return "; ".join(told)


def _grade_text(rule: Grade) -> str:
    return ", ".join(
        f"{step.word.replace('_', ' ')} "
        + (f"below {step.below}" if step.below else f"up to {step.up_to}" if step.up_to else "beyond")
        for step in rule.steps
    ).replace("_", " ")
