"""Worked cases as they sound on the telephone: only the customer's own word is kept. What is answered then?

    python bench/phone.py [--json]

Twenty worked cases, chosen by a fixed rule and not by what comes out: of all cases in order of name that have a
complaint (not only to be looked over), something tested or seen beside the customer's word, and an expectation of the
scope, every so-manieth. Of each only what the customer says by himself is kept. Two things are counted: an answer that
promises a depth which the whole case denies, and a first check that neither the whole case made nor an entry of a
handbook with the same complaint prints.
"""

from __future__ import annotations

import argparse
import dataclasses
import json
import sys
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from pathlib import Path

from howdeep.assessment.session import Shop, open_shop
from howdeep.casebook.entries import Entry
from howdeep.casebook.read import read_handbooks
from howdeep.cases.run import case_files
from howdeep.knowledge.questions import speaks_of
from howdeep.knowledge.where import shipped_cases, shipped_handbooks
from howdeep.model.job import OpenJob
from howdeep.model.knowledge import Knowledge

MANY = 20
COMPLAINT = "complaint"


@dataclass(frozen=True, slots=True)
class Call:
    """How one case went on the telephone."""

    case: str
    said: int
    """How many answers the customer gives by himself."""
    kind: str
    """What is answered, once a danger is cleared."""
    job: str
    denied: bool
    """Whether a depth is promised that the whole case denies."""
    check: str
    """The first check; empty where none is offered before the answer."""
    made: bool
    """Whether the whole case made it."""
    printed: bool
    """Whether an entry of a handbook with the same complaint prints it."""

    @property
    def odd(self) -> bool:
        """Whether a first check is offered that neither the case made nor a handbook prints."""
        return bool(self.check) and not self.made and not self.printed


def told(knowledge: Knowledge, job: OpenJob) -> OpenJob:
    """The job with nothing but what its customer says by himself; hearsay of work done before stays, he says it."""
    values = {name: value for name, value in job.values.items() if by_word(knowledge, name)}
    return dataclasses.replace(
        job, values=values, unknown=frozenset(name for name in job.unknown if by_word(knowledge, name))
    )


def by_word(knowledge: Knowledge, name: str) -> bool:
    """Whether the customer tells it, and no look or instrument."""
    item = knowledge.observations[name]
    return item.moment == "talk" and speaks_of(item) in ("word", "hearsay")


def chosen(shop: Shop, files: Iterable[Path]) -> list[tuple[str, OpenJob]]:
    """The cases by the fixed rule, in order of name."""
    fit = []
    for path in sorted(files):
        job = shop.open_job(path)
        expect, looked_over = job.job.expect, shop.knowledge.settings.looked_over.get(COMPLAINT, ())
        if (
            job.values.get(COMPLAINT) not in (None, *looked_over)
            and expect is not None
            and (expect.scope or expect.not_scope)
            and len(told(shop.knowledge, job).values) < len(job.values)
        ):
            fit.append((path.stem, job))
    return [fit[number * len(fit) // MANY] for number in range(MANY)]


def printed_for(knowledge: Knowledge, entries: Sequence[Entry], complaint: str) -> frozenset[str]:
    """Observations of every test that an entry with this complaint prints."""
    tests = {
        test
        for entry in entries
        if entry.job is not None and entry.job.values.get(COMPLAINT) == complaint
        for test in entry.printed.tests
    }
    return frozenset(
        name
        for test in tests
        for name in (knowledge.checks[test].observations if test in knowledge.checks else (test,))
    )


def call(shop: Shop, entries: Sequence[Entry], name: str, whole: OpenJob) -> Call:
    """One case on the telephone."""
    knowledge, expect = shop.knowledge, whole.job.expect
    job = told(knowledge, whole)
    answer = shop.assess(job, flips=False)
    decision = answer.decision
    rung = decision.line(decision.job).rung
    denies = rung in expect.not_scope or (bool(expect.scope) and rung not in expect.scope)
    first = answer.checks[0] if decision.then == "check_first" and answer.checks else None
    own = set(first.observations) if first else set()
    return Call(
        name,
        len(job.values),
        decision.then,
        decision.job,
        decision.then == "promise" and denies,
        first.check if first else "",
        bool(own & (whole.values.keys() - job.values.keys())),
        bool(own & printed_for(knowledge, entries, str(whole.values[COMPLAINT]))),
    )


def calls_of(shop: Shop) -> tuple[Call, ...]:
    """Every chosen case on the telephone."""
    entries = read_handbooks(shipped_handbooks(), shop.knowledge, shop.folders)
    return tuple(call(shop, entries, name, job) for name, job in chosen(shop, case_files(shipped_cases())))


def main() -> int:
    parser = argparse.ArgumentParser(description=__doc__.split("\n")[0])
    parser.add_argument("--json", action="store_true", help="the same as JSON")
    options = parser.parse_args()
    calls = calls_of(open_shop(None, None, None, example_prices=True))
    if options.json:
        print(json.dumps({"howdeep_phone": 1, "calls": [dataclasses.asdict(item) for item in calls]}, indent=1))
        return 0
    for item in calls:
        check = (
            f"; first {item.check} ({'made' if item.made else 'printed' if item.printed else 'NEITHER'})"
            if item.check
            else ""
        )
        print(f"{item.case}\n    {item.said} said: {item.kind} {item.job}{' DENIED' if item.denied else ''}{check}")
    offered = [item for item in calls if item.check]
    print(
        f"\n{len(calls)} calls: {sum(item.kind == 'promise' for item in calls)} promises, "
        f"{sum(item.denied for item in calls)} of a depth that the whole case denies; {len(offered)} first checks, "
        f"{sum(item.made for item in offered)} made by the case, "
        f"{sum(item.made or item.printed for item in offered)} made or printed."
    )
    return 0


if __name__ == "__main__":
    sys.exit(main())
