"""Forward chaining: experta, the pure evaluator and CLIPS come to the same conclusions."""

import gc
import os
import subprocess
import sys
from collections import Counter

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from howdeep.errors import HowdeepError
from howdeep.logic.evaluate import evaluator
from howdeep.logic.forward_chaining import conclude, rule_set, shown
from howdeep.logic.positive_rules import compile_rules, resolve
from howdeep.model.condition import AllOf, AnyOf, FactTest, FindingTest, Not
from howdeep.model.results import Firing
from howdeep.model.truth import Truth

from .clips_rules import ClipsRules
from .random_rules import LIMITS, cases, rule_bases
from .sampling import WHOLE

P, A, U = Truth.PRESENT, Truth.ABSENT, Truth.UNKNOWN
BLUE, SLOW = FactTest("smoke", one_of=("blue",)), FactTest("volts", bounds=(("below", "low"),))


@given(rule_bases(), st.lists(cases(), min_size=1, max_size=4))
@settings(max_examples=120 if WHOLE else 50, deadline=None)
def test_experta_the_evaluator_and_clips_conclude_the_same(base, several):
    rules, work_out, reference = rule_set(base, LIMITS), evaluator(base, LIMITS), ClipsRules(base, LIMITS)
    for facts in several:
        concluded = conclude(rules, facts).findings
        assert concluded == work_out(facts)
        assert {name: truth.value for name, truth in concluded.items()} == reference.conclude(facts)


@given(rule_bases(4), cases(odd=False))
@settings(max_examples=40, deadline=None)
def test_the_shortened_network_fires_the_same_rules_as_experta_left_to_itself(base, facts):
    from howdeep.logic import _experta

    compiled = compile_rules({name: resolve(condition, LIMITS) for name, condition in base.items()})
    engine_class = _experta.build(compiled)
    assert _experta.run(engine_class, facts, {}) == _plain_experta(_experta, engine_class, facts)


def _plain_experta(_experta, ours, facts):
    """The same patterns as ordinary rules of an ordinary engine with experta's own matcher and strategy."""
    experta, fired = _experta.experta, []

    def action(rule):
        def fire(engine):
            fired.append(rule.number)
            engine.declare(rule.concluded())

        return fire

    body = {
        f"howdeep_{rule.number:05d}": experta.Rule(*rule, salience=rule.salience)(action(rule)) for rule in ours.rules
    }
    engine = type("Plain", (experta.KnowledgeEngine,), body)()
    engine.reset()
    engine.declare(
        *(kind(box=_experta.Box(facts[name])) for name, kind in ours.facts_of.items() if facts.get(name) is not None)
    )
    engine.run()
    return sorted(fired)


@given(st.randoms(use_true_random=False), rule_bases(), cases())
@settings(max_examples=60, deadline=None)
def test_the_order_of_answers_and_rules_cannot_matter(shuffled, base, facts):
    first = conclude(rule_set(base, LIMITS), facts)
    names, known = list(base), list(facts)
    shuffled.shuffle(names)
    shuffled.shuffle(known)
    again = conclude(rule_set({name: base[name] for name in names}, LIMITS), {name: facts[name] for name in known})
    assert repr(again) == repr(first)


@given(st.data(), rule_bases(), cases())
@settings(max_examples=60, deadline=None)
def test_a_further_answer_never_turns_a_conclusion(data, base, facts):
    rules = rule_set(base, LIMITS)
    fewer = {name: value for name, value in facts.items() if data.draw(st.booleans())}
    later = conclude(rules, facts).findings
    for name, truth in conclude(rules, fewer).findings.items():
        assert truth is U or truth is later[name]


@given(rule_bases())
@settings(max_examples=40, deadline=None)
def test_without_answers_no_rule_fires(base):
    conclusions = conclude(rule_set(base, LIMITS), {})
    assert conclusions.firings == ()
    assert set(conclusions.findings.values()) == {U}


@given(rule_bases(), cases())
@settings(max_examples=60, deadline=None)
def test_every_conclusion_has_a_firing_and_every_firing_its_conclusion(base, facts):
    conclusions = conclude(rule_set(base, LIMITS), facts)
    assert list(conclusions.findings) == sorted(base)
    assert [firing.rule for firing in conclusions.firings] == sorted(firing.rule for firing in conclusions.firings)
    fired = {firing.rule: firing.truth for firing in conclusions.firings}
    assert fired == {name: truth for name, truth in conclusions.findings.items() if truth is not U}
    for firing in conclusions.firings:
        assert firing.matched
        for name, value in firing.matched:
            assert value == (conclusions.findings[name].value if name in base else shown(facts[name]))


def test_a_firing_says_what_was_matched_each_way_by_itself():
    base = {
        "burning": AllOf((BLUE, AnyOf((FindingTest("slow"), FactTest("loss", bounds=(("above", 5.0),)))))),
        "slow": SLOW,
        "either": AnyOf((BLUE, FindingTest("slow"))),
    }
    conclusions = conclude(rule_set(base, LIMITS), {"smoke": "blue", "volts": 2.5, "loss": 7.0})
    assert conclusions.firings == (
        Firing("burning", P, (("loss", "7"), ("slow", "present"), ("smoke", "blue"))),
        Firing("either", P, (("smoke", "blue"),)),
        Firing("either", P, (("slow", "present"),)),
        Firing("slow", P, (("volts", "2.5"),)),
    )


