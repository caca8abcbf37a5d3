"""Scores and intervals against scikit-learn and SciPy; closing a job; exports that carry no person."""

import csv
import io
import math
import random

import numpy as np
import pytest
import scipy  # its parts are loaded when they are named
from hypothesis import given, settings
from hypothesis import strategies as st

from howdeep.errors import HowdeepError
from howdeep.record.close import close_change
from howdeep.record.export import COLUMNS, anonymous_table, csv_text, table
from howdeep.record.score import brier, calibration, log_score, record_of, wilson

from .closed_jobs import closed


def drawn(count, seed=1):
    rng = random.Random(seed)
    chances = [rng.random() for _ in range(count)]
    return [(chance, rng.random() < chance) for chance in chances]


def row(name, **changes):
    """A closed job that came out as was said."""
    base = {
        "engine": "twin",
        "date": "2026-02-03",
        "enough": {"refresh": 0.8},
        "odds": {"worn_rings": 0.9, "worn_bores": 0.1},
        "truths": {"worn_rings": True, "worn_bores": False},
        "scope_done": "refresh",
        "came_back": "no",
        "hours": 10.0,
        "cost": 1100.0,
        "promised_cost": 1000.0,
        "rule_base": "1+abc",
    }
    return closed(name, **{**base, **changes})


def test_brier_and_log_score_are_those_of_scikit_learn():
    from sklearn.metrics import brier_score_loss, log_loss  # half a second, for the process that runs this

    pairs = drawn(500)
    chances, truths = [chance for chance, _ in pairs], [truth for _, truth in pairs]
    assert brier(pairs) == pytest.approx(brier_score_loss(truths, chances), rel=1e-12)
    assert log_score(pairs) == pytest.approx(log_loss(truths, np.clip(chances, 1e-4, 1 - 1e-4)), rel=1e-9)


def test_the_calibration_table_is_that_of_scikit_learn():
    from sklearn.calibration import calibration_curve

    pairs = drawn(2000, seed=3)
    edges = tuple(index / 10 for index in range(11))
    bins = calibration(pairs, edges)
    true, said = calibration_curve([truth for _, truth in pairs], [chance for chance, _ in pairs], n_bins=10)
    assert [entry.true for entry in bins] == pytest.approx(list(true))
    assert [entry.said for entry in bins] == pytest.approx(list(said))
    assert sum(entry.count for entry in bins) == 2000


@given(st.integers(1, 400).flatmap(lambda count: st.tuples(st.integers(0, count), st.just(count))))
@settings(max_examples=60, deadline=None)
def test_the_wilson_interval_is_that_of_scipy(hits_and_count):
    hits, count = hits_and_count
    expected = scipy.stats.binomtest(hits, count).proportion_ci(method="wilson")
    assert wilson(hits, count) == pytest.approx((expected.low, expected.high), abs=1e-9)


def test_one_job_is_not_a_certainty():
    low, high = wilson(1, 1)
    assert low < 0.3 and high == 1.0
    assert wilson(0, 0) == (0.0, 1.0)


@pytest.mark.parametrize(
    ("changes", "held"),
    [
        ({}, True),
        ({"came_back": "yes"}, False),
        ({"scope_done": "rebuild"}, False),
        ({"scope_done": "top_end"}, True),
        ({"came_back": ""}, None),
        ({"scope_done": None}, None),
        ({"scope_done": None, "came_back": "yes"}, False),
    ],
)
def test_a_promise_holds_only_where_it_is_known_to_have_held(changes, held):
    assert row("a", **changes).held is held


def test_promises_causes_and_costs_are_counted():
    rows = [
        row("a"),
        row("b", came_back="yes"),
        row("c", scope_done="rebuild", cost=3000.0),
        row("d", came_back="", truths={"worn_bores": True}),
    ]
    record = record_of(rows)
    promises = record.promises
    assert (promises.held, promises.came_back, promises.grew, promises.unknown) == (1, 1, 1, 1)
    assert promises.cost_ratio[1] == pytest.approx(1.1)
    by_cause = {item.cause: item for item in record.by_cause}
    assert by_cause["worn_bores"].missed == 1 and by_cause["worn_bores"].looked_at == 4
    assert by_cause["worn_rings"].looked_at == 3 and by_cause["worn_rings"].over_called == 0
    assert record.causes.count == 7
    assert record_of(reversed(rows)) == record


