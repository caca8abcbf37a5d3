"""The next check: what each check that can be made now would save in money, and all of them in order.

The money is what the decision itself would save by seeing the outcome (never negative, Raiffa & Schlaifer 1961): the
value of X
"""

from __future__ import annotations

from collections.abc import Collection, Mapping, Sequence
from decimal import Decimal
from functools import lru_cache

import numpy as np

from ..arrays import Floats
from ..beliefs.columns import Columns
from ..beliefs.elimination import sums_of
from ..model.frozen import dataclass
from ..model.prices import PriceList
from ..model.results import CheckValue, OutcomeValue
from ..pricing.money import cents, read_money
from ..pricing.used_up import used_up
from .information_gain import Parted, parted, room_used
from .ladder import Ladder, chances_of
from .open_checks import OpenCheck
from .outcome_columns import Answered, factors_of, fitting, used_by
from .problem import Problem, alike_of, columns_with, given_trouble

VALUE_CELLS = 40_000
"""Cells of the tables worked out for the money that outcomes save: more checks at small widths, fewer at large ones."""
CENT = Decimal("0.01")
"""Money by which a sum worked out beside fewer others may differ from the ranking's."""


@dataclass(frozen=True, slots=True)
class Ranking:
    """Every check that can be made now, the most worthwhile first."""

    checks: tuple[CheckValue, ...]
    perfect: Decimal = Decimal("0.00")
    """What knowing how the job would end would save: no check is worth more."""
    estimated: bool = False
    """Whether figures are sampled, or the money that a wanted check saves took too long to be worked out."""


def cost_of_check(check: OpenCheck, prices: PriceList | None) -> Decimal:
    """Minutes at the labour rate, the parts that it uses up, and the money set against its risk; nothing without
    prices, and nothing for a part that the list does not price."""
    if prices is None:
        return Decimal("0.00")
    rate = read_money(prices.labour_rate, prices.currency)
    risk = prices.risk.get(check.risk)
    labour = cents(Decimal(repr(float(check.minutes))) * rate / 60)
    return labour + used_up(check.uses, prices) + (read_money(risk, prices.currency) if risk else 0)


def rank(
    problem: Problem,
    offered: Sequence[OpenCheck],
    answered: Mapping[str, Sequence[Answered]],
    hands: Floats,
    costs: Mapping[str, Decimal],
    *,
    wanted: Sequence[str] = (),
    known: Parted | None = None,
) -> Ranking:
    """Rank the open checks. `answered`: check -> what each of its outcomes would add, in order; `hands` [causes] chance
    of a hand in what was noticed; `wanted`: checks that are worked out whatever the screening says (holds, looks);
    `known`: how far they part the suspects, where that was worked out already.
    """
    apart = known or parted(problem, offered, answered, hands, wanted=wanted)
    saved, perfect = _saved(problem, apart.order, answered, apart.exact, wanted)
    ranked = []
    for check in offered:
        name = check.check
        chances, parts = apart.exact.get(name, (None, apart.screened[name]))
        gain = cents(saved.get(name, 0.0))
        outcomes = tuple(
            OutcomeValue(outcome.title, outcome.answer, 0.0 if chances is None else float(chances[place]))
            for place, outcome in enumerate(check.outcomes)
        )
        covered = 0.0 if chances is None else min(1.0, float(chances.sum()))
        ranked.append(
            CheckValue(
                name,
                check.title,
                check.observations,
                check.minutes,
                check.risk,
                check.setup,
                gain,
                costs[name],
                gain - costs[name],
                float(parts),
                outcomes,
                covered,
                check.moment,
                days=check.days,
                uses=check.uses,
            )
        )
    estimated = problem.estimated or (perfect > 0 and any(name in answered and name not in saved for name in wanted))
    return Ranking(tuple(sorted(ranked, key=_usefulness)), cents(perfect), estimated)


def surely_pays(
    problem: Problem,
    wanted: Sequence[OpenCheck],
    answered: Mapping[str, Sequence[Answered]],
    costs: Mapping[str, Decimal],
    *,
    of: Collection[str],
) -> bool | None:
    """Whether a check saves more than it costs, as far as the wanted ones settle it; None where the ranking has to be
    asked. Wanted checks are worked out before all others: where they fit, each counts as the ranking has it, and where
    they use its room up, no other does. `of`: ids that stay in the ranking whatever else stands in it."""
    evidence, names = problem.evidence, [check.check for check in wanted]
    if problem.ladder is None or problem.estimated or not wanted:
        return None
    rooms = (
        room_used(evidence, wanted, answered),
        used_by(evidence, wanted, answered, VALUE_CELLS, problem.blocks.cut.size),
    )
    if any(used > most for used, _, most in rooms):
        return None
    alone = dict.fromkeys(names, (np.zeros(0), 0.0))  # how far they part orders them, and all are taken
    saved, _ = _saved(problem, wanted, answered, alone, names)
    over = {name: cents(saved.get(name, 0.0)) - costs[name] for name in names}
    if any(over[name] > CENT for name in names if name in of):
        return True
    used, budget, _ = rooms[1]
    return False if used > budget and all(more < -CENT for more in over.values()) else None


