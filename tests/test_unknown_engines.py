"""Jobs on engines without a sheet: no command or page falls over, every stand-in is named, what to look up is right."""

import dataclasses
import re
import shutil
import sys
import tempfile
from pathlib import Path

import pytest
from hypothesis import HealthCheck, settings
from hypothesis import strategies as st
from hypothesis.stateful import RuleBasedStateMachine, initialize, precondition, rule
from typer.testing import CliRunner

from howdeep.assessment.facts import facts_of
from howdeep.assessment.look_up import MOST as MOST_LOOK_UPS
from howdeep.assessment.look_up import look_ups
from howdeep.assessment.session import open_shop
from howdeep.cli.main import app
from howdeep.errors import HowdeepError
from howdeep.files.plain_yaml import dump
from howdeep.interview.engine import MOST, answer_to, answer_to_open, engine_questions, said
from howdeep.interview.session import open_desk
from howdeep.job.read import open_text
from howdeep.job.sections import section_of
from howdeep.knowledge.described import UNKNOWN
from howdeep.knowledge.engine_facts import engine_facts
from howdeep.knowledge.fill_in import MAIN, resolve
from howdeep.knowledge.kinds import load_kinds
from howdeep.knowledge.where import shipped_rules
from howdeep.logic.applicability import applies
from howdeep.model.kind import Described
from howdeep.terminal.engine import engine_named, name_and_phone
from howdeep.web.app import create_app

from .commands import ON_PAPER, run_on
from .drawn_answers import drawn_answer
from .sampling import WHOLE

sys.path.insert(0, str(Path(__file__).resolve().parents[1] / "bench"))
from newcomer_unknown import MOST_PROMPTS, UNKNOWN_ENGINES, replay

KINDS = load_kinds([shipped_rules()])
TELLING = "answers: {complaint: smokes, runs: yes, smoke_any: yes, smoke_pulling: blue_heavy, power: down_much}\n"
WORN = (
    TELLING
    + """\
readings: {compression_dry: {1: 44 psi, 2: 46 psi, 3: 43 psi, 4: 45 psi}, oil_pressure_idle: 3 psi}
teardown:
  ring_gap_measured: {1: 0.040 in, 2: 0.045 in, 3: 0.041 in, 4: 0.044 in}
  rod_clearance: {1: 0.0048 in, 2: 0.0040 in, 3: 0.0035 in, 4: 0.0039 in}
  bore_size: {1: {top: [3.1330 in, 3.1325 in], middle: [3.1300 in, 3.1298 in], bottom: [3.1285 in, 3.1284 in]}}
  crankpin_size: {1: {front: [1.9970 in, 1.9950 in], rear: [1.9972 in, 1.9955 in]}}
"""
)
SIDE_VALVE = "{fuel: petrol, cylinders: 4, layout: side_valve, use: farm, year: 1930s}"
COMMANDS = (("assess",), ("assess", "--full"), ("assess", "--json"), ("why",), ("why", "--json"), *ON_PAPER)
PAGES = ("", "/ask", "/readings", "/answers", "/why", "/quote", "/close", "/engine", "/delete")


def opened(shop, engine, rest=""):
    return open_text(f"howdeep_job: 1\nengine: {engine}\n{rest}", "job.yaml", Path("."), shop.knowledge, shop.folders)


def written(path, engine, rest=""):
    path.write_text(f"howdeep_job: 1\nengine: {engine}\n{rest}")
    return path


def flat(text):
    return " ".join(text.split())


# --- nothing falls over ---


