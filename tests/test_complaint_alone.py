"""The complaint by itself: a sign until it is told in more words; denied, it is asked again before a promise."""

import dataclasses

import pytest

from howdeep.assessment.changes import telling_answers
from howdeep.assessment.session import open_shop
from howdeep.knowledge.questions import complaint_alone, named_of, taken_as_sound

from .places import ROOT

JOB = """howdeep_job: 1
title: A trial
engine: {engine}
opened: "2026-11-30"
customer: {{name: Invented customer, words: A trial, machine: tractor, value_running: "{worth}"}}
"""


@pytest.fixture(scope="module")
def shop():
    return open_shop(None, None, None, example_prices=True)


def assessed(shop, tmp_path, engine="brockwell-4", worth="5200.00", checks=False, **parts):
    text = JOB.format(engine=engine, worth=worth)
    for part, answers in parts.items():
        text += f"{part}:\n" + "".join(f"  {name}: {value}\n" for name, value in answers.items())
    path = tmp_path / "trial.yaml"
    path.write_text(text, encoding="utf-8")
    return shop.assess(shop.open_job(path), checks=checks, flips=False)


def hands(found):
    return {item.cause: item.hand for item in found.beliefs}


def counted(found):
    return {name for name in found.counted.present if name.startswith("came_for_")}


SPOKEN = ["hard_start", "smokes", "uses_oil", "knocks", "no_power", "overheats", "misfires", "leaks", "oil_pressure"]


@pytest.mark.parametrize("complaint", [*SPOKEN, "coolant_loss"])
def test_a_bare_complaint_names_suspects_and_promises_nothing(shop, tmp_path, complaint):
    found = assessed(shop, tmp_path, answers={"complaint": complaint, "runs": "yes"}, checks=True)
    assert counted(found) == {f"came_for_{complaint}"}
    named = shop.knowledge.findings[f"came_for_{complaint}"].explained_by
    chief = max(hands(found), key=lambda cause: hands(found)[cause])
    assert chief in named and hands(found)[chief] > 0.08
    assert found.decision.kind == "check_first"


@pytest.mark.parametrize("complaint", ["check_over", "stood"])
def test_who_complains_of_nothing_says_nothing_by_it(shop, tmp_path, complaint):
    with_it = assessed(shop, tmp_path, answers={"complaint": complaint, "runs": "yes", "smoke_pulling": "blue_heavy"})
    without = assessed(shop, tmp_path, answers={"runs": "yes", "smoke_pulling": "blue_heavy"})
    assert not [name for name in with_it.counted.absent if name.startswith("came_for_")]
    assert counted(with_it) == set() == counted(without)


@pytest.mark.parametrize(
    ("complaint", "told"),
    [
        ("coolant_loss", {"coolant_use": "some"}),
        ("coolant_loss", {"oil_look": "milky"}),
        ("overheats", {"overheats": "always"}),
        ("knocks", {"noise": "knock_deep"}),
        ("misfires", {"misfire": "none", "hunting": "yes"}),
        ("hard_start", {"start_cold": "long"}),
        ("oil_pressure", {"oil_gauge_speed": "low"}),
        ("uses_oil", {"oil_use": "little"}),
        ("smokes", {"smoke_pulling": "blue_light"}),
    ],
)
def test_told_in_more_words_or_toned_down_it_counts_no_more(shop, tmp_path, complaint, told):
    found = assessed(shop, tmp_path, answers={"complaint": complaint, "runs": "yes", **told})
    assert counted(found) == set()


def test_who_comes_for_a_leak_comes_for_more_than_the_seep_of_every_old_engine(shop, tmp_path):
    dry = dict.fromkeys(("leak_rear", "leak_front", "leak_cover", "leak_head_joint"), "dry")
    said = {"runs": "yes", "power": "down_some", "smoke_idle": "black", "leak_pan": "drips", **dry}
    for_power = hands(assessed(shop, tmp_path, answers={"complaint": "no_power", **said}))
    for_a_leak = hands(assessed(shop, tmp_path, answers={"complaint": "leaks", **said}))
    assert for_a_leak["external_oil_leak"] > for_power["external_oil_leak"] + 0.2


