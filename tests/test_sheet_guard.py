"""One guard for every figure of an engine sheet: what cannot be is refused, what can hardly be is questioned."""

import copy
import dataclasses
import random
import sys
from pathlib import Path

import pytest
import yaml
from typer.testing import CliRunner

from howdeep.cli.main import app
from howdeep.errors import HowdeepError
from howdeep.files.strict_yaml import parse
from howdeep.knowledge.engines import check_sheet, find, load_sheet, sheet_ids
from howdeep.knowledge.plausible import plausible_table
from howdeep.knowledge.sheet_guard import numbers_of, told
from howdeep.knowledge.where import shipped_rules
from howdeep.model.engine import Engine, Torque
from howdeep.quote.sheet_figures import figure_text

sys.path.insert(0, str(Path(__file__).resolve().parents[1] / "bench"))
from sheet_slips import PUBLISHED, leaves, outcome, plain_of, published, put, right_sheets, run, slips_of

SHEETS = sheet_ids([shipped_rules()])
TABLE = plausible_table()


def checked(plain):
    return check_sheet(parse(yaml.safe_dump(plain, sort_keys=False, width=200), "sheet.yaml"), TABLE)


def at(path: str) -> tuple:
    return tuple(int(part) if part.isdigit() else part for part in path.split("."))


def said(sheet: str, path: str, value) -> tuple[str, str]:
    return outcome(put(plain_of(sheet), at(path), value), TABLE)


@pytest.mark.parametrize("sheet", SHEETS)
def test_nothing_is_questioned_in_a_shipped_sheet(sheet):
    assert load_sheet(find(sheet, [shipped_rules()])).questions == ()


@pytest.mark.parametrize("entry", PUBLISHED, ids=[f"{source} in {name}" for name, source, _ in PUBLISHED])
def test_nothing_is_questioned_in_figures_as_printed(entry):
    assert outcome(published(entry), TABLE) == ("passed", "")


@pytest.mark.parametrize(
    ("path", "value"),
    [
        ("torques.pan.value", "-45 ft-lb"),
        ("torques.pan.value", "0 ft-lb"),
        ("hours.valve_job", -6),
        ("hours.valve_job", 0),
        ("bore.wear", "-0.006 in"),
        ("ring_gap.wear", "0 in"),
        ("ring_gap.wear", "0.018 in"),
        ("bore.low", "34.370 in"),
        ("mains.undersizes.1", "0.005 in"),
        ("torques.head.stages.1", "20 in-lb"),
        ("crankpins.size.wear", "2.0700 in"),
        ("spring_load.wear", "60 lbf"),
    ],
)
def test_what_cannot_be_is_refused_at_its_place(path, value):
    plain = put(plain_of("tarn-30"), at(path), value)
    with pytest.raises(HowdeepError) as caught:
        checked(plain)
    assert all(fault.file == "sheet.yaml" and fault.line > 1 and fault.column > 0 for fault in caught.value.faults)
    assert any(str(value) in fault.message for fault in caught.value.faults)


@pytest.mark.parametrize(
    ("path", "value", "slip"),
    [
        ("torques.head.value", "700 ft-lb", "decimal point"),
        ("cranking_rpm", "1850 rpm", "one place too far right"),
        ("lash_inlet", "0.15 in", "one place too far right"),
        ("lash_inlet", "0.3 in", "perhaps mm was meant"),
        ("stroke", "3.9 mm", "perhaps in was meant"),
        ("cap_pressure", "7 bar", "perhaps psi was meant"),
        ("bore.high", "6.876 in", "diameter"),
        ("piston_clearance.wear", "0.080 in", "one place too far right"),
        ("torques.pan.value", "15 Nm", "ft-lb"),
    ],
)
def test_a_slip_is_questioned_and_named(path, value, slip):
    plain = put(plain_of("tarn-30"), at(path), value)
    if path == "torques.head.value":
        plain["torques"]["head"].pop("stages")
    word, text = outcome(plain, TABLE)
    assert word in ("questioned", "refused"), text
    if word == "questioned":
        assert slip in text and f"sure: {{{path}: why}}" in text


def test_a_bore_in_the_wrong_unit_or_ten_times_too_large_is_not_read_in_silence():
    plain = plain_of("tarn-30")
    for bore in ({"low": "34.370 in", "high": "34.380 in"}, {"low": "3.4370 mm", "high": "3.4380 mm"}):
        assert outcome({**plain, "bore": bore}, TABLE)[0] == "refused"


def test_a_word_in_the_sheet_settles_its_question_and_nothing_else():
    plain = put(put(plain_of("tarn-30"), at("lash_inlet"), "0.060 in"), at("cap_pressure"), "40 psi")
    assert {item.message.split(" is ")[0] for item in checked(plain).questions} >= {"lash_inlet", "cap_pressure"}
    sure = checked({**plain, "sure": {"lash_inlet": "a hit-and-miss engine with a long rocker"}})
    assert not any(item.message.startswith("lash_inlet") for item in sure.questions)
    assert any(item.message.startswith("cap_pressure") for item in sure.questions)
    with pytest.raises(HowdeepError, match="no figure of this sheet"):
        checked({**plain, "sure": {"lash_inlett": "a slip in the word itself"}})
    with pytest.raises(HowdeepError):  # no word settles what cannot be
        checked({**put(plain, at("torques.pan.value"), "-5 ft-lb"), "sure": {"torques.pan.value": "it is"}})


