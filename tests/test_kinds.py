"""Kinds of engine: figures with their range and source, the kind that fits what is known, what a job may say."""

import dataclasses
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from howdeep.errors import HowdeepError
from howdeep.files.plain_yaml import dump
from howdeep.files.strict_yaml import parse, read
from howdeep.job.read import open_text
from howdeep.knowledge.build_words import WORDS, word_for, words_in
from howdeep.knowledge.described import contradictions_of, described_by, plain_described
from howdeep.knowledge.engines import sheet_ids
from howdeep.knowledge.fill_in import MAIN, figures_for, resolve, years_of
from howdeep.knowledge.kinds import amount, check_kind, load_kinds
from howdeep.knowledge.where import shipped_rules
from howdeep.model.engine import StandIn
from howdeep.model.kind import Described
from howdeep.rulecheck.kinds import kind_faults
from howdeep.rulecheck.subject import read_sheets

KINDS = load_kinds([shipped_rules()])
WANTED = (
    "side-valve-petrol-four",
    "overhead-valve-petrol-four",
    "flathead-six",
    "light-air-cooled-single",
    "farm-diesel-four",
    "marine-diesel-four",
    "hopper-cooled-single",
    "small-diesel-single",
)


def opened(shop, engine, rest=""):
    text = f"howdeep_job: 1\nengine: {engine}\n{rest}"
    return open_text(text, "job.yaml", Path("."), shop.knowledge, shop.folders)


def faults_of(shop, engine, rest=""):
    with pytest.raises(HowdeepError) as caught:
        opened(shop, engine, rest)
    return [(fault.line, fault.message, fault.hint) for fault in caught.value.faults]


# --- the kinds themselves ---


def test_the_kinds_a_shop_meets_are_there_and_none_has_the_name_of_a_sheet():
    assert set(WANTED) <= KINDS.keys()
    assert not KINDS.keys() & set(sheet_ids([shipped_rules()]))
    assert len({kind.place for kind in KINDS.values()}) == len(KINDS)


def test_every_figure_has_a_source_and_passes_the_guard_of_engine_sheets_with_every_choice():
    assert kind_faults([shipped_rules()]) == ((), ())
    engines, faults, questions = read_sheets([shipped_rules()])
    assert not faults and not questions and not engines.keys() & KINDS.keys()


@pytest.mark.parametrize("name", WANTED)
def test_makers_differ_in_every_figure_and_the_order_of_new_and_worn_holds(name):
    """The wear limit of a clearance lies past the new band, at the figures that stand in; makers differ in each."""
    kind = KINDS[name]
    for build in (
        kind.build,
        *(dataclasses.replace(kind.build, **{variant.field: variant.word}) for variant in kind.variants),
    ):
        figures = figures_for(kind, build)
        for path, figure in figures.items():
            least, value, most = (amount(path, text) for text in (figure.least, figure.value, figure.most))
            assert least < most and least <= value <= most, path
            assert figure.source and all(source.standing for source in figure.source), path
            if path.endswith(".wear") and path.replace(".wear", ".high") in figures:
                assert value > amount(path, figures[path.replace(".wear", ".high")].value), path


@pytest.mark.parametrize(
    ("engine", "kind", "low", "high"),
    [
        # a small petrol four of 120 to 125 psi (TM 10-3930-618-20, para 2-12), low end not above, high end not below
        ("{fuel: petrol, layout: overhead_valve, use: farm}", "overhead-valve-petrol-four", 120, 125),
        # a diesel family of 350 psi new and 300 used, at 250 rpm (TM 5-2420-230-24-2, p. 14-22)
        ("{fuel: diesel, use: farm}", "farm-diesel-four", 350, 350),
    ],
)
def test_published_readings_of_sound_engines_lie_in_the_band_of_their_kind(shop, engine, kind, low, high):
    job = opened(shop, engine)
    fit = job.engine.cranking_compression
    assert job.general.kind == kind
    assert amount("cranking_compression.low", fit.low) <= low <= high <= amount("cranking_compression.high", fit.high)


