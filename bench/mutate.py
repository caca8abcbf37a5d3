"""What the worked cases notice of a rule base changed in one place.

    python bench/mutate.py --sample 300 [--seed 1]     a sample, for every day
    python bench/mutate.py --whole [--workers 2]       every mutant
    python bench/mutate.py --sample 120 --claims --keep FILE [--minutes 7]
                                                       in pieces: verdicts are kept as they come, the next run goes on

A mutant is *killed* where some case no longer meets its expectations, or no longer gives the figures that are kept
beside it; with --claims the expectations alone count. It *can matter* where it is killed, or where what
a customer is told changes in a case or in a job near one (a third of the answers left out, one answered otherwise). The
share killed is of those that can matter; the others change nothing that was seen. Survivors are listed; survivors.yaml
keeps the reason for those that are let stand. Also told: which cases hang by one frequency word.
"""

from __future__ import annotations

import argparse
import dataclasses
import fnmatch
import json
import multiprocessing
import os
import random
import sys
import time
from collections import Counter
from dataclasses import dataclass
from pathlib import Path

from mutants import Mutant, mutants
from probes import Probe, answer_of, failures, probes_of, seen, share_work

from howdeep.assessment.session import Shop, open_shop
from howdeep.cases.figures import read_figures
from howdeep.cases.run import run_case
from howdeep.errors import HowdeepError
from howdeep.files.strict_yaml import read
from howdeep.knowledge.where import shipped_cases

REASONS = Path(__file__).with_name("survivors.yaml")
WANTED = 0.95
WANTED_OF_CLAIMS = 0.7


@dataclass(frozen=True, slots=True)
class Verdict:
    """What became of one mutant."""

    mutant: str
    kind: str
    killed_by: str
    """The first case that fails; empty where none does."""
    changes: str
    """For a survivor: the first job whose answer changes; empty where none does."""
    flips: tuple[str, ...]
    """For a frequency word: cases whose leading cause or scope changes."""


class Bench:
    """The rule base, the cases and the jobs near them, ready for mutants."""

    def __init__(self, shop: Shop, cases: Path, near: int, seed: int, *, claims: bool = False):
        self.shop, self.claims = shop, claims
        self.kept = {} if claims else read_figures(cases)
        self.cases, self.near = probes_of(shop, cases, near, seed)
        self.order = {probe.name: number for number, probe in enumerate(self.cases)}

    def check(self) -> list[str]:
        """Cases that fail already, or that this bench judges otherwise than `howdeep cases` does."""
        faults = []
        for probe in self.cases:
            mine = failures(self.shop, probe, probe.answer, self.shop.knowledge, self.kept)
            result = run_case(self.shop, Path(probe.job.path), self.kept)
            theirs = [*result.failures, *([result.moved] if result.moved else [])]
            if mine or theirs:
                faults.append(f"{probe.name}: {'; '.join(theirs) or 'holds, but not here: ' + '; '.join(mine)}")
        return faults

    def try_one(self, mutant: Mutant) -> Verdict:
        """Try one mutant on the cases, and where none notices, on the jobs near them."""
        changed = mutant.make(self.shop.knowledge)
        share_work(self.shop.knowledge, changed, mutant)
        changes, flips, killed_by = "", [], ""
        for probe in sorted(self.cases, key=lambda item: (not _speaks_of(item, mutant), self.order[item.name])):
            before, after, failed = self._one(probe, mutant, changed)
            if failed and not killed_by:
                killed_by = probe.name
            if after is not None and before != after:
                changes = changes or probe.name
                if before[:2] != after[:2]:
                    flips.append(probe.name)
            if killed_by and (self.claims or mutant.kind != "word"):
                break
        if killed_by:
            self.order[killed_by] -= len(self.order)  # a case that killed once is tried first the next time
            changes = ""
        elif not changes:
            changes = next((probe.name for probe in self.near if self._differs(probe, mutant, changed)), "")
        return Verdict(mutant.id, mutant.kind, killed_by, changes, tuple(flips) if mutant.kind == "word" else ())

    def _one(self, probe: Probe, mutant: Mutant, changed):
        before = seen(probe.answer)
        try:
            answer = answer_of(self.shop, probe, mutant, changed)
            if answer is None and not probe.ranks_checks:
                return before, None, False
            failed = bool(failures(self.shop, probe, answer or probe.answer, changed, self.kept))
            return before, seen(answer) if answer else None, failed
        except HowdeepError:  # refused with a clear message: noticed
            return before, None, True

    def _differs(self, probe: Probe, mutant: Mutant, changed) -> bool:
        try:
            answer = answer_of(self.shop, probe, mutant, changed)
        except HowdeepError:
            return True
        return answer is not None and seen(answer) != seen(probe.answer)


