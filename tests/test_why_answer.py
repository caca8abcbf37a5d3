"""Why answers for every kind of answer and every job of every worked case, with the figures that the decision used."""

import dataclasses
import re
from decimal import Decimal

import pytest

from howdeep.assessment.assess import answer_in_short
from howdeep.assessment.changes import as_sound, priced, with_base, with_changes, worth_times
from howdeep.assessment.facts import facts_of
from howdeep.beliefs.frames import network_of
from howdeep.errors import HowdeepError
from howdeep.knowledge.engine_facts import engine_facts
from howdeep.knowledge.where import shipped_cases
from howdeep.logic.evaluate import evaluate_all
from howdeep.model.answer_kinds import KINDS
from howdeep.model.terms import RUNGS
from howdeep.pricing.money import read_money
from howdeep.quote.jobs import points_to_work
from howdeep.show.sentences import flip_lines
from howdeep.show.why_answer import why
from howdeep.show.words import percent

JOBS = (*RUNGS, *(f"{rung}:only" for rung in RUNGS[:-1]))


def whole_sentence(text):
    """Whether a text is one: a capital, an end, nothing missing in the middle."""
    return (
        len(text) > 15
        and text[0].isupper()
        and text[-1] in ".)'\""
        and " ..." not in text
        and not re.search(r"\bNone\b(?! at)", text)
        and "  " not in text
        and "nan" not in text.lower().split()
    )


def test_every_kind_and_every_job_is_answered_in_whole_sentences(shop, answers):
    faults = []
    for name, answer in list(answers.items())[::3]:
        for what in (*KINDS, *JOBS, None):
            said = why(shop.knowledge, answer, what).says
            faults += [f"{name}, {what}: {text!r}" for text in said if not whole_sentence(text)]
            if not said:
                faults.append(f"{name}, {what}: nothing")
    assert faults[:10] == []


def test_why_not_stop_is_told_also_where_no_job_has_much_hope(shop, assessed):
    answer = assessed["a_cracked_main_web_stops_the_job"]
    decision = answer.decision
    hopeless = dataclasses.replace(
        answer,
        decision=dataclasses.replace(
            decision,
            kind="begin_with",
            then="begin_with",
            afterwards="begin_with",
            looks=(),
            jobs=tuple(dataclasses.replace(line, enough=min(line.enough, 0.2)) for line in decision.jobs),
        ),
    )
    said = why(shop.knowledge, hopeless, "stop").says
    assert all(whole_sentence(text) for text in said)
    assert f"and {decision.line(decision.job).price:,.0f} to begin with" in " ".join(said).replace("USD ", "")


def test_why_not_a_job_names_its_chance_and_what_it_costs_beside_the_chosen_one(shop, answers):
    for name, answer in answers.items():
        decision = answer.decision
        now = decision.line(decision.job)
        for line in decision.jobs:
            if line.job == decision.job or decision.then == "stop" or not points_to_work(answer):
                continue
            said = " ".join(why(shop.knowledge, answer, line.job).says)
            assert percent(line.enough) in said, (name, line.job)
            assert f"{abs(line.expected - now.expected):,.0f}" in said, (name, line.job)
            assert f"{line.expected:,.0f}" in said, (name, line.job)


def test_the_kind_that_is_answered_is_owned_and_every_other_is_denied(shop, answers):
    for answer in answers.values():
        decision = answer.decision
        for kind in KINDS:
            first = why(shop.knowledge, answer, kind).says[0]
            owned = kind in (decision.kind, decision.then, decision.afterwards)
            assert first.startswith("Not this one") != owned
        assert len(why(shop.knowledge, answer, None).says) > len(KINDS)


