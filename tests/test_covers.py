"""What follows from a sign whatever is behind it says nothing of its own; a hold is lifted by what rules it out."""

import pytest

from howdeep.job import write
from howdeep.job.read import open_text


def assessed(shop, engine, answers, readings=None, *, checks=False):
    plain = write.new_job(engine, title="made up for the test")
    plain["answers"], plain["readings"] = answers, readings or {}
    job = open_text(write.text_of(plain), "made", shop.folders[0], shop.knowledge, shop.folders)
    return shop.assess(job, checks=checks, flips=False)


def odds(answer):
    return {belief.cause: belief.posterior for belief in answer.beliefs}


CLICKS = {"complaint": "wont_start", "cranking_sound": "click"}


def test_that_it_does_not_run_moves_nothing_beside_a_starter_that_clicks(shop):
    without, beside = (assessed(shop, "dunmore-d4", {**CLICKS, "runs": runs}) for runs in ("only_just", "no"))
    alone = assessed(shop, "dunmore-d4", {"complaint": "hard_start", "cranking_sound": "click"})
    assert odds(beside) == pytest.approx(odds(alone), abs=1e-12)
    assert odds(without) != pytest.approx(odds(alone), abs=1e-3)  # running only just is not what follows from it
    assert "does_not_run" in {firing.rule for firing in beside.conclusions.firings if firing.truth.value == "present"}


def test_it_speaks_where_nothing_covers_it(shop):
    cranks = {"complaint": "wont_start", "cranking_sound": "strong"}
    runs, dead = (odds(assessed(shop, "dunmore-d4", {**cranks, "runs": word})) for word in ("yes", "no"))
    assert dead["air_in_fuel"] > 2 * runs["air_in_fuel"]


def test_flakes_on_the_cloth_take_the_place_of_glitter_on_the_stick(shop):
    knocks = {"complaint": "knocks", "runs": "yes", "noise": "knock_deep", "oil_look": "metal_bits"}
    stick, cloth = (
        assessed(shop, "brockwell-4", knocks, readings) for readings in ({}, {"drained_oil": "bearing_metal"})
    )

    def speaks(answer):
        return {step.label for belief in answer.beliefs for step in belief.steps}

    assert "oil_metal" in speaks(stick)
    assert "oil_metal" not in speaks(cloth) and "drained_bearing_metal" in speaks(cloth)


@pytest.mark.parametrize(
    ("compression", "held"),
    [
        ({1: "118 psi", 2: "115 psi", 3: "0 psi", 4: "117 psi"}, False),
        ({1: "118 psi", 2: "115 psi", 3: "114 psi", 4: "117 psi"}, True),
    ],
)
def test_a_cylinder_without_compression_is_not_held_for_its_leads(shop, compression, held):
    answer = assessed(
        shop,
        "tarn-30",
        {"complaint": "misfires", "runs": "yes", "misfire": "one_steady"},
        {
            "test_engine_warm": "yes",
            "test_plugs_out": "all",
            "test_battery_good": "yes",
            "test_gauge_known": "yes",
            "compression_strokes": "5",
            "compression_dry": compression,
        },
    )
    assert ("swapped_leads_look_like_a_dead_cylinder" in {hold.hold for hold in answer.holds}) is held
