"""The customer is told what the tool knows, in words that a customer follows."""

import dataclasses
import importlib.util
import re

import pytest
import textstat

from howdeep.cases.run import case_files
from howdeep.knowledge.where import shipped_cases
from howdeep.model.job import Place
from howdeep.quote.build import build_quote
from howdeep.quote.estimate import estimate_of
from howdeep.quote.found import found_sentences
from howdeep.show.annex import annex_of
from howdeep.show.estimate_words import page_of
from howdeep.show.paper_parts import LETTER_TITLES, letter_of, letter_parts
from howdeep.show.pictures import pictures
from howdeep.show.words import NONE_LIKELY, odds_words, percent

from .pages import CASE
from .places import ROOT
from .sampling import some as spread

GRADE = 8
"""Reading level: an eighth grade follows it."""


def made_of(shop, answer):
    quote = build_quote(shop.knowledge, answer, shop.prices)
    estimate = estimate_of(shop.knowledge, answer, quote, shop.prices, shop.settings)
    return quote, estimate, letter_of(shop.knowledge, answer, estimate)


@pytest.fixture(scope="module")
def some(shop, assessed):
    """Every twelfth case: its answer, quote, estimate and letter."""
    return {
        path.stem: (assessed[path.stem], *made_of(shop, assessed[path.stem]))
        for path in spread(case_files(shipped_cases())[::12], 2)
    }


@pytest.fixture(scope="module")
def five(shop):
    """The script that writes the five letters of the docs, and what it writes."""
    spec = importlib.util.spec_from_file_location("make_letters", ROOT / "docs" / "make_letters.py")
    script = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(script)
    return script, list(script.letters(shop))


def test_the_five_letters_of_the_docs_are_what_the_program_writes_but_for_figures_that_rules_move(five):
    def words(text):
        return re.sub(r"[0-9][0-9,.]*", "0", text)

    script, made = five
    assert len(made) == 5 and len({title for _, title, _ in made}) >= 4
    assert words(script.PAGE.read_text(encoding="utf-8")) == words(script.page(iter(made))), "docs/make_letters.py"


def grade(letter):
    """Flesch-Kincaid grade (Kincaid and others 1975, Research Branch Report 8-75) of a letter, without the customer's
    own words, and without figures, which would count as short words and end sentences at their point."""
    text = " ".join(line for title, lines in letter_parts(letter) if title != "What you told us" for line in lines)
    return textstat.flesch_kincaid_grade(re.sub(r"\S*\d\S*( %\))?", "", text))


def test_an_eighth_grade_follows_the_five_letters(five):
    grades = {case: grade(letter) for case, _, letter in five[1]}
    assert all(0 < found <= GRADE for found in grades.values()), grades


def test_the_measure_tells_hard_words_from_plain_ones():
    assert textstat.flesch_kincaid_grade("The rings are worn. The oil comes up. It burns.") < 3
    assert (
        textstat.flesch_kincaid_grade(
            "Deterioration of circumferential compression sealing necessitates comprehensive reconditioning."
        )
        > 15
    )


def test_a_letter_says_a_price_and_has_a_place_to_sign(some):
    for case, (_, _, estimate, letter) in some.items():
        assert letter.price and len(letter.sign) == 2, case
        if estimate.paper in ("estimate", "begin_with"):
            assert f"{estimate.sum.total:,.2f} with tax" in letter.price[0], case
            assert f"{estimate.sum.cap:,.2f} without your yes" in " ".join(letter.price), case
            assert letter.sign[0] == "I agree to this work and this price", case
        elif estimate.first:
            assert f"{estimate.first.total:,.2f} with tax" in letter.price[0], case


def test_more_work_is_called_hardly_surer_only_where_that_is_so(shop, some):
    said = 0
    for case, (_, _, estimate, letter) in some.items():
        for way, text in zip(estimate.other_ways, letter.not_propose, strict=False):
            if "hardly make it surer" in text:
                said += 1
                assert (
                    way.more and way.enough - estimate.proposal.enough < shop.knowledge.settings.telling.hardly_surer
                ), case
    assert said


