"""One answer made worse at a time: the recommended scope may not become shallower without a reason.

A step to a shallower scope is one of three kinds, told apart by the figures; the first two need a reason beside the
question:

- *outward*: the chance that the shallower scope is enough rose. The worse answer is itself a sign of a fault that is
  cured there, and takes the blame off deeper ones (no fuel at the filter clears the rings).
- *undecided*: that chance did not rise, but the chance that the deeper scope is enough fell, and what the job costs in
  the end did not. More can be wrong than the deeper scope cures, so that it is no longer worth its price as a first
  step; the cheap work is where to begin, and the answer says that it is not yet the cure.

- *level*: before, the shallower scope cost no more than a fiftieth above the recommended one. Between scopes that cost
  the same the choice is open and turns on small change; the answer names both as defensible. This one needs no reason
  beside the question.

Any other step to a shallower scope is a fault.
"""

from __future__ import annotations

import dataclasses
import itertools
import time
from collections import Counter
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import numpy as np

from howdeep.assessment.facts import facts_of
from howdeep.assessment.prepared import prepare
from howdeep.assessment.session import Shop
from howdeep.cases.run import case_files
from howdeep.files.strict_yaml import read
from howdeep.logic.evaluate import evaluate_all
from howdeep.model.job import OpenJob
from howdeep.model.knowledge import Knowledge
from howdeep.model.observations import Observation
from howdeep.model.terms import RUNGS

EXCEPTIONS = Path(__file__).with_name("monotone_exceptions.yaml")
KINDS = ("outward", "undecided")
LEVEL = 0.02
"""Scopes whose expected costs differ by no more than this share cost the same."""
READINGS = {
    "battery_cranking": 0.85,
    "battery_rest": 0.95,
    "blow_by": 1.5,
    "bore_size": 1.003,
    "cable_drop": 2.0,
    "cam_lift_exhaust": 0.9,
    "cam_lift_inlet": 0.9,
    "charge_volts": 0.95,
    "compression_dry": 0.85,
    "coolant_pressure_test": 0.6,
    "crank_bend_measured": 2.0,
    "cranking_rpm": 0.7,
    "crankpin_size": 0.998,
    "deck_flatness_along": 2.0,
    "end_play_measured": 2.0,
    "guide_clearance_exhaust": 1.6,
    "guide_clearance_inlet": 1.6,
    "head_flatness_across": 2.0,
    "head_flatness_along": 2.0,
    "leakage": 1.4,
    "main_clearance": 1.5,
    "main_size": 0.998,
    "oil_pressure_idle": 0.6,
    "oil_pressure_speed": 0.6,
    "ring_gap_measured": 1.6,
    "ring_side_clearance": 1.6,
    "rod_clearance": 1.5,
    "seat_width_exhaust": 1.5,
    "seat_width_inlet": 1.5,
    "sleeve_protrusion_measured": 0.5,
    "spring_load_measured": 0.85,
    "vacuum_level": 0.85,
    "valve_margin_exhaust": 0.6,
    "valve_margin_inlet": 0.6,
}
"""Reading -> factor of a step for the worse. A reading of every cylinder (journal, valve) is worsened all at once, and
at the first alone."""
CENT = 0.005

READ_WITH = {"compression_dry": ("compression_wet",)}
"""A worse engine reads worse in both, or the rise between them would tell another story."""

Values = dict[str, Any]


@dataclasses.dataclass(frozen=True, slots=True)
class Found:
    """What is recommended, and why that is the cheapest."""

    rung: int
    enough: tuple[float, ...]
    """Of the cheapest job of every rung (of the recommended one at its rung)."""
    least: float
    """Expected cost of the recommended job."""
    expected: tuple[float, ...]
    """Of the cheapest job of every rung."""
    odds: dict[str, float]
    """Chance of each cause to have a hand in what was noticed."""
    need: dict[str, str]


def exceptions() -> dict[str, dict[str, str]]:
    """Question -> kind of step -> why a worse answer may make the scope shallower."""
    return {name: dict(reasons) for name, reasons in (read(EXCEPTIONS).value or {}).items()}


def pairs_of(job: OpenJob, observations: dict[str, Observation]) -> Iterator[tuple[str, Values, Values]]:
    """(question, better values, worse values) for every step of every answered question that has an order."""
    for name in sorted(job.values):
        order, value = observations[name].worsens, job.values[name]
        if name in READINGS:
            yield from _lower_readings(job, name)
        if len(order) < 2:
            continue
        if isinstance(value, tuple):
            for place, word in enumerate(value):
                if word in order[:-1]:
                    worse = (*value[:place], order[order.index(word) + 1], *value[place + 1 :])
                    yield name, {name: value}, {name: worse}
        elif value in order:
            for better, worse in itertools.pairwise(order):
                yield name, {name: better}, {name: worse}


