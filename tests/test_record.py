"""The record over folders of jobs: damaged files, progress, learning that moves towards the truth, nothing applied."""

import importlib.util
import json
import math
import os

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from howdeep.errors import HowdeepError
from howdeep.files.plain_yaml import dump
from howdeep.files.strict_yaml import read
from howdeep.job import write
from howdeep.job.read import read_job
from howdeep.knowledge.load import load
from howdeep.knowledge.where import shipped_rules
from howdeep.record.check_lessons import held_back, pairs_under
from howdeep.record.close import close_change
from howdeep.record.learn import learn, nearest_word, proposals
from howdeep.record.overlay import overlay_texts, write_overlay
from howdeep.record.read import read_folder
from howdeep.record.score import log_score, record_of

from .closed_jobs import closed
from .commands import howdeep
from .pages import CASE
from .places import ROOT


def simulate_shop():
    spec = importlib.util.spec_from_file_location("simulate_shop", ROOT / "bench" / "simulate_shop.py")
    module = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(module)
    return module


@pytest.fixture(scope="module")
def made_up(tmp_path_factory, shop):
    """600 closed jobs with promises, and the rule base whose frequencies they were drawn from."""
    folder = tmp_path_factory.mktemp("shop")
    truth = simulate_shop().write_jobs(folder, 600, seed=5, promises=True, shop=shop)
    return folder, truth, read_folder(folder, shop.folders, shop.prices, findings=True)


def test_damaged_and_foreign_files_are_listed_with_their_line_and_the_rest_is_scored(tmp_path, shop):
    plain = read(CASE).value
    plain.pop("expect")
    plain["found"] = {
        "date": "2026-02-03",
        "scope_done": "refresh",
        "came_back": "no",
        "causes": {"worn_rings": "present", "worn_bores": "absent"},
    }
    (tmp_path / "good.yaml").write_text(dump(plain))
    (tmp_path / "open.yaml").write_text(CASE.read_text())
    (tmp_path / "half.yaml").write_text(dump(plain)[:300] + "\n  x: [")
    (tmp_path / "foreign.yaml").write_text("a: 1\n")
    no_such_cause = {"date": "2026-02-03", "causes": {"nothing": "present"}}
    (tmp_path / "wrong.yaml").write_text(dump({**plain, "found": no_such_cause}))
    folder = read_folder(tmp_path, shop.folders, shop.prices)
    assert [row.name for row in folder.rows] == ["good"] and folder.open == 1
    text = "\n".join(folder.damaged)
    for name in ("half.yaml:", "foreign.yaml:", "wrong.yaml:"):
        assert name in text
    done = howdeep("record", tmp_path)
    assert "1 closed jobs scored, 1 still open, 3 left out" in " ".join(done.stdout.split())
    shape = json.loads(howdeep("record", tmp_path, "--json").stdout)
    assert shape["howdeep_record"] == 1 and shape["jobs"] == 1 and len(shape["damaged"]) >= 3


PROMISE = """promises:
  p1:
    date: 2026-01-05
    rung: refresh
    recommended: refresh
    enough: {refresh: 0.8, rebuild: 0.99}
    causes: {worn_rings: 0.4}
    quote: {total: 500.00}
"""
CLOSED = f"""howdeep_job: 1
engine: tarn-30
{PROMISE}found:
  date: 2026-02-03
  scope_done: refresh
  hours: 3.5
  cost: '500.00'
  came_back: no
  causes: {{worn_rings: present}}
"""
BAD = {
    "cost-words": ("cost: '500.00'", "cost: about five hundred", (15, 9)),
    "cost-less": ("cost: '500.00'", "cost: '-500.00'", (15, 9)),
    "cost-odd": ("cost: '500.00'", "cost: '1e999'", (15, 9)),
    "hours-less": ("hours: 3.5", "hours: -6", (14, 10)),
    "hours-many": ("hours: 3.5", "hours: 1e300", (14, 10)),
    "chance-above": ("refresh: 0.8", "refresh: 7.5", (8, 23)),
    "chance-below": ("worn_rings: 0.4", "worn_rings: -0.1", (9, 26)),
    "chance-word": ("worn_rings: 0.4", "worn_rings: likely", (9, 26)),
    "chances-none": ("{worn_rings: 0.4}", "often", (9, 13)),
    "scope": ("rung: refresh", "rung: refrsh", (6, 11)),
    "scope-of-chance": ("enough: {refresh", "enough: {refrsh", (8, 22)),
    "total": ("total: 500.00", "total: about 500", (10, 20)),
    "date": ("date: 2026-02-03", "date: last week", (12, 9)),
    "promise": (PROMISE, "promises: {p1: yes}\n", (3, 16)),
}


