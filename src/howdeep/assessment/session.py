"""One run of the program: the rule base, the rule folders and the shop's prices, found once and handed on."""

from __future__ import annotations

import dataclasses
from pathlib import Path

from ..job.read import read_job
from ..knowledge.cache import load_cached, same_content
from ..knowledge.kinds import load_kinds
from ..knowledge.where import rule_folders
from ..model.frozen import dataclass
from ..model.job import OpenJob
from ..model.knowledge import Knowledge
from ..model.prices import PriceList
from ..model.results import Assessment
from ..model.shop import ShopSettings
from ..model.used import LaidOver
from ..pricing.read import example_prices as example_price_file
from ..pricing.read import find_prices, load_prices
from ..pricing.stand_ins import with_stand_ins
from ..shop.read import find_shop, load_shop
from ..shop.use import equipped, placed, with_floors
from ..work.spared import as_it_comes, is_spared
from .assess import assess, assess_for_kind
from .changes import gap_flips, with_changes
from .look_up import look_ups
from .made_ready import made_ready
from .next_checks import NextChecks
from .provenance import doubts_of, laid_over, used_by


@dataclass(frozen=True, slots=True)
class Shop:
    """What one shop works with."""

    knowledge: Knowledge
    """The rule base, as the shop's tools let it be used."""
    folders: tuple[Path, ...]
    prices: PriceList
    """With the shop's floors and its letterhead."""
    settings: ShopSettings = ShopSettings()
    """What the shop says of itself once."""
    prices_file: str = ""
    """Name of the file of the price list."""
    over: LaidOver | None = None
    """What the shop's own folder does to the shipped rules."""

    def open_job(self, path: str | Path) -> OpenJob:
        """Read a job file. Raises HowdeepError with every fault."""
        return self._as_it_comes(read_job(path, self.knowledge, self.folders))

    def open_again(self, path: str | Path, job: OpenJob) -> OpenJob:
        """Read a job file anew for the same engine. Raises HowdeepError with every fault."""
        if is_spared(self.knowledge, job.engine):  # how it came in may be told otherwise now
            return self.open_job(path)
        return self._as_it_comes(
            read_job(
                path,
                self.knowledge,
                self.folders,
                engine=job.engine,
                questions=job.sheet_questions,
                general=job.general,
            )
        )

    def _as_it_comes(self, job: OpenJob) -> OpenJob:
        return as_it_comes(self.knowledge, placed(job, self.settings))

    def assess(
        self,
        job: OpenJob,
        *,
        checks: bool = True,
        flips: bool = True,
        changes: bool = False,
        gaps: bool = False,
        questions: bool = False,
        steps: bool = True,
    ) -> Assessment:
        """The whole answer for an open job. `flips` works out where the outcomes of checks lead; `changes`, which takes
        a few seconds, what else would change the answer and, on an engine without a sheet, what to look up; `gaps`
        what follows where prices are missing; `questions` what each question at the counter is worth; `steps` how
        the odds came about and what nothing explains."""
        made_ready(self.knowledge, job.engine)
        answer = self._made_with(
            assess(
                self.knowledge,
                job,
                self.prices,
                checks=checks,
                flips=flips or changes,
                questions=questions,
                steps=steps,
            )
        )
        if gaps and answer.decision.missing and self.prices.stand_ins:
            answer = dataclasses.replace(answer, gaps=gap_flips(self.knowledge, answer, self.prices))
        return self.with_look_ups(with_changes(self.knowledge, answer, self.prices)) if changes else answer

    def assess_for_kind(self, job: OpenJob) -> tuple[Assessment, NextChecks | None]:
        """The answer with what each question is worth, and with checks worked out only as far as its kind hangs on
        them; beside it what `assess.with_checks` ranks them by, None where they are ranked already."""
        made_ready(self.knowledge, job.engine)
        answer, open_now = assess_for_kind(self.knowledge, job, self.prices, questions=True)
        return self._made_with(answer), open_now

    def _made_with(self, answer: Assessment) -> Assessment:
        return dataclasses.replace(
            answer,
            used=used_by(self.knowledge, self.over, self.prices, self.prices_file, answer),
            doubts=doubts_of(self.knowledge, self.prices),
        )

    def with_look_ups(self, answer: Assessment) -> Assessment:
        """The same answer with what would be worth looking up of an engine without a sheet."""
        if answer.job.general is None:
            return answer
        found = look_ups(self.knowledge, answer, self.prices, load_kinds(self.folders))
        return dataclasses.replace(answer, look_ups=found)

    def assess_file(self, path: str | Path) -> Assessment:
        """The whole answer for a job file."""
        return self.assess(self.open_job(path))


def open_shop(
    rules: str | Path | None = None,
    prices: str | Path | None = None,
    job: str | Path | None = None,
    *,
    example_prices: bool = False,
) -> Shop:
    """Load the rule base, the price list and the shop's settings.

    Raises HowdeepError with every fault, each at its place: a price list that is named or stands beside the job and
    cannot be used is never passed over, since the advice would be another one.
    """
    folders = rule_folders(rules)
    knowledge = load_cached(folders)
    if example_prices:
        return _with(knowledge, folders, example_price_file(), ShopSettings())
    folder = Path(job).parent if job else None
    return _with(knowledge, folders, find_prices(prices, folder), load_shop(find_shop(folder), knowledge))


def read_again(shop: Shop, prices: Path, settings: Path | None) -> Shop:
    """The same rule base with the price list and the settings as these files are now.

    Raises HowdeepError with every fault of either.
    """
    knowledge = dataclasses.replace(shop.knowledge, not_owned=())
    return _with(knowledge, shop.folders, prices, load_shop(settings, knowledge))


def _with(knowledge: Knowledge, folders: tuple[Path, ...], prices: Path, settings: ShopSettings) -> Shop:
    own = load_prices(prices, knowledge)
    if prices != example_price_file():
        own = with_stand_ins(own, load_prices(example_price_file(), knowledge))
    own_knowledge = equipped(knowledge, settings)
    same_content(own_knowledge, knowledge, own_knowledge.not_owned)
    return Shop(
        own_knowledge, folders, with_floors(own, settings), settings, prices.name, laid_over(knowledge, folders)
    )
