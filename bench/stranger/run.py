"""Made-up engines by a stranger's model: what each rule loses against someone who knows every fault.

    python bench/stranger/run.py [--engines 1500] [--seed 1] [--workers 1] [--minutes 20] [--policies quick|all]
                                 [--keep FILE] [--story NUMBER]

Faults, signs and bills follow this folder's own model (`faults.py`, `running.py`, `signs.py`, `shop.py`), not the odds
of the rule base; all of it is invented, prices are the example list's. Every policy meets the same engines, the same
owners and the same throws of the dice, so the differences between policies are surer than the losses themselves.
It says how a rule fares in one stranger's world; it is no evidence about real engines. An engine costs some seconds
with `--policies all`; `--keep` keeps each engine as it comes and goes on from what is kept.
"""

from __future__ import annotations

import argparse
import multiprocessing
import pickle
import sys
import time
from collections.abc import Iterator
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

import numpy as np

sys.path.insert(0, str(Path(__file__).resolve().parents[1]))

from howdeep.assessment.session import Shop, open_shop
from howdeep.knowledge.engines import find, load_engine
from howdeep.model.terms import RUNGS
from stranger import landed
from stranger.actions import Action, Case, Do, Policy, Stated
from stranger.current import Asked, Current, LikeliestHere, LookFirst
from stranger.policies import Additive, AlwaysRefresh, FirstSufficient, LandedRule, Likeliest, Oracle, Reference
from stranger.shop import Bill, enough_of, faults_behind, oracle, price_of, run
from stranger.tree import Tree
from stranger.works import TOP_END, works_of
from stranger.world import SHEETS, World, make

LANDED = "landed, one shot"
WHOLE = "this program, checks and look inside"
ANEW = "the same, asked again after each check"
THERE = 0.2
"""Severity from which a fault counts as there when stated odds are held against the truth."""
BANDS = 10


@dataclass(frozen=True, slots=True)
class Row:
    """One engine under every policy."""

    number: int
    loss: tuple[float, ...]
    bills: tuple[Bill, ...]
    need: int
    """How deep it has to be opened."""
    known: int
    """How deep the oracle's own job goes."""
    cost: float
    """What the oracle pays."""
    behind: frozenset[str]
    """The faults behind the trouble."""
    enough: tuple[bool, ...]
    there: frozenset[str]


@dataclass(frozen=True, slots=True)
class Bench:
    """Everything that is made once for each worker."""

    shop: Shop
    works: dict[str, Any]
    reference: Reference
    asked: Asked
    which: str


def bench_of(which: str) -> Bench:
    """Rule base, price list and sheets."""
    shop = open_shop(None, None, None, example_prices=True)
    works = {
        name: works_of(shop.knowledge, load_engine(find(name, shop.folders)), name, shop.prices) for name in SHEETS
    }
    return Bench(shop, works, Reference(shop.folders, landed.kept_tables()), Asked(shop), which)


def policies_of(bench: Bench, world: World) -> tuple[Policy, ...]:
    """Every rule under trial."""
    rule = LandedRule(bench.reference)
    quick: list[Any] = [
        rule,
        LookFirst(rule, "landed, look before refresh"),
        Likeliest(bench.reference),
        Additive(bench.reference),
        AlwaysRefresh(bench.reference),
        FirstSufficient(bench.reference),
        Tree(),
        LikeliestHere(bench.asked),
        Current(bench.asked),
        Current(bench.asked, looks=True, name="this program, look inside"),
    ]
    if bench.which == "all":
        whole = Current(bench.asked, checks=True, looks=True, name=WHOLE)
        quick += [
            Current(bench.asked, checks=True, name="this program, its checks first"),
            whole,
            Current(bench.asked, checks=True, looks=True, anew=True, name=ANEW),
            LookFirst(whole, "the same, nothing deep sold unseen"),
        ]
    return (*quick, Oracle(world, packages=True, name="oracle, whole packages only"), Oracle(world))


