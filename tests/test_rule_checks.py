"""Every check of the rule base finds its seeded fault, at its place, and is silent on the good example beside it."""

import re
import textwrap
from pathlib import Path

import pytest
import yaml
from hypothesis import given, settings
from hypothesis import strategies as st

from howdeep.errors import HowdeepError
from howdeep.knowledge.load import load
from howdeep.logic.evaluate import evaluate, evaluate_all
from howdeep.model.condition import AllOf, AnyOf, FactTest, FindingTest, Not
from howdeep.model.truth import Truth
from howdeep.rulecheck.base import HEADINGS
from howdeep.rulecheck.run import BY_CODE, explain, run
from howdeep.rulecheck.subject import CaseRun, Subject, read_sheets
from howdeep.rulecheck.worlds import PRESENT, Vocabulary

from .places import ROOT

SEEDED = ROOT / "tests" / "seeded_rules"

FINDING = """{name}:
  title: {title}
  when: {when}
  because: Something happens in the engine that shows in this way.
  fooled_by: Something else that looks the same.
  source: [{{standing: judgement}}]
  explained_by: {{worn_crank: usually}}
  otherwise: rarely
"""
OBSERVE = "moment: talk, group: more, kind: choice, answers: {no: No, yes: Yes}, worsens: [no, yes]"
FAULTS = yaml.safe_load((ROOT / "tests" / "seeded_faults.yaml").read_text(encoding="utf-8"))
SEEDS = {code: (item["about"], item["bad"], item["good"]) for code, item in FAULTS.items()}
"""Code -> (kind/id complained about, bad, good); bad and good: kind -> entries laid over the seeded rule base."""
ELSEWHERE = {"never-fired", "never-silent", "low-coverage", "too-wide", "unreadable-sheet", "implausible-sheet"}


def finding(name, when, title="It shows in its own way"):
    return FINDING.format(name=name, when=when, title=title)


def checked(tmp_path, overlay, codes=(), cases=None, sheets=None):
    shop = tmp_path / "shop"
    (shop / "engines").mkdir(parents=True, exist_ok=True)
    for kind, text in overlay.items():
        (shop / f"{kind}.yaml").write_text(textwrap.dedent(text) + "\n", encoding="utf-8")
    for name, text in (sheets or {}).items():
        (shop / "engines" / f"{name}.yaml").write_text(text, encoding="utf-8")
    folders = [SEEDED, shop]
    engines, faults, _ = read_sheets(folders)
    return run(Subject(load(folders), engines, cases, faults, shipped=load([SEEDED])), codes)


def test_the_good_rule_base_is_clean(tmp_path):
    report = checked(tmp_path, {})
    assert report.anomalies == () and report.checked > 40


@pytest.mark.parametrize("code", sorted(SEEDS))
def test_the_seeded_fault_is_found_at_its_place(tmp_path, code):
    key, bad, _ = SEEDS[code]
    report = checked(tmp_path, bad)
    hits = [item for item in report.anomalies if item.code == code]
    assert key in {item.key for item in hits}, [str(item) for item in report.anomalies]
    hit = next(item for item in hits if item.key == key)
    assert not hit.excused and hit.message and hit.do
    assert Path(hit.file).is_file() and hit.line >= 1 and hit.column >= 1
    lines = Path(hit.file).read_text(encoding="utf-8").splitlines()
    upper = [line for line in lines[: hit.line] if re.match(r"[a-z]", line)]
    assert upper[-1].startswith(key.split("/")[1])


@pytest.mark.parametrize("code", sorted(SEEDS))
def test_the_good_example_beside_it_is_passed(tmp_path, code):
    key, _, good = SEEDS[code]
    report = checked(tmp_path, good)
    assert [item for item in report.anomalies if item.code == code and item.key == key] == []


def test_every_check_has_a_seeded_fault_and_explains_itself():
    assert set(SEEDS) | ELSEWHERE == set(BY_CODE)
    for code in BY_CODE:
        text = explain(code)
        assert all(heading in text for heading in HEADINGS), code
        assert max(map(len, text.splitlines())) <= 120


