"""Made-up engines: their lives, faults, owners and worth, and what each question put to them would bring.

Everything an engine would answer is fixed by the seed and its number, so every policy meets the same engine, the same
owner with the same mistakes, and the same throws of the dice.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from functools import cached_property
from typing import Any

import numpy as np

from howdeep.knowledge.engine_facts import count_of
from howdeep.knowledge.questions import sound_of
from howdeep.model.engine import Engine
from howdeep.model.quantity import parse

from .faults import life, severities
from .kleene import holds
from .running import Spots, troubles
from .signs import CONDITIONS_OF_TESTS, OPEN, OPEN_SHOWS, TALK, TESTS, Look, Sheet, look
from .works import TOP_END, Works

SHEETS = ("brockwell-4", "tarn-30", "skerry-6", "dunmore-d4")
MISREPORTS = (0.05, 0.10)
"""Share of an owner's answers that are wrong; each owner has his own."""
MISREAD = 0.02
"""Share of the shop's own tests that are misread."""
ASKED, TESTED = 0.65, 0.12
"""Share of the questions that were put, and of the tests that were made, before the shop must advise."""
FIRST = ("complaint", "runs", "turns_over")
AS_IT_STANDS = 0.35
"""What a machine that does not run as it should is worth, as a share of one that does."""
TOGETHER = {
    "compression_wet": "compression_dry",
    "leakage_heard": "leakage",
    "spark_cylinders": "spark",
    "battery_cranking": "battery_rest",
    "vacuum_pattern": "vacuum_level",
    "oil_pressure_speed": "oil_pressure_idle",
    "fuel_sample": "fuel_flow",
    "valve_motion": "lash_check",
}
"""Tests that are made together with another."""


@dataclass(frozen=True, eq=False)
class World:
    """One engine with its owner."""

    works: Works
    seed: tuple[int, int]
    past: Mapping[str, float]
    faults: dict[str, float]
    """Cause -> severity."""
    spots: Spots
    sheet: Sheet
    misreports: float
    value_running: float

    @property
    def diesel(self) -> bool:
        return self.works.facts["engine.fuel"] == "diesel"

    @property
    def stopping_costs(self) -> float:
        """What it costs to leave the machine as it stands."""
        return (1 - AS_IT_STANDS) * self.value_running

    def look(self, cured: Iterable[str] = ()) -> Look:
        """The engine as it stands once these causes are cured."""
        gone = frozenset(cured)
        left = {name: much for name, much in self.faults.items() if name not in gone}
        return look(left, self.past, self.spots, self.sheet, self.diesel, self.seed)

    def troubles(self, cured: Iterable[str] = ()) -> frozenset[str]:
        """What its owner would still bring it back for."""
        gone = frozenset(cured)
        return troubles(
            {name: much for name, much in self.faults.items() if name not in gone}, self.spots, diesel=self.diesel
        )

    @cached_property
    def asked(self) -> tuple[str, ...]:
        """Observations that were answered before the shop must advise."""
        throws = np.random.default_rng([*self.seed, 7])
        chosen = [name for name in TALK if throws.random() < ASKED or name in FIRST]
        tests = [name for name in TESTS if throws.random() < TESTED and name not in TOGETHER]
        return (*chosen, *tests, *(name for name, other in TOGETHER.items() if other in tests))

    def answers(self, names: Iterable[str], cured: Iterable[str] = ()) -> dict[str, Any]:
        """Observation -> plain value, as a job file has it. What cannot be asked or made on this engine stays out."""
        wanted, seen = set(names), self.look(cured)
        given: dict[str, Any] = {}
        for name in (*TALK, *TESTS):
            if name in wanted:
                value = self._answer(seen, name, given)
                if value is not None:
                    given[name] = value
        if any(name in TESTS for name in given):
            given |= {name: value for name, value in CONDITIONS_OF_TESTS.items() if self._possible(name, given)}
        return given

    def opened(self, depth: int, cured: Iterable[str] = ()) -> dict[str, Any]:
        """What is seen and measured of the engine opened to this depth."""
        if depth < TOP_END:
            return {}
        seen = self.look(cured)
        return {
            name: self._everywhere(name, value(seen, name))
            for name, value in OPEN.items()
            if self._possible(name, {}) and self.works.seen.get(OPEN_SHOWS[name], 9) <= depth
        }

    def _everywhere(self, name: str, value: Any) -> Any:
        """What is sound where it was looked at first is looked at, and sound, in every other place too; where it is
        bad, one place is enough to know."""
        item = self.works.knowledge.observations[name]
        if not isinstance(value, dict) or item.each is None or value[1] not in sound_of(item):
            return value
        return dict.fromkeys(range(1, count_of(self.works.engine, item.each) + 1), value[1])

    def found(self, depth: int, cured: Iterable[str] = (), least: float = 0.35) -> frozenset[str]:
        """Faults past their limit that lie open to view at this depth."""
        gone = frozenset(cured)
        return frozenset(
            name
            for name, much in self.faults.items()
            if name not in gone and much >= least and TOP_END <= self.works.seen[name] <= depth
        )

    def _possible(self, name: str, given: Mapping[str, Any]) -> bool:
        item = self.works.knowledge.observations.get(name)
        if item is None or (item.applies is not None and holds(item.applies, self.works.facts, {}, {}) is not True):
            return False
        facts = {**self.works.facts, **given}
        if item.follows is not None and holds(item.follows, facts, {}, {}) is not True:
            return False
        return item.needs is None or holds(item.needs, facts, {}, {}) is not False

    def _answer(self, seen: Look, name: str, given: Mapping[str, Any]) -> Any:
        if not self._possible(name, given):
            return None
        value = (TALK.get(name) or TESTS[name])(seen, name)
        options = self.works.knowledge.observations[name].answers
        wrong = seen.dice("wrong " + name)
        if name in FIRST or not isinstance(value, str) or len(options) < 2:
            return value
        if wrong.random() < (self.misreports if name in TALK else MISREAD):
            others = [option for option in options if option != value]
            return others[int(wrong.integers(len(others)))]
        return value


