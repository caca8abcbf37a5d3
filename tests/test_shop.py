"""What the shop says once is used everywhere: tools, altitude, units, floors, letterhead, who signs."""

import dataclasses
import random
import re

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from typer.testing import CliRunner

from howdeep.assessment.prepared import open_observations
from howdeep.assessment.session import Shop, open_shop
from howdeep.cli.main import app
from howdeep.decision.open_checks import open_checks
from howdeep.errors import Held, HowdeepError
from howdeep.files.strict_yaml import read
from howdeep.interview.session import open_desk, put
from howdeep.job import write
from howdeep.job.decide import waiving
from howdeep.knowledge.engines import find, load_engine, sheet_ids
from howdeep.knowledge.tools import tools_lacking
from howdeep.model.prices import Letterhead
from howdeep.model.quantity import DIMENSION, UNITS, parse
from howdeep.model.shop import ShopSettings
from howdeep.model.shown_units import INCH, METRIC, in_units, unit_in
from howdeep.pricing.read import example_prices
from howdeep.quote.held import held_checks, refuse_promise
from howdeep.quote.sheets import sheets_of
from howdeep.record.read import read_folder
from howdeep.shop.keys import keys, place_of, plain_value
from howdeep.shop.read import find_shop, load_shop
from howdeep.shop.use import equipped, placed, with_floors
from howdeep.shop.write import put_settings
from howdeep.show.question_card import hint_of
from howdeep.show.verdict import verdict_of
from howdeep.web.app import create_app
from howdeep.web.book import list_jobs

from .commands import howdeep
from .pages import CASE
from .places import ROOT

CASES = sorted((ROOT / "cases").glob("*.yaml"))
MINE = """\
howdeep_shop: 1
# on the door
letterhead: {name: Hill Farm Engines, address: 1 Lane, phone: 000-7}
signs: A. Smith
altitude: 5200 ft
units: metric
promise_floor: 0.95
tools: {leakage_tester: no, vacuum_gauge: yes}
"""


def shop_with(shop, **given):
    made = ShopSettings(**given)
    return Shop(equipped(shop.knowledge, made), shop.folders, with_floors(shop.prices, made), made)


def lacking(*tools):
    return {"tools": dict.fromkeys(tools, "no")}


# --- tools ---


def test_every_tool_is_needed_for_checks_that_are_there_and_list_what_they_take(shipped):
    for name, tool in shipped.tools.items():
        assert tool.needed_for, name
        for observation in tool.needed_for:
            item = shipped.observations[observation]
            assert item.moment in ("test", "teardown") and (item.tools or observation == "leakage_heard"), observation


@given(seed=st.integers(0, 10**6))
@settings(max_examples=40, deadline=None)
def test_a_tool_not_owned_removes_exactly_the_checks_that_need_it(shop, seed):
    """On any engine, with any answers made: what is still offered is what was offered, less what needs the tool."""
    rng = random.Random(seed)
    knowledge = shop.knowledge
    engine = load_engine(find(rng.choice(sheet_ids(shop.folders)), shop.folders))
    sample = rng.sample(sorted(knowledge.observations.items()), 12)
    facts = {name: rng.choice(list(item.answers)) for name, item in sample if item.kind == "choice" and not item.each}
    tools = rng.sample(sorted(knowledge.tools), rng.randrange(1, 4))
    poor = equipped(knowledge, ShopSettings(**lacking(*tools)))
    before = {check.check: check for check in open_checks(knowledge, engine, facts, frozenset(facts))}
    after = {check.check: check for check in open_checks(poor, engine, facts, frozenset(facts))}
    needing = {name for tool in tools for name in knowledge.tools[tool].needed_for}
    assert after == {name: check for name, check in before.items() if not needing & set(check.observations)}


