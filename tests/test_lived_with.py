"""Mild trouble beside the complaint speaks for causes, but a job is enough that leaves it."""

from howdeep.job import write
from howdeep.job.read import open_text

MISSES = {"runs": "yes", "misfire": "one_steady"}


def assessed(shop, complaint, **answers):
    plain = write.new_job("tarn-30", title="made up for the test")
    plain["answers"] = {**({"complaint": complaint} if complaint else {}), **MISSES, **answers}
    job = open_text(write.text_of(plain), "made", shop.folders[0], shop.knowledge, shop.folders)
    return shop.assess(job, checks=False, flips=False)


def enough(answer, rung="tune_up"):
    return next(line.enough for line in answer.decision.ladder if line.rung == rung)


def lost(shop, complaint):
    """How much less a tune-up is enough beside a slap when cold, by what was complained of."""
    return enough(assessed(shop, "misfires")) - enough(assessed(shop, complaint, noise="slap_cold"))


def test_a_slap_when_cold_beside_a_miss_need_not_go(shop):
    """What it says of the causes moves the chance a little; to have to go takes several times as much."""
    assert abs(lost(shop, "misfires")) < lost(shop, "knocks") / 3


def test_it_must_go_where_it_was_the_complaint_or_nothing_was_said_to_be(shop):
    for complaint in ("knocks", ""):
        without = enough(assessed(shop, "misfires" if complaint else ""))
        assert enough(assessed(shop, complaint, noise="slap_cold")) < without - 0.1


def test_a_second_complaint_counts_like_the_first(shop):
    assert (
        enough(assessed(shop, "misfires", complaint_also="knocks", noise="slap_cold"))
        < enough(assessed(shop, "misfires", complaint_also="leaks", noise="slap_cold")) - 0.1
    )


def test_what_is_not_mild_must_go_whatever_was_complained_of(shop):
    assert enough(assessed(shop, "misfires", noise="knock_deep")) < enough(assessed(shop, "misfires")) - 0.1


def test_mild_trouble_still_speaks_for_its_cause(shop):
    def believed(answer):
        return next(belief.posterior for belief in answer.beliefs if belief.cause == "piston_slap")

    assert believed(assessed(shop, "misfires", noise="slap_cold")) > 2 * believed(assessed(shop, "misfires"))


def test_alone_mild_trouble_is_all_there_is_to_cure(shop):
    answer = assessed(shop, "misfires", misfire="none", noise="slap_cold")
    assert "slap_cold" in answer.counted.present
    assert enough(answer) < 0.9
