"""How many questions the interview needs: does the recommendation stand after half of what a fixed full list asks?

For every worked case the answers given in it play the customer and the bench. The fixed list asks every question that
makes sense on the engine in order of the rule base; the interview asks in its own order and stops by itself. Counted
are questions that the case can answer; others are answered "don't know" at once and counted too.
"""

from __future__ import annotations

import argparse
import dataclasses
import statistics
from typing import Any

from howdeep.cases import case_files
from howdeep.interview.flow import flow
from howdeep.knowledge.where import shipped_cases
from howdeep.prepared import open_observations
from howdeep.session import Shop, open_shop

MOST = 120


def with_values(job: Any, values: dict[str, Any], unknown: set[str]) -> Any:
    """The job with only these answers."""
    return dataclasses.replace(job, values=dict(sorted(values.items())), unknown=frozenset(unknown), later=frozenset())


def interview(shop: Shop, job: Any) -> tuple[list[str], list[str]]:
    """(rung after each question, questions in order) until the interview stops by itself. Talk and checks alike."""
    values: dict[str, Any] = {}
    unknown: set[str] = set()
    rungs, asked, last = [], [], ""
    while len(asked) < MOST:
        here = with_values(job, values, unknown)
        answer = shop.assess(here, checks=False, flips=False)
        if asked:
            rungs.append(answer.decision.rung)
        state = flow(shop.knowledge, here, answer, last)
        if state.next is None:
            break
        last = state.next.observation
        asked.append(last)
        if last in job.values:
            values[last] = job.values[last]
            # a test is made with its conditions
            values.update({name: value for name, value in job.values.items() if name.startswith("test_")}
                          if shop.knowledge.observations[last].moment == "test" else {})
        else:
            unknown.add(last)
    return rungs, asked


def fixed_list(shop: Shop, job: Any) -> int:
    """Length of a fixed full list: every question and check that makes sense on this engine, grounds answered."""
    values = {name: value for name, value in job.values.items()
              if shop.knowledge.observations[name].moment != "teardown"}
    answer = shop.assess(with_values(job, values, set()), checks=False, flips=False)
    still_open = open_observations(shop.knowledge, with_values(job, values, set()), answer.facts.values)
    return len(values) + len(still_open)


def main() -> None:
    """Count over the worked cases."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--most", type=int, default=1000, help="at most so many cases")
    options = parser.parse_args()
    shop = open_shop(example_prices=True)
    shares, asked_counts, full_counts, stands = [], [], [], 0
    paths = case_files(shipped_cases())[: options.most]
    counted = 0
    for path in paths:
        job = shop.open_job(path)
        if any(shop.knowledge.observations[name].moment == "teardown" for name in job.values):
            continue
        counted += 1
        final = shop.assess(job, checks=False, flips=False).decision.rung
        rungs, asked = interview(shop, job)
        full = fixed_list(shop, job)
        half = full // 2
        stood = (rungs[half - 1] if len(rungs) >= half else rungs[-1]) == final if rungs else False
        stands += stood
        asked_counts.append(len(asked))
        full_counts.append(full)
        settled = next((index + 1 for index in range(len(rungs)) if all(rung == final for rung in rungs[index:])), None)
        if settled is not None:
            shares.append(settled / full)
        if not stood:
            print(f"  not after half: {path.stem}: whole case {final}, interview {rungs[-1] if rungs else '-'} "
                  f"after {len(asked)} of {full}")
    print(f"{counted} cases: "
          f"the interview asks {statistics.median(asked_counts):.0f} questions (median) before it stops, "
          f"a fixed full list {statistics.median(full_counts):.0f};")
    print(f"the recommendation of the whole case stands after half the fixed list in {stands} of {counted};")
    print(f"where it is reached, it stands from {100 * statistics.median(shares):.0f} % of the fixed list on (median).")


if __name__ == "__main__":
    main()
