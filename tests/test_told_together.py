"""Two answers about one symptom as one sign, and who is mistaken in which direction."""

import dataclasses

import pytest

from howdeep.beliefs.frames import frame_of
from howdeep.beliefs.questions import Question
from howdeep.beliefs.speakers import invented_besides, invented_of
from howdeep.knowledge.engine_facts import engine_facts
from howdeep.knowledge.engines import load_engine
from howdeep.knowledge.where import shipped_rules

from .test_covers import assessed


def spoken(answer):
    return {step.label for belief in answer.beliefs for step in belief.steps}


def question(name, *facts):
    return Question(facts, (name,), ((),))


MISSES = {"complaint": "misfires", "runs": "yes", "misfire": "high_speed"}


def test_one_half_at_speed_takes_the_place_of_both_answers(shop):
    answer = assessed(shop, "pell-2", {**MISSES, "misfire_half": "yes"})
    assert "one_half_misses_at_speed" in spoken(answer)
    assert not {"misfire_one_half", "misfire_high_speed"} & spoken(answer)
    hands = {belief.cause: belief.hand for belief in answer.beliefs}
    assert hands["weak_magneto"] > hands["dirty_air_cleaner"]


def test_where_only_one_of_the_two_is_there_the_pair_denies_nothing(shop):
    """What the single answers deny is not denied once more by the pair."""
    answer = assessed(shop, "pell-2", {**MISSES, "misfire_half": "no"})
    assert "misfire_high_speed" in spoken(answer)
    assert not {"one_half_misses_at_speed", "one_half_misses_at_low_speed"} & spoken(answer)


def test_the_customer_invents_less_than_he_overlooks_and_an_instrument_errs_both_ways(shop):
    base = shop.knowledge
    share = base.settings.invented["word"]
    assert 0 < share < 1
    assert invented_of(base, ["kicks_back"]) == share
    assert invented_of(base, ["battery_rest"]) == invented_of(base, []) == 1.0


def test_what_wants_two_answers_is_invented_only_with_both(shop):
    base = shop.knowledge
    one = base.settings.misread["look"]  # misfire_half is looked at
    word = base.settings.misread["word"] * base.settings.invented["word"]
    both = invented_besides(base, question("one_half_misses_at_speed", "misfire_half", "misfire"))
    assert both == pytest.approx(min(one, word))
    assert invented_besides(base, question("kicks_back_at_start", "kicks_back")) == 1.0


def test_the_share_reaches_the_ladder_of_mistakes(shop):
    facts = engine_facts(load_engine(shipped_rules() / "engines" / "brockwell-4.yaml"))
    alike = dataclasses.replace(shop.knowledge, settings=dataclasses.replace(shop.knowledge.settings, invented={}))
    less, more = (
        next(node for node in frame_of(base, facts).nodes if node.findings == ("kicks_back_at_start",))
        for base in (shop.knowledge, alike)
    )
    assert 1 - less.misread[0] == pytest.approx(0.3 * (1 - more.misread[0]))
