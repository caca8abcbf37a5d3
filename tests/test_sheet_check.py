"""`howdeep engine check`: every fault of a sheet in one round, in a mechanic's words; what people write, understood."""

import copy
import json
import random
import re
import sys

import pytest
import yaml

from howdeep.errors import HowdeepError
from howdeep.files.strict_yaml import parse, read
from howdeep.knowledge.engines import check_sheet, find, load_sheet, sheet_ids
from howdeep.knowledge.plausible import plausible_table
from howdeep.knowledge.sheet_form import build_words, shape_at, sheet_form
from howdeep.knowledge.where import shipped_rules
from howdeep.model.engine import Engine
from howdeep.sheets.check import check_document, with_usual, written
from howdeep.sheets.words import word_of

from .commands import howdeep
from .places import ROOT
from .sampling import WHOLE

sys.path.insert(0, str(ROOT / "bench"))
from sheet_slips import slips_of

FORM, TABLE = sheet_form(), plausible_table()
SHEETS = sheet_ids([shipped_rules()])


def plain_of(name="tarn-30"):
    return read(find(name, [shipped_rules()])).value


def text_of(plain):
    return yaml.safe_dump(plain, sort_keys=False, allow_unicode=True, width=200)


def checked(plain, operations=()):
    return check_document(parse(text_of(plain), "sheet.yaml"), FORM, TABLE, operations)


def with_(path, value, plain=None):
    plain = copy.deepcopy(plain or plain_of())
    *above, last = path.split(".")
    here = plain
    for part in above:
        here = here.setdefault(part, {})
    if value is None:
        here.pop(last, None)
    else:
        here[last] = value
    return plain


@pytest.mark.parametrize("name", SHEETS)
def test_nothing_is_said_of_a_shipped_sheet(name, shipped):
    found = check_document(read(find(name, [shipped_rules()])), FORM, TABLE, shipped.operations)
    assert found.clean and not found.questions and not found.faults
    assert found.engine == load_sheet(find(name, [shipped_rules()])).engine


HAND = """\
# written by hand
name: Ferrier 3
build:
  fuel: gasoline
  layout: ohv
  cylinders: 4
  use: tractor
  volts: 6
  bearings: shels
  cooling: pump
  ignition: coil
  hand_crank: true
bore: 3 7/16 in
stroke: 3.9
ring_gap: .013-.019 in, limit .040
ring_side: {min: .0015, max: 0.003 in}
lash_inlet: 0.15 in
crankpins: {size: 1.937-1.938 in, clearance: {low: 0.001 in, high: 0.0025 in, wear: 0.002 in}}
torques: {head: 65-70 ft-lb, rod: {value: 35 lb ft}}
hours: {valve_jobb: 6}
oilpressure: 40
"""


def test_missing_words_units_and_ranges_come_in_one_round(shipped):
    found = check_document(parse(HAND, "hand.yaml"), FORM, TABLE, shipped.operations)
    said = [str(fault) for fault in (*found.faults, *found.questions)]
    for words in (
        "build.rear_seal is missing",
        "'shels' is none of: inserts, babbitt; did you mean shells",
        "stroke is 3.9 and says no unit: in, mm or thou?",
        "'min' stands under ring_side",
        "did you mean low?",
        "crankpins.clearance.high 0.0025 in beside crankpins.clearance.wear 0.002 in",
        "lash_inlet is 0.15 in",
        "no work is called 'valve_jobb'",
        "did you mean valve_job?",
        "'oilpressure' is no field of a sheet",
        "firing_order is missing",
    ):
        assert any(words in text for text in said), words
    assert all(fault.line and fault.file == "hand.yaml" for fault in (*found.faults, *found.questions))
    assert {item.path for item in found.understood} >= {
        ("build", "fuel"),
        ("build", "layout"),
        ("build", "volts"),
        ("bore",),
        ("ring_gap",),
        ("torques", "head"),
    }


def test_what_is_missing_is_said_with_what_it_is_for_and_the_allowed_words():
    found = checked(with_("build.rear_seal", None))
    (fault,) = found.faults
    assert "a rope is renewed by halves from below" in fault.message
    assert fault.hint == "one of: rope, lip, slinger"


@pytest.mark.parametrize(
    "name",
    [path for group in FORM.groups.values() for path, item in group.fields.items() if item.kind in ("word", "yes_no")],
)
def test_a_wrong_word_is_answered_with_the_words_allowed_and_the_purpose(name):
    item = FORM.field(name)
    (fault,) = checked(with_(name, "qqq")).faults
    for word in item.words or ("yes", "no"):
        assert word in fault.message
    assert fault.hint.lower().rstrip(".") == item.purpose.lower().rstrip(".")


PROGRAM_WORDS = re.compile(
    r"instance of|is not one of|input should|dictionary|tuple|NoneType|literal|keyword|validator"
    r"|dataclass|unexpected|mapping of fields",
    re.IGNORECASE,
)


