"""The noisy-MAX network: odds, hands and what nothing explains, held against enumeration of every world and draw."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import pytest

from howdeep.beliefs.columns import Columns
from howdeep.beliefs.elimination import sums_of
from howdeep.beliefs.evidence import evidence_of
from howdeep.beliefs.network import ladder
from howdeep.beliefs.posteriors import believed, plain_columns, posteriors_of, unexplained
from howdeep.beliefs.worlds import worlds_given
from howdeep.decision.problem import alike_of, columns_with

from .made_up_networks import capped, evidence, made_up, made_up_signs, summed


@pytest.mark.parametrize("seed", range(40))
def test_odds_hands_and_the_unexplained_are_those_of_enumeration(seed):
    rng = np.random.default_rng(seed)
    for _ in range(5):
        given = evidence(rng, causes=int(rng.integers(2, 6)), questions=int(rng.integers(2, 7)))
        network, signs = given.network, given.signs
        whole = summed(network, signs)
        believed = posteriors_of(given)
        assert believed.sums.log() + given.log_scale == pytest.approx(math.log(whole), abs=1e-9)
        telling = [sign for sign in signs if sign.answer]
        outside = [sign for sign in telling if network.nodes[sign.node].sorts[sign.answer - 1] != "bench"]
        for cause in range(len(network.causes)):
            absent = summed(network, signs, off=(cause,))
            assert believed.present[cause, 0] == pytest.approx(1 - absent / whole, abs=1e-9)
            for hand, among in ((believed.hand, telling), (believed.hand_noticed, outside)):
                without = summed(network, signs, cap={cause: among})
                assert hand[cause, 0] == pytest.approx(1 - without / whole, abs=1e-9)
        for sign, (nothing, misread, unlisted) in zip(telling, unexplained(given), strict=True):
            every = {cause: [sign] for cause in range(len(network.causes))}
            assert nothing == pytest.approx(summed(network, signs, cap=every) / whole, abs=1e-9)
            for only, expected in (("misread", misread), ("unlisted", unlisted)):

                def leaks(other, node, only=only, sign=sign):
                    parts = {"normal": node.normal, "unlisted": node.unlisted, "misread": node.misread}
                    return [
                        part if other is not sign or name == only else capped(part, sign)
                        for name, part in parts.items()
                    ]

                assert expected == pytest.approx(summed(network, signs, cap=every, leaks=leaks) / whole, abs=1e-9)


@pytest.mark.parametrize("seed", range(20))
def test_columns_with_causes_off_or_silent_are_those_of_enumeration(seed):
    rng = np.random.default_rng(100 + seed)
    given = evidence(rng, causes=5, questions=6)
    network, signs = given.network, given.signs
    causes, count = len(network.causes), 6
    off, muted = rng.random((causes, count)) < 0.3, rng.random((causes, count)) < 0.3
    odds = given.odds[:, :, None] * ~off
    sums = sums_of(given, Columns(count, odds, muted))
    got = sums.mantissa * math.ldexp(1.0, sums.power) * math.exp(given.log_scale)
    for column in range(count):
        expected = summed(
            network, signs, off=tuple(np.flatnonzero(off[:, column])), mute=tuple(np.flatnonzero(muted[:, column]))
        )
        assert got[column] == pytest.approx(expected, rel=1e-9)


def test_a_sign_left_out_counts_for_nothing():
    rng = np.random.default_rng(7)
    for _ in range(10):
        given = evidence(rng, causes=4, questions=5)
        if not given.axes:
            continue
        left = int(rng.integers(len(given.axes)))
        columns = plain_columns(given)
        columns = Columns(2, np.repeat(columns.odds, 2, axis=2), left_out={left: np.array([False, True])})
        present = posteriors_of(given, columns).present
        others = tuple(sign for sign in given.signs if sign is not given.axes[left].sign)
        whole, absent = (
            summed(given.network, others),
            [summed(given.network, others, off=(cause,)) for cause in range(4)],
        )
        assert present[:, 1] == pytest.approx([1 - part / whole for part in absent], abs=1e-9)
        whole = summed(given.network, given.signs)
        assert present[0, 0] == pytest.approx(1 - summed(given.network, given.signs, off=(0,)) / whole, abs=1e-9)


@pytest.mark.parametrize("seed", range(6))
def test_drawn_worlds_have_the_odds_of_the_sums(seed):
    given = evidence(np.random.default_rng(300 + seed), causes=6, questions=7)
    believed, draws = posteriors_of(given), 20_000
    degrees = worlds_given(given, draws).degrees
    for drawn, exact in (
        ((degrees > 0).mean(axis=0), believed.present[:, 0]),
        ((degrees == 2).mean(axis=0), believed.marked[:, 0]),
    ):
        error = np.sqrt(exact * (1 - exact) / draws) + 1e-9
        assert (np.abs(drawn - exact) < 5 * error).all()
    both = ((degrees[:, 0] > 0) & (degrees[:, 1] > 0)).mean()
    network, signs = given.network, given.signs
    whole = summed(network, signs)
    none, first, second = (summed(network, signs, off=off) / whole for off in ((0, 1), (0,), (1,)))
    exact = 1 - first - second + none
    assert abs(both - exact) < 5 * math.sqrt(exact * (1 - exact) / draws) + 1e-9


@pytest.mark.parametrize("seed", range(12))
def test_an_engine_that_was_brought_in_has_somebody_behind_its_trouble(seed):
    rng = np.random.default_rng(500 + seed)
    network = made_up(rng, causes=4, questions=5)
    signs = made_up_signs(rng, network)
    given = evidence_of(network, signs, brought_in=True)
    found = believed(given)
    must_go = [
        sign for sign in signs if sign.answer and network.nodes[sign.node].sorts[sign.answer - 1] != "discriminator"
    ]
    assert given.brought_in == bool(must_go)
    if not must_go:
        return

    def unlisted_quiet(sign, node):
        quiet = np.full_like(node.unlisted, node.unlisted[0])
        return [node.normal, quiet if sign in must_go else node.unlisted, node.misread]

    def both(**changed):
        every = range(len(network.causes))
        return summed(network, signs, **changed) - summed(network, signs, mute=every, leaks=unlisted_quiet, **changed)

    whole = both()
    assert 1 - whole / summed(network, signs) == pytest.approx(found.nobody, abs=1e-9)
    telling = [sign for sign in signs if sign.answer]
    for cause in range(len(network.causes)):
        assert found.present[cause, 0] == pytest.approx(1 - both(off=(cause,)) / whole, abs=2e-6)
        assert found.hand[cause, 0] == pytest.approx(1 - both(cap={cause: telling}) / whole, abs=1e-9)


@pytest.mark.parametrize("seed", range(20))
def test_columns_that_share_a_pass_are_what_each_would_be_alone(seed):
    rng = np.random.default_rng(200 + seed)
    given = evidence(rng, causes=6, questions=2)  # few questions, so that some causes are loose
    count = 40
    off = rng.random((6, count)) < rng.random(count)
    muted, cut = ~off & (rng.random((6, count)) < rng.random(count)), rng.random(count) < 0.5
    alike = alike_of(given, off, muted, cut)
    alone = sums_of(given, columns_with(given, off, muted, cut))
    shared = sums_of(given, columns_with(given, *alike.of(off, muted, cut)))
    loose = given.odds[:, given.loose].sum(axis=0)[:, None] * ~off[given.loose]
    spread = alike.spread(shared.mantissa, loose) * math.ldexp(1.0, shared.power - alone.power)
    assert spread == pytest.approx(alone.mantissa, rel=1e-12)
    assert alike.kept.size < count


@pytest.mark.parametrize("seed", range(20))
def test_a_cause_that_is_left_may_not_bring_even_a_milder_answer(seed):
    rng = np.random.default_rng(seed)
    plain = made_up(rng, causes=4, questions=4)
    nodes = []
    for node in plain.nodes:
        draws = np.diff(node.at_most, axis=-1).copy()
        draws[:, 0, 1:] = 0.0  # the first cause brings only the mildest answer
        nodes.append(replace(node, at_most=ladder(draws), sorts=("trouble",) * len(node.findings)))
    network = replace(plain, nodes=tuple(nodes))
    signs = made_up_signs(rng, network, soft=False)
    given = evidence_of(network, signs)
    muted = np.zeros((4, 1), dtype=bool)
    muted[0] = True
    sums = sums_of(given, Columns(1, given.odds[:, :, None], muted))
    got = sums.mantissa[0] * math.ldexp(1.0, sums.power) * math.exp(given.log_scale)
    assert got == pytest.approx(summed(network, signs, mute=(0,)), rel=1e-9)
