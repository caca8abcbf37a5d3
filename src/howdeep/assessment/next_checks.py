"""The checks that can be made now: ranked, or worked out only as far as the kind of answer hangs on them."""

from __future__ import annotations

import dataclasses
from collections.abc import Mapping, Sequence
from decimal import Decimal
from functools import cached_property

import numpy as np

from ..arrays import Floats
from ..decision.first_looks import first_looks
from ..decision.information_gain import Parted, one_parts, parted
from ..decision.open_checks import OpenCheck, open_checks
from ..decision.outcome_columns import Answered
from ..decision.outcomes import answered_by, told_apart
from ..decision.running import forbidden_by
from ..decision.value_of_information import Ranking, cost_of_check, most_saved, rank, surely_pays
from ..decision.what_if import known_of
from ..model.job import OpenJob
from ..model.knowledge import Knowledge
from ..model.prices import PriceList
from ..model.results import CheckValue, Facts
from ..model.truth import Truth
from ..pricing.money import read_money
from ..pricing.stand_ins import weighing
from .prepared import Prepared


class NextChecks:
    """Every check that can be made on a job as it stands; each step is worked out once, when it is first asked for."""

    def __init__(
        self,
        knowledge: Knowledge,
        job: OpenJob,
        facts: Facts,
        findings: Mapping[str, Truth],
        ready: Prepared,
        prices: PriceList | None,
    ) -> None:
        self.knowledge, self.facts, self.findings, self.ready, self.prices = knowledge, facts, findings, ready, prices
        again, made = ready.case.again, frozenset(job.values) | job.unknown
        self.offered = open_checks(
            knowledge,
            job.engine,
            {fact: value for fact, value in facts.values.items() if fact not in again.conditions},
            made - again.observations - again.conditions,
            forbidden_by(ready.decision.dangers),
        )
        self.holds = {hold.check: hold.hold for hold in ready.case.holds if hold.state == "stands"}

    @cached_property
    def looks(self) -> tuple[str, ...]:
        """What the trade looks at first, in order."""
        return tuple(
            first_looks(
                self.knowledge,
                self.facts.values,
                self.findings,
                [danger.subject for danger in self.ready.decision.dangers],
            )
        )

    @cached_property
    def wanted(self) -> tuple[str, ...]:
        """Checks that are worked out whatever they seem to be worth: first looks and holds."""
        return tuple(
            sorted(
                {
                    check.check
                    for check in self.offered
                    if check.check in self.looks
                    or check.check in self.holds
                    or any(
                        name in self.holds or name in self.ready.case.again.observations for name in check.observations
                    )
                }
            )
        )

    @cached_property
    def apart(self) -> tuple[Sequence[OpenCheck], Mapping[str, tuple[Answered, ...]]]:
        """The checks with the outcomes that are told apart, and check -> what each of these would add."""
        return self._apart(self.offered)

    def _apart(self, checks: Sequence[OpenCheck]) -> tuple[Sequence[OpenCheck], Mapping[str, tuple[Answered, ...]]]:
        return told_apart(
            checks,
            answered_by(
                self.ready.network, self.ready.signs, known_of(self.knowledge, self.facts.values, self.findings), checks
            ),
        )

    @cached_property
    def hands(self) -> Floats:
        """[causes] chance of a hand in what was noticed."""
        hands = self.ready.beliefs.hands()
        return np.array([hands[cause] for cause in self.ready.network.causes])

    @cached_property
    def costs(self) -> Mapping[str, Decimal]:
        """Check -> what it costs to make."""
        weighed = None if self.prices is None else weighing(self.prices)
        return {check.check: cost_of_check(check, weighed) for check in self.offered}

    @cached_property
    def parted(self) -> Parted:
        """How far each parts the suspects."""
        return parted(self.ready.problem, *self.apart, self.hands, wanted=self.wanted)

    @cached_property
    def ranking(self) -> Ranking:
        """All of them, the most worthwhile first; holds and first looks are marked."""
        ready, prices, looks, holds = self.ready, self.prices, self.looks, self.holds
        again = ready.case.again.observations

        def is_again(check: CheckValue) -> bool:
            return bool(again & set(check.observations))

        ranking = rank(ready.problem, *self.apart, self.hands, self.costs, wanted=self.wanted, known=self.parted)
        marked = [
            dataclasses.replace(
                check,
                first_look=check.check in looks or check.check in ready.case.unheard or is_again(check),
                hold=next((holds[name] for name in (check.check, *check.observations) if name in holds), ""),
            )
            for check in ranking.checks
        ]
        place = {name: number for number, name in enumerate(looks)}
        asking = self.knowledge.settings.asking
        minutes = Decimal(asking.look_overtaken_minutes)
        much = read_money(prices.labour_rate, prices.currency) * minutes / 60 if prices else Decimal(0)
        about = {name: number for number, name in enumerate(ready.case.unheard)}
        telling = asking.look_overtaken_share * max((check.parts for check in marked if check.first_look), default=0.0)

        def idle(check: CheckValue) -> bool:
            """Whether it can show next to nothing of what is suspected. Until the complaint was heard that says nothing
            of what is looked at for it."""
            heard = ready.case.noticed and not ready.case.unheard
            return heard and not check.hold and check.parts < self.knowledge.settings.hardly_parts

        def rank_of(check: CheckValue) -> tuple[int, bool, bool, bool, bool, int]:
            # money saved says nothing where nothing was noticed
            pays = ready.case.noticed and check.net > much and check.parts >= telling
            return (
                about.get(check.check, len(about)),
                not is_again(check),
                # nobody waits days for what the bench may show today
                check.days > 0 and not check.hold and check.check not in place,
                not pays,
                not pays and idle(check),
                0 if pays else place.get(check.check, len(looks)),
            )

        marked.sort(key=rank_of)
        return dataclasses.replace(ranking, checks=_without_doubles(marked))

    @property
    def is_ranked(self) -> bool:
        """Whether the ranking was worked out already, or there is nothing to rank."""
        return not self.offered or "ranking" in self.__dict__

    def any(self) -> bool:
        """Whether a check can be made at all."""
        return bool(self.offered)

    def pays(self) -> bool:
        """Whether one saves more than it costs. None does where knowing all of it would not; what the ranking works out
        before all others settles it most often."""
        if not self.offered or most_saved(self.ready.problem) <= min(self.costs.values()):
            return False
        if not self.is_ranked:
            found = surely_pays(self.ready.problem, *self._apart(self._looked_at), self.costs, of=self._within_no_other)
            if found is not None:
                return found
        return any(check.net > 0 for check in self.ranking.checks)

    @cached_property
    def _looked_at(self) -> list[OpenCheck]:
        """The wanted checks themselves."""
        return [check for check in self.offered if check.check in self.wanted]

    @cached_property
    def _within_no_other(self) -> frozenset[str]:
        """Ids of checks that lie within no other: these stay in the ranking, so that it need not be made for them."""
        sets = [frozenset(check.observations) for check in self.offered]
        return frozenset(
            check.check
            for check, own in zip(self.offered, sets, strict=True)
            if sum(own <= other for other in sets) == 1
        )

    def parts(self, least: float) -> bool:
        """Whether one parts the suspects by so many bits."""
        alone = self._within_no_other
        if "parted" not in self.__dict__ and one_parts(
            self.ready.problem, *self._apart(self._looked_at), self.hands, least, of=alone
        ):
            return True
        if any(self.parted.bits(name) >= least for name in alone):
            return True
        if all(self.parted.bits(check.check) < least for check in self.offered):
            return False
        return any(check.parts >= least for check in self.ranking.checks)


def _without_doubles(checks: list[CheckValue]) -> tuple[CheckValue, ...]:
    """Checks in order, those left out whose observations all belong to one before them."""
    kept: list[CheckValue] = []
    seen: list[set[str]] = []
    for check in checks:
        own = set(check.observations)
        if not any(own <= other for other in seen):
            kept.append(check)
        seen.append(own)
    return tuple(kept)


__all__ = ["NextChecks"]
