"""Which figures of the manual would be worth looking up first, on an engine that has no sheet.

Each figure of the kind that stands in is put at the least and at the most that makers give, and each point of the
build that nobody said is put otherwise, as engines of the kind are; the job is then assessed anew with that one change.
A figure that will judge the next check is tried with a reading that stands just at it. What is named is what moves the
answer, by the money that it is expected to cost in the end.
"""

from __future__ import annotations

import dataclasses
from collections.abc import Iterator, Mapping
from decimal import Decimal
from typing import Any

from ..decision.answer_kind import with_kind
from ..knowledge.described import FIELDS, contradictions_of
from ..knowledge.engine_facts import count_of, engine_facts
from ..knowledge.fill_in import MAIN, figures_for, resolve, stand_in, with_figure
from ..knowledge.kinds import amount
from ..knowledge.sheet_guard import unit_of
from ..logic.applicability import applies
from ..logic.evaluate import evaluate_all
from ..model.frozen import dataclass
from ..model.job import OpenJob
from ..model.kind import Described, General, Kind
from ..model.knowledge import Knowledge
from ..model.prices import PriceList
from ..model.quantity import Quantity
from ..model.results import Assessment, Facts, LookUp
from .facts import facts_of
from .prepared import prepare

MOST = 5
"""So many are named."""
NEXT_CHECKS = 3
"""Checks whose figures are tried before they are made."""
LITTLE_MONEY, LITTLE_CHANCE = Decimal("0.05"), 0.02
"""A change that leaves the answer, and moves its cost by less than this share and its chance by less, is not named."""
WORDS = {
    "fuel": ("petrol", "diesel"),
    "layout": ("side_valve", "overhead_valve"),
    "cylinders": ("1", "2", "4", "6"),
    "use": ("farm", "marine", "stationary", "light_vehicle"),
    "cooling": ("pump", "thermosiphon", "hopper", "raw_water", "air"),
}
"""What is tried where not even the kind is known."""
POINTS = (
    "fuel",
    "layout",
    "cylinders",
    "use",
    "cooling",
    "bores",
    "bearings",
    "oiling",
    "ignition",
    "frame",
    "pan_in_frame",
)
"""Points of the build that are tried: what decides which faults an engine can have and what their cure costs. What is
seen at a glance, or costs little either way, is not (judgement); each costs a tenth of a second."""


@dataclass(frozen=True, slots=True)
class Settled:
    """The answer that stands if nothing more is checked."""

    answer: str
    """As 'kind job'."""
    job: str
    enough: float
    expected: Decimal | None
    """What the answer's job is expected to cost in the end."""


def settled(knowledge: Knowledge, job: OpenJob, facts: Facts, prices: PriceList | None) -> Settled:
    """The answer of a job by the pure evaluator, with no check left to make."""
    ready = prepare(knowledge, job, facts, evaluate_all(knowledge, facts.values), prices, steps=False)
    decision = with_kind(knowledge, ready.problem, ready.decision, ready.case, ())
    line = decision.line(decision.job)
    return Settled(f"{decision.kind} {decision.job}", decision.job, line.enough, line.expected)


def look_ups(
    knowledge: Knowledge, answer: Assessment, prices: PriceList | None, kinds: Mapping[str, Kind]
) -> tuple[LookUp, ...]:
    """At most five figures and points of the build that move the answer most, the weightiest first; none on an engine
    with a sheet. Ties by name."""
    job = answer.job
    if job.general is None:
        return ()
    now = settled(knowledge, job, answer.facts, prices)
    found = [
        *_figures(knowledge, answer, prices, kinds, now),
        *_next(knowledge, answer, prices, kinds, now),
        *_builds(knowledge, answer, prices, kinds, now),
    ]
    telling = [item for item in found if _tells(item, now)]
    return tuple(sorted(telling, key=_rank)[:MOST])


def _rank(item: LookUp) -> tuple[Decimal | int, bool, float, str, str]:
    return (-(item.money or 0), not item.changes, -round(item.enough, 6), item.kind, item.subject)


def _tells(item: LookUp, now: Settled) -> bool:
    if item.changes or item.enough >= LITTLE_CHANCE:
        return True
    if item.money is None or now.expected is None:
        return False
    return item.money > max(LITTLE_MONEY * now.expected, Decimal(0))


def moved(now: Settled, then: Settled) -> tuple[Decimal | None, float, bool]:
    """(how far the expected cost moves, how far the chance of being enough moves, whether it is another answer)."""
    money = None if now.expected is None or then.expected is None else abs(then.expected - now.expected)
    return money, abs(then.enough - now.enough), then.answer != now.answer


def _worst(
    kind: str, subject: str, taken: str, tried: list[tuple[str, Settled, Settled]], by: str = ""
) -> LookUp | None:
    """Of several (value, answer without it, answer with it) the one that moves the answer most."""
    made = []
    for other, before, then in tried:
        money, enough, changes = moved(before, then)
        made.append(LookUp(kind, subject, taken, other, then.answer, changes, money, enough, by))
    return min(made, key=lambda item: (*_rank(item), item.other), default=None)


def general_of(job: OpenJob) -> General:
    """How its engine was filled in. Raises ValueError for a job with an engine sheet: there is nothing to look up."""
    if job.general is None:
        raise ValueError("the engine has a sheet")
    return job.general