def test_no_fault_of_hundreds_of_broken_sheets_speaks_the_programs_words():
    chance = random.Random(18)
    rubbish = [
        6,
        "6",
        "ohv",
        True,
        None,
        [],
        {},
        ["a"],
        {"low": 3},
        {"a": {"b": 1}},
        "0.013",
        "13",
        -4,
        0,
        "65 ft-lb",
        "x" * 300,
        [[1]],
        {"low": [1]},
        "1-3-4-2",
        3.5,
        "yes",
        {"value": None},
        {"value": ["1"]},
    ]
    fields = [path for group in FORM.groups.values() for path in group.fields] + [
        "build",
        "crankpins",
        "mains",
        "torques",
        "hours",
        "fluids",
        "sure",
        "source",
        "assumed",
        "bore.low",
        "ring_gap.wear",
        "crankpins.size",
        "torques.head.value",
        "torques.head.stages",
        "torques.head.lubricated",
        "torques.odd",
    ]
    seen = 0
    tried = 500 if WHOLE else 120
    for _ in range(tried):
        plain = plain_of(chance.choice(SHEETS))
        for _ in range(chance.randint(1, 3)):
            path, value = chance.choice(fields), chance.choice(rubbish)
            try:
                plain = with_(path, value, plain)
            except (AttributeError, TypeError):
                continue
        found = checked(plain)
        for fault in (*found.faults, *found.questions, *(item.fault for item in found.understood)):
            seen += 1
            assert not PROGRAM_WORDS.search(str(fault)), fault
            assert len(fault.message) < 700 and fault.line
    assert seen > tried


def test_a_sheet_that_the_check_calls_sound_loads_and_one_that_loads_is_called_sound():
    """The check is never kinder than the program that uses the sheet, and never stricter but for names of work."""
    chance = random.Random(3)
    slips = [slip for name in SHEETS for slip in slips_of(name, plain_of(name))]
    for _, at, plain in chance.sample(slips, 250 if WHOLE else 80):
        document = parse(text_of(plain), "sheet.yaml")
        found = check_document(document, FORM, TABLE)
        try:
            sheet = check_sheet(document, TABLE)
        except HowdeepError as error:
            assert found.faults, (at, error)
            continue
        assert not found.faults, (at, found.faults)
        assert {item.message for item in sheet.questions} == {item.message for item in found.questions}, at


def test_writing_puts_in_the_sheets_own_words_and_figures_and_keeps_comments(tmp_path):
    path = tmp_path / "hand.yaml"
    text = (
        HAND.replace("shels", "shells").replace("3.9", "3.9 in").replace("{min: .0015, max: 0.003 in}", "1.5 to 3 thou")
    )
    text = text.replace("0.15 in", ".013 cold in".replace(" cold in", " in cold")).replace(
        "wear: 0.002", "wear: 0.0045"
    )
    text = text.replace("valve_jobb", "valve_job").replace("oilpressure: 40\n", "")
    path.write_text(text)
    document = read(path)
    found = with_usual(document, FORM, TABLE, check_document(document, FORM, TABLE))
    written(path, document, found)
    again = check_document(read(path), FORM, TABLE)
    assert again.clean and not again.questions, again
    sheet = load_sheet(path)
    assert path.read_text().startswith("# written by hand\n")
    engine = sheet.engine
    assert engine.build.layout == "overhead_valve" and engine.build.volts == "6" and engine.build.hand_crank == "yes"
    assert engine.bore.low == "3 7/16 in" and engine.ring_gap.wear == "0.040 in" and engine.ring_side.high == "0.003 in"
    assert (engine.lash_inlet, engine.lash_state) == ("0.013 in", "cold")
    assert (engine.torques["head"].least, engine.torques["head"].value) == ("65 ft-lb", "70 ft-lb")
    assert "build.guides" in engine.assumed and "build.fuel" not in engine.assumed


@pytest.mark.parametrize(
    ("path", "raw", "plain"),
    [
        ("build.fuel", "gas", "petrol"),
        ("build.layout", "Flathead", "side_valve"),
        ("build.layout", "o.h.v.", "overhead_valve"),
        ("build.bearings", "poured", "babbitt"),
        ("build.ignition", "mag", "magneto"),
        ("build.volts", 12, "12"),
        ("build.oil_gauge", True, "yes"),
        ("build.cold_aid", "glow plugs", "glow_plugs"),
        ("lash_state", "Cold", "cold"),
        ("compression_ratio", "6.5:1", 6.5),
        ("oversizes", "20, 30 and 40 thou", ["0.020 in", "0.030 in", "0.040 in"]),
        ("firing_order", "1-3-4-2", [1, 3, 4, 2]),
        ("cap_pressure", "7 lb", "7 psi"),
        ("torques.head.value", "70 lb ft", "70 ft-lb"),
        ("torques.head.lubricated", "oiled", "yes"),
        ("ring_gap.low", ".013 in.", "0.013 in"),
        ("crankpins.size", "1.937-1.938 in", {"low": "1.937 in", "high": "1.938 in"}),
        ("hours.valve_job", "3:30", 3.5),
        ("value_running", "$3,200", "3200.00"),
    ],
)
def test_a_word_or_figure_as_people_write_it_is_understood(path, raw, plain):
    base = plain_of("dunmore-d4") if "cold_aid" in path else None
    found = checked(with_(path, raw, base))
    wanted = tuple(path.split("."))
    assert [item.value for item in found.understood if item.path[: len(wanted)] == wanted] == [plain]


