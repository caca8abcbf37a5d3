"""How long the rules take: experta, the pure evaluator, CLIPS and columns, and how it grows with the rules.

Run from a checkout: python bench/rules.py. The rule bases are made up from a fixed seed; the shipped one comes last.
"""

from __future__ import annotations

import random
import statistics
import sys
import time
from collections.abc import Callable
from pathlib import Path
from typing import Any

sys.path.insert(0, str(Path(__file__).resolve().parents[1]))

from howdeep.errors import HowdeepError
from howdeep.logic.columns import Column, column_of, conditions_in_columns
from howdeep.logic.evaluate import evaluator
from howdeep.logic.forward_chaining import conclude, rule_set
from howdeep.model.condition import AllOf, AnyOf, Condition, FactTest, FindingTest, Not
from tests.clips_rules import ClipsRules

WORDS = ("a", "b", "c", "d")


def made_up(findings: int, seed: int = 3) -> tuple[dict[str, Condition], Callable[[float], dict[str, Any]]]:
    """(conditions, a maker of cases with so large a share of the facts known). Two facts to every three findings."""
    dice = random.Random(seed)
    kinds = {
        f"f{number}": dice.choice(("word", "word", "word", "number", "numbers")) for number in range(findings * 2 // 3)
    }

    def test() -> FactTest:
        name = dice.choice(sorted(kinds))
        if kinds[name] == "word":
            return FactTest(name, one_of=tuple(dice.sample(WORDS, dice.randint(1, 2))))
        each = dice.choice(("any", "every", "neighbours", 2)) if kinds[name] == "numbers" else ""
        return FactTest(name, bounds=((dice.choice(("below", "at_least")), float(dice.randint(2, 8))),), cylinders=each)

    def condition(place: int, depth: int) -> Condition:
        if not depth or dice.random() < 0.35:
            return FindingTest(f"r{dice.randrange(place):04d}") if place and dice.random() < 0.25 else test()
        if dice.random() < 0.1:
            return Not(condition(place, depth - 1))
        parts = tuple(condition(place, depth - 1) for _ in range(dice.randint(2, 4)))
        return AllOf(parts) if dice.random() < 0.5 else AnyOf(parts)

    def case(share: float) -> dict[str, Any]:
        facts: dict[str, Any] = {}
        for name, kind in kinds.items():
            if dice.random() < share:
                facts[name] = (
                    dice.choice(WORDS)
                    if kind == "word"
                    else float(dice.randint(1, 9))
                    if kind == "number"
                    else tuple(float(dice.randint(1, 9)) if dice.random() < 0.9 else None for _ in range(4))
                )
        return facts

    return {f"r{place:04d}": condition(place, 2) for place in range(findings)}, case


def taken(function: Callable[[Any], Any], cases: list[Any]) -> float:
    """Median milliseconds over the cases."""
    times = []
    for item in cases:
        start = time.perf_counter()
        function(item)
        times.append(time.perf_counter() - start)
    return 1000 * statistics.median(times)


def measure(name: str, conditions: dict[str, Condition], limits: dict[str, float], cases: list[dict[str, Any]]) -> str:
    """One line of the table. Stops with an error where the three do not agree."""
    rules, work_out = rule_set(conditions, limits), evaluator(conditions, limits)
    reference = ClipsRules(conditions, limits)
    start = time.perf_counter()
    conclude(rules, cases[0])
    first = 1000 * (time.perf_counter() - start)
    for facts in cases:
        concluded = {name: truth.value for name, truth in conclude(rules, facts).findings.items()}
        if not concluded == {name: truth.value for name, truth in work_out(facts).items()} == reference.conclude(facts):
            raise SystemExit(f"{name}: experta, the evaluator and CLIPS do not agree")
    known = statistics.mean(len(facts) for facts in cases)
    return (
        f"{name:24} {len(conditions):6} {known:6.0f} {taken(lambda facts: conclude(rules, facts), cases):9.1f} "
        f"{first:9.1f} {taken(work_out, cases):9.2f} {taken(reference.conclude, cases):9.1f}"
    )


def main() -> None:
    """Print the table."""
    print("milliseconds, median of 15 cases; experta includes its network; CLIPS includes handing over the facts")
    print(f"{'rule base':24} {'rules':>6} {'known':>6} {'experta':>9} {'the first':>9} {'evaluator':>9} {'CLIPS':>9}")
    for times in (1, 2, 5, 10):
        conditions, case = made_up(150 * times)
        print(measure(f"made up, {times} x 150", conditions, {}, [case(0.6) for _ in range(15)]))
    shipped()
    conditions, case = made_up(150)
    rows = 1_000_000
    cases = [case(0.6) for _ in range(500)]
    pick = random.Random(1).choices(range(500), k=rows)
    facts = {}
    for name in sorted({name for row in cases for name in row}):
        value = next(row[name] for row in cases if name in row)
        column = column_of(
            [row.get(name) for row in cases],
            WORDS if isinstance(value, str) else (),
            4 if isinstance(value, tuple) else 0,
        )
        facts[name] = Column(column.values[pick], column.words)
    start = time.perf_counter()
    conditions_in_columns(conditions, {}, facts, rows)
    print(f"columns: {rows:,} jobs x {len(conditions)} findings in {time.perf_counter() - start:.1f} s")


def shipped() -> None:
    """The line of the shipped rule base, on made-up answers."""
    from howdeep.knowledge.condition_names import fact_shapes
    from howdeep.knowledge.load import load
    from howdeep.knowledge.where import shipped_rules

    try:
        knowledge = load([shipped_rules()])
    except HowdeepError as error:
        print(f"shipped rule base: not read, {len(error.faults)} faults")
        return
    dice, shapes = random.Random(2), sorted(fact_shapes(knowledge).items())

    def case() -> dict[str, Any]:
        facts: dict[str, Any] = {}
        for name, shape in shapes:

            def one(words: tuple[str, ...] = shape.words) -> Any:
                return dice.choice(words) if words else float(dice.choice((0, 1, 5, 9, 20, 60, 90, 130)))

            if not shape.grid and (name.startswith("engine.") or dice.random() < 0.3):
                facts[name] = tuple(one() for _ in range(4)) if shape.each else one()
        return facts

    print(
        measure(
            "shipped",
            {name: item.when for name, item in knowledge.findings.items()},
            {name: item.value for name, item in knowledge.limits.items()},
            [case() for _ in range(15)],
        )
    )


if __name__ == "__main__":
    main()