class KnownInPart(RuleBasedStateMachine):
    """An engine of which anything may be said, one answer or reading after another, a command or a page after each."""

    def __init__(self):
        super().__init__()
        self.shop = open_shop(example_prices=True)
        self.folder = Path(tempfile.mkdtemp())
        self.path = self.folder / "job.yaml"
        self.client = create_app(self.folder, self.shop).test_client()
        self.engine, self.values = "unknown", {}

    def teardown(self):
        shutil.rmtree(self.folder)

    def write(self):
        plain = {"howdeep_job": 1, "engine": self.engine}
        for name, value in self.values.items():
            plain.setdefault(section_of(self.shop.knowledge.observations[name]), {})[name] = value
        self.path.write_text(dump(plain))

    @initialize(
        engine=st.one_of(
            st.just("unknown"),
            st.sampled_from(sorted(KINDS)),
            st.fixed_dictionaries(
                {},
                optional={
                    "fuel": st.sampled_from(["petrol", "diesel", "unknown"]),
                    "cylinders": st.integers(1, 6),
                    "use": st.sampled_from(["farm", "marine", "stationary", "car"]),
                    "cooling": st.sampled_from(["pump", "thermosiphon", "hopper", "sea water", "air", "unknown"]),
                    "year": st.sampled_from(["1925", "1938", "1950s", "1980"]),
                    "bearings": st.sampled_from(["shells", "white metal"]),
                    "oiling": st.sampled_from(["splash", "pressure"]),
                },
            ),
        )
    )
    def begin(self, engine):
        self.engine = engine or "unknown"
        self.write()

    @precondition(lambda self: len(self.values) < 2)
    @rule(data=st.data())
    def answer_one(self, data):
        try:
            job = self.shop.open_job(self.path)
        except HowdeepError:
            return
        knowledge, sheet = self.shop.knowledge, job.engine
        offered = sorted(
            name
            for name, item in knowledge.observations.items()
            if applies(item, engine_facts(sheet)) and name not in self.values
        )
        measured = [name for name in offered if knowledge.observations[name].kind == "number"]
        name = data.draw(st.one_of(st.sampled_from(offered), st.sampled_from(measured)), label="observation")
        item = knowledge.observations[name]
        self.values[name] = drawn_answer(data, item, sheet)
        self.write()

    @rule(command=st.sampled_from(COMMANDS))
    def ask(self, command):
        run_on(self.path, *command)

    @rule(page=st.sampled_from(PAGES))
    def look(self, page):
        answer = self.client.get(f"/job/job{page}")
        assert answer.status_code in (200, 422), (page, self.path.read_text())
        assert "The program has a fault" not in answer.text


KnownInPart.TestCase.settings = settings(
    max_examples=5 if WHOLE else 2, stateful_step_count=4, deadline=None, suppress_health_check=list(HealthCheck)
)
test_engines_known_in_part = KnownInPart.TestCase


@pytest.mark.parametrize("engine", ["unknown", SIDE_VALVE, "marine-diesel-four", "{fuel: diesel, cylinders: 1}"])
def test_a_job_can_be_closed_and_counted_in_the_record(tmp_path, engine):
    path = written(tmp_path / "job.yaml", engine, TELLING)
    done = CliRunner().invoke(
        app, ["close", str(path), "--present", "worn_rings", "--scope", "refresh", "--came-back", "no", "--hours", "14"]
    )
    assert done.exit_code == 0, done.output
    assert "engine:" in path.read_text() and "worn_rings: present" in path.read_text()
    done = CliRunner().invoke(app, ["record", str(tmp_path)])
    assert done.exit_code == 0 and "1" in done.output, done.output


# --- what stands in is said ---


def test_every_figure_that_stood_in_is_named_once_with_how_far_makers_differ(shop):
    answer = shop.assess(opened(shop, SIDE_VALVE, WORN), checks=False, flips=False)
    used = {
        part
        for reduction in answer.facts.reductions.values()
        for part in reduction.basis.split(" and ")
        if part.startswith("general limit side-valve-petrol-four ")
    }
    named = [text for text in answer.stand_ins if "stands in (" in text]
    assert len(used) == len(named) >= 6
    for part in used:
        path = part.rsplit(" ", 1)[1]
        figure = next(item for item in answer.job.general.figures if item.path == path)
        assert (
            sum(f"{figure.value} stands in ({figure.least} to {figure.most} between makers" in text for text in named)
            >= 1
        ), path
    # and nothing claims to be the maker's
    assert not any(
        "engine sheet" in reduction.basis or "the sheet" in reduction.how
        for reduction in answer.facts.reductions.values()
    )


def test_papers_say_plainly_that_the_figures_are_general(tmp_path, shop):
    path = written(tmp_path / "job.yaml", SIDE_VALVE, WORN)
    for command in (("quote",), ("letter",), ("order",), ("sheet assembly",), ("assess", "--full")):
        assert "Made from general figures: this engine has no sheet" in flat(run_on(path, *command)), command
    for command in (("quote", "--json"), ("sheet assembly", "--json")):
        assert '"general": "Made from general figures' in run_on(path, *command)
    assert "(general, not the maker's)" in flat(run_on(path, "sheet assembly"))
    for command in ("quote", "sheet assembly"):
        page = tmp_path / f"{command}.html"
        run_on(path, command, "--html", str(page))
        assert "Made from general figures" in page.read_text()
    named = written(tmp_path / "named.yaml", "brockwell-4", TELLING)
    for command in (("quote",), ("sheet assembly",), ("assess", "--full"), ("quote", "--json")):
        assert "general figures" not in flat(run_on(named, *command)).lower()


