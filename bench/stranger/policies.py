"""The rules under trial that hang on nothing but the reference odds: landed, simpler ones, and the oracle."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

from howdeep.assessment.facts import facts_of
from howdeep.files.plain_yaml import dump
from howdeep.job.read import open_text
from howdeep.job.sections import section_of
from howdeep.model.job import OpenJob

from . import landed
from .actions import Action, Case, Do, Stated, Stop
from .shop import faults_behind, oracle, price_of
from .works import REPLACE
from .world import World

INCLUDE = 0.35
"""From these odds a cause's cure is part of the work."""
SUSPECT = (0.15, 0.05)
"""After a failure, from these odds where no cause is likelier."""
SURE = 0.8
"""What the rule of thumb of the first sufficient depth wants."""


def job_of(case: Case, folders: tuple[Path, ...]) -> OpenJob:
    """The case as a job file, read the way every job file is read."""
    observations = case.works.knowledge.observations
    plain: dict[str, Any] = {
        "howdeep_job": 1,
        "engine": case.works.sheet,
        "customer": {
            "value_running": f"{case.value_running:.2f}",
            "value_as_is": f"{case.value_running - case.stopping_costs:.2f}",
        },
    }
    if case.done:
        plain["done"] = sorted(case.done)
    for name, value in case.given.items():
        plain.setdefault(section_of(observations[name]), {})[name] = value
    return open_text(dump(plain), "made-up job", Path(), case.works.knowledge, folders, case.works.engine)


@dataclass
class Reference:
    """The odds of the landed rule for a case, kept while the same case is asked again by another policy."""

    folders: tuple[Path, ...]
    tables: landed.Tables
    kept: dict[str, tuple[landed.Landed, tuple[list[str], list[str]], frozenset[str]]] = field(default_factory=dict)

    def of(self, case: Case) -> tuple[landed.Landed, tuple[list[str], list[str]], frozenset[str]]:
        """(what is believed, findings counted present and absent, history rules present)."""
        key = repr((case.works.sheet, sorted(case.given.items(), key=repr)))
        if key not in self.kept:
            if len(self.kept) > 40:
                self.kept.clear()
            knowledge, works = case.works.knowledge, case.works
            facts, _ = facts_of(knowledge, job_of(case, self.folders))
            truths, told = landed.truths_of(knowledge, {**works.facts, **facts.values})
            told &= self.tables.shifts.keys()
            need = {cause: depth for cause, depth in works.need.items() if cause in self.tables.base}
            self.kept[key] = (
                landed.believed(self.tables, need, works.seen, truths, told),
                landed.counted(self.tables, truths),
                told,
            )
        return self.kept[key]


def aimed_at(case: Case, odds: Mapping[str, float], depth: int) -> frozenset[str]:
    """Likely causes that this depth can cure and that are not cured yet. Where work so deep has failed already and none
    is likely, the shop tries the next suspects."""
    left = {name: chance for name, chance in odds.items() if case.works.need[name] <= depth and name not in case.cured}
    likely = frozenset(name for name, chance in left.items() if chance >= INCLUDE)
    if likely or depth > case.depth:
        return likely
    least = next((limit for limit in SUSPECT if any(chance >= limit for chance in left.values())), 1.0)
    return frozenset(name for name, chance in left.items() if chance >= least)


def spent(case: Case, depth: int, aimed: frozenset[str]) -> bool:
    """Whether work so deep was done already and nothing new would be aimed at."""
    return depth <= case.depth and not aimed - case.cured


@dataclass(frozen=True)
class LandedRule:
    """Least expected cost by the landed rule; after a failure the next that is not spent."""

    reference: Reference
    name: str = "landed, one shot"

    def act(self, case: Case) -> Action:
        believed, _, _ = self.reference.of(case)
        costs = landed.expected(believed.states, self.prices(case, believed.odds), money_of(case))
        return self.first(case, believed, sorted(range(REPLACE + 1), key=lambda depth: (round(costs[depth], 2), depth)))

    def prices(self, case: Case, odds: Mapping[str, float]) -> tuple[float, ...]:
        """Price of each depth's package with the likely cures in it."""
        return tuple(price_of(case.works, case, Do(depth, aimed_at(case, odds, depth))) for depth in range(REPLACE + 1))

    def first(self, case: Case, believed: landed.Landed, order: list[int]) -> Action:
        """The first depth in this order that is not spent."""
        for depth in order:
            aimed = aimed_at(case, believed.odds, depth)
            if not spent(case, depth, aimed):
                return Do(depth, aimed, stated=Stated(believed.enough, believed.odds))
        return Stop()


