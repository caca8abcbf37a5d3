"""Causes that bring the same signs, summed together: the same odds and hands as one by one."""

from __future__ import annotations

import itertools
from dataclasses import replace

import numpy as np
import pytest

from howdeep.beliefs import grouped as module
from howdeep.beliefs.columns import Columns
from howdeep.beliefs.elimination import sums_of
from howdeep.beliefs.evidence import evidence_of
from howdeep.beliefs.grouped import is_grouped, joined, joined_back
from howdeep.beliefs.posteriors import posteriors_of

from .made_up_networks import made_up, made_up_signs

SIZES = ((2,), (3,), (2, 2), (2, 4), (2, 2, 2), (3, 2, 2))


def alike(rng, causes=12, questions=5):
    """Evidence on a network of which most causes bring the very signs that another brings."""
    network = made_up(rng, causes, questions)
    nodes = []
    for node in network.nodes:
        at_most = node.at_most.copy()
        for cause in range(causes):
            if cause % 3:
                at_most[:, cause] = node.at_most[:, cause - cause % 3] ** rng.uniform(0.5, 2.0)
        nodes.append(replace(node, at_most=at_most))
    network = replace(network, nodes=tuple(nodes))
    return evidence_of(network, made_up_signs(rng, network))


def columns_of(rng, given, count=4):
    causes = len(given.network.causes)
    odds = given.odds[:, :, None] * rng.uniform(0.2, 2.0, (2, causes, count))
    muted = rng.random((causes, count)) < 0.2
    left_out = {0: rng.random(count) < 0.5} if given.axes else {}
    return Columns(count, odds, muted, left_out=left_out)


@pytest.mark.parametrize("seed", range(25))
def test_together_and_one_by_one_come_to_the_same(seed, monkeypatch):
    rng = np.random.default_rng(seed)
    given = alike(rng)
    columns = columns_of(rng, given)
    found = {}
    for name, cells, few in (("together", 10**6, 10**9), ("one by one", 0, 0), ("as usual", 16, 30)):
        monkeypatch.setattr(module, "MOST_CELLS", cells)
        monkeypatch.setattr(module, "FEW", few)
        assert name == "as usual" or {is_grouped(given, group) for group in given.plan.groups} <= {name == "together"}
        found[name] = posteriors_of(given, columns), sums_of(given, columns)
    usual, summed = found["as usual"]
    for other, sums in (found["together"], found["one by one"]):
        assert sums.relative(summed) == pytest.approx(summed.relative(), rel=1e-11)
        for part in ("present", "marked", "hand", "hand_noticed"):
            assert getattr(other, part) == pytest.approx(getattr(usual, part), abs=1e-11)


def test_most_of_the_made_up_causes_stand_in_groups():
    groups = [len(group.causes) for seed in range(25) for group in alike(np.random.default_rng(seed)).plan.groups]
    assert sum(count for count in groups if count > 1) > sum(groups) / 2


@pytest.mark.parametrize("small", [0, 10**9])
@pytest.mark.parametrize("sizes", SIZES)
def test_joined_spreads_are_those_of_every_pair_of_draws(sizes, small, monkeypatch):
    monkeypatch.setattr(module, "SMALL", small)
    rng = np.random.default_rng(len(sizes))
    cells = list(itertools.product(*map(range, sizes)))
    first, second, adjoint = (rng.random((3, len(cells), 2)) for _ in range(3))
    expected, back = np.zeros_like(first), np.zeros_like(first)
    for one, other in itertools.product(range(len(cells)), repeat=2):
        higher = cells.index(tuple(map(max, cells[one], cells[other])))
        expected[:, higher] += first[:, one] * second[:, other]
        back[:, one] += adjoint[:, higher] * second[:, other]
    assert joined(first, second, sizes) == pytest.approx(expected, rel=1e-12)
    assert joined_back(adjoint, second, sizes) == pytest.approx(back, rel=1e-12)
