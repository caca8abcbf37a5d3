"""What is judged stands in the rules' settings: written there, guarded, and what a shop writes is what counts."""

import dataclasses

import pytest

from howdeep.assessment.assess import assess
from howdeep.files.strict_yaml import read
from howdeep.interview.flow import flow
from howdeep.knowledge.figure_guard import paths_of
from howdeep.knowledge.plausible import plausible_table
from howdeep.knowledge.where import shipped_cases, shipped_rules
from howdeep.model.judgement import Asking, Deciding, Learning, Telling
from howdeep.quote.build import build_quote
from howdeep.quote.estimate import estimate_of
from howdeep.record.learn import learn

from .closed_jobs import closed

SECTIONS = {"deciding": Deciding, "asking": Asking, "telling": Telling, "learning": Learning}
CASE = "fuel_that_runs_into_the_sump_is_stopped_and_drained_first"


def with_figures(knowledge, section, **figures):
    """The rule base of a shop that judges otherwise."""
    part = dataclasses.replace(getattr(knowledge.settings, section), **figures)
    return dataclasses.replace(knowledge, settings=dataclasses.replace(knowledge.settings, **{section: part}))


@pytest.fixture(scope="module")
def job(shop):
    return shop.open_job(shipped_cases() / f"{CASE}.yaml")


@pytest.mark.parametrize("section", SECTIONS)
def test_every_figure_is_written_in_the_settings_as_it_is_without_them(section):
    written = read(shipped_rules() / "settings.yaml").value[section]
    assert written == dataclasses.asdict(SECTIONS[section]())


@pytest.mark.parametrize("section", SECTIONS)
def test_every_figure_has_a_guard(section):
    paths = [("settings", section, item.name) for item in dataclasses.fields(SECTIONS[section])]
    held = {path for row in plausible_table(of="rules").values() for path, _ in paths_of(row, {3: paths})}
    assert [path for path in paths if path not in held] == []


def test_a_shop_that_calls_a_fault_likely_later_forbids_running_later(shop, job):
    def dangers(knowledge):
        answer = assess(knowledge, job, shop.prices, checks=False, steps=False)
        return {danger.subject for danger in answer.decision.dangers if danger.kind == "causes"}

    assert "fuel_into_sump" in dangers(shop.knowledge)
    assert dangers(with_figures(shop.knowledge, "deciding", likely=0.999)) == set()


def test_a_shop_that_wants_more_of_an_answer_asks_less(shop, job):
    early = dataclasses.replace(job, values={name: job.values[name] for name in list(job.values)[:2]})

    def asked(knowledge):
        answer = assess(knowledge, early, shop.prices, checks=False, steps=False, questions=True)
        return {question.observation for question in flow(knowledge, early, answer).worth_asking}

    fewer = asked(with_figures(shop.knowledge, "asking", least_minutes=500.0, trade_minutes=500.0))
    assert fewer < asked(shop.knowledge)


def test_a_shop_that_names_only_what_is_sure_names_fewer_suspects(shop, job):
    answer = assess(shop.knowledge, job, shop.prices, checks=False)
    quote = build_quote(shop.knowledge, answer, shop.prices)

    def named(knowledge):
        return estimate_of(knowledge, answer, quote, shop.prices, shop.settings).suspects

    assert named(shop.knowledge) and not named(with_figures(shop.knowledge, "telling", named_from=0.999))


def test_a_shop_that_trusts_its_record_sooner_learns_from_fewer_jobs(shop):
    cause, finding = "worn_rings", "blue_pulling"
    rows = [closed(f"{number}", truths={cause: True}, findings={finding: 0}) for number in range(8)]
    odds = {row.name: {} for row in rows}
    assert learn(shop.knowledge, rows, odds) == ()
    sooner = with_figures(shop.knowledge, "learning", least_jobs=8)
    assert (finding, cause) in {(lesson.finding, lesson.cause) for lesson in learn(sooner, rows, odds)}
