"""A judged reading is data: what the rules declare is carried out, and what does not hold is named at its place."""

import textwrap

import pytest

from howdeep.errors import HowdeepError
from howdeep.knowledge.load import load
from howdeep.knowledge.where import shipped_rules
from howdeep.model.engine import Fit
from howdeep.model.truth import Truth
from howdeep.readings import reduce
from tests.bench_readings import ROOT, engine, facts, job

SEEDED = ROOT / "tests" / "seeded_rules"
OBSERVED = """
crankcase_pressure: {title: Crankcase pressure, ask: Read the water gauge at the dipstick tube., moment: test,
  group: breathing, kind: number, unit: inH2O, range: [-5, 60], error: 0.25, minutes: 5,
  procedure: Seal the breather and read a water gauge on the dipstick tube at working speed.,
  source: [{standing: judgement}]%s}
"""
JUDGED = """
crankcase.pressure_verdict:
  title: Crankcase pressure against its limits
  kind: choice
  answers: [good, usable, beyond, too_close]
  worsens: [good, usable, beyond]
  sound: [good, usable]
  named: [too_close, beyond]
  judge: {of: crankcase_pressure, limits: {high: crankcase_pressure_new, wear: crankcase_pressure_most}%s}
  limits:
    crankcase_pressure_new: {title: That of a sound engine, value: 1, unit: inH2O, source: [{standing: judgement}]}
    crankcase_pressure_most: {title: Most crankcase pressure, value: 3, unit: inH2O, source: [{standing: judgement}]}
"""


def laid_over(tmp_path, **files):
    folder = tmp_path / "shop"
    folder.mkdir()
    files.setdefault("gauges", (shipped_rules() / "gauges.yaml").read_text(encoding="utf-8"))
    for kind, text in files.items():
        (folder / f"{kind}.yaml").write_text(textwrap.dedent(text).lstrip(), encoding="utf-8")
    return folder


def base(tmp_path, judge="", observed=""):
    return load([SEEDED, laid_over(tmp_path, observations=OBSERVED % observed, reduced=JUDGED % judge)])


def judged(knowledge, pressure):
    """The facts of an engine whose crankcase pressure was read; a shop's own observation is not in the bench's base."""
    plain = job(engine(), {})
    with_reading = type(plain)(
        **{name: getattr(plain, name) for name in plain.__dataclass_fields__}
        | {"values": {"crankcase_pressure": pressure}}
    )
    return reduce(with_reading, knowledge, lambda name: Truth.PRESENT)


def test_a_shop_adds_a_judged_reading_without_a_function(tmp_path):
    knowledge = base(tmp_path)
    words = [judged(knowledge, value).values["crankcase.pressure_verdict"] for value in (0.5, 2.0, 3.1, 4.0)]
    assert words == ["good", "usable", "too_close", "beyond"]
    found = judged(knowledge, 4.0).reductions["crankcase.pressure_verdict"]
    assert found.how == "4 inH2O, new 1 inH2O, limit 3 inH2O, beyond"
    assert found.basis == "general limit crankcase_pressure_most"
    assert any(item.kind == "too close to call" for item in judged(knowledge, 3.1).remarks)
    assert knowledge.reduced["crankcase.pressure_verdict"].taken_from == ("crankcase_pressure",)
    assert knowledge.places["limits/crankcase_pressure_most"][0].endswith("reduced.yaml")


def test_a_word_of_its_own_comes_out_in_its_band(tmp_path):
    judge = ", words: {usable: good, beyond: too_close}"
    knowledge = base(tmp_path, judge)
    assert [judged(knowledge, value).values["crankcase.pressure_verdict"] for value in (2.0, 4.0)] == [
        "good",
        "too_close",
    ]


def test_a_reading_is_believed_up_to_what_its_observation_says(tmp_path):
    believed = ", believed: {most: crankcase_pressure_most, usual: [0.2, 2], told: is more than any crankcase holds}"
    found = judged(base(tmp_path, observed=believed), 27.68)  # 1 psi written down as inches of water would be 27.68
    assert "crankcase.pressure_verdict" not in found.values
    (remark,) = [item for item in found.remarks if item.kind == "questioned"]
    assert remark.text.startswith("27.68 inH2O is more than any crankcase holds")


FAULTS = [
    # (what the judge says more, what is told, the right spelling)
    (", sheet: [endplay]", "there is no field 'endplay' in an engine sheet", "end_play"),
    (", gauge: dial_guage", "there is no gauge 'dial_guage'", "dial_gauge"),
    (", gauge: dial_gauge", "reads a length, and this is a pressure", ""),
    (", words: {beyond: beyon}", "'beyon' is not one of the answers", "beyond"),
    (", words: {beyonnd: beyond}", "'beyonnd'", "beyond"),
    (", sheet: [valve_margin]", "the field 'valve_margin' of the sheet is a length, and this is a pressure", ""),
    (", per: bore", "none of its limits is counted per inch of 'bore'", "leave it out"),
    (", wors: low", "'wors' is not a field here", "worse"),
    (", worse: lower", "'lower' is not one of", "low"),
]


