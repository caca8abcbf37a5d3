"""The customer is told what the tool knows."""

import dataclasses

import pytest

from howdeep.cases import case_files
from howdeep.knowledge.where import shipped_cases
from howdeep.model.job import Place
from howdeep.model.knowledge import RUNGS
from howdeep.quote.build import build_quote
from howdeep.quote.estimate import estimate_of
from howdeep.quote.found import found_sentences
from howdeep.show.paper_parts import UNLIKELY_TO_NEED_MORE, letter_of
from howdeep.show.pictures import pictures

from .pages import CASE


@pytest.fixture(scope="module")
def some(assessed):
    """Every ninth case, assessed."""
    return {path.stem: assessed[path.stem] for path in case_files(shipped_cases())[::9]}


def test_more_work_is_called_not_likely_to_be_needed_only_where_that_is_so(shop, some):
    said = 0
    for case, answer in some.items():
        enough = {line.rung: line.enough for line in answer.decision.ladder}
        for rung in RUNGS[:-1]:
            letter = letter_of(shop.knowledge, answer, build_quote(shop.knowledge, answer, shop.prices, rung))
            if "not likely to be needed" in " ".join(letter.not_propose):
                said += 1
                assert enough[rung] >= UNLIKELY_TO_NEED_MORE, (case, rung)
    assert said


def test_the_verdict_on_worth_and_what_was_found_stand_in_the_letter(shop, some):
    told = 0
    for case, answer in some.items():
        letter = letter_of(shop.knowledge, answer, build_quote(shop.knowledge, answer, shop.prices))
        assert letter.worth == answer.decision.beyond, case
        assert letter.found == found_sentences(shop.knowledge, answer), case
        told += bool(letter.found) + bool(letter.worth)
    assert told


def test_the_picture_takes_the_altitude(shop):
    def drawn(height):
        job = shop.open_job(CASE)
        job = dataclasses.replace(job, job=dataclasses.replace(job.job, place=Place(height)))
        answer = shop.assess(job, checks=False, flips=False)
        quote = build_quote(shop.knowledge, answer, shop.prices)
        estimate = estimate_of(shop.knowledge, answer, quote, shop.prices, shop.settings)
        return dict(pictures(answer, quote, estimate))["Compression of each cylinder"], answer

    (low, _), (high, answer) = drawn("0 ft"), drawn("7000 ft")
    assert low != high
    assert f"{answer.facts.values['compression.expected_low']:.0f}" in high