def test_one_bad_figure_in_one_job_is_named_with_its_place_and_the_rest_is_counted(tmp_path, shop):
    (tmp_path / "good.yaml").write_text(CLOSED)
    for name, (right, wrong, _) in BAD.items():
        assert CLOSED.count(right) == 1
        (tmp_path / f"{name}.yaml").write_text(CLOSED.replace(right, wrong))
    folder = read_folder(tmp_path, shop.folders, shop.prices)
    assert [row.name for row in folder.rows] == ["good"] and folder.files == len(BAD) + 1
    for name, (_, _, (line, column)) in BAD.items():
        assert any(fault.startswith(f"{tmp_path / name}.yaml:{line}:{column}: ") for fault in folder.damaged), (
            name,
            [fault for fault in folder.damaged if f"{name}.yaml" in fault],
        )
    done = howdeep("record", tmp_path)
    assert done.returncode == 1 and done.stderr == ""
    assert f"1 closed jobs scored, 0 still open, {len(BAD)} left out" in " ".join(done.stdout.split())
    for name in BAD:
        (tmp_path / f"{name}.yaml").unlink()
    assert howdeep("record", tmp_path).returncode == 0


def test_a_promise_that_does_not_say_what_was_promised_is_left_out_and_named(tmp_path, shop):
    (tmp_path / "good.yaml").write_text(CLOSED)
    (tmp_path / "bare.yaml").write_text(CLOSED.replace("    rung: refresh\n    recommended: refresh\n", ""))
    folder = read_folder(tmp_path, shop.folders, shop.prices)
    assert [row.name for row in folder.rows] == ["good"]
    (fault,) = folder.damaged
    assert "bare.yaml" in fault and "promise 'p1' cannot be counted: it does not say which rung was promised" in fault
    assert howdeep("record", tmp_path).returncode == 1


def test_a_defect_that_one_job_brings_out_is_said_of_that_job(tmp_path, shop, monkeypatch):
    from howdeep.record import read as module

    for name in ("a", "b", "c"):
        (tmp_path / f"{name}.yaml").write_text(CLOSED)
    real = module.row_of

    def row_of(knowledge, job, *args, **more):
        if job.path.endswith("b.yaml"):
            raise ZeroDivisionError("a defect")
        return real(knowledge, job, *args, **more)

    monkeypatch.setattr(module, "row_of", row_of)
    folder = read_folder(tmp_path, shop.folders, shop.prices)
    assert [row.name for row in folder.rows] == ["a", "c"]
    assert len(folder.damaged) == 1 and "b.yaml: cannot be scored: ZeroDivisionError" in folder.damaged[0]


@given(text=st.text(max_size=12) | st.floats().map(str) | st.integers().map(str))
@settings(max_examples=60, deadline=None)
def test_what_closing_writes_can_be_read_back_whatever_was_typed(text, shop, tmp_path_factory):
    path = tmp_path_factory.mktemp("close") / "job.yaml"
    write.create(path, write.new_job("tarn-30"))
    for field in ("hours", "cost"):
        try:
            change = close_change(shop.knowledge, date="2026-02-03", causes={}, **{field: text})
        except HowdeepError:
            continue
        write.save(path, read(path).digest, change)
        found = shop.open_job(path).job.found
        value = found.hours if field == "hours" else found.cost
        assert value in (None, "") if not text.strip() else 0 <= float(value) <= 10_000_000


def test_a_job_without_a_promise_is_assessed_anew_without_its_teardown(tmp_path, shop):
    plain = read(CASE).value
    plain.pop("expect")
    plain["teardown"] = {"ridge": "catches_nail"}
    plain["found"] = {"date": "2026-02-03", "causes": {"worn_rings": "present"}}
    (tmp_path / "a.yaml").write_text(dump(plain))
    (row,) = read_folder(tmp_path, shop.folders, shop.prices).rows
    del plain["teardown"]
    (tmp_path / "a.yaml").write_text(dump(plain))
    (without,) = read_folder(tmp_path, shop.folders, shop.prices).rows
    assert row.odds == without.odds and not row.from_promise


def test_a_cause_not_looked_at_is_unknown_and_never_absent(tmp_path, shop):
    plain = {"howdeep_job": 1, "engine": "tarn-30", "found": {"date": "2026-02-03", "causes": {}}}
    (tmp_path / "a.yaml").write_text(dump(plain))
    (row,) = read_folder(tmp_path, shop.folders, shop.prices).rows
    assert row.truths == {} and record_of([row]).causes is None


def test_closing_by_command_and_by_asking(tmp_path, shop):
    path = tmp_path / "job.yaml"
    path.write_text(CASE.read_text())
    done = howdeep(
        "close",
        path,
        "--present",
        "worn_rings",
        "--absent",
        "worn_bores",
        "--scope",
        "refresh",
        "--cost",
        "1200",
        "--came-back",
        "no",
        "--date",
        "2026-02-03",
    )
    assert done.returncode == 0, done.stderr
    found = read_job(path, shop.knowledge, shop.folders).job.found
    assert found.causes == {"worn_bores": "absent", "worn_rings": "present"} and found.cost == "1200.00"
    wrong = howdeep("close", path, "--present", "worn_ring")
    assert wrong.returncode == 2 and "worn_rings" in wrong.stderr
    asked = howdeep("close", path, typed="p\nq\nrefresh\n\n\nno\nall well\n")
    assert asked.returncode == 0, asked.stderr
    assert read_job(path, shop.knowledge, shop.folders).job.found.note == "all well"


