"""Commands: help for each, every one in the docs, readable in a pipe at 80 columns, no traceback ever."""

import json
import os
import re

import pytest

from howdeep.assessment.session import Shop
from howdeep.knowledge.load import load
from howdeep.show.as_json import assessment_shape, text_of
from howdeep.show.headline import HEADINGS

from .commands import howdeep, in_a_process
from .places import ROOT

CASES = sorted((ROOT / "cases").glob("*.yaml"))
DEMO = ROOT / "cases" / "smoke_and_low_compression_with_dry_seals_stays_in_the_frame.yaml"


def commands():
    from howdeep.cli.main import app

    names = [command.name or command.callback.__name__.replace("_", "-") for command in app.registered_commands]
    return sorted([*names, *(group.name for group in app.registered_groups)])


def subcommands(group):
    from howdeep.cli.main import app

    (found,) = [item.typer_instance for item in app.registered_groups if item.name == group]
    return sorted(command.name or command.callback.__name__ for command in found.registered_commands)


def test_every_command_of_the_design_is_there():
    assert {"demo", "interview", "assess", "why", "quote", "sheet", "cases", "rules", "record", "close", "page"} <= set(
        commands()
    )


@pytest.mark.parametrize("name", commands())
def test_every_command_has_help_and_stands_in_the_docs(name):
    done = howdeep(name, "--help")
    assert done.returncode == 0 and len(done.stdout.split()) > 15
    docs = (ROOT / "README.md").read_text() + "".join(path.read_text() for path in (ROOT / "docs").glob("*.md"))
    assert f"howdeep {name}" in docs
    if name in ("rules", "engine", "prices", "promise", "sheet", "shop"):
        for part in subcommands(name):
            assert f"howdeep {name} {part}" in docs, part
            assert howdeep(name, part, "--help").returncode == 0


def test_the_answer_is_readable_at_80_columns_without_colour_in_a_pipe():
    done = in_a_process("assess", DEMO, "--full")
    assert done.returncode == 0, done.stderr
    assert "\x1b" not in done.stdout
    assert max(map(len, done.stdout.splitlines())) <= 80
    for part in (
        "CHECK FIRST",
        "HOW DEEP: EVERY JOB",
        "LIKELY CAUSES",
        "CHECKS",
        "WORK",
        "PARTS",
        "TESTS",
        "NOT ASKED",
        "WHAT WOULD CHANGE THE ANSWER",
        "maker's manual governs",
    ):
        assert part in done.stdout, part
    caution, work = done.stdout.find("CAUTION"), done.stdout.find("WORK")
    assert work < caution
    assert howdeep("assess", DEMO, "--full").stdout == done.stdout, "in the tests' own process it says something else"


def test_a_process_of_its_own_tells_help_and_faults_as_well():
    whole = in_a_process("--help")
    assert whole.returncode == 0 and whole.stdout.splitlines()[1:] == howdeep("--help").stdout.splitlines()[1:]
    assert set(commands()) <= set(whole.stdout.split())
    misspelt = in_a_process("asess", DEMO)
    assert misspelt.returncode == 2 and "assess" in misspelt.stderr and "Traceback" not in misspelt.stderr


def test_json_has_its_shape_number_and_the_same_conclusion_as_the_text():
    answer = json.loads(howdeep("assess", DEMO, "--json").stdout)
    assert answer["howdeep_answer"] == 2
    documented = set(re.findall(r"`([a-z_0-9]+)`", (ROOT / "docs" / "json.md").read_text()))
    assert set(answer) <= documented
    line = next(line for line in answer["jobs"] if line["job"] == answer["recommended"]["job"])
    screen = howdeep("assess", DEMO).stdout
    assert f"{100 * line['enough']:.0f} %" in screen
    assert screen.splitlines()[1].startswith(HEADINGS[answer["kind"]].upper())


