"""Made-up engines with known faults: what each rule for choosing a depth loses against a clairvoyant.

    python bench/simulate.py [--engines 5000] [--seed 1]

Each engine is one of the shipped sheets with faults drawn by the rule base's own odds. Its questions are answered, one
by one, each answer with the chance the rule base gives to the findings it would settle; the answers then go the whole
way through rules, lines of evidence, odds and expected cost. The engine's life is not asked about: the draws know none.
A quarter of the engines is drawn so. In a quarter faults come together (a shared condition of the engine), in a quarter
one answer in twenty is wrong, in a quarter both.

Then it is drawn which of its faults were behind what was noticed, and each rule's scope is followed to its end: growth
as what is open shows it, and after a failure the same way on for all rules, by what the tool knows then. Loss is that
cost less the cost of the scope that would have cost least for the faults really there. This tests the reasoning against
its own odds and two ways of being wrong; it is no evidence that the odds are right.
"""

from __future__ import annotations

import argparse
import itertools
import sys
import time
from dataclasses import dataclass
from statistics import NormalDist
from typing import Any

import numpy as np

from howdeep.assessment.prepared import levels_of
from howdeep.beliefs.believe import believe
from howdeep.beliefs.evidence import Sign, evidence_of
from howdeep.beliefs.frames import network_of
from howdeep.beliefs.network import Network, Node
from howdeep.beliefs.signs import Signs, signs_of
from howdeep.beliefs.waterfall import decibans, says_alone
from howdeep.decision.ladder import LEVELS, NOBODY, UNLISTED, beyond
from howdeep.decision.problem import Problem, problem_of
from howdeep.decision.recommend import terms_of
from howdeep.decision.what_if import findings_if, known_of
from howdeep.knowledge.cache import load_cached
from howdeep.knowledge.engine_facts import engine_facts
from howdeep.knowledge.engines import find, load_engine, sheet_ids
from howdeep.knowledge.where import rule_folders
from howdeep.logic.applicability import applies
from howdeep.logic.evaluate import evaluate, evaluate_all
from howdeep.model.condition import facts_read
from howdeep.model.engine import Engine
from howdeep.model.knowledge import Knowledge
from howdeep.model.terms import RUNGS
from howdeep.model.truth import Truth
from howdeep.pricing.lines import price_work
from howdeep.pricing.read import example_prices, load_prices
from howdeep.work.rules import work_rules
from howdeep.work.select import work_at

GROUPS = ("as the odds say", "faults come together", "5 % of answers wrong", "both")
RULES = ("howdeep", "single likeliest cause", "add up per cause", "always refresh", "always rebuild")
TOGETHER = 0.2
"""Share of the spread of faults that all of one engine have in common."""
WRONG = 0.05
ASKED = {"talk": 0.5, "test": 0.15}
"""Chance that a question or check is made."""
FIRST = ("runs", "turns_over")
"""Asked of every engine, first: others hang on them."""


@dataclass(frozen=True, slots=True)
class Bench:
    """One engine sheet, ready for many jobs."""

    engine: Engine
    facts: dict[str, Any]
    network: Network
    levels: tuple[dict, dict]
    prices: tuple[float, ...]
    questions: tuple[str, ...]


