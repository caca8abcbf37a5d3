"""Published troubleshooting entries as jobs: does the rule base come to the printed causes, remedies and tests?

    python bench/handbooks.py [--misses] [--reach] [--json] [--keep] [--only TEXT]

Each entry of cases/handbooks is laid on an engine sheet and asked in two series: *bare*, the complaint and the sign
alone, and *full*, with every other question of the counter answered "nothing wrong". The first check is asked before
the printed tests were made, and only where the work prints tests that are made before opening and something is noticed
without them.

Shares are printed over the entries that can be held against the rule base (everything they say can be said, and a
printed cause is known), and over all, where what cannot be said or is not known counts as missed. --keep writes the
shares as lower bounds that the tests hold.
"""

from __future__ import annotations

import argparse
import json
import math
import sys
from collections.abc import Iterable, Sequence
from dataclasses import asdict, dataclass
from pathlib import Path

from howdeep.assessment.session import Shop, open_shop
from howdeep.casebook.entries import Entry
from howdeep.casebook.read import SHARES, read_handbooks
from howdeep.files.strict_yaml import read
from howdeep.knowledge.where import shipped_handbooks
from howdeep.model.job import OpenJob
from howdeep.model.knowledge import Knowledge

sys.path.insert(0, str(Path(__file__).parent))
import reach
from sound import interviewed, without

SERIES = ("bare", "full")
KINDS = ("first", "three", "remedy", "check")
WANTED = {"bare": (0.90, 0.97, 0.90, 0.80), "full": (0.80, 0.90, 0.80, 0.70)}
"""What is wanted in the end; the tests hold the kept shares."""


@dataclass(frozen=True, slots=True)
class Told:
    """What the program answers, as far as it is scored."""

    causes: tuple[tuple[str, float], ...]
    """(cause, odds), in the order shown."""
    scope: str
    work: frozenset[str]
    """Operations recommended, without allowances."""
    check: tuple[str, tuple[str, ...]] | None
    """(check, its observations) of the first check of the bench; None where none is offered or asked for."""
    noticed: bool
    """Whether anything was noticed at all."""


@dataclass(frozen=True, slots=True)
class Score:
    """How one entry went in one series; None where a question was not asked of it."""

    entry: str
    series: str
    held: bool
    """Whether all it says can be said, and a printed cause is known."""
    first: bool
    three: bool
    remedy: bool | None
    check: bool | None
    told: Told
    first_check: str


def ask(shop: Shop, job: OpenJob, *, checks: bool) -> Told:
    """The one place that knows the shape of an answer."""
    answer = shop.assess(job, checks=checks, flips=False)
    work = answer.works[answer.decision.job]
    best = next((item for item in answer.checks if item.moment == "test"), None)
    return Told(
        tuple((item.cause, item.hand) for item in answer.beliefs),
        answer.decision.job,
        frozenset(item.operation for item in work.items if not item.if_found),
        (best.check, best.observations) if best is not None else None,
        bool(answer.counted.present),
    )


def score(shop: Shop, entry: Entry, series: str) -> Score:
    """One entry in one series."""
    base, printed = shop.knowledge, entry.printed
    job = entry.job if series == "bare" else interviewed(base, entry.job)
    told = ask(shop, job, checks=False)
    order = [name for name, _ in told.causes]
    known = set(printed.causes)
    remedies = set(printed.remedy) or {name for cause in known for name in base.causes[cause].cured_by}
    tests = bench_tests(base, printed.tests)
    check, name = None, ""
    if tests:
        observations = {item for test in tests for item in observations_of(base, test)}
        asked = ask(shop, without(base, job, observations), checks=True)
        best = asked.check
        name = best[0] if best else ""
        if asked.noticed:
            check = best is not None and (best[0] in tests or bool(observations & set(best[1])))
    return Score(
        entry.name,
        series,
        bool(known) and not printed.unsayable,
        order[0] in known,
        bool(known & set(order[:3])),
        bool(remedies & told.work) if remedies else None,
        check,
        told,
        name,
    )