def test_the_json_says_what_was_said_assumed_and_stood_in_and_a_sheet_says_nothing_new(tmp_path):
    text = run_on(written(tmp_path / "job.yaml", SIDE_VALVE, TELLING), "assess", "--json")
    assert '"kind": "side-valve-petrol-four"' in text and '"assumed"' in text and '"look_ups"' in text
    text = run_on(written(tmp_path / "named.yaml", "tarn-30", TELLING), "assess", "--json")
    assert '"look_ups"' not in text and '"assumed": {' not in text and '"assumed": [' not in text


def test_no_engine_is_called_low_by_figures_of_a_kind_that_it_may_not_be(shop):
    rest = "readings: {compression_dry: {all: 40 psi}}\n"

    def level(engine):
        return shop.assess(opened(shop, engine, rest), checks=False, flips=False).facts.values.get("compression.level")

    assert level("unknown") is None and level("{fuel: petrol}") is None
    assert level(SIDE_VALVE) == ("low",) * 4
    assert level("farm-diesel-four") == ("very_low",) * 4
    just_under = "readings: {compression_dry: {all: 58 psi}}\n"  # below the least of the kind, above three quarters
    answer = shop.assess(opened(shop, SIDE_VALVE, just_under), checks=False, flips=False)
    assert "compression.level" not in answer.facts.values


def test_a_bore_and_a_journal_of_unknown_size_are_judged_by_their_shape(shop):
    values = shop.assess(opened(shop, SIDE_VALVE, WORN), checks=False, flips=False).facts.values
    assert values["bore.taper"][0] == pytest.approx(0.0045, abs=2e-4)
    assert values["bore.verdict"][0] in ("too_close", "beyond")
    assert values["crankpin.verdict"][0] == "grind"  # two thousandths out of round


# --- what to look up first ---

JOBS = (
    (SIDE_VALVE, WORN),
    (
        "farm-diesel-four",
        WORN.replace("44 psi, 2: 46 psi, 3: 43 psi, 4: 45 psi", "230 psi, 2: 235 psi, 3: 228 psi, 4: 232 psi"),
    ),
    ("unknown", TELLING),
)


def full(shop, job):
    """(answer, expected cost, chance) of a job by a whole assessment, forward chaining and all."""
    decision = shop.assess(job, checks=False, flips=False).decision
    line = decision.line(decision.job)
    return f"{decision.kind} {decision.job}", line.expected, line.enough


def with_rewritten_kind(job, path, text):
    """The job on the same engine with the kind itself rewritten: one figure put at another value."""
    kind = KINDS[job.general.kind]
    figures = {
        name: dataclasses.replace(figure, value=text if name == path else figure.value)
        for name, figure in kind.figures.items()
    }
    variants = tuple(
        dataclasses.replace(
            variant,
            figures={
                name: dataclasses.replace(figure, value=text if name == path else figure.value)
                for name, figure in variant.figures.items()
            },
        )
        for variant in kind.variants
    )
    rewritten = dataclasses.replace(kind, figures=figures, variants=variants)
    filled = resolve({**KINDS, job.general.kind: rewritten}, job.general.described)
    return dataclasses.replace(job, engine=filled.engine, general=filled.general)


@pytest.mark.parametrize(("engine", "rest"), JOBS[:2])
def test_figures_worth_looking_up_are_those_that_move_a_whole_assessment_most(shop, engine, rest):
    job = opened(shop, engine, rest)
    answer = shop.assess(job, checks=False, flips=False)
    told = look_ups(shop.knowledge, answer, shop.prices, KINDS)
    assert 0 < len(told) <= MOST_LOOK_UPS
    now = full(shop, job)
    by_force, idle = {}, 0
    for figure in job.general.figures:
        moves = [(0, False, 0.0, "", now[0])]
        for text in (figure.least, figure.most):
            other = with_rewritten_kind(job, figure.path, text)
            if facts_of(shop.knowledge, other)[0].values == answer.facts.values:
                idle += 1
                if idle % 40 == 1:  # what changes no fact changes nothing at all: tried on some
                    assert full(shop, other) == now
                continue
            then = full(shop, other)
            moves.append((abs(then[1] - now[1]), then[0] != now[0], abs(then[2] - now[2]), text, then[0]))
        by_force[figure.path] = max(moves, key=lambda move: move[:3])
    for item in told:
        if item.kind == "figure":
            money, changes, enough, text, to = by_force[item.subject]
            assert (item.money, item.changes, item.to) == (money, changes, to), item
            assert item.enough == pytest.approx(enough, abs=1e-9) and item.other == text
    named = {item.subject for item in told if item.kind == "figure"}
    least = min((item.money for item in told), default=0)
    left_out = {path: move for path, move in by_force.items() if path not in named and move[0] > least}
    assert not left_out, left_out  # nothing weightier than what is named was left out
    assert [item.money for item in told] == sorted((item.money for item in told), reverse=True)


