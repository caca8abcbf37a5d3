"""The stranger's simulation: its bills on hand-worked jobs, its signs, and the reference that it keeps."""

import dataclasses
import json
import sys
from pathlib import Path
from statistics import NormalDist
from types import SimpleNamespace

import numpy as np
import pytest

from howdeep.files.plain_yaml import dump
from howdeep.job.read import open_text
from howdeep.job.sections import section_of
from howdeep.knowledge.engine_facts import count_of
from howdeep.knowledge.engines import find, load_engine
from howdeep.knowledge.where import shipped_cases
from howdeep.model.truth import Truth

from .places import ROOT
from .sampling import WHOLE

sys.path.insert(0, str(ROOT / "bench"))
from stranger import landed
from stranger.actions import Case, Check, Do, Look, Stop
from stranger.current import Advised, Answer, Asked, act_on, answer_of
from stranger.faults import FAULTS, life, severities
from stranger.kleene import all_findings
from stranger.policies import Reference
from stranger.run import Bench, policies_of
from stranger.running import Spots, running, troubles
from stranger.shop import enough_of, faults_behind, oracle, run
from stranger.signs import BLUR, TESTS, look
from stranger.works import Terms, Works, works_of
from stranger.world import MISREAD, SHEETS, make, sheet_of

KEPT = json.loads((ROOT / "bench" / "stranger" / "landed_kept.json").read_text())


@pytest.fixture(scope="module")
def works(shop):
    return {name: works_of(shop.knowledge, load_engine(find(name, shop.folders)), name, shop.prices) for name in SHEETS}


# --- bills, worked by hand on an engine of four possible faults ---

NEED = {"battery": 0, "valve": 2, "pins": 3, "bore": 4}
SEEN = {"battery": 0, "valve": 2, "pins": 3, "bore": 2}
OPEN_TO = {0: 50.0, 1: 300.0, 2: 1000.0, 3: 2000.0, 4: 4000.0, 5: 9000.0}
TERMS = Terms(1.15, 140.0, 450.0, 180.0, {2: 390.0, 3: 780.0}, 60.0, {"none": 0.0, "some": 40.0})
FELT_AS = {"battery": "hard_start", "valve": "misfires", "pins": "knocks", "bore": "uses_oil"}


class HandWorks:
    """Opening costs what `OPEN_TO` says, each cure 100."""

    terms, need, seen = TERMS, NEED, SEEN
    knowledge = SimpleNamespace(observations={})

    def work(self, depth, aimed, *, whole):
        cures = {name for name in aimed if NEED[name] <= depth}
        return frozenset({f"open {depth}"} | cures) if whole or cures else frozenset()

    def price(self, done):
        opens = [OPEN_TO[int(name[5:])] for name in done if name.startswith("open")]
        return max(opens, default=0.0) + 100.0 * sum(not name.startswith("open") for name in done)

    def cured(self, done, causes):
        return frozenset(done) & frozenset(causes)


class HandWorld:
    """An engine whose every fault from severity .4 is felt."""

    works, asked, value_running = HandWorks(), (), 10_000.0

    def __init__(self, stopping_costs=6000.0, **faults):
        self.faults, self.stopping_costs = faults, stopping_costs

    def answers(self, names, cured=()):
        return {}

    def opened(self, depth, cured=()):
        return {}

    def found(self, depth, cured=(), least=0.35):
        return frozenset(
            name
            for name, much in self.faults.items()
            if name not in cured and much >= least and 2 <= SEEN[name] <= depth
        )

    def troubles(self, cured=()):
        return frozenset(FELT_AS[name] for name, much in self.faults.items() if name not in set(cured) and much >= 0.4)


class Script:
    """Does what it is told, in order."""

    name = "script"

    def __init__(self, *actions):
        self.actions = list(actions)

    def act(self, case):
        self.case = case
        return self.actions.pop(0)


def aimed(*names):
    return frozenset(names)


BILLS = {
    "cured at once": ({"battery": 0.8}, [Do(0, aimed("battery"))], 150),
    "shown at once: found on the bench, no comeback": ({"valve": 0.8}, [Do(0), Do(2)], 50 + 1000 + 100),
    "shows in use: comeback; opened again: reopening": (
        {"bore": 0.45},
        [Do(2, aimed("valve")), Do(4, aimed("bore"))],
        1100 + 450 + 180 + 4100,
    ),
    "grows: charge and dearer difference": ({"bore": 0.8}, [Do(2)], 1000 + 140 + 1.15 * (4100 - 1000)),
    "what is found at the same depth costs its price": ({"valve": 0.6}, [Do(2)], 1100),
    "looked first: no growth, credited": ({"bore": 0.8}, [Look(3), Do(4)], 780 + 4100 - 780),
    "lifting the head to look costs half": ({"bore": 0.8}, [Look(2), Stop()], 390 + 6000),
    "a look deeper than the work is not credited": ({"valve": 0.8}, [Look(3), Do(2)], 780 + 1100),
    "checked first": ({"battery": 0.8}, [Check(("x",), 30, "some"), Do(0, aimed("battery"))], 30 + 40 + 150),
    "stopped": ({"valve": 0.8}, [Stop()], 6000),
    "dearer than stopping: the owner stops": ({"bore": 0.8}, [Do(5)], 6000),
}