def test_unknown_never_counts_as_absent():
    base = {
        "x": Not(BLUE),
        "y": AllOf((Not(FindingTest("x")), SLOW)),
        "z": AnyOf((Not(FindingTest("w")), SLOW)),
        "w": SLOW,
    }
    assert set(conclude(rule_set(base, LIMITS), {}).findings.values()) == {U}
    assert conclude(rule_set(base, LIMITS), {"volts": 9.0}).findings == {"w": A, "x": U, "y": A, "z": P}


def test_findings_concluded_elsewhere_are_read_and_never_override_the_rules_own():
    rules = rule_set(
        {"work": AllOf((FindingTest("worn"), Not(FindingTest("flat")))), "own": BLUE, "reads_own": FindingTest("own")},
        {},
    )
    assert conclude(rules, {}, {"worn": P, "flat": A, "own": P}).findings == {"own": U, "reads_own": U, "work": P}
    assert conclude(rules, {}, {"worn": P, "flat": U}).findings["work"] is U
    assert conclude(rules, {}, {"flat": P}).findings["work"] is A


def test_an_empty_all_is_present_and_an_empty_any_is_absent_as_in_the_evaluator():
    base = {"all": AllOf(()), "any": AnyOf(()), "mixed": AnyOf((BLUE, AllOf(())))}
    assert conclude(rule_set(base, {}), {}).findings == {"all": P, "any": A, "mixed": P} == evaluator(base, {})({})


@pytest.mark.parametrize("name", ["facts", "agenda", "matcher", "run", "reset", "rules", "fired", "__class__", "a b"])
def test_a_rule_or_fact_may_have_any_name(name):
    base = {name: FactTest(name, one_of=("yes",)), "next": FindingTest(name)}
    assert conclude(rule_set(base, {}), {name: "yes"}).findings == {name: P, "next": P}


def test_the_firing_limit_raises_and_names_the_rule():
    rules = rule_set({"a": BLUE, "b": FindingTest("a"), "c": FindingTest("b")}, {})
    assert len(conclude(rules, {"smoke": "blue"}, limit=3).firings) == 3
    with pytest.raises(HowdeepError, match="'c' fired beyond the limit of 2 firings"):
        conclude(rules, {"smoke": "blue"}, limit=2)
    assert len(conclude(rules, {"smoke": "blue"}).firings) == 3  # nothing of the failed run is left


def test_eight_alternatives_three_times_over_do_not_explode():
    # multiplied out this is 512 conjunctions; with steps it is a rule for each alternative
    some = [AnyOf(tuple(FactTest(f"f{group}{number}", one_of=("yes",)) for number in range(8))) for group in range(3)]
    base = {"deep": AllOf(tuple(some))}
    assert len(compile_rules(base).rules) < 40
    facts = {"f07": "yes", "f13": "yes"}
    assert conclude(rule_set(base, {}), facts).findings["deep"] is U
    assert conclude(rule_set(base, {}), {**facts, "f20": "yes"}).findings["deep"] is P
    assert conclude(rule_set(base, {}), {f"f2{number}": "no" for number in range(8)}).findings["deep"] is A


def test_rule_sets_with_the_same_content_are_one():
    assert rule_set({"a": SLOW}, {"low": 3.0}) == rule_set({"a": FactTest("volts", bounds=(("below", 3.0),))}, {})
    assert rule_set({"a": SLOW}, {"low": 3.0}) != rule_set({"a": SLOW}, {"low": 4.0})


def _kept():
    """What could pile up: classes, experta's own tables, engines alive."""
    from howdeep.logic import _experta

    gc.collect()
    checks = _experta.experta.matchers.rete.check
    alive = Counter(type(item).__name__ for item in gc.get_objects())
    return {
        "classes": alive["type"] + alive["ABCMeta"] + alive["Validable"],
        "engines": alive["Consultation"],
        "answers": alive["Box"],
        "conflict sets": alive["ConflictSetNode"],
        "facts": alive["InitialFact"] + sum(count for name, count in alive.items() if name.startswith("Known")),
        "tests": len(checks.FeatureCheck._instances),
        "types": len(checks.TypeCheck._instances),
        "captures": len(checks.FactCapture._instances),
    }


def test_two_hundred_consultations_leave_nothing_behind():
    base = {
        "burning": AllOf((BLUE, AnyOf((FindingTest("slow"), FactTest("loss", bounds=(("above", 5.0),)))))),
        "slow": SLOW,
    }

    def consult(number):
        # the same content made anew, as happens when the rules of the work are made for an engine
        rules = rule_set({name: resolve(condition, {}) for name, condition in base.items()}, LIMITS)
        return conclude(rules, {"smoke": "blue", "volts": float(number % 9), "loss": float(number)})

    others = _kept()["answers"]  # of engines that another test still holds
    for number in range(5):
        consult(number)
    before = _kept()
    for number in range(200):
        consult(number)
    assert _kept() == before
    assert before["answers"] == others  # an engine waits for the next consultation, but without what it was told