def test_a_denied_complaint_still_points_to_its_causes_and_is_asked_again_before_a_promise(shop, tmp_path):
    sound = {"power": "good", "misfire": "none", "smoke_any": "no", "oil_use": "none", "coolant_use": "none"}
    said = {"complaint": "overheats", "runs": "yes", "overheats": "no", "noise": "none", **sound}
    found = assessed(shop, tmp_path, "dunmore-d4", "7900.00", answers=said, checks=True)
    assert counted(found) == {"came_for_overheats"}
    chief = max(hands(found), key=lambda cause: hands(found)[cause])
    assert shop.knowledge.causes[chief].system == "cooling"
    assert found.decision.kind in ("begin_with", "check_first")
    borne_out = assessed(shop, tmp_path, "dunmore-d4", "7900.00", answers={**said, "overheats": "always"}, checks=True)
    assert not any("denies" in reason for reason in borne_out.decision.because)


def test_every_complaint_with_a_finding_of_its_own_is_named_in_its_question(shop):
    named = set(named_of(shop.knowledge.observations["complaint"]))
    assert {f"came_for_{name}" for name in named} == complaint_alone(shop.knowledge)


def test_each_fault_comes_for_no_more_than_everything_together(shop):
    words = shop.knowledge.settings.words
    total: dict[str, float] = {}
    for name in complaint_alone(shop.knowledge):
        for cause, word in shop.knowledge.findings[name].explained_by.items():
            total[cause] = total.get(cause, 0.0) + words[word]
    assert {cause: share for cause, share in total.items() if share > 1.001} == {}


def test_no_look_inside_that_costs_more_than_stopping(shop, tmp_path):
    case = ROOT / "cases" / "a_tractor_worth_less_than_its_rings_is_not_opened_to_find_out.yaml"
    text = case.read_text(encoding="utf-8").split("expect:")[0]

    def worth(amount):
        path = tmp_path / "worth.yaml"
        path.write_text(text.replace('"1000.00"', f'"{amount}"'), encoding="utf-8")
        return shop.assess(shop.open_job(path), checks=True, flips=False).decision

    poor, dear = worth("1000.00"), worth("9000.00")
    assert poor.afterwards == "stop" and all(look.expected >= poor.stop for look in poor.looks)
    assert dear.afterwards != "stop"
    job = poor.line(poor.job)
    assert job.enough >= shop.knowledge.settings.deciding.hopeful and job.price > poor.stop


def test_work_without_much_hope_is_not_begun_while_there_is_something_to_check(shop):
    for path in sorted((ROOT / "cases").glob("*.yaml"))[::9]:
        found = shop.assess(shop.open_job(path), checks=True, flips=False)
        decision = found.decision
        if decision.then != "begin_with" or decision.opened or not found.checks:
            continue
        hopeful = decision.line(decision.job).enough >= shop.knowledge.settings.deciding.hopeful
        certain = any(item.hand >= shop.knowledge.settings.deciding.as_good_as_certain for item in found.beliefs)
        assert hopeful or certain, path.stem


def test_nothing_is_given_up_while_a_cheap_fault_that_looks_alike_is_unlooked_at(shop):
    case = shop.open_job(ROOT / "cases" / "nothing_is_given_up_by_telephone.yaml")
    decision = shop.assess(case, checks=True, flips=False).decision
    assert (decision.kind, decision.afterwards) == ("check_first", "stop")
    assert "Not checked yet" in decision.because[0]
    waived = {hold.hold for hold in shop.assess(case, checks=False, flips=False).holds if hold.state == "stands"}
    waived_job = dataclasses.replace(case, job=dataclasses.replace(case.job, waived=tuple(sorted(waived))))
    assert "Not checked yet" not in " ".join(shop.assess(waived_job, checks=True, flips=False).decision.because)


@pytest.mark.parametrize("complaint", ["coolant_loss", "overheats", "leaks"])
def test_no_other_complaint_is_taken_for_a_sound_one(shop, tmp_path, complaint):
    found = assessed(shop, tmp_path, answers={"complaint": complaint, "runs": "yes", "smoke_pulling": "blue_heavy"})
    assert counted(found) == {f"came_for_{complaint}"}
    assert "smoke_pulling" in telling_answers(shop.knowledge, found)
    assert "complaint" not in telling_answers(shop.knowledge, found)
    assert taken_as_sound(shop.knowledge.observations["complaint"]) == ()
    assert taken_as_sound(shop.knowledge.observations["oil_use"])[0] == "none"
