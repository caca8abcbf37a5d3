"""Beliefs against all worlds, a general library and published arithmetic."""

from __future__ import annotations

import dataclasses
import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from howdeep.errors import HowdeepError
from howdeep.model.results import Counted
from howdeep.reasoning import reweighted, sampling, variants
from howdeep.reasoning.beliefs import believe
from howdeep.reasoning.elimination import evidence_of
from howdeep.reasoning.messages import messages_of, sums_of
from howdeep.reasoning.posteriors import posteriors
from howdeep.reasoning.reweighted import sums_with_weights
from howdeep.reasoning.slopes import slopes_of

from .small_worlds import AllWorlds, network, random_evidence, random_network


def counted(net, present, absent):
    return Counted(tuple(net.findings[i] for i in present), tuple(net.findings[i] for i in absent), {})


@pytest.mark.parametrize("seed", range(40))
def test_posteriors_and_the_probability_of_the_evidence_are_those_of_all_worlds(seed):
    rng = np.random.default_rng(seed)
    net = random_network(rng, 8, 8)
    worlds = AllWorlds(net)
    present, absent, _ = random_evidence(rng, net)
    posterior, log_evidence = posteriors(evidence_of(net, present, absent))
    assert np.allclose(posterior, worlds.posteriors(present, absent), rtol=1e-11, atol=0)
    assert log_evidence == pytest.approx(math.log10(worlds.weight(present, absent).sum()), abs=1e-11)


@pytest.mark.parametrize("seed", range(30))
def test_every_column_and_every_exact_change_is_that_of_all_worlds(seed):
    rng = np.random.default_rng(100 + seed)
    net = random_network(rng, 7, 7)
    present, absent, _ = random_evidence(rng, net)
    allowed = np.concatenate((np.ones((7, 1)), rng.integers(0, 2, (7, 5)).astype(float)), axis=1)

    def sums(changed, weights=None):
        worlds = AllWorlds(changed)
        weight = worlds.weight(present, absent)
        if weights is not None:
            weight = weight * np.prod(np.where(worlds.x, weights, 1.0), axis=1)
        return np.array([weight[~(worlds.x & (allowed[:, k] == 0)).any(axis=1)].sum() for k in range(6)])

    base = sums(net)
    evidence = evidence_of(net, present, absent)
    messages = messages_of(evidence, allowed)
    forward, log_evidence, _ = sums_of(evidence, allowed, cells=1)  # columns one by one
    assert np.allclose(messages.sums, base / base[0], rtol=1e-11, atol=1e-14)
    assert np.allclose(forward, messages.sums, rtol=1e-12, atol=0)
    assert log_evidence == pytest.approx(math.log10(base[0]), abs=1e-11)
    weights = np.where(rng.random((6, 7)) < 0.4, rng.uniform(0.05, 3, (6, 7)), 1.0)
    for row, found in zip(weights, sums_with_weights(messages, weights), strict=True):
        assert np.allclose(found, sums(net, row) / base[0], rtol=1e-10, atol=1e-14)
    slopes = slopes_of(messages)
    off, on, links, leaks = slopes.off, slopes.on, slopes.links, slopes.leaks
    for cause in range(7):
        prior = net.prior.copy()
        prior[cause] = 0.5
        moved = (0.5 * off[cause] + 0.5 * on[cause] * evidence.odds[cause] / (net.prior / (1 - net.prior))[cause]
                 ) / (1 - net.prior[cause])
        assert np.allclose(moved, sums(dataclasses.replace(net, prior=prior)) / base[0], rtol=1e-10, atol=1e-14)
    for (cause, finding), slope in links.items():
        q = net.q.copy()
        q[cause, finding] = 0.6
        moved = messages.sums + (0.6 - net.q[cause, finding]) * slope
        assert np.allclose(moved, sums(dataclasses.replace(net, q=q)) / base[0], rtol=1e-9, atol=1e-13)
    assert set(links) == {(c, f) for f in present for c in range(7) if net.q[c, f]}
    for finding, slope in leaks.items():
        leak = net.leak.copy()
        leak[finding] = 0.4
        moved = messages.sums + (0.4 - net.leak[finding]) * slope
        assert np.allclose(moved, sums(dataclasses.replace(net, leak=leak)) / base[0], rtol=1e-9, atol=1e-13)
    assert set(leaks) == set(present)


