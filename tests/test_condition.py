"""The pure evaluator: strong Kleene logic, monotone in what is known."""

import itertools

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from howdeep.errors import HowdeepError
from howdeep.logic.applicability import applies, rung_on
from howdeep.logic.evaluate import evaluate, evaluator
from howdeep.logic.stratify import in_order, once_per_value
from howdeep.model.condition import AllOf, AnyOf, FactTest, FindingTest, Not
from howdeep.model.operations import Step
from howdeep.model.truth import Truth, all_of, any_of

from .random_rules import LIMITS, cases, conditions, rule_bases

P, A, U = Truth.PRESENT, Truth.ABSENT, Truth.UNKNOWN
X, Y = FindingTest("x"), FindingTest("y")


@pytest.mark.parametrize(("x", "y"), list(itertools.product((P, A, U), repeat=2)))
def test_all_any_and_not_follow_kleenes_strong_tables(x, y):
    # S. C. Kleene, Introduction to Metamathematics (1952), section 64: `and` is the least, `or` the greatest and `not`
    # the mirror image in the order false < unknown < true.
    rank = {A: 0, U: 1, P: 2}
    back = {place: truth for truth, place in rank.items()}
    findings = {"x": x, "y": y}
    assert evaluate(AllOf((X, Y)), {}, findings, {}) is back[min(rank[x], rank[y])] is all_of([x, y])
    assert evaluate(AnyOf((X, Y)), {}, findings, {}) is back[max(rank[x], rank[y])] is any_of([x, y])
    assert evaluate(Not(X), {}, findings, {}) is back[2 - rank[x]] is ~x


@pytest.mark.parametrize(
    ("value", "truth"), [("blue", P), ("white", A), (None, U), (3.0, U), (True, U), (("blue",), U)]
)
def test_a_word_is_present_absent_or_unknown(value, truth):
    test = FactTest("smoke", one_of=("blue", "grey"))
    assert evaluate(test, {} if value is None else {"smoke": value}, {}, {}) is truth


@pytest.mark.parametrize(
    ("value", "truth"), [(9.5, P), (9.6, A), (9, P), (8.0, A), (float("nan"), U), ("9", U), (True, U)]
)
def test_every_bound_of_a_number_must_hold_and_may_be_a_limit(value, truth):
    test = FactTest("volts", bounds=(("below", "cranking"), ("above", 8.0)))
    assert evaluate(test, {"volts": value}, {}, {"cranking": 9.6}) is truth


def test_a_bound_without_its_limit_is_never_known_but_another_bound_can_settle_the_test():
    test = FactTest("volts", bounds=(("below", "missing"), ("above", 8.0)))
    assert evaluate(test, {"volts": 9.0}, {}, {}) is U
    assert evaluate(test, {"volts": 7.0}, {}, {}) is A


@pytest.mark.parametrize(
    ("how", "values", "truth"),
    [
        ("any", (60.0, 100.0), P),
        ("any", (100.0, None), U),
        ("any", (100.0, 110.0), A),
        ("every", (60.0, 70.0), P),
        ("every", (60.0, None), U),
        ("every", (100.0, None), A),
        ("neighbours", (100.0, 60.0, 70.0), P),
        ("neighbours", (60.0, 100.0, 70.0), A),
        ("neighbours", (60.0, None, 100.0), U),
        ("neighbours", (100.0, None, 100.0), A),
        ("neighbours", (60.0,), A),
        (2, (60.0, 100.0, 70.0), P),
        (2, (60.0, None, 100.0), U),
        (2, (100.0, None, 100.0), A),
        (5, (60.0, 60.0), A),
        ("any", (None, None), U),
        ("every", (), U),
        (3, (None, None), U),
        ("any", 60.0, U),
        ("any", ("low", 60.0), P),
    ],
)
def test_cylinders_are_counted_with_those_not_taken_left_open(how, values, truth):
    test = FactTest("squeeze", bounds=(("below", 75.0),), cylinders=how)
    assert evaluate(test, {"squeeze": values}, {}, {}) is truth


