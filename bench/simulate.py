"""Made-up engines with known faults: what each rule for choosing a depth loses against a clairvoyant.

    python bench/simulate.py [--engines 5000] [--seed 1]

Each engine is one of the shipped sheets with faults drawn by the rule base's own odds. Its questions are answered, one
by one, each answer with the chance the rule base gives to the findings it would settle; the answers then go the whole
way through rules, lines of evidence, odds and expected cost. A quarter of the engines is drawn so. In a quarter faults
come together (a shared condition of the engine), in a quarter one answer in twenty is wrong, in a quarter both.

Loss is the cost in the end of the rung chosen, less that of the rung that is cheapest for the faults really there.
This tests the reasoning against its own odds and two ways of being wrong; it is no evidence that the odds are right.
"""

from __future__ import annotations

import argparse
import sys
import time
from dataclasses import dataclass
from statistics import NormalDist
from typing import Any

import numpy as np
from howdeep.decision.decide import terms_of
from howdeep.decision.setting import setting_of, state_numbers

from howdeep.assess import levels_of
from howdeep.decision.ladder import Costs, Ladder, cheapest, costs_of, ladder_of
from howdeep.decision.whatif import findings_if, known_of
from howdeep.knowledge.cache import load_cached
from howdeep.knowledge.engine_facts import engine_facts
from howdeep.knowledge.engines import find, load_engine, sheet_ids
from howdeep.knowledge.where import rule_folders
from howdeep.model.engine import Engine
from howdeep.model.knowledge import RUNGS, Knowledge
from howdeep.model.truth import Truth
from howdeep.pricing.lines import price_work
from howdeep.pricing.read import example_prices, load_prices
from howdeep.reasoning.beliefs import evidence_from
from howdeep.reasoning.condition import evaluate, evaluate_all
from howdeep.reasoning.construction import applies
from howdeep.reasoning.counted import count, stories
from howdeep.reasoning.network import Network, network_of
from howdeep.reasoning.posteriors import posteriors
from howdeep.reasoning.waterfall import says_alone
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
    q: np.ndarray
    leak: np.ndarray
    ladder: Ladder
    costs: Costs
    levels: tuple[dict, dict]
    prices: dict
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
        present, answers = job(knowledge, bench, rng, group)
        picks, enough, posterior = decisions(knowledge, bench, answers, terms_of(prices))
        here = state_numbers(bench.ladder, present[None])[0]
        spent = bench.costs.whole[:, here]
        loss[number] = [spent[pick] - np.nanmin(spent) for pick in picks]
        deepest = bench.ladder.states[here][1]
        said.append(enough)
        true.append(deepest <= np.arange(len(RUNGS)))
        chances.append(posterior)
        faults.append(present)
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
    money = {rung: price_work(work_at(knowledge, rules, engine, facts, findings, odds, rung), knowledge, engine, name,
                              prices).total for rung in RUNGS}
    levels = levels_of(knowledge, rules, facts)
    ladder = ladder_of(network.causes, *levels)
    costs = costs_of(ladder, tuple(np.nan if money[rung] is None else float(money[rung]) for rung in RUNGS),
                     terms_of(prices))
    words = np.array([0.0, *network.word_values])
    asked = [item for item in knowledge.observations if item not in FIRST]
    questions = tuple(item for item in (*FIRST, *asked) if item in knowledge.observations and _can_ask(
        knowledge, item, facts))
    return Bench(engine, facts, network, words[network.link_word], words[1:][network.leak_word], ladder, costs, levels,
                 money, questions)


def _can_ask(knowledge: Knowledge, name: str, facts: dict[str, Any]) -> bool:
    item = knowledge.observations[name]
    return item.moment != "teardown" and item.kind == "choice" and not item.each and applies(item, facts)


def job(knowledge: Knowledge, bench: Bench, rng: np.random.Generator, group: int) -> tuple[np.ndarray, dict[str, str]]:
    """Faults really there, and the answers given."""
    present = draw_faults(bench.network.prior, rng, group in (1, 3))
    unseen = (1 - bench.leak) * np.prod(np.where(present[:, None], 1 - bench.q, 1.0), axis=0)
    limits = {name: item.value for name, item in knowledge.limits.items()}
    answers: dict[str, str] = {}
    facts = dict(bench.facts)
    known = known_of(knowledge, bench.network, facts, evaluate_all(knowledge, facts))
    for name in bench.questions:
        item = knowledge.observations[name]
        if name not in FIRST and rng.random() >= ASKED[item.moment]:
            continue
        if item.follows is not None and evaluate(item.follows, facts, {}, limits) is not Truth.PRESENT:
            continue
        if any(condition is not None and evaluate(condition, facts, {}, limits) is Truth.ABSENT
               for condition in (item.needs, item.valid_when)):
            continue
        options = list(item.answers)
        changes = [findings_if(known, {name: answer}) for answer in options]
        weights = np.array([_chance(known.numbers, unseen, changed) for changed in changes])
        at = int(rng.choice(len(options), p=weights / weights.sum()))
        if group >= 2 and rng.random() < WRONG:
            at = (at + 1 + int(rng.integers(len(options) - 1))) % len(options)
        answers[name] = facts[name] = options[at]
        known.facts[name] = options[at]  # this Known belongs to this job alone
        for finding, truth in changes[at].items():
            known.truths[finding] = {Truth.PRESENT: True, Truth.ABSENT: False}[truth]
            known.findings[finding] = truth
    return present, answers


