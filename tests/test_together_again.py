"""An engine that was opened, looked at and closed again: what was seen stays known, and it is no open engine."""

import pytest

from howdeep.decision.askable import askable
from howdeep.files.plain_yaml import dump
from howdeep.interview.opened import opened
from howdeep.job.read import open_text

from .places import ROOT

TOLD = {"complaint": "knocks", "runs": "yes", "turns_over": "yes", "noise": "knock_sharp", "noise_when": "light_load"}
SEEN = {"bearing_wear_place": {1: "even", 2: "grooved", 3: "even", 4: "even"}, "shell_marks_look": "match"}
RUNNING = "oil_light_gauge_hot_idle"


@pytest.fixture(scope="module")
def answers(shop):
    def answer(**seen):
        text = dump({"howdeep_job": 1, "engine": "tarn-30", "answers": TOLD, "teardown": {**SEEN, **seen}})
        return shop.assess(
            open_text(text, "made-up job", ROOT, shop.knowledge, shop.folders), checks=False, flips=False
        )

    return {"open": answer(), "said open": answer(together_again="no"), "closed": answer(together_again="yes")}


def test_what_was_seen_is_believed_as_before(answers):
    odds = {name: {item.cause: item.posterior for item in answer.beliefs} for name, answer in answers.items()}
    assert odds["closed"] == odds["open"] == odds["said open"]


def test_only_an_open_engine_has_to_be_put_together_in_every_job(answers):
    def access(answer):
        outside = {item.operation for item in answer.works["outside"].items}
        return outside & {"remove_refit_pan", "remove_refit_head"}

    assert access(answers["open"]) == access(answers["said open"]) == {"remove_refit_pan"}
    assert not access(answers["closed"])
    assert "remove_refit_pan" in {item.operation for item in answers["closed"].works["refresh"].items}


def test_what_is_told_of_a_running_engine_is_asked_only_where_it_can_run(shop, answers):
    def can(answer):
        job, facts = answer.job, answer.facts.values
        return askable(shop.knowledge, job.engine, facts, frozenset(job.values)).now(RUNNING)

    assert can(answers["closed"]) and not can(answers["open"])


def test_it_is_the_last_question_of_the_teardown(shop, answers):
    asked = opened(shop.knowledge, answers["open"].job, answers["open"])
    assert asked[-1] == "together_again" and len(asked) > 5
    assert "together_again" not in opened(shop.knowledge, answers["closed"].job, answers["closed"])