@pytest.mark.parametrize("cells", (1, 600_000), ids=("one by one", "together"))
@pytest.mark.parametrize("shared_from", (0, 99), ids=("shared", "each its own"))
@pytest.mark.parametrize("seed", range(12))
def test_sets_that_leave_present_findings_out_are_those_of_all_worlds(monkeypatch, seed, shared_from, cells):
    monkeypatch.setattr(reweighted, "SHARED_FROM", shared_from)
    monkeypatch.setattr(reweighted, "SET_CELLS", cells)
    rng = np.random.default_rng(300 + seed)
    net = random_network(rng, 7, 7)
    present, absent, _ = random_evidence(rng, net)
    allowed = np.concatenate((np.ones((7, 1)), rng.integers(0, 2, (7, 3)).astype(float)), axis=1)
    sets = 14
    # few values, so that many sets have a part in common
    weights = np.where(rng.random((sets, 7)) < 0.4, rng.choice((0.2, 2.0), (sets, 7)), 1.0)
    left_out = {finding: (rng.random(sets) < 0.3).astype(float) for finding in present}
    messages = messages_of(evidence_of(net, present, absent), allowed)
    found = sums_with_weights(messages, weights, left_out)
    worlds = AllWorlds(net)
    whole = worlds.weight(present, absent).sum()
    for row in range(sets):
        counted = tuple(finding for finding in present if not left_out[finding][row])
        weight = worlds.weight(counted, absent) * np.prod(np.where(worlds.x, weights[row], 1.0), axis=1)
        expected = [weight[~(worlds.x & (allowed[:, k] == 0)).any(axis=1)].sum() / whole for k in range(4)]
        assert np.allclose(found[row], expected, rtol=1e-10, atol=1e-14)


@pytest.mark.parametrize("cells", (1, 10_000_000), ids=("one by one", "side by side"))
def test_sums_under_other_strengths_of_the_same_links_are_those_of_each_alone(monkeypatch, cells):
    monkeypatch.setattr(variants, "CELLS", cells)
    evidence = tangled(2)
    rng = np.random.default_rng(4)
    allowed = np.concatenate((np.ones((40, 1)), rng.integers(0, 2, (40, 4)).astype(float)), axis=1)
    small = variants.only(evidence)
    others = [dataclasses.replace(small.network, q=small.network.q * rng.uniform(0.3, 1.0, small.network.q.shape),
                                  leak=rng.uniform(0.01, 0.3, small.network.leak.shape)) for _ in range(5)]
    found = variants.sums_under(small, others, allowed)
    for other, row in zip(others, found, strict=True):
        alone, _, _ = sums_of(evidence_of(other, small.present, small.absent), allowed)
        assert np.allclose(row, alone, rtol=1e-9, atol=0)
    same = variants.sums_under(small, [small.network], allowed)[0]
    assert np.allclose(same, sums_of(evidence, allowed)[0], rtol=1e-10, atol=0)


@pytest.mark.parametrize("seed", (1, 2, 3))
def test_a_general_library_gives_the_same_odds_on_networks_of_middle_size(seed):
    # pyAgrum's addNoisyORNet is the noisy-OR of this model (addNoisyOR is the compound form and differs).
    import pyagrum as gum

    rng = np.random.default_rng(seed)
    net = random_network(rng, 16, 18, 5)
    present, absent, _ = random_evidence(rng, net, 9)
    bayes = gum.BayesNet()
    ids = {}
    for number, cause in enumerate(net.causes):
        ids[number] = bayes.add(gum.LabelizedVariable(cause, cause, 2))
        bayes.cpt(cause).fillWith([1 - net.prior[number], net.prior[number]])
    for finding in (*present, *absent):
        name = net.findings[finding]
        node = bayes.addNoisyORNet(gum.LabelizedVariable(name, name, 2), float(net.leak[finding]))
        for cause in np.flatnonzero(net.q[:, finding]):
            bayes.addWeightedArc(ids[int(cause)], node, float(net.q[cause, finding]))
    engine = gum.LazyPropagation(bayes)
    engine.setEvidence({**{net.findings[i]: 1 for i in present}, **{net.findings[i]: 0 for i in absent}})
    engine.makeInference()
    posterior, log_evidence = posteriors(evidence_of(net, present, absent))
    theirs = [engine.posterior(ids[number])[1] for number in range(16)]
    assert np.allclose(posterior, theirs, rtol=1e-9)
    assert log_evidence == pytest.approx(math.log10(engine.evidenceProbability()), abs=1e-9)


