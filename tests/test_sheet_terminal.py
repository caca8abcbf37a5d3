"""A sheet made in a pseudo-terminal of 80 by 24: ten questions, groups, slips, stopping and going on."""

import re
import signal
import sys
from pathlib import Path

import pexpect
import pytest

from howdeep.files.strict_yaml import read
from howdeep.knowledge.engines import load_sheet
from howdeep.knowledge.where import shipped_rules

from .commands import in_a_terminal

sys.path.insert(0, str(Path(__file__).resolve().parents[1] / "bench"))
from newcomers import replay

PROMPT = re.compile(r"(Unit of the \w+ in this group[^\n]*: |Which \([^\n]*: |Group \([^\n]*: |\n> )\Z")
TEN = ["gasoline", "4", "flathead", "tractor", "3 7/16 in", "3.9 in", "parent bores", "shells", "thermosyphon", "coil"]


class Session:
    """One run of `howdeep engine new`, answered line by line."""

    def __init__(self, folder, name="Ferrier 3", **env):
        self.folder, self.path = folder, folder / "engines" / "ferrier-3.yaml"
        self.child = in_a_terminal("engine", "new", name, cwd=folder, **env)
        self.wait()

    def wait(self):
        self.child.expect(PROMPT)
        self.prompt = self.child.match.group(1)
        self.screen = self.child.before

    def type(self, *lines):
        """Answer; returns what was said to the last line, with single spaces."""
        for line in lines:
            self.child.sendline(line)
            self.wait()
        return " ".join(self.screen.split())

    def leave(self):
        self.child.sendline("q")
        self.child.expect(pexpect.EOF)
        return " ".join(self.child.before.split())

    def plain(self):
        return read(self.path).value


@pytest.fixture
def begun(tmp_path):
    session = Session(tmp_path)
    session.type(*TEN)
    return session


def test_ten_questions_make_a_sheet_that_loads_and_says_what_is_assumed(begun):
    assert begun.prompt.startswith("Group")
    assert "can be used now" in begun.screen
    said = begun.leave()
    assert "engines/ferrier-3.yaml" in said and "engine: ferrier-3" in said
    sheet = load_sheet(begun.path)
    assert sheet.questions == ()
    build = sheet.engine.build
    assert (
        build.fuel,
        build.cylinders,
        build.layout,
        build.use,
        build.bores,
        build.bearings,
        build.cooling,
        build.ignition,
    ) == ("petrol", 4, "side_valve", "farm", "in_block", "inserts", "thermosiphon", "battery")
    assert sheet.engine.bore.low == "3 7/16 in" and sheet.engine.stroke == "3.9 in"
    assert "build.guides" in sheet.engine.assumed and "firing_order" in sheet.engine.assumed
    assert not {"build.fuel", "build.bearings", "build.cooling"} & set(sheet.engine.assumed)


def test_every_answer_is_on_disk_before_the_next_question_and_a_killed_session_goes_on(tmp_path):
    session = Session(tmp_path)
    for count, line in enumerate(TEN[:6], 1):
        session.type(line)
        plain = session.plain()
        assert f"{count + 1} of 10" in session.screen
        assert load_sheet(session.path).engine.name == "Ferrier 3"
    assert plain["build"]["layout"] == "side_valve" and plain["stroke"] == "3.9 in"
    session.child.kill(signal.SIGKILL)
    session.child.wait()
    again = Session(tmp_path)
    assert "Going on" in again.screen and "7 of 10" in " ".join(again.screen.split())
    assert "pistons run in" in again.screen
    again.leave()
    assert again.plain() == plain


def test_enter_leaves_a_blank_and_the_unit_of_a_group_is_asked_once(begun):
    begun.type("4", "")  # bores and pistons; the skirt clearance is not printed
    assert begun.prompt == "\n> "
    begun.child.sendline("3.4340")
    begun.child.expect("Unit of the lengths")
    begun.child.sendline("in")
    begun.wait()
    said = begun.type(".020, .040", "5 thou", ".003", ".013-.019, limit .040")
    assert "Unit of" not in said and "0.013 in to 0.019 in, limit 0.040 in" in said
    plain = begun.plain()
    assert "piston_clearance" not in plain and plain["bore_taper"] == "0.005 in"
    assert plain["ring_gap"] == {"low": "0.013 in", "high": "0.019 in", "wear": "0.040 in"}


def test_the_unit_of_a_bare_flow_is_asked_too(begun):
    begun.type("3 all", *[""] * 8, "60")
    assert begun.prompt.startswith("Unit of the flows")
    assert "60 L/min" in begun.type("L/min")
    assert begun.plain()["blow_by"] == "60 L/min"


