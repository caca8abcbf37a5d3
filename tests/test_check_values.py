"""What a check would save and how far it parts the causes, held against every world counted anew for every outcome."""

from __future__ import annotations

import itertools
from decimal import Decimal

import numpy as np
import pytest

from howdeep.beliefs import posteriors
from howdeep.beliefs.evidence import Sign, evidence_of
from howdeep.beliefs.posteriors import believed
from howdeep.decision import information_gain, outcome_columns, value_of_information
from howdeep.decision.ladder import LEVELS, Terms
from howdeep.decision.open_checks import OpenCheck, PossibleOutcome
from howdeep.decision.outcome_columns import Answered
from howdeep.decision.problem import problem_of
from howdeep.decision.value_of_information import rank
from howdeep.model.terms import RUNGS

from .literal_worlds import NOBODY, Shop, Way, ways_of
from .made_up_networks import made_up, made_up_signs, summed

NEAR = {"abs": 1e-9, "rel": 1e-9}


def check(name: str, outcomes: int, minutes: float = 5.0) -> OpenCheck:
    return OpenCheck(
        name,
        name,
        (name,),
        minutes,
        "none",
        "",
        "test",
        tuple(PossibleOutcome(str(number), str(number), {}) for number in range(outcomes)),
    )


class Tried:
    """A random problem with checks of one, two and three questions, all answers of each laid out."""

    def __init__(self, seed: int, *, brought_in: bool = False):
        rng = np.random.default_rng(seed)
        causes = int(rng.integers(2, 4))
        self.network = made_up(rng, causes=causes, questions=6)
        self.signs = tuple(sign for sign in made_up_signs(rng, self.network) if sign.node < 3)
        self.need = rng.integers(0, LEVELS, causes)
        self.seen = np.clip(self.need + rng.integers(-3, 2, causes), 0, LEVELS - 1)
        self.prices = np.sort(rng.uniform(50, 5000, LEVELS)).tolist()
        stop = float(rng.uniform(500, 8000)) if seed % 3 else float("inf")
        self.terms = Terms(float(rng.uniform(1, 1.4)), float(rng.uniform(0, 1500)), 90.0, 40.0, stop)
        levels = (
            {name: RUNGS[level] for name, level in zip(self.network.causes, given, strict=True)}
            for given in (self.need, self.seen)
        )
        self.evidence = evidence_of(self.network, self.signs, brought_in=brought_in)
        self.problem = problem_of(self.evidence, *levels, self.prices, (), self.terms)
        self.hands = believed(self.evidence).hand[:, 0]
        self.answered = {f"of_{count}": tuple(self.laid(range(3, 3 + count))) for count in (1, 2, 3)}
        self.offered = [check(name, len(outcomes)) for name, outcomes in self.answered.items()]

    def laid(self, nodes):
        """Every combination of answers to these questions."""
        for answers in itertools.product(*(range(len(self.network.nodes[node].findings) + 1) for node in nodes)):
            signs = [Sign(node, answer) for node, answer in zip(nodes, answers, strict=True)]
            yield Answered(
                tuple(sign for sign in signs if sign.answer), tuple(sign for sign in signs if not sign.answer)
            )

    def ways(self, also=()):
        """Every world and draw that is left, jointly with the signs in `also`: somebody is behind what must go where
        the engine was brought in for it."""
        found = ways_of(self.network, self.signs, self.need.tolist(), also=also)
        if not self.evidence.brought_in:
            return found
        left = 1 - sum(
            way.weight for way in ways_of(self.network, self.signs, self.need.tolist()) if way.most == NOBODY
        )
        return [Way(way.present, way.most, way.weight / left) for way in found if way.most > NOBODY]

    def summed(self, **changed) -> float:
        """Chance of the evidence, the worlds with nobody behind it taken out as in `ways`."""
        whole = summed(self.network, self.signs, **changed)
        if not self.evidence.brought_in:
            return whole

        def unlisted_quiet(sign, node):
            must_go = sign in self.signs and sign.answer and node.sorts[sign.answer - 1] != "discriminator"
            quiet = np.full_like(node.unlisted, node.unlisted[0])
            return [node.normal, quiet if must_go else node.unlisted, node.misread]

        every = range(len(self.network.causes))
        return whole - summed(self.network, self.signs, mute=every, leaks=unlisted_quiet, **changed)

    def costs(self, ways) -> list[float]:
        """Of every package, then of stopping."""
        shop = Shop(self.need.tolist(), self.seen.tolist(), self.prices, self.terms, self.problem.ladder.in_use)
        mass = sum(way.weight for way in ways)
        return [*(shop.cost(rung, ways) for rung in range(LEVELS)), self.terms.stop * mass]