def _speaks_of(probe: Probe, mutant: Mutant) -> bool:
    """Whether a case expects something of the finding that is changed: such cases are tried first."""
    expect = probe.expect
    return expect is not None and mutant.finding in {*expect.speaks_for, *expect.speaks_rather_for, *expect.present}


_bench: Bench | None = None


def _try(mutant_number: int) -> Verdict:
    assert _bench is not None
    return _bench.try_one(_all[mutant_number])


_all: list[Mutant] = []


def reasons() -> dict[str, str]:
    """Pattern of mutants (as for file names) -> why they are let survive."""
    return dict(read(REASONS).value or {})


def reason_for(mutant: str, why: dict[str, str]) -> str:
    """The reason kept for a mutant; empty where none is."""
    return next((text for pattern, text in why.items() if fnmatch.fnmatchcase(mutant, pattern.replace("[", "[[]"))), "")


def main() -> int:
    global _bench, _all
    parser = argparse.ArgumentParser(description=__doc__.split("\n")[0])
    parser.add_argument("--sample", type=int, default=200, metavar="N", help="so many mutants, drawn at random")
    parser.add_argument("--whole", action="store_true", help="every mutant")
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--near", type=int, default=2, help="jobs near each case")
    parser.add_argument("--workers", type=int, default=1)
    parser.add_argument("--kind", default="", help="only this kind of mutant, e.g. threshold")
    parser.add_argument("--cases", type=Path, default=None, help="folder of cases; else the shipped ones")
    parser.add_argument("--claims", action="store_true", help="leave the kept figures aside")
    parser.add_argument(
        "--only", type=Path, default=None, metavar="FILE", help="only the mutants named in a file, one a line"
    )
    parser.add_argument(
        "--keep", type=Path, default=None, metavar="FILE", help="verdicts as they come, a line each; goes on from there"
    )
    parser.add_argument("--minutes", type=float, default=0.0, help="with --keep: no mutant is begun after so many")
    parser.add_argument("--survivors", type=int, default=40, help="most survivors listed")
    options = parser.parse_args()
    started = time.perf_counter()
    shop = open_shop(None, None, None, example_prices=True)
    _bench = Bench(shop, options.cases or shipped_cases(), options.near, options.seed, claims=options.claims)
    before = _kept_verdicts(options.keep)
    faults = [] if before else _bench.check()
    if faults:
        print("\n".join(["mutants are told from a sound rule base by cases that hold; these do not:", *faults]))
        return 1
    known = list(mutants(shop.knowledge))
    _all = [mutant for mutant in known if not options.kind or mutant.kind == options.kind]
    if options.only is not None:
        named = set(options.only.read_text(encoding="utf-8").splitlines())
        _all = [mutant for mutant in _all if mutant.id in named]
    elif not options.whole:
        _all = random.Random(options.seed).sample(_all, min(options.sample, len(_all)))
    if options.keep is None:
        verdicts = _run(options.workers)
    else:
        verdicts = _go_on(options.keep, before, started + 60 * options.minutes if options.minutes else 0.0)
    return report(verdicts, len(known), len(_bench.cases), len(_bench.near), options, time.perf_counter() - started)


