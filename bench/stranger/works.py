"""What a job holds, what it costs and what it cures: operations, hours and parts of the rule base at a shop's prices.

Of the rule base this takes only which operations cure a cause, at which depth, and what they need. No odds.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, field
from typing import Any

from howdeep.knowledge.engine_facts import engine_facts
from howdeep.model.engine import Engine
from howdeep.model.knowledge import Knowledge
from howdeep.model.prices import PriceList
from howdeep.model.terms import RUNGS
from howdeep.pricing.quantities import quantity_of

from .kleene import holds

TOP_END, REPLACE = RUNGS.index("top_end"), RUNGS.index("replace")
EVERY_TIME = (
    "remove_refit_head",
    "remove_refit_pan",
    "remove_refit_engine",
    "renew_head_gasket",
    "first_start_run_in",
    "start_and_prove",
    "oil_and_filter",
    "compression_retest",
)
"""Operations that a second job needs again; what else was done in the first is not done and not charged twice."""


@dataclass(frozen=True, slots=True)
class Terms:
    """What the shop charges beside the work itself."""

    growth_factor: float
    growth_charge: float
    comeback: float
    reopening: float
    look: dict[int, float]
    """Depth -> opening to it, looking and reporting, for itself."""
    rate: float
    """Money an hour."""
    risk: dict[str, float]


@dataclass(frozen=True, slots=True)
class Works:
    """One engine sheet in one shop."""

    knowledge: Knowledge
    engine: Engine
    sheet: str
    prices: PriceList
    terms: Terms
    facts: dict[str, Any]
    """How the engine is built."""
    rung: dict[str, int]
    """Operation -> least depth at which it can be done on this engine."""
    cures: dict[str, tuple[str, ...]]
    """Cause -> operations that cure it, the usual one first."""
    need: dict[str, int]
    """Cause -> least depth that cures it."""
    seen: dict[str, int]
    """Cause -> least depth that opens it to view."""
    kept: dict[frozenset[str], float] = field(default_factory=dict)

    def with_access(self, names: Iterable[str], depth: int) -> frozenset[str]:
        """The operations and all that they bring along, within this depth."""
        chosen: set[str] = set()
        fringe = [name for name in names if name in self.rung]
        while fringe:
            name = fringe.pop()
            if name not in chosen:
                chosen.add(name)
                fringe += [other for other in self._brings(name) if self.rung.get(other, 9) <= depth]
        for name in sorted(chosen):
            if name in chosen:
                chosen -= set(self.knowledge.operations[name].instead_of)
        return frozenset(chosen)

    def _brings(self, name: str) -> tuple[str, ...]:
        item = self.knowledge.operations[name]
        more = [step.operations for step in item.brings_where if holds(step.when, self.facts, {}, {}) is True]
        return (*item.brings, *(other for names in more for other in names))

    def cure_of(self, cause: str, depth: int) -> str | None:
        """The usual operation of those within this depth that cure the cause."""
        return next(
            (
                name
                for name in self.cures.get(cause, ())
                if self.rung[name] <= depth and (depth < REPLACE or self.rung[name] == 0)
            ),
            None,
        )

    def work(self, depth: int, aimed: Iterable[str], *, whole: bool) -> frozenset[str]:
        """What is done: the cures of these causes with the access they need, and with `whole` all of the depth's list.

        Causes that this depth cannot cure are passed over.
        """
        wanted = [] if not whole else list(self.knowledge.scopes[RUNGS[depth]].always)
        package = self.with_access(wanted, depth)
        for cause in sorted(set(aimed)):
            name = self.cure_of(cause, depth)
            if name is not None and not package & set(self.cures[cause]):
                wanted.append(name)
        if not whole and wanted:
            wanted.append("first_start_run_in" if depth >= TOP_END else "start_and_prove")
        return self.with_access(wanted, depth)

    def with_cures(self, done: frozenset[str], causes: Iterable[str], depth: int) -> frozenset[str]:
        """This work and, within the depth, the usual cures of those of the causes that it does not cure."""
        wanted = [self.cure_of(cause, depth) for cause in sorted(set(causes)) if not done & set(self.cures[cause])]
        return self.with_access([*done, *(name for name in wanted if name is not None)], depth)

    def cured(self, done: frozenset[str], causes: Iterable[str]) -> frozenset[str]:
        """Those causes that this work cures. A replacement engine cures all but what is hung on it; what takes the
        place of other work (a rebore of a hone) cures what that cures."""
        done |= {other for name in done for other in self.knowledge.operations[name].instead_of}
        swap = "replace_engine" in done
        return frozenset(
            cause
            for cause in causes
            if set(self.cures.get(cause, ())) & done or (swap and self.need.get(cause, REPLACE) > 0)
        )

    def price(self, done: frozenset[str]) -> float:
        """Hours at the rate with supplies, machine work and parts; what two operations share is charged once."""
        if done not in self.kept:
            self.kept[done] = self._price(done)
        return self.kept[done]

    def _price(self, done: frozenset[str]) -> float:
        if "replace_engine" in done:
            swap = float(self.engine.replacement or self.prices.replacement)
            rest = frozenset(name for name in done if name != "replace_engine")
            return swap + self.price(rest)
        labour, parts, machine = 0.0, {}, {}
        for name in sorted(done):
            item = self.knowledge.operations[name]
            labour += round(self.hours(name) * self.terms.rate, 2)
            for wanted, counts in ((item.parts, parts), (item.machine, machine)):
                for what, quantity in wanted.items():
                    part = self.knowledge.parts.get(what)
                    if part and part.applies is not None and holds(part.applies, self.facts, {}, {}) is not True:
                        continue
                    counts[what] = max(counts.get(what, 0), quantity_of(quantity, self.engine))
        own = self.prices.engine_parts.get(self.sheet, {})
        goods = sum(count * float(own.get(part, self.prices.parts[part])) for part, count in parts.items())
        goods += sum(count * float(self.prices.machine[what]) for what, count in machine.items())
        return round(labour * (1 + float(self.prices.supplies_percent) / 100) + goods, 2)

    def hours(self, name: str) -> float:
        """The sheet's hours, else the shop's or the rule base's times what they are counted for."""
        if name in self.engine.hours:
            return self.engine.hours[name]
        item = self.knowledge.operations[name]
        return self.prices.hours.get(name, item.hours) * quantity_of(f"each {item.per}", self.engine)

    def depth_of(self, done: frozenset[str]) -> int:
        """How deep this work opens the engine."""
        return max((self.rung[name] for name in done), default=0)