def bench_tests(base: Knowledge, tests: Iterable[str]) -> tuple[str, ...]:
    """Those of the printed tests that are made at the bench, before anything is opened."""
    return tuple(name for name in tests if name in base.checks or base.observations[name].moment == "test")


def observations_of(base: Knowledge, test: str) -> tuple[str, ...]:
    """What a check or an observation observes."""
    return base.checks[test].observations if test in base.checks else (test,)


def scores_of(shop: Shop, entries: Sequence[Entry]) -> tuple[Score, ...]:
    """Every entry that makes a job, in both series."""
    return tuple(score(shop, entry, series) for entry in entries if entry.job is not None for series in SERIES)


def counts_of(entries: Sequence[Entry], scores: Sequence[Score]) -> dict[str, tuple[int, int]]:
    """Name of a share -> (how many, of how many)."""
    asked = [entry.printed for entry in entries if entry.job is not None]
    known = sum(len(item.causes) for item in asked)
    counts = {
        "known": (known, known + sum(len(item.unknown_causes) for item in asked)),
        "sayable": (sum(not item.unsayable for item in asked), len(asked)),
    }
    for series in SERIES:
        mine = [item for item in scores if item.series == series]
        for kind in KINDS:
            every = [item for item in mine if kind != "check" or item.check is not None]
            held = [getattr(item, kind) for item in every if item.held and getattr(item, kind) is not None]
            counts[f"{series}_{kind}"] = (sum(held), len(held))
            good = sum(bool(getattr(item, kind)) and item.held for item in every)
            counts[f"{series}_{kind}_of_all"] = (good, len(every))
    return counts


def sample_of(entries: Sequence[Entry]) -> tuple[Entry, ...]:
    """The fixed part of the entries that the tests ask: every fifth that makes a job."""
    return tuple(entry for entry in entries if entry.job is not None)[::5]


def share(count: tuple[int, int]) -> float:
    """A count as a share, 0 to 1."""
    return count[0] / count[1] if count[1] else 1.0


def kept_shares(part: str) -> dict[str, float]:
    """Share -> lower bound kept beside the handbooks, of the 'whole' or of the 'sample'."""
    return dict(read(shipped_handbooks() / SHARES).value[part])


def keep(entries: Sequence[Entry], scores: Sequence[Score]) -> Path:
    """Write the shares as lower bounds, rounded down, of all entries and of the sample."""
    path, sample = shipped_handbooks() / SHARES, sample_of(entries)
    names = {entry.name for entry in sample}
    lines = [
        "# Written by bench/handbooks.py --keep: no share may fall below these. The tests ask the sample.",
        "howdeep_handbook_shares: 1",
    ]
    for part, counts in (
        ("whole", counts_of(entries, scores)),
        ("sample", counts_of(sample, [item for item in scores if item.entry in names])),
    ):
        lines += [f"{part}:", *(f"  {name}: {floor(share(count)):.3f}" for name, count in counts.items())]
    path.write_text("\n".join(lines) + "\n", encoding="utf-8")
    return path


def fallen(counts: dict[str, tuple[int, int]], kept: dict[str, float]) -> Iterable[str]:
    """Every share below the one that is kept."""
    for name, bound in kept.items():
        if name not in counts or share(counts[name]) < bound:
            good, of = counts.get(name, (0, 0))
            yield f"{name}: {good} of {of}, {share((good, of)):.3f}; kept {bound:.3f}"


def floor(part: float) -> float:
    """Rounded down to a thousandth."""
    return math.floor(1000 * part) / 1000


def table(counts: dict[str, tuple[int, int]]) -> Iterable[str]:
    """The shares in lines."""
    for name, text in (
        ("known", "printed causes that the rule base has"),
        ("sayable", "entries that can be said whole"),
    ):
        good, of = counts[name]
        yield f"{text:50} {100 * share(counts[name]):5.1f} %  {good} of {of}"
    words = {
        "first": "printed cause first",
        "three": "printed cause in the first three",
        "remedy": "printed remedy in the recommended work",
        "check": "first check among the printed tests",
    }
    for series in SERIES:
        yield f"\n{series.upper():38} known and sayable      of all   wanted"
        for kind, wanted in zip(KINDS, WANTED[series], strict=True):
            held, every = counts[f"{series}_{kind}"], counts[f"{series}_{kind}_of_all"]
            told = f"{held[0]}/{held[1]}"
            yield (
                f"{words[kind]:39} {100 * share(held):5.1f} % {told:>8} {100 * share(every):8.1f} % "
                f"{100 * wanted:5.0f} %"
            )