def test_rule_sets_that_ask_the_same_of_the_same_facts_share_their_tests():
    def consult(number):
        rules = rule_set({f"a{number}": BLUE, f"b{number}": AllOf((SLOW, Not(BLUE)))}, LIMITS)
        return conclude(rules, {"smoke": "blue"})

    for number in range(20):
        consult(number)
    before = _kept()
    for number in range(20, 60):
        consult(number)
    after = _kept()
    assert (after["tests"], after["types"], after["captures"]) == (before["tests"], before["types"], before["captures"])


def test_consultations_in_several_threads_do_not_disturb_each_other():
    from concurrent.futures import ThreadPoolExecutor

    base = {
        f"r{number:02d}": AnyOf((BLUE, FindingTest(f"r{number - 1:02d}"))) if number else SLOW for number in range(20)
    }
    rules, work_out = rule_set(base, LIMITS), evaluator(base, LIMITS)
    several = [{"smoke": "blue" if number % 2 else "none", "volts": float(number % 7)} for number in range(40)]
    with ThreadPoolExecutor(4) as pool:
        found = list(pool.map(lambda facts: conclude(rules, facts).findings, several))
    assert found == [work_out(facts) for facts in several]


_SIDE_EFFECTS = """
import collections, locale, logging, random, signal, sys, warnings

def state():
    root = logging.getLogger()
    return (hasattr(collections, "Mapping"), sorted(vars(collections)), list(root.handlers), root.level,
            logging.basicConfig, logging.raiseExceptions, locale.setlocale(locale.LC_ALL), list(sys.path),
            list(warnings.filters), signal.getsignal(signal.SIGINT), sys.excepthook, sys.getrecursionlimit(),
            random.getstate(), sys.stdout, sys.stderr)

from howdeep.model.condition import FactTest
from howdeep.logic.forward_chaining import conclude, rule_set
import howdeep.logic.evaluate
assert "experta" not in sys.modules, "experta is loaded before it is needed"
before = state()
print(conclude(rule_set({"a": FactTest("b", one_of=("c",))}, {}), {"b": "c"}).findings["a"].value)
assert "experta" in sys.modules
after = state()
assert after == before, [pair for pair in zip(before, after) if pair[0] != pair[1]]
"""


def test_running_the_rules_leaves_collections_logging_and_locale_as_they_were():
    done = subprocess.run([sys.executable, "-c", _SIDE_EFFECTS], capture_output=True, text=True, timeout=60)
    assert (done.returncode, done.stdout, done.stderr) == (0, "present\n", "")


_SEEDED = """
from howdeep.model.condition import *
from howdeep.logic.forward_chaining import conclude, rule_set
base = {f"r{n}": AnyOf((FactTest("a", one_of=("x", "y")), FindingTest(f"r{n + 1}"), FactTest("b", one_of=("x",))))
        for n in range(9)}
print(repr(conclude(rule_set(base, {}), {"a": "y", "b": "x"})))
"""


def test_conclusions_are_the_same_to_the_letter_under_any_hash_seed():
    outputs = {
        subprocess.run(
            [sys.executable, "-c", _SEEDED],
            capture_output=True,
            text=True,
            timeout=60,
            check=True,
            env={**os.environ, "PYTHONHASHSEED": seed},
        ).stdout
        for seed in ("0", "1", "77")
    }
    assert len(outputs) == 1


def test_the_shipped_rules_conclude_the_same_by_experta_and_by_the_evaluator(shipped):
    import random

    from howdeep.knowledge.condition_names import fact_shapes
    from howdeep.logic.evaluate import evaluate_all
    from howdeep.logic.forward_chaining import finding_rules

    dice, rules = random.Random(11), finding_rules(shipped)
    for share in (0.1, 0.5, 1.0) * 4:
        facts = {}
        for name, shape in sorted(fact_shapes(shipped).items()):

            def one(words=shape.words):
                return dice.choice(words) if words else float(dice.choice((0, 1, 5, 9, 20, 60, 90, 130)))

            if dice.random() < share:
                facts[name] = tuple(one() for _ in range(4)) if shape.each else one()
        assert conclude(rules, facts).findings == evaluate_all(shipped, facts)


def test_the_first_run_with_the_rules_that_can_fire_fires_what_all_of_them_do(shipped, assessed):
    from howdeep.logic import forward_chaining

    rules = forward_chaining.finding_rules(shipped)
    for stem in (
        "smoke_and_low_compression_with_dry_seals_stays_in_the_frame",
        "cranking_slowly_by_telephone_is_the_battery_until_it_is_read",
    ):
        facts = assessed[stem].facts.values
        forward_chaining._runs.cache_clear()
        first, second = conclude(rules, facts), conclude(rules, facts)
        assert first == second and first.firings
        few, all_of_them = forward_chaining._engine_for, forward_chaining._engine_class(rules)
        forward_chaining._runs.cache_clear()
        assert 0 < len(few(rules, facts).rules) < len(all_of_them.rules) / 2
        assert few(rules, facts) is all_of_them