def case(**findings):
    return CaseRun("one", "twin", {"runs": "no", "knock": "deep", "stood": "years"}, findings)


def test_rules_that_no_case_fires_or_silences_are_named(tmp_path):
    names = ("blue_smoke", "oily_plugs", "low_volts", "low_everywhere", "one_low", "deep_knock")
    cases = (case(**dict.fromkeys(names, Truth.PRESENT)), case(**dict.fromkeys(names[1:], Truth.ABSENT)))
    report = checked(tmp_path, {}, cases=cases)
    fired = {item.key for item in report.anomalies if item.code == "never-fired"}
    silent = {item.key for item in report.anomalies if item.code == "never-silent"}
    assert fired == {"holds/battery_first"}
    assert silent == {"findings/blue_smoke", "history/stood_for_years", "contradictions/knocks_dead"}


def test_without_cases_an_excuse_for_what_only_cases_show_is_left_alone(tmp_path):
    excuse = "  excuse: {never-fired: no job of this kind has come in yet at all}\n"
    report = checked(tmp_path, {"findings": finding("far", "{fact: stood, is: years}") + excuse})
    assert report.anomalies == ()


def test_outcomes_that_leave_much_uncovered_are_named(tmp_path):
    def covering(share):
        return (CaseRun("one", "twin", {}, {}, {"squeeze_test": share}),)

    low = checked(tmp_path, {}, ["low-coverage"], covering(0.3))
    assert [item.key for item in low.anomalies] == ["checks/squeeze_test"] and "30 %" in low.anomalies[0].message
    assert checked(tmp_path, {}, ["low-coverage"], covering(0.9)).anomalies == ()


def test_a_condition_too_wide_to_decide_is_said_and_not_passed_over_in_silence(tmp_path):
    names = [f"ask{index}" for index in range(40)]
    asked = "\n".join(f"{name}: {{title: {name}, ask: A?, {OBSERVE}}}" for name in names)
    tests = ", ".join(f"{{fact: {name}, is: yes}}" for name in names)
    report = checked(tmp_path, {"observations": asked, "findings": finding("far", f"{{any: [{tests}]}}")})
    assert [(item.code, item.severity) for item in report.anomalies] == [("too-wide", "note")]
    assert report.clean


def test_an_engine_sheet_that_cannot_be_read_is_an_error_with_its_place(tmp_path):
    sheet = (SEEDED / "engines" / "twin.yaml").read_text().replace("stroke: 4 in", "stroke: 4")
    report = checked(tmp_path, {}, sheets={"broken": sheet})
    (only,) = report.anomalies
    assert only.code == "unreadable-sheet" and only.file.endswith("broken.yaml") and only.line > 1


def test_a_misspelt_operation_in_an_engine_sheet_is_found(tmp_path):
    sheet = (SEEDED / "engines" / "twin.yaml").read_text() + "hours: {re_rign: 9}\n"
    report = checked(tmp_path, {}, sheets={"other": sheet})
    (only,) = report.anomalies
    assert only.code == "unknown-name" and "re_rign" in only.message and "re_ring" in only.do


def test_an_excuse_with_a_reason_in_either_of_two_rules_is_enough(tmp_path):
    seed = SEEDS["counted-twice"][1]["findings"]
    reason = "the two are heard at different times and by different people"
    report = checked(tmp_path, {"findings": seed + f"  excuse: {{counted-twice: {reason}}}\n"})
    (only,) = report.anomalies
    assert only.code == "counted-twice" and only.excused == reason and report.clean


def test_all_faults_of_all_checks_come_at_once_in_order_of_file_and_line(tmp_path):
    overlay = {}
    for code in ("never-holds", "no-source", "idle-operation", "brings-circle"):
        overlay |= SEEDS[code][1]
    report = checked(tmp_path, overlay)
    assert {"never-holds", "no-source", "brings-circle"} <= {item.code for item in report.anomalies}
    assert list(report.anomalies) == sorted(report.anomalies)


