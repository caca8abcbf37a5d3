"""Jobs with nothing, one or two answers or readings, on every engine: every command answers or says what is wrong.

What holds for each of them: no command falls over, likely lies within the range and the range above the total, and
a promise just made has an empty change sheet.
"""

import shutil
import tempfile
from pathlib import Path

import pytest
from hypothesis import HealthCheck, settings
from hypothesis import strategies as st
from hypothesis.stateful import RuleBasedStateMachine, initialize, precondition, rule

from howdeep.assessment.session import open_shop
from howdeep.errors import HowdeepError
from howdeep.files.plain_yaml import dump
from howdeep.job.sections import section_of
from howdeep.knowledge.engine_facts import engine_facts
from howdeep.knowledge.engines import find, load_engine, sheet_ids
from howdeep.knowledge.where import shipped_rules
from howdeep.logic.applicability import applies
from howdeep.model.terms import RUNGS
from howdeep.quote.build import build_quote
from howdeep.quote.change_sheet import change_sheet
from howdeep.quote.found import found_sentences
from howdeep.quote.promise import promise_of, storing

from .commands import ON_PAPER, run_on
from .drawn_answers import drawn_answer
from .sampling import WHOLE

ENGINES = {name: load_engine(find(name, [shipped_rules()])) for name in sheet_ids([shipped_rules()])}
COMMANDS = (("assess",), ("assess", "--json"), ("assess", "--brief"), ("why",), *ON_PAPER)
READINGS = [
    ("piston_skirt_size", lambda sheet: f"{sheet.bore.low or 3.0}", "each"),
    ("crank_bend_measured", lambda sheet: "0.004 in", "one"),
    ("bore_size", lambda sheet: f"{sheet.bore.high}", "grid"),
    ("studs_broken", lambda sheet: "several", "one"),
]


def write(path, engine, values, kinds):
    plain = {"howdeep_job": 1, "engine": engine}
    for kind in sorted(set(kinds.values())):
        if some := {name: value for name, value in values.items() if kinds[name] == kind}:
            plain[kind] = some
    path.write_text(dump(plain))


def check_papers(shop, path, rung):
    """The quote of a scope, of a job that can be read."""
    try:
        answer = shop.assess(shop.open_job(path), checks=False, flips=False)
    except HowdeepError:
        return
    quote = build_quote(shop.knowledge, answer, shop.prices, rung)
    assert quote.missing == () and quote.total <= quote.low <= quote.likely <= quote.high, (path.read_text(), rung)


@pytest.fixture(scope="module")
def small_shop():
    return open_shop(example_prices=True)


@pytest.mark.parametrize("engine", sorted(ENGINES))
def test_an_empty_job_is_answered_by_every_command(small_shop, tmp_path, engine):
    path = tmp_path / "job.yaml"
    write(path, engine, {}, {})
    place = sorted(ENGINES).index(engine)
    for number, command in enumerate(COMMANDS):  # every command on one engine, the whole answer on all
        if number == 0 or number % len(ENGINES) == place:
            assert not run_on(path, *command).startswith(str(path)), command
    check_papers(small_shop, path, RUNGS[place % len(RUNGS)])


@pytest.mark.parametrize("engine", sorted(ENGINES))
def test_a_job_with_one_thing_measured_at_the_bench_is_answered(shipped, tmp_path, engine):
    sheet, path = ENGINES[engine], tmp_path / "job.yaml"
    tried = 0
    first = sorted(ENGINES).index(engine)
    for name, figure, how in (READINGS * 2)[first % 4 : first % 4 + 2]:  # each on three of the six engines
        if name not in shipped.observations or not applies(shipped.observations[name], engine_facts(sheet)):
            continue
        item, value = shipped.observations[name], figure(sheet)
        if how == "grid":
            value = {"all": {row: [value] * len(item.columns) for row in item.rows}}
        elif how == "each":
            value = {"all": value}
        write(path, engine, {name: value}, {name: section_of(item)})
        assert "Advice, not a verdict" in run_on(path, "assess"), name
        tried += 1
    assert tried


class HardlyFilled(RuleBasedStateMachine):
    """From the empty job, one answer or reading after another, a command after each."""

    def __init__(self):
        super().__init__()
        self.shop = open_shop(example_prices=True)
        self.folder = Path(tempfile.mkdtemp())
        self.path = self.folder / "job.yaml"
        self.values, self.kinds, self.engine = {}, {}, ""

    def teardown(self):
        shutil.rmtree(self.folder)

    @initialize(engine=st.sampled_from(sorted(ENGINES)))
    def begin(self, engine):
        self.engine = engine
        write(self.path, engine, {}, {})

    @precondition(lambda self: len(self.values) < 2)
    @rule(data=st.data())
    def answer_one(self, data):
        knowledge, sheet = self.shop.knowledge, ENGINES[self.engine]
        offered = sorted(
            name
            for name, item in knowledge.observations.items()
            if applies(item, engine_facts(sheet)) and name not in self.values
        )
        name = data.draw(st.sampled_from(offered), label="observation")
        item = knowledge.observations[name]
        self.values[name] = drawn_answer(data, item, sheet)
        self.kinds[name] = section_of(item)
        write(self.path, self.engine, self.values, self.kinds)

    @rule(command=st.sampled_from(COMMANDS))
    def ask(self, command):
        run_on(self.path, *command)

    @rule(rung=st.sampled_from(RUNGS))
    def papers(self, rung):
        check_papers(self.shop, self.path, rung)

    @rule(rung=st.sampled_from(RUNGS))
    def nothing_changed(self, rung):
        from howdeep.job.write import save

        try:
            job = self.shop.open_job(self.path)
            answer = self.shop.assess(job, checks=False, flips=False)
        except HowdeepError:
            return
        quote = build_quote(self.shop.knowledge, answer, self.shop.prices, rung)
        save(self.path, job.digest, storing("first", promise_of(self.shop.knowledge, answer, quote, "2026-03-05")))
        again = self.shop.assess(self.shop.open_job(self.path), checks=False, flips=False)
        sheet = change_sheet(self.shop.knowledge, again, self.shop.prices, "first", found_sentences)
        assert (sheet.added, sheet.removed, sheet.changed, sheet.used, sheet.needs_yes) == ((), (), (), (), None)
        assert sheet.total_before == sheet.total_after and sheet.rung_before == sheet.rung_after
        write(self.path, self.engine, self.values, self.kinds)


HardlyFilled.TestCase.settings = settings(
    max_examples=6 if WHOLE else 3, stateful_step_count=5, deadline=None, suppress_health_check=list(HealthCheck)
)
test_hardly_filled_jobs = HardlyFilled.TestCase