def row_of(bench: Bench, seed: int, number: int) -> Row:
    """One engine through every policy."""
    world = make(bench.works, seed, number)
    known = oracle(world)
    bills = tuple(run(world, policy) for policy in policies_of(bench, world))
    need = max((world.works.need[name] for name in faults_behind(world)), default=0)
    return Row(
        number,
        tuple(bill.cost - known.cost for bill in bills),
        bills,
        need,
        known.depth,
        known.cost,
        known.behind,
        enough_of(world),
        frozenset(name for name, much in world.faults.items() if much >= THERE),
    )


_BENCH: Bench | None = None


def _begin(which: str) -> None:
    global _BENCH
    _BENCH = bench_of(which)


def _one(job: tuple[int, int]) -> Row:
    assert _BENCH is not None
    return row_of(_BENCH, *job)


def rows_of(engines: range, seed: int, workers: int, minutes: float, which: str) -> Iterator[Row]:
    """Rows in order of number, until the time is up."""
    end = time.monotonic() + 60 * minutes
    jobs = [(seed, number) for number in engines]
    if workers <= 1:
        _begin(which)
        source = map(_one, jobs)
        for row in source:
            yield row
            if time.monotonic() > end:
                return
        return
    with multiprocessing.get_context("spawn").Pool(workers, _begin, (which,)) as pool:
        for row in pool.imap(_one, jobs, chunksize=2):
            yield row
            if time.monotonic() > end:
                pool.terminate()
                return


def main() -> None:
    options = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    options.add_argument("--engines", type=int, default=1500, help="how many engines (default 1500)")
    options.add_argument("--seed", type=int, default=1, help="seed of the draws (default 1)")
    options.add_argument("--workers", type=int, default=1, help="processes (default 1)")
    options.add_argument("--minutes", type=float, default=20.0, help="stop after this long and report (default 20)")
    options.add_argument(
        "--policies",
        choices=("quick", "all"),
        default="quick",
        help="'all' also makes the program's checks, which takes several times as long",
    )
    options.add_argument("--keep", type=Path, help="keep each engine in this file, and go on from what it holds")
    options.add_argument("--story", type=int, help="tell what each policy does with this engine, and no more")
    chosen = options.parse_args()
    start = time.monotonic()
    bench = bench_of(chosen.policies)
    if chosen.story is not None:
        print(story(bench, chosen.seed, chosen.story))
        return
    names = [policy.name for policy in policies_of(bench, make(bench.works, chosen.seed, 0))]
    rows = kept_in(chosen.keep, chosen.seed, names)
    for row in rows_of(range(len(rows), chosen.engines), chosen.seed, chosen.workers, chosen.minutes, chosen.policies):
        rows.append(row)
        if chosen.keep:
            with chosen.keep.open("ab") as file:
                pickle.dump(row, file)
        if sys.stderr.isatty():
            print(f"\r{len(rows)} engines", end="", file=sys.stderr, flush=True)
    print(report(rows, names, time.monotonic() - start, chosen.seed))


def kept_in(path: Path | None, seed: int, names: list[str]) -> list[Row]:
    """The rows of an earlier run with the same seed and policies; the file is begun where there is none."""
    if path is None:
        return []
    if not path.exists():
        path.write_bytes(pickle.dumps((seed, names)))
    rows = []
    with path.open("rb") as file:
        if pickle.load(file) != (seed, names):
            raise SystemExit(f"{path} was kept with another seed or other policies")
        while file.peek(1):
            rows.append(pickle.load(file))
    return rows