def chain(prior, sensitivity, specificity, seen):
    """Posterior of one cause with one finding of that sensitivity and specificity."""
    leak = 1 - specificity
    net = network([prior], [[1 - (1 - sensitivity) / specificity]], [leak])
    belief = believe(net, counted(net, (0,) if seen else (), () if seen else (0,)))
    return belief.causes[0].posterior


@pytest.mark.parametrize(("prior", "sensitivity", "specificity", "seen", "posterior", "digits"), [
    # Y1, Centre for Evidence-Based Medicine, Toronto, diagnosis worksheet: 731/78/270/1500 of 2579; PPV 0.7303
    (809 / 2579, 731 / 809, 1500 / 1770, True, 0.7303, 4),
    (809 / 2579, 731 / 809, 1500 / 1770, False, 1 - 0.951, 3),
    # Y2, CEBM Oxford likelihood page: 50 % with LR+ 6 -> 6 : 1 = 86 %
    (0.5, 0.9, 0.85, True, 0.86, 2),
    # Y3, worked examples of a teaching text, App. 16.3: 2 % -> 11 %
    (0.02, 0.9, 0.85, True, 0.11, 2),
    # Y4: odds 0.46 x LR- 0.12 -> about 5 %
    (0.46 / 1.46, 0.9, 0.85, False, 0.05, 2),
    # Y6, A. Schwartz, U. Illinois Chicago: 32/3/49/28, prior 31 % -> printed 40 % and 10 %, recomputed 39.5 and 9.7
    (35 / 112, 32 / 35, 28 / 77, True, 0.395, 3),
    (35 / 112, 32 / 35, 28 / 77, False, 0.097, 3),
    # Y7, the same page: 5 % with LR+ 10 -> 34 % (34.5 recomputed)
    (0.05, 0.9, 0.91, True, 0.345, 3),
])
def test_published_likelihood_chains_come_out_as_printed(prior, sensitivity, specificity, seen, posterior, digits):
    assert chain(prior, sensitivity, specificity, seen) == pytest.approx(posterior, abs=0.51 * 10**-digits)


def test_a_flat_battery_takes_the_blame_for_slow_cranking_off_the_rings():
    # causes: weak battery, worn rings; findings: hard start (both show it), battery flat under load (battery only)
    net = network([0.1, 0.2], [[0.8, 0.95], [0.5, 0.0]], [0.05, 0.02])
    before = believe(net, counted(net, (0,), ())).odds()
    after = believe(net, counted(net, (0, 1), ()))
    assert before["c01"] > 0.5
    assert after.odds()["c01"] < before["c01"] - 0.2
    rings = next(belief for belief in after.causes if belief.cause == "c01")
    step = next(step for step in rings.steps if step.label == "f00")
    assert step.decibans < step.alone - 0.5
    assert step.explained_by == ("c00",)


def test_without_evidence_a_cause_keeps_its_prior():
    net = random_network(np.random.default_rng(0))
    answer = believe(net, Counted((), (), {}))
    assert answer.evidence == pytest.approx(0.0, abs=1e-12)
    assert all(belief.posterior == pytest.approx(belief.prior, rel=1e-12) for belief in answer.causes)


def test_a_present_finding_that_no_cause_of_this_engine_shows_changes_no_odds():
    net = random_network(np.random.default_rng(3))
    q = net.q.copy()
    q[:, 2] = 0.0
    net = dataclasses.replace(net, q=q)
    plain = believe(net, counted(net, (0, 1), (3,))).odds()
    with_it = believe(net, counted(net, (0, 1, 2), (3,)))
    assert with_it.odds() == pytest.approx(plain, rel=1e-12)


@given(st.integers(0, 10_000))
@settings(max_examples=25, deadline=None)
def test_the_order_of_ids_and_findings_changes_no_byte(seed):
    rng = np.random.default_rng(seed)
    net = random_network(rng, 9, 10)
    present, absent, _ = random_evidence(rng, net)
    first = believe(net, counted(net, present, absent))
    again = believe(net, counted(net, present[::-1], absent[::-1]))
    assert repr(first) == repr(again)