def _chance(numbers: dict[str, int], unseen: np.ndarray, changed: dict[str, Truth]) -> float:
    chance = 1.0
    for name, truth in changed.items():
        if name in numbers:
            chance *= unseen[numbers[name]] if truth is Truth.ABSENT else 1 - unseen[numbers[name]]
    return chance


def draw_faults(prior: np.ndarray, rng: np.random.Generator, together: bool) -> np.ndarray:
    """Which causes are present: independent, or with a shared condition of the engine (the odds of each stay)."""
    if not together:
        return rng.random(len(prior)) < prior
    limit = np.array([NormalDist().inv_cdf(float(p)) for p in prior])
    shared, own = rng.standard_normal(), rng.standard_normal(len(prior))
    return np.sqrt(TOGETHER) * shared + np.sqrt(1 - TOGETHER) * own < limit


def decisions(knowledge: Knowledge, bench: Bench, answers: dict[str, str],
              terms: Any) -> tuple[list[int], np.ndarray, np.ndarray]:
    """The rung that each rule chooses, the chance that each rung is enough, and the odds of each cause."""
    facts = {**bench.facts, **answers}
    findings = evaluate_all(knowledge, facts)
    network = network_of(knowledge, bench.facts, facts, findings)
    counted = count(stories(knowledge), findings)
    setting = setting_of(network, counted, *bench.levels, bench.prices, terms)
    evidence = evidence_from(network, counted)
    posterior, _ = posteriors(evidence)
    need = np.array(bench.ladder.need)
    added = np.log10(network.prior / (1 - network.prior)) * 10
    added = added + sum((says_alone(network, finding) for finding in evidence.present), np.zeros(len(need)))
    added = added + sum((10 * np.log10(1 - network.q[:, finding]) for finding in evidence.absent), np.zeros(len(need)))
    picks = [cheapest(setting.expected), int(need[int(posterior.argmax())]), int(need[added > 0].max(initial=0)),
             RUNGS.index("refresh"), RUNGS.index("rebuild")]
    return picks, setting.enough, posterior


def report(loss: np.ndarray, said: np.ndarray, true: np.ndarray, chances: list, faults: list, seconds: float,
           seed: int) -> None:
    """Print the tables."""
    group = np.arange(len(loss)) % len(GROUPS)
    print(f"{len(loss)} made-up engines with known faults, seed {seed} ({seconds:.0f} s). Example prices (invented).")
    print(f"Faults an engine: {np.mean([present.sum() for present in faults]):.1f} on average.\n")
    print("Money lost against a clairvoyant, mean (standard error); in brackets how often the best rung was chosen")
    print(f"{'':<24}" + "".join(f"{name:>26}" for name in GROUPS))
    for number, rule in enumerate(RULES):
        cells = []
        for index in range(len(GROUPS)):
            here = loss[group == index, number]
            error = here.std() / np.sqrt(max(1, len(here)))
            cells.append(f"{here.mean():7.0f} ({error:.0f}) [{(here < 0.005).mean():4.0%}]")
        print(f"{rule:<24}" + "".join(f"{cell:>26}" for cell in cells))
    print("\nStated chance that a rung is enough (all rungs): said -> was so (how many)")
    for index, name in enumerate(GROUPS):
        print(f"{name:<24}" + calibration(said[group == index].ravel(), true[group == index].ravel()))
    print("\nStated odds of a cause: said -> was there (how many)")
    for index, name in enumerate(GROUPS):
        mine = [number for number in range(len(loss)) if group[number] == index]
        print(f"{name:<24}" + calibration(np.concatenate([chances[number] for number in mine]),
                                          np.concatenate([faults[number] for number in mine])))


def calibration(said: np.ndarray, true: np.ndarray) -> str:
    """Said and true shares in bands of the said one."""
    edges = (0.0, 0.05, 0.2, 0.4, 0.6, 0.8, 0.95, 1.0 + 1e-9)
    cells = []
    for low, high in zip(edges, edges[1:], strict=False):
        here = (said >= low) & (said < high)
        if here.any():
            cells.append(f"{said[here].mean():.2f} -> {true[here].mean():.2f} ({here.sum()})")
    return "  ".join(cells)


if __name__ == "__main__":
    main()