def test_without_a_leakage_tester_its_check_is_neither_ranked_asked_nor_counted_as_not_asked(shop):
    job = shop.open_job(CASE)
    whole = shop.assess(job, flips=False)
    poor = shop_with(shop, **lacking("leakage_tester"))
    answer = poor.assess(job, flips=False)
    gone = {"leakage", "leakage_heard"}
    assert gone & {name for check in whole.checks for name in check.observations}
    assert not gone & {name for check in answer.checks for name in check.observations}
    assert not gone & set(answer.not_asked)
    assert set(whole.not_asked) - set(answer.not_asked) <= gone
    assert (answer.beliefs, answer.decision.jobs) == (whole.beliefs, whole.decision.jobs)
    assert set(open_observations(poor.knowledge, job, whole.facts.values)) == set(whole.not_asked) - gone


def test_a_reading_taken_with_a_borrowed_tool_counts_all_the_same(shop):
    job = shop.open_job(CASE)
    poor = shop_with(shop, **lacking("compression_gauge"))
    assert "compression_dry" in job.values
    assert poor.assess(job, checks=False, flips=False).beliefs == shop.assess(job, checks=False, flips=False).beliefs


def test_a_hold_whose_check_needs_a_tool_that_is_not_owned_stands_and_says_so(shop):
    for path in CASES:
        job = shop.open_job(path)
        answer = shop.assess(job, checks=False, flips=False)
        for held in held_checks(answer, answer.decision.rung):
            check = shop.knowledge.checks.get(held.check)
            needed = set(check.observations if check else (held.check,))
            tool = next((name for name, item in shop.knowledge.tools.items() if needed & set(item.needed_for)), None)
            if tool is None:
                continue
            poor = shop_with(shop, **lacking(tool))
            told = " ".join(
                line.told
                for line in verdict_of(
                    poor.knowledge, poor.assess(job, checks=False, flips=False), None, ("held",)
                ).lines("held")
            )
            assert "does not own" in told
            with pytest.raises(Held, match="does not own"):
                refuse_promise(poor.knowledge, answer, poor.prices, answer.decision.rung, 0.99)
            return
    pytest.fail("no case is held by a check that takes a tool")


def test_a_proof_that_needs_a_tool_that_is_not_owned_says_so_on_the_sheet(shop):
    answer = shop.assess(shop.open_job(CASE), checks=False, flips=False)
    poor = equipped(shop.knowledge, ShopSettings(**lacking("compression_gauge")))
    said = [line for line in sheets_of(poor, answer, "refresh").proof if tools_lacking(poor, line.check)]
    assert said and all("does not own" in line.title for line in said)
    assert not any("does not own" in line.title for line in sheets_of(shop.knowledge, answer, "refresh").proof)


# --- altitude, floors ---


def test_the_shops_altitude_is_taken_for_a_job_that_gives_none(shop):
    job = shop.open_job(CASE)
    bare = dataclasses.replace(job, job=dataclasses.replace(job.job, place=type(job.job.place)()))
    high = ShopSettings(altitude="5200 ft")
    assert placed(bare, high).job.place.altitude == "5200 ft"
    own = dataclasses.replace(job, job=dataclasses.replace(job.job, place=type(job.job.place)(altitude="100 ft")))
    assert placed(own, high) == own and placed(bare, ShopSettings()) == bare
    figures = [
        shop.assess(item, checks=False, flips=False).facts.values["compression.expected_low"]
        for item in (placed(bare, high), bare)
    ]
    assert figures[0] < figures[1]


def test_the_shops_floors_and_letterhead_go_before_the_price_lists(shop):
    made = with_floors(shop.prices, ShopSettings(promise_floor=0.95, letterhead=Letterhead("Ours")))
    assert (made.promise_floor, made.firm_floor, made.shop.name) == (0.95, shop.prices.firm_floor, "Ours")
    assert with_floors(shop.prices, ShopSettings()) == shop.prices
    strict = shop_with(shop, promise_floor=0.999, firm_floor=0.9995)
    decisions = [strict.assess(strict.open_job(path), checks=False, flips=False).decision for path in CASES[::40]]
    assert all(decision.floor == 0.999 and decision.firm == 0.9995 for decision in decisions)


# --- the file ---


@pytest.fixture
def folder(tmp_path):
    (tmp_path / "job.yaml").write_text(re.sub(r"(?m)^place:.*\n(?: .*\n)*", "", CASE.read_text()))
    (tmp_path / "prices.yaml").write_bytes(example_prices().read_bytes())
    (tmp_path / "shop.yaml").write_text(MINE)
    return tmp_path