def distance(knowledge, truth, lessons, after):
    """Mean distance of words from the truth on the scale of log odds, for the links that lessons speak of."""
    words = knowledge.settings.words

    def logit(word):
        return math.log(words[word] / (1 - words[word]))

    def apart(lesson):
        word = lesson.proposed if after else lesson.word
        return abs(logit(word) - logit(truth.findings[lesson.finding].explained_by[lesson.cause]))

    return sum(apart(lesson) for lesson in lessons) / len(lessons)


def test_learned_words_move_towards_the_truth_and_the_score_on_held_back_jobs_improves(made_up, shop, tmp_path):
    folder, truth, read_ = made_up
    taught, kept = held_back(read_.rows)
    assert len(taught) + len(kept) == 600 and 120 < len(kept) < 280
    lessons = [
        lesson
        for lesson in proposals(learn(shop.knowledge, taught, {row.name: row.stated for row in taught}))
        if lesson.kind == "link"
    ]
    assert len(lessons) >= 5
    assert distance(shop.knowledge, truth, lessons, after=True) < distance(shop.knowledge, truth, lessons, after=False)
    overlay = tmp_path / "overlay"
    before_files = {path: path.read_bytes() for path in shipped_rules().rglob("*.yaml")}
    write_overlay(overlay, overlay_texts(shop.knowledge, lessons))
    assert {path: path.read_bytes() for path in shipped_rules().rglob("*.yaml")} == before_files
    learned = load((*shop.folders, overlay))
    assert set(learned.replaced) == {f"findings/{lesson.finding}" for lesson in lessons}
    kept = kept[:40]
    before = log_score(pairs_under(shop.knowledge, shop, folder, kept))
    after = log_score(pairs_under(learned, shop, folder, kept))
    assert after < before


def test_with_few_jobs_nothing_is_proposed(made_up, shop):
    _, _, read_ = made_up
    few = read_.rows[:8]
    assert proposals(learn(shop.knowledge, few, {row.name: row.stated for row in few})) == ()


def test_a_lesson_needs_the_cause_to_be_looked_at(shop):
    name = next(name for name, item in shop.knowledge.findings.items() if "worn_rings" in item.explained_by)
    rows = [closed(f"{index}", findings={name: 1}) for index in range(60)]
    assert not any(lesson.finding == name for lesson in learn(shop.knowledge, rows, {row.name: {} for row in rows}))


def test_the_nearest_word_of_a_words_own_number_is_the_word(shop):
    words = shop.knowledge.settings.words
    for word, value in words.items():
        assert nearest_word(value, words, tuple(words)) == word


def test_rerun_worth_and_exports_by_command(made_up, tmp_path):
    folder, _, _ = made_up
    small = tmp_path / "few"
    small.mkdir()
    for path in sorted(folder.glob("*.yaml"))[:3]:
        (small / path.name).write_text(path.read_text())
    done = howdeep(
        "record",
        small,
        "--worth",
        "--rerun",
        "--csv",
        tmp_path / "jobs.csv",
        "--anonymous",
        tmp_path / "pool.csv",
        "--picture",
        tmp_path / "c.svg",
    )
    assert done.returncode == 0, done.stderr
    assert "WHAT THE ANSWERS GAVE" in done.stdout and "BY TODAY'S RULES" in done.stdout
    assert (tmp_path / "jobs.csv").read_text().count("\n") == 4
    assert "job-000" not in (tmp_path / "pool.csv").read_text()
    assert "<svg" in (tmp_path / "c.svg").read_text()
    assert max(len(line) for line in done.stdout.splitlines()) <= 80
    again = howdeep("record", small, "--csv", tmp_path / "jobs.csv")
    assert again.returncode == 2 and "--force" in again.stderr


def test_two_processes_and_one_give_the_same_rows(made_up, shop):
    folder, _, read_ = made_up
    alone = read_folder(folder, shop.folders, shop.prices, findings=True, workers=1)
    assert alone.rows == read_.rows and os.cpu_count()


def test_an_engine_sheet_a_price_list_and_the_shop_among_the_jobs_are_no_damaged_jobs(tmp_path, shop):
    (tmp_path / "engines").mkdir()
    (tmp_path / "engines" / "ferrier-3.yaml").write_text((ROOT / "rules" / "engines" / "tarn-30.yaml").read_text())
    (tmp_path / "old-prices.yaml").write_text((ROOT / "rules" / "prices" / "example-shop.yaml").read_text())
    (tmp_path / "our-shop.yaml").write_text("howdeep_shop: 1\n")
    (tmp_path / "open.yaml").write_text(CASE.read_text())
    folder = read_folder(tmp_path, shop.folders, shop.prices)
    assert folder.damaged == () and folder.open == 1 and folder.files == 1
