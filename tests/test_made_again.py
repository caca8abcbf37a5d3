"""A test that does not count as it was made is made again, before another, and is no clean bill."""

import pytest

from howdeep.job import write
from howdeep.job.read import open_text

WRONG = {
    "test_engine_warm": "no",
    "test_throttle_open": "no",
    "test_plugs_out": "all",
    "test_battery_good": "yes",
    "test_gauge_known": "yes",
    "compression_strokes": "6",
    "compression_dry": {1: "40 psi", 2: "42 psi", 3: "40 psi", 4: "41 psi"},
}


def assessed(shop, answers, readings):
    plain = write.new_job("brockwell-4", title="made up for the test")
    plain["answers"], plain["readings"] = answers, readings
    job = open_text(write.text_of(plain), "made", shop.folders[0], shop.knowledge, shop.folders)
    return shop.assess(job, flips=False)


def test_nothing_else_noticed_it_is_made_again_and_does_not_wait(shop):
    answer = assessed(shop, {"complaint": "check_over", "runs": "yes"}, WRONG)
    assert answer.decision.kind == "check_first"
    assert "made again" in answer.decision.because[0]
    assert answer.checks[0].check in {"compression_dry_test", "compression_test"}


def test_made_in_the_right_way_it_is_not_asked_again(shop):
    good = {
        **WRONG,
        "test_engine_warm": "yes",
        "test_throttle_open": "yes",
        "compression_dry": dict.fromkeys((1, 2, 3, 4), "96 psi"),
    }
    answer = assessed(shop, {"complaint": "check_over", "runs": "yes"}, good)
    assert answer.decision.kind == "can_wait"
    assert not {"compression_dry_test"} & {check.check for check in answer.checks}


@pytest.mark.parametrize(("cold", "offered"), [("yes", True), ("no", False)])
def test_what_wants_a_warm_engine_is_not_asked_again_of_one_that_does_not_run(shop, cold, offered):
    readings = {**WRONG, "test_engine_warm": cold}
    answer = assessed(shop, {"complaint": "wont_start", "runs": "no", "cranking_sound": "strong"}, readings)
    assert ("compression_dry_test" in {check.check for check in answer.checks}) is offered