@pytest.mark.parametrize(("judge", "message", "hint"), FAULTS)
def test_a_judge_that_does_not_hold_is_named_at_its_place(tmp_path, judge, message, hint):
    with pytest.raises(HowdeepError) as error:
        base(tmp_path, judge)
    (fault,) = error.value.faults
    assert message in fault.message and hint in fault.hint
    assert fault.file.endswith("reduced.yaml") and fault.line == 8 and fault.column > 3


@pytest.mark.parametrize(
    ("kind", "text", "message", "hint"),
    [
        ("observations", OBSERVED.replace(" error: 0.25,", "") % "", "stand off the truth", "add a gauge"),
        (
            "reduced",
            JUDGED.replace("of: crankcase_pressure,", "of: crankcase_presure,") % "",
            "no observation",
            "crankcase_pressure",
        ),
        (
            "reduced",
            JUDGED.replace("wear: crankcase_pressure_most}", "wear: crankcase_pressure_mst}") % "",
            "no limit",
            "crankcase_pressure_most",
        ),
        ("reduced", JUDGED.replace("unit: inH2O, source", "unit: in, source") % "", "is a length", ""),
        (
            "reduced",
            JUDGED.replace("answers: [good, usable, beyond, too_close]", "answers: [good, usable, beyond]").replace(
                "named: [too_close, beyond]", "named: [beyond]"
            )
            % "",
            "'too_close' can come out",
            "add it",
        ),
        (
            "gauges",
            "water: {title: Water gauge, error: 0, unit: inH2O, source: [{standing: judgement}]}",
            "no error",
            "above 0",
        ),
        ("computed", "bores: {title: Bores, by: bore, readings: {size: bore_size}}", "no function 'bore'", "bores"),
        (
            "computed",
            "leakage: {title: Loss, by: leakage, readings: {loss: smoke}, facts: {percent: squeeze.spread}}",
            "'smoke' is no such reading",
            "",
        ),
        (
            "computed",
            "bores: {title: Bores, by: bores, readings: {sise: bore_size}, gauges: {gauge: bore_gauge}}",
            "takes no readings 'sise'",
            "size",
        ),
    ],
)
def test_what_it_rests_on_is_named_where_it_is_missing(tmp_path, kind, text, message, hint):
    files = {"observations": OBSERVED % "", "reduced": JUDGED % ""} | {kind: text}
    with pytest.raises(HowdeepError) as error:
        load([SEEDED, laid_over(tmp_path, **files)])
    told = [fault for fault in error.value.faults if message in fault.message and hint in fault.hint]
    assert told and told[0].file.endswith(f"{kind}.yaml") and told[0].line > 0, str(error.value)


GRADED = """
crankcase.grade:
  title: Crankcase pressure in a word
  kind: choice
  answers: [good, high]
  worsens: [good, high]
  grade:
    of: crankcase_pressure
    marks: {most: {limit: crankcase_most}, room: {limit: crankcase_room}}
    steps: [{word: good, up_to: %s}, {word: high}]
    told: "{reading}; good up to {most}%s"
  limits:
    crankcase_most: {title: Most, value: 2, unit: inH2O, source: [{standing: judgement}]}
    crankcase_room: {title: Room, value: 0.5, unit: inH2O, source: [{standing: judgement}]}
"""


def test_a_reading_is_graded_between_marks(tmp_path):
    text = GRADED % ("most + room", "")
    knowledge = load([SEEDED, laid_over(tmp_path, observations=OBSERVED % "", reduced=text)])
    assert [judged(knowledge, value).values["crankcase.grade"] for value in (2.5, 2.6)] == ["good", "high"]
    assert judged(knowledge, 2.6).reductions["crankcase.grade"].how == "2.6 inH2O; good up to 2 inH2O"


@pytest.mark.parametrize(
    ("edge", "more", "message", "hint"),
    [
        ("mots", "", "no mark 'mots'", "most"),
        ("most + rom", "", "'rom'", "room"),
        ("most", " {rom}", "'{rom}' stands for nothing", "room"),
        ("most", " {room:.9f}", "stands alone", "write {room}"),
    ],
)
def test_a_grade_that_does_not_hold_is_named_at_its_place(tmp_path, edge, more, message, hint):
    text = GRADED % (edge, more)
    with pytest.raises(HowdeepError) as error:
        load([SEEDED, laid_over(tmp_path, observations=OBSERVED % "", reduced=text)])
    (fault,) = error.value.faults
    assert message in fault.message and hint in fault.hint and fault.line in (9, 10)


def test_the_sheet_goes_before_the_general_limits_and_never_stands_beside_one_of_them():
    both = engine(ring_side=Fit("0.001 in", "0.002 in"))
    found = facts(both, {"ring_side_clearance": [0.0022, None, None, None]}).reductions["ring.side_verdict"]
    assert "new 0.0010 in to 0.0020 in" in found.how and found.basis.startswith("engine sheet")