@pytest.mark.parametrize(
    ("name", "path", "printed"),
    [
        # TM 9-6115-464-34 Table 1-1 (one diesel): ring gap worn 0.040 in, stems 0.005 and 0.006 in
        ("farm-diesel-four", "ring_gap.wear", 0.040),
        ("farm-diesel-four", "valve_stem_inlet.wear", 0.005),
        ("farm-diesel-four", "valve_stem_exhaust.wear", 0.006),
        # TM 5-3810-206-35 p. 3-73 (one diesel): guides 0.007 in, mains 0.008 in
        ("farm-diesel-four", "valve_stem_inlet.wear", 0.007),
        ("farm-diesel-four", "mains.clearance.wear", 0.008),
        # TM 5-6115-584-34 Table 1-2 (one small diesel): skirt 0.010 in, ring side 0.010 in
        ("small-diesel-single", "piston_clearance.wear", 0.010),
        ("small-diesel-single", "ring_side.wear", 0.010),
        # TM 5-4310-276-14 Table 1-1 (one small air-cooled engine): stem 0.0045 in, lash 0.004 to 0.007 in
        ("light-air-cooled-single", "valve_stem_inlet.wear", 0.0045),
        ("light-air-cooled-single", "lash_inlet", 0.004),
        ("light-air-cooled-single", "lash_inlet", 0.007),
        # TM 10-3930-653-14&P (one petrol four): ring gap 0.039 in, guides 0.0039 and 0.0059 in, bore wear 0.0079 in
        ("overhead-valve-petrol-four", "ring_gap.wear", 0.039),
        ("overhead-valve-petrol-four", "valve_stem_inlet.wear", 0.0039),
        ("overhead-valve-petrol-four", "valve_stem_exhaust.wear", 0.0059),
        ("overhead-valve-petrol-four", "bore.wear", 0.0079),
        # TM 10-3930-623-12 (one petrol engine): oil pressure 7 psi at idle, 20 psi governed
        ("overhead-valve-petrol-four", "oil_pressure_idle.wear", 7),
        ("overhead-valve-petrol-four", "oil_pressure_speed.wear", 20),
    ],
)
def test_printed_limits_lie_between_the_least_and_the_most_of_their_kind(name, path, printed):
    figure = figures_for(KINDS[name], KINDS[name].build)[path]
    assert amount(path, figure.least) - 1e-9 <= printed <= amount(path, figure.most) + 1e-9


def test_a_kind_with_slips_is_refused_with_all_of_them_at_their_places():
    plain = read(shipped_rules() / "kinds" / "flathead-six.yaml").value
    plain["figures"]["ring_gap.wear"] = {
        "value": "0.04 in",
        "least": "0.05 in",
        "most": "0.06 in",
        "source": [{"standing": "judgement"}],
    }
    plain["figures"]["ring_gapp.wear"] = plain["figures"]["lash_inlet"]
    plain["figures"]["lash_inlet"] = {
        "value": "0.01",
        "least": "0.008 in",
        "most": "0.02 in",
        "source": [{"standing": "judgement"}],
    }
    plain["choices"]["bearings"] = ["babbitt", "insert"]
    plain["eras"] = [{"field": "volts", "word": "24", "first": 1950}]
    with pytest.raises(HowdeepError) as caught:
        check_kind(parse(dump(plain), "kind.yaml"))
    text = str(caught.value)
    for part in (
        "does not lie from '0.05 in' to '0.06 in'",
        "'ring_gapp.wear' is no figure",
        "did you mean ring_gap.wear",
        "'0.01' has no unit",
        "'insert' is no word of 'bearings'",
        "volts: 24",
    ):
        assert part in text, part
    assert all(fault.line > 1 for fault in caught.value.faults)


def test_lash_is_set_hot_or_cold_and_no_other_word_passes_into_the_engine():
    plain = read(shipped_rules() / "kinds" / "flathead-six.yaml").value
    with pytest.raises(HowdeepError) as caught:
        check_kind(parse(dump({**plain, "lash_state": "warm"}), "kind.yaml"))
    (fault,) = caught.value.faults
    assert fault.message == "'warm' is not one of hot or cold" and fault.line > 1


# --- words ---