@pytest.mark.parametrize("what", ["worn_rings", "refresh", "re_ring", "smoke_pulling"])
def test_why_leads_down_to_answers_and_sources(what):
    done = howdeep("why", DEMO, what)
    assert done.returncode == 0, done.stderr
    assert what in done.stdout and len(done.stdout.splitlines()) > 3


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ("howdeep_job: 1\nengine: nowhere-9\n", "no engine sheet 'nowhere-9'"),
        ("howdeep_job: 1\nengine: brockwell-4\nanswers: {smoke_puling: blue_heavy}\n", "did you mean smoke_pulling"),
        ("howdeep_job: 1\nengine: brockwell-4\nanswers: {runs: yes, runs: no}\n", "stands here twice"),
        ("a: [1", "not valid YAML"),
        ("", "is empty"),
        ("- 1\n- 2\n", "not a mapping"),
        ("howdeep_job: 1\nengine: brockwell-4\nreadings: {battery_rest: 6 psi}\n", "is a pressure"),
    ],
)
def test_bad_input_is_one_clear_line_a_fault_and_exit_code_2(tmp_path, text, words):
    path = tmp_path / "job.yaml"
    path.write_text(text)
    done = howdeep("assess", path)
    assert done.returncode == 2, done.stdout + done.stderr
    assert words in done.stderr and "Traceback" not in done.stderr
    assert all(line.startswith(f"howdeep: {path}:") for line in done.stderr.splitlines())
    assert sorted(os.listdir(tmp_path)) == ["job.yaml"] and path.read_text() == text


def test_an_unknown_name_for_why_is_answered_with_the_nearest():
    done = howdeep("why", DEMO, "worn_ring")
    assert done.returncode == 2 and "worn_rings" in done.stderr


@pytest.mark.parametrize("seed", ["7", "0", "1", "4242"])
def test_the_bytes_do_not_depend_on_the_hash_seed(seed):
    """This process has a seed of its own."""
    told = in_a_process("assess", DEMO, "--json", env={"PYTHONHASHSEED": seed}).stdout
    assert howdeep("assess", DEMO, "--json").stdout == told != ""


def test_shuffled_answers_and_shuffled_rule_files_give_the_same_bytes(shop, tmp_path):
    import random
    import shutil

    from howdeep.files.plain_yaml import dump
    from howdeep.files.strict_yaml import read

    def shuffled(value, rng):
        if isinstance(value, dict):
            items = list(value.items())
            rng.shuffle(items)
            return dict(items)
        return value

    rng = random.Random(5)
    rules = tmp_path / "rules"
    shutil.copytree(ROOT / "rules", rules)
    for path in rules.rglob("*.yaml"):
        if path.parent.name in ("engines", "prices") or path.name == "settings.yaml":
            continue
        path.write_text(dump(shuffled(read(path).value, rng)))
    job = read(DEMO).value
    job = shuffled(
        {key: shuffled(value, rng) if key in ("answers", "readings") else value for key, value in job.items()}, rng
    )
    path = tmp_path / DEMO.name
    path.write_text(dump(job))
    outputs = [answered(shop, load([ROOT / "rules"]), DEMO), answered(shop, load([rules]), path)]
    assert outputs[0] == outputs[1]


def answered(shop, knowledge, path):
    """The answer as JSON by a rule base, but for what names that rule base."""
    answer = assessment_shape(knowledge, Shop(knowledge, shop.folders, shop.prices).assess_file(path))
    answer["verdict"]["sections"] = [part for part in answer["verdict"]["sections"] if part["id"] != "used"]
    del answer["rule_base"], answer["used"]["rule_base"]
    return text_of(answer)


def test_no_command_is_listed_with_a_sentence_that_is_cut():
    groups = [[], ["rules"], ["engine"], ["promise"], ["sheet"], ["prices"], ["shop"]]
    for words in groups:
        shown = howdeep(*words, "--help").stdout
        assert not [line for line in shown.splitlines() if re.search(r"[^\]]\.\.\.$", line)], words
        assert max(map(len, shown.splitlines())) <= 80
