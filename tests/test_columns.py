"""Columns of hypothetical jobs agree with the evaluator row by row."""

import numpy as np
from hypothesis import given, settings
from hypothesis import strategies as st

from howdeep.logic.columns import CODE, Column, blocks, column_of, conditions_in_columns, findings_in_columns
from howdeep.logic.evaluate import evaluate, evaluator
from howdeep.model.condition import AllOf, FactTest, FindingTest, Not

from .random_rules import KINDS, LIMITS, WORDS, cases, fact_tests, rule_bases
from .sampling import WHOLE


def _columns(rows, cylinders):
    return {
        name: column_of(
            [row.get(name) for row in rows],
            WORDS if kind.startswith("word") else (),
            cylinders if kind.endswith("s") else 0,
        )
        for name, kind in KINDS.items()
    }


def _as_in_a_column(name, value, cylinders):
    """What a column can hold of a value: an odd one is unknown there."""
    if KINDS[name].endswith("s"):
        return value if isinstance(value, tuple) and len(value) == cylinders else None
    return None if isinstance(value, tuple) else value


@given(rule_bases(), st.lists(cases(), min_size=1, max_size=12), st.integers(1, 4))
@settings(max_examples=120 if WHOLE else 60, deadline=None)
def test_columns_agree_with_the_evaluator(base, rows, cylinders):
    found = conditions_in_columns(base, LIMITS, _columns(rows, cylinders), len(rows))
    work_out = evaluator(base, LIMITS)
    for place, row in enumerate(rows):
        facts = {name: _as_in_a_column(name, value, cylinders) for name, value in row.items()}
        assert {name: found[name][place] for name in base} == {
            name: CODE[truth] for name, truth in work_out(facts).items()
        }


@given(fact_tests(), st.lists(cases(odd=False), min_size=8, max_size=8))
@settings(max_examples=150, deadline=None)
def test_every_kind_of_test_agrees_with_the_evaluator(test, rows):
    rows = [
        {name: (value + (None,) * 4)[:4] if isinstance(value, tuple) else value for name, value in row.items()}
        for row in rows
    ]
    found = conditions_in_columns({"x": test}, LIMITS, _columns(rows, 4), len(rows))["x"]
    assert [int(code) for code in found] == [CODE[evaluate(test, row, {}, LIMITS)] for row in rows]


def test_two_cylinders_side_by_side_are_told_from_two_apart():
    low = FactTest("squeeze", bounds=(("below", 3.0),), cylinders="neighbours")
    rows = [(1.0, 2.0, 9.0), (1.0, 9.0, 2.0), (9.0, 1.0, None), (1.0, 9.0, None), (None, None, None)]
    found = conditions_in_columns({"x": low}, {}, {"squeeze": column_of(rows, cylinders=3)}, len(rows))["x"]
    assert found.tolist() == [1, -1, 0, -1, 0]


def test_a_fact_without_a_column_is_unknown_in_every_row():
    found = conditions_in_columns({"x": Not(FactTest("smoke", one_of=("blue",))), "y": FindingTest("x")}, {}, {}, 3)
    assert found["x"].tolist() == found["y"].tolist() == [0, 0, 0]


def test_more_rows_than_a_block_are_all_worked_out():
    rows = 70_001
    volts = np.arange(rows, dtype=float)
    volts[5] = np.nan
    facts = {"volts": Column(volts)}
    base = {
        "late": FactTest("volts", bounds=(("at_least", 50_000.0),)),
        "middle": AllOf((Not(FindingTest("late")), FactTest("volts", bounds=(("above", 30_000.0),)))),
    }
    found = conditions_in_columns(base, {}, facts, rows)
    assert (found["late"] == 1).sum() == 20_001
    assert (found["middle"] == 1).sum() == 19_999
    assert (found["late"] == 0).nonzero()[0].tolist() == [5]
    assert sum(int((truths["late"] == 1).sum()) for _, truths in blocks(base, {}, facts, rows)) == 20_001


def test_every_finding_of_the_shipped_rules_agrees_in_columns(shipped):
    import random

    from howdeep.knowledge.condition_names import fact_shapes
    from howdeep.logic.evaluate import evaluate_all

    dice, shapes, rows = random.Random(7), fact_shapes(shipped), []
    for _ in range(60):
        row = {}
        for name, shape in sorted(shapes.items()):

            def one(words=shape.words):
                return dice.choice(words) if words else float(dice.choice((0, 1, 5, 9, 20, 60, 90, 130)))

            if not shape.grid and dice.random() < 0.6:
                row[name] = tuple(one() if dice.random() < 0.9 else None for _ in range(4)) if shape.each else one()
        rows.append(row)
    columns = {
        name: column_of([row.get(name) for row in rows], shape.words, 4 if shape.each else 0)
        for name, shape in shapes.items()
        if not shape.grid
    }
    found = findings_in_columns(shipped, columns, len(rows))
    for place, row in enumerate(rows):
        assert {name: found[name][place] for name in found} == {
            name: CODE[truth] for name, truth in evaluate_all(shipped, row).items()
        }
