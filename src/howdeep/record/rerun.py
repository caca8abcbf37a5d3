"""Old jobs under today's rules: which recommendations would change, and which answers earn their asking."""

from __future__ import annotations

import dataclasses
import math
from collections.abc import Sequence
from pathlib import Path

from ..assessment.quick import quick_answer, without_teardown
from ..job.read import read_job
from ..model.frozen import dataclass
from ..model.knowledge import Knowledge
from ..model.prices import PriceList
from .row import Row
from .score import LEAST

MOST = 200
"""Jobs looked at for the worth of answers; each needs one assessment an answer."""


@dataclass(frozen=True, slots=True)
class Rerun:
    """A job whose recommendation would be another one today."""

    job: str
    then: str
    now: str
    rule_base_then: str
    done: str


@dataclass(frozen=True, slots=True)
class AnswerWorth:
    """What one question or check gave over the jobs in which it was answered."""

    observation: str
    jobs: int
    bits: float
    """Mean gain in the log score (bits) of the causes that were looked at; negative: it misled."""
    moved: int
    """Jobs in which the recommendation would have been another one without it."""


def rerun(
    knowledge: Knowledge, folder: Path, folders: Sequence[Path], rows: Sequence[Row], prices: PriceList | None
) -> tuple[Rerun, ...]:
    """Closed jobs whose recommendation by today's rules differs from the one made."""
    result = []
    for row in sorted(rows, key=lambda row: row.name):
        if not row.from_promise:
            continue
        job = read_job(path_of(folder, row), knowledge, folders)
        today = quick_answer(knowledge, job, prices)
        if today.rung != row.rung:
            result.append(Rerun(row.name, row.rung, today.rung, row.rule_base, row.scope_done or ""))
    return tuple(result)


def path_of(folder: Path, row: Row) -> Path:
    """The file that a row came from."""
    return Path(row.path) if row.path else Path(folder) / f"{row.name}.yaml"


def answer_worth(
    knowledge: Knowledge,
    folder: Path,
    folders: Sequence[Path],
    rows: Sequence[Row],
    prices: PriceList | None,
    most: int = MOST,
) -> tuple[AnswerWorth, ...]:
    """What each answer gave: the odds of the causes that were looked at, with it and without it."""
    gains: dict[str, list[float]] = {}
    moves: dict[str, int] = {}
    for row in sorted(rows, key=lambda row: row.name)[:most]:
        if not row.truths:
            continue
        job = without_teardown(knowledge, read_job(path_of(folder, row), knowledge, folders))
        whole = quick_answer(knowledge, job, prices)
        for name in job.values:
            fewer = dataclasses.replace(job, values={key: value for key, value in job.values.items() if key != name})
            without = quick_answer(knowledge, fewer, prices)
            gain = sum(
                _bits(whole.odds[cause], truth) - _bits(without.odds[cause], truth)
                for cause, truth in row.truths.items()
                if cause in whole.odds
            )
            gains.setdefault(name, []).append(gain)
            moves[name] = moves.get(name, 0) + (whole.rung != without.rung)
    return tuple(
        sorted(
            (AnswerWorth(name, len(values), sum(values) / len(values), moves[name]) for name, values in gains.items()),
            key=lambda item: (-item.bits, item.observation),
        )
    )


def _bits(chance: float, truth: bool) -> float:
    return math.log2(min(max(chance if truth else 1 - chance, LEAST), 1 - LEAST))