@pytest.mark.parametrize("name", BILLS)
def test_a_bill_is_what_hand_arithmetic_says(name):
    faults, actions, cost = BILLS[name]
    world = HandWorld(**faults)
    if name.startswith("shows in use"):  # seen at the top end and not past its limit there
        world.found = lambda depth, cured=(), least=0.35: frozenset()
    assert run(world, Script(*actions)).cost == pytest.approx(cost)


def test_growth_dearer_than_stopping_is_declined_and_the_engine_comes_back():
    world = HandWorld(stopping_costs=2000.0, bore=0.8)
    bill = run(world, Script(Do(2), Stop()))
    assert bill.comebacks == 1 and bill.stopped
    assert bill.cost == pytest.approx(1000 + 450 + 2000)


def test_a_shop_that_never_finds_it_pays_for_help():
    bill = run(HandWorld(battery=0.8), Script(*[Do(0)] * 6))
    assert bill.gave_up and bill.jobs == 6
    assert bill.cost == pytest.approx(50 + 450 + 150)  # what was done is not charged again; then help, with a comeback


def test_the_oracle_cures_what_is_behind_the_trouble_and_no_more():
    world = HandWorld(battery=0.8, valve=0.3, bore=0.2)
    known = oracle(world)
    assert known.behind == {"battery"} and known.cost == 150 and known.depth == 0
    assert oracle(HandWorld(bore=0.8)).cost == 4100
    assert oracle(HandWorld(stopping_costs=900.0, bore=0.8)).stops
    assert enough_of(HandWorld(valve=0.8)) == (False, False, True, True, True, True)


# --- works ---


def test_prices_are_hours_parts_and_machine_work_by_hand(shop, works):
    here: Works = works["tarn-30"]
    done = frozenset(("charge_or_replace_battery",))
    item = shop.knowledge.operations["charge_or_replace_battery"]
    hours = here.engine.hours.get("charge_or_replace_battery", item.hours)
    assert item.per == "engine" and not item.machine
    goods = sum(float(shop.prices.parts[part]) for part in item.parts)
    labour = round(hours * float(shop.prices.labour_rate), 2) * (1 + float(shop.prices.supplies_percent) / 100)
    assert here.price(done) == round(labour + goods, 2)
    both = here.price(frozenset(("remove_refit_head", "renew_head_gasket", "valve_job")))
    apart = sum(here.price(frozenset((name,))) for name in ("remove_refit_head", "renew_head_gasket", "valve_job"))
    assert both <= apart  # what two operations share is charged once


def test_every_fault_has_a_cure_on_every_sheet_that_can_have_it(works):
    for here in works.values():
        for cause in FAULTS:
            if cause in here.need:
                assert here.cured(here.work(here.need[cause], (cause,), whole=False), (cause,)) == {cause}, cause
    assert set(FAULTS) <= set.union(*(set(here.need) for here in works.values()))


# --- the generator ---


def test_faults_are_as_frequent_as_the_table_says():
    causes, draws = list(FAULTS), 1500
    rng = np.random.default_rng(5)
    seen = dict.fromkeys(causes, 0)
    for _ in range(draws):
        for name in severities(life(rng), causes, rng):
            seen[name] += 1
    for name, fault in FAULTS.items():
        error = np.sqrt(fault.share * (1 - fault.share) / draws)
        assert abs(seen[name] / draws - fault.share) < 4.5 * error, name


@pytest.mark.parametrize(
    ("sign", "cause", "word", "limit"),
    [
        ("choke_check", "choke_stuck", "sticks_shut", 0.3),
        ("fuel_sample", "stale_fuel", "stale_gum", 0.2),
        ("breather_check", "blocked_breather", "blocked", 0.3),
        ("bleed_diesel", "air_in_fuel", "bubbles", 0.2),
    ],
)
def test_a_sign_comes_as_often_as_its_blur_says(works, sign, cause, word, limit):
    sheet, spots, draws = sheet_of(works["tarn-30"].engine), Spots(0, (1.0,) * 4), 400
    for severity in (0.0, 0.15, 0.25, 0.35, 0.6):
        shown = (
            sum(
                TESTS[sign](look({cause: severity}, {}, spots, sheet, False, (9, number)), sign) == word
                for number in range(draws)
            )
            / draws
        )
        chance = NormalDist().cdf((severity - limit) / BLUR)
        assert abs(shown - chance) < 4.5 * np.sqrt(max(chance * (1 - chance), 1 / draws) / draws) + 1e-9


