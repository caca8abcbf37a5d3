"""How far the rule base has been proved: `make truth` prints the numbers."""

from __future__ import annotations

import collections
import subprocess
import sys
from pathlib import Path

from howdeep.cases import run_folder
from howdeep.knowledge.where import shipped_cases
from howdeep.session import open_shop

ROOT = Path(__file__).resolve().parents[1]


def last_line(*command: str) -> str:
    """Last line that a command of the project prints."""
    done = subprocess.run([sys.executable, *command], cwd=ROOT, capture_output=True, text=True, timeout=1800)
    return (done.stdout.strip().splitlines() or done.stderr.strip().splitlines() or ["printed nothing"])[-1]


def main() -> None:
    """Print the numbers."""
    shop = open_shop(example_prices=True)
    knowledge = shop.knowledge
    print(f"rule base {knowledge.version}: {len(knowledge.observations)} questions and readings, "
          f"{len(knowledge.causes)} causes, {len(knowledge.findings)} findings, {len(knowledge.operations)} operations")
    results = run_folder(shop, shipped_cases())
    published = {job.job.expect.published for job in map(shop.open_job, sorted(shipped_cases().glob("*.yaml")))
                 if job.job.expect and job.job.expect.published}
    print(f"cases: {len(results)}, {sum(bool(item.failures) for item in results)} fail, "
          f"{sum(bool(item.known_gap) for item in results)} known gaps; {len(published)} follow a published table or fact")
    standing: collections.Counter[str] = collections.Counter()
    for kind in ("observations", "checks", "causes", "history", "findings", "operations", "cautions", "limits", "holds"):
        for entry in getattr(knowledge, kind).values():
            standing.update(source.standing for source in entry.source)
    print("statements by standing: " + ", ".join(f"{name} {count}" for name, count in standing.most_common()))
    print("published checks in the tests: " + last_line("-m", "tests.published"))
    print("checks of the rule base: " + last_line("-c", "from howdeep.cli import main; main()", "rules", "check"))


if __name__ == "__main__":
    main()
