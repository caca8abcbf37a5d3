"""The change sheet, the quote and the letter tell everything that was found on opening."""

import dataclasses

import pytest

from howdeep.cases.run import case_files
from howdeep.files.strict_yaml import read
from howdeep.job import write
from howdeep.knowledge.where import shipped_cases
from howdeep.model.truth import Truth
from howdeep.quote.found import found_sentences, opened_up, past_limit

from .pages import CASE
from .sampling import some

PAST = (
    "a_knife_edge_is_renewed_and_not_ground_again",
    "seats_hammered_to_an_eighth_are_narrowed_and_the_valves_kept",
    "a_lobe_thirty_thou_short_takes_cam_and_followers_together",
)
"""Of all worked cases some with margins, seats and lobes past their limits."""


@pytest.fixture(scope="module")
def opened(shop, assessed):
    """Cases whose engine stands open, assessed."""
    files = {*some(case_files(shipped_cases()), 2), *(shipped_cases() / f"{name}.yaml" for name in PAST)}
    jobs = {path.stem: shop.open_job(path) for path in sorted(files)}
    return {
        name: assessed[name]
        for name, job in jobs.items()
        if any(shop.knowledge.observations[item].moment == "teardown" for item in job.values)
    }


def test_nothing_that_was_taken_on_the_open_engine_is_left_out(shop, opened):
    """Each answer and reading is told of by a finding that reads it, by a figure taken from it, or by its own title."""
    knowledge = shop.knowledge
    assert len(opened) > 30
    for case, answer in opened.items():
        told = " ".join(found_sentences(knowledge, answer))
        for name in opened_up(knowledge, answer):
            facts = {name, *(fact for fact, item in knowledge.reduced.items() if name in item.taken_from)}
            findings = {
                firing.rule
                for firing in answer.conclusions.firings
                if firing.truth is Truth.PRESENT and any(subject in facts for subject, _ in firing.matched)
            }
            titles = [
                knowledge.observations[name].title,
                *(knowledge.reduced[fact].title for fact in facts - {name}),
                *(knowledge.findings[finding].title for finding in findings),
            ]
            assert any(title in told for title in titles), (case, name)


def test_every_figure_past_its_limit_stands_there_with_its_limit(shop, opened):
    seen = set()
    for case, answer in opened.items():
        said = found_sentences(shop.knowledge, answer)
        for name, item in answer.facts.reductions.items():
            shape = shop.knowledge.reduced[name]
            if past_limit(shape, item.value) and set(shape.taken_from) & set(opened_up(shop.knowledge, answer)):
                seen.add(name)
                assert f"{shape.title}: {item.how}." in said, (case, name)
    wanted = {"seat.exhaust_verdict", "margin.exhaust_verdict", "lobe.exhaust_verdict", "bore.verdict"}
    assert wanted <= seen


@pytest.mark.parametrize(
    ("name", "value", "says"),
    [
        ("crank_bend_measured", "0.009 in", "rank"),
        ("seat_width_exhaust", dict.fromkeys(range(1, 5), "0.140 in"), "seat"),
        ("valve_margin_exhaust", dict.fromkeys(range(1, 5), "0.010 in"), "margin"),
        ("cam_lift_exhaust", {1: "0.200 in", 2: "0.260 in", 3: "0.260 in", 4: "0.260 in"}, "lobe"),
    ],
)
def test_one_reading_alone_is_told_with_its_figure(shop, tmp_path, name, value, says):
    path = tmp_path / "job.yaml"
    path.write_text(CASE.read_text())
    write.save(path, read(path).digest, write.with_answer(shop.knowledge, name, value))
    answer = shop.assess(shop.open_job(path), checks=False, flips=False)
    said = " ".join(found_sentences(shop.knowledge, answer))
    assert says in said and "in" in said and "Nothing" not in said


def test_what_was_measured_before_opening_is_not_said_to_be_found_on_opening(shop):
    answer = shop.assess(shop.open_job(CASE), checks=False, flips=False)
    assert not opened_up(shop.knowledge, answer) and found_sentences(shop.knowledge, answer) == ()


def test_a_verdict_that_is_too_close_to_call_is_not_past_its_limit(shipped):
    shape = shipped.reduced["bore.verdict"]
    assert past_limit(shape, ("good", "beyond")) and not past_limit(shape, ("good", "too_close", None, "usable"))
    assert past_limit(shipped.reduced["crankpin.verdict"], "grind")
    assert past_limit(shipped.reduced["seat.inlet_verdict"], ("narrow",))
    assert not past_limit(dataclasses.replace(shape, worsens=()), ("beyond",))