@dataclass
class Recorded:
    """A policy whose actions are written down."""

    inner: Policy
    lines: list[str] = field(default_factory=list)

    @property
    def name(self) -> str:
        return self.inner.name

    def act(self, case: Case) -> Action:
        action = self.inner.act(case)
        words = str(action)
        if isinstance(action, Do):
            said = (
                action.stated.chosen
                if action.stated.chosen is not None
                else (action.stated.enough[action.depth] if action.stated.enough else float("nan"))
            )
            words = (
                f"do {RUNGS[action.depth]}{'' if action.whole else ' only'} at "
                f"{price_of(case.works, case, action):.0f}, said enough {said:.2f}; suspects "
                + ", ".join(f"{name} {action.stated.causes[name]:.2f}" for name in ranked_of(action.stated)[:5])
            )
        self.lines.append(f"    {words}")
        return action


def story(bench: Bench, seed: int, number: int) -> str:
    """One engine: its faults, its owner's words, and what each policy does."""
    world = make(bench.works, seed, number)
    known = oracle(world)
    out = [
        f"Engine {number}, {world.works.sheet}, worth {world.value_running:.0f}; stopping costs "
        f"{world.stopping_costs:.0f}",
        "faults: "
        + ", ".join(
            f"{name} {much:.2f}{'*' if name in known.behind else ''} ({world.works.need[name]})"
            for name, much in sorted(world.faults.items(), key=lambda item: -item[1])
        ),
        "troubles: " + ", ".join(sorted(world.troubles())),
        f"told: {world.answers(world.asked)}",
        f"oracle: {'stops' if known.stops else RUNGS[known.depth]} at {known.cost:.0f}",
    ]
    for policy in policies_of(bench, world)[:-2]:  # the oracles have no story
        recorded = Recorded(policy)
        bill = run(world, recorded)
        out += [
            f"{policy.name}: loss {bill.cost - known.cost:.0f}, {bill.comebacks} comebacks, {bill.bench_failures} "
            f"bench failures{', stopped' if bill.stopped else ''}",
            *recorded.lines,
        ]
    return "\n".join(out)


def ranked_of(stated: Stated) -> list[str]:
    """Causes as the rule ranks them, the likeliest first."""
    return list(stated.ranked) or sorted(stated.causes, key=lambda name: (-stated.causes[name], name))


