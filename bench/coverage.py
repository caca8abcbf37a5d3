"""How much of the space of answers the rule base has been tried on.

    python bench/coverage.py [--jobs 1000000] [--seed 1] [--pairs 100000] [--rules FOLDER]

1. Exhaustively: rules that read a fact in common form a small cluster; every combination of the answers that they tell
   apart is looked at. A rule must be able to fire and to keep quiet; a sample is held against the pure evaluator.
2. At random: at least a million whole jobs over every engine sheet, as columns. Nothing may crash; a sample is held
   against experta and against the pure evaluator.
3. Worsening: in worked cases one answer at a time is made worse, along the order its question declares, and the
   recommended scope may not become shallower, but for the exceptions in monotone_exceptions.yaml, each with a reason.

Prints what was covered; exit code 1 where something does not hold.
"""

from __future__ import annotations

import argparse
import sys
import time
from pathlib import Path

import numpy as np
from hypothetical import Questions, blocks, row_of
from open_engine import opened
from together import together
from worsening import worsened

from howdeep.assessment.session import open_shop
from howdeep.knowledge.where import rule_folders, shipped_cases
from howdeep.logic.columns import ABSENT, CODE, PRESENT, conditions_in_columns
from howdeep.logic.evaluate import evaluate, evaluate_all
from howdeep.logic.forward_chaining import conclude, finding_rules
from howdeep.model.condition import Condition
from howdeep.model.knowledge import Knowledge
from howdeep.rulecheck import worlds
from howdeep.rulecheck.subject import read_sheets
from howdeep.rulecheck.worlds import TooWide, Vocabulary

BLOCK = 32_768
SAMPLE_A_CLUSTER = 40
SAMPLE_A_BLOCK = 30
EXPERTA_A_SHEET = 25


def rules_of(knowledge: Knowledge) -> dict[str, Condition]:
    """'kind/id' -> condition of every rule that can fire."""
    return {
        f"{kind}/{name}": entry.when
        for kind in ("findings", "history", "holds")
        for name, entry in getattr(knowledge, kind).items()
    }


def contradictions_of(knowledge: Knowledge) -> dict[str, Condition]:
    """'kind/id' -> condition of every contradiction: read over the answers as given, follow-ups without ground too."""
    return {f"contradictions/{name}": item.when for name, item in knowledge.contradictions.items()}


def clusters_of(knowledge: Knowledge, vocabulary: Vocabulary) -> list[list[str]]:
    """Rules that read a fact in common, split where all their answers together are too many to try."""
    rules = rules_of(knowledge)
    by_fact: dict[str, list[str]] = {}
    for key, condition in rules.items():
        for fact in vocabulary.facts(condition):
            if not fact.startswith("engine."):
                by_fact.setdefault(fact, []).append(key)
    found: dict[tuple[str, ...], None] = {}
    for fact in sorted(by_fact):
        group: list[str] = []
        for key in by_fact[fact]:
            try:
                vocabulary.space(*(rules[other] for other in [*group, key]), down=True)
                group.append(key)
            except TooWide:
                found[tuple(group)] = None
                group = [key]
        found[tuple(group)] = None
    return [list(group) for group in found if group]


def exhaustive(knowledge: Knowledge, random: np.random.Generator) -> list[str]:
    """Part 1; the faults found."""
    started = time.perf_counter()
    vocabulary, rules = Vocabulary(knowledge), rules_of(knowledge)
    limits = vocabulary.limits
    clusters = clusters_of(knowledge, vocabulary)
    fires: set[str] = set()
    silent: set[str] = set()
    faults, cells, largest, held = [], 0, 0, 0
    for group in clusters:
        try:
            space = vocabulary.space(*(rules[key] for key in group))
        except TooWide as error:
            faults.append(f"{group[0]} alone is too wide to try: {error}")
            continue
        truths = {key: space.truth(rules[key]) for key in group}
        fires.update(key for key, truth in truths.items() if space.any(truth == worlds.PRESENT))
        silent.update(key for key, truth in truths.items() if space.any(truth == worlds.ABSENT))
        allowed = space.allowed_worlds()
        cells += len(allowed)
        largest = max(largest, len(allowed))
        for row in allowed[random.integers(0, len(allowed), SAMPLE_A_CLUSTER)]:
            facts = space.world(row)
            findings = {**evaluate_all(knowledge, facts), **space.free_findings(row)}
            for key, truth in truths.items():
                held += 1
                said = evaluate(rules[key], facts, findings, limits)
                if CODE[said] != space.at(truth, row) - 1:
                    faults.append(f"{key}: the space and the evaluator differ on {facts}")
    for key, condition in contradictions_of(knowledge).items():
        space = vocabulary.space(condition, as_given=True)
        cells += space.cells
        truth = space.truth(condition)
        fires.update([key] if space.any(truth == worlds.PRESENT) else [])
        silent.update([key] if space.any(truth == worlds.ABSENT) else [])
    rules |= contradictions_of(knowledge)
    covered = {key for group in clusters for key in group} | {key for key in rules if key.startswith("contra")}
    built = {key for key in rules if key not in covered}  # they read how the engine is built and nothing else
    for key in built:
        space = vocabulary.space(rules[key])
        cells += space.cells
        covered.add(key)
        fires.update([key] if space.any(space.truth(rules[key]) == worlds.PRESENT) else [])
        silent.update([key] if space.any(space.truth(rules[key]) == worlds.ABSENT) else [])
    faults += [f"{key} can never fire" for key in rules if key in covered and key not in fires]
    faults += [f"{key} can never be absent" for key in rules if key in covered and key not in silent]
    print(
        f"exhaustive   {len(clusters)} clusters, {cells:,} combinations (largest {largest:,}), {len(covered)} of "
        f"{len(rules)} rules; {len(fires)} can fire, {len(silent)} can keep quiet; {held:,} truths held against the "
        f"evaluator; {time.perf_counter() - started:.1f} s"
    )
    return faults


