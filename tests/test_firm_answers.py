"""A firm no counts: what one question denies is denied, whatever other way to learn it was not asked."""

import pytest

from howdeep.assessment.session import open_shop
from howdeep.knowledge.questions import evidence_choices, sound_of
from howdeep.logic.evaluate import evaluate, evaluate_all
from howdeep.model.truth import Truth

from .places import ROOT

JOB = """howdeep_job: 1
title: A trial
engine: {engine}
opened: "2026-05-11"
customer: {{name: Invented customer, words: A trial, machine: tractor, value_running: "5200.00"}}
"""


@pytest.fixture(scope="module")
def shop():
    return open_shop(None, None, None, example_prices=True)


def assessed(shop, tmp_path, engine, **parts):
    text = JOB.format(engine=engine)
    for part, answers in parts.items():
        text += f"{part}:\n" + "".join(f"  {name}: {value}\n" for name, value in answers.items())
    path = tmp_path / "trial.yaml"
    path.write_text(text, encoding="utf-8")
    return shop.assess(shop.open_job(path), checks=False, flips=False)


def odds(found):
    return {item.cause: item.posterior for item in found.beliefs}


def standing(found):
    return {hold.hold for hold in found.holds if hold.state == "stands"}


@pytest.mark.parametrize("engine", ["brockwell-4", "skerry-6", "tarn-30"])
@pytest.mark.parametrize(
    "said",
    [
        {"turns_over": "yes"},
        {"turns_over": "yes", "start_cold": "easy"},
        {"turns_over": "yes", "start_cold": "easy", "runs": "yes"},
    ],
)
def test_saying_that_it_turns_and_starts_easily_never_raises_a_seized_engine(shop, tmp_path, engine, said):
    before = odds(assessed(shop, tmp_path, engine, answers={"complaint": "smokes"}))["seized_engine"]
    after = odds(assessed(shop, tmp_path, engine, answers={"complaint": "smokes", **said}))["seized_engine"]
    assert after < before / 4


def test_journals_that_only_need_grinding_sell_no_crankshaft_while_the_mains_are_unmeasured(shop, tmp_path):
    case = ROOT / "cases" / "a_crank_past_its_last_undersize_is_exchanged_not_ground.yaml"
    past = shop.assess(shop.open_job(case), checks=False, flips=False)
    assert odds(past)["crank_past_grinding"] > 0.9
    knowledge = shop.knowledge
    truths = evaluate_all(knowledge, {"crankpin.verdict": ("grind", "good", "good", "good"), "engine.cylinders": 4})
    assert truths["crankpins_need_grinding"] is Truth.PRESENT
    assert truths["crankpin_beyond_grinding"] is Truth.ABSENT
    assert truths["main_journal_beyond_grinding"] is Truth.UNKNOWN


def test_no_sound_answer_leaves_a_finding_of_one_question_unknown(shop):
    """The class: where a finding reads one question alone, the sound answer to that question is a firm no."""
    knowledge, counts = shop.knowledge, {"": None}
    for fact in evidence_choices(knowledge):
        item = knowledge.observations.get(fact) or knowledge.reduced[fact]
        word = next(iter(sound_of(item)), "")
        if not word:
            continue  # who complains of nothing denies nothing
        value = (word,) * 4 if item.each else word
        truths = evaluate_all(knowledge, {fact: value, "engine.cylinders": 4})
        bare = evaluate_all(knowledge, {"engine.cylinders": 4})
        for name, finding in knowledge.findings.items():
            if finding.explained_by and getattr(finding.when, "fact", "") == fact:
                assert bare[name] is Truth.UNKNOWN and truths[name] is Truth.ABSENT, (fact, name)
                counts[fact] = name
    assert len(counts) > 80


def test_very_low_vacuum_counts_beside_a_steady_needle(shop, tmp_path):
    conditions = {"test_engine_warm": "yes", "test_gauge_known": "yes", "vacuum_pattern": "steady"}
    found = assessed(shop, tmp_path, "skerry-6", readings={**conditions, "vacuum_level": "6 inHg"})
    assert "vacuum_very_low" in found.counted.present and "vacuum_low_steady" not in found.counted.present
    found = assessed(shop, tmp_path, "skerry-6", readings={**conditions, "vacuum_level": "14 inHg"})
    assert "vacuum_low_steady" in found.counted.present


def test_a_bridged_plug_is_a_fouled_plug(shop, tmp_path):
    plugs = "[normal, bridged, normal, normal, normal, normal]"
    found = odds(assessed(shop, tmp_path, "skerry-6", readings={"plug_look": plugs}))
    assert found["fouled_plugs"] > 0.9
    plugs = "[normal, sooty_dry, normal, normal, normal, normal]"
    found = odds(assessed(shop, tmp_path, "skerry-6", readings={"plug_look": plugs}))
    assert max(found, key=found.get) == "fouled_plugs"


def test_a_battery_that_rests_full_is_not_the_first_to_blame_for_a_collapse(shop, tmp_path):
    load = {"battery_cranking": "8.4 V"}
    bare = odds(assessed(shop, tmp_path, "skerry-6", readings=load))["weak_battery"]
    full = odds(assessed(shop, tmp_path, "skerry-6", readings={**load, "battery_rest": "12.6 V"}))["weak_battery"]
    flat = odds(assessed(shop, tmp_path, "skerry-6", readings={**load, "battery_rest": "11.6 V"}))["weak_battery"]
    assert full < 0.5 < bare < flat


def test_a_brisk_crank_to_the_last_cylinder_clears_battery_and_cables_and_their_holds(shop, tmp_path):
    asked = {"complaint": "hard_start", "cranking_sound": "slow", "start_cold": "long"}
    before = assessed(shop, tmp_path, "skerry-6", answers=asked)
    after = assessed(shop, tmp_path, "skerry-6", answers=asked, readings={"test_battery_good": "yes"})
    for cause in ("weak_battery", "bad_cables"):
        assert odds(after)[cause] < odds(before)[cause]
    held = {"weak_battery_looks_like_a_tired_engine", "bad_cables_look_like_a_tired_engine"}
    assert held <= standing(before) and not held & standing(after)


WARM = {
    "test_engine_warm": "yes",
    "test_throttle_open": "yes",
    "test_plugs_out": "all",
    "test_battery_good": "yes",
    "test_gauge_known": "yes",
    "compression_strokes": 5,
}


@pytest.mark.parametrize(
    ("dry", "wet", "answer"), [(88.0, 92.0, "little"), (88.0, 110.0, "up"), (60.0, 63.0, "unmoved"), (60.0, 80.0, "up")]
)
def test_the_wet_test_is_looked_at_whatever_the_dry_one_read(shop, tmp_path, dry, wet, answer):
    """brockwell-4: 80 to 95 psi are right, below 62 is low."""
    each = {
        name: f"[{', '.join([f'{value} psi'] * 4)}]"
        for name, value in (("compression_dry", dry), ("compression_wet", wet))
    }
    found = assessed(shop, tmp_path, "brockwell-4", readings={**WARM, **each})
    assert found.facts.values["compression.wet_answer"] == answer


@pytest.mark.parametrize("name", ["oil_light_gauge_hot_idle", "oil_gauge_speed", "oil_gauge_cold"])
def test_no_oil_gauge_is_asked_of_an_engine_that_does_not_run(shop, name):
    needs = shop.knowledge.observations[name].needs
    assert needs is not None and evaluate(needs, {"runs": "no"}, {}, {}) is Truth.ABSENT
    assert evaluate(needs, {"runs": "yes"}, {}, {}) is Truth.PRESENT