def test_points_of_the_build_are_those_that_move_the_same_job_with_that_word_in_its_file(shop):
    job = opened(shop, "unknown", TELLING)
    told = look_ups(shop.knowledge, shop.assess(job, checks=False, flips=False), shop.prices, KINDS)
    now = full(shop, job)
    main = [item for item in told if item.kind == "build" and item.subject in MAIN]
    assert main
    for item in main:
        then = full(shop, opened(shop, f"{{{item.subject}: {item.other}}}", TELLING))
        assert item.money == abs(then[1] - now[1]) and item.to == then[0]


def test_a_sheet_has_nothing_to_look_up_and_what_is_said_is_not_looked_up(shop):
    answer = shop.assess(opened(shop, "brockwell-4", TELLING), checks=False, flips=False)
    assert look_ups(shop.knowledge, answer, shop.prices, KINDS) == ()
    answer = shop.assess(opened(shop, SIDE_VALVE, TELLING), checks=False, flips=False)
    found = look_ups(shop.knowledge, answer, shop.prices, KINDS)
    assert not {item.subject for item in found} & {"fuel", "cylinders", "layout", "use"}


def test_what_to_look_up_stands_on_the_full_answer_in_why_and_on_the_page(tmp_path, shop):
    path = written(tmp_path / "job.yaml", SIDE_VALVE, WORN)
    assert "WORTH LOOKING UP FIRST" in run_on(path, "assess", "--full")
    assert "Worth looking up first" in flat(run_on(path, "why"))
    page = create_app(tmp_path, shop).test_client().get("/job/job").text
    assert "Worth looking up first" in page and "Not said of the engine" in page
    assert page.index("Worth looking up first") < page.index("General limits that stood in")


# --- the interview ---


def test_at_most_six_questions_are_asked_and_any_may_be_not_known():
    described, asked = Described(), 1  # the open question
    described, rest = answer_to_open(described, "?", KINDS)
    assert rest == [] and engine_questions(described, KINDS) == ()
    described = Described()
    while open_now := engine_questions(described, KINDS):
        described = said(described, open_now[0].field, answer_to(open_now[0], "d"))
        asked += 1
    assert asked - 1 <= MOST
    assert {described.word(name) for name in MAIN} == {UNKNOWN}
    diesel = said(Described(), "fuel", "diesel")
    assert "layout" not in [item.field for item in engine_questions(diesel, KINDS)]
    for name in KINDS:
        assert 1 <= len(engine_questions(Described(name), KINDS)) <= 3


@pytest.mark.parametrize(
    ("typed", "wanted"),
    [
        ("0", "unknown"),
        ("unknown", "unknown"),
        ("tarn-30", "tarn-30"),
        ("Tarn 30", "tarn-30"),
        ("1", "brockwell-4"),
        ("flathead six", "flathead-six"),
        ("Farm diesel four", "farm-diesel-four"),
        ("petrol six flathead 1938", {"fuel": "petrol", "layout": "side_valve", "cylinders": 6, "year": 1938}),
        ("skery-6", None),
        ("", None),
        ("99", None),
        ("purple", None),
        ("diesel flathead", None),
    ],
)
def test_the_first_prompt_takes_a_number_a_name_a_kind_or_a_few_words(shop, typed, wanted):
    from howdeep.sheets.choices import engine_choices

    engine, told = engine_named(typed, engine_choices(shop.folders), KINDS)
    assert engine == wanted
    assert bool(told) == (wanted is None)
    if typed == "skery-6":
        assert "skerry-6" in told[0]