def test_the_settings_beside_the_jobs_are_found_and_used(folder, monkeypatch):
    made = open_shop(None, None, folder / "job.yaml")
    assert made.knowledge.not_owned == ("leakage_tester",) and made.prices.promise_floor == 0.95
    assert made.open_job(folder / "job.yaml").job.place.altitude == "5200 ft"
    assert made.prices.shop.name == "Hill Farm Engines"
    other = folder / "other.yaml"
    other.write_text("howdeep_shop: 1\nsigns: B\n")
    monkeypatch.setenv("HOWDEEP_SHOP", str(other))
    assert find_shop(folder) == other and open_shop(None, None, folder / "job.yaml").settings.signs == "B"
    monkeypatch.delenv("HOWDEEP_SHOP")
    assert find_shop(folder / "nowhere") is None and open_shop(example_prices=True).settings == ShopSettings()


@pytest.mark.parametrize(
    ("old", "new", "line", "said"),
    [
        ("howdeep_shop: 1\n", "", 2, "does not begin with 'howdeep_shop: 1'"),
        ("howdeep_shop: 1", "howdeep_shop: 2", 1, "2"),
        ("leakage_tester: no", "leak_tester: no", 8, "did you mean leakage_tester"),
        ("leakage_tester: no", "leakage_tester: perhaps", 8, "perhaps"),
        ("5200 ft", "5200", 5, "has no unit"),
        ("5200 ft", "52000 ft", 5, "no altitude"),
        ("units: metric", "units: cubits", 6, "'cubits' are no units"),
        ("promise_floor: 0.95", "promise_floor: 95", 7, "not a chance"),
        ("promise_floor: 0.95", "promise_floor: nan", 7, "nan"),
        ("signs:", "sings:", 4, "did you mean signs"),
    ],
)
def test_settings_that_cannot_be_are_refused_at_their_line_by_every_command(folder, old, new, line, said):
    path = folder / "shop.yaml"
    path.write_text(MINE.replace(old, new, 1))
    with pytest.raises(HowdeepError) as caught:
        open_shop(None, None, folder / "job.yaml")
    assert any(fault.line == line and said in str(fault) for fault in caught.value.faults), caught.value
    assert len(caught.value.faults) == 1


def test_a_broken_shop_file_stops_assess_quote_and_page_in_one_line_each(folder):
    (folder / "shop.yaml").write_text(MINE.replace("metric", "cubits"))
    for words in (
        ("assess", folder / "job.yaml"),
        ("quote", folder / "job.yaml"),
        ("page", folder, "--port", "1"),
        ("shop", "show", "--folder", folder),
        ("shop", "set", "signs", "B", "--folder", folder),
    ):
        done = howdeep(*words)
        assert done.returncode == 2 and "'cubits' are no units" in done.stderr and done.stdout == "", words
        assert "Traceback" not in done.stderr


def test_one_setting_at_a_time_and_comments_stay(folder, shop):
    path = folder / "shop.yaml"
    for key, value in (
        ("phone", "000-8"),
        ("units", "inches"),
        ("leakage-tester", "yes"),
        ("promise_floor", "80 %"),
        ("altitude", "none"),
        ("spark_tester", "n"),
    ):
        done = howdeep("shop", "set", key, value, "--folder", folder)
        assert done.returncode == 0, done.stderr
    made = load_shop(path, shop.knowledge)
    assert (made.letterhead.phone, made.units, made.promise_floor, made.altitude) == ("000-8", "inch", 0.8, "")
    assert made.tools == {"leakage_tester": "yes", "vacuum_gauge": "yes", "spark_tester": "no"}
    assert "# on the door" in path.read_text()
    before = path.read_bytes()
    for key, value in (("phone_no", "1"), ("altitude", "high"), ("vacuum_gauge", "sometimes"), ("firm_floor", "sure")):
        done = howdeep("shop", "set", key, value, "--folder", folder)
        assert done.returncode == 2 and "Traceback" not in done.stderr and path.read_bytes() == before, key