def works_of(knowledge: Knowledge, engine: Engine, sheet: str, prices: PriceList) -> Works:
    """Read what this engine can need, and at which depth."""
    facts = engine_facts(engine)
    limits = {name: item.value for name, item in knowledge.limits.items()}

    def fits(entry: Any) -> bool:
        return entry.applies is None or holds(entry.applies, facts, {}, limits) is True

    def step(steps: Any) -> int | None:
        return next(
            (
                RUNGS.index(item.rung)
                for item in steps
                if item.when is None or holds(item.when, facts, {}, limits) is True
            ),
            None,
        )

    rung = {}
    for name, item in knowledge.operations.items():
        depth = step(item.rung) if fits(item) else None
        if depth is not None:
            rung[name] = depth
    causes = {name: item for name, item in knowledge.causes.items() if fits(item)}
    cures = {name: tuple(other for other in item.cured_by if other in rung) for name, item in causes.items()}
    need = {name: min((rung[other] for other in cures[name]), default=REPLACE) for name in causes}
    depths = {name: step(item.seen_at) for name, item in causes.items()}
    seen = {name: REPLACE if depth is None else depth for name, depth in depths.items()}
    terms = Terms(
        float(prices.growth_factor),
        float(prices.growth_charge),
        float(prices.comeback_charge),
        float(prices.reopening),
        {RUNGS.index(depth): float(money) for depth, money in prices.look_inside.items()},
        float(prices.labour_rate),
        {name: float(money) for name, money in prices.risk.items()},
    )
    return Works(knowledge, engine, sheet, prices, terms, facts, rung, cures, need, seen)