def at_random(knowledge: Knowledge, engines: dict, jobs: int, random: np.random.Generator) -> list[str]:
    """Part 2; the faults found."""
    started = time.perf_counter()
    rules = rules_of(knowledge)
    named = {name: finding.when for name, finding in knowledge.findings.items()}
    others = {key: condition for key, condition in rules.items() if not key.startswith("findings/")}
    contradicted = contradictions_of(knowledge)
    limits = {name: item.value for name, item in knowledge.limits.items()}
    compiled = finding_rules(knowledge)
    fired: set[str] = set()
    silent: set[str] = set()
    faults: list[str] = []
    done = compared = by_experta = 0
    for engine in engines.values():
        questions, experta_left = Questions(knowledge, engine), EXPERTA_A_SHEET
        for rows in blocks(-(-jobs // len(engines)), BLOCK):
            columns, given = questions.block(rows, random)
            truths = conditions_in_columns({**named, **others}, limits, columns, rows)
            truths |= conditions_in_columns(contradicted, limits, given, rows)
            fired.update(key for key, truth in truths.items() if (truth == PRESENT).any())
            silent.update(key for key, truth in truths.items() if (truth == ABSENT).any())
            done += rows
            for row in random.integers(0, rows, SAMPLE_A_BLOCK):
                facts = row_of(columns, int(row))
                findings = evaluate_all(knowledge, facts)
                compared += len(findings)
                differ = [name for name, truth in findings.items() if CODE[truth] != truths[name][row]]
                if experta_left:
                    experta_left -= 1
                    by_experta += 1
                    concluded = conclude(compiled, facts).findings
                    differ += [name for name, truth in findings.items() if concluded[name] is not truth]
                faults += [f"{name}: two evaluators differ on {facts}" for name in differ]
    all_rules = [*named, *others, *contradicted]
    print(
        f"at random    {done:,} jobs on {len(engines)} engine sheets, {done * len(all_rules):,} conclusions; of "
        f"{len(all_rules)} rules {len(fired)} fired and {len(silent)} kept quiet; {compared:,} held against the "
        f"evaluator, {by_experta} jobs against experta; {time.perf_counter() - started:.1f} s"
    )
    rare = sorted(set(all_rules) - fired)
    if rare:
        print(f"             fired in no random job (tried exhaustively above): {', '.join(rare)}")
    return faults


def main() -> int:
    parser = argparse.ArgumentParser(description=__doc__.split("\n")[0])
    parser.add_argument("--jobs", type=int, default=1_000_000, help="random whole jobs")
    parser.add_argument("--pairs", type=int, default=100_000, help="most pairs of better and worse answers; 0: none")
    parser.add_argument("--laid", type=int, default=100_000, help="most faults laid on open engines; 0: none")
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--rules", type=Path, default=None, help="a shop's own rules")
    options = parser.parse_args()
    shop = open_shop(options.rules, None, None, example_prices=True)
    engines, sheet_faults, _ = read_sheets(rule_folders(options.rules))
    faults = [str(fault) for fault in sheet_faults]
    print(f"rule base {shop.knowledge.version}, seed {options.seed}")
    faults += exhaustive(shop.knowledge, np.random.default_rng(options.seed))
    faults += at_random(shop.knowledge, engines, options.jobs, np.random.default_rng(options.seed + 1))
    if options.pairs:
        faults += worsened(shop, shipped_cases(), options.pairs, np.random.default_rng(options.seed + 2))
    faults += together(shop.knowledge, engines)
    if options.laid:
        faults += opened(shop, shipped_cases(), options.laid, np.random.default_rng(options.seed + 3))
    for fault in faults[:50]:
        print(f"FAULT        {fault}")
    if len(faults) > 50:
        print(f"             ... and {len(faults) - 50} more")
    print("nothing found" if not faults else f"{len(faults)} faults")
    return 1 if faults else 0


if __name__ == "__main__":
    sys.exit(main())
