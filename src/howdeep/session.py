"""One run of the program: the rule base, the rule folders and the shop's prices, found once and handed on."""

from __future__ import annotations

import dataclasses
from dataclasses import dataclass
from pathlib import Path

from .assess import assess
from .changes import with_changes
from .job.read import read_job
from .knowledge.cache import load_cached
from .knowledge.kinds import load_kinds
from .knowledge.where import rule_folders
from .look_up import look_ups
from .model.job import OpenJob
from .model.knowledge import Knowledge
from .model.prices import PriceList
from .model.results import Assessment
from .pricing.read import example_prices as example_price_file
from .pricing.read import find_prices, load_prices


@dataclass(frozen=True, slots=True)
class Shop:
    """What one shop works with."""

    knowledge: Knowledge
    folders: tuple[Path, ...]
    prices: PriceList

    def open_job(self, path: str | Path) -> OpenJob:
        """Read a job file. Raises HowdeepError with every fault."""
        return read_job(path, self.knowledge, self.folders)

    def assess(self, job: OpenJob, *, checks: bool = True, flips: bool = True, changes: bool = False) -> Assessment:
        """The whole answer for an open job. `flips` works out where the outcomes of checks lead; `changes`, which takes
        a few seconds, what else would change the answer and, on an engine without a sheet, what to look up."""
        answer = assess(self.knowledge, job, self.prices, checks=checks, flips=flips or changes)
        return self.with_look_ups(with_changes(self.knowledge, answer, self.prices)) if changes else answer

    def with_look_ups(self, answer: Assessment) -> Assessment:
        """The same answer with what would be worth looking up of an engine without a sheet."""
        if answer.job.general is None:
            return answer
        found = look_ups(self.knowledge, answer, self.prices, load_kinds(self.folders))
        return dataclasses.replace(answer, extra={**answer.extra, "look_ups": found})

    def assess_file(self, path: str | Path) -> Assessment:
        """The whole answer for a job file."""
        return self.assess(self.open_job(path))


def open_shop(rules: str | Path | None = None, prices: str | Path | None = None, job: str | Path | None = None, *,
              example_prices: bool = False) -> Shop:
    """Load the rule base and the price list.

    Raises HowdeepError with every fault, each at its place: a price list that is named or stands beside the job and
    cannot be used is never passed over, since the advice would be another one.
    """
    folders = rule_folders(rules)
    knowledge = load_cached(folders)
    path = example_price_file() if example_prices else find_prices(prices, Path(job).parent if job else None)
    return Shop(knowledge, folders, load_prices(path, knowledge))