def test_a_bill_a_fifth_above_the_promise_is_no_promise_kept():
    """By hand: 900 and 1,000 of 1,000 promised are within; 1,220 within the range to 1,300; 1,500 beyond it."""
    sums = {"a": 900.0, "b": 1000.0, "c": 1220.0, "d": 1500.0, "e": None}
    rows = [
        row(name, cost=cost, promised_cost=1000.0, promised_high=1300.0, agreed=1250.0 if name == "c" else None)
        for name, cost in sums.items()
    ]
    rows += [row("f", cost=5000.0, promised_cost=1000.0, from_promise=False), row("g", cost=100.0, promised_cost=None)]
    assert [item.money for item in rows] == ["within", "within", "range", "over", "", "", ""]
    record = record_of(rows)
    bills = record.bills
    assert (bills.billed, bills.within, bills.in_range, bills.over, bills.agreed) == (4, 2, 1, 1, 1)
    assert bills.over_by == pytest.approx((0.36, 0.5))
    assert record.promises.held == len(rows), "the depth held in all of them, which says nothing of the money"
    assert row("h", cost=1001.0, promised_cost=1000.0).money == "over", "without a range the promise itself is the end"


def test_a_perfect_shop_beats_its_base_rates_and_a_blind_one_does_not():
    rng = random.Random(2)
    good, blind = [], []
    for index in range(300):
        truth = rng.random() < 0.4
        good.append(row(str(index), truths={"worn_rings": truth}, odds={"worn_rings": 0.9 if truth else 0.1}))
        blind.append(row(str(index), truths={"worn_rings": truth}, odds={"worn_rings": rng.random()}))
    assert record_of(good).causes.log < record_of(good).causes.base_log
    assert record_of(blind).causes.log > record_of(blind).causes.base_log


def test_the_anonymous_table_links_to_no_person_and_two_exports_do_not_link():
    rows = [row(f"smith-john-{index}", engine="../own.yaml") for index in range(5)]
    first, second = anonymous_table(rows), anonymous_table(rows)
    text = csv_text(first)
    assert "smith" not in text and "2026-02" not in text and "own.yaml" not in text
    assert {item["job"] for item in first}.isdisjoint(item["job"] for item in second)
    assert anonymous_table(rows, salt="kept") == anonymous_table(rows, salt="kept")
    assert [item["job"] for item in first] == sorted(item["job"] for item in first)


def test_the_csv_is_read_back_and_runs_no_formula():
    records = list(csv.DictReader(io.StringIO(csv_text(table([row("=HYPERLINK(1)"), row('b, "x"')])))))
    assert [item["job"] for item in records] == ["'=HYPERLINK(1)", 'b, "x"']
    assert tuple(records[0]) == COLUMNS


def test_closing_keeps_what_was_found_before_and_invents_nothing(shipped):
    change = close_change(
        shipped,
        date="2026-03-01",
        causes={"worn_rings": "present"},
        scope_done="refresh",
        hours="12.5",
        cost="1240",
        came_back="no",
    )
    plain = change({"howdeep_job": 1, "found": {"date": "2026-01-01", "causes": {"worn_bores": "absent"}}})
    assert plain["found"] == {
        "date": "2026-03-01",
        "causes": {"worn_bores": "absent", "worn_rings": "present"},
        "scope_done": "refresh",
        "hours": 12.5,
        "cost": "1240.00",
        "came_back": "no",
    }
    again = close_change(shipped, date="2026-04-01", causes={})(plain)
    assert again["found"]["causes"] == plain["found"]["causes"] and again["found"]["cost"] == "1240.00"


def test_every_fault_of_a_closing_is_named_at_once(shipped):
    with pytest.raises(HowdeepError) as caught:
        close_change(
            shipped,
            date="yesterday",
            causes={"worn_ring": "present", "worn_bores": "perhaps"},
            scope_done="refesh",
            hours="-3",
            cost="much",
            came_back="maybe",
        )
    text = str(caught.value)
    for words in ("'yesterday'", "worn_rings", "'perhaps'", "refresh", "'-3'", "'much'", "'maybe'"):
        assert words in text
    assert len(caught.value.faults) == 7


def test_a_surprise_is_dear_but_not_infinite():
    assert math.isfinite(log_score([(0.0, True), (1.0, False)]))
