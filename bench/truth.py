"""How far the rule base has been proved: `make truth` prints the numbers.

    python bench/truth.py [--quick] [--mutants 300] [--jobs 1000000]

--quick leaves out the published entries, the coverage of the space and the mutants, which take some minutes.
"""

from __future__ import annotations

import argparse
import subprocess
import sys
import typing
from collections import Counter
from collections.abc import Iterator
from pathlib import Path

from howdeep.assessment.session import Shop, open_shop
from howdeep.cases.run import case_files, run_folder
from howdeep.knowledge.frequencies import KINDS_OF_WORD, tallies
from howdeep.knowledge.where import shipped_cases
from howdeep.model.terms import Standing
from howdeep.rulebook.statements import by_standing, statements, works_named
from howdeep.rulecheck.casework import case_runs
from howdeep.rulecheck.run import BY_CODE, run
from howdeep.rulecheck.subject import Subject, read_sheets

ROOT = Path(__file__).resolve().parents[1]
WANTED_CHECKS, WANTED_WORKS = 220, 70
Row = tuple[str, str]
"""(what, number)"""


def rule_base(shop: Shop) -> Iterator[Row]:
    """What the rule base holds."""
    base = shop.knowledge
    yield "rule base", base.version
    for kind in (
        "observations",
        "reduced",
        "checks",
        "causes",
        "findings",
        "lines",
        "history",
        "holds",
        "contradictions",
        "operations",
    ):
        yield kind, str(len(getattr(base, kind)))
    yield "links from findings to causes", str(sum(len(item.explained_by) for item in base.findings.values()))


def case_rows(shop: Shop) -> Iterator[Row]:
    """How the worked cases went."""
    results = run_folder(shop, shipped_cases())
    expects = [job.job.expect for job in (shop.open_job(path) for path in case_files(shipped_cases()))]
    followed = {expect.published for expect in expects if expect and expect.published}
    yield "cases", str(len(results))
    yield "cases that fail", str(sum(bool(item.failures) for item in results))
    yield "cases whose kept figures have moved", str(sum(bool(item.moved) for item in results))
    yield "known gaps", str(sum(bool(item.known_gap) for item in results))
    yield "cases that follow a published table or fact", str(len(followed))


def check_rows(shop: Shop) -> Iterator[Row]:
    """What the checks of the rule base found."""
    engines, faults, _ = read_sheets(shop.folders)
    report = run(Subject(shop.knowledge, engines, case_runs(shop, shipped_cases()), faults))
    yield "checks of the rule base", f"{len(BY_CODE)} over {report.checked} entries"
    for severity in ("error", "warning", "note"):
        yield f"{severity}s that stand", str(len(report.standing(severity)))
    yield "excused with a reason", str(len(report.excused))


def standing_rows(shop: Shop) -> Iterator[Row]:
    """Statements by standing."""
    found = statements(shop.knowledge)
    for standing, count in by_standing(found).items():
        yield f"statements: {standing}", str(count)
    yield "published works that statements name", str(len(works_named(found)))


def frequency_rows(shop: Shop) -> Iterator[Row]:
    """Frequency words by kind and standing: that a fault shows a sign is one statement, how often another."""
    yield "figures that words rest on", str(len(shop.knowledge.frequencies))
    for tally in tallies(shop.knowledge):
        yield KINDS_OF_WORD[tally.kind], ", ".join(f"{number} {name}" for name, number in tally.counts.items())


def link_rows(shop: Shop) -> Iterator[Row]:
    """Links by the firmest standing of what their finding rests on."""
    order = typing.get_args(Standing)
    counts: Counter[str] = Counter()
    for finding in shop.knowledge.findings.values():
        firmest = min((source.standing for source in finding.source), key=order.index, default="judgement")
        counts[firmest] += len(finding.explained_by)
    total = max(sum(counts.values()), 1)
    for standing in order:
        yield f"links: {standing}", f"{counts[standing]} ({100 * counts[standing] / total:.0f} %)"


def published_rows() -> Iterator[Row]:
    """Checks against published figures in the tests."""
    sys.path.insert(0, str(ROOT))
    from tests import published

    published.count_all()
    checks = published.CHECKS
    works = Counter(check.source for check in checks)
    yield "published checks in the tests", f"{len(checks)} (wanted {WANTED_CHECKS})"
    yield "named works they come from", f"{len(works)} (wanted {WANTED_WORKS})"


def printed(*command: str) -> list[str]:
    """Lines that another program of this folder prints; its faults are among them."""
    done = subprocess.run(
        [sys.executable, *command], cwd=ROOT, capture_output=True, text=True, timeout=3600, check=False
    )
    return [line for line in (done.stdout + done.stderr).splitlines() if line.strip()]


def show(title: str, rows: Iterator[Row]) -> None:
    """One part of the table."""
    print(f"\n{title}")
    for label, number in rows:
        print(f"  {label:46} {number}", flush=True)


def main() -> int:
    parser = argparse.ArgumentParser(description=__doc__.split("\n")[0])
    parser.add_argument("--quick", action="store_true", help="without published entries, coverage and mutants")
    parser.add_argument("--mutants", type=int, default=300, help="mutants drawn at random")
    parser.add_argument("--jobs", type=int, default=1_000_000, help="random whole jobs")
    options = parser.parse_args()
    shop = open_shop(None, None, None, example_prices=True)
    show("WHAT IT HOLDS", rule_base(shop))
    show("WORKED CASES", case_rows(shop))
    show("CHECKS", check_rows(shop))
    show("WHERE IT COMES FROM", standing_rows(shop))
    show("LINKS, THAT A FAULT SHOWS A SIGN", link_rows(shop))
    show("FREQUENCY WORDS, HOW OFTEN", frequency_rows(shop))
    show("OUTSIDE TRUTH", published_rows())
    if not options.quick:
        print("\nPUBLISHED TROUBLESHOOTING")
        for line in printed("bench/handbooks.py"):
            print(f"  {line}")
        print("\nCOVERAGE OF THE SPACE")
        for line in printed("bench/coverage.py", "--jobs", str(options.jobs)):
            print(f"  {line}")
        print("\nMUTATION", flush=True)
        for line in printed("bench/mutate.py", "--sample", str(options.mutants), "--survivors", "0"):
            print(f"  {line}")
    return 0


if __name__ == "__main__":
    sys.exit(main())
