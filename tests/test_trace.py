"""Every conclusion is followed down to the answers, and every gap to the question that would close it."""

import textwrap

import pytest

from howdeep.errors import HowdeepError
from howdeep.knowledge.load import load
from howdeep.logic.forward_chaining import conclude, finding_rules
from howdeep.logic.proof import chain, fact_text, why_not
from howdeep.model.results import Facts, Reduction
from howdeep.model.truth import Truth

from .conftest import SMALL

RULES = """
blue_smoke: {title: It smokes blue, when: {fact: smoke, is: blue}, @}
flat: {title: The battery is flat, when: {fact: volts, below: least_volts}, @}
oily_plug: {title: A plug is oily, when: {fact: plugs, is: oily, cylinders: any}, @}
uses_oil: {title: It burns oil, @,
  when: {all: [{finding: blue_smoke}, {any: [{finding: oily_plug}, {fact: loss, above: 25}]}]}}
low: {title: Compression is low, when: {fact: squeeze.share, below: 75, cylinders: neighbours}, @}
worn: {title: The engine is worn, @,
  when: {any: [{all: [{finding: uses_oil}, {finding: low}]}, {all: [{finding: low}, {fact: loss, above: 25}]}]}}
sound: {title: The engine is sound, @,
  when: {all: [{not: {finding: worn}}, {not: {finding: blue_smoke}}, {fact: engine.fuel, is: petrol}]}}
""".replace("@", "because: so, fooled_by: nothing, source: [{standing: judgement}]")
REDUCED = (
    "squeeze.share: {title: Share of the best cylinder, kind: number, unit: percent, each: cylinder, "
    "taken_from: [squeeze]}\n"
)
LIMIT = "least_volts: {title: Least cranking voltage, value: 9.6, unit: V, source: [{standing: judgement}]}\n"
SHARE = Reduction("squeeze.share", (50.0, 60.0), "60 and 72 psi of 120 psi", "compared between cylinders")


@pytest.fixture(scope="module")
def rules(tmp_path_factory):
    folder = tmp_path_factory.mktemp("rules")
    for name, text in (("findings", RULES), ("reduced", REDUCED), ("limits", LIMIT)):
        (folder / f"{name}.yaml").write_text(textwrap.dedent(text), encoding="utf-8")
    return load([SMALL, folder])


def told(rules, values, finding, ask=chain, reductions=()):
    facts = Facts(
        {"engine.fuel": "petrol", **values, **{item.fact: item.value for item in reductions}},
        {item.fact: item for item in reductions},
        (),
    )
    return ask(rules, conclude(finding_rules(rules), facts.values), facts, finding)


def test_a_finding_leads_down_to_the_answer_in_the_words_of_the_question(rules):
    tree = told(rules, {"smoke": "blue"}, "blue_smoke")
    assert (tree.text, tree.kind, tree.subject) == ("It smokes blue: present", "finding", "blue_smoke")
    (leaf,) = tree.parts
    assert (leaf.text, leaf.kind, leaf.subject) == ('Smoke: Blue (the rule asks for: "Blue")', "answer", "smoke")


def test_a_measured_value_is_told_with_its_unit_and_the_limit_in_figures(rules):
    (leaf,) = told(rules, {"volts": 8.9}, "flat").parts
    assert leaf.text == "Cranking voltage: 8.9 V (the rule asks for: below 9.6 V)"
    assert leaf.kind == "reading"
    assert told(rules, {"volts": 11.0}, "flat").text == "The battery is flat: absent"


def test_a_deep_finding_leads_through_findings_and_reduced_readings_to_what_was_measured(rules):
    answers = {"smoke": "blue", "plugs": ("dry", None, "oily"), "loss": 30.0, "squeeze": (60.0, 72.0)}
    tree = told(rules, answers, "worn", reductions=(SHARE,))
    assert [way.text for way in tree.parts] == ["way 1 of 2", "way 2 of 2"]
    assert sorted({leaf.text for leaf in tree.leaves()}) == [
        "60 and 72 psi of 120 psi [compared between cylinders]",
        "Compression is low: present (told above)",
        "Compression: 1 60 psi; 2 72 psi",
        "Leakage: 30 percent (the rule asks for: above 25 percent)",
        'Plugs: 1 Dry; 2 not taken; 3 Oily (the rule asks for: "Oily" on any cylinder)',
        'Smoke: Blue (the rule asks for: "Blue")',
    ]
    reduced = next(part for way in tree.parts for item in way.parts for part in item.parts if part.kind == "reduced")
    assert reduced.text == (
        "Share of the best cylinder: 1 50 percent; 2 60 percent (the rule asks for: "
        "below 75 percent on two cylinders side by side)"
    )


def test_an_absent_finding_has_a_chain_too_with_the_engine_sheet_where_it_decides(rules):
    tree = told(rules, {"smoke": "none", "engine.fuel": "diesel", "loss": 5.0, "squeeze": ()}, "sound")
    assert tree.text == "The engine is sound: absent"
    (leaf,) = tree.leaves()
    assert (leaf.kind, leaf.subject) == ("engine", "engine.fuel")
    assert leaf.text == 'Engine sheet, fuel: diesel (the rule asks for: "petrol")'


