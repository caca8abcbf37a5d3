"""The next check: what each check that can be made now would save, and how far it parts who has a hand in it.

An outcome of a check is a set of answers to questions not yet counted. Its chance is their joint probability given the
evidence: a sound answer multiplies the odds of the causes, a telling answer k is the difference of "k or lower" and
"lower than k", so an outcome with p telling answers is a signed sum of 2^p columns of the same elimination. Outcomes
exclude each other; of what they leave uncovered it is known only that none of them came, and no money is set on that.
Several answers to one test are counted side by side in a short form, so that the chances of its outcomes may come to
more than one: they are then taken as shares of their sum, and what is believed before as what they come to together.

Two values are kept: the money that the decision itself would save (never negative, Raiffa & Schlaifer 1961), and the
expected fall of the entropy of who has a hand in what was noticed, cause by cause. The second says what a check tells
where no single check moves the choice. Which checks are worked out exactly is chosen by a screening value that takes
the causes as independent given what is known.
"""

from __future__ import annotations

import itertools
from collections.abc import Collection, Mapping, Sequence
from decimal import Decimal
from functools import lru_cache

import numpy as np

from ..arrays import Floats
from ..beliefs.columns import Columns
from ..beliefs.elimination import sums_of
from ..beliefs.evidence import Evidence, Sign, sound_factor
from ..beliefs.posteriors import posteriors_after
from ..model.frozen import dataclass
from ..model.prices import PriceList
from ..model.results import CheckValue, OutcomeValue
from ..pricing.money import cents, read_money
from .ladder import chances_of
from .open_checks import OpenCheck
from .problem import Problem, alike_of, columns_with, given_trouble

MOST_TELLING = 3
"""Most telling answers of one outcome that are counted."""
CELLS = 30_000
"""Cells of the tables worked out for the entropy of outcomes: more checks at small widths, fewer at large ones."""
VALUE_CELLS = 40_000
"""The same for the money that an outcome saves."""
ROUNDING = 1e-9
"""Bits by which what is worked out alone may differ from what is worked out beside others."""
CENT = Decimal("0.01")
"""Money by which a sum worked out beside fewer others may differ from the ranking's."""
MOST_CELLS = 2_000_000
"""Cells beyond which the money is worked out for no further check, wanted or not (about a second): the ranking is then
marked as estimated, and goes by what a check parts."""


@dataclass(frozen=True, slots=True)
class Ranking:
    """Every check that can be made now, the most worthwhile first."""

    checks: tuple[CheckValue, ...]
    perfect: Decimal = Decimal("0.00")
    """What knowing how the job would end would save: no check is worth more."""
    estimated: bool = False
    """Whether figures are sampled, or the money that a wanted check saves took too long to be worked out."""


@dataclass(frozen=True, slots=True)
class Parted:
    """How far each check that can be made now parts the suspects."""

    order: tuple[OpenCheck, ...]
    """Wanted checks first, then those that part most by the screening."""
    screened: Mapping[str, float]
    """Check -> bits, the causes taken as independent."""
    exact: Mapping[str, tuple[Floats, float]]
    """Check -> [outcomes] their chances, and bits; of those worked out exactly."""

    def bits(self, check: str) -> float:
        """Bits by which a check parts the suspects, exact where that was worked out."""
        return float(self.exact[check][1] if check in self.exact else self.screened[check])


@dataclass(frozen=True, slots=True)
class Answered:
    """One outcome as the signs that it would add."""

    telling: tuple[Sign, ...]
    sound: tuple[Sign, ...]

    @property
    def is_news(self) -> bool:
        """Whether it would tell anything."""
        return bool(self.telling or self.sound)


def cost_of_check(check: OpenCheck, prices: PriceList | None) -> Decimal:
    """Minutes at the labour rate, and the money set against its risk; nothing without prices."""
    if prices is None:
        return Decimal("0.00")
    rate = read_money(prices.labour_rate, prices.currency)
    risk = prices.risk.get(check.risk)
    return cents(Decimal(repr(float(check.minutes))) * rate / 60) + (read_money(risk, prices.currency) if risk else 0)


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
            )
        )
    estimated = problem.estimated or (perfect > 0 and any(name in answered and name not in saved for name in wanted))
    return Ranking(tuple(sorted(ranked, key=_usefulness)), cents(perfect), estimated)


def parted(
    problem: Problem,
    offered: Sequence[OpenCheck],
    answered: Mapping[str, Sequence[Answered]],
    hands: Floats,
    *,
    wanted: Sequence[str] = (),
) -> Parted:
    """How far each open check parts the suspects; arguments as of `rank`."""
    evidence = problem.evidence
    screened = _screened(evidence, hands, {check.check: answered[check.check] for check in offered})
    order = sorted(offered, key=lambda check: (check.check not in wanted, -screened[check.check], check.check))
    return Parted(tuple(order), screened, _parts(problem, hands, order, answered, wanted))