def test_everything_that_can_be_set_is_set_and_taken_out_again(tmp_path, shop):
    path = tmp_path / "shop.yaml"
    values = {
        "altitude": "800 m",
        "units": "metric",
        "promise_floor": "0.8",
        "firm_floor": "90 %",
        "next_number": "1001",
        "number_prefix": "E-",
    }
    for key in keys(shop.knowledge):
        place = place_of(shop.knowledge, key)
        value = "no" if place.startswith("tools.") else values.get(key, "Some text: #1")
        put_settings(path, shop.knowledge, {place: plain_value(place, value)})
    made = load_shop(path, shop.knowledge)
    assert set(made.tools) == set(shop.knowledge.tools) and set(made.tools.values()) == {"no"}
    assert made.letterhead == Letterhead(*["Some text: #1"] * 4) and made.firm_floor == 0.9
    put_settings(path, shop.knowledge, {"signs": None, "altitude": None})
    assert (load_shop(path, shop.knowledge).signs, load_shop(path, shop.knowledge).altitude) == ("", "")


# --- on the surfaces ---


def inside(*words):
    """A command in this process: a dozen papers are a dozen starts less."""
    return CliRunner().invoke(app, [str(word) for word in words])


def test_the_letterhead_and_who_signs_stand_on_every_paper(folder):
    job = folder / "job.yaml"
    for hold in ("floor", "two_steps"):
        assert inside("waive", job, hold, "--by", "O", "--how", "in person").exit_code == 0
    made = open_shop(None, None, job)
    answer = made.assess(made.open_job(job), checks=False, flips=False)
    for hold in (hold.hold for hold in answer.holds if hold.state == "stands"):
        write.save(job, read(job).digest, waiving(hold, by="O", how="in person", date="2026-03-05"))
    assert inside("promise", "make", job, "first").exit_code == 0
    papers = {
        "quote": ("quote",),
        "letter": ("letter",),
        "order": ("order",),
        "change": ("promise", "changes"),
        "stored": ("promise", "show"),
        "assembly": ("sheet", "assembly"),
        "proof": ("sheet", "proof"),
    }
    for name, words in papers.items():
        done = inside(*words, job)
        assert done.exit_code == 0, done.output
        assert done.stdout.startswith("Hill Farm Engines\n1 Lane, 000-7\n"), name
        assert "No. not yet numbered, Date 20" in done.stdout, name
        assert ("For the shop: A. Smith" in done.stdout) is (name != "order"), name
    for words in (
        ("quote", job),
        ("promise", "changes", job),
        ("quote", job, "--shop-copy"),
        ("letter", job),
        ("sheet", "assembly", job),
        ("sheet", "proof", job),
    ):
        page = folder / "page.html"
        assert inside(*words, "--html", page, "--force").exit_code == 0
        text = page.read_text()
        assert (
            "Hill Farm Engines" in text
            and "For the shop: A. Smith" in text
            and "Millrace" not in text.replace("Millrace Engine Shop, an invented shop", "")
        ), words


def test_papers_and_the_interview_show_the_shops_units_beside_the_figures_own(folder):
    letter = inside("letter", folder / "job.yaml").stdout
    assert "3.59, 3.79, 3.45, 3.72 bar (52, 55, 50, 54 psi)" in " ".join(letter.split())
    sheet = " ".join(inside("sheet", "assembly", folder / "job.yaml", "--scope", "refresh").stdout.split())
    assert re.search(r"mm \(0\.0\d+ in\)", sheet)
    (folder / "shop.yaml").write_text(MINE.replace("units: metric\n", ""))
    assert "bar (" not in inside("letter", folder / "job.yaml").stdout


def test_the_interview_takes_the_shops_altitude_and_asks_in_its_units(folder):
    made = open_shop(None, None, folder / "job.yaml")
    desk = open_desk(made, folder / "job.yaml")
    assert desk.job.job.place.altitude == "5200 ft"
    moved = put(desk, "cranking_rpm", "150 rpm")
    assert moved.job.job.place.altitude == "5200 ft" and "\nplace:" not in (folder / "job.yaml").read_text()
    assert "12 bar" in hint_of(desk, desk.knowledge.observations["oil_pressure_idle"])