def money_of(case: Case) -> landed.Money:
    """The shop's charges as the landed rule takes them."""
    terms = case.works.terms
    return landed.Money(terms.growth_factor, terms.growth_charge, terms.comeback, terms.reopening)


@dataclass(frozen=True)
class FirstSufficient(LandedRule):
    """The shallowest depth with a stated chance of .8 of being enough."""

    name: str = "first depth enough >= .8"

    def act(self, case: Case) -> Action:
        believed, _, _ = self.reference.of(case)
        sure = [depth for depth in range(REPLACE + 1) if believed.enough[depth] >= SURE]
        return self.first(case, believed, sure or [REPLACE])


@dataclass(frozen=True)
class Likeliest(LandedRule):
    """The package that cures the likeliest cause not cured yet."""

    name: str = "likeliest cause"

    def act(self, case: Case) -> Action:
        believed, _, _ = self.reference.of(case)
        for cause in sorted(believed.odds, key=lambda name: (-believed.odds[name], name)):
            depth, aimed = case.works.need[cause], frozenset((cause,))
            if cause not in case.cured and not spent(case, depth, aimed):
                return Do(depth, aimed, stated=Stated((), believed.odds))
        return Stop()


@dataclass(frozen=True)
class Additive(LandedRule):
    """Evidence added up cause by cause, nothing explained away: cover every cause over even odds."""

    name: str = "additive evidence"

    def act(self, case: Case) -> Action:
        _, (present, absent), told = self.reference.of(case)
        odds = self.odds(case, present, absent, told)
        over = frozenset(name for name, chance in odds.items() if chance > 0.5 and name not in case.cured)
        if not over:
            over = frozenset(
                sorted((name for name in odds if name not in case.cured), key=lambda name: (-odds[name], name))[:1]
            )
        if not over:
            return Stop()
        return Do(max(case.works.need[name] for name in over), over, stated=Stated((), odds))

    def odds(self, case: Case, present: list[str], absent: list[str], told: frozenset[str]) -> dict[str, float]:
        """Each finding's own weight against its marginal chance, added for each cause by itself."""
        tables = self.reference.tables
        causes = sorted(cause for cause in case.works.need if cause in tables.base)
        result = {cause: landed.log_odds_of(tables.base[cause]) for cause in causes}
        for rule in told:
            for cause, decibans in tables.shifts[rule].items():
                if cause in result:
                    result[cause] += decibans * math.log(10) / 10
        prior = [tables.base[cause] for cause in causes]
        for name in (*present, *absent):
            q, leak = landed.shown_by(tables, name, causes)
            dark = (1 - leak) * math.prod(1 - p * float(value) for p, value in zip(prior, q, strict=True))
            for p, cause, value in zip(prior, causes, q, strict=True):
                if value > 0:
                    without = dark / (1 - p * float(value))
                    with_it = without * (1 - float(value))
                    result[cause] += (
                        math.log(with_it / without) if name in absent else math.log((1 - with_it) / (1 - without))
                    )
        return {cause: 1 / (1 + math.exp(-max(-50.0, min(50.0, weight)))) for cause, weight in result.items()}


@dataclass(frozen=True)
class AlwaysRefresh(LandedRule):
    """A refresh for every engine, with the likely cures in it; then what the landed rule says."""

    name: str = "always refresh"

    def act(self, case: Case) -> Action:
        believed, _, _ = self.reference.of(case)
        aimed = aimed_at(case, believed.odds, 3)
        if case.depth < 3:
            return Do(3, aimed)
        return super().act(case)


@dataclass(frozen=True)
class Oracle:
    """Knows every fault of this world and does what is cheapest; with `packages` it sells whole lists only."""

    world: World
    packages: bool = False
    name: str = "oracle"

    def act(self, case: Case) -> Action:
        known = oracle(self.world)
        if known.stops:
            return Stop()
        behind = faults_behind(self.world)
        aimed = behind | self.world.found(known.depth)
        offers = [Do(known.depth, aimed, whole) for whole in ((True,) if self.packages else (False, True))]
        return min(offers, key=lambda offer: price_of(case.works, case, offer))