def one_parts(
    problem: Problem,
    wanted: Sequence[OpenCheck],
    answered: Mapping[str, Sequence[Answered]],
    hands: Floats,
    least: float,
    *,
    of: Collection[str],
    tried: int = 3,
) -> bool:
    """Whether one of the likeliest of the wanted checks, each worked out alone, surely parts the suspects by so many
    bits: soon found where it is so. `of`: ids that count. False says nothing."""
    evidence, names = problem.evidence, [check.check for check in wanted]
    screened = _screened(evidence, hands, {check.check: answered[check.check] for check in wanted})
    order = sorted(wanted, key=lambda check: (-screened[check.check], check.check))
    exact = set(_chosen(evidence, order, answered, CELLS, 1, names)[0])  # the others count by the screening alone
    likely = [check for check in order if check.check in exact and check.check in of][:tried]
    return any(
        _parts(problem, hands, [check], answered, names).get(check.check, ((), 0.0))[1] > least + ROUNDING
        for check in likely
    )


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
        _used(evidence, wanted, answered, CELLS, 1),
        _used(evidence, wanted, answered, VALUE_CELLS, problem.blocks.cut.size),
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


def _signed(answer: Answered) -> list[tuple[float, tuple[tuple[Sign, int], ...]]]:
    """(sign of the term, (telling sign, cut) for each telling sign)."""
    telling = answer.telling[:MOST_TELLING]
    return [
        (float((-1) ** sum(low)), tuple((sign, sign.answer - down) for sign, down in zip(telling, low, strict=True)))
        for low in itertools.product((0, 1), repeat=len(telling))
    ]


@lru_cache(maxsize=4)
def _terms(evidence: Evidence) -> dict[Answered, list[tuple[float, Floats]]]:
    """What was worked out so far of outcomes beside this evidence: screening, bits and money ask for the same ones."""
    return {}


def _factors(evidence: Evidence, answer: Answered) -> list[tuple[float, Floats]]:
    """(signed weight of the leaks, [degrees, causes] what odds are multiplied with) of each column of an outcome."""
    kept = _terms(evidence)
    if answer in kept:
        return kept[answer]
    nodes = evidence.network.nodes
    factor, scale = np.ones_like(evidence.odds), 1.0
    for sign in answer.sound:
        given, leak = sound_factor(evidence.network, sign)
        factor, scale = factor * given, scale * leak
    result = []
    for plus, cuts in _signed(answer):
        here, weight = factor, scale * plus
        for sign, cut in cuts:
            node = nodes[sign.node]
            here, weight = here * node.at_most[:, :, cut], weight * float(node.leak[cut])
        result.append((weight, here))
    kept[answer] = result
    return result


def _screened(evidence: Evidence, hands: Floats, outcomes: Mapping[str, Sequence[Answered]]) -> dict[str, float]:
    """Check -> bits by which its outcomes part the causes, were these independent given what is known; no cause counts
    for more than it has a hand in what was noticed."""
    answers = list(dict.fromkeys(answer for each in outcomes.values() for answer in each if answer.is_news))
    if not answers:
        return dict.fromkeys(outcomes, 0.0)
    terms = [_factors(evidence, answer) for answer in answers]
    begins = np.cumsum([0, *(len(part) for part in terms[:-1])])
    shown = np.stack([factor[1] for part in terms for _, factor in part])
    mixed = 1 - hands + hands * shown
    whole = mixed.prod(axis=1) * np.array([weight for part in terms for weight, _ in part])
    chances = np.add.reduceat(whole, begins)
    joint = np.add.reduceat(whole[:, None] * hands * shown / mixed, begins, axis=0)
    told = chances > 1e-9
    place = {answer: number for number, answer in enumerate(answers)}
    bits = {}
    for name, each in outcomes.items():
        mine = [place[answer] for answer in dict.fromkeys(each) if answer in place and told[place[answer]]]
        bits[name] = max(0.0, _fall(hands, chances[mine], joint[mine])) if mine else 0.0
    return bits


def _fall(now: Floats, chances: Floats, joint: Floats) -> float:
    """Expected fall of the entropy of `now` [causes] by outcomes of these chances, `joint` [outcomes, causes].

    What they leave uncovered is one more outcome; where they come to more than one they are shares of their sum.
    """
    total = float(chances.sum())
    left = chances @ _entropy(np.clip(joint / chances[:, None], 0.0, 1.0))
    if total > 1:
        return float((_entropy(np.clip(joint.sum(axis=0) / total, 0.0, 1.0)) - left / total).sum())
    rest = max(1 - total, 1e-12)
    return float((_entropy(now) - left - rest * _entropy(np.clip((now - joint.sum(axis=0)) / rest, 0.0, 1.0))).sum())


def _entropy(chance: Floats) -> Floats:
    """Bits of each chance."""
    p = np.clip(chance, 1e-12, 1 - 1e-12)
    return -(p * np.log2(p) + (1 - p) * np.log2(1 - p))


