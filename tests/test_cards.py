"""Every question and check on every shipped engine: no card beyond the window, and only cautions of this engine."""

import dataclasses
import re
from pathlib import Path

import pytest

from howdeep.interview.conditions import conditions_of
from howdeep.interview.session import Desk, open_desk
from howdeep.job import write
from howdeep.knowledge.engine_facts import engine_facts
from howdeep.knowledge.engines import sheet_ids
from howdeep.knowledge.kinds import load_kinds
from howdeep.logic.applicability import applies
from howdeep.show.end_text import end_lines
from howdeep.show.interview_text import answered_lines
from howdeep.show.question_card import cards, cautions_of, figure_texts, head_line, wrapped
from howdeep.show.why_asked import why_lines
from howdeep.show.words import takes

from .sampling import some

SIZES = ((80, 24), (120, 40), (40, 16))


@pytest.fixture(scope="module")
def desks(shop, tmp_path_factory) -> list[Desk]:
    folder = tmp_path_factory.mktemp("jobs")
    found = []
    for engine in (*sheet_ids(shop.folders), *load_kinds(shop.folders)):
        path = folder / f"{engine}.yaml"
        write.create(
            path,
            write.new_job(
                engine,
                customer={"name": "A. Customer of a very long name " * 4},
                answers={"complaint": "smokes", "runs": "yes"},
            ),
        )
        found.append(open_desk(shop, path))
    return found


def test_every_card_of_every_question_on_every_engine_fits_the_window(desks):
    counted = 0
    for desk in some(desks, 3):
        built = engine_facts(desk.job.engine)
        for name, item in desk.knowledge.observations.items():
            if not applies(item, built):
                continue
            answers = desk.asked(name).answers
            longest = max(answers, key=lambda answer: len(answers[answer]), default="")
            for width, height in SIZES:
                for read in ((), item.cautions):
                    for page in cards(desk, name, width, height - 1, read=read, said=longest):
                        counted += 1
                        assert 0 < len(page) <= height - 1, (name, width, height)
                        assert max(map(len, page)) <= width, (name, max(page, key=len))
    assert counted > 4_000


def test_the_question_itself_is_never_torn_at_80_by_24(desks):
    for desk in some(desks, 3):
        built = engine_facts(desk.job.engine)
        for name, item in desk.knowledge.observations.items():
            if applies(item, built):
                last = cards(desk, name, 80, 23)[-1]
                text = " ".join(line.strip() for line in last)
                assert item.ask.split()[0] in text and all(
                    wording.split()[0] in text for wording in desk.asked(name).answers.values()
                ), name
                assert " ".join(item.ask.split()[:3]) in text, name


def test_a_caution_is_read_out_before_anything_else_and_only_named_the_second_time(desks):
    desk = next(desk for desk in desks if desk.job.engine.name == "Tarn 30")
    first = cards(desk, "compression_dry", 80, 23)
    assert first[0][0].startswith("! CAUTION")
    again = cards(desk, "compression_dry", 80, 23, read=cautions_of(desk, "compression_dry"))
    assert again[0][0].startswith("! As before") and not any("CAUTION" in line for page in again for line in page)


def test_cautions_are_those_of_the_engine(desks):
    for desk in some(desks, 3):
        built = engine_facts(desk.job.engine)
        for name, item in desk.knowledge.observations.items():
            mine = cautions_of(desk, name)
            assert set(mine) <= set(item.cautions)
            assert all(applies(desk.knowledge.cautions[caution], built) for caution in mine)
    diesel = next(desk for desk in desks if desk.job.engine.build.fuel == "diesel")
    every = {caution for name in diesel.knowledge.observations for caution in cautions_of(diesel, name)}
    assert "ignition_shock" not in every and "high_pressure_injection" in every
    bare = next(desk for desk in desks if desk.job.engine.build.hand_crank == "no")
    assert "hand_crank" not in {caution for name in bare.knowledge.observations for caution in cautions_of(bare, name)}


def test_the_sheets_figures_stand_beside_a_reading_and_its_absence_is_said(desks):
    brockwell = next(desk for desk in desks if desk.job.engine.name == "Brockwell 4")
    observations = brockwell.knowledge.observations
    assert figure_texts(brockwell, observations["ring_gap_measured"]) == [
        "Sheet: ring end gap 0.013 in to 0.019 in, limit 0.040 in"
    ]
    assert len(figure_texts(brockwell, observations["bore_size"])) == 3
    for desk in some(desks, 3):
        for item in observations.values():
            told = figure_texts(desk, item)
            assert bool(told) == bool(item.sheet)


def test_heads_ends_lists_and_reasons_are_no_wider_than_the_window(desks):
    for desk in some(desks, 3):
        for width in (80, 120):
            lines = [
                head_line(desk, width),
                *answered_lines(desk, width),
                *end_lines(desk, width, part="talk"),
                *end_lines(desk, width, part="open"),
                *why_lines(desk, desk.flow.next, desk.flow.next.observation, {}, width),
            ]
            assert max(map(len, lines)) <= width


def test_conditions_of_a_test_are_offered_once_and_none_for_a_question_of_the_counter(desks):
    desk = desks[0]
    wanted = conditions_of(desk.knowledge, desk.job, "compression_dry")
    assert "test_engine_warm" in wanted and "test_throttle_open" in wanted
    assert conditions_of(desk.knowledge, desk.job, "oil_use") == ()
    assert conditions_of(desk.knowledge, desk.job, "test_engine_warm") == ()


def test_conditions_of_a_test_and_its_procedure_are_those_of_the_engine_that_stands_there(desks):
    for desk in some(desks, 3):
        built = engine_facts(desk.job.engine)
        for name in desk.knowledge.observations:
            for other in conditions_of(desk.knowledge, desk.job, name):
                assert applies(desk.knowledge.observations[other], built), (name, other)
    diesel = next(desk for desk in desks if desk.job.engine.build.fuel == "diesel")
    assert "test_throttle_open" not in conditions_of(diesel.knowledge, diesel.job, "compression_dry")
    told = diesel.knowledge.observations["compression_dry"].procedure
    assert told.index("Petrol:") < told.index("throttle and choke") < told.index("Diesel:")


def test_a_figure_keeps_its_per_cent_and_its_minutes_wherever_a_line_ends():
    for width in range(20, 60):
        for line in wrapped("moved: worn rings 12 % -> 18 %; burnt valve 30 % -> 7 %; 25 min of the bench", width):
            assert not re.search(r"\d$|^(%|min)", line), line


def test_the_head_of_a_talk_names_the_file_whole_and_cuts_words_before_it(desks):
    desk = dataclasses.replace(desks[0], path=Path("a-small-engine.yaml"))
    for width in (40, 60, 80):
        assert head_line(desk, width).endswith("| a-small-engine.yaml ==") and len(head_line(desk, width)) <= width


def test_the_card_names_the_time_of_the_check_that_the_list_named_and_whose_figures_they_are(desks):
    for desk in some(desks, 3):
        first = {check.observations[0]: check for check in reversed(desk.answer.checks) if check.moment == "test"}
        for name, check in first.items():
            text = " ".join(" ".join(line.strip() for line in page) for page in cards(desk, name, 120, 400))
            assert f"({takes(check.minutes, check.days)}" in text, (name, check.check)
        told = figure_texts(desk, desk.knowledge.observations["compression_dry"])
        assert all(text.startswith("Sheet: ") == (desk.job.general is None) or "gives no" in text for text in told)