def test_the_leaves_of_a_chain_are_answers_readings_or_the_engine_sheet(rules):
    tree = told(
        rules,
        {"smoke": "none", "loss": 5.0},
        "sound",
        reductions=(
            Reduction("squeeze.share", (100.0, 99.0), "119 and 120 psi of 120 psi", "compared between cylinders"),
        ),
    )
    assert tree.text == "The engine is sound: present"
    assert {leaf.kind for leaf in tree.leaves() if "told above" not in leaf.text} <= {"answer", "reading", "engine"}


def test_why_not_names_exactly_the_questions_that_would_decide(rules):
    tree = told(rules, {"smoke": "blue"}, "uses_oil", why_not)
    assert tree.kind == "unknown"
    assert [(leaf.kind, leaf.subject) for leaf in tree.leaves()] == [("unknown", "plugs"), ("unknown", "loss")]
    assert "Leakage: not known (wanted: above 25 percent)" in [leaf.text for leaf in tree.leaves()]


def test_why_not_of_an_absent_finding_names_what_makes_it_absent_and_no_idle_question(rules):
    tree = told(rules, {"smoke": "none"}, "uses_oil", why_not)
    assert [(leaf.kind, leaf.subject) for leaf in tree.leaves()] == [("absent", "smoke")]
    assert [leaf.text for leaf in tree.leaves()] == ['Smoke: None (wanted: "Blue")']


def test_why_not_says_what_speaks_against_a_not(rules):
    tree = told(rules, {"smoke": "blue"}, "sound", why_not)
    assert tree.kind == "absent"
    branch = tree.parts[0]
    assert branch.text == "It smokes blue: present (wanted: absent)"
    assert [leaf.subject for leaf in tree.leaves()] == ["smoke"]


def test_answering_the_questions_named_decides_the_finding(rules):
    known = {"smoke": "blue"}
    for _ in range(10):
        tree = told(rules, known, "worn", why_not)
        open_facts = [leaf.subject for leaf in tree.leaves() if leaf.kind == "unknown"]
        if not open_facts:
            break
        known[open_facts[0]] = {"plugs": ("oily", "dry"), "loss": 30.0, "squeeze": (60.0, 60.0)}[open_facts[0]]
        if "squeeze" in known:
            known["squeeze.share"] = (50.0, 50.0)  # as the readings would work it out
    assert told(rules, known, "worn").text == "The engine is worn: present"


def test_a_reduced_fact_not_known_leads_to_the_reading_that_was_not_taken(rules):
    (leaf,) = told(rules, {}, "low", why_not).leaves()
    assert (leaf.text, leaf.kind, leaf.subject) == ("Compression: not taken", "unknown", "squeeze")
    (leaf,) = told(rules, {"squeeze": (60.0, None)}, "low", why_not).leaves()  # taken, but it did not do
    assert (leaf.kind, leaf.subject) == ("unknown", "squeeze.share")


def test_the_chain_of_an_unknown_finding_says_what_is_missing(rules):
    assert told(rules, {}, "flat") == told(rules, {}, "flat", why_not)
    assert [leaf.subject for leaf in told(rules, {}, "flat").leaves()] == ["volts"]


def test_a_name_that_is_no_finding_is_refused_with_the_nearest_one(rules):
    with pytest.raises(HowdeepError, match="did you mean uses_oil"):
        told(rules, {}, "use_oil")


def test_facts_of_the_work_and_readings_at_several_places_are_told_in_words(rules):
    assert fact_text(rules, "scope", "top_end") == "Scope: top end"
    assert fact_text(rules, "bore", (((3.5, 3.501), (3.502, None)), None)) == (
        "Bore: 1 top thrust 3.5, top pin 3.501, bottom thrust 3.502, bottom pin - in; 2 not taken"
    )
    assert fact_text(rules, "odds.anything", 35.0) == "Odds: anything: 35 percent"


def test_every_finding_of_the_shipped_rules_can_be_told_known_or_not(shipped):
    import random

    from howdeep.knowledge.condition_names import fact_shapes

    dice, shapes = random.Random(3), sorted(fact_shapes(shipped).items())
    for share in (0.0, 0.5, 1.0):
        values = {}
        for name, shape in shapes:

            def one(words=shape.words):
                return dice.choice(words) if words else float(dice.choice((0, 5, 20, 90)))

            if not shape.grid and dice.random() < share:
                values[name] = (one(), None, one()) if shape.each else one()
        facts = Facts(values, {}, ())
        conclusions = conclude(finding_rules(shipped), values)
        for finding, truth in conclusions.findings.items():
            tree, other = chain(shipped, conclusions, facts, finding), why_not(shipped, conclusions, facts, finding)
            assert tree.text.endswith(truth.value)
            leaves = [leaf for leaf in tree.leaves() if "told above" not in leaf.text]
            if truth is Truth.UNKNOWN:
                assert all(
                    leaf.subject not in values or isinstance(values[leaf.subject], tuple)
                    for leaf in leaves
                    if leaf.kind == "unknown" and leaf.subject not in shipped.findings
                )
                assert any(leaf.kind == "unknown" for leaf in other.leaves())
            else:
                assert all(leaf.subject in values for leaf in leaves)