def report(rows: list[Row], names: list[str], seconds: float, seed: int) -> str:
    """The tables as text."""
    loss = np.array([row.loss for row in rows])
    root = np.sqrt(len(rows))
    bases = [names.index(LANDED), names.index(WHOLE) if WHOLE in names else names.index("this program, one shot")]
    out = [
        f"{len(rows)} made-up engines by a stranger's model, seed {seed} ({seconds:.0f} s). All of it is invented.",
        "Depth that the trouble needs: "
        + ", ".join(
            f"{word} {np.mean([row.need == depth for row in rows]):.0%}"
            for depth, word in enumerate(("outside", "tune-up", "top end", "refresh", "rebuild", "replace"))
        ),
        "",
        "Loss against someone who knows every fault, mean (standard error); difference to the landed rule and to",
        "this program with checks and look, engine by engine; share of jobs that came back, that failed on the",
        "bench first, that opened the engine for nothing, or deeper than the trouble needs; money for work that",
        "cured nothing; stopped; checks and looks an engine.",
        "",
        f"{'':<38}{'loss':>13}{'to landed':>13}{'to program':>13}{'came back':>10}{'bench':>7}{'strips':>7}"
        f"{'deeper':>7}{'not needed':>11}{'stop':>6}{'checks':>7}{'looks':>6}",
    ]
    for number, name in enumerate(names):
        bills = [row.bills[number] for row in rows]
        apart = [loss[:, number] - loss[:, base] for base in bases]
        out.append(
            f"{name:<38}{loss[:, number].mean():>7.0f} ({loss[:, number].std() / root:>3.0f})"
            + "".join(f"{part.mean():>+7.0f} ({part.std() / root:>3.0f})" for part in apart)
            + f"{np.mean([bill.comebacks > 0 for bill in bills]):>10.1%}"
            f"{np.mean([bill.bench_failures > 0 for bill in bills]):>7.1%}"
            f"{np.mean([bill.opened >= TOP_END > row.need for bill, row in zip(bills, rows, strict=True)]):>7.1%}"
            f"{np.mean([deeper(bill, row) for bill, row in zip(bills, rows, strict=True)]):>7.1%}"
            f"{np.mean([max(0.0, bill.work - bill.wanted) for bill in bills]):>11.0f}"
            f"{np.mean([bill.stopped for bill in bills]):>6.0%}{np.mean([bill.checks for bill in bills]):>7.2f}"
            f"{np.mean([bill.looks for bill in bills]):>6.2f}"
        )
    out += ["", "Stated chance that a depth is enough, at the first job: said -> was so (how many), by tenths; Brier"]
    for number, name in enumerate(names):
        said, true = [], []
        chosen_said, chosen_true = [], []
        brought_said, brought_true = [], []
        for row in rows:
            stated = row.bills[number].stated.enough
            said += stated[:5]
            true += row.enough[:5] if stated else ()
            if stated:
                bill = row.bills[number]
                own = bill.stated.chosen
                chosen_said.append(stated[bill.promised] if own is None else own)
                chosen_true.append(bill.was_enough)
                if bill.stated.came_for is not None:
                    brought_said.append(bill.stated.came_for)
                    brought_true.append(bill.was_enough)
        if said:
            out += [
                f"{name}: of every depth but replace, Brier {brier(said, true):.3f}",
                *reliability(said, true),
                f"{name}: of the job chosen, Brier {brier(chosen_said, chosen_true):.3f}",
                *reliability(chosen_said, chosen_true),
            ]
        if brought_said:
            out += [
                f"{name}: that what it was brought in for goes away, Brier {brier(brought_said, brought_true):.3f}",
                *reliability(brought_said, brought_true),
            ]
    out += ["", "Stated odds of causes, at the first job: said -> was there (how many), by tenths; Brier score"]
    for number, name in enumerate(names):
        said, true = [], []
        for row in rows:
            for cause, chance in row.bills[number].stated.causes.items():
                said.append(chance)
                true.append(cause in row.there)
        if said:
            out += [f"{name}: Brier {brier(said, true):.4f}", *reliability(said, true)]
    out += ["", "Of the jobs begun: a fault behind the trouble ranked first, one among the first three"]
    for number, name in enumerate(names):
        ranks = [
            (ranked_of(row.bills[number].stated)[:3], row.behind) for row in rows if row.bills[number].stated.causes
        ]
        if ranks:
            out.append(
                f"    {name:<38}{np.mean([three[0] in behind for three, behind in ranks]):>6.0%}"
                f"{np.mean([bool(behind & set(three)) for three, behind in ranks]):>6.0%} of {len(ranks)}"
            )
    return "\n".join(out)


def deeper(bill: Bill, row: Row) -> bool:
    """Whether the engine was opened deeper than its trouble or what then lay open needed."""
    return bill.opened >= TOP_END and bill.opened > max(row.need, row.known)


def brier(said: list[float], true: list[bool]) -> float:
    """Mean squared error of stated chances."""
    return float(np.mean((np.array(said) - np.array(true)) ** 2))


def reliability(said: list[float], true: list[bool]) -> list[str]:
    """Lines 'said -> was so (how many)' for each tenth in use, five on a line."""
    chances, truth = np.array(said), np.array(true, dtype=float)
    band = np.minimum((chances * BANDS).astype(int), BANDS - 1)
    cells = [
        f"{chances[band == tenth].mean():.2f} -> {truth[band == tenth].mean():.2f} ({(band == tenth).sum()})"
        for tenth in range(BANDS)
        if (band == tenth).any()
    ]
    return ["    " + "  ".join(cells[start : start + 5]) for start in range(0, len(cells), 5)]


if __name__ == "__main__":
    main()