def test_every_word_of_the_form_is_the_word_of_one_answer_only_and_reads_back():
    for group in FORM.groups.values():
        for path, item in group.fields.items():
            for word, also in item.words.items():
                for said in (word, *also, word.upper(), word.replace("_", "-")):
                    assert word_of(said, item) == word, (path, said)


def test_every_field_of_a_sheet_is_asked_for_explained_and_labelled():
    import dataclasses

    from howdeep.model.engine import Build, Journal

    asked = {path for group in FORM.groups.values() for path in group.fields}
    for item in dataclasses.fields(Build):
        assert f"build.{item.name}" in asked
    for item in dataclasses.fields(Engine):
        if item.name in ("build", "name", "source", "sure", "assumed", "torques", "fluids", "hours"):
            continue
        if item.name in ("crankpins", "mains"):
            missing = {f"{item.name}.{part.name}" for part in dataclasses.fields(Journal)} - asked
            assert missing == ({"mains.source", "crankpins.source"} & missing), missing
            continue
        assert item.name in asked, item.name
    for path in asked:
        assert shape_at(path) is not None
        item = FORM.field(path)
        assert item.purpose.endswith(".") and len(item.label) <= 24 and item.title


def test_the_first_group_is_ten_questions_for_petrol_and_for_diesel():
    first = next(iter(FORM.groups.values()))
    for fuel in ("petrol", "diesel"):
        asked = [item for item in first.fields.values() if fuel in item.built.get("fuel", (fuel,))]
        assert len(asked) == 10


def test_the_usual_build_is_whole_and_made_of_the_sheets_own_words(shipped):
    from howdeep.sheets.usual import usual_words

    words = build_words()
    chance = random.Random(5)
    for _ in range(400):
        known = {name: chance.choice(words[name]) for name in chance.sample(sorted(words), chance.randint(0, 8))}
        built = usual_words(FORM, known)
        assert set(built) == set(words)
        assert all(str(built[name]) in words[name] for name in built)
        assert all(built[name] == word for name, word in known.items())


def test_the_command_lists_the_faults_ends_with_one_and_stays_in_80_columns(tmp_path):
    path = tmp_path / "hand.yaml"
    path.write_text(HAND)
    done = howdeep("engine", "check", path, cwd=tmp_path)
    assert done.returncode == 1 and not done.stderr
    assert "To be put right: " in done.stdout and "Can hardly be: " in done.stdout and "Understood" in done.stdout
    assert max(len(line) for line in done.stdout.splitlines() if str(tmp_path) not in line) <= 80
    plain = json.loads(howdeep("engine", "check", path, "--json").stdout)
    assert plain["howdeep_sheet_check"] == 1 and len(plain["faults"]) > 10 and not plain["clean"]
    assert path.read_text() == HAND
    assert howdeep("engine", "check", path, "--usual").returncode == 2
    sound = ROOT / "rules" / "engines" / "tarn-30.yaml"
    done = howdeep("engine", "check", sound)
    assert done.returncode == 0 and "sound" in done.stdout


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ("", "no engine sheet"),
        ("- 1\n", "no engine sheet"),
        ("a: [", "not valid YAML"),
        ("howdeep_job: 1\n", "this is a job"),
    ],
)
def test_a_file_that_is_no_sheet_is_told_so(tmp_path, text, words):
    path = tmp_path / "x.yaml"
    path.write_text(text)
    done = howdeep("engine", "check", path)
    assert done.returncode in (1, 2) and words in " ".join((done.stdout + done.stderr).split())
    assert "Traceback" not in done.stderr


@pytest.mark.parametrize(
    ("text", "command", "words"),
    [
        ("howdeep_job: 1\n", ("engine", "check"), "this is a job, not an engine sheet"),
        ("labour_rate: '60.00'\n", ("engine", "check"), "this is a price list, not an engine sheet"),
        ("howdeep_shop: 1\n", ("engine", "check"), "this is the shop's settings, not an engine sheet"),
        ("build: {fuel: petrol}\n", ("prices", "check"), "this is an engine sheet, not a price list"),
        ("howdeep_shop: 1\n", ("assess",), "this is the shop's settings, not a job"),
        ("labour_rate: '60.00'\n", ("assess",), "this is a price list, not a job"),
    ],
)
def test_a_file_handed_to_the_wrong_command_is_named_in_one_fault(tmp_path, text, command, words):
    path = tmp_path / "x.yaml"
    path.write_text(text)
    done = howdeep(*command, path)
    said = " ".join((done.stdout + done.stderr).split())
    assert done.returncode in (1, 2) and words in said and "missing" not in said