def _lower_readings(job: OpenJob, name: str) -> Iterator[tuple[str, Values, Values]]:
    """A reading worse on every cylinder, and on the first alone; what was read with it goes the same way."""
    names = [name, *(other for other in READ_WITH.get(name, ()) if other in job.values)]
    before = {other: job.values[other] for other in names}
    yield name, before, {other: _scaled(value, READINGS[name]) for other, value in before.items()}
    if isinstance(job.values[name], tuple):
        yield name, before, {other: (_scaled(value[0], READINGS[name]), *value[1:]) for other, value in before.items()}


def _scaled(value: Any, factor: float) -> Any:
    """A figure, or figures in figures, times a factor; what was not measured stays so."""
    if isinstance(value, tuple):
        return tuple(_scaled(item, factor) for item in value)
    return None if value is None else round(value * factor, 4)


def found(shop: Shop, job: OpenJob) -> Found:
    """What is recommended for one job."""
    facts, _ = facts_of(shop.knowledge, job)
    ready = prepare(shop.knowledge, job, facts, evaluate_all(shop.knowledge, facts.values), shop.prices, steps=False)
    decision = ready.decision
    chosen = decision.line(decision.job)
    best = {
        rung: min((line for line in decision.jobs if line.rung == rung), key=lambda line: line.expected)
        for rung in RUNGS
    }
    best[chosen.rung] = chosen
    need = {cause: RUNGS[level] for cause, level in zip(ready.network.causes, ready.problem.need.tolist(), strict=True)}
    return Found(
        RUNGS.index(chosen.rung),
        tuple(best[rung].enough for rung in RUNGS),
        float(chosen.expected),
        tuple(float(best[rung].expected) for rung in RUNGS),
        ready.beliefs.hands(),
        need,
    )


def kind_of_step(before: Found, after: Found) -> str:
    """'level', 'outward', 'undecided', or '' for a step to a shallower scope that nothing explains."""
    if before.expected[after.rung] <= before.least * (1 + LEVEL):
        return "level"
    if after.enough[after.rung] > before.enough[after.rung]:
        return "outward"
    fell = after.enough[before.rung] < before.enough[before.rung]
    return "undecided" if fell and after.least >= before.least - CENT else ""


def gained(before: Found, after: Found, kind: str) -> str:
    """The cause whose odds rose most: of those that the shallower scope cures, or of the others."""
    inside = {name for name, rung in after.need.items() if (RUNGS.index(rung) <= after.rung) == (kind == "outward")}
    return max(
        sorted(inside & after.odds.keys()),
        key=lambda name: after.odds[name] - before.odds.get(name, 0.0),
        default="nothing",
    )


def worsened(shop: Shop, folder: Path, most: int, random: np.random.Generator, *, show: bool = False) -> list[str]:
    """Pairs of jobs that differ in one answer by one step; the faults found."""
    started = time.perf_counter()
    knowledge: Knowledge = shop.knowledge
    excused = exceptions()
    todo = []
    for path in case_files(folder):
        job = shop.open_job(path)
        todo += [(path.stem, job, *pair) for pair in pairs_of(job, knowledge.observations)]
    if len(todo) > most:
        todo = [todo[index] for index in sorted(random.choice(len(todo), most, replace=False))]
    known: dict[tuple[str, str], Found] = {}

    def look(case: str, job: OpenJob, values: Values) -> Found:
        key = (case, repr(sorted(values.items())))
        if key not in known:
            known[key] = found(shop, dataclasses.replace(job, values={**job.values, **values}))
        return known[key]

    faults: list[str] = []
    met: Counter[str] = Counter()
    for case, job, name, better, worse in todo:
        before, after = look(case, job, better), look(case, job, worse)
        if after.rung >= before.rung:
            continue
        kind = kind_of_step(before, after)
        step = (
            f"{case}: {name} from {better[name]} to {worse[name]} makes the scope shallower, "
            f"from {RUNGS[before.rung]} to {RUNGS[after.rung]}"
        )
        if kind == "level" or (kind and kind in excused.get(name, ())):
            met[kind] += 1
            if show:
                print(f"excused      {step} ({kind}: mostly {gained(before, after, kind)})")
        else:
            faults.append(f"{step} ({kind or 'nothing explains it'})")
    for name, reasons in excused.items():
        if name not in knowledge.observations:
            faults.append(f"monotone_exceptions.yaml: '{name}' is no question")
        faults += [
            f"monotone_exceptions.yaml: {name}: '{kind}' is none of {', '.join(KINDS)}"
            for kind in reasons
            if kind not in KINDS
        ]
    asked = len({name for _, _, name, _, _ in todo})
    said = ", ".join(f"{met[kind]} {kind}" for kind in (*KINDS, "level"))
    print(
        f"worsening    {len(todo):,} steps of {asked} questions in {len({case for case, *_ in todo})} cases; "
        f"{sum(met.values())} of them shallower for a reason that is known ({said}), {len(faults)} not excused; "
        f"{time.perf_counter() - started:.1f} s"
    )
    return faults