@pytest.mark.parametrize(
    ("field", "typed", "word"),
    [
        ("layout", "OHV", "overhead_valve"),
        ("layout", "flat-head", "side_valve"),
        ("fuel", "gasoline", "petrol"),
        ("bearings", "shells", "inserts"),
        ("bearings", "white metal", "babbitt"),
        ("ignition", "coil", "battery"),
        ("cylinders", "Six", "6"),
        ("use", "boat", "marine"),
        ("cooling", "radiator", "pump"),
        ("cold_aid", "glow plugs", "glow_plugs"),
        ("fuel", "don't know", "unknown"),
        ("fuel", "?", "unknown"),
        ("electric_start", True, "yes"),
        ("fuel", "steam", None),
        ("cylinders", "8", None),
    ],
)
def test_words_are_taken_as_people_write_them(field, typed, word):
    assert word_for(field, typed) == word


def test_every_word_of_the_build_means_itself():
    for field, words in WORDS.items():
        for word in words:
            assert word_for(field, word) == word, (field, word)


def test_a_phrase_gives_every_point_it_names_and_the_rest_is_told():
    assert words_in("Petrol four, side valve; TRACTOR with a radiator", MAIN) == (
        {"fuel": "petrol", "cylinders": "4", "layout": "side_valve", "use": "farm", "cooling": "pump"},
        ["with", "a"],
    )
    found, rest = described_by("gasoline six flathead 1938 purple", KINDS)
    assert (found.year, dict(found.build), rest) == (
        "1938",
        {"fuel": "petrol", "layout": "side_valve", "cylinders": "6"},
        ["purple"],
    )
    assert described_by("farm diesel four", KINDS)[0] == Described("farm-diesel-four")
    assert described_by("unknown", KINDS)[0] == Described()
    assert described_by("blue", KINDS)[0] is None


@pytest.mark.parametrize(
    ("text", "years"),
    [
        ("1936", (1936, 1936)),
        ("about 1936", (1936, 1936)),
        ("1930s", (1930, 1939)),
        ("1935-40", (1935, 1940)),
        ("1935 to 1940", (1935, 1940)),
        ("the 1950s", (1950, 1959)),
        ("1700", None),
        ("36", None),
        ("1940-1935", None),
        ("19999", None),
    ],
)
def test_years_are_read_as_people_write_them(text, years):
    assert years_of(text) == years


# --- what a job may say ---


def test_unknown_a_kind_and_a_description_each_open_and_say_what_stands_in(shop):
    bare, kind, told = (
        opened(shop, "unknown"),
        opened(shop, "farm-diesel-four"),
        opened(shop, "{fuel: diesel, cylinders: two, use: boat, year: 1970s}"),
    )
    assert "Unknown engine" in bare.engine.name and bare.general.described == Described()
    assert kind.general.kind == "farm-diesel-four" and kind.job.engine == "farm-diesel-four"
    assert opened(shop, "{kind: Farm diesel four}").engine == kind.engine
    assert told.job.engine == "unknown" and told.engine.build.cylinders == 2
    build = told.engine.build
    assert (build.use, build.ignition, build.pan_in_frame) == ("marine", "none", "no")
    assert isinstance(kind.engine.ring_gap.wear, StandIn)
    assert kind.engine.ring_gap.wear.basis == "general limit farm-diesel-four ring_gap.wear"


def test_a_sheet_is_read_as_before_and_goes_before_a_kind(shop):
    job = opened(shop, "tarn-30")
    assert job.general is None and not isinstance(job.engine.ring_gap.wear, StandIn)


def test_the_years_settle_poured_or_shells_and_six_or_twelve_volts(shop):
    old, new = (
        opened(shop, f"{{fuel: petrol, layout: sv, cylinders: 4, year: {year}}}").engine.build for year in (1931, 1946)
    )
    assert (old.bearings, new.bearings) == ("babbitt", "inserts")
    early, late = (
        opened(shop, f"{{fuel: petrol, layout: ohv, use: farm, year: {year}}}").engine.build.volts
        for year in (1948, 1965)
    )
    assert (early, late) == ("6", "12")
    said = opened(shop, "{fuel: petrol, layout: sv, cylinders: 4, year: 1931, bearings: shells}").engine.build
    assert said.bearings == "inserts"


