"""Pooled learning: one factor for each word and kind of sign, its arithmetic held against a general library."""

import json
import math

import numpy as np
import pytest
import scipy  # its parts are loaded when they are named

from howdeep.model.terms import WORDS
from howdeep.record.learn import learn
from howdeep.record.pooled import (
    CHANNELS,
    DROP,
    SPREAD,
    WORTHS,
    channel_of_finding,
    factors,
    fit,
    log_likelihood,
    shifted,
)
from howdeep.record.read import read_folder

from .closed_jobs import closed
from .commands import howdeep
from .test_record import simulate_shop

COUNTS = [(3, 10, 0.2), (0, 4, 0.2), (7, 30, 0.2), (2, 2, 0.2), (5, 9, 0.5), (40, 60, 0.8)]


def choose(there, seen):
    ln = scipy.special.gammaln
    return ln(there + 1) - ln(seen + 1) - ln(there - seen + 1)


@pytest.mark.parametrize("log_factor", [-1.0, 0.0, 0.3])
@pytest.mark.parametrize("worth", [4.0, 20.0, 256.0])
def test_the_likelihood_is_that_of_the_beta_binomial(log_factor, worth):
    """scipy.stats.betabinom; the binomial coefficients hang on neither factor nor worth and are left out."""
    expected = 0.0
    for seen, there, share in COUNTS:
        mean = shifted(share, log_factor)
        expected += scipy.stats.betabinom.logpmf(seen, there, mean * worth, (1 - mean) * worth) - choose(there, seen)
    assert math.isclose(log_likelihood(COUNTS, log_factor, worth), expected, rel_tol=1e-9, abs_tol=1e-9)


def objective(counts, worth):
    """What is maximised at one worth, from the general library alone."""

    def value(x):
        means = [shifted(share, float(x[0])) for _, _, share in counts]
        return (
            -sum(
                scipy.stats.betabinom.logpmf(round(seen), round(there), mean * worth, (1 - mean) * worth)
                - choose(there, seen)
                for (seen, there, _), mean in zip(counts, means, strict=True)
            )
            + 0.5 * (float(x[0]) / SPREAD) ** 2
        )

    return value


def test_the_factor_is_the_highest_point_and_its_interval_where_the_general_library_puts_them():
    best, low, high, worth = fit(COUNTS)
    tops = {
        tried: scipy.optimize.minimize(
            objective(COUNTS, tried), [0.0], method="Nelder-Mead", options={"xatol": 1e-7, "fatol": 1e-10}
        )
        for tried in WORTHS
    }
    top = min(tops, key=lambda tried: tops[tried].fun)
    assert worth == top and best == pytest.approx(float(tops[top].x[0]), abs=1e-4)
    for end in (low, high):
        there = min(objective(COUNTS, tried)([end]) for tried in WORTHS)
        assert there - tops[top].fun == pytest.approx(DROP, abs=1e-3)


def test_without_jobs_the_word_stands_and_many_jobs_outweigh_what_was_held_beforehand():
    best, low, high, _ = fit([])
    assert best == pytest.approx(0, abs=1e-3) and low == pytest.approx(-high, abs=1e-3)
    assert high == pytest.approx(SPREAD * math.sqrt(2 * DROP), abs=1e-3)
    random = np.random.default_rng(7)
    true = math.log(3.0)
    counts = []
    for _ in range(120):
        mean = shifted(0.2, true)
        share = random.beta(mean * 32, (1 - mean) * 32)
        counts.append((float(random.binomial(10, share)), 10.0, 0.2))
    best, low, high, worth = fit(counts)
    assert low < true < high and high - low < 0.5 and worth >= 16
    alone = fit(counts[:1])
    assert alone[2] - alone[1] > 3 * (high - low)  # one link alone says next to nothing


def test_the_interval_holds_the_truth_about_as_often_as_it_says():
    random = np.random.default_rng(11)
    held = 0
    for _ in range(60):
        true = random.normal(0, SPREAD)
        counts = []
        for _ in range(25):
            mean = shifted(0.5, true)
            share = random.beta(mean * 16, (1 - mean) * 16)
            counts.append((float(random.binomial(6, share)), 6.0, 0.5))
        _, low, high, _ = fit(counts)
        held += low <= true <= high
    assert held >= 52  # 95 % of 60 is 57; fewer than 52 has a chance under one in a hundred


def rows_of(finding, cause, seen, count, job=""):
    """Closed jobs with the cause there, the finding seen in the first so many of them; `job` begins their names."""
    return [
        closed(f"{job}{index}", truths={cause: True}, findings={finding: int(index < seen)}) for index in range(count)
    ]


def test_links_with_one_word_share_what_few_jobs_say_of_each(shop):
    knowledge = shop.knowledge
    links = [
        (name, cause)
        for name, item in knowledge.findings.items()
        for cause, word in item.explained_by.items()
        if word == "usually" and channel_of_finding(knowledge, name) == "talk"
    ][:40]
    rows = [
        row
        for number, (name, cause) in enumerate(links)
        for row in rows_of(name, cause, seen=0, count=5, job=f"{number}-")
    ]
    odds = {row.name: {} for row in rows}
    (factor,) = [item for item in factors(knowledge, rows, odds) if (item.channel, item.word) == ("talk", "usually")]
    assert factor.links == len(links) and factor.sightings == 200 and factor.jobs == 200
    assert factor.seen == 0 and factor.expected > 40 and factor.speaks and factor.high < 0.5
    one = rows_of(*links[0], seen=0, count=12)
    stated = {row.name: {} for row in one}
    alone = next(item for item in learn(knowledge, one, stated) if item.finding == links[0][0])
    with_others = next(item for item in learn(knowledge, one, stated, [factor]) if item.finding == links[0][0])
    assert with_others.learned < alone.learned and with_others.jobs == alone.jobs == 12


def test_every_factor_names_a_word_a_kind_of_sign_and_the_jobs_behind_it(shop, tmp_path):
    simulate_shop().write_jobs(tmp_path, 40, seed=3, promises=True, shop=shop)
    rows = read_folder(tmp_path, shop.folders, shop.prices, findings=True).rows
    found = factors(shop.knowledge, rows, {row.name: row.stated for row in rows})
    assert found and len({(item.channel, item.word) for item in found}) == len(found)
    for item in found:
        assert item.channel in CHANNELS and item.word in WORDS
        assert 1 <= item.jobs <= 40 and item.low < item.factor < item.high and 0 <= item.seen <= item.sightings
    before = {path: path.read_bytes() for folder in shop.folders for path in folder.rglob("*.yaml")}
    done = howdeep("record", tmp_path, "--pooled")
    assert done.returncode == 0, done.stderr
    text = " ".join(done.stdout.split())
    assert "WHAT ALL JOBS SAY TOGETHER OF THE WORDS" in text and "jobs behind it" in text and "changes no rule" in text
    assert max(len(line) for line in done.stdout.splitlines()) <= 80
    assert before == {path: path.read_bytes() for folder in shop.folders for path in folder.rglob("*.yaml")}
    shape = json.loads(howdeep("record", tmp_path, "--pooled", "--json").stdout)
    assert len(shape["pooled"]) == len(found) and {"factor", "low", "high", "jobs", "word"} <= set(shape["pooled"][0])
