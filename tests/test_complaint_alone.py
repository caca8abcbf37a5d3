"""The complaint by itself: a sign until it is told in more words; denied, it is asked again before a promise."""

import dataclasses

import pytest

from howdeep.assessment.changes import telling_answers
from howdeep.beliefs.questions import all_facts
from howdeep.knowledge.questions import complaint_alone, named_of, taken_as_sound
from howdeep.show.verdict import verdict_of
from howdeep.show.why_not_kind import why_not_so

from .places import ROOT
from .test_covers import assessed


def hands(found):
    return {item.cause: item.hand for item in found.beliefs}


def counted(found):
    return {name for name in found.counted.present if name.startswith("came_for_")}


SPOKEN = ["hard_start", "smokes", "uses_oil", "knocks", "no_power", "overheats", "misfires", "leaks", "oil_pressure"]


@pytest.mark.parametrize("complaint", [*SPOKEN, "coolant_loss"])
def test_a_bare_complaint_names_suspects_and_promises_nothing(shop, complaint):
    found = assessed(shop, "brockwell-4", {"complaint": complaint, "runs": "yes"}, checks=True)
    assert counted(found) == {f"came_for_{complaint}"}
    named = shop.knowledge.findings[f"came_for_{complaint}"].explained_by
    chief = max(hands(found), key=lambda cause: hands(found)[cause])
    assert chief in named and hands(found)[chief] > 0.08
    assert found.decision.kind == "check_first"


@pytest.mark.parametrize("complaint", ["check_over", "stood"])
def test_who_complains_of_nothing_says_nothing_by_it(shop, complaint):
    with_it = assessed(shop, "brockwell-4", {"complaint": complaint, "runs": "yes", "smoke_pulling": "blue_heavy"})
    without = assessed(shop, "brockwell-4", {"runs": "yes", "smoke_pulling": "blue_heavy"})
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
def test_told_in_more_words_or_toned_down_it_counts_no_more(shop, complaint, told):
    found = assessed(shop, "brockwell-4", {"complaint": complaint, "runs": "yes", **told})
    assert counted(found) == set()


def test_who_comes_for_a_leak_comes_for_more_than_the_seep_of_every_old_engine(shop):
    dry = dict.fromkeys(("leak_rear", "leak_front", "leak_cover", "leak_head_joint"), "dry")
    said = {"runs": "yes", "power": "down_some", "smoke_idle": "black", "leak_pan": "drips", **dry}
    for_power = hands(assessed(shop, "brockwell-4", {"complaint": "no_power", **said}))
    for_a_leak = hands(assessed(shop, "brockwell-4", {"complaint": "leaks", **said}))
    assert for_a_leak["external_oil_leak"] > for_power["external_oil_leak"] + 0.2


def test_a_denied_complaint_still_points_to_its_causes_and_is_asked_again_before_a_promise(shop):
    sound = {"power": "good", "misfire": "none", "smoke_any": "no", "oil_use": "none", "coolant_use": "none"}
    said = {"complaint": "overheats", "runs": "yes", "overheats": "no", "noise": "none", **sound}
    found = assessed(shop, "dunmore-d4", said, checks=True)
    assert counted(found) == {"came_for_overheats"}
    chief = max(hands(found), key=lambda cause: hands(found)[cause])
    assert shop.knowledge.causes[chief].system == "cooling"
    assert found.decision.kind in ("begin_with", "check_first")
    borne_out = assessed(shop, "dunmore-d4", {**said, "overheats": "always"}, checks=True)
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
    assert poor.afterwards == "can_wait" and all(look.expected >= poor.stop for look in poor.looks)
    assert "used up" in " ".join(poor.because) and dear.afterwards not in ("stop", "can_wait")
    job = poor.line(poor.job)
    assert job.enough >= shop.knowledge.settings.deciding.hopeful and job.price > poor.stop


def test_work_without_much_hope_is_not_begun_while_there_is_something_to_check(shop):
    deciding = shop.knowledge.settings.deciding
    begun = []
    for path in sorted((ROOT / "cases").glob("*.yaml"))[::6]:
        found = shop.assess(shop.open_job(path), checks=True, flips=False)
        decision = found.decision
        if decision.then == "begin_with" and not decision.opened and found.checks:
            begun.append(path.stem)
            hopeful = decision.line(decision.job).enough >= deciding.hopeful
            assert hopeful or any(item.hand >= deciding.as_good_as_certain for item in found.beliefs), path.stem
    assert len(begun) > 2
    clatter = ROOT / "cases" / "a_clatter_at_every_turn_hangs_on_the_shaft_and_not_on_the_valves.yaml"
    decision = shop.assess(shop.open_job(clatter), checks=True, flips=False).decision
    assert (decision.then, decision.afterwards) == ("check_first", "begin_with")
    assert decision.line(decision.job).enough < deciding.hopeful and "much hope" in decision.because[0]


