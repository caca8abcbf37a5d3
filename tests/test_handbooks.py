"""What published works print: the data load, every fault is named at its place, and no share of agreement falls."""

import dataclasses
import sys

import pytest
from typer.testing import CliRunner

from howdeep.casebook.read import SHARES, naming, read_handbooks
from howdeep.cases.run import case_files
from howdeep.cli.main import app
from howdeep.errors import HowdeepError
from howdeep.knowledge.engine_facts import engine_facts
from howdeep.knowledge.where import shipped_cases, shipped_handbooks
from howdeep.logic.evaluate import evaluate_all
from howdeep.model.truth import Truth

from .places import ROOT

sys.path.insert(0, str(ROOT / "bench"))
import handbooks
import sound

GOOD = """howdeep_handbook: 1
work: page-1917
built: Petrol engine
entries:
  taps:
    title: It taps
    where: a table
    engine: tarn-30
    answers: {complaint: knocks, noise: tap}
    causes: [loose_valve_clearance]
    remedy: [set_valve_clearance]
    tests: [lash_check]
"""


@pytest.fixture(scope="module")
def entries(shop):
    return read_handbooks(shipped_handbooks(), shop.knowledge, shop.folders)


def test_every_shipped_entry_loads_and_no_handbook_is_taken_for_a_case(shop, entries):
    files = [path for path in shipped_handbooks().glob("*.yaml") if path.name != SHARES]
    assert len({entry.work for entry in entries}) == len(files) > 30
    assert len([entry for entry in entries if entry.job is not None]) > 150
    assert all(entry.printed.facts for entry in entries if entry.job is None and not entry.printed.not_ours)
    assert not set(case_files(shipped_cases())) & set(shipped_handbooks().rglob("*.yaml"))
    with pytest.raises(HowdeepError, match="holds no cases"):
        case_files(shipped_handbooks())


def test_a_cause_knows_the_entries_that_print_it(entries):
    named = naming(entries, "loose_valve_clearance")
    assert {"page-1917", "tm-5-3810-300-10"} <= {entry.work for entry in named}
    assert all("loose_valve_clearance" in entry.printed.causes for entry in named)


def test_rules_show_names_the_works_that_list_a_cause():
    shown = CliRunner().invoke(app, ["rules", "show", "weak_valve_spring"])
    assert shown.exit_code == 0
    assert "LISTED BY PUBLISHED WORKS" in shown.output
    assert "[mathot-1905/stops_suddenly]" in shown.output.replace("\n", " ").replace("  ", " ")
    quiet = CliRunner().invoke(app, ["rules", "show", "gearbox_input_seal"])
    assert quiet.exit_code == 0
    assert "LISTED BY PUBLISHED WORKS" not in quiet.output


@pytest.mark.parametrize(
    ("old", "new", "place", "said"),
    [
        ("work: page-1917", "work: page-1918", ":2:7:", "page-1917"),
        ("causes: [loose", "causes: [loos", ":10:14:", "did you mean loose_valve_clearance"),
        ("set_valve_clearance", "set_valve_clearence", ":11:14:", "set_valve_clearance"),
        ("tests: [lash_check]", "tests: [lash_chek]", ":12:13:", "lash_check"),
        ("noise: tap", "noise: tapp", ":9:41:", "tap"),
        ("noise: tap", "noize: tap", ":9:34:", "noise"),
        ("engine: tarn-30", "engine: tarn-33", ":8:13:", "tarn-30"),
        ("    causes: [loose_valve_clearance]\n", "", ":5:3:", "causes or unknown_causes"),
        ("title: It taps", "titel: It taps", ":6:5:", "title"),
        ("causes: [loose_valve_clearance]", "causes: [worn_injectors]", ":10:14:", "not_ours"),
        (
            "{complaint: knocks, noise: tap}",
            "{complaint: knocks, noise: tap}\n    readings: {bleed_diesel: bubbles}",
            ":10:16:",
            "not asked of tarn-30",
        ),
        ("engine: tarn-30", "engine: {fuel: petrol, ignition: magnetoe}", ":8:", "magneto"),
        ("engine: tarn-30", "engine: {fuel: petrol, cylindres: 4}", ":8:", "cylinders"),
    ],
)
def test_a_fault_of_an_entry_is_named_at_its_place(shop, tmp_path, old, new, place, said):
    assert old in GOOD
    (tmp_path / "a.yaml").write_text(GOOD, encoding="utf-8")
    assert len(read_handbooks(tmp_path, shop.knowledge, shop.folders)) == 1
    (tmp_path / "a.yaml").write_text(GOOD.replace(old, new), encoding="utf-8")
    with pytest.raises(HowdeepError) as caught:
        read_handbooks(tmp_path, shop.knowledge, shop.folders)
    assert any(f"a.yaml{place}" in str(fault) and said in str(fault) for fault in caught.value.faults), caught.value