def _chosen(
    evidence: Evidence,
    order: Sequence[OpenCheck],
    answered: Mapping[str, Sequence[Answered]],
    cells: int,
    each: int,
    wanted: Sequence[str],
) -> tuple[list[str], list[Answered]]:
    """Checks from the front of the order whose outcomes fit into so many cells, wanted ones while they fit into
    MOST_CELLS, and their outcomes without doubles."""
    budget, most = _room(evidence, cells, each)
    names: list[str] = []
    found: dict[Answered, None] = {}
    used = 0
    for check in order:
        new = [answer for answer in dict.fromkeys(answered[check.check]) if answer.is_news and answer not in found]
        more = sum(_columns(answer) for answer in new)
        if used + more > most or (used + more > budget and names and check.check not in wanted):
            break
        used += more
        names.append(check.check)
        found.update(dict.fromkeys(new))
    return names, list(found)


def _columns(answer: Answered) -> int:
    """Columns of one outcome."""
    return 1 << min(len(answer.telling), MOST_TELLING)


def _room(evidence: Evidence, cells: int, each: int) -> tuple[int, int]:
    """(columns worked out for checks of their own accord, most columns worked out for wanted ones)."""
    one = each << min(evidence.width, 20)
    return max(16, cells // one), max(cells, MOST_CELLS) // one


def _used(
    evidence: Evidence, checks: Sequence[OpenCheck], answered: Mapping[str, Sequence[Answered]], cells: int, each: int
) -> tuple[int, int, int]:
    """(columns of all these checks, and the room as of `_room`)."""
    answers = {answer for check in checks for answer in answered[check.check] if answer.is_news}
    return sum(_columns(answer) for answer in answers), *_room(evidence, cells, each)


def _parts(
    problem: Problem,
    hands: Floats,
    order: Sequence[OpenCheck],
    answered: Mapping[str, Sequence[Answered]],
    wanted: Sequence[str],
) -> dict[str, tuple[Floats, float]]:
    """Check -> [outcomes] their chances, and the expected fall of the entropy of hands in bits."""
    evidence = problem.evidence
    names, answers = _chosen(evidence, order, answered, CELLS, 1, wanted)
    if not answers:
        return {}
    terms = [_factors(evidence, answer) for answer in answers]
    factors = np.stack([np.ones_like(evidence.odds), *(factor for part in terms for _, factor in part)], axis=-1)
    sums, after = posteriors_after(evidence, factors, problem.nobody)
    result: dict[Answered, tuple[float, Floats]] = {}
    column = 1
    for answer, part in zip(answers, terms, strict=True):
        chance, joint = 0.0, np.zeros(len(hands))
        for weight, _ in part:
            whole = weight * float(sums[column])
            chance += whole
            joint += whole * after[:, column]
            column += 1
        result[answer] = max(chance, 0.0), joint
    values = {}
    for name in names:
        outcomes = answered[name]
        alike = {answer: sum(other == answer for other in outcomes) for answer in outcomes}
        chances = np.array([result[answer][0] / alike[answer] if answer.is_news else 0.0 for answer in outcomes])
        total = chances.sum()
        scale = 1 / total if total > 1 else 1.0
        told = [result[answer] for answer in dict.fromkeys(outcomes) if answer.is_news and result[answer][0] > 1e-12]
        come, with_it = np.array([part for part, _ in told]), [part for _, part in told]
        fall = _fall(after[:, 0], come, np.stack(with_it)) if told else 0.0
        if any(not answer.is_news for answer in outcomes):
            quiet = [place for place, answer in enumerate(outcomes) if not answer.is_news]
            chances[quiet] = max(0.0, 1 - total) / len(quiet)
        values[name] = chances * (scale if total > 1 else 1.0), max(fall, 0.0)
    return values


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
    known = np.vstack(
        (
            ladder.totals(split),
            problem.stop * each[None] if np.isfinite(problem.stop) else np.full((1, each.size), np.inf),
        )
    )
    return chosen, float(max(0.0, now[chosen] - known.min(axis=0).sum()))


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
    ranked = sorted(
        (check for check in order if check.check in exact),
        key=lambda check: (check.check not in wanted, order.index(check) >= 6, -exact[check.check][1], check.check),
    )
    names, answers = _chosen(evidence, ranked, answered, VALUE_CELLS, blocks.cut.size, wanted)
    if not answers or perfect <= 0:
        return {}, perfect
    terms = [_factors(evidence, answer) for answer in answers]
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
    totals = np.vstack(
        (
            ladder.totals(ways),
            problem.stop * mass[None] if np.isfinite(problem.stop) else np.full((1, mass.size), np.inf),
        )
    )
    saved = dict(zip(answers, np.maximum(0.0, totals[chosen] - totals.min(axis=0)).tolist(), strict=True))
    weight: dict[Answered, float] = dict(zip(answers, mass.tolist(), strict=True))

    def of(name: str) -> float:
        news = [answer for answer in dict.fromkeys(answered[name]) if answer.is_news]
        whole = max(1.0, sum(weight[answer] for answer in news))
        return float(sum(saved[answer] for answer in news)) / whole

    return {name: min(perfect, of(name)) for name in names}, perfect
