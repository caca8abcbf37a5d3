"""Chances of being enough and costs without foresight, held against every world with every draw on random networks."""

from __future__ import annotations

import dataclasses
import functools

import numpy as np
import pytest

from howdeep.beliefs.evidence import evidence_of
from howdeep.decision.ladder import LEVELS, NOBODY, UNLISTED, Terms
from howdeep.decision.problem import Job, problem_of
from howdeep.model.terms import RUNGS

from .literal_worlds import Shop, ways_of
from .made_up_networks import made_up, made_up_signs

NEAR = {"abs": 1e-9, "rel": 1e-9}


@dataclasses.dataclass
class Tried:
    """A random problem and all its ways."""

    problem: object
    shop: Shop
    ways: list
    signs: tuple
    cured: frozenset


@functools.cache
def tried(seed: int) -> Tried:
    rng = np.random.default_rng(seed)
    causes = int(rng.integers(2, 5))
    network = made_up(rng, causes=causes, questions=int(rng.integers(2, 6)))
    network = dataclasses.replace(
        network, nodes=tuple(dataclasses.replace(node, in_use=bool(rng.random() < 0.5)) for node in network.nodes)
    )
    signs = made_up_signs(rng, network)
    need = rng.integers(0, LEVELS, causes)
    seen = np.clip(need + rng.integers(-3, 2, causes), 0, LEVELS - 1)
    prices = np.sort(rng.uniform(50, 5000, LEVELS)) if seed % 4 else rng.uniform(50, 5000, LEVELS)
    stop = float(rng.uniform(200, 6000)) if seed % 5 else float("inf")
    look = (float("inf"), float("inf"), float(rng.uniform(10, 400)), float(rng.uniform(10, 900)), *(float("inf"),) * 2)
    terms = Terms(
        float(rng.uniform(0.9, 1.5)),
        float(rng.uniform(0, 1500)),
        float(rng.uniform(0, 500)),
        float(rng.uniform(0, 300)),
        stop,
        look,
        float(rng.choice([0.0, 0.5, 1.0])),
    )
    cured = frozenset(name for name in network.causes if rng.random() < 0.5)
    rung = int(rng.integers(0, LEVELS - 1))
    job = Job(RUNGS[rung], False, float(rng.uniform(20, 3000)), cured)
    levels = ({name: RUNGS[level] for name, level in zip(network.causes, given, strict=True)} for given in (need, seen))
    problem = problem_of(evidence_of(network, signs), *levels, prices.tolist(), [job], terms)
    shop = Shop(need.tolist(), seen.tolist(), prices.tolist(), terms, problem.ladder.in_use)
    return Tried(problem, shop, ways_of(network, signs, need.tolist()), signs, cured)


SEEDS = range(100)


@pytest.mark.parametrize("seed", SEEDS)
def test_what_is_blocked_and_left_and_what_is_enough_are_those_of_every_draw(seed):
    case = tried(seed)
    problem, shop = case.problem, case.shop
    levels = problem.blocks.levels
    expected = np.zeros_like(problem.chances)
    for way in case.ways:
        row = sum(
            1 << place
            for place, level in enumerate(levels)
            if any(shop.seen[cause] <= level < shop.need[cause] for cause in way.present)
        )
        expected[row, way.most - NOBODY] += way.weight
    assert problem.chances == pytest.approx(expected, abs=1e-9)
    for rung in range(LEVELS):
        assert problem.weighed[rung].enough == pytest.approx(
            sum(way.weight for way in case.ways if way.most <= rung), **NEAR
        )
        assert problem.every[rung] == pytest.approx(
            sum(way.weight for way in case.ways if all(shop.need[cause] <= rung for cause in way.present)), **NEAR
        )


@pytest.mark.parametrize("seed", SEEDS)
def test_every_package_and_look_costs_what_the_policy_followed_literally_costs(seed):
    case = tried(seed)
    problem, shop = case.problem, case.shop
    for rung in range(LEVELS):
        weighed = problem.weighed[rung]
        assert weighed.expected == pytest.approx(shop.cost(rung, case.ways), **NEAR)
        assert weighed.job.price + weighed.growth + weighed.failing == pytest.approx(weighed.expected, **NEAR)
    assert set(problem.looks) == {2, 3}
    for level, cost in problem.looks.items():
        assert cost == pytest.approx(shop.looking(level, case.ways), **NEAR)


@pytest.mark.parametrize("seed", SEEDS)
def test_a_targeted_job_is_enough_and_costs_what_its_left_draws_say(seed):
    case = tried(seed)
    network, shop, weighed = case.problem.evidence.network, case.shop, case.problem.weighed[LEVELS]
    left = [NOBODY if name in case.cured else level for name, level in zip(network.causes, shop.need, strict=True)]
    ways = ways_of(network, case.signs, left)
    assert weighed.enough == pytest.approx(sum(way.weight for way in ways if way.most == NOBODY), **NEAR)
    assert weighed.expected == pytest.approx(
        shop.targeted(RUNGS.index(weighed.job.rung), weighed.job.price, ways), **NEAR
    )


@pytest.mark.parametrize("seed", SEEDS[:40])
def test_a_comeback_is_charged_for_what_only_use_shows(seed):
    """Of the ways in which a depth fails, the share in which nothing that is proved at once is left."""
    case = tried(seed)
    network, need = case.problem.evidence.network, case.shop.need
    must_go = [
        network.nodes[sign.node]
        for sign in case.signs
        if sign.answer and network.nodes[sign.node].sorts[sign.answer - 1] != "discriminator"
    ]
    if all(node.in_use for node in must_go):
        assert case.problem.ladder.in_use == (1.0,) * LEVELS
        return
    at_once = ways_of(network, case.signs, need, at_once=True)
    for level in range(LEVELS):
        failing = sum(way.weight for way in case.ways if way.most > level)
        quiet = sum(way.weight for way in at_once if way.most <= level) - (1 - failing)
        if failing > 1e-9:
            assert case.problem.ladder.in_use[level] == pytest.approx(quiet / failing, abs=1e-7)


def test_a_fault_that_is_not_on_the_list_is_cured_by_no_depth():
    case = next(case for case in map(tried, SEEDS) if any(way.most == UNLISTED for way in case.ways))
    unlisted = sum(way.weight for way in case.ways if way.most == UNLISTED)
    assert unlisted > 1e-4
    assert case.problem.weighed[LEVELS - 1].enough <= 1 - unlisted + 1e-9
