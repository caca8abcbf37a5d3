"""The committed schemas are the generated ones, and they say of every file what the reader says of it."""

import json

import jsonschema
import pytest

from howdeep.cases.run import case_files
from howdeep.files.strict_yaml import parse, read
from howdeep.knowledge.load import KINDS
from howdeep.knowledge.schema import schema, schema_names, schema_text
from howdeep.knowledge.schema_names import with_names
from howdeep.knowledge.validate import typed
from howdeep.model.engine import Engine
from howdeep.model.job import Job
from howdeep.model.prices import PriceList

from .places import ROOT

SCHEMAS = ROOT / "schemas"
RULES = sorted([*(ROOT / "rules").rglob("*.yaml"), *(ROOT / "tests" / "seeded_rules").rglob("*.yaml")])
CASES = case_files(ROOT / "cases")


def with_text_keys(value):
    if isinstance(value, dict):
        return {str(key): with_text_keys(item) for key, item in value.items()}
    return [with_text_keys(item) for item in value] if isinstance(value, list) else value


def faults(plain_schema, value):
    return [
        f"{list(error.absolute_path)}: {error.message[:200]}"
        for error in jsonschema.Draft202012Validator(plain_schema).iter_errors(with_text_keys(value))
    ]


def name_for(path):
    folder = next(parent for parent in path.parents if parent.name in ("rules", "seeded_rules"))
    first = path.relative_to(folder).parts[0].removesuffix(".yaml")
    return {"engines": "engine-sheet", "prices": "price-list"}.get(first, f"rules-{first}")


@pytest.mark.parametrize("name", schema_names())
def test_the_committed_schema_is_the_generated_one(name):
    generated = schema(name)
    jsonschema.Draft202012Validator.check_schema(generated)
    assert (SCHEMAS / f"{name}.json").read_text(encoding="utf-8") == schema_text(generated), (
        "run: howdeep rules schema --out schemas"
    )


def test_no_schema_is_left_over():
    assert {path.stem for path in SCHEMAS.glob("*.json")} == set(schema_names())


def fields_of(plain):
    if isinstance(plain, dict):
        for key, item in plain.items():
            if key == "properties":
                yield from item.items()
            yield from fields_of(item)
    elif isinstance(plain, list):
        for item in plain:
            yield from fields_of(item)


@pytest.mark.parametrize("name", schema_names())
def test_every_field_carries_its_description(name):
    bare = [
        key
        for key, item in fields_of(
            {
                **schema(name),
                "$defs": {key: item for key, item in schema(name).get("$defs", {}).items() if key != "condition"},
            }
        )
        if not item.get("description")
    ]
    assert bare == []


@pytest.mark.parametrize("path", RULES, ids=lambda path: str(path.relative_to(ROOT)))
def test_every_rule_file_sheet_and_price_list_meets_its_schema(path):
    value = read(path).value
    assert faults(schema(name_for(path)), value if value is not None else {}) == []


@pytest.mark.parametrize("path", CASES, ids=lambda path: path.stem)
def test_every_case_meets_the_schema_of_a_job(path):
    assert faults(schema("job"), read(path).value) == []


FINDING = "f: {title: It smokes, because: Oil burns, fooled_by: A cleaner, source: [{standing: memory}], %s}"
SAME_VERDICT = [
    ("findings", FINDING % "when: {fact: smoke, is: blue}", True),
    ("findings", FINDING % "when: {any: [{not: {finding: other}}, {fact: v, below: low, above: 3}]}", True),
    ("findings", FINDING % "when: {fact: plugs, is: [oily, 6], cylinders: 2}", True),
    ("findings", FINDING % "when: {fact: plugs, is: oily, cylinders: some}", False),
    ("findings", FINDING % "when: {fact: smoke}", False),
    ("findings", FINDING % "when: {fact: smoke, is: blue, below: 3}", False),
    ("findings", FINDING % "when: {fact: smoke, iz: blue}", False),
    ("findings", FINDING % "when: {all: []}", False),
    ("findings", FINDING % "when: {all: [{finding: a}], any: [{finding: b}]}", False),
    ("findings", FINDING % "when: {finding: a}, explained_by: {rings: ofen}", False),
    ("findings", FINDING % "when: {finding: a}, becuase: no", False),
    ("findings", "f: {title: It smokes, when: {finding: a}}", False),
    ("sources", "tm-1: {title: A work, year: 1944}", True),
    ("sources", "tm-1: {title: A work, yaer: 1944}", False),
    ("operations", "o: {title: T, plain: P, rung: refresh, hours: 2, stage: gear, source: [{standing: memory}]}", True),
    (
        "operations",
        "o: {title: T, plain: P, rung: [{rung: refresh}], hours: 2.5, stage: gear,\n source: [{standing: memory}]}",
        True,
    ),
    (
        "operations",
        "o: {title: T, plain: P, rung: reffresh, hours: 2, stage: gear, source: [{standing: memory}]}",
        False,
    ),
    (
        "operations",
        "o: {title: T, plain: P, rung: refresh, hours: 2, stage: haed, source: [{standing: memory}]}",
        False,
    ),
    ("operations", "o: {title: T, plain: P, rung: refresh, hours: two, source: [{standing: memory}]}", False),
    ("limits", "l: {title: T, value: 3, unit: V, source: [{standing: rumour}]}", False),
]


