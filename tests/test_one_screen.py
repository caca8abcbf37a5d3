"""The answer on one screen, read for every worked case: it fits, nothing is cut, and it says what it must."""

import re

import pytest

from howdeep.knowledge.where import shipped_cases
from howdeep.model.odds import odds_words
from howdeep.quote.build import build_quote
from howdeep.quote.jobs import points_to_work
from howdeep.quote.turning_up import turning_up
from howdeep.show.answer_text import ADVICE, LINES, MORE, WIDTH, answer_lines
from howdeep.show.estimate_words import NO_PROMISE
from howdeep.show.headline import HEADINGS
from howdeep.show.reasons import reason_for, reasons_of, sign_title, subject_of
from howdeep.show.verdict import verdict_of
from howdeep.work.job_network import read_before

from .commands import howdeep
from .sampling import WHOLE

CASES = sorted(shipped_cases().glob("*.yaml"))
DANGERS = (
    "a_thudding_engine_with_a_dead_needle_is_carried_in",
    "a_stuck_tractor_is_neither_towed_nor_jerked",
    "cream_in_the_oil_of_a_boat_lets_nobody_start_it",
)
WAITS = "a_slap_that_goes_when_warm_can_wait_for_years"


@pytest.fixture(scope="module")
def screens(shop, answers):
    return {name: answer_lines(shop.knowledge, answer, shop.prices) for name, answer in answers.items()}


def test_every_case_fits_on_one_screen_and_no_line_is_cut(shop, screens):
    faults = []
    for name, lines in screens.items():
        if len(lines) > LINES or any(len(line) > WIDTH for line in lines):
            faults.append(f"{name}: {len(lines)} lines of {max(map(len, lines))}")
        if any(" ..." in line for line in lines):
            faults.append(f"{name}: a sentence breaks off")
        faults += [
            f"{name}: a figure is cut at '{line}'"
            for line in lines[1:]
            if re.match(r"\s*(%|min\b|,|\d+ more)", line) or line.endswith(shop.prices.currency)
        ]
        if lines[-2:] != [MORE, ADVICE]:
            faults.append(f"{name}: no word of how to see more")
    assert faults == []


def test_every_screen_says_kind_chance_price_reasons_and_what_comes_next(shop, answers, screens):
    faults = []
    for name, answer in answers.items():
        told = verdict_of(shop.knowledge, answer, shop.prices, ("job", "reasons", "next"))
        text = " ".join(line.strip() for line in screens[name])
        wanted = [told.heading.upper(), "NEXT"]
        assert bool(told.lines("job")) == points_to_work(answer)
        wanted += [line.text for line in told.lines("job")[:1]]
        if told.lines("reasons"):
            wanted += ["WHY", shop.knowledge.causes[told.lines("reasons")[0].why].title]
        wanted += [line.brief for line in told.lines("next")[:1]]
        faults += [f"{name}: '{part}' is missing" for part in wanted if part not in text]
    assert faults == []


def test_a_danger_stands_above_everything_else_on_the_screen(shop, answers, assessed):
    dangerous = {name: answer for name, answer in answers.items() if answer.decision.kind == "do_not_run"}
    dangerous |= {name: assessed[name] for name in DANGERS}
    for answer in dangerous.values():
        assert answer.decision.kind == "do_not_run"
        lines = answer_lines(shop.knowledge, answer, shop.prices)
        first = next(place for place, line in enumerate(lines) if line.startswith("! "))
        assert any(line.endswith("DO NOT RUN IT") for line in lines[:first])
        assert not {"NEXT", "WHY", "THEN"} & set(lines[:first])
        assert "NEXT" in lines[first:]


def test_each_kind_of_answer_has_a_heading_and_all_but_a_promise_say_that_they_are_none():
    assert set(NO_PROMISE) == set(HEADINGS)
    assert all("not" in text or kind in ("can_wait", "stop") for kind, text in NO_PROMISE.items())


def test_a_question_speaks_once_and_only_of_causes_that_it_can_tell_of(shop, answers):
    knowledge, faults = shop.knowledge, []
    for name, answer in answers.items():
        for belief in answer.beliefs:
            reason = reason_for(knowledge, answer, belief)
            told = [
                sign.finding
                for side in (reason.speaks_for, reason.speaks_against)
                for subject in side
                for sign in subject.signs
            ]
            if len(told) != len(set(told)):
                faults.append(f"{name}: {belief.cause} is told a sign twice")
            faults += [
                f"{name}: {belief.cause} has nothing to do with '{label}'"
                for label in told
                if label in knowledge.findings
                and any(step.kind == "absent" and step.label == label for step in belief.steps)
                and belief.cause not in knowledge.findings[label].explained_by
            ]
    assert faults[:10] == []


def test_a_suspect_is_never_without_a_named_reason(shop, answers):
    nameless = [
        (name, reason.cause)
        for name, answer in answers.items()
        for reason in reasons_of(shop.knowledge, answer)
        if not reason.speaks_for
    ]
    assert nameless == []