def test_an_unknown_code_names_the_nearest_check():
    with pytest.raises(HowdeepError, match="never-holds"):
        explain("never-hold")


SMALL = load([SEEDED])
VOCABULARY = Vocabulary(SMALL)
TESTS = st.sampled_from(
    [
        FactTest("smoke", ("blue",)),
        FactTest("knock", ("deep",)),
        FactTest("volts", bounds=(("below", "cranking_least"),)),
        FactTest("volts", bounds=(("at_least", 9.6), ("below", 12.0))),
        FactTest("plugs", ("oily",), cylinders="any"),
        FactTest("plugs", ("oily",), cylinders="neighbours"),
        FactTest("squeeze", bounds=(("below", 80.0),), cylinders=2),
        FactTest("squeeze", bounds=(("above", 90.0),), cylinders="every"),
        FindingTest("one_low"),
    ]
)
CONDITIONS = st.recursive(
    TESTS,
    lambda inner: st.one_of(
        inner.map(Not),
        st.lists(inner, min_size=1, max_size=3).map(lambda parts: AllOf(tuple(parts))),
        st.lists(inner, min_size=1, max_size=3).map(lambda parts: AnyOf(tuple(parts))),
    ),
    max_leaves=6,
)
NUMBERS = st.sampled_from([0.0, 9.5, 9.6, 11.0, 12.0, 30.0])
PSI = st.one_of(st.none(), st.sampled_from([0.0, 79.0, 80.0, 85.0, 90.0, 91.0, 600.0]))
WORLDS = st.fixed_dictionaries(
    {},
    optional={
        "smoke": st.sampled_from(["none", "blue"]),
        "knock": st.sampled_from(["none", "deep"]),
        "volts": NUMBERS,
        "plugs": st.lists(st.sampled_from(["dry", "oily", None]), min_size=1, max_size=4).map(tuple),
        "squeeze": st.lists(PSI, min_size=1, max_size=4).map(tuple),
        "squeeze.spread": st.sampled_from([10.0, 25.0, 26.0]),
        "leak": st.sampled_from(["dry", "drips"]),
    },
)


@settings(max_examples=150, deadline=None)
@given(CONDITIONS, WORLDS)
def test_what_the_evaluator_says_of_any_answers_lies_in_the_space(condition, world):
    said = evaluate(condition, world, evaluate_all(SMALL, world), VOCABULARY.limits)
    space = VOCABULARY.space(condition)
    assert space.any(space.truth(condition) == {"absent": 0, "unknown": 1, "present": 2}[said.value])


@settings(max_examples=150, deadline=None)
@given(CONDITIONS)
def test_a_world_the_space_names_is_what_the_evaluator_says(condition):
    space = VOCABULARY.space(condition)
    for code, truth in ((0, Truth.ABSENT), (PRESENT, Truth.PRESENT)):
        mask = space.truth(condition) == code
        if space.any(mask):
            world = space.witness(mask)
            assert evaluate(condition, world, evaluate_all(SMALL, world), VOCABULARY.limits) is truth


def test_an_answer_that_another_one_implies_may_stand_although_its_own_ground_is_gone(tmp_path):
    runs = (
        "runs: {title: Runs, ask: Does it run?, moment: talk, group: running, kind: choice, "
        "answers: {yes: It runs, no: It does not}%s}"
    )
    seed = finding("far", "{all: [{fact: runs, is: no}, {fact: smoke, is: none}]}")
    found = checked(tmp_path, {"observations": runs % "", "findings": seed}, ["never-holds"])
    assert [item.key for item in found.anomalies] == ["findings/far"]
    implied = {"observations": runs % ", implies: {no: {smoke: none}}", "findings": seed}
    assert checked(tmp_path, implied, ["never-holds"]).anomalies == ()