ONLY_ADDS = {
    "blocked_breather",
    "tight_valve_clearance",
    "oil_level_low",
    "wrong_thin_oil",
    "warped_head",
    "worn_crank_journals",
}
"""Faults that no owner of this bench feels by themselves; they make others worse."""


def test_a_sound_engine_has_no_trouble_and_worse_faults_never_less():
    spots = Spots(1, (1.0, 0.8, 0.7, 0.9))
    assert not troubles({}, spots, diesel=True) and not troubles({}, spots, diesel=False)
    for cause in FAULTS:
        felt = []
        for diesel in (True, False):
            mild = running({cause: 0.3}, spots, diesel=diesel).trouble
            bad = running({cause: 0.9}, spots, diesel=diesel).trouble
            assert all(bad[name] >= mild[name] - 0.08 for name in bad), cause  # carbon lifts compression a little
            felt.append(bool(troubles({cause: 0.95}, spots, diesel=diesel)))
        assert any(felt) != (cause in ONLY_ADDS), cause


def test_owners_misreport_as_often_as_drawn(works):
    """Told and true answers differ as often as the owner's share says."""
    told = wrong = 0
    expected = []
    for number in range(60):
        world = make(works, 11, number)
        honest = dataclasses.replace(world, misreports=0.0)
        names = ("dust", "ran_low_oil", "work_load", "stood", "overheated_before", "oil_grade")
        first, second = world.answers(names), honest.answers(names)
        told += len(first)
        wrong += sum(first[name] != second[name] for name in first)
        expected.append(world.misreports)
        assert 0.05 <= world.misreports <= 0.10
    rate = float(np.mean(expected))
    assert abs(wrong / told - rate) < 4.5 * np.sqrt(rate * (1 - rate) / told)
    assert MISREAD < 0.05


def test_every_made_up_job_is_a_job_file_that_reads_cleanly(shop, works):
    for number in range(12):
        world = make(works, 3, number)
        observations = shop.knowledge.observations
        plain = {"howdeep_job": 1, "engine": world.works.sheet}
        for name, value in {**world.answers(observations), **world.opened(5)}.items():
            plain.setdefault(section_of(observations[name]), {})[name] = value
        job = open_text(dump(plain), "made-up job", Path("."), shop.knowledge, shop.folders, world.works.engine)
        assert job.values.keys() >= {"complaint", "runs"}
        assert world.troubles() and not world.troubles(world.faults)


def test_an_engine_is_the_same_whoever_asks_first(works):
    one, other = make(works, 4, 8), make(works, 4, 8)
    assert one.faults == other.faults
    assert one.answers(("complaint", "runs", "power")) == {
        name: value
        for name, value in other.answers(("power", "smoke_any", "runs", "complaint")).items()
        if name != "smoke_any"
    }
    behind = faults_behind(one)
    assert not one.troubles(behind)
    assert all(one.troubles(behind - {name}) for name in behind)


# --- the reference ---


@pytest.mark.parametrize("case", KEPT["cases"], ids=lambda case: case["case"])
def test_the_reference_says_what_the_landed_rule_said(case):
    tables = landed.kept_tables()
    engine = KEPT["engines"][case["engine"]]
    truths = dict.fromkeys(case["present"], True) | dict.fromkeys(case["absent"], False)
    said = landed.believed(tables, engine["need"], engine["seen"], truths, frozenset(case["history"]))
    costs = landed.expected(said.states, tuple(case["prices"]), landed.Money(**KEPT["money"]))
    assert {cause: said.odds[cause] for cause in case["odds"]} == pytest.approx(case["odds"], abs=2e-5)
    assert said.enough == pytest.approx(case["enough"], abs=1e-7)
    assert said.noticed == pytest.approx(case["noticed"], abs=1e-7)
    assert costs == pytest.approx(case["expected"], abs=0.02)
    assert landed.cheapest(costs) == case["rung"]


def test_the_small_evaluator_concludes_what_the_program_concludes(shop):
    limits = {name: item.value for name, item in shop.knowledge.limits.items()}
    words = {Truth.PRESENT: True, Truth.ABSENT: False, Truth.UNKNOWN: None}
    for path in sorted(shipped_cases().glob("*.yaml"))[::60]:
        said = shop.assess(shop.open_job(path), checks=False, flips=False)
        truths = all_findings(
            {name: item.when for name, item in shop.knowledge.findings.items()}, said.facts.values, limits
        )
        assert truths == {name: words[truth] for name, truth in said.conclusions.findings.items()}