def test_nothing_is_given_up_while_a_cheap_fault_that_looks_alike_is_unlooked_at(shop):
    case = shop.open_job(ROOT / "cases" / "nothing_is_given_up_by_telephone.yaml")
    decision = shop.assess(case, checks=True, flips=False).decision
    assert (decision.kind, decision.afterwards) == ("check_first", "can_wait")
    assert "Not checked yet" in decision.because[0]
    told = verdict_of(shop.knowledge, shop.assess(case, checks=True, flips=False), shop.prices)
    assert "as it stands: it can wait" in told.headline.lower() and not told.names_job
    assert told.lines("job")[0].lead == "Refresh in the frame"
    waived = {hold.hold for hold in shop.assess(case, checks=False, flips=False).holds if hold.state == "stands"}
    waived_job = dataclasses.replace(case, job=dataclasses.replace(case.job, waived=tuple(sorted(waived))))
    assert "Not checked yet" not in " ".join(shop.assess(waived_job, checks=True, flips=False).decision.because)


@pytest.mark.parametrize("complaint", ["coolant_loss", "overheats", "leaks"])
def test_no_other_complaint_is_taken_for_a_sound_one(shop, complaint):
    found = assessed(shop, "brockwell-4", {"complaint": complaint, "runs": "yes", "smoke_pulling": "blue_heavy"})
    assert counted(found) == {f"came_for_{complaint}"}
    assert "smoke_pulling" in telling_answers(shop.knowledge, found)
    assert "complaint" not in telling_answers(shop.knowledge, found)
    assert taken_as_sound(shop.knowledge.observations["complaint"]) == ()
    assert taken_as_sound(shop.knowledge.observations["oil_use"])[0] == "none"


LEAKS_EVERYWHERE = {"leak_pan", "leak_rear", "leak_front", "leak_cover"}
"""Where every old engine is damp: who comes for a leak comes for more."""


def test_what_is_told_about_a_complaint_covers_it(shop):
    """Whoever adds a sign of smoke, heat or noise says that it is what the customer came for."""
    knowledge, held = shop.knowledge, 0
    for complaint in named_of(knowledge.observations["complaint"]):
        about = set(knowledge.settings.spoken_of[complaint])
        for name, finding in knowledge.findings.items():
            read = {fact for fact in all_facts(knowledge, name) if not fact.startswith("engine.")}
            if finding.explained_by and read and read <= about and not read & LEAKS_EVERYWHERE:
                assert f"came_for_{complaint}" in finding.covers, (name, complaint)
                held += 1
    assert held > 50


def test_a_damp_pump_beside_a_pan_that_drips_tones_nothing_down(shop):
    drips = assessed(shop, "tarn-30", {"complaint": "leaks", "leak_water_pump": "damp", "leak_pan": "drips"})
    damp = assessed(shop, "tarn-30", {"complaint": "leaks", "leak_water_pump": "damp", "leak_pan": "dry"})
    assert counted(drips) == {"came_for_leaks"} and counted(damp) == set()


def test_what_locked_in_use_is_not_soaked_and_not_cranked(shop):
    stuck = {"complaint": "stuck", "runs": "no", "turns_over": "stuck"}
    in_use = assessed(shop, "brockwell-4", {**stuck, "stood": "no"})
    stood = assessed(shop, "brockwell-4", {**stuck, "stood": "years"})
    dangers = [[item.subject for item in answer.decision.dangers] for answer in (in_use, stood)]
    assert dangers == [["locked_in_use"], ["engine_stuck"]]
    assert all(answer.decision.dangers[0].cranking for answer in (in_use, stood))
    assert hands(in_use)["rust_held"] < 0.05 < 0.5 < hands(stood)["rust_held"]
    holds = [
        {hold.hold: hold.state for hold in answer.holds}.get("soak_before_the_strip") for answer in (in_use, stood)
    ]
    assert holds[0] != "stands" and holds[1] == "stands"


def test_why_no_look_inside_says_that_stopping_costs_no_more(shop):
    case = shop.open_job(ROOT / "cases" / "a_tractor_worth_less_than_its_rings_is_not_opened_to_find_out.yaml")
    answer = shop.assess(case, checks=True, flips=False)
    assert "no less than the USD 1,000" in " ".join(why_not_so(shop.knowledge, answer, "look_inside"))


def test_what_turns_freely_by_hand_is_stuck_no_more(shop):
    stuck = {"complaint": "stuck", "runs": "no", "turns_over": "stuck", "stood": "years"}
    said = assessed(shop, "brockwell-4", stuck)
    tried = assessed(shop, "brockwell-4", stuck, {"turns_by_hand": "free"})
    assert said.decision.kind == "do_not_run" and not tried.decision.dangers
    assert hands(said)["rust_held"] > 0.5 and hands(tried)["rust_held"] < 0.1
    assert tried.contradictions == ("stuck_yet_turns_by_hand",)


def test_work_done_settles_what_was_said_before_it(shop):
    freed = shop.open_job(ROOT / "cases" / "what_oil_has_freed_is_tried_on_fuel_and_spark_next.yaml")
    before = dataclasses.replace(freed, job=dataclasses.replace(freed.job, done=()))
    assert shop.assess(before, checks=False).contradictions == ("stuck_yet_turns_by_hand",)
    assert shop.assess(freed, checks=False).contradictions == ()