def test_every_figure_of_a_sheet_is_guarded_by_an_entry_of_the_table():
    """A figure that no entry names would take any value above nothing."""
    from howdeep.knowledge.figure_guard import by_length, paths_of

    for name in SHEETS:
        engine = load_sheet(find(name, [shipped_rules()])).engine
        numbers = numbers_of(engine)
        held = {path for row in TABLE.values() if not row.zero for path, _ in paths_of(row, by_length(numbers))}
        free = {
            told(path) for path in numbers if path not in held and "stages" not in path
        }  # stages rise to their torque
        assert not free, (name, free)


def test_every_path_of_the_table_is_a_figure_that_a_sheet_can_give(shipped):
    named = {part.name for part in dataclasses.fields(Engine)}
    for key, row in TABLE.items():
        for base in row.each or ("",):
            for path in (*row.figures, row.over, row.below, row.not_above):
                if path and path != "expected_cranking":
                    assert (base + path if path.startswith(".") else path).split(".")[0] in named, (key, path)
        assert row.because and row.source and row.title, key
        for source in row.source:
            assert source.standing != "published" or source.of in shipped.sources, (key, source.of)


def test_single_slips_are_caught_and_right_sheets_are_not_questioned():
    """A sample of bench/sheet_slips.py."""
    counted, missed, wrong = run(60, 26, 5)
    assert sum(counted.values()) == 60 and len(missed) <= 2, missed
    assert not wrong


def test_the_bench_counts_a_slip_that_passes():
    """A table without entries lets ten-fold slips pass: the bench cannot be blind."""
    passed = [
        at
        for kind, at, plain in slips_of("pell-2", plain_of("pell-2"))
        if kind == "ten-fold" and "lash" in at and outcome(plain, {})[0] == "passed"
    ]
    assert passed


def test_varied_sheets_differ_from_the_shipped():
    plain = right_sheets(24, random.Random(3))[-1][1]
    assert all(plain != plain_of(name) for name in SHEETS) and list(leaves(plain))


# --- what the sheet does not say ---


def test_what_a_sheet_does_not_say_of_a_torque_is_a_blank():
    engine = checked({**plain_of("tarn-30"), "torques": {"head": {"value": "70 ft-lb"}}}).engine
    text = figure_text(engine, "torques.head")
    assert text.startswith("70 ft-lb, stages: ___") and "oiled or dry: ___" in text
    assert "three stages" not in text and "threads oiled" not in text.replace("threads oiled or dry", "")
    assert Torque("70 ft-lb").lubricated == "" and Torque("70 ft-lb").stages == ()


def test_what_a_sheet_says_of_a_torque_is_printed():
    text = figure_text(load_sheet(find("tarn-30", [shipped_rules()])).engine, "torques.head")
    assert text == "70 ft-lb, in stages of 25 ft-lb, 50 ft-lb, 70 ft-lb, threads oiled"


# --- where it is shown ---


@pytest.fixture
def doubtful(tmp_path):
    plain = copy.deepcopy(plain_of("tarn-30"))
    plain["lash_inlet"] = "0.15 in"
    (tmp_path / "mine.yaml").write_text(yaml.safe_dump(plain, sort_keys=False, width=200), encoding="utf-8")
    job = tmp_path / "job.yaml"
    job.write_text("howdeep_job: 1\ntitle: Doubt\nengine: mine.yaml\nanswers:\n  smoke_any: no\n", encoding="utf-8")
    return job


def test_a_questioned_sheet_is_named_by_the_commands_that_load_it(doubtful):
    shown = " ".join(CliRunner().invoke(app, ["assess", str(doubtful)]).output.split())
    assert "lash_inlet is 0.15 in" in shown and "decimal point" in shown
    paper = CliRunner().invoke(app, ["quote", str(doubtful)])
    assert "lash_inlet is 0.15 in" in paper.stderr


def test_a_questioned_sheet_is_a_warning_of_the_check_of_the_rules(tmp_path):
    (tmp_path / "engines").mkdir()
    plain = put(plain_of("pell-1"), at("stroke"), "250 mm")
    (tmp_path / "engines" / "own.yaml").write_text(yaml.safe_dump(plain, sort_keys=False, width=200), encoding="utf-8")
    done = CliRunner().invoke(
        app, ["rules", "check", "--without-cases", "--code", "implausible-sheet", "--rules", str(tmp_path)]
    )
    assert done.exit_code == 1 and "own.yaml" in done.output.replace("\n", "") and "stroke" in done.output


def test_a_shop_may_widen_a_range_in_its_own_rules(tmp_path):
    (tmp_path / "plausible.yaml").write_text(
        yaml.safe_dump(
            {
                "lash_size": {
                    "title": "The valve clearance",
                    "figures": ["lash_inlet", "lash_exhaust"],
                    "unit": "in",
                    "least": 0.002,
                    "most": 0.2,
                    "because": "Hit-and-miss engines of this shop.",
                    "source": [{"standing": "judgement"}],
                }
            }
        ),
        encoding="utf-8",
    )
    plain = put(put(plain_of("tarn-30"), at("lash_inlet"), "0.15 in"), at("lash_exhaust"), "0.15 in")
    assert outcome(plain, TABLE)[0] == "questioned"
    assert outcome(plain, plausible_table([tmp_path]))[0] == "passed"
