"""Closed jobs of a folder as rows to score; damaged files are listed and left out."""

from __future__ import annotations

import multiprocessing
import os
from collections.abc import Callable, Iterator, Sequence
from functools import partial
from pathlib import Path
from typing import Any

from ..assessment.quick import known_findings, quick_answer, without_teardown
from ..errors import Fault, HowdeepError
from ..files.strict_yaml import read
from ..files.what_file import what_file
from ..job.promises import LOST
from ..job.read import read_job
from ..knowledge.cache import load_cached
from ..model.frozen import dataclass
from ..model.job import OpenJob
from ..model.knowledge import Knowledge
from ..model.prices import PriceList
from ..model.terms import RUNGS, rung_named
from .row import Row

PARALLEL_FROM = 400
"""With fewer files than this a second process costs more than it saves."""
CHUNK = 50
NO_JOB = ("",)
"""In place of faults: an engine sheet, a price list or a shop's settings among the jobs."""
BESIDE = ("prices.yaml", "shop.yaml")
"""Files beside the jobs that are none."""


@dataclass(frozen=True, slots=True)
class Folder:
    """What a folder of jobs gave."""

    rows: tuple[Row, ...]
    open: int
    """Jobs not closed yet."""
    damaged: tuple[str, ...]
    """One line a fault: file:line and what is wrong."""

    @property
    def files(self) -> int:
        return len(self.rows) + self.open + len({line.split(":", 1)[0] for line in self.damaged})


def row_of(
    knowledge: Knowledge, job: OpenJob, prices: PriceList | None = None, *, findings: bool = False
) -> Row | None:
    """The row of a closed job; None for one that is still open.

    `findings` also works out what the rules see in the answers given before opening (needed for learning).
    """
    found = job.job.found
    if found is None:
        return None
    for name, item in job.job.promises.items():
        if isinstance(item, dict) and LOST in item:
            raise HowdeepError(Fault(job.path, 0, 0, f"promise '{name}' cannot be counted: {item[LOST]}"))
        if isinstance(item, dict) and "enough" in item and "causes" in item and "rung" not in item:
            raise HowdeepError(
                Fault(job.path, 0, 0, f"promise '{name}' cannot be counted: it does not say which rung was promised")
            )
    promise = next(
        (
            item
            for item in reversed(list(job.job.promises.values()))
            if isinstance(item, dict) and "enough" in item and "causes" in item
        ),
        None,
    )
    before = without_teardown(knowledge, job)
    today = quick_answer(knowledge, before, prices) if promise is None else None
    known = today.findings if today else known_findings(knowledge, before) if findings else {}
    if promise is not None:
        odds, enough = dict(promise["causes"]), dict(promise["enough"])
        recommended = rung_named(promise["recommended"] if "recommended" in promise else promise["rung"])
        promised, version = rung_named(promise["rung"]), str(promise.get("rule_base", ""))
    else:
        assert today is not None
        odds, enough = today.odds, today.enough
        recommended = promised = today.rung
        version = knowledge.version
    truths = {cause: truth == "present" for cause, truth in sorted(found.causes.items())}
    return Row(
        name=Path(job.path).stem,
        engine=job.job.engine,
        date=found.date,
        rung=recommended,
        promised_rung=promised,
        enough={rung: float(enough[rung]) for rung in RUNGS if rung in enough},
        odds={cause: float(odds[cause]) for cause in truths if cause in odds},
        truths=truths,
        scope_done=found.scope_done,
        came_back=found.came_back,
        hours=found.hours,
        cost=float(found.cost) if found.cost else None,
        promised_cost=_promised_sum(promise, "total"),
        rule_base=version,
        from_promise=promise is not None,
        findings=known if findings else {},
        stated={cause: float(chance) for cause, chance in odds.items()} if findings else {},
        answered=tuple(name for name in job.values if knowledge.observations[name].moment != "teardown"),
        path=job.path,
        promised_high=_promised_sum(promise, "high"),
        agreed=_agreed(job),
    )


def _agreed(job: OpenJob) -> float | None:
    """The largest sum that a recorded yes names."""
    sums = [float(entry["sum"]) for entry in job.job.approvals if "sum" in entry]
    return max(sums) if sums else None


def _promised_sum(promise: dict[str, Any] | None, field: str) -> float | None:
    total = (promise or {}).get("quote", {}).get(field)
    try:
        return float(total) if total is not None else None
    except (TypeError, ValueError):
        return None


def read_folder(
    folder: Path,
    folders: Sequence[Path],
    prices: PriceList | None = None,
    *,
    findings: bool = False,
    progress: Callable[[int, int], None] = lambda done, total: None,
    workers: int = 2,
) -> Folder:
    """Every job file of a folder. Each file is read, turned into its row and let go."""
    damaged: list[str] = []
    paths = sorted(_job_files(Path(folder), damaged))
    rows: list[Row] = []
    still_open = 0
    for done, (row, faults) in enumerate(_all(paths, folders, prices, findings, workers), 1):
        if faults == NO_JOB:
            pass
        elif faults:
            damaged.extend(faults)
        elif row is None:
            still_open += 1
        else:
            rows.append(row)
        if done % 200 == 0 or done == len(paths):
            progress(done, len(paths))
    return Folder(tuple(rows), still_open, tuple(damaged))


def _job_files(folder: Path, damaged: list[str]) -> Iterator[Path]:
    """Every file of the folder that may be a job; folders that cannot be looked into are added to `damaged`."""

    def closed(error: OSError) -> None:
        damaged.append(f"{error.filename}: cannot be read: {error.strerror or error}")

    for place, inner, names in os.walk(folder, onerror=closed):
        inner[:] = [name for name in inner if not name.startswith(".") and not name.endswith(".promises")]
        for name in names:
            if name.endswith(".yaml") and not name.startswith(".") and name not in BESIDE:
                yield Path(place) / name


def _all(
    paths: list[Path], folders: Sequence[Path], prices: PriceList | None, findings: bool, workers: int
) -> Iterator[tuple[Row | None, tuple[str, ...]]]:
    task = partial(_one, findings=findings)
    if len(paths) < PARALLEL_FROM or workers < 2:
        _start(tuple(folders), prices)
        yield from map(task, paths)
        return
    context = multiprocessing.get_context("spawn")
    with context.Pool(workers, _start, (tuple(folders), prices)) as pool:
        yield from pool.imap(task, paths, chunksize=CHUNK)


_shared: dict[str, Any] = {}


def _start(folders: tuple[Path, ...], prices: PriceList | None) -> None:
    _shared.update(folders=folders, prices=prices, knowledge=load_cached(folders), engines={})


def _plain(path: Path) -> Any:
    """What a file holds; None where it cannot be read."""
    try:
        return read(path).value
    except HowdeepError:
        return None


def _one(path: Path, findings: bool) -> tuple[Row | None, tuple[str, ...]]:
    try:
        job = read_job(path, _shared["knowledge"], _shared["folders"], engines=_shared["engines"])
        return row_of(_shared["knowledge"], job, _shared["prices"], findings=findings), ()
    except HowdeepError as error:
        if what_file(_plain(path)) not in (None, "job"):
            return None, NO_JOB
        return None, tuple(str(fault) if fault.file == str(path) else f"{path}: {fault}" for fault in error.faults)
    except Exception as error:  # a defect that one job brings out is said of that job, and the others are counted
        return None, (f"{path}: cannot be scored: {type(error).__name__}: {error}",)
