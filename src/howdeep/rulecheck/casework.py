"""What the worked cases show of the rules."""

from __future__ import annotations

from pathlib import Path

from ..assessment.facts import facts_of, raw_facts
from ..assessment.session import Shop
from ..cases.run import case_files
from ..errors import Fault, HowdeepError
from ..knowledge.engine_facts import engine_facts
from ..logic.evaluate import evaluate_all
from .subject import CaseRun


def case_runs(shop: Shop, folder: Path, *, covered: bool = True) -> tuple[CaseRun, ...]:
    """Every case of a folder, with what the rules conclude of it. Raises HowdeepError with the faults of every case.

    With `covered`, the first case on each engine sheet also says how much of what the rule base predicts the outcomes
    of each check cover; that takes a whole assessment, and one an engine is enough.
    """
    runs, engines = [], set()
    faults: list[Fault] = []
    for path in case_files(folder):
        try:
            job = shop.open_job(path)
        except HowdeepError as error:
            faults.extend(error.faults)
            continue
        facts, _ = facts_of(shop.knowledge, job)
        values = {**engine_facts(job.engine), **facts.values}
        shares = {}
        if covered and job.job.engine not in engines:
            engines.add(job.job.engine)
            shares = {item.check: item.covered for item in shop.assess(job, flips=False).checks}
        runs.append(
            CaseRun(path.stem, job.job.engine, values, evaluate_all(shop.knowledge, values), shares, raw_facts(job))
        )
    if faults:
        raise HowdeepError(faults)
    return tuple(runs)
