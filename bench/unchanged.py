"""An unchanged job gives an empty change sheet, over every worked case and every job that could be promised.

Usage: python bench/unchanged.py [EVERY]   (every so many cases; default all)
"""

from __future__ import annotations

import sys
from pathlib import Path

sys.path.insert(0, str(Path(__file__).resolve().parents[1]))

from howdeep.assessment.session import open_shop
from howdeep.cases.run import case_files
from howdeep.knowledge.where import shipped_cases
from tests.unchanged import broken


def main() -> int:
    """Print what does not hold; 1 where anything does not."""
    shop, cases, jobs, failed = open_shop(example_prices=True), 0, 0, 0
    for path in case_files(shipped_cases())[:: int(sys.argv[1]) if len(sys.argv) > 1 else 1]:
        answer = shop.assess(shop.open_job(path), checks=False, flips=False)
        cases, jobs = cases + 1, jobs + len(answer.works)
        for sentence in broken(shop, answer):
            failed += 1
            print(f"{path.stem}: {sentence}", flush=True)
    print(f"{jobs} jobs of {cases} cases, {failed} failures")
    return int(bool(failed))


if __name__ == "__main__":
    sys.exit(main())