def with_limit(job: OpenJob, kinds: Mapping[str, Kind], path: str, text: str) -> OpenJob:
    """The job with another figure of its kind."""
    return dataclasses.replace(job, engine=with_figure(job.engine, path, stand_in(general_of(job).kind, path, text)))


def _ends(job: OpenJob, kinds: Mapping[str, Kind], path: str) -> tuple[str, str]:
    figure = figures_for(kinds[general_of(job).kind], job.engine.build)[path]
    return figure.least, figure.most


def _figures(
    knowledge: Knowledge, answer: Assessment, prices: PriceList | None, kinds: Mapping[str, Kind], now: Settled
) -> Iterator[LookUp]:
    """Figures that judged readings which were taken: those whose plausible range changes a fact."""
    for standing in general_of(answer.job).figures:
        tried = []
        for text in _ends(answer.job, kinds, standing.path):
            other = with_limit(answer.job, kinds, standing.path, text)
            facts, _ = facts_of(knowledge, other)
            if facts.values != answer.facts.values:
                tried.append((text, now, settled(knowledge, other, facts, prices)))
        item = _worst("figure", standing.path, standing.value, tried)
        if item is not None:
            yield item


def _next(
    knowledge: Knowledge, answer: Assessment, prices: PriceList | None, kinds: Mapping[str, Kind], now: Settled
) -> Iterator[LookUp]:
    """Figures that would judge the next checks: a reading at the figure itself, with the figure at either end."""
    soon = {name for check in answer.checks[:NEXT_CHECKS] for name in check.observations}
    read_by = {item.decided_by: name for name, item in knowledge.observations.items() if item.decided_by}
    for standing in general_of(answer.job).figures:
        name = read_by.get(standing.path, "")
        if name not in soon or name in answer.job.values:
            continue
        reading = _reading(knowledge, answer.job, name, standing.path, standing.value)
        job = dataclasses.replace(answer.job, values={**answer.job.values, name: reading})
        least, most = _ends(job, kinds, standing.path)
        low, high = (
            settled(knowledge, other, facts_of(knowledge, other)[0], prices)
            for other in (with_limit(job, kinds, standing.path, text) for text in (least, most))
        )
        if low.answer != high.answer or low.enough != high.enough:
            item = _worst("reading", standing.path, standing.value, [(most, low, high), (least, high, low)], name)
            if item is not None:
                yield item


def _reading(knowledge: Knowledge, job: OpenJob, name: str, path: str, text: str) -> Any:
    """A reading that stands just at a figure: the same on every cylinder."""
    item = knowledge.observations[name]
    value = Quantity(amount(path, text), unit_of(path.split(".", maxsplit=1)[0])).to(item.unit)
    return (value,) * count_of(job.engine, item.each) if item.each else value


def open_points(kind: Kind, described: Described) -> dict[str, tuple[str, ...]]:
    """Field of the build that nobody said -> the other words that it may well be. Pure."""
    taken = resolve({"kind": kind}, dataclasses.replace(described, kind="kind")).engine.build
    named = bool(described.known("kind"))
    points: dict[str, tuple[str, ...]] = {}
    for name in POINTS:
        if described.known(name):
            continue
        words = kind.choices.get(name, ())
        if not named and name in MAIN:
            words = tuple(dict.fromkeys((*words, *WORDS[name])))
        others = tuple(word for word in words if word != str(getattr(taken, name)))
        if others:
            points[name] = others
    return points


def _builds(
    knowledge: Knowledge, answer: Assessment, prices: PriceList | None, kinds: Mapping[str, Kind], now: Settled
) -> Iterator[LookUp]:
    """Points of the build that nobody said, put otherwise."""
    job = answer.job
    general = general_of(job)
    described = general.described
    for name, words in open_points(kinds[general.kind], described).items():
        if name == "cylinders" and any(knowledge.observations[given].each for given in job.values):
            continue  # the readings show how many there are
        tried = []
        for word in words:
            build = {**{field: said for field, said in described.build if said != "unknown"}, name: word}
            if any(contradictions_of(build, kinds.get(described.known("kind")))):
                continue
            # where it burns, stands or is cooled otherwise it may be another kind; else only this one thing differs
            among = kinds if name in MAIN else {general.kind: kinds[general.kind]}
            other = fitting(knowledge, with_build(job, among, build))
            facts, _ = facts_of(knowledge, other)
            if facts.values != answer.facts.values or name == "cylinders":
                tried.append((word, now, settled(knowledge, other, facts, prices)))
        item = _worst("build", name, str(getattr(job.engine.build, name)), tried)
        if item is not None:
            yield item


def with_build(job: OpenJob, kinds: Mapping[str, Kind], build: Mapping[str, str]) -> OpenJob:
    """The job on an engine of which this is said."""
    described = dataclasses.replace(
        general_of(job).described, build=tuple((name, build[name]) for name in FIELDS if name in build)
    )
    filled = resolve(kinds, described)
    return dataclasses.replace(job, engine=filled.engine, general=filled.general)


def fitting(knowledge: Knowledge, job: OpenJob) -> OpenJob:
    """The job without answers that its engine cannot have."""
    facts = engine_facts(job.engine)
    return dataclasses.replace(
        job, values={name: value for name, value in job.values.items() if applies(knowledge.observations[name], facts)}
    )
