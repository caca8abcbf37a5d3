"""Speed, both sides measured in one run: medians and ratios. `make bench` prints the table."""

from __future__ import annotations

import argparse
import dataclasses
import datetime
import math
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
LIBRARIES = (
    "import collections, collections.abc; import numpy, typer, yaml, rich.console, rich.table; "
    "from pydantic import TypeAdapter; collections.Mapping = collections.abc.Mapping; import experta"
)
"""What an answer on one screen needs of other people's code."""


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
        findings.update(
            {
                name + mark: dataclasses.replace(item, when=renamed(item.when, mark))
                for name, item in knowledge.findings.items()
            }
        )
    return dataclasses.replace(knowledge, findings=dict(sorted(findings.items())))


def rules(knowledge: Any, facts: dict[str, Any], factors: tuple[int, ...]) -> None:
    """Rules: experta and the pure evaluator beside CLIPS, at growing sizes."""
    from clips_rules import ClipsRules

    from howdeep.logic.evaluate import evaluate_all
    from howdeep.logic.forward_chaining import conclude, finding_rules

    for factor in factors:
        base = times_over(knowledge, factor)
        ruleset = finding_rules(base)
        limits = {name: item.value for name, item in base.limits.items()}
        conditions = {name: item.when for name, item in base.findings.items()}
        other = ClipsRules(conditions, limits)
        clips = median_ms(lambda o=other: o.conclude(facts), 5)
        fired = median_ms(lambda r=ruleset: conclude(r, facts), 9)
        row(
            f"rules x{factor} ({len(base.findings)} findings): experta, ms",
            fired,
            "CLIPS",
            clips,
            "under 100 in an assessment" if factor == 1 else "",
        )
        evaluated = median_ms(lambda b=base: evaluate_all(b, facts), 25)
        row(f"rules x{factor}: pure evaluator, ms", evaluated, "CLIPS", clips)