def test_all_that_was_found_on_opening_stands_in_the_annex_and_its_findings_in_the_letter(shop, some):
    told = 0
    for case, (answer, quote, estimate, letter) in some.items():
        found = found_sentences(shop.knowledge, answer)
        assert bool(letter.found) is bool(found), case
        assert set(letter.found[:-1]) <= set(found), case
        if found and not told:
            told += 1
            assert annex_of(quote, shop.knowledge, answer, estimate).opened == found, case
    assert told


def test_the_picture_takes_the_altitude(shop):
    def drawn(height):
        job = shop.open_job(CASE)
        job = dataclasses.replace(job, job=dataclasses.replace(job.job, place=Place(height)))
        answer = shop.assess(job, checks=False, flips=False)
        quote, estimate, _ = made_of(shop, answer)
        return dict(pictures(answer, quote, estimate))["Compression of each cylinder"], answer

    (low, _), (high, answer) = drawn("0 ft"), drawn("7000 ft")
    assert low != high
    assert f"{answer.facts.values['compression.expected_low']:.0f}" in high


def test_a_suspect_has_its_name_and_one_scale_on_every_paper_and_is_called_likely_only_where_it_is(some, shop):
    heads = set()
    for case, (answer, quote, estimate, letter) in some.items():
        if not estimate.suspects:
            continue
        even = estimate.suspects[0].hand >= 0.45
        heads.add(even)
        assert letter.likely_title == (LETTER_TITLES["likely"] if even else NONE_LIKELY), case
        found = page_of(estimate).block("found").lines[0]
        assert ("Most likely behind it" in found) is even and (NONE_LIKELY in found) is not even, case
        annex = annex_of(quote, shop.knowledge, answer, estimate)
        for place, suspect in enumerate(estimate.suspects):
            said = f"{suspect.title}: {odds_words(suspect.hand)} ({percent(suspect.hand)})"
            assert letter.likely[place].startswith(said) and said in found, case
            behind = [line for line in annex.likely if line.startswith(f"{suspect.title}:")]
            assert all(line.startswith(said) for line in behind), case
    assert heads == {True, False}


def test_a_letter_that_stops_says_both_sides_at_once_and_calls_enough_only_what_is(shop, assessed):
    heads = set()
    for case in (
        "wet_sleeves_take_new_bores_in_the_frame",
        "rings_that_die_every_season_in_a_scored_wall_are_not_the_trouble_themselves",
    ):
        answer = assessed[case]
        for enough in (0.3, 0.8):
            _, estimate, _ = made_of(shop, answer)
            assert estimate.paper == "stop", case
            estimate = dataclasses.replace(estimate, proposal=dataclasses.replace(estimate.proposal, enough=enough))
            letter = letter_of(shop.knowledge, answer, estimate)
            told = " ".join(letter.propose)
            heads.add(("What would be enough" in told, enough))
            assert "What would come nearest" in told or enough > 0.5
            assert not letter.waiting and bool(estimate.waiting) is ("not that it is finished today" in told)
            assert page_of(estimate).block("waiting") is None
    assert heads == {(False, 0.3), (True, 0.8)}


def test_the_sound_lines_of_an_engine_that_is_looked_over_are_those_that_answer_it(shop, assessed):
    answer = assessed["an_engine_sound_at_every_question_before_a_sale_is_left_shut"]
    assert answer.facts.values["complaint"] == "check_over"
    _, estimate, _ = made_of(shop, answer)
    rows = [row.observation for row in estimate.found]
    made = [
        name for name in ("compression_dry", "oil_gauge_hot_idle", "oil_pressure_hot_idle") if name in answer.job.values
    ]
    assert made and set(made) <= set(rows), rows
