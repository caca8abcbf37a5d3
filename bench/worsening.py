"""One answer made worse at a time: the recommended scope may not become shallower without a reason."""

from __future__ import annotations

import dataclasses
import time
from collections import Counter
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import numpy as np

from howdeep.assess import quick_answer
from howdeep.cases import case_files
from howdeep.files.strict_yaml import read
from howdeep.model.job import OpenJob
from howdeep.model.knowledge import RUNGS, Observation
from howdeep.session import Shop

EXCEPTIONS = Path(__file__).with_name("monotone_exceptions.yaml")


def exceptions() -> dict[str, str]:
    """Question -> why a worse answer may make the scope shallower."""
    return dict(read(EXCEPTIONS).value or {})


def pairs_of(job: OpenJob, observations: dict[str, Observation]) -> Iterator[tuple[str, Any, Any]]:
    """(question, better value, worse value) for every step of every answered question that has an order."""
    for name in sorted(job.values):
        order, value = observations[name].worsens, job.values[name]
        if len(order) < 2:
            continue
        if isinstance(value, tuple):
            for place, word in enumerate(value):
                if word in order[:-1]:
                    worse = (*value[:place], order[order.index(word) + 1], *value[place + 1:])
                    yield name, value, worse
        elif value in order:
            for better, worse in zip(order, order[1:], strict=False):
                yield name, better, worse


def worsened(shop: Shop, folder: Path, most: int, random: np.random.Generator) -> list[str]:
    """Pairs of jobs that differ in one answer by one step; the faults found."""
    started = time.perf_counter()
    observations, excused = shop.knowledge.observations, exceptions()
    todo = []
    for path in case_files(folder):
        job = shop.open_job(path)
        todo += [(path.stem, job, *pair) for pair in pairs_of(job, observations)]
    if len(todo) > most:
        todo = [todo[index] for index in sorted(random.choice(len(todo), most, replace=False))]
    known: dict[tuple[str, str, Any], int] = {}

    def rung(case: str, job: OpenJob, name: str, value: Any) -> int:
        key = (case, name, value)
        if key not in known:
            changed = dataclasses.replace(job, values={**job.values, name: value})
            known[key] = RUNGS.index(quick_answer(shop.knowledge, changed, shop.prices).rung)
        return known[key]

    faults: list[str] = []
    met: Counter[str] = Counter()
    for case, job, name, better, worse in todo:
        before, after = rung(case, job, name, better), rung(case, job, name, worse)
        if after < before:
            if name in excused:
                met[name] += 1
            else:
                faults.append(f"{case}: {name} from {better} to {worse} makes the scope shallower, from "
                              f"{RUNGS[before]} to {RUNGS[after]}")
    faults += [f"monotone_exceptions.yaml: '{name}' is no question" for name in excused if name not in observations]
    asked = len({name for _, _, name, _, _ in todo})
    print(f"worsening    {len(todo):,} steps of {asked} questions in {len({case for case, *_ in todo})} cases; "
          f"{sum(met.values())} of them shallower by {len(met)} of {len(excused)} excused questions, {len(faults)} not "
          f"excused; {time.perf_counter() - started:.1f} s")
    return faults