def test_every_fault_comes_at_once_with_the_words_the_purpose_and_the_nearest(shop):
    faults = faults_of(
        shop,
        "{fuel: desel, cylinders: 7, layout: side_valv, colour: red, year: long ago, "
        "kind: farm-disel-four, use: [farm]}",
        "answers: {runs: yess}\n",
    )
    text = "\n".join(f"{message} ({hint})" for _, message, hint in faults)
    for part in (
        "'desel' is no word for 'fuel' (what it burns",
        "did you mean diesel? it can be petrol, diesel or unknown",
        "'7' is no word for 'cylinders'",
        "did you mean side_valve",
        "'colour' is nothing that is asked",
        "1936, 1930s",
        "did you mean farm-diesel-four",
        "'use' is one word here",
        "'yess' is no answer to",
    ):
        assert part in text, part
    assert "instance of" not in text and "Described" not in text
    assert {line for line, *_ in faults} == {2, 3}


@pytest.mark.parametrize(
    ("engine", "said"),
    [
        ("{fuel: diesel, ignition: magneto}", "a diesel has no ignition"),
        ("{fuel: diesel, layout: flathead}", "valves in the head"),
        ("{fuel: petrol, cold_aid: glow plugs}", "belongs to a diesel"),
        ("{kind: farm-diesel-four, fuel: petrol}", "contradicts the kind"),
        ("{ignition: magneto, cold_aid: glow plugs}", "belongs to a diesel"),
        ("{cooling: air, bores: wet sleeves}", "no water round its sleeves"),
    ],
)
def test_what_cannot_stand_together_is_refused_with_what_to_take_out(shop, engine, said):
    ((_, message, hint),) = faults_of(shop, engine)
    assert said in message and hint


def test_a_wrong_engine_gets_the_nearest_names_of_sheets_and_kinds(shop):
    ((_, message, hint),) = faults_of(shop, "farm-disel-four")
    assert "no engine sheet" in message and "farm-diesel-four" in hint
    ((_, _, hint),) = faults_of(shop, "unknwn")
    assert "unknown" in hint


def test_readings_of_six_cylinders_are_taken_where_nobody_said_how_many(shop):
    six = ", ".join(f"{number}: 80 psi" for number in range(1, 7))
    rest = f"readings: {{compression_dry: {{{six}}}}}\n"
    assert opened(shop, "unknown", rest).engine.build.cylinders == 6
    assert "no cylinder 5 on this engine" in faults_of(shop, "{cylinders: 4}", rest)[0][1]
    listed = opened(shop, "unknown", "readings: {compression_dry: [80 psi, 82 psi]}\n")
    assert listed.engine.build.cylinders == 2


@st.composite
def descriptions(draw):
    """What a job may say: any fields, any of their words, or 'unknown', as far as they can stand together."""
    kind = draw(st.sampled_from(["", "", *KINDS]))
    fields = draw(st.sets(st.sampled_from([*WORDS, "cylinders"]), max_size=7))
    build = {
        name: draw(st.sampled_from([*(WORDS.get(name) or ("1", "2", "3", "4", "5", "6")), "unknown"]))
        for name in sorted(fields)
    }
    while wrong := next(contradictions_of(build, KINDS.get(kind)), None):
        del build[wrong[0]]
    return Described(
        kind,
        draw(st.sampled_from(["", "unknown", "1925", "1930s", "1950-1960", "1984"])),
        tuple((name, build[name]) for name in (*WORDS, "cylinders") if name in build),
    )


@settings(max_examples=150, deadline=None)
@given(descriptions())
def test_whatever_is_said_stands_and_the_rest_is_filled_in_so_that_it_can_be(described):
    filled = resolve(KINDS, described)
    build = filled.engine.build
    for name, word in described.build:
        if word != "unknown":
            assert str(getattr(build, name)) == word, name
    assert build.fuel != "diesel" or (build.ignition, build.carburettor) == ("none", "none")
    assert build.fuel != "petrol" or build.ignition != "none"
    assert sorted(filled.engine.firing_order) == list(range(1, build.cylinders + 1))
    assert filled == resolve(dict(reversed(KINDS.items())), described)  # in whatever order the kinds were read
    assumed = dict(filled.general.assumed)
    assert not assumed.keys() & {name for name, word in described.build if word != "unknown"}
    assert plain_described(described) == plain_described(Described(described.kind, described.year, described.build))