@pytest.mark.parametrize(
    ("typed", "wanted"),
    [
        ("Ann O., 555 0101", ("Ann O.", "555 0101")),
        ("Ann O.", ("Ann O.", "")),
        ("", ("", "")),
        ("+44 1632 960001", ("", "+44 1632 960001")),
        ("Farm of 4", ("Farm of 4", "")),
        ("A. B; (555) 0101", ("A. B", "(555) 0101")),
    ],
)
def test_name_and_telephone_are_told_apart(typed, wanted):
    assert name_and_phone(typed) == wanted


def test_an_answer_on_the_engine_is_on_disk_and_the_interview_goes_on_from_it(tmp_path, shop):
    path = tmp_path / "job.yaml"
    first = replay(dataclasses.replace(UNKNOWN_ENGINES[1], answers=("q",) * 3), path, most=6)
    assert first.on_engine == 1
    text = path.read_text()
    assert "layout: side_valve" in text and "year: 1930s" in text
    desk = open_desk(shop, path)
    assert desk.job.general.kind == "side-valve-petrol-four"
    assert engine_questions(desk.job.general.described, KINDS) == ()


@pytest.mark.parametrize("newcomer", UNKNOWN_ENGINES, ids=lambda item: item.title.replace(" ", "_"))
def test_an_unknown_engine_comes_to_a_first_answer_in_under_twelve_prompts(tmp_path, newcomer):
    went = replay(newcomer, tmp_path / "job.yaml")
    assert went.answered and went.prompts <= MOST_PROMPTS < 12 and went.on_engine <= MOST
    assert max(len(line.rstrip("\r")) for line in went.screen.split("\n")) <= 80
    if newcomer.engine[0] == "skery-7":
        assert "did you mean skerry-6" in " ".join(went.screen.split())
    assert re.search(r"brockwell-4\s+petrol, side valves, farm\s+4\s+3\.1250 in", went.screen)


# --- the page ---


def test_the_new_job_form_offers_that_nobody_knows_the_engine_and_the_few_fields(tmp_path, shop):
    client = create_app(tmp_path, shop).test_client()
    page = client.get("/new").text
    assert "I don&#39;t know the engine" in page or "I don't know the engine" in page
    for field in ("fuel", "cylinders", "layout", "use", "cooling", "year"):
        assert f'name="engine.{field}"' in page
    token = re.search('form_token" value="([^"]+)', page)[1]
    bad = client.post("/new", data={"form_token": token, "engine": "unknown", "engine.year": "ago", "name": "Ann O."})
    assert bad.status_code == 422 and "about when it was built" in bad.text and "Ann O." in bad.text
    both = client.post("/new", data={"form_token": token, "engine": "farm-diesel-four", "engine.fuel": "petrol"})
    assert both.status_code == 422 and "contradicts the kind" in both.text
    made = client.post(
        "/new",
        data={
            "form_token": token,
            "engine": "unknown",
            "engine.fuel": "diesel",
            "engine.cylinders": "2",
            "engine.use": "marine",
            "title": "Launch",
        },
    )
    assert made.status_code == 303
    job = shop.open_job(tmp_path / "launch.yaml")
    assert (job.engine.build.fuel, job.engine.build.cylinders, job.engine.build.use) == ("diesel", 2, "marine")
    assert "diesel" in client.get("/").text and "{" not in re.search("<li>.*Launch.*</li>", client.get("/").text)[0]


def test_what_is_known_can_be_said_later_and_a_stale_form_is_refused(tmp_path, shop):
    written(tmp_path / "job.yaml", "unknown  # nobody knows", TELLING)
    client = create_app(tmp_path, shop).test_client()
    page = client.get("/job/job/engine").text
    data = {
        "form_token": re.search('form_token" value="([^"]+)', page)[1],
        "was.engine": re.search('was.engine" value="([^"]+)', page)[1],
        "engine": "side-valve-petrol-four",
        "engine.year": "1934",
    }
    assert client.post("/job/job/engine", data=data).status_code == 303
    job = shop.open_job(tmp_path / "job.yaml")
    assert job.general.described == Described("side-valve-petrol-four", "1934")
    assert "# nobody knows" in (tmp_path / "job.yaml").read_text()
    assert client.post("/job/job/engine", data=data).status_code == 409
    assert 'value="1934"' in client.get("/job/job/engine").text
    sheet = {**data, "engine": "tarn-30", "engine.year": "", "was.engine": job.digest}
    assert client.post("/job/job/engine", data=sheet).status_code == 303
    assert shop.open_job(tmp_path / "job.yaml").general is None