def test_the_page_uses_the_settings_and_lists_no_settings_as_a_job(folder):
    made = open_shop(None, None, folder / "any.yaml")
    client = create_app(folder, made).test_client()
    page = client.get("/job/job/quote").get_data(as_text=True)
    assert "Hill Farm Engines" in page and "bar (52, 55, 50, 54 psi)" in page
    assert "For the shop: A. Smith" in page
    assert 'value="5200 ft"' in client.get("/new").get_data(as_text=True)
    assert [entry.name for entry in list_jobs(folder)[0]] == ["job"]
    readings = client.get("/job/job/readings").get_data(as_text=True)
    assert "<option selected>bar</option>" in readings
    assert client.get("/job/shop").status_code in (404, 422)
    assert not read_folder(folder, made.folders).damaged


# --- units against a general library ---


@pytest.fixture(scope="module")
def registry():
    import pint  # a third of a second, for the process that runs this

    return pint.UnitRegistry()


@given(value=st.integers(1, 99999), decimals=st.integers(0, 4), pair=st.sampled_from([*METRIC.items(), *INCH.items()]))
@settings(max_examples=400, deadline=None)
def test_a_figure_in_the_shops_units_is_pints_to_its_last_digit(registry, value, decimals, pair):
    unit, to = pair
    typed = f"{value / 10**decimals:.{decimals}f} {unit}"
    shown = in_units(typed, "metric" if (unit, to) in METRIC.items() else "inch")
    figure, _, rest = shown.partition(" ")
    assert rest == f"{to} ({typed})"
    names = {
        "thou": "thou",
        "inHg": "inHg",
        "inH2O": "inH2O",
        "in3": "inch**3",
        "cm3": "cm**3",
        "kg/cm2": "kilogram_force/cm**2",
        "ft3/h": "foot**3/hour",
        "L/min": "liter/minute",
        "m3/h": "m**3/hour",
        "ft-lb": "foot*pound_force",
        "in-lb": "inch*pound_force",
        "lbf": "pound_force",
        "qt": "quart",
        "pt": "pint",
        "Nm": "newton*meter",
        "rpm": "rpm",
    }
    exact = registry.Quantity(value / 10**decimals, names.get(unit, unit)).to(names.get(to, to)).magnitude
    places = len(figure.partition(".")[2])
    assert abs(float(figure) - exact) <= 0.5000001 * 10**-places + abs(exact) * 1e-4


def test_what_is_no_quantity_or_in_the_shops_units_already_stays(shop):
    for text in ("", "0.05 mm", "1-3-4-2", "4", "head off", "about 1 in 7", "12:1", "no"):
        assert in_units(text, "metric") == text, text
    assert in_units("3 7/16 in", "metric").startswith("87.31") and in_units("112 psi", "") == "112 psi"
    for unit, to in (*METRIC.items(), *INCH.items()):
        assert DIMENSION[unit] == DIMENSION[to] or {unit, to} <= {"ft", "m", "mile", "km"}, (unit, to)
        assert parse(f"1 {unit}", unit=unit).to(to)
    assert (
        unit_in("psi", "metric") == "bar"
        and unit_in("psi", "") == "psi"
        and set(METRIC) | set(INCH) <= {unit for units in UNITS.values() for unit in units}
    )


@pytest.mark.parametrize(("units", "paper"), [("metric", "A4"), ("inch", "Letter"), ("", "Letter")])
def test_a_shop_that_speaks_metric_prints_on_a4(units, paper, shop, tmp_path, monkeypatch):
    from howdeep.cli.paper import write_paper

    asked = []
    monkeypatch.setattr("howdeep.files.print_pdf.pdf_of", lambda page, on: asked.append((page, on)) or b"%PDF")
    own = dataclasses.replace(shop, settings=dataclasses.replace(shop.settings, units=units))
    write_paper(own, "<p>paper</p>", None, tmp_path / "paper.pdf", force=False)
    assert asked == [("<p>paper</p>", paper)] and (tmp_path / "paper.pdf").read_bytes() == b"%PDF"