def test_signs_of_one_subject_stand_together(shop, answers):
    for answer in list(answers.values())[::10]:
        for reason in reasons_of(shop.knowledge, answer, 6, 0.02):
            for side in (reason.speaks_for, reason.speaks_against):
                assert len({subject.subject for subject in side}) == len(side)
                for subject in side:
                    assert {subject_of(shop.knowledge, sign.finding) for sign in subject.signs} == {subject.subject}
                    assert all(sign_title(shop.knowledge, sign.finding) for sign in subject.signs)


@pytest.mark.parametrize(
    ("low", "high", "word"),
    [
        (0.01, 0.05, "almost no chance"),
        (0.05, 0.20, "very unlikely"),
        (0.20, 0.45, "unlikely"),
        (0.45, 0.55, "about even"),
        (0.55, 0.80, "likely"),
        (0.80, 0.95, "very likely"),
        (0.95, 0.99, "almost certain"),
    ],
)
def test_odds_in_words_follow_the_published_scale(low, high, word):
    """Intelligence Community Directive 203, 2015, D.6.e(2)(a): its seven expressions and their bounds."""
    assert {odds_words(low), odds_words(high - 1e-9)} == {word}


def test_what_may_turn_up_costs_what_the_quote_allows_for_it(shop, answers):
    compared = 0
    for answer in list(answers.values())[::6]:
        line = answer.decision.line(answer.decision.job)
        if line.rung == "replace":
            continue
        quoted = {
            (item.operation, item.amount)
            for item in build_quote(shop.knowledge, answer, shop.prices, line.job).allowances
        }
        for item in turning_up(shop.knowledge, answer, shop.prices):
            assert item.chance <= 0.5
            assert (item.operation, item.amount) in quoted
            compared += 1
    assert compared >= 20


def test_the_old_short_form_says_what_replaced_it():
    done = howdeep("assess", CASES[0], "--brief")
    assert done.returncode == 2 and "--full" in done.stderr and "one screen" in done.stderr


def test_the_demo_shows_the_one_screen_and_how_to_see_more():
    done = howdeep("demo")
    assert done.returncode == 0 and MORE in done.stdout and "--full" in done.stdout and "howdeep why" in done.stdout
    assert len(done.stdout.splitlines()) <= LINES + 6


def test_where_it_can_wait_no_work_is_priced(shop, answers):
    waiting = [answer for answer in answers.values() if answer.decision.kind == "can_wait"]
    if not waiting:  # the sample of cases holds none
        waiting = [shop.assess(shop.open_job(shipped_cases() / f"{WAITS}.yaml"), flips=False)]
    assert {answer.decision.kind for answer in waiting} == {"can_wait"}
    for answer in waiting:
        told = verdict_of(shop.knowledge, answer, shop.prices)
        assert not any(told.lines(name) for name in ("job", "turns_up", "owner", "stages"))


def test_what_is_in_doubt_and_what_was_waived_stands_on_the_screen(shop, answers, screens):
    """Contradictions, readings left out and waivers of every case: the first of each whole, and how many more."""
    met = {"doubt": 0, "more": 0}
    for name, answer in answers.items():
        told = verdict_of(shop.knowledge, answer, None, ("doubt", "waived"))
        doubt, waived = ([line.brief for line in told.lines(part)] for part in ("doubt", "waived"))
        text = " ".join(line.strip() for line in screens[name])
        left_out = [
            remark
            for remark in answer.facts.remarks
            if remark.kind in ("questioned", "refused", "not valid", "too tight")
        ]
        undone = set(read_before(shop.knowledge, answer.job, answer.conclusions.findings)) - set(answer.counted.present)
        assert bool(doubt) == bool(left_out or answer.contradictions or answer.dropped or undone), name
        for lines in (doubt, waived):
            if lines:
                assert lines[0] in text, (name, lines[0])
                assert len(lines) == 1 or f"(and {len(lines) - 1} more " in text, name
        met["doubt"] += bool(doubt)
        met["more"] += len(doubt) > 1
    assert met["doubt"] > (7 if WHOLE else 2) and met["more"], met


def test_a_paper_made_over_a_reading_in_doubt_says_so_beside_it(tmp_path):
    from .pages import CASE

    job = tmp_path / "job.yaml"
    job.write_text(CASE.read_text().replace("compression_dry: {1: 52 psi", "compression_dry: {1: 520 psi"))
    assert "520 psi" in job.read_text()
    for words in (("quote",), ("sheet", "assembly"), ("letter",)):
        done = howdeep(*words, job)
        assert done.returncode == 0 and "Compression, dry: questioned, so left out." in done.stderr, words
    screen = " ".join(howdeep("assess", job).stdout.split())
    assert "! Compression, dry: questioned, so left out. cylinder 1: 520 psi is more than" in screen
