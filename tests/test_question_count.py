"""The bench that counts questions: what it counts, and that a mechanic's order holds questions that there are."""

import sys

import pytest

from howdeep.files.strict_yaml import read
from howdeep.job import write

from .places import ROOT

sys.path.insert(0, str(ROOT / "bench"))
import questions as bench


@pytest.mark.parametrize(("answers", "wanted"), [("aab", 3), ("bbb", 1), ("bab", 3), ("bba", None), ("", None)])
def test_an_answer_stands_from_the_question_after_which_it_never_changes(answers, wanted):
    assert bench.standing(len(answers), lambda number: answers[number] == "b") == wanted


def test_the_mechanics_order_holds_ten_complaints_and_only_questions_and_answers_that_there_are(shop):
    orders, observations = read(bench.ORDERS).value, shop.knowledge.observations
    assert sum("asked" in entry for entry in orders.values()) == 10
    assert orders.keys() <= observations["complaint"].answers.keys()
    for complaint, entry in orders.items():
        names = entry.get("asked", [])
        assert len(set(names)) == len(names) and all(observations[name].moment != "teardown" for name in names)
        assert not names or len(names) >= 12, complaint
        for name, answer in entry["answers"].items():
            assert answer in observations[name].answers, (complaint, name)


def test_what_the_case_does_not_say_is_not_known_and_counted_and_conditions_come_with_their_test(shop, tmp_path):
    path = tmp_path / "job.yaml"
    write.create(
        path,
        write.new_job(
            "tarn-30",
            answers={"complaint": "smokes", "runs": "yes"},
            readings={
                "compression_dry": {1: "60 psi", 2: "61 psi", 3: "59 psi", 4: "60 psi"},
                "test_engine_warm": "yes",
            },
        ),
    )
    order = ["runs", "smoke_pulling", "compression_dry", "oil_use"]
    asked = bench.sit(shop, shop.open_job(path), bench.by_list(shop, order))
    # complaint, what else (not known), runs, smoke when pulling (not known), compression: then the case is told
    assert (asked.asked, asked.known) == (5, 3)
    assert asked.stands is not None and asked.stands <= 5 and asked.job_stands <= asked.stands


def test_the_talk_comes_before_the_bench_and_both_end(shop, tmp_path):
    path = tmp_path / "job.yaml"
    write.create(path, write.new_job("tarn-30", answers={"complaint": "smokes", "runs": "yes"}))
    job = shop.open_job(path)
    following, values, unknown, asked, last = bench.by_talk(shop, []), {}, set(), [], ""
    while len(asked) < 30:
        name = following(bench.told(job, values, unknown), last)
        if name is None:
            break
        asked.append(name)
        last = name
        if name in job.values:
            values[name] = job.values[name]
        else:
            unknown.add(name)
    moments = [shop.knowledge.observations[name].moment for name in asked]
    assert moments == sorted(moments) and set(moments) == {"talk", "test"}  # 'talk' sorts before 'test'
