"""Figures stand in the shop's units on every surface: sentences, pictures, lists and sheets, each with the figure as it
stands beside it."""

import re
from html import unescape

import pytest
from hypothesis import given
from hypothesis import strategies as st
from typer.testing import CliRunner

from howdeep.assessment.session import open_shop
from howdeep.cli.main import app
from howdeep.cli.paper import with_head
from howdeep.interview.session import Desk
from howdeep.model.shown_units import INCH, METRIC, in_prose
from howdeep.quote.build import build_quote
from howdeep.quote.estimate import estimate_of
from howdeep.quote.orders import order_of
from howdeep.quote.sheets import sheets_of
from howdeep.show import quote_text
from howdeep.show.answer_text import answer_lines
from howdeep.show.assess_text import assessment_text
from howdeep.show.console import make_console
from howdeep.show.end_text import end_lines
from howdeep.show.interview_text import judged_lines
from howdeep.show.order_text import order_text
from howdeep.show.paper_parts import letter_of
from howdeep.show.question_card import cards
from howdeep.show.sheet_page import assembly_page, proof_page
from howdeep.show.sheet_text import assembly_text, proof_text
from howdeep.show.spoken import AsSaid, Said, explained_in, in_units_of, spoken
from howdeep.show.why_answer import why
from howdeep.show.why_text import explanation_text
from howdeep.web.app import create_app

from .pages import paper
from .places import ROOT
from .sampling import some

CASES = (
    "smoke_and_low_compression_with_dry_seals_stays_in_the_frame",
    "a_crank_that_must_be_ground_takes_the_engine_out",
    "bores_measured_past_their_limit_end_the_refresh",
    "a_worn_wet_sleeve_a_leaking_foot_and_a_loose_big_end_are_one_refresh",
    "an_engine_nobody_knows_that_cranks_at_eight_volts_is_a_battery",
)
NUMBER = r"\d(?:[\d./]*\d)?"
WORDS = {"metric": (*METRIC, "in Hg", "°F", "inches"), "inch": (*INCH, "°C")}
"""Units of the other language, by the language that is spoken."""


def foreign(text, units):
    """Figures in the other language's units, but for those that stand beside a figure in the shop's."""
    own = "|".join(map(re.escape, sorted(set({**METRIC, **INCH}.values()), key=len, reverse=True)))
    other = "|".join(map(re.escape, sorted(WORDS[units], key=len, reverse=True)))
    text = re.sub(r"\s+", " ", text)
    text = re.sub(rf"(?<=\d )({own}) \([^()]*\)", r"\1", text)
    found = re.findall(rf"[^.;]{{0,40}}\b{NUMBER} (?:{other})(?![\w/]).{{0,25}}", text)
    return [item for item in found if not re.search(rf"\b\d+ in (?:\w)|{NUMBER} in (?:all|total|the end)", item)]


def words_of(html):
    return unescape(re.sub(r"<style>.*?</style>|<[^>]+>", " ", html, flags=re.DOTALL))


@pytest.fixture(scope="module", params=["metric", "inch"])
def language(request, tmp_path_factory, own_cache):
    units = request.param
    folder = tmp_path_factory.mktemp(units)
    for name in CASES:
        text = (ROOT / "cases" / f"{name}.yaml").read_text()
        said = re.sub(r"(?m)^( +words: ).*(\n    +.*)*", r"\1It runs badly", text)
        (folder / f"{name}.yaml").write_text(said)
    (folder / "shop.yaml").write_text(f"howdeep_shop: 1\nunits: {units}\n")
    return units, folder


def run(*words):
    result = CliRunner().invoke(app, list(map(str, words)))
    assert result.exit_code == 0, result.output[-800:]
    return result.output


def printed(parts):
    console = make_console(colour=False)
    with console.capture() as capture:
        for part in parts:
            console.print(part)
    return capture.get()