def misses(entries: Sequence[Entry], scores: Sequence[Score]) -> Iterable[str]:
    """What went otherwise than printed, entry by entry."""
    printed = {entry.name: entry.printed for entry in entries}
    for item in scores:
        lost = [kind for kind in KINDS if getattr(item, kind) is False]
        if not lost or not item.held:
            continue
        entry = printed[item.entry]
        yield f"\n{item.entry} [{item.series}] {entry.title}"
        yield f"  not: {', '.join(lost)}"
        yield f"  printed: {', '.join(entry.causes)}" + (f"; remedy {', '.join(entry.remedy)}" if entry.remedy else "")
        yield "  came: " + ", ".join(f"{name} {odds:.2f}" for name, odds in item.told.causes[:4])
        yield f"  recommended {item.told.scope}: {', '.join(sorted(item.told.work)) or 'nothing'}"
        if item.check is False:
            yield f"  first check: {item.first_check or 'none'}; printed {', '.join(entry.tests)}"


def reachable(base: Knowledge, entries: Sequence[Entry], scores: Sequence[Score]) -> Iterable[str]:
    """What bounds the printed cause first, in lines: the program's own odds, and entries that contradict each other."""
    printed = {entry.name: len(entry.printed.causes) + len(entry.printed.unknown_causes) for entry in entries}
    rows = [(item.series, item.first, item.told.causes, printed[item.entry]) for item in scores if item.held]
    groups = {name: item.group for name, item in base.observations.items()}
    return reach.lines(reach.stated(rows), reach.disagreements(entries, groups))


def as_json(counts: dict[str, tuple[int, int]], scores: Sequence[Score]) -> str:
    """The same as JSON."""
    rows = [
        {
            **asdict(item),
            "told": {
                "causes": [list(pair) for pair in item.told.causes[:5]],
                "scope": item.told.scope,
                "work": sorted(item.told.work),
            },
        }
        for item in scores
    ]
    shares = {name: {"share": share(count), "count": count[0], "of": count[1]} for name, count in counts.items()}
    return json.dumps({"howdeep_handbooks": 1, "shares": shares, "entries": rows}, indent=1)


def main() -> int:
    parser = argparse.ArgumentParser(description=__doc__.split("\n")[0])
    parser.add_argument("--misses", action="store_true", help="name every entry that went otherwise")
    parser.add_argument("--reach", action="store_true", help="how often the printed cause could come first at all")
    parser.add_argument("--json", action="store_true", help="shares and entries as JSON")
    parser.add_argument("--keep", action="store_true", help="keep the shares as lower bounds")
    parser.add_argument("--only", default="", help="only entries whose name (work/entry) holds this text")
    options = parser.parse_args()
    if options.keep and options.only:
        parser.error("--keep keeps the shares of all entries; leave out --only")
    shop = open_shop(None, None, None, example_prices=True)
    entries = [
        entry
        for entry in read_handbooks(shipped_handbooks(), shop.knowledge, shop.folders)
        if options.only in entry.name
    ]
    scores = scores_of(shop, entries)
    counts = counts_of(entries, scores)
    if options.json:
        print(as_json(counts, scores))
    else:
        works = len({entry.work for entry in entries})
        print(f"{len(entries)} entries of {works} works, {sum(entry.job is not None for entry in entries)} make a job.")
        print("\n".join([*table(counts), *(misses(entries, scores) if options.misses else ())]))
    if options.reach:
        print("\n".join(["", *reachable(shop.knowledge, entries, scores)]))
    if options.keep:
        print(f"kept in {keep(entries, scores)}", file=sys.stderr)
    lost = [] if options.only else list(fallen(counts, kept_shares("whole")))
    for line in lost:
        print(f"fallen: {line}", file=sys.stderr)
    return 1 if lost else 0


if __name__ == "__main__":
    sys.exit(main())