def make(works: Mapping[str, Works], seed: int, number: int) -> World:
    """The engine with this number: drawn until its owner has something to complain of."""
    name = SHEETS[number % len(SHEETS)]
    here = works[name]
    rng = np.random.default_rng([seed, number])
    cylinders = here.engine.build.cylinders
    sheet = sheet_of(here.engine)
    while True:
        past = life(rng)
        faults = severities(past, list(here.cures), rng)
        spots = Spots(int(rng.integers(cylinders)), tuple(float(value) for value in rng.uniform(0.6, 1, cylinders)))
        worth = float(np.exp(rng.normal(0, 0.45))) * float(here.engine.value_running or 4000)
        world = World(here, (seed, number), past, faults, spots, sheet, float(rng.uniform(*MISREPORTS)), worth)
        if world.troubles():
            return world


def sheet_of(engine: Engine) -> Sheet:
    """The figures of the sheet that tests are read against."""

    def middle(fit: Any, unit: str, stand_in: float) -> float:
        if fit is None or not fit.low or not fit.high:
            return stand_in
        return (parse(fit.low, unit=unit).to(unit) + parse(fit.high, unit=unit).to(unit)) / 2

    gap = engine.ring_gap
    new = parse(gap.high, unit="in").to("in") if gap and gap.high else 0.020
    worn = parse(gap.wear, unit="in").to("in") if gap and gap.wear else 2 * new
    return Sheet(
        middle(engine.cranking_compression, "psi", 110.0),
        middle(engine.oil_pressure_idle, "psi", 15.0),
        middle(engine.oil_pressure_speed, "psi", 40.0),
        (new, worn),
        float(engine.build.volts) if engine.build.volts != "none" else 12.0,
    )
