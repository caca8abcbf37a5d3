"""Answers that mean nothing on an engine are not offered on it; one that is on record stands."""

import dataclasses

import pytest

from howdeep.decision.askable import askable
from howdeep.decision.open_checks import open_questions
from howdeep.errors import HowdeepError
from howdeep.interview.heard import heard_in
from howdeep.interview.own_words import offered
from howdeep.interview.session import open_desk
from howdeep.job import write
from howdeep.knowledge.engine_facts import engine_facts
from howdeep.logic.applicability import applies, asked_on
from howdeep.show.question_card import cards
from howdeep.terminal.reading import typed_value

DIESEL, PETROL = "dunmore-d4", "tarn-30"
RUNS_BADLY = {"complaint": "hard_start", "complaint_also": "nothing", "runs": "yes"}


@pytest.fixture
def desk(shop, tmp_path):
    def at(engine, **answers):
        path = tmp_path / f"{engine}.yaml"
        write.create(path, write.new_job(engine, answers={**RUNS_BADLY, **answers}))
        return open_desk(shop, path)

    return at


def card(desk, name):
    return "\n".join(line for lines in cards(desk, name, width=80, height=60) for line in lines)


def test_a_diesel_is_offered_no_choke_and_the_numbers_follow(desk):
    diesel, petrol = desk(DIESEL), desk(PETROL)
    assert "Choke" in card(petrol, "start_needs") and "Choke" not in card(diesel, "start_needs")
    assert typed_value(petrol.asked("start_needs"), "2", 1) == "choke_long"
    assert typed_value(diesel.asked("start_needs"), "2", 1) == "ether"
    with pytest.raises(HowdeepError, match="5 is none of 1 to 4"):
        typed_value(diesel.asked("start_needs"), "5", 1)


def test_fuel_drips_from_what_the_engine_has(desk):
    assert list(desk(DIESEL).asked("leak_fuel_where").answers) == ["nowhere", "pipes", "pump", "injection"]
    assert list(desk(PETROL).asked("leak_fuel_where").answers) == ["nowhere", "pipes", "pump", "carburettor"]


def test_what_is_on_record_stands(desk):
    there = desk(DIESEL, start_needs="choke_long")
    assert "choke_long" in there.asked("start_needs").answers and "Choke" in card(there, "start_needs")


def test_what_is_not_offered_is_neither_weighed_nor_heard(shop, desk):
    diesel, tractor = desk(DIESEL), desk(PETROL).job.engine
    knowledge, job = shop.knowledge, diesel.job
    told = dataclasses.replace(
        job,
        job=dataclasses.replace(
            job.job, customer=dataclasses.replace(job.job.customer, words="I have to pull the choke out a long time.")
        ),
    )
    assert offered(knowledge, dataclasses.replace(told, engine=tractor), "start_needs") == "choke_long"
    assert offered(knowledge, told, "start_needs") == ""
    facts = diesel.answer.facts.values
    assert ("start_needs", "choke_long") not in heard_in(knowledge, told, facts).signs
    petrol = dataclasses.replace(told, engine=tractor)
    assert ("start_needs", "choke_long") in heard_in(knowledge, petrol, {**facts, **engine_facts(tractor)}).signs
    asked = {
        question.check: {outcome.answer for outcome in question.outcomes}
        for question in open_questions(knowledge, job.engine, diesel.answer.facts.values, set(job.values))
    }
    assert "ether" in asked["start_needs"] and "choke_long" not in asked["start_needs"]
    assert askable(knowledge, job.engine, diesel.answer.facts.values, set(job.values)).now("start_needs")


def test_every_engine_is_left_a_choice(shop, engines):
    """Whatever is taken away, a sound answer and a telling one stay."""
    trimmed = 0
    for engine in engines.values():
        built = engine_facts(engine)
        for name, item in shop.knowledge.observations.items():
            if item.only_on and applies(item, built):
                left = set(asked_on(item, built).answers)
                trimmed += left < set(item.answers)
                assert left & set(item.sound) and len(left) > 1, (engine.name, name)
    assert trimmed >= 10