def test_why_not_a_promise_gives_the_floor_that_is_not_reached(shop, answers):
    answer = next(answer for answer in answers.values() if answer.decision.kind == "check_first")
    short = tuple(dataclasses.replace(line, enough=0.51) for line in answer.decision.jobs)
    decision = dataclasses.replace(answer.decision, jobs=short, afterwards="begin_with")
    said = why(shop.knowledge, dataclasses.replace(answer, decision=decision), "promise").says
    assert percent(decision.floor) in said[1] and "51 %" in said[1]


def test_a_name_that_is_nothing_is_answered_with_the_nearest_kind_or_job(shop, answers):
    answer = next(iter(answers.values()))
    with pytest.raises(HowdeepError, match="promise"):
        why(shop.knowledge, answer, "promis")
    assert why(shop.knowledge, answer, "look-inside").id == "look_inside"
    assert why(shop.knowledge, answer, answer.beliefs[0].cause).kind == "cause"


SAMPLE = (
    "a_double_knock_that_doubles_with_the_plug_shorted_is_the_pin",
    "a_choked_pipe_and_late_injection_are_settled_with_the_engine_closed",
    "smoke_and_low_compression_with_dry_seals_stays_in_the_frame",
)


@pytest.mark.parametrize("name", SAMPLE)
def test_what_would_change_the_answer_does_change_it_when_asked_again(shop, name):
    job = shop.open_job(shipped_cases() / f"{name}.yaml")
    answer = with_changes(shop.knowledge, shop.assess(job, flips=True), shop.prices)
    findings = answer.conclusions.findings
    now = answer_in_short(shop.knowledge, job, answer.facts, findings, shop.prices)
    network = network_of(shop.knowledge, engine_facts(job.engine), answer.facts.values, findings)
    assert answer.flips
    for flip in answer.flips:
        assert flip.to != now
        if flip.kind == "answer":
            other = as_sound(shop.knowledge, job, flip.subject)
            facts, _ = facts_of(shop.knowledge, other)
            again = answer_in_short(
                shop.knowledge, other, facts, evaluate_all(shop.knowledge, facts.values), shop.prices
            )
        elif flip.kind == "prior":
            tie = float(re.match(r"[\d.e-]+", flip.at).group()) / 100
            lower = "less" in flip.at
            beyond = with_base(network, flip.subject, tie * (0.97 if lower else 1.03))
            again = answer_in_short(shop.knowledge, job, answer.facts, findings, shop.prices, beyond)
        elif flip.kind == "money":
            before, after = (Decimal(re.sub(r"[^\d.]", "", text)) for text in (flip.now, flip.at))
            times = after / before
            assert times in (Decimal("0.5"), 2) or abs(times - Decimal("0.5")) < Decimal("0.01")
            times = Decimal(2) if times > 1 else Decimal("0.5")
            other, prices = job, shop.prices
            if flip.subject == "value_running":
                worth = read_money(job.job.customer.value_running or job.engine.value_running, prices.currency)
                other = worth_times(job, worth * times)
            else:
                prices = priced(prices, flip.subject, times)
            again = answer_in_short(shop.knowledge, other, answer.facts, findings, prices)
        else:
            again = flip.to  # the outcomes of checks have a test of their own
        assert again == flip.to, flip
    for text in flip_lines(shop.knowledge, answer.flips):
        assert whole_sentence(text)


def test_base_odds_taken_as_they_are_change_nothing(shop):
    job = shop.open_job(shipped_cases() / f"{SAMPLE[1]}.yaml")
    answer = shop.assess(job, checks=False, flips=False)
    network = network_of(shop.knowledge, engine_facts(job.engine), answer.facts.values, answer.conclusions.findings)
    cause = answer.beliefs[0].cause
    same = with_base(network, cause, float(network.base[network.causes.index(cause)]))
    assert abs(same.prior - network.prior).max() < 1e-12
    higher = with_base(network, cause, 0.5)
    place = network.causes.index(cause)
    assert higher.prior[place] > network.prior[place]
    assert (higher.prior[:place] == network.prior[:place]).all() and dataclasses.is_dataclass(higher)