@pytest.fixture
def exactly(monkeypatch):
    """Money not rounded, nothing screened out."""
    monkeypatch.setattr(value_of_information, "cents", float)
    monkeypatch.setattr(information_gain, "CELLS", 10**12)
    monkeypatch.setattr(value_of_information, "VALUE_CELLS", 10**12)
    monkeypatch.setattr(posteriors, "SO_FEW", 0.0)


def ranked(case: Tried, wanted=()):
    found = rank(
        case.problem, case.offered, case.answered, case.hands, dict.fromkeys(case.answered, 0.0), wanted=wanted
    )
    return {value.check: value for value in found.checks}, found.perfect


def entropy(chances) -> np.ndarray:
    p = np.clip(chances, 1e-12, 1 - 1e-12)
    return -(p * np.log2(p) + (1 - p) * np.log2(1 - p))


@pytest.mark.parametrize("brought_in", [False, True])
@pytest.mark.parametrize("seed", range(20))
def test_the_money_that_a_check_saves_is_that_of_deciding_anew_after_every_outcome(exactly, seed, brought_in):
    case = Tried(seed, brought_in=brought_in)
    values, perfect = ranked(case)
    ways = case.ways()
    now = case.costs(ways)
    chosen = int(np.argmin(now))
    known: dict = {}
    for way in ways:
        blocked = frozenset(
            level
            for level in range(LEVELS - 1)
            if any(case.seen[cause] <= level < case.need[cause] for cause in way.present)
        )
        known.setdefault((blocked, way.most), []).append(way)
    best = sum(min(case.costs(group)) for group in known.values())
    assert perfect == pytest.approx(now[chosen] - best, abs=1e-8)
    for name, outcomes in case.answered.items():
        gain = 0.0
        for outcome, told in zip(outcomes, values[name].outcomes, strict=True):
            given = case.ways((*outcome.telling, *outcome.sound))
            assert told.chance == pytest.approx(sum(way.weight for way in given), **NEAR)
            after = case.costs(given)
            gain += after[chosen] - min(after)
        assert values[name].gain == pytest.approx(gain, abs=1e-8)
        assert values[name].covered == pytest.approx(1.0, **NEAR)
        assert 0 <= values[name].gain <= perfect + 1e-9


@pytest.mark.parametrize("brought_in", [False, True])
@pytest.mark.parametrize("seed", range(20, 32))
def test_how_far_a_check_parts_the_causes_is_the_fall_of_the_entropy_of_hands(exactly, seed, brought_in):
    case = Tried(seed, brought_in=brought_in)
    values, _ = ranked(case)
    whole = case.summed()
    telling = [sign for sign in case.signs if sign.answer]
    causes = range(len(case.network.causes))
    for name, outcomes in case.answered.items():
        fall = entropy(case.hands)
        for outcome in outcomes:
            told = (*outcome.telling, *outcome.sound)
            with_it = case.summed(also=told)
            hands = np.array([1 - case.summed(also=told, cap={cause: telling}) / with_it for cause in causes])
            fall = fall - with_it / whole * entropy(hands)
        assert values[name].parts == pytest.approx(max(float(fall.sum()), 0.0), abs=1e-9)