def most_saved(problem: Problem) -> Decimal:
    """What knowing how the job would end would save: no check saves more."""
    return Decimal("0.00") if problem.estimated else cents(_perfect(problem)[1])


def _usefulness(check: CheckValue) -> tuple[bool, float | Decimal, Decimal, str]:
    """Those that save more than they cost, then those that part most a minute."""
    if check.net > 0:
        return False, -check.net, check.cost, check.check
    return True, -round(check.parts / max(check.minutes, 1.0), 9), check.cost, check.check


@lru_cache(maxsize=2)
def _perfect(problem: Problem) -> tuple[int, float]:
    """(the way that is cheapest as things stand, what knowing (B, M) would save)."""
    ladder, each = problem.ladder, problem.chances.reshape(-1)
    if ladder is None:
        return 0, 0.0
    now = np.append(ladder.totals(problem.chances[:, :, None])[:, 0], problem.stop)
    chosen = int(np.nanargmin(now))
    split = np.zeros((*problem.chances.shape, each.size))
    split.reshape(each.size, each.size)[np.diag_indices(each.size)] = each
    known = _totals(problem, ladder, split)
    return chosen, float(max(0.0, now[chosen] - known.min(axis=0).sum()))


def _totals(problem: Problem, ladder: Ladder, ways: Floats) -> Floats:
    """[jobs and stopping, columns] what each would cost in the end, from the chances of (B, M) in each column."""
    mass = ways.sum(axis=(0, 1))
    stop = problem.stop * mass if np.isfinite(problem.stop) else np.full(mass.size, np.inf)
    return np.vstack((ladder.totals(ways), stop))


def _saved(
    problem: Problem,
    order: Sequence[OpenCheck],
    answered: Mapping[str, Sequence[Answered]],
    exact: Mapping[str, tuple[Floats, float]],
    wanted: Sequence[str],
) -> tuple[dict[str, float], float]:
    """Check -> money that seeing its outcome saves; and what knowing (B, M) would save."""
    ladder, evidence, blocks = problem.ladder, problem.evidence, problem.blocks
    if ladder is None or problem.estimated:
        return {}, 0.0
    chosen, perfect = _perfect(problem)
    place = {check.check: number for number, check in enumerate(order)}
    ranked = sorted(
        (check for check in order if check.check in exact),
        key=lambda check: (check.check not in wanted, place[check.check] >= 6, -exact[check.check][1], check.check),
    )
    names, answers = fitting(evidence, ranked, answered, VALUE_CELLS, blocks.cut.size, wanted)
    if not answers or perfect <= 0:
        return {}, perfect
    terms = [factors_of(evidence, answer) for answer in answers]
    factors = np.stack([factor for part in terms for _, factor in part], axis=-1)  # [degrees, causes, columns]
    alike = alike_of(evidence, blocks.off, blocks.muted, blocks.cut)
    plain = columns_with(evidence, *alike.of(blocks.off, blocks.muted, blocks.cut))
    count, wide = alike.kept.size, factors.shape[-1]
    columns = Columns(
        wide * count,
        (plain.odds[:, :, None, :] * factors[:, :, :, None]).reshape(*evidence.odds.shape, -1),
        None if plain.muted is None else np.tile(plain.muted, wide),
        {axis: np.tile(start, (1, wide)) if start.shape[1] == count else start for axis, start in plain.start.items()},
    )
    whole = sums_of(evidence, columns_with(evidence, blocks.off[:, 7:8], blocks.muted[:, 7:8], blocks.cut[7:8]))
    given = sums_of(evidence, columns)
    sums = (given.mantissa / whole.mantissa[0] * 2.0 ** (given.power - whole.power)).reshape(wide, count)
    loose = (evidence.odds[:, :, None] * factors)[:, evidence.loose].sum(axis=0)  # [loose causes, columns]
    sums = alike.spread(sums, loose.T[:, :, None] * ~blocks.off[evidence.loose])
    joint, column = [], 0
    for part in terms:
        joint.append(sum(weight * sums[column + place] for place, (weight, _) in enumerate(part)))
        column += len(part)
    ways = given_trouble(chances_of(blocks, np.stack(joint, axis=-1)), problem.nobody)
    mass = ways.sum(axis=(0, 1))
    totals = _totals(problem, ladder, ways)
    saved = dict(zip(answers, np.maximum(0.0, totals[chosen] - totals.min(axis=0)).tolist(), strict=True))
    weight: dict[Answered, float] = dict(zip(answers, mass.tolist(), strict=True))

    def of(name: str) -> float:
        news = [answer for answer in dict.fromkeys(answered[name]) if answer.is_news]
        whole = max(1.0, sum(weight[answer] for answer in news))
        return float(sum(saved[answer] for answer in news)) / whole

    return {name: min(perfect, of(name)) for name in names}, perfect
