"""Speed, both sides measured in one run: medians and ratios. `make bench` prints the table."""

from __future__ import annotations

import argparse
import dataclasses
import datetime
import os
import platform
import random
import statistics
import subprocess
import sys
import tempfile
import threading
import time
import urllib.request
from collections.abc import Callable
from pathlib import Path
from typing import Any

ROOT = Path(__file__).resolve().parents[1]
CASE = ROOT / "cases" / "smoke_and_low_compression_with_dry_seals_stays_in_the_frame.yaml"
sys.path.insert(0, str(ROOT / "tests"))


def median_ms(action: Callable[[], Any], times: int) -> float:
    """Median milliseconds of an action, after one run that is not counted."""
    action()
    taken = []
    for _ in range(times):
        start = time.perf_counter()
        action()
        taken.append(1000 * (time.perf_counter() - start))
    return statistics.median(taken)


def row(what: str, ours: float, other: str = "", theirs: float | None = None, limit: str = "") -> None:
    """One line of the table."""
    ratio = f"{theirs / ours:8.2f}x" if theirs is not None and ours else ""
    beside = f"{other} {theirs:9.2f}" if theirs is not None else other
    print(f"{what:<58} {ours:9.2f}  {beside:<28} {ratio:<10} {limit}", flush=True)


def times_over(knowledge: Any, factor: int) -> Any:
    """The rule base with its findings repeated under other names, each copy reading its own copies."""
    from howdeep.model.condition import AllOf, AnyOf, FindingTest, Not

    def renamed(condition: Any, mark: str) -> Any:
        if isinstance(condition, FindingTest):
            return FindingTest(condition.finding + mark)
        if isinstance(condition, Not):
            return Not(renamed(condition.part, mark))
        if isinstance(condition, (AllOf, AnyOf)):
            return type(condition)(tuple(renamed(part, mark) for part in condition.parts))
        return condition

    findings = dict(knowledge.findings)
    for copy in range(1, factor):
        mark = f".copy{copy}"
        findings.update({name + mark: dataclasses.replace(item, when=renamed(item.when, mark))
                         for name, item in knowledge.findings.items()})
    return dataclasses.replace(knowledge, findings=dict(sorted(findings.items())))


def rules(knowledge: Any, facts: dict[str, Any], factors: tuple[int, ...]) -> None:
    """Rules: experta and the pure evaluator beside CLIPS, at growing sizes."""
    from clips_rules import ClipsRules

    from howdeep.reasoning.condition import evaluate_all
    from howdeep.reasoning.rules import conclude, finding_rules

    for factor in factors:
        base = times_over(knowledge, factor)
        ruleset = finding_rules(base)
        limits = {name: item.value for name, item in base.limits.items()}
        conditions = {name: item.when for name, item in base.findings.items()}
        other = ClipsRules(conditions, limits)
        clips = median_ms(lambda o=other: o.conclude(facts), 5)
        fired = median_ms(lambda r=ruleset: conclude(r, facts), 9)
        row(f"rules x{factor} ({len(base.findings)} findings): experta, ms", fired, "CLIPS", clips,
            "under 100 in an assessment" if factor == 1 else "")
        evaluated = median_ms(lambda b=base: evaluate_all(b, facts), 25)
        row(f"rules x{factor}: pure evaluator, ms", evaluated, "CLIPS", clips)