def test_a_ten_fold_slip_is_questioned_at_once_and_the_likely_figure_offered(begun):
    said = begun.type("6", "0.13 in cold")
    assert begun.prompt.startswith("Which")
    assert "valve clearance is usually" in said.lower() and "0.013 in" in said and "decimal point" in said
    begun.type(re.search(r"(\d) 0\.013 in: the decimal point", said).group(1))
    assert begun.plain()["lash_inlet"] == "0.013 in" and begun.plain()["lash_state"] == "cold"


@pytest.mark.parametrize(
    ("group", "skip", "typed", "wanted", "value"),
    [("6", 0, "13 in", "thou was meant", "0.013 in"), ("6", 0, "0.3 in", "mm was meant", "0.3 mm")],
)
def test_a_wrong_unit_is_named(begun, group, skip, typed, wanted, value):
    said = begun.type(group, *[""] * skip, typed)
    assert wanted in said
    number = re.search(rf"(\d) {re.escape(value)}: {wanted}", said).group(1)
    begun.type(number)
    assert begun.plain()["lash_inlet"] == value


def test_a_radius_for_a_diameter_and_millimetres_for_inches_are_named_at_the_stroke_and_the_journal(tmp_path):
    session = Session(tmp_path)
    said = session.type(*TEN[:5], "99 in")
    assert "never that" in said and "99 mm: mm was meant" in said and "k =" not in session.prompt
    session.type("")  # typed again
    said = session.type("1.95 in")
    assert "3.9 in: a radius was typed" in said
    session.type("1", *TEN[6:])
    assert session.plain()["stroke"] == "3.9 in"
    said = session.type("5", "0.9685-0.9690 in")
    assert "radius" in said and "1.937-1.938 in" in said


def test_an_odd_figure_that_is_right_is_kept_and_not_questioned_again(begun):
    begun.type("6", "0.060 in")
    begun.type("k")
    plain = begun.plain()
    assert plain["lash_inlet"] == "0.060 in" and "lash_inlet" in plain["sure"]
    assert load_sheet(begun.path).questions == ()
    begun.type("b", "0.013 in")  # back, and set right: the word about it goes with it
    assert begun.plain()["lash_inlet"] == "0.013 in" and "sure" not in begun.plain()


def test_what_cannot_be_read_is_asked_again_with_an_example_and_nothing_is_saved(begun):
    before = begun.plain()
    said = begun.type("4", "tight")
    assert "no unit or word known" in said and "Type it like" in said and begun.prompt == "\n> "
    assert begun.plain() == before
    said = begun.type("0.0025-0.004 in, limit 0.003 in")
    assert begun.prompt.startswith("Which") and "must stay below it" in said
    assert begun.plain() == before


def test_back_blank_and_groups(begun):
    begun.type("3", "6.5 to 1")
    assert begun.plain()["compression_ratio"] == 6.5
    assert "Compression ratio" in begun.type("b")
    begun.type("x")
    assert "compression_ratio" not in begun.plain()
    begun.type("g")
    assert begun.prompt.startswith("Group")
    assert "That is no group" in begun.type("77")
    said = begun.type("1 all")
    assert "Now: petrol" in said


def test_b_leads_back_from_a_unit_and_from_a_slip_to_the_figure(begun):
    before = begun.plain()
    begun.type("4", "")
    begun.child.sendline("3.4340")
    begun.child.expect("Unit of the lengths")
    assert "type the figure again" in begun.type("b") and begun.prompt == "\n> "
    begun.type("g", "6", "0.13 in")
    assert begun.prompt.startswith("Which")
    begun.type("b")
    assert begun.prompt == "\n> " and begun.plain() == before


def test_what_such_an_engine_has_not_is_not_asked(tmp_path):
    session = Session(tmp_path)
    session.type("derv", "4", "ohv", "boat", "85 mm", "100 mm", "dry liners", "shells", "sea water")
    assert "start cold" in session.screen
    said = session.type("glow plugs", "9")
    assert session.prompt == "\n> "
    for _ in range(20):
        assert "Spark plugs" not in said
        if session.prompt.startswith("Group"):
            break
        said = session.type("")
    assert session.plain()["build"]["ignition"] == "none"


def test_a_file_changed_meanwhile_keeps_both_changes(begun):
    text = begun.path.read_text() + "note: seen by somebody else\n"
    begun.path.write_text(text)
    said = begun.type("3", "6.5 to 1")
    assert "changed by someone else meanwhile" in said
    assert begun.plain()["note"] == "seen by somebody else" and begun.plain()["compression_ratio"] == 6.5


