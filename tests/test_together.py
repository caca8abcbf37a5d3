"""No sign lowers a cause that it names, alone or beside another sign of it, unless a reason is kept."""

import sys
from pathlib import Path

import pytest

from howdeep.beliefs.frames import frame_of
from howdeep.knowledge.engine_facts import engine_facts

sys.path.insert(0, str(Path(__file__).parents[1] / "bench"))
import together


def test_no_sign_lowers_a_cause_that_it_names_without_a_reason(shipped, engines):
    faults = together.together(shipped, engines)
    assert not faults, "\n".join(faults)


def test_a_new_fall_and_a_stale_reason_are_faults(shipped, engines, monkeypatch):
    one = {"tarn-30": engines["tarn-30"]}
    kept = together.exceptions()
    network = frame_of(shipped, engine_facts(engines["tarn-30"]))
    item = next(
        item
        for item in together.lowered(shipped, "tarn-30", network)
        if item.first and item.rivals and item.falls > together.HAIR
    )
    known = {name: entry for name, entry in kept.items() if name != item.second}
    known["nothing_at_all"] = {"lowers": ["worn_rings"], "because": "It is there for the test."}
    monkeypatch.setattr(together, "exceptions", lambda: known)
    faults = together.together(shipped, one)
    assert any(item.second in fault and "no reason is kept" in fault for fault in faults)
    assert any("nothing_at_all lowers worn_rings beside nothing any more" in fault for fault in faults)


@pytest.mark.parametrize("name", sorted(together.exceptions()))
def test_every_reason_is_said(name):
    entry = together.exceptions()[name]
    assert set(entry) == {"lowers", "because"} and len(entry["because"].split()) >= 10 and entry["lowers"]