def test_40_causes_by_80_findings_with_20_present_work_and_agree_with_one_pass_per_cause():
    rng = np.random.default_rng(11)
    net = random_network(rng, 40, 80, 6)
    evidence = evidence_of(net, tuple(range(20)), tuple(range(20, 50)))
    posterior, _ = posteriors(evidence)
    without = 1 - np.eye(40)
    sums, _, _ = sums_of(evidence, np.concatenate((np.ones((40, 1)), without), axis=1))
    assert np.allclose(posterior, 1 - sums[1:], atol=1e-9)


def test_80_present_findings_with_tiny_leaks_stay_finite():
    rng = np.random.default_rng(5)
    q = np.zeros((40, 80))
    for finding in range(80):
        q[finding // 2, finding] = 0.001
    net = network(rng.uniform(0.001, 0.01, 40), q, np.full(80, 1e-6))
    posterior, log_evidence = posteriors(evidence_of(net, tuple(range(80)), ()))
    assert np.isfinite(posterior).all()
    assert -350 < log_evidence < -200
    pair = posterior[0] / (1 - posterior[0])
    lit = 1 - (1 - 1e-6) * (1 - 0.001)
    assert pair == pytest.approx(net.prior[0] / (1 - net.prior[0]) * (lit / 1e-6) ** 2, rel=1e-9)


def tangled(seed, present=22):
    """A network in which many findings hang together."""
    rng = np.random.default_rng(seed)
    net = random_network(rng, 40, 60, 9)
    here = np.zeros(40, dtype=bool)
    here[rng.choice(40, 6, replace=False)] = True
    unseen = (1 - net.leak) * np.prod(np.where(here[:, None], 1 - net.q, 1.0), axis=0)
    seen = np.flatnonzero(rng.random(60) > unseen)[:present]
    absent = [i for i in range(60) if i not in seen][:25]
    return evidence_of(net, tuple(int(i) for i in seen), tuple(absent))


def test_draws_from_a_bounded_table_agree_with_the_exact_odds():
    evidence = tangled(1)
    assert evidence.plan.width >= 9
    posterior, log_evidence = posteriors(evidence)
    for bound in (evidence.plan.width, evidence.plan.width - 2):
        worlds = sampling._drawn(evidence, bound, 20_000)
        assert worlds.effective > 2_000
        assert np.abs(worlds.posteriors() - posterior).max() < 0.03
        assert worlds.log10_evidence == pytest.approx(log_evidence, abs=0.03)
    unbounded = len(evidence.present)
    assert sampling._drawn(evidence, unbounded, 500).effective == pytest.approx(500)


def test_beyond_the_exact_width_the_answer_is_labelled_as_an_estimate(monkeypatch):
    from howdeep.reasoning import beliefs

    evidence = tangled(1)
    net = evidence.network
    exact = believe(net, counted(net, evidence.present, evidence.absent), steps=False)
    assert not exact.estimated
    monkeypatch.setattr(beliefs, "MOST_EXACT", evidence.plan.width - 1)
    monkeypatch.setattr(sampling, "BOUNDS", (evidence.plan.width - 1,))
    rough = believe(net, counted(net, evidence.present, evidence.absent))
    assert rough.estimated
    assert rough.odds() == pytest.approx(exact.odds(), abs=0.03)
    assert all(belief.steps == () for belief in rough.causes)


def test_an_estimate_that_rests_on_too_few_draws_is_refused(monkeypatch):
    monkeypatch.setattr(sampling, "BOUNDS", (2,))
    monkeypatch.setattr(sampling, "LEAST_SAMPLE", 15_000)
    with pytest.raises(HowdeepError, match="too tangled"):
        sampling.sample_worlds(tangled(1))


def test_messages_of_wide_evidence_agree_with_stored_ones(monkeypatch):
    from howdeep.reasoning import posteriors as module

    evidence = tangled(4)
    plain, _ = posteriors(evidence)
    monkeypatch.setattr(module, "STRIDE_ABOVE", 1)
    again, _ = posteriors(evidence)
    assert np.allclose(plain, again, rtol=1e-12)


def test_messages_of_a_part_of_the_columns_need_only_the_sum_of_the_first():
    evidence = tangled(2)
    rng = np.random.default_rng(0)
    allowed = np.concatenate((np.ones((40, 1)), rng.integers(0, 2, (40, 6)).astype(float)), axis=1)
    whole = messages_of(evidence, allowed)
    part = messages_of(evidence, allowed[:, 3:5], whole.total)
    assert np.allclose(part.sums, whole.sums[3:5], rtol=1e-12)