def test_comments_and_layout_of_a_sheet_written_by_hand_stay(tmp_path):
    folder = tmp_path / "engines"
    folder.mkdir()
    shipped = (shipped_rules() / "engines" / "pell-2.yaml").read_text()
    (folder / "ferrier-3.yaml").write_text("# my own\n" + shipped.replace("end_play", "end_play"))
    session = Session(tmp_path)
    session.type("4", "0.005-0.007 in")
    text = session.path.read_text()
    assert text.startswith("# my own\n") and "crankpins:\n  size: {low: 1.6230 in, high: 1.6240 in}" in text
    assert session.plain()["piston_clearance"] == {"low": "0.005 in", "high": "0.007 in"}


def test_the_shops_folder_takes_the_sheet_and_a_shipped_name_is_not_taken(tmp_path):
    shop = tmp_path / "shop"
    shop.mkdir()
    session = Session(tmp_path, HOWDEEP_RULES=str(shop))
    session.type("petrol")
    assert (shop / "engines" / "ferrier-3.yaml").exists()
    session.leave()
    child = in_a_terminal("engine", "new", "skerry 6", cwd=tmp_path)
    child.expect(pexpect.EOF)
    assert "comes with the program" in child.before and not (tmp_path / "engines").exists()


def test_no_line_is_wider_than_the_terminal(begun):
    begun.type("2", "", "6", "", "9")
    wide = [line for line in begun.screen.replace("\r", "").split("\n") if len(line) > 80]
    assert not wide


def test_a_manuals_page_of_sixty_figures_is_taken_as_printed_without_one_refused(tmp_path):
    count, checked, card = replay(tmp_path)
    assert count.refused == [] and count.figures >= 60
    assert "sound" in checked
    plain = read(tmp_path / "engines" / "ferrier-3.yaml").value
    for path, value in {
        "bore.low": "3 7/16 in",
        "stroke": "4 1/4 in",
        "build.bores": "wet_sleeves",
        "compression_ratio": 6.5,
        "cranking_compression.wear": "95 psi",
        "cranking_rpm": "185 rpm",
        "piston_clearance.wear": "0.009 in",
        "bore_taper": "0.005 in",
        "sleeve_protrusion.high": "0.005 in",
        "ring_side.low": "0.0015 in",
        "crankpins.size.low": "1.937 in",
        "crankpins.clearance.wear": "0.0045 in",
        "crankpins.width": "1 1/2 in",
        "mains.undersizes": ["0.010 in", "0.020 in", "0.030 in"],
        "mains.count": 3,
        "end_play.wear": "0.35 mm",
        "lash_inlet": "0.013 in",
        "lash_exhaust": "0.015 in",
        "lash_state": "cold",
        "valve_margin": "1/32 in",
        "spring_load.low": "36 lbf",
        "spring_length": "2 1/8 in",
        "cam_lift.wear": "0.276 in",
        "deck_flatness": "0.1 mm",
        "oil_pressure_speed.low": "20 psi",
        "cap_pressure": "7 psi",
        "firing_order": [1, 3, 4, 2],
        "plug_gap.low": "0.025 in",
        "points_gap.high": "0.55 mm",
        "torques.head.stages": ["25 ft-lb", "45 ft-lb", "70 ft-lb"],
        "torques.head.least": "65 ft-lb",
        "torques.flywheel.value": "98.07 Nm",
        "torques.pan.value": "144 in-lb",
    }.items():
        here = plain
        for part in path.split("."):
            here = here[part]
        assert here == value, path
    assert max(map(len, card.splitlines())) <= 80


def test_a_continental_page_in_millimetres_and_metre_kilograms_is_taken_as_well(tmp_path):
    count, checked, _ = replay(tmp_path, "metric")
    assert count.refused == [] and count.figures >= 60 and "sound" in checked
    plain = read(tmp_path / "engines" / "ferrier-3.yaml").value
    assert plain["bore"] == {"low": "85 mm", "high": "85.02 mm"} and plain["compression_ratio"] == 19.5
    assert plain["piston_clearance"] == {"low": "0.08 mm", "high": "0.12 mm", "wear": "0.25 mm"}
    assert plain["pin_clearance"] == {"low": "0.010 mm", "high": "0.022 mm"}
    assert plain["mains"]["undersizes"] == ["0.25 mm", "0.50 mm", "0.75 mm"]
    assert plain["torques"]["head"]["stages"] == ["39.23 Nm", "73.55 Nm", "107.9 Nm"]
    assert plain["spring_load"] == {"low": "215.7 N", "high": "235.4 N"} and plain["build"]["cold_aid"] == "glow_plugs"
