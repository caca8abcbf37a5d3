"""Monotony of the whole: a worse answer never makes the recommended scope shallower without a reason that is kept."""

import dataclasses
import sys
from pathlib import Path

import numpy as np
import pytest

from howdeep.assessment.session import open_shop
from howdeep.knowledge.where import shipped_cases
from howdeep.model.terms import RUNGS

sys.path.insert(0, str(Path(__file__).parents[1] / "bench"))
import worsening

from .sampling import WHOLE

BEFORE = worsening.Found(
    1,
    (0.10, 0.60, 0.70, 0.80, 0.95, 1.0),
    1000.0,
    (1500.0, 1000.0, 1600.0, 1700.0, 1800.0, 1900.0),
    {"weak_battery": 0.2, "worn_rings": 0.3},
    {"weak_battery": "outside", "worn_rings": "refresh"},
)
CASE = "a_sound_engine_nobody_knows_how_to_start_is_shown_to_its_owner.yaml"

STEPS = 60 if WHOLE else 10


@pytest.fixture(scope="module")
def shop():
    return open_shop(None, None, None, example_prices=True)


def test_no_case_gets_shallower_by_a_worse_answer_without_a_reason(shop, capsys):
    """A sample of the steps; `bench/coverage.py` takes every one."""
    faults = worsening.worsened(shop, shipped_cases(), STEPS, np.random.default_rng(1))
    assert not faults, "\n".join(faults)
    steps = int(capsys.readouterr().out.split()[1].replace(",", ""))
    assert steps == STEPS


def test_a_step_to_shallower_work_is_outward_undecided_or_a_fault():
    outward = dataclasses.replace(BEFORE, rung=0, enough=(0.30, 0.60, 0.70, 0.80, 0.95, 1.0))
    undecided = dataclasses.replace(BEFORE, rung=0, enough=(0.10, 0.30, 0.40, 0.60, 0.95, 1.0), least=1400.0)
    cheaper = dataclasses.replace(undecided, least=900.0)
    unmoved = dataclasses.replace(BEFORE, rung=0)
    level = dataclasses.replace(BEFORE, expected=(1019.0, *BEFORE.expected[1:]))
    assert worsening.kind_of_step(level, unmoved) == "level"
    assert worsening.kind_of_step(BEFORE, outward) == "outward"
    assert worsening.kind_of_step(BEFORE, undecided) == "undecided"
    assert worsening.kind_of_step(BEFORE, cheaper) == ""
    assert worsening.kind_of_step(BEFORE, unmoved) == ""


def test_the_cause_named_is_of_the_side_that_gained():
    after = dataclasses.replace(BEFORE, rung=0, odds={"weak_battery": 0.3, "worn_rings": 0.6})
    assert worsening.gained(BEFORE, after, "outward") == "weak_battery"
    assert worsening.gained(BEFORE, after, "undecided") == "worn_rings"


def test_readings_are_worsened_together_with_what_was_read_with_them(shop):
    job = shop.open_job(
        next(
            path
            for path in sorted(shipped_cases().glob("*.yaml"))
            if "compression_wet:" in path.read_text(encoding="utf-8")
        )
    )
    whole, first = (
        worse for name, _, worse in worsening.pairs_of(job, shop.knowledge.observations) if name == "compression_dry"
    )
    dry, wet = job.values["compression_dry"], job.values["compression_wet"]
    assert whole["compression_dry"] == pytest.approx([0.85 * value for value in dry], abs=1e-4)
    assert whole["compression_wet"] == pytest.approx([0.85 * value for value in wet], abs=1e-4)
    assert first["compression_dry"][1:] == dry[1:] and first["compression_dry"][0] < dry[0]


def test_a_question_that_is_not_listed_is_a_fault(shop, monkeypatch, tmp_path):
    monkeypatch.setattr(worsening, "exceptions", lambda: {"no_such_question": {"outward": "because"}})
    (tmp_path / "one.yaml").write_bytes((shipped_cases() / CASE).read_bytes())
    faults = worsening.worsened(shop, tmp_path, 100_000, np.random.default_rng(1))
    assert any("battery_cranking" in fault and "(outward)" in fault for fault in faults)
    assert any("'no_such_question' is no question" in fault for fault in faults)
    shallower = [fault for fault in faults if "makes the scope shallower" in fault]
    assert all(any(f"to {rung}" in fault for rung in RUNGS) for fault in shallower)


@pytest.mark.parametrize("name", sorted(worsening.exceptions()))
def test_every_reason_is_said_in_full(name):
    for kind, why in worsening.exceptions()[name].items():
        assert kind in worsening.KINDS and len(why.split()) >= 15