@pytest.fixture(scope="module", params=some(CASES, 2))
def told(request, language):
    """(units, shop, folder, case, its answer with ranked checks)"""
    units, folder = language
    made = open_shop(None, None, folder / "any.yaml")
    job = made.open_job(folder / f"{request.param}.yaml")
    return units, made, folder, request.param, made.assess(job, flips=False)


def test_no_text_in_a_terminal_has_a_figure_in_the_other_units_alone(told):
    units, made, _, _, answer = told
    knowledge = made.knowledge
    quote = build_quote(knowledge, answer, made.prices)
    sheets = sheets_of(knowledge, answer, "rebuild", units)
    estimate = estimate_of(knowledge, answer, quote, made.prices, made.settings, units=units)
    papers = [
        quote_text.quote_text(quote, shop_copy=True),
        quote_text.letter_text(letter_of(knowledge, answer, estimate)),
        order_text(order_of(knowledge, answer, made.prices, "rebuild")),
        assembly_text(sheets),
        proof_text(sheets),
    ]
    for text in (
        printed(assessment_text(knowledge, answer, units=units)),
        "\n".join(answer_lines(knowledge, answer, made.prices, units)),
        *(printed(with_head(part, made, answer, "2026-11-29")) for part in papers),
    ):
        assert not foreign(text, units)


def test_why_and_the_papers_in_print_speak_the_shops_units(told):
    units, made, _, _, answer = told
    knowledge = made.knowledge
    for what in (None, answer.beliefs[0].cause, answer.decision.job):
        text = printed(explanation_text(explained_in(why(knowledge, answer, what), units), knowledge, units))
        assert not foreign(text.partition("SOURCES")[0], units), what
    quote, sheets = build_quote(knowledge, answer, made.prices), sheets_of(knowledge, answer, "rebuild", units)
    for page in (
        paper(made, answer, quote, shop_copy=True, units=units),
        assembly_page(sheets, answer, units=units),
        proof_page(sheets, answer, units=units),
    ):
        assert not foreign(words_of(page).partition("Sources")[0], units)


def test_the_page_and_the_interview_speak_the_shops_units(told):
    units, made, folder, name, answer = told
    client = create_app(folder, made).test_client()
    for path in (*([""] if name == CASES[1] else []), "/why/worn_rings", "/waive"):
        assert not foreign(words_of(client.get(f"/job/{name}{path}").text), units), path
    desk = Desk(made, folder / f"{name}.yaml", answer.job, answer)
    for question in made.knowledge.observations:
        lines = [line for card in cards(desk, question, 80, 24) for line in card]
        said = "\n".join([*lines, *judged_lines(desk, question, 80)])
        assert not foreign(re.sub(r"Taken down so far: .*(\n {4}.*)*", "", said), units), question
    assert not foreign("\n".join(end_lines(desk, 80, part="talk")), units)


@pytest.mark.parametrize(
    "words", [["assess"], ["quote"], ["order"], ["sheet", "assembly"], ["why", "worn_rings"]], ids=" ".join
)
def test_every_command_passes_the_shops_units_on(language, words):
    units, folder = language
    group = words[:2] if words[0] == "sheet" else words[:1]
    text = run(*group, folder / f"{CASES[0]}.yaml", *words[len(group) :])
    assert not foreign(text.partition("SOURCES")[0], units)


def test_without_a_choice_figures_stand_as_they_are_and_the_search_finds_them(tmp_path):
    for name in CASES[1:2]:
        (tmp_path / f"{name}.yaml").write_text((ROOT / "cases" / f"{name}.yaml").read_text())
        printed = run("sheet", "assembly", tmp_path / f"{name}.yaml", "--scope", "rebuild")
        assert len(foreign(printed, "metric")) > 10 and " mm (" not in printed