# --- policies ---


def test_no_policy_beats_the_oracle_and_every_policy_ends(shop, works):
    bench = Bench(shop, works, Reference(shop.folders, landed.kept_tables()), Asked(shop), "quick")
    for number in range(2 if WHOLE else 1):
        world = make(works, 2, number)
        known = oracle(world)
        for policy in policies_of(bench, world):
            bill = run(world, policy)
            assert bill.cost >= known.cost - 0.01, policy.name
            assert bill.cost == pytest.approx(known.cost) or policy.name != "oracle"


def test_every_kind_of_answer_becomes_an_action(works):
    here = works["tarn-30"]
    case = Case(here, {}, 4000.0, 2600.0)
    cures = frozenset(("burnt_exhaust_valve", "weak_battery"))
    jobs = (Advised(2, True, 0.8, frozenset(("valve_job", "charge_or_replace_battery")), cures), Advised(0, True, 0.3))

    def said(kind, afterwards="begin_with", **more):
        return Answer(kind, afterwards, jobs, **more)

    for kind in ("promise", "begin_with", "can_wait"):  # an owner who brought it has it put right all the same
        action = act_on(said(kind), case, checks=True, looks=True)
        assert action.depth == 2 and action.aimed == cures and action.stated.chosen == 0.8
    ask = said("check_first", checks=((("ether_habit",), 1, "none"), (("battery_rest",), 3, "none")))
    assert act_on(ask, case, checks=True, looks=True) == Check(("battery_rest",), 3, "none")  # this bench can answer it
    assert act_on(ask, case, checks=False, looks=True).depth == 2
    asked = dataclasses.replace(case, asked=frozenset(("battery_rest",)))
    assert act_on(ask, asked, checks=True, looks=True).depth == 2  # made already: no check without end
    see = said("look_inside", look=3)
    assert act_on(see, case, checks=True, looks=True) == Look(3)
    assert act_on(see, case, checks=True, looks=False).depth == 2
    assert act_on(see, dataclasses.replace(case, looked=3), checks=True, looks=True).depth == 2
    assert act_on(said("check_first", "look_inside", look=2), case, checks=True, looks=True) == Look(2)
    assert act_on(said("stop"), case, checks=True, looks=True) == Stop()
    failed = dataclasses.replace(case, depth=2, cured=cures)
    assert act_on(said("promise"), failed, checks=True, looks=True) == Stop()  # nothing new to do


def test_the_program_is_asked_of_the_engine_as_it_stands(shop, works):
    """A look inside is told as an engine that stands open; one that was put together again is a new job, with the work
    done named."""
    given = {
        "complaint": "smokes",
        "smoke_any": "yes",
        "smoke_pulling": "blue_heavy",
        "oil_use": "worse",
        "ridge": "none",
        "ring_look": {1: "free"},
    }
    case = Case(works["tarn-30"], given, 6000.0, 3900.0, looked=3)
    answer = answer_of(shop, case, checks=False)
    assert answer.kind != "look_inside" and not answer.checks
    done = frozenset(("re_ring", "hone_bores"))
    again = answer_of(shop, dataclasses.replace(case, depth=3, done=done), checks=False)
    fresh = answer_of(
        shop,
        dataclasses.replace(
            case, looked=-1, given={name: value for name, value in given.items() if name not in ("ridge", "ring_look")}
        ),
        checks=False,
    )
    assert again.odds["worn_rings"] < 0.3 * fresh.odds["worn_rings"]
    assert again.odds["worn_guides"] > fresh.odds["worn_guides"]
    best = fresh.jobs[0]
    assert (best.operations and best.cures and fresh.enough[best.depth] == pytest.approx(best.enough)) or not best.whole


def test_what_is_sound_where_it_is_looked_at_is_sound_in_every_place(works):
    """One bad place is enough to know; a sound first place alone would leave the others under suspicion."""
    sound, bad = 0, 0
    for number in range(24):
        world = make(works, 1, number)
        shown = world.opened(5).get("bearing_look")
        if shown is None:
            continue
        worn = world.faults.get("worn_rod_bearings", 0.0) >= 0.35
        assert shown == ({1: "worn"} if worn else dict.fromkeys(shown, "good"))
        assert worn or len(shown) == count_of(world.works.engine, "crankpin")
        sound, bad = sound + (not worn), bad + worn
    assert sound > 5 and bad > 0