@pytest.mark.parametrize(("kind", "text", "good"), SAME_VERDICT)
def test_schema_and_reader_give_the_same_verdict(kind, text, good):
    document, complaints = parse(text), []
    ((name, entry),) = document.value.items()
    typed(document, (name,), entry, KINDS[kind], complaints)
    assert (not complaints) is good, complaints
    assert (not faults(schema(f"rules-{kind}"), document.value)) is good


@pytest.mark.parametrize(
    ("name", "shape", "text"),
    [
        ("job", Job, "{howdeep_job: 2, engine: a}"),
        ("job", Job, "{howdeep_job: 1, engine: a, anwsers: {runs: yes}}"),
        ("price-list", PriceList, "{name: A, date: 2026-01-01}"),
        ("engine-sheet", Engine, "{name: A, build: {fuel: petrol}}"),
    ],
)
def test_schema_and_reader_both_refuse_a_bad_file(name, shape, text):
    document, complaints = parse(text), []
    typed(document, (), document.value, shape, complaints)
    assert complaints and faults(schema(name), document.value)


def job_with(text):
    return parse(f"{{howdeep_job: 1, engine: twin, {text}}}").value


@pytest.mark.parametrize(
    ("text", "good"),
    [
        ("answers: {smoke: blue}", True),
        ("answers: {smoke: unknown}", True),
        ("answers: {smoke: bluish}", False),
        ("answers: {smokes: blue}", False),
        ("readings: {plugs: {1: oily, 2: dry}}", True),
        ("readings: {plugs: {all: oily}}", True),
        ("readings: {plugs: oily}", False),
        ("readings: {volts: 10.5 V}", True),
        ("teardown: {bore_seen: good}", True),
        ("answers: {bore_seen: good}", False),
        ("waived: {battery_first: {reason: r, by: b}}", True),
        ("waived: {batery_first: {reason: r, by: b}}", False),
    ],
)
def test_with_names_written_in_a_job_is_held_to_the_rule_base(seeded, text, good):
    named = with_names("job", schema("job"), seeded, ["twin"])
    jsonschema.Draft202012Validator.check_schema(named)
    assert (not faults(named, job_with(text))) is good


@pytest.mark.parametrize("name", schema_names())
def test_with_names_written_in_every_schema_is_still_a_schema_and_offers_ids(seeded, name):
    named = with_names(name, schema(name), seeded, ["twin"])
    jsonschema.Draft202012Validator.check_schema(named)
    if name == "rules-findings":
        assert "worn_rings" in json.dumps(named["$defs"]["Finding"]["properties"]["explained_by"])
        assert "squeeze.level" in json.dumps(named["$defs"]["condition"])


def test_names_are_offered_in_rules_and_not_insisted_on(seeded):
    named = with_names("rules-findings", schema("rules-findings"), seeded)
    text = FINDING % "when: {finding: not_written_yet}, explained_by: {new_cause: usually}, otherwise: rarely"
    assert faults(named, parse(text).value) == []


@pytest.fixture(scope="module")
def seeded():
    from howdeep.knowledge.load import load

    return load([ROOT / "tests" / "seeded_rules"])