def test_pictures_of_compression_stand_in_the_shops_unit(language):
    units, folder = language
    job = folder / f"{CASES[0]}.yaml"
    printed = run("assess", job, "--full")
    html = folder / "picture.html"
    run("quote", job, "--annex", "--html", html, "--force")
    if units == "metric":
        assert re.search(r"cylinder 1 dry #+ .* 3\.6 bar", printed) and "expected here: 5.5 to 6.5 bar" in printed
        assert "cylinder 1: 3.6 bar dry, 5.4 with oil" in html.read_text()
    else:
        assert re.search(r"cylinder 1 dry #+ .* 52 psi", printed) and "cylinder 1: 52 psi dry" in html.read_text()
    assert all(len(line) <= 80 for line in printed.splitlines())


def test_the_one_screen_stays_one_screen(language):
    _, folder = language
    for name in CASES[:2]:
        lines = run("assess", folder / f"{name}.yaml").splitlines()
        assert len([line for line in lines if not line.startswith("howdeep:")]) <= 24
        assert all(len(line) <= 80 for line in lines if not line.startswith("howdeep:"))


@pytest.mark.parametrize(
    ("text", "metric"),
    [
        ("below 30 psi at the nozzle", "below 2.07 bar (30 psi) at the nozzle"),
        ("gives 79 to 94 psi here", "gives 5.45 to 6.48 bar (79 to 94 psi) here"),
        ("0.020 in over", "0.51 mm (0.020 in) over"),
        ("a 3 7/16 in bore", "a 87.31 mm (3 7/16 in) bore"),
        ("deeper than 28.0 in Hg", "deeper than 94.8 kPa (28.0 in Hg)"),
        ("at 180 °F", "at 82.2 degC (180 °F)"),
        ("about 1 in 5, and 3 in 10", "about 1 in 5, and 3 in 10"),
        ("USD 12.50 in 4 days", "USD 12.50 in 4 days"),
        ("229.29 in total", "229.29 in total"),
        ("4 in the morning", "4 in the morning"),
        ("a 3 in hose", "a 76 mm (3 in) hose"),
        ("17 to 21 in is usual", "17 to 21 in is usual"),
        ("4 in bore, 5 in stroke", "102 mm (4 in) bore, 127 mm (5 in) stroke"),
        ("torque 60-70 ft-lb", "torque 81-95 Nm (60-70 ft-lb)"),
        ("10 W-30", "10 W-30"),
        ("2 inches", "51 mm (2 inches)"),
        ("the 1932 in-lb scale", "the 218.3 Nm (1932 in-lb) scale"),
        ("12 h, 30 min, 1-3-4-2", "12 h, 30 min, 1-3-4-2"),
        ("0.05 mm (0.0020 in) to 0.08 mm (0.003 in)", "0.05 mm (0.0020 in) to 0.08 mm (0.003 in)"),
    ],
)
def test_a_sentence_is_put_into_metric_figure_by_figure(text, metric):
    assert in_prose(text, "metric") == metric and in_prose(metric, "metric") == metric
    assert in_prose(text, "") == text


@given(
    st.lists(
        st.sampled_from(
            [
                "0.004 in",
                "30 psi",
                "2 to 3 bar",
                "1 in 5",
                "at",
                "(",
                ")",
                ",",
                "41 Nm",
                "12",
                "and",
                "80 degC",
                "5.5 in.",
                "3 7/16 in",
                "of the bore",
            ]
        ),
        max_size=8,
    ),
    st.sampled_from(["metric", "inch"]),
)
def test_turning_twice_changes_nothing_more(words, units):
    once = in_prose(" ".join(words), units)
    assert in_prose(once, units) == once and (units == "" or len(once) >= len(" ".join(words)))


def test_a_persons_own_words_are_left_as_they_were_said():
    assert in_units_of((AsSaid("30 psi"), "30 psi"), "metric") == ("30 psi", "2.07 bar (30 psi)")
    assert [str(part) for part in spoken([Said("30 psi"), "30 psi"], "metric")] == ["30 psi", "2.07 bar (30 psi)"]