def test_not_of_an_unanswered_question_is_unknown():
    assert evaluate(Not(FactTest("smoke", one_of=("blue",))), {}, {}, {}) is U


@given(conditions(["r0", "r1"]))
@settings(max_examples=100, deadline=None)
def test_with_nothing_answered_nothing_is_concluded(condition):
    assert evaluate(condition, {}, {}, LIMITS) is U


@given(st.data(), conditions([]), cases())
@settings(max_examples=200, deadline=None)
def test_a_further_answer_never_turns_what_was_known(data, condition, facts):
    fewer = {}
    for name, value in facts.items():
        if data.draw(st.booleans()):
            fewer[name] = value
            if isinstance(value, tuple):
                fewer[name] = tuple(item if data.draw(st.booleans()) else None for item in value)
    before = evaluate(condition, fewer, {}, LIMITS)
    assert before is U or before is evaluate(condition, facts, {}, LIMITS)


@given(rule_bases(), cases())
@settings(max_examples=100, deadline=None)
def test_compiled_conditions_agree_with_reading_them_one_by_one(base, facts):
    findings = {}
    for name in in_order(base):
        findings[name] = evaluate(base[name], facts, findings, LIMITS)
    worked_out = evaluator(base, LIMITS)(facts)
    assert worked_out == findings
    assert list(worked_out) == sorted(base)


def test_findings_given_from_elsewhere_are_read():
    work_out = evaluator({"deep": AllOf((X, Not(Y)))}, {})
    assert work_out({}, {"x": P, "y": A}) == {"deep": P}
    assert work_out({}, {"x": P}) == {"deep": U}


def test_findings_that_lead_round_in_a_circle_are_refused_and_named():
    with pytest.raises(HowdeepError, match="a -> b -> a"):
        in_order({"a": FindingTest("b"), "b": FindingTest("a"), "c": FindingTest("a")})


def test_a_very_long_line_of_findings_is_ordered():
    chain = {f"r{number:04d}": FindingTest(f"r{number + 1:04d}") for number in range(3000)}
    assert in_order(chain)[0] == "r2999"


def test_what_is_worked_out_per_value_is_kept_by_identity_and_let_go():
    calls = []

    @once_per_value(keep=2)
    def length(value):
        calls.append(value)
        return len(value)

    one, other = [1], [1]
    assert (length(one), length(one), length(other)) == (1, 1, 1)
    assert calls == [[1], [1]]
    for number in range(5):
        length([number])
    assert length.cache_info().currsize == 2


class _Entry:
    def __init__(self, condition):
        self.applies = condition


def test_an_entry_applies_by_how_the_engine_is_built():
    diesel = FactTest("engine.fuel", one_of=("diesel",))
    assert applies(_Entry(None), {})
    assert applies(_Entry(diesel), {"engine.fuel": "diesel"})
    assert not applies(_Entry(diesel), {"engine.fuel": "petrol"})
    assert not applies(_Entry(diesel), {})


def test_the_rung_is_that_of_the_first_step_that_holds():
    steps = (Step("refresh", FactTest("engine.pan_in_frame", one_of=("yes",))), Step("rebuild"))
    assert rung_on(steps, {"engine.pan_in_frame": "yes"}) == "refresh"
    assert rung_on(steps, {"engine.pan_in_frame": "no"}) == "rebuild"
    assert rung_on(steps[:1], {"engine.pan_in_frame": "no"}) is None
    assert rung_on(steps, {}) == "rebuild"


def test_every_finding_of_the_shipped_rules_is_worked_out_and_unknown_without_answers(shipped):
    from howdeep.logic.evaluate import evaluate_all

    assert evaluate_all(shipped, {}) == dict.fromkeys(shipped.findings, U)