def random_evidence(causes: int, questions: int, telling: int, seed: int) -> Any:
    """A made-up network of local links and a few broad questions of up to three telling answers, with its evidence."""
    import numpy as np

    from howdeep.beliefs.evidence import Sign, evidence_of
    from howdeep.beliefs.network import Network, Node, ladder
    from howdeep.beliefs.questions import Question

    rng = np.random.default_rng(seed)
    values = np.array([0.05, 0.2, 0.5, 0.8, 0.95]) * 0.98
    groups, nodes = 6, []
    for number in range(questions):
        count, broad = int(rng.integers(1, 4)), number % 16 == 15
        near = np.arange(causes) if broad else np.arange(number % groups, causes, groups)
        chosen = rng.choice(near, min(len(near), int(rng.integers(8, 15) if broad else rng.integers(2, 5))), False)
        marked = np.zeros((causes, count))
        marked[chosen] = rng.choice(values, len(chosen))[:, None] * rng.dirichlet(np.ones(count), len(chosen))
        channel, shows = (("talk", 0.15), ("test", 0.8), ("teardown", 1.0))[number % 3]
        draws = np.array([shows, 1.0])[:, None, None] * marked
        leaks = (ladder(np.full(count, chance / count)) for chance in (0.05, 0.01, 0.02))
        asked = Question((f"q{number}",), tuple(f"f{number}_{answer}" for answer in range(count)), ((),) * count)
        nodes.append(
            Node(
                asked,
                frozenset(asked.facts),
                channel,
                ladder(draws),
                *leaks,
                ("bench" if channel == "teardown" else "trouble",) * count,
                (False,) * count,
            )
        )
    prior = rng.choice((0.015, 0.04, 0.1, 0.2), causes)
    network = Network(
        tuple(f"c{number:02d}" for number in range(causes)), tuple(nodes), prior, prior, np.array([0.6, 0.4])
    )
    order = rng.permutation(questions).tolist()
    signs = [Sign(node, int(rng.integers(1, len(nodes[node].findings) + 1))) for node in order[:telling]]
    signs += [Sign(node, 0) for node in order[telling : questions * 3 // 4]]
    return evidence_of(network, tuple(signs))


def beliefs(sizes: tuple[tuple[int, int, int], ...]) -> None:
    """Beliefs: one forward and backward pass beside a general library."""
    from pyagrum_max import posteriors

    from howdeep.beliefs.believe import believe

    for causes, questions, telling in sizes:
        evidence = random_evidence(causes, questions, telling, seed=7)
        ours = median_ms(lambda e=evidence: believe(e, steps=False), 9)
        theirs = median_ms(lambda e=evidence: posteriors(e), 1) if telling <= 8 else None
        row(
            f"beliefs: {causes} causes x {questions} questions, {telling} telling, ms",
            ours,
            "pyAgrum" if theirs is not None else "pyAgrum not tried at this width",
            theirs,
            "under 5" if (causes, questions, telling) == (40, 80, 20) else "",
        )


def decision_of_a_middle_size() -> None:
    """Every job's expected cost on made-up networks of the size that the design names: medians over ten."""
    from howdeep.beliefs.gibbs import MOST_EXACT
    from howdeep.decision.ladder import Terms
    from howdeep.decision.problem import problem_of
    from howdeep.model.terms import RUNGS

    prices = (180.0, 520.0, 1350.0, 2700.0, 4800.0, 6200.0)
    terms = Terms(1.15, 500.0, 50.0, stop=4000.0, look=(math.inf, math.inf, 200.0, 400.0, math.inf, math.inf), credit=1)
    taken, widths = [], []
    for seed in range(20):
        evidence = random_evidence(40, 80, 20, seed)
        rng = random.Random(seed)
        need = {cause: rng.choice(RUNGS[:5]) for cause in evidence.network.causes}
        seen = {cause: rng.choice(RUNGS) for cause in evidence.network.causes}
        if evidence.width > MOST_EXACT or len(widths) == 10:
            continue
        widths.append(evidence.width)
        taken.append(median_ms(lambda e=evidence, a=need, b=seen: problem_of(e, a, b, prices, (), terms), 5))
    row(
        "40 causes x 80 questions, 20 telling: every package and look, ms",
        statistics.median(taken),
        f"slowest {max(taken):.0f}; width {min(widths)} to {max(widths)}",
    )


def decisions(shop: Any, every: int) -> None:
    """Steps of an assessment over the worked cases: the median case, the slowest of nine in ten, and the slowest."""
    from howdeep.assessment.facts import facts_of
    from howdeep.assessment.next_checks import NextChecks
    from howdeep.assessment.prepared import prepare
    from howdeep.cases.run import case_files
    from howdeep.knowledge.where import shipped_cases
    from howdeep.logic.evaluate import evaluate_all

    knowledge = shop.knowledge
    taken: dict[str, list[float]] = {}
    estimated = 0
    paths = case_files(shipped_cases())[::every]
    for path in paths:
        job = shop.open_job(path)
        facts, _ = facts_of(knowledge, job)
        findings = evaluate_all(knowledge, facts.values)
        ready = prepare(knowledge, job, facts, findings, shop.prices, steps=False)
        estimated += ready.problem.estimated
        steps: dict[str, Callable[[], Any]] = {
            "assessment (rules, beliefs, decision)": lambda j=job: shop.assess(j, checks=False, flips=False),
            "ranking of every open check": lambda r=ready, j=job, f=facts, g=findings: (
                NextChecks(knowledge, j, f, g, r, shop.prices).ranking
            ),
            "assessment with its checks and where they lead": lambda j=job: shop.assess(j),
        }
        for name, step in steps.items():
            taken.setdefault(name, []).append(median_ms(step, 3))
    limits = {"assessment (rules, beliefs, decision)": "under 100", "ranking of every open check": "under 100"}
    for name, times in taken.items():
        times.sort()
        row(
            f"{name}, ms",
            statistics.median(times),
            f"9 in 10 {times[len(times) * 9 // 10]:.0f}, slowest {times[-1]:.0f}",
            limit=limits.get(name, ""),
        )
    print(f"  over {len(paths)} worked cases; in {estimated} the signs are too tangled for exact sums", flush=True)


def processes(times: int) -> None:
    """A whole `howdeep assess` process: first with an empty cache, then repeated."""
    with tempfile.TemporaryDirectory() as folder:
        # bytecode is kept as on any machine that does not forbid it, here in a folder of the benchmark's own
        env = {name: value for name, value in os.environ.items() if name != "PYTHONDONTWRITEBYTECODE"}
        env |= {"HOWDEEP_CACHE": folder, "PYTHONPYCACHEPREFIX": str(Path(folder) / "bytecode")}
        command = [sys.executable, "-c", "from howdeep.cli.main import main; main()", "assess", str(CASE)]

        def run() -> None:
            subprocess.run(command, env=env, stdout=subprocess.DEVNULL, check=True)

        start = time.perf_counter()
        run()
        row("whole `howdeep assess` process, first (all read and compiled), ms", 1000 * (time.perf_counter() - start))
        whole = median_ms(run, times)
        row("whole `howdeep assess` process, repeated, ms", whole, limit="under 600")
        for what, libraries in (("numpy alone", "import numpy"), ("the libraries it needs alone", LIBRARIES)):
            bare = [sys.executable, "-c", libraries]
            taken = median_ms(lambda bare=bare: subprocess.run(bare, check=True, env=env), times)
            row(f"  of which Python and {what}, ms", taken)
        row("  times the latter", whole / taken, limit="under 4")


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
        row(
            f"record: {scored.jobs} closed jobs read and scored, ms",
            1000 * (time.perf_counter() - start),
            limit="under 60000 for 10,000",
        )


def main() -> None:
    """Measure and print."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--quick", action="store_true", help="smaller sizes, for trying the script")
    options = parser.parse_args()
    from howdeep.assessment.facts import facts_of
    from howdeep.assessment.session import open_shop

    shop = open_shop(example_prices=True)
    job = shop.open_job(CASE)
    facts = facts_of(shop.knowledge, job)[0].values
    print(
        f"{datetime.date.today().isoformat()}, {platform.machine()}, {os.cpu_count()} cores, "
        f"Python {platform.python_version()}; medians; times on a shared machine are noisy, compare ratios\n"
    )
    print(f"{'what':<58} {'ours':>9}  {'beside':<28} {'ratio':<10} wanted")
    rules(shop.knowledge, facts, (1, 2) if options.quick else (1, 2, 5, 10))
    beliefs(
        ((20, 40, 6), (40, 80, 12))
        if options.quick
        else ((20, 40, 6), (40, 80, 8), (40, 80, 12), (40, 80, 16), (40, 80, 20), (80, 160, 20))
    )
    decision_of_a_middle_size()
    decisions(shop, 12 if options.quick else 1)
    processes(3 if options.quick else 9)
    page(shop, 5 if options.quick else 20, 3 if options.quick else 10)
    record(200 if options.quick else 10_000)


if __name__ == "__main__":
    main()
