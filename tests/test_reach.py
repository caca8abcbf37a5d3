"""How often a printed cause could come first at all."""

import sys
from types import SimpleNamespace

from .places import ROOT

sys.path.insert(0, str(ROOT / "bench"))
import reach

GROUPS = {"complaint": "complaint", "runs": "running", "test_battery_good": "test_conditions"}


def entry(name, engine, causes, answers, readings=None):
    printed = SimpleNamespace(answers=answers, readings=readings or {}, teardown={}, causes=causes)
    return SimpleNamespace(name=name, printed=printed, job=SimpleNamespace(engine=engine))


def test_the_stated_hand_is_the_mean_of_the_first_cause_apart_by_how_many_are_printed():
    rows = [
        ("bare", True, (("a", 0.6), ("b", 0.3)), 1),
        ("bare", False, (("a", 0.2),), 1),
        ("bare", True, (("b", 0.1),), 3),
    ]
    whole, one, several = reach.stated(rows)
    assert (whole.name, whole.count, whole.first, round(whole.hand, 3)) == ("bare", 3, 2, 0.3)
    assert (one.count, one.first, one.hand) == (2, 1, 0.4)
    assert (several.count, several.first, several.hand) == (1, 1, 0.1)
    low, high = whole.interval
    assert low < whole.hand < high


def test_entries_with_the_same_facts_and_other_causes_bound_what_one_answer_can_meet(shop):
    from howdeep.knowledge.engines import load_engine
    from howdeep.knowledge.where import shipped_rules

    petrol, diesel = (load_engine(shipped_rules() / "engines" / f"{name}.yaml") for name in ("tarn-30", "dunmore-d4"))
    told = {"complaint": "wont_start", "runs": "no"}
    entries = [
        entry("a", petrol, ("worn_rings",), told),
        entry("b", petrol, ("stale_fuel", "worn_rings"), told, {"test_battery_good": "yes"}),
        entry("c", petrol, ("bad_points",), told),
        entry("d", diesel, ("air_in_fuel",), told),
        entry("e", petrol, ("worn_rings",), {"complaint": "smokes", "runs": "yes"}),
    ]
    (alike,) = reach.disagreements(entries, GROUPS)
    assert (alike.entries, alike.at_best) == (("a", "b", "c"), 2)
    assert "1 cannot be met" in "\n".join(reach.lines((), (alike,)))
    assert not reach.disagreements(entries[:1] + entries[3:], GROUPS)