@pytest.mark.parametrize("seed", range(3))
def test_screening_drops_no_wanted_check_and_changes_no_figure_of_those_it_keeps(exactly, monkeypatch, seed):
    case = Tried(seed)
    every, _ = ranked(case)
    monkeypatch.setattr(information_gain, "CELLS", 1)
    monkeypatch.setattr(value_of_information, "VALUE_CELLS", 1)
    wanted = tuple(case.answered)
    few, _ = ranked(case, wanted)
    for name in wanted:
        assert (few[name].gain, few[name].parts) == pytest.approx((every[name].gain, every[name].parts), abs=1e-9)
        assert [outcome.chance for outcome in few[name].outcomes] == pytest.approx(
            [outcome.chance for outcome in every[name].outcomes], abs=1e-9
        )


def test_where_the_money_takes_too_long_even_for_wanted_checks_the_ranking_says_so(monkeypatch):
    for case in map(Tried, range(20)):
        costs = dict.fromkeys(case.answered, Decimal(0))
        whole = rank(case.problem, case.offered, case.answered, case.hands, costs, wanted=tuple(case.answered))
        if any(value.gain for value in whole.checks):
            break
    monkeypatch.setattr(value_of_information, "VALUE_CELLS", 1)
    monkeypatch.setattr(outcome_columns, "MOST_CELLS", 10)
    short = rank(case.problem, case.offered, case.answered, case.hands, costs, wanted=tuple(case.answered))
    assert not whole.estimated and short.estimated
    assert any(value.gain for value in whole.checks) and not any(value.gain for value in short.checks)


def test_outcomes_that_say_the_same_share_one_chance_and_one_value(exactly):
    case = Tried(3)
    plain, _ = ranked(case)
    first, *others = case.answered["of_1"]
    case.answered["of_1"] = (first, first, *others)
    case.offered[0] = check("of_1", len(others) + 2)
    split, _ = ranked(case)
    assert split["of_1"].gain == pytest.approx(plain["of_1"].gain, **NEAR)
    assert split["of_1"].parts == pytest.approx(plain["of_1"].parts, **NEAR)
    chances = [outcome.chance for outcome in split["of_1"].outcomes]
    assert chances[0] == chances[1] and sum(chances) == pytest.approx(1.0)


def test_what_tells_nothing_is_no_news_and_saves_nothing():
    case = Tried(4)
    case.answered["of_1"] = (Answered((), ()), Answered((), ()))
    case.offered[0] = check("of_1", 2)
    found = rank(case.problem, case.offered, case.answered, case.hands, dict.fromkeys(case.answered, Decimal("3.50")))
    empty = next(value for value in found.checks if value.check == "of_1")
    assert empty.gain == 0 and empty.net == Decimal("-3.50") and empty.parts == 0


def test_of_checks_that_save_nothing_those_come_first_that_part_most_a_minute():
    case = Tried(5)
    case.offered = [
        check(name, len(case.answered[name]), minutes)
        for name, minutes in zip(case.answered, (1.0, 500.0, 500.0), strict=True)
    ]
    dear = dict.fromkeys(case.answered, Decimal(10**6))
    found = rank(case.problem, case.offered, case.answered, case.hands, dear).checks
    shares = [round(value.parts / value.minutes, 9) for value in found]
    assert shares == sorted(shares, reverse=True) and found[0].check == "of_1"


def test_outcomes_that_overlap_are_taken_as_shares_of_their_sum(exactly):
    """One of two questions answered either way and nothing of the other, beside both: each world comes twice."""
    for case in (Tried(seed, brought_in=True) for seed in range(40, 46)):
        plain, _ = ranked(case)
        case.answered["of_1"] = (*case.answered["of_1"], *case.answered["of_2"])
        case.offered[0] = check("of_1", len(case.answered["of_1"]))
        twice, _ = ranked(case)
        assert sum(outcome.chance for outcome in twice["of_1"].outcomes) == pytest.approx(1.0, **NEAR)
        assert twice["of_1"].parts == pytest.approx((plain["of_1"].parts + plain["of_2"].parts) / 2, abs=1e-9)
        assert twice["of_1"].gain == pytest.approx((plain["of_1"].gain + plain["of_2"].gain) / 2, abs=1e-8)