def random_network(causes: int, findings: int, present: int, seed: int) -> Any:
    """A made-up network of local links and a few broad findings, with its evidence; and levels of its causes."""
    import numpy as np

    from howdeep.reasoning.network import Network

    rng = random.Random(seed)
    words = ("never", "rarely", "sometimes", "half the time", "usually", "nearly always")
    values = (0.002, 0.05, 0.2, 0.5, 0.8, 0.95)
    link = np.zeros((causes, findings), dtype=np.int8)
    groups = 6
    for finding in range(findings):
        broad = finding % 16 == 15
        group = finding % groups
        local = [cause for cause in range(causes) if cause % groups == group]
        chosen = rng.sample(range(causes), min(causes, rng.randint(8, 14))) if broad else rng.sample(
            local, min(len(local), rng.randint(2, 4)))
        for cause in chosen:
            link[cause, finding] = rng.randint(2, 6)
    prior = np.array([rng.choice((0.015, 0.04, 0.1, 0.2)) for _ in range(causes)])
    leak_word = np.ones(findings, dtype=np.int8)
    e = 0.02
    q = np.array([0.0, *[value * (1 - e) for value in values]])[link]
    leak = np.array([1 - (1 - value) * (1 - e) for value in values])[leak_word]
    names = tuple(f"c{index:02d}" for index in range(causes))
    marks = tuple(f"f{index:02d}" for index in range(findings))
    network = Network(names, marks, prior, (), prior, link, leak_word, values, words, e, q, leak)
    order = list(range(findings))
    rng.shuffle(order)
    return network, tuple(sorted(marks[index] for index in order[:present])), tuple(
        sorted(marks[index] for index in order[present: findings * 3 // 4]))


def beliefs(sizes: tuple[tuple[int, int, int], ...]) -> None:
    """Beliefs: one forward and backward pass beside a general library."""
    from howdeep.model.results import Counted
    from howdeep.reasoning.beliefs import believe

    for causes, findings, present in sizes:
        network, shown, absent = random_network(causes, findings, present, seed=7)
        counted = Counted(shown, absent, {})
        ours = median_ms(lambda n=network, c=counted: believe(n, c, steps=False), 9)
        theirs = pyagrum_ms(network, counted) if present <= 12 else None
        row(f"beliefs: {causes} causes x {findings} findings, {present} present, ms", ours,
            "pyAgrum" if theirs is not None else "pyAgrum not tried at this width", theirs,
            "under 5" if (causes, findings, present) == (40, 80, 20) else "")


def decision_of_a_middle_size(shop: Any) -> None:
    """Expected costs and flip points on made-up networks of the size that the design names: medians over ten."""
    from decimal import Decimal

    from howdeep.decision.money_flips import money_flips
    from howdeep.decision.sensitivity import model_flips, word_flips
    from howdeep.decision.setting import SUMMED_EXACTLY, setting_of

    from howdeep.decision.ladder import Terms
    from howdeep.model.knowledge import RUNGS
    from howdeep.model.results import Counted

    prices = dict(zip(RUNGS, map(Decimal, ("180", "520", "1350", "2700", "4800", "6200")), strict=True))
    labour = {rung: 0.6 * float(price) for rung, price in prices.items()}
    taken: dict[str, list[float]] = {"expected cost of all scopes": [], "flip points in closed form": []}
    widths = []
    for seed in range(20):
        network, shown, absent = random_network(40, 80, 20, seed)
        rng = random.Random(seed)
        need = {cause: rng.choice(RUNGS[:5]) for cause in network.causes}
        seen = {cause: rng.choice(RUNGS) for cause in network.causes}
        counted = Counted(shown, absent, {})
        setting = setting_of(network, counted, need, seen, prices, Terms(1.15, 500.0, 50.0))
        if setting.evidence.plan.width > SUMMED_EXACTLY or len(widths) == 10:
            continue
        widths.append(setting.evidence.plan.width)
        taken["expected cost of all scopes"].append(median_ms(
            lambda n=network, c=counted, a=need, b=seen: setting_of(n, c, a, b, prices, Terms(1.15, 500.0, 50.0)), 5))
        taken["flip points in closed form"].append(median_ms(lambda s=setting: (
            model_flips(s, shop.knowledge), word_flips(s, shop.knowledge), money_flips(s, labour, 60.0)), 5))
    widths.sort()
    for (name, times), limit in zip(taken.items(), ("under 10", "under 20"), strict=True):
        times.sort()
        row(f"40 causes x 80 findings, 20 present: {name}, ms", statistics.median(times),
            f"slowest {times[-1]:.0f}; width {widths[0]} to {widths[-1]}", limit=limit)


def pyagrum_ms(network: Any, counted: Any) -> float:
    """The same posteriors by pyAgrum's lazy propagation on addNoisyORNet (findings that are not counted left out)."""
    import pyagrum as gum

    net = gum.BayesNet()
    ids = {}
    for index, cause in enumerate(network.causes):
        ids[cause] = net.add(gum.LabelizedVariable(cause, cause, 2))
        net.cpt(cause).fillWith([1 - float(network.prior[index]), float(network.prior[index])])
    for name in (*counted.present, *counted.absent):
        column = network.findings.index(name)
        node = net.addNoisyORNet(gum.LabelizedVariable(name, name, 2), float(network.leak[column]))
        for index, cause in enumerate(network.causes):
            if network.q[index, column] > 0:
                net.addWeightedArc(ids[cause], node, float(network.q[index, column]))
    evidence = {**dict.fromkeys(counted.present, 1), **dict.fromkeys(counted.absent, 0)}

    def run() -> None:
        engine = gum.LazyPropagation(net)
        engine.setEvidence(evidence)
        engine.makeInference()
        for cause in network.causes:
            engine.posterior(cause)

    return median_ms(run, 1)


def decisions(shop: Any, every: int) -> None:
    """Steps of an assessment over the worked cases: the median case, the slowest of nine in ten, and the slowest."""
    from howdeep.decision.checks import rank_checks
    from howdeep.decision.flips import wrong_answers
    from howdeep.decision.money_flips import money_flips
    from howdeep.decision.sensitivity import model_flips, word_flips
    from howdeep.decision.setting import SUMMED_EXACTLY

    from howdeep.assess import prepare
    from howdeep.cases import case_files
    from howdeep.decision.whatif import known_of
    from howdeep.facts import facts_of, moved_facts_of
    from howdeep.knowledge.where import shipped_cases
    from howdeep.reasoning.condition import evaluate_all

    knowledge, rate = shop.knowledge, float(shop.prices.labour_rate)
    taken: dict[str, list[float]] = {}
    wide = 0
    paths = case_files(shipped_cases())[::every]
    for path in paths:
        job = shop.open_job(path)
        facts, _ = facts_of(knowledge, job)
        findings = evaluate_all(knowledge, facts.values)
        ready = prepare(knowledge, job, facts, findings, shop.prices, steps=False)
        setting, made = ready.setting, frozenset(job.values) | job.unknown
        steps: dict[str, Callable[[], Any]] = {
            "assessment (rules, beliefs, decision)": lambda j=job: shop.assess(j, checks=False, flips=False),
            "ranking of every open check": lambda s=setting, j=job, f=facts, g=findings, m=made: rank_checks(
                s, knowledge, j.engine, f.values, g, m, shop.prices),
        }
        if setting.estimated or setting.evidence.plan.width > SUMMED_EXACTLY:
            wide += 1
        else:
            steps["flip points in closed form (odds, words, money)"] = lambda s=setting, r=ready: (
                model_flips(s, knowledge), word_flips(s, knowledge), money_flips(s, r.labour, rate))
            steps["given answers turned, each assessed anew"] = (
                lambda s=setting, j=job, f=facts, g=findings: wrong_answers(
                    s, known_of(knowledge, s.network, f.values, g), j.values, moved_facts_of(knowledge, j, f)))
        for name, step in steps.items():
            taken.setdefault(name, []).append(median_ms(step, 3))
    limits = {"assessment (rules, beliefs, decision)": "under 100", "ranking of every open check": "under 100",
              "flip points in closed form (odds, words, money)": "under 20"}
    closed, turned = (taken.get(name, []) for name in ("flip points in closed form (odds, words, money)",
                                                       "given answers turned, each assessed anew"))
    if closed:
        taken["all of these together"] = [sum(both) for both in zip(closed, turned, strict=True)]
        limits["all of these together"] = "under 20"
    for name, times in taken.items():
        times.sort()
        row(f"{name}, ms", statistics.median(times), f"9 in 10 {times[len(times) * 9 // 10]:.0f}, "
            f"slowest {times[-1]:.0f}", limit=limits.get(name, ""))
    share = sum(time < 20 for time in taken.get("all of these together", ())) / max(1, len(paths) - wide)
    print(f"  all flip points of a job under 20 ms in {100 * share:.0f} % of the cases")
    print(f"  over {len(paths)} worked cases; in {wide} the findings are too tangled for exact flip points", flush=True)


def processes(times: int) -> None:
    """A whole `howdeep assess` process: first with an empty cache, then repeated."""
    with tempfile.TemporaryDirectory() as folder:
        # bytecode is kept as on any machine that does not forbid it, here in a folder of the benchmark's own
        env = {name: value for name, value in os.environ.items() if name != "PYTHONDONTWRITEBYTECODE"}
        env |= {"HOWDEEP_CACHE": folder, "PYTHONPYCACHEPREFIX": str(Path(folder) / "bytecode")}
        command = [sys.executable, "-c", "from howdeep.cli import main; main()", "assess", str(CASE)]

        def run() -> None:
            subprocess.run(command, env=env, stdout=subprocess.DEVNULL, check=True)

        start = time.perf_counter()
        run()
        row("whole `howdeep assess` process, first (all read and compiled), ms", 1000 * (time.perf_counter() - start))
        row("whole `howdeep assess` process, repeated, ms", median_ms(run, times), limit="under 600")
        bare = [sys.executable, "-c", "import numpy"]
        row("  of which Python and numpy alone, ms",
            median_ms(lambda: subprocess.run(bare, check=True, env=env), times))


def page(shop: Any, clients: int, requests: int) -> None:
    """The page under load on loopback: so many clients, each with so many requests."""
    import logging
    import shutil

    from waitress.server import create_server

    logging.getLogger("waitress.queue").setLevel(logging.ERROR)

    from howdeep.web.app import create_app

    with tempfile.TemporaryDirectory() as folder:
        for index in range(clients):
            shutil.copy(CASE, Path(folder) / f"job-{index}.yaml")
        server = create_server(create_app(Path(folder), shop), host="127.0.0.1", port=0, threads=8)
        port = server.effective_port
        thread = threading.Thread(target=server.run, daemon=True)
        thread.start()
        taken: list[float] = []

        def client(index: int) -> None:
            for _ in range(requests):
                start = time.perf_counter()
                with urllib.request.urlopen(f"http://127.0.0.1:{port}/job/job-{index}/ask", timeout=60) as answer:
                    answer.read()
                taken.append(1000 * (time.perf_counter() - start))

        threads = [threading.Thread(target=client, args=(index,)) for index in range(clients)]
        for worker in threads:
            worker.start()
        for worker in threads:
            worker.join()
        server.close()
        taken.sort()
        row(f"page: {clients} clients at once, {len(taken)} answers, median ms", statistics.median(taken))
        row("page: the slowest of them, ms", taken[-1])


def record(jobs: int) -> None:
    """So many closed jobs read and scored."""
    from howdeep.knowledge.where import shipped_rules
    from howdeep.record.read import read_folder
    from howdeep.record.score import record_of

    sys.path.insert(0, str(ROOT / "bench"))
    from simulate_shop import write_jobs

    with tempfile.TemporaryDirectory() as folder:
        write_jobs(Path(folder), jobs, seed=3, promises=True)
        start = time.perf_counter()
        read = read_folder(Path(folder), (shipped_rules(),))
        scored = record_of(read.rows)
        row(f"record: {scored.jobs} closed jobs read and scored, ms", 1000 * (time.perf_counter() - start),
            limit="under 60000 for 10,000")


def main() -> None:
    """Measure and print."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--quick", action="store_true", help="smaller sizes, for trying the script")
    options = parser.parse_args()
    from howdeep.facts import facts_of
    from howdeep.session import open_shop

    shop = open_shop(example_prices=True)
    job = shop.open_job(CASE)
    facts = facts_of(shop.knowledge, job)[0].values
    print(f"{datetime.date.today().isoformat()}, {platform.machine()}, {os.cpu_count()} cores, "
          f"Python {platform.python_version()}; medians; times on a shared machine are noisy, compare ratios\n")
    print(f"{'what':<58} {'ours':>9}  {'beside':<28} {'ratio':<10} wanted")
    rules(shop.knowledge, facts, (1, 2) if options.quick else (1, 2, 5, 10))
    beliefs(((20, 40, 6), (40, 80, 12)) if options.quick else ((20, 40, 6), (40, 80, 8), (40, 80, 12), (40, 80, 16),
                                                              (40, 80, 20), (80, 160, 20)))
    decision_of_a_middle_size(shop)
    decisions(shop, 12 if options.quick else 1)
    processes(3 if options.quick else 9)
    page(shop, 5 if options.quick else 20, 3 if options.quick else 10)
    record(200 if options.quick else 10_000)


if __name__ == "__main__":
    main()