def test_an_entry_may_describe_the_engine_that_its_work_speaks_of(shop, tmp_path):
    build = "engine: {fuel: petrol, cylinders: 4, layout: side_valve, ignition: magneto, electric_start: no}"
    (tmp_path / "a.yaml").write_text(GOOD.replace("engine: tarn-30", build), encoding="utf-8")
    (entry,) = read_handbooks(tmp_path, shop.knowledge, shop.folders)
    facts = engine_facts(entry.job.engine)
    assert (facts["engine.ignition"], facts["engine.electric_start"]) == ("magneto", "no")
    assert facts["engine.cylinders"] == 4
    assert entry.job.general is not None and entry.job.job.engine == "unknown"
    (tmp_path / "a.yaml").write_text(
        GOOD.replace("engine: tarn-30", build).replace("[loose_valve_clearance]", "[worn_starter]"), encoding="utf-8"
    )
    with pytest.raises(HowdeepError, match="the engine that is described cannot have 'worn_starter'"):
        read_handbooks(tmp_path, shop.knowledge, shop.folders)


def test_one_sign_is_one_entry(shop, tmp_path):
    again = GOOD + GOOD[GOOD.index("  taps:") :].replace("taps:", "clicks:")
    (tmp_path / "a.yaml").write_text(again, encoding="utf-8")
    with pytest.raises(HowdeepError, match="says the same as 'taps'"):
        read_handbooks(tmp_path, shop.knowledge, shop.folders)


def test_the_rest_of_an_interview_says_nothing_wrong_and_takes_nothing_back(shop, entries):
    base = shop.knowledge
    for entry in entries:
        if entry.job is None:
            continue
        full = sound.interviewed(base, entry.job)
        added = full.values.keys() - entry.job.values.keys()
        assert {name: full.values[name] for name in entry.job.values} == entry.job.values
        assert added, entry.name
        assert all(base.observations[name].moment == "talk" for name in added)
        quiet = dataclasses.replace(entry.job, values={name: full.values[name] for name in added})
        troubles = {name for name in _present(base, quiet) if base.findings[name].explained_by}
        assert not troubles, (entry.name, troubles)


def _present(base, job):
    from howdeep.assessment.facts import facts_of

    return {name for name, truth in evaluate_all(base, facts_of(base, job)[0].values).items() if truth is Truth.PRESENT}


def test_the_shares_of_the_sample_do_not_fall(shop, entries):
    sample = handbooks.sample_of(entries)
    counts = handbooks.counts_of(sample, handbooks.scores_of(shop, sample))
    assert list(handbooks.fallen(counts, handbooks.kept_shares("sample"))) == []


def test_a_share_that_fell_is_named():
    assert list(handbooks.fallen({"known": (1, 2)}, {"known": 0.5})) == []
    assert list(handbooks.fallen({"known": (1, 2)}, {"known": 0.6})) == ["known: 1 of 2, 0.500; kept 0.600"]