def main() -> None:
    options = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    options.add_argument("--engines", type=int, default=5000, help="how many engines (default 5000)")
    options.add_argument("--seed", type=int, default=1, help="seed of the draws (default 1)")
    chosen = options.parse_args()
    folders = rule_folders()
    knowledge = load_cached(folders)
    prices = load_prices(example_prices(), knowledge)
    benches = [bench_of(knowledge, load_engine(find(name, folders)), name, prices) for name in sheet_ids(folders)]
    rng = np.random.default_rng(chosen.seed)
    loss = np.zeros((chosen.engines, len(RULES)))
    said, true, chances, faults = [], [], [], []
    start = time.perf_counter()
    for number in range(chosen.engines):
        group, bench = number % len(GROUPS), benches[number // len(GROUPS) % len(benches)]
        degrees, told, really = job(knowledge, bench, rng, group)
        picks, problem, posterior = decisions(knowledge, bench, told, terms_of(prices, None))
        noticed = signs_told(knowledge, bench, really)
        most = behind(*noticed, degrees, problem.need, rng)
        costs = [spent(problem, start, degrees > 0, most) for start in range(LEVELS)]
        loss[number] = [costs[pick] - min(costs) for pick in picks]
        said.append(np.array([item.enough for item in problem.weighed]))
        true.append(most <= np.arange(LEVELS))
        chances.append(posterior)
        faults.append(degrees > 0)
        if sys.stderr.isatty() and number % 250 == 249:
            print(f"\r{number + 1} engines", end="", file=sys.stderr, flush=True)
    report(loss, np.array(said), np.array(true), chances, faults, time.perf_counter() - start, chosen.seed)


def bench_of(knowledge: Knowledge, engine: Engine, name: str, prices: Any) -> Bench:
    """Prices are those of each rung's work with no cause more likely than its base odds: the same for all jobs."""
    facts = engine_facts(engine)
    network = network_of(knowledge, facts, {}, {})
    rules = work_rules(knowledge, facts)
    odds = dict(zip(network.causes, map(float, network.prior), strict=True))
    findings = evaluate_all(knowledge, facts)
    money = {
        rung: price_work(
            work_at(knowledge, rules, engine, facts, findings, odds, rung), knowledge, engine, name, prices
        ).total
        for rung in RUNGS
    }
    levels = levels_of(knowledge, rules, facts)
    packages = tuple(float("nan") if money[rung] is None else float(money[rung]) for rung in RUNGS)
    asked = [item for item in knowledge.observations if item not in FIRST]
    questions = tuple(
        item for item in (*FIRST, *asked) if item in knowledge.observations and _can_ask(knowledge, item, facts)
    )
    return Bench(engine, facts, network, levels, packages, questions)


def _can_ask(knowledge: Knowledge, name: str, facts: dict[str, Any]) -> bool:
    item = knowledge.observations[name]
    return (
        item.moment != "teardown"
        and item.kind == "choice"
        and not item.each
        and applies(item, facts)
        and not any(name in facts_read(rule.when) for rule in knowledge.history.values())
    )


def job(
    knowledge: Knowledge, bench: Bench, rng: np.random.Generator, group: int
) -> tuple[np.ndarray, dict[str, str], dict[str, str]]:
    """Degrees of the faults really there, the answers given, and what they would be without mistakes."""
    network = bench.network
    present = draw_faults(network.prior, rng, group in (1, 3))
    degrees = np.where(present, 1 + (rng.random(len(present)) < network.degrees[1]), 0)
    at_most = [node.leak * np.prod(own_ladders(node, degrees), axis=0) for node in network.nodes]
    number = network.number()
    really: dict[str, str] = {}
    limits = {name: item.value for name, item in knowledge.limits.items()}
    answers: dict[str, str] = {}
    facts = dict(bench.facts)
    known = known_of(knowledge, facts, evaluate_all(knowledge, facts))
    for name in bench.questions:
        item = knowledge.observations[name]
        if name not in FIRST and rng.random() >= ASKED[item.moment]:
            continue
        if item.follows is not None and evaluate(item.follows, facts, {}, limits) is not Truth.PRESENT:
            continue
        if any(
            condition is not None and evaluate(condition, facts, {}, limits) is Truth.ABSENT
            for condition in (item.needs, item.valid_when)
        ):
            continue
        options = list(item.answers)
        changes = [findings_if(known, {name: answer}) for answer in options]
        weights = np.array([_chance(number, at_most, changed) for changed in changes])
        at = int(rng.choice(len(options), p=weights / weights.sum()))
        really[name] = options[at]
        if group >= 2 and rng.random() < WRONG:
            at = (at + 1 + int(rng.integers(len(options) - 1))) % len(options)
        answers[name] = facts[name] = options[at]
        known.facts[name] = options[at]  # this Known belongs to this job alone
        for finding, truth in changes[at].items():
            known.truths[finding] = {Truth.PRESENT: True, Truth.ABSENT: False}[truth]
            known.findings[finding] = truth
    return degrees, answers, really


def own_ladders(node: Node, degrees: np.ndarray) -> np.ndarray:
    """[present causes, m + 1] chance that each present cause's own draw is k or lower."""
    here = np.flatnonzero(degrees)
    return node.at_most[degrees[here] - 1, here]


def _chance(number: dict[str, tuple[int, int]], at_most: list[np.ndarray], changed: dict[str, Truth]) -> float:
    """Chance that the questions these findings belong to are answered so."""
    telling: dict[int, int] = {}
    denied: dict[int, list[int]] = {}
    for name, truth in changed.items():
        node, answer = number.get(name, (None, 0))
        if node is not None and truth is Truth.PRESENT:
            telling[node] = max(answer, telling.get(node, 0))
        elif node is not None and truth is Truth.ABSENT:
            denied.setdefault(node, []).append(answer)
    chance = 1.0
    for node, answer in telling.items():
        chance *= float(at_most[node][answer] - at_most[node][answer - 1])
    for node in denied.keys() - telling.keys():
        chance *= 1 - float(np.diff(at_most[node])[np.array(denied[node]) - 1].sum())
    return max(chance, 1e-9)


def draw_faults(prior: np.ndarray, rng: np.random.Generator, together: bool) -> np.ndarray:
    """Which causes are present: independent, or with a shared condition of the engine (the odds of each stay)."""
    if not together:
        return rng.random(len(prior)) < prior
    limit = np.array([NormalDist().inv_cdf(float(p)) for p in prior])
    shared, own = rng.standard_normal(), rng.standard_normal(len(prior))
    return np.sqrt(TOGETHER) * shared + np.sqrt(1 - TOGETHER) * own < limit


def signs_told(knowledge: Knowledge, bench: Bench, answers: dict[str, str]) -> tuple[Network, Signs]:
    """The network with the history that the answers tell, and the signs that count."""
    facts = {**bench.facts, **answers}
    findings = evaluate_all(knowledge, facts)
    network = network_of(knowledge, bench.facts, facts, findings)
    return network, signs_of(network, knowledge, facts, findings)


def decisions(
    knowledge: Knowledge, bench: Bench, answers: dict[str, str], terms: Any
) -> tuple[list[int], Problem, np.ndarray]:
    """The rung that each rule chooses, the decision that the tool makes, and the odds of each cause."""
    network, signs = signs_told(knowledge, bench, answers)
    evidence = evidence_of(network, signs.signs)
    problem = problem_of(evidence, *bench.levels, bench.prices, (), terms)
    beliefs = believe(evidence, steps=False)
    odds, hands = beliefs.odds(), beliefs.hands()
    added = decibans(network.prior / (1 - network.prior))
    added = added + sum((says_alone(network, sign) for sign in signs.signs if sign.answer), np.zeros(len(added)))
    added = added + sum(
        (decibans((network.degrees * factor).sum(axis=0)) for factor in evidence.sound), np.zeros(len(added))
    )
    likeliest = max(range(len(network.causes)), key=lambda cause: hands[network.causes[cause]])
    picks = [
        int(np.argmin([item.expected for item in problem.weighed])),
        int(problem.need[likeliest]),
        int(problem.need[added > 0].max(initial=0)),
        RUNGS.index("refresh"),
        RUNGS.index("rebuild"),
    ]
    return picks, problem, np.array([odds[cause] for cause in network.causes])


def behind(network: Network, signs: Signs, degrees: np.ndarray, need: np.ndarray, rng: np.random.Generator) -> int:
    """The greatest need among the faults that drew anything in what must go (a fault that is not on the list: more than
    any rung cures), drawn given the answers."""
    most = NOBODY
    here = np.flatnonzero(degrees)
    for sign in signs.signs:
        node = network.nodes[sign.node]
        if not sign.answer or node.sorts[sign.answer - 1] == "discriminator":
            continue
        ladders = np.concatenate((own_ladders(node, degrees), [node.unlisted, node.normal * node.misread]))
        drew = draws_behind(ladders, sign, rng)
        most = max([most, *need[here[drew[:-2] > 0]].tolist(), *([UNLISTED] if drew[-2] else [])])
    return most


def draws_behind(ladders: np.ndarray, sign: Sign, rng: np.random.Generator) -> np.ndarray:
    """[sources] the draw of each given that the highest of all is the answer. `ladders` [sources, m + 1]."""
    answer, drew, reached = sign.answer, [], False
    after = np.concatenate((np.cumprod(ladders[::-1], axis=0)[::-1][1:], np.ones((1, ladders.shape[1]))))
    for own, rest in zip(ladders, after, strict=True):
        exactly = np.diff(own, prepend=0.0)[: answer + 1]
        if not reached:  # none of those before reached it: one of those after must, unless this one does
            exactly[:answer] *= rest[answer] - rest[answer - 1]
            exactly[answer] *= rest[answer]
        drew.append(int(rng.choice(answer + 1, p=exactly / exactly.sum())))
        reached = reached or drew[-1] == answer
    return np.array(drew)


def spent(problem: Problem, start: int, present: np.ndarray, most: int) -> float:
    """What a job begun at a rung costs in the end with these faults, followed step by step."""
    ladder, terms, chances = problem.ladder, problem.terms, problem.chances[:, :, None]
    row = sum(
        1 << bit
        for bit, level in enumerate(problem.blocks.levels)
        if (present & (problem.seen <= level) & (level < problem.need)).any()
    )
    rows, above, cost = tuple(range(len(chances))), NOBODY, 0.0
    while True:
        end = int(ladder.ends[start, row])
        cost += ladder.prices[start]
        if end > start:
            cost += terms.growth_charge + terms.growth_factor * max(ladder.prices[end] - ladder.prices[start], 0.0)
        if most <= end:
            return cost
        rows = tuple(other for other in rows if ladder.ends[start, other] == end)
        above = max(above, end)
        cost += terms.comeback * ladder.in_use[end] + (terms.reopening if end >= 2 else 0.0)
        ways = {
            other: float(ladder._worth(other, beyond(chances), rows, above, {}).total[0])
            for other in range(end + 1, LEVELS)
        }
        left = float(chances[list(rows), above + 2 :].sum()) * ladder.last_resort()
        best = min(ways, key=lambda other: (ways[other], other), default=None)
        if best is None or left <= ways[best]:
            return cost + ladder.last_resort()
        start = best


def report(
    loss: np.ndarray, said: np.ndarray, true: np.ndarray, chances: list, faults: list, seconds: float, seed: int
) -> None:
    """Print the tables."""
    group = np.arange(len(loss)) % len(GROUPS)
    print(f"{len(loss)} made-up engines with known faults, seed {seed} ({seconds:.0f} s). Example prices (invented).")
    print(f"Faults an engine: {np.mean([present.sum() for present in faults]):.1f} on average.\n")
    print("Money lost against a clairvoyant, mean (standard error); in brackets how often the best rung was chosen.")
    print("Below each other rule the difference to the first, engine by engine")
    print(f"{'':<24}" + "".join(f"{name:>26}" for name in GROUPS))
    for number, rule in enumerate(RULES):
        cells = []
        for index in range(len(GROUPS)):
            here = loss[group == index, number]
            error = here.std() / np.sqrt(max(1, len(here)))
            cells.append(f"{here.mean():7.0f} ({error:.0f}) [{(here < 0.005).mean():4.0%}]")
        print(f"{rule:<24}" + "".join(f"{cell:>26}" for cell in cells))
        if number:
            apart = [loss[group == index, number] - loss[group == index, 0] for index in range(len(GROUPS))]
            print(
                " " * 24
                + "".join(
                    f"{f'{part.mean():+.0f} ({part.std() / np.sqrt(max(1, len(part))):.0f})':>26}" for part in apart
                )
            )
    print("\nStated chance that a rung is enough (all rungs): said -> was so (how many)")
    for index, name in enumerate(GROUPS):
        print(f"{name:<24}" + calibration(said[group == index].ravel(), true[group == index].ravel()))
    print("\nStated odds of a cause: said -> was there (how many)")
    for index, name in enumerate(GROUPS):
        mine = [number for number in range(len(loss)) if group[number] == index]
        print(
            f"{name:<24}"
            + calibration(
                np.concatenate([chances[number] for number in mine]),
                np.concatenate([faults[number] for number in mine]),
            )
        )


def calibration(said: np.ndarray, true: np.ndarray) -> str:
    """Said and true shares in bands of the said one."""
    edges = (0.0, 0.05, 0.2, 0.4, 0.6, 0.8, 0.95, 1.0 + 1e-9)
    cells = []
    for low, high in itertools.pairwise(edges):
        here = (said >= low) & (said < high)
        if here.any():
            cells.append(f"{said[here].mean():.2f} -> {true[here].mean():.2f} ({here.sum()})")
    return "  ".join(cells)


if __name__ == "__main__":
    main()