def _run(workers: int) -> list[Verdict]:
    numbers = range(len(_all))
    if workers <= 1 or not hasattr(os, "fork"):
        return [_try(number) for number in numbers]
    with multiprocessing.get_context("fork").Pool(workers) as pool:
        return pool.map(_try, numbers, chunksize=max(1, len(_all) // (workers * 20)))


def _kept_verdicts(keep: Path | None) -> dict[str, Verdict]:
    """Mutant -> verdict of earlier runs; empty where none are kept."""
    if keep is None or not keep.exists():
        return {}
    lines = (json.loads(line) for line in keep.read_text(encoding="utf-8").splitlines())
    return {line["mutant"]: Verdict(**{**line, "flips": tuple(line["flips"])}) for line in lines}


def _go_on(keep: Path, before: dict[str, Verdict], until: float) -> list[Verdict]:
    """Verdicts of the mutants tried so far, in their order; `until` (seconds of the run's clock) 0 for no end."""
    verdicts = []
    for number, mutant in enumerate(_all):
        verdict = before.get(mutant.id)
        if verdict is None:
            if until and time.perf_counter() > until:
                continue
            verdict = _try(number)
            with keep.open("a", encoding="utf-8") as file:
                file.write(json.dumps(dataclasses.asdict(verdict)) + "\n")
        verdicts.append(verdict)
    return verdicts


def report(
    verdicts: list[Verdict], known: int, cases: int, near: int, options: argparse.Namespace, seconds: float
) -> int:
    """Print what became of the mutants; 1 where fewer than wanted are killed and not excused."""
    why = reasons()
    killed = [item for item in verdicts if item.killed_by]
    survivors = [item for item in verdicts if not item.killed_by and item.changes]
    matter = len(killed) + len(survivors)
    wanted = WANTED_OF_CLAIMS if options.claims else WANTED
    left = f"; {len(_all) - len(verdicts)} not tried yet" if len(verdicts) < len(_all) else ""
    which = "all" if options.whole and not options.kind else f"{len(verdicts)} of"
    print(
        f"mutants      {which} {known:,}, {cases} cases, {near} jobs near them, seed {options.seed}; "
        f"{seconds:.0f} s{left}"
    )
    print(f"             {matter} can matter, {len(verdicts) - matter} change nothing that was seen")
    share = len(killed) / matter if matter else 1.0
    told = sum(bool(reason_for(item.mutant, why)) for item in survivors)
    print(
        f"             {len(killed)} killed, {len(survivors)} survive ({told} for a reason that is kept): "
        f"{100 * share:.1f} % killed (wanted {100 * wanted:.0f} %)"
    )
    by_kind = Counter(item.kind for item in verdicts)
    for kind, total in sorted(by_kind.items()):
        dead = sum(item.kind == kind for item in killed)
        left = sum(item.kind == kind for item in survivors)
        print(f"             {kind:22} {total:5} tried, {dead:5} killed, {left:4} survive")
    for item in survivors[: options.survivors]:
        reason = reason_for(item.mutant, why)
        print(
            f"survivor     {item.mutant}\n             changes {item.changes}; "
            f"{'why: ' + reason if reason else 'no reason is kept'}"
        )
    if len(survivors) > options.survivors:
        print(f"             ... and {len(survivors) - options.survivors} more")
    if options.claims:  # the rest is told from every case
        return 0 if share >= wanted else 1
    flips = Counter(case for item in verdicts for case in item.flips)
    words = sum(item.kind == "word" for item in verdicts)
    print(
        f"one word     {sum(bool(item.flips) for item in verdicts)} of {words} one-step words turn the leading cause "
        f"or scope of a case"
    )
    for case, number in flips.most_common(5):
        print(f"             {number:4}  {case}")
    return 0 if share >= wanted else 1


if __name__ == "__main__":
    sys.exit(main())
