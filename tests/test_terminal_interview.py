"""The interview in a pseudo-terminal of 80 by 24: answers, commands, stopping, going on."""

import os
import re
import subprocess
import sys
from dataclasses import replace
from pathlib import Path

import pexpect
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from howdeep.job import write
from howdeep.job.read import read_job
from howdeep.job.sections import section_of
from howdeep.knowledge.questions import told_apart
from howdeep.sheets.choices import engine_choices
from howdeep.terminal import interview as terminal
from howdeep.terminal.engine import engine_named
from howdeep.terminal.reading import typed_value

from .commands import PROGRAM, in_a_terminal
from .sampling import WHOLE

QUESTION, END, ROW = "\n> ", "Enter = leave[^\n]*: ", "(?:cylinder|journal|crankpin) \\d+> "
CARD = "-- Enter = on, q = [a-z ]+ -- "
RIGHT = "type it again\\) "
TICKS, COUNT, UNIT = "Enter = not noted: ", "Enter = not counted\\): ", "In which unit[^\n]*: "


def started(path, size=(24, 80), **env):
    return in_a_terminal("interview", path, size=size, **env)


def begun(path, engine="tarn-30", words="it smokes blue and uses oil", size=(24, 80)):
    child = started(path, size)
    child.expect("Engine \\(number or name\\): ")
    child.sendline(engine)
    child.expect("name.*: ")
    child.sendline("Ann O., 555 0101")
    child.expect("words: ")
    child.sendline(words)
    child.expect("sea level")
    child.sendline("high up")
    child.expect("sea level")
    child.sendline("1200 ft")
    child.expect(QUESTION)
    return child


def values(path, shop):
    return read_job(path, shop.knowledge, shop.folders)


def lines_of(text):
    return [line.rstrip("\r") for line in text.split("\n")]


class Story:
    """A sitting in a pseudo-terminal: what is on the screen between two prompts is a card, and must fit."""

    def __init__(self, child, size):
        self.child, self.size, self.shown = child, size, child.before

    def type(self, typed):
        """Type an answer and go on to the next question; returns (what was shown since, which prompt stands)."""
        self.child.sendline(typed)
        told = ""
        while True:
            prompts = [QUESTION, CARD, RIGHT, END, ROW, TICKS, COUNT, UNIT, pexpect.EOF]
            found = self.child.expect(prompts)
            lines = lines_of(self.child.before)[1:]  # without the echo of what was typed
            rows, columns = self.size
            progress = [number for number, line in enumerate(lines) if line.startswith("-- ")]
            card = lines[progress[-1] + 1 :] if progress else lines
            assert len(card) <= rows, "a card is higher than the window:\n" + "\n".join(card)
            assert max(map(len, lines), default=0) <= columns, "a line is wider than the window"
            told += self.child.before
            if prompts[found] not in (CARD, RIGHT):
                break
            self.child.sendline("y" if prompts[found] == RIGHT else "")
        self.shown += told
        return told, prompts[found]


SIZES = [(24, 80), (40, 120)]


def quoted(path, size):
    """The quote of a job as it is printed in a window, each line inside it, with a price or what stands before one."""
    child = pexpect.spawn(
        sys.executable,
        [*PROGRAM[1:], "quote", str(path)],
        dimensions=size,
        encoding="utf-8",
        timeout=60,
        env={**os.environ, "NO_COLOR": "1", "TERM": "xterm"},
    )
    child.expect(pexpect.EOF)
    shown = re.sub(r"\x1b\[[0-9;]*m", "", child.before)
    assert max(map(len, lines_of(shown))) <= size[1] and re.search(r"Total\b.*\d\.\d\d", shown), shown
    return shown


@pytest.mark.parametrize("size", SIZES)
def test_a_smoking_tractor_from_its_owners_words_to_figures_judged_at_the_bench(tmp_path, shop, size):
    path = tmp_path / "job.yaml"
    child = begun(path, size=size)
    assert "Ann O. | Tarn 30 | job.yaml" in child.before and "words sound like" in child.before
    assert "It smokes" in child.before and "It uses too much oil" in child.before
    story = Story(child, size)
    told, prompt = story.type("y")
    assert values(path, shop).values["complaint"] == "smokes"
    assert len({values(path, shop).values[name] for name in ("complaint", "complaint_also")}) == 2
    script = {
        "works hard": "3",
        "How much oil do you add": "4",
        "cold start": "3",
        "ticking over, what colour": "2",
        "done to it last": "1",
        "since it was last overhauled": "3",
    }
    asked = []
    while prompt == QUESTION:
        question = next((text for text in script if text in told.split("--")[-1]), "")
        asked.append(question)
        if len(asked) == 4:
            why, prompt = story.type("w")
            assert prompt == QUESTION and "min of labour" in why and "leads to" in why
        told, prompt = story.type(script.get(question, "d"))
        assert len(asked) < 16, "the talk does not end"
    assert {"works hard", "ticking over, what colour", "cold start", "How much oil do you add"} <= set(asked[:5])
    assert "done to it last" in asked
    assert "Does it smoke" not in story.shown and "Does it run" not in story.shown  # the complaint says it
    assert "Thick blue, you can see it trailing behind." in story.shown  # the echo, in words
    assert prompt == END and "That is the customer's part." in told and "The answer now:" in told
    assert "The bench can part" in told and "min" in told
    told, prompt = story.type("g")
    made = 0
    while prompt != TICKS:
        assert prompt == QUESTION, told
        told, prompt = story.type("1")
        made += 1
        assert made < 5, "compression is not among the first checks"
    assert "Conditions of the test" in told and "CAUTION" in told
    told, prompt = story.type("a")
    told, prompt = story.type("6") if prompt == COUNT else (told, prompt)
    assert prompt == QUESTION and "Sheet: cranking compression 115 psi to 130 psi" in told
    told, prompt = story.type("72 70 65")
    assert "3 figures were typed; 4 are wanted" in told
    told, prompt = story.type("62,64,60,63")
    assert prompt == UNIT
    told, prompt = story.type("psi")
    assert "1: 62 psi, 2: 64 psi, 3: 60 psi, 4: 63 psi" in told and "lowest 60 psi" in told
    assert "Conditions of the test" not in told  # ticked once
    told, prompt = story.type("c compression dry")
    told, prompt = story.type("3=66")
    job = values(path, shop)
    assert job.job.readings["compression_dry"] == {1: "62 psi", 2: "64 psi", 3: "66 psi", 4: "63 psi"}
    assert job.values["test_throttle_open"] == "yes" and job.values["test_plugs_out"] == "all"
    child.sendline("q")
    child.expect("Next: ")
    child.expect(pexpect.EOF)
    assert "For Ann O.; Engine Tarn 30" in quoted(path, size)


@pytest.mark.parametrize("size", SIZES)
def test_a_barn_engine_that_has_not_run_for_six_years(tmp_path, shop, size):
    path = tmp_path / "job.yaml"
    child = begun(path, "brockwell-4", "has not run for six years, want it going again", size)
    story = Story(child, size)
    told, prompt = story.type("1")
    script = {
        "what else troubles": "1",
        "Does it run today": "3",
        "Does the engine turn": "1",
        "Has it stood": "3",
        "How old is the fuel": "3",
        "press the starter": "5",
    }
    count = 0
    while prompt == QUESTION:
        question = next((text for text in script if text in told.split("--")[-1]), "")
        told, prompt = story.type(script.get(question, "d"))
        count += 1
        assert count < 20, "the talk does not end"
    assert prompt == END and "That is the customer's part." in told
    assert "oil gauge" not in story.shown and "How does it pull" not in story.shown
    assert story.shown.count("And what else troubles") == 1
    assert "Engine turned by hand" in told or "Battery at rest" in told
    told, prompt = story.type("g")
    assert story.shown.count("CAUTION") == len(set(re.findall("CAUTION, [^:]*", " ".join(story.shown.split()))))
    told, prompt = story.type("1")
    child.sendline("q")
    child.expect("goes on")
    child.expect(pexpect.EOF)
    assert "Brockwell 4" in quoted(path, size)


@pytest.mark.parametrize("turned", [(24, 80), (14, 60)])
def test_a_window_that_is_made_another_size_gets_cards_of_that_size_from_the_next_question_on(tmp_path, shop, turned):
    child = begun(tmp_path / "job.yaml", words="it smokes blue and uses oil", size=(40, 120))
    child.setwinsize(*turned)
    story = Story(child, turned)
    told, prompt = story.type("1")
    for typed in ("w", "list", "h", "p", "v", "2", "2"):
        told, prompt = story.type(typed)
        assert prompt == QUESTION, told


def test_what_is_typed_before_a_question_stands_there_is_not_its_answer(tmp_path, shop):
    path = tmp_path / "job.yaml"
    child = begun(path)
    child.sendline("1")
    child.expect(QUESTION)
    before = dict(values(path, shop).values)
    child.send("1\n2\n2\n")  # the second and third are typed ahead
    child.expect("left out")
    child.expect("> ")
    assert len(values(path, shop).values) == len(before) + 1
    child.sendline("q")
    child.expect(pexpect.EOF)


def test_lines_of_a_pipe_are_all_taken(tmp_path, shop):
    path = tmp_path / "job.yaml"
    write.create(path, write.new_job("tarn-30"))
    done = subprocess.run(
        [*PROGRAM, "interview", str(path)], input="3\n1\n1\nq\n", capture_output=True, text=True, timeout=60
    )
    assert done.returncode == 0 and len(values(path, shop).values) == 3, done.stderr


def test_an_interview_ends_by_itself_and_each_answer_is_on_disk(tmp_path, shop):
    path = tmp_path / "job.yaml"
    story = Story(begun(path), (24, 80))
    count, (_, prompt) = 0, story.type("1")
    while count < 60 and prompt == QUESTION:
        _, prompt = story.type("1" if count % 7 else "d")
        count += 1
        job = values(path, shop)
        assert len(job.values) + len(job.unknown) + len(job.later) >= min(count, 3)
    assert prompt == END, "the interview did not end by itself"
    _told, prompt = story.type("")
    assert prompt is pexpect.EOF
    story.child.close()
    assert story.child.exitstatus == 0 and "\x1b[3" not in story.shown


def test_back_change_list_verdict_help_and_leaving(tmp_path, shop):
    path = tmp_path / "job.yaml"
    child = begun(path)
    for typed, wanted in (
        ("", "What brings you in"),
        ("1", "Main complaint: It will not start"),
        ("b", "Taken down"),
        ("2", "Main complaint: It starts, but"),
        ("list", "1  Main complaint: It starts"),
        ("c complaint", "Taken down"),
        ("3", "Main complaint: It smokes"),
        ("v", "now:"),
        ("h", "don't know"),
        ("c 1", "Taken down"),
        ("", "Left as it is"),
        ("c main complaint", "Taken down"),
        ("", "Left as it is"),
        ("99", "none of 1 to"),
        ("c nonsense", "no question"),
        ("n", "> "),
    ):
        child.sendline(typed)
        child.expect(wanted)
        child.expect("> ") if wanted != "> " else None
    child.sendline("q")
    child.expect(r"goes on\s+from here")
    child.expect(pexpect.EOF)
    assert values(path, shop).values["complaint"] == "smokes"


def test_back_works_after_resuming(tmp_path, shop):
    path = tmp_path / "job.yaml"
    write.create(
        path, write.new_job("tarn-30", answers={"complaint": "smokes", "complaint_also": "nothing", "runs": "yes"})
    )
    shown = sat_through(shop, path, "b", "2", "q")
    assert "Does it run today?" in shown and values(path, shop).values["runs"] == "only_just"


def test_a_wrong_answer_is_told_the_wordings_and_words_of_a_wording_pick_it(tmp_path, shop):
    path = tmp_path / "job.yaml"
    write.create(path, write.new_job("tarn-30", answers={"complaint": "oil_pressure", "complaint_also": "nothing"}))
    shown = sat_through(shop, path, "c oil_light_gauge_hot_idle", "7 up", "flickers", "c noise", "xx", "knock", "q")
    assert "none of the answers: type a number from 1 to 12" in shown and "'knock' could be 2 A deep" in shown
    assert "none of the answers: 1 Shows pressure as always" in shown and "jumps, no_gauge" not in shown
    assert values(path, shop).values["oil_light_gauge_hot_idle"] == "low"


def test_what_the_customer_does_not_know_is_followed_by_no_verdict(tmp_path, shop):
    path = tmp_path / "job.yaml"
    write.create(path, write.new_job("tarn-30", answers={"complaint": "smokes", "smoke_pulling": "blue_heavy"}))
    shown = sat_through(shop, path, "c oil_use", "d", "q")
    assert "don't know." in shown and "now: " not in shown
    assert "as it stands" in sat_through(shop, path, "c oil_use", "4", "q").partition("now: ")[2]


@pytest.mark.parametrize(
    "typed",
    [
        "dunno",
        "Not sure.",
        "I'm not sure",
        "no idea",
        "idk",
        "cannot say",
        "can't tell",
        "skip",
        "pass",
        "Don't know",
        "d",
    ],
)
def test_nobody_knows_in_plain_words_is_dont_know(shop, typed):
    item = shop.knowledge.observations["oil_use"]
    assert typed_value(item, typed, 1) == "unknown"


def test_cannot_tell_picks_the_answer_that_says_so(shop):
    beat = shop.knowledge.observations["noise_speed"]
    assert typed_value(beat, "can't tell", 1) == "unknown"
    item = replace(beat, answers={**beat.answers, "unsure": "Cannot tell, or it has no beat"})
    assert [typed_value(item, typed, 1) for typed in ("can't tell", "Cannot tell", "unsure")] == ["unsure"] * 3
    assert [typed_value(item, typed, 1) for typed in ("dunno", "don't know", "d")] == ["unknown"] * 3


def test_a_grid_is_typed_row_by_row_judged_at_once_and_corrected(tmp_path, shop):
    path = tmp_path / "job.yaml"
    write.create(path, write.new_job("brockwell-4", answers={"complaint": "uses_oil", "runs": "yes"}))
    row = "3,130 3,128 3.129 3.1285 3.127 3.127 in"
    shown = sat_through(
        shop,
        path,
        "c bore_size",
        row,
        "3.13 3.14",
        "3.131 3.13 3.13 3.13 3.128 3.128 in",
        "b",
        "3.13 3.13 3.13 3.13 3.128 ? in",
        "1=3.129 3.128 3.129 3.1285 3.127 3.127 in",
        "",
        "q",
    )
    bores = values(path, shop).job.teardown["bore_size"]
    assert bores[1]["top"] == ["3.129 in", "3.128 in"] and sorted(bores) == [1, 2]
    assert bores[2]["bottom"] == ["3.128 in", "unknown"]
    assert "2 figures were typed; 6 are wanted" in shown and "top thrust, top pin" in shown
    assert "taper" in shown.lower() and "Sheet: bore 3.1250 in to 3.1260 in, limit 0.006 in" in shown


@pytest.mark.parametrize("end", ["eof", "interrupt"])
def test_the_end_of_input_and_ctrl_c_leave_a_job_that_can_be_gone_on_with(tmp_path, shop, end):
    path = tmp_path / "job.yaml"
    child = begun(path)
    child.sendline("1")
    child.expect(QUESTION)
    child.sendeof() if end == "eof" else child.sendintr()
    child.expect(r"goes on\s+from here", timeout=20)
    child.expect(pexpect.EOF)
    assert len(values(path, shop).values) >= 1
    again = started(path)
    again.expect("\n> ")
    assert "A new job" not in again.before
    again.sendline("q")
    again.expect(pexpect.EOF)


class Typed:
    """A keyboard: what is typed at each question, and what the screen shows."""

    def __init__(self, *words, then=EOFError):
        self.words, self.then, self.lines = list(words), then, []

    def ask(self, prompt):
        self.lines.append(prompt)
        if not self.words:
            raise self.then
        word = self.words.pop(0)
        return word() if callable(word) else word

    def print(self, line):
        self.lines.append(str(line))

    @property
    def shown(self):
        return "\n".join(self.lines)


def sat_through(shop, path, *words, then=EOFError):
    keyboard = Typed(*words, then=then)
    terminal.run(shop, path, keyboard, keyboard.ask)
    return keyboard.shown


@given(data=st.data())
@settings(max_examples=30 if WHOLE else 12, deadline=None)
def test_putting_a_question_off_never_takes_an_answer_away(data, shop, tmp_path_factory):
    path = tmp_path_factory.mktemp("job") / "job.yaml"
    talk = (name for name, item in shop.knowledge.observations.items() if item.moment == "talk" and not item.each)
    names = sorted(talk)
    name = data.draw(st.sampled_from(names))
    answer = data.draw(st.sampled_from([*shop.knowledge.observations[name].answers, "unknown"]))
    write.create(path, write.new_job("tarn-30", answers={name: answer}))
    sat_through(shop, path, f"c {name}", data.draw(st.sampled_from(["", "n", "N", "later", "not now", " "])), "q")
    assert values(path, shop).job.answers == {name: answer}


def test_n_where_an_answer_is_no_says_what_to_type_and_stores_nothing(shop, tmp_path):
    path = tmp_path / "job.yaml"
    write.create(path, write.new_job("tarn-30"))
    kept = path.read_bytes()
    shown = sat_through(shop, path, "c runs", "n", "q")
    number = list(shop.knowledge.observations["runs"].answers).index("no") + 1
    assert f"{number} = no" in shown and path.read_bytes() == kept


def test_a_question_put_off_twice_is_not_asked_for_ever(shop, tmp_path):
    path = tmp_path / "job.yaml"
    job = write.new_job("tarn-30")
    for name, item in shop.knowledge.observations.items():
        later = name in ("runs", "turns_over", "complaint")
        job.setdefault(section_of(item), {})[name] = "later" if later else "unknown"
    write.create(path, job)
    shown = sat_through(shop, path, *[""] * 9)
    assert shown.count("Put off earlier") == 3 and "That is the customer's part" in shown


def test_answering_keeps_the_comments_of_the_file(shop, tmp_path):
    path = tmp_path / "job.yaml"
    path.write_text("# ours\nhowdeep_job: 1\nengine: tarn-30  # by the plate\nanswers:\n  runs: yes  # heard it\n")
    sat_through(shop, path, "1", "1", "c runs", "no", "q")
    text = path.read_text()
    assert text.startswith("# ours\nhowdeep_job: 1\nengine: tarn-30  # by the plate\nanswers:\n")
    assert "  runs: no  # heard it\n" in text
    assert len(values(path, shop).values) >= 2


def spoil(path, how):
    if how == "deleted":
        path.unlink()
    elif how == "protected":
        path.chmod(0o444)
    elif how == "damaged":
        path.write_text("a: [")
    elif how == "changed":
        path.write_text(path.read_text() + "answers:\n  runs: no\n")


@pytest.mark.parametrize("end", [EOFError, KeyboardInterrupt, "q"])
@pytest.mark.parametrize("how", ["deleted", "protected", "damaged", "changed"])
def test_that_every_answer_is_on_disk_is_said_only_where_it_is_true(shop, tmp_path, how, end):
    path = tmp_path / "job.yaml"
    write.create(path, write.new_job("tarn-30"))

    def typed():
        spoil(path, how)
        return "1"

    words = ["q"] if end == "q" else []
    shown = sat_through(shop, path, "c runs", typed, *words, then=EOFError if words else end)
    assert "Every answer is in" not in shown
    assert ("NOT saved: '1'" if how in ("protected", "changed") else "not safe") in shown
    assert "Every answer is in" in sat_through(shop, tmp_path / "new.yaml", "1", "", "", "", "c runs", "1", "q")


def test_stopping_before_there_is_a_job_writes_none_and_says_so(tmp_path):
    path = tmp_path / "job.yaml"
    child = started(path)
    child.expect("Engine \\(number or name\\): ")
    child.sendeof()
    child.expect("not\\s+written")
    child.expect(pexpect.EOF)
    child.close()
    assert child.exitstatus == 130 and not path.exists()


def test_a_linked_job_is_answered_in_its_own_file(shop, tmp_path):
    (tmp_path / "store").mkdir()
    real, link = tmp_path / "store" / "job.yaml", tmp_path / "job.yaml"
    write.create(real, write.new_job("tarn-30"))
    link.symlink_to(real)
    sat_through(shop, link, "c runs", "1", "q")
    assert link.is_symlink() and values(real, shop).values["runs"] == "yes"


def test_an_open_engine_is_gone_through_from_above_with_what_still_waits(shop, tmp_path):
    path = tmp_path / "job.yaml"
    write.create(
        path,
        write.new_job(
            "brockwell-4",
            answers={"complaint": "uses_oil", "complaint_also": "nothing", "runs": "yes", "oil_use": "worse"},
        ),
    )
    shown = sat_through(shop, path, "e", "o", *["d"] * 6, "e", "", then=KeyboardInterrupt)
    assert "o = it stands open" in shown and "That is the open engine for now." in shown
    assert re.search(r"Open engine: \d\d still to look at or measure, 0 taken down", shown)
    taken = [name for name, value in values(path, shop).job.teardown.items() if value == "unknown"]
    groups = [shop.knowledge.observations[name].group for name in taken]
    assert len(taken) >= 4 and groups[0] == "head" and "bottom_end" not in groups


READ = "390 385 370 395 psi"
STARTS_BADLY = {"complaint": "hard_start", "complaint_also": "nothing", "runs": "yes"}


def test_a_diesel_is_not_asked_about_a_throttle_and_a_reading_that_can_hardly_be_is_asked_about_once(shop, tmp_path):
    path = tmp_path / "job.yaml"
    write.create(path, write.new_job("dunmore-d4", answers=STARTS_BADLY))
    words = ["c compression_dry", "", "", "a", "6", "72 71 74 70 psi", "", "310 320 315 72 psi", "q"]
    shown = sat_through(shop, path, *words)
    assert "Throttle and choke" not in shown and "All plugs out for the test" in shown
    assert shown.count("Is that right?") == 1 and "does not run, and this one does" in " ".join(shown.split())
    assert values(path, shop).job.readings["compression_dry"][4] == "72 psi"  # one bad cylinder can be
    shown = sat_through(shop, path, "c battery_rest", "1", "huh", "y", "q")
    assert shown.count("Is that right?") == 2 and "Even a flat battery" in shown
    assert values(path, shop).values["battery_rest"] == 1.0
    assert "Is that right?" not in sat_through(shop, path, "c battery_rest", "11.9", "q")


def test_b_leads_back_through_the_first_questions_and_is_nobodys_words(shop, tmp_path):
    path = tmp_path / "job.yaml"
    shown = sat_through(
        shop, path, "b", "tarn-30", "Ann", "b", "Ann O.", "smokes", "b", "it smokes blue", "", "b", "it knocks", "", "q"
    )
    job = values(path, shop).job
    assert "This is the first question." in shown
    assert (job.customer.name, job.customer.words, job.title) == ("Ann O.", "it knocks", "it knocks")
    assert 'The customer says: "it smokes blue"' in shown and 'The customer says: "it knocks"' in shown


def test_q_in_a_long_text_leaves_the_text_alone_and_what_is_typed_into_it_is_said_not_to_count(tmp_path, shop):
    child = begun(tmp_path / "job.yaml", size=(14, 60))
    story = Story(child, (14, 60))
    story.type("1")
    for typed, said in (("q", ""), ("2", "'2' is not taken while a text goes on")):
        child.sendline("w")
        child.expect("q = enough of it -- ")
        child.sendline(typed)
        child.expect(QUESTION)
        assert said in " ".join(child.before.split())
    child.sendline("q")
    child.expect("goes")


def test_the_question_named_on_leaving_is_the_one_that_is_asked_on_going_on(shop, tmp_path):
    path = tmp_path / "job.yaml"
    answers = {"complaint": "smokes", "complaint_also": "uses_oil", "runs": "yes", "smoke_pulling": "blue_heavy"}
    write.create(path, write.new_job("tarn-30", answers=answers))
    for typed in (["c leak_rear", "1"], ["c hours_since_overhaul", "2"], ["c smoke_idle", "n"], ["c power", "1"]):
        shown = " ".join(sat_through(shop, path, *typed, "q").split())
        following = re.search(r"Next: (.+?); 'howdeep", shown).group(1)
        again = sat_through(shop, path, "q")
        asked = next(item for item in shop.knowledge.observations.values() if item.title.lower() == following.lower())
        assert asked.ask[:40] in " ".join(again.split())


def test_what_stands_after_an_answer_is_of_the_kind_that_the_end_of_the_talk_says(shop, tmp_path):
    path = tmp_path / "job.yaml"
    write.create(path, write.new_job("tarn-30", answers={"complaint": "smokes", "smoke_pulling": "blue_heavy"}))
    shown = sat_through(shop, path, "c oil_use", "4", "e", "")
    now, end = shown.partition("now: ")[2], shown.partition("The answer now: ")[2]
    assert now.split(";")[0].split(":")[0].lower() == end.split(";")[0].split(":")[0].lower() and end


def test_the_bench_names_two_suspects_that_its_checks_part_or_none(shop, tmp_path):
    path = tmp_path / "job.yaml"
    knowledge = shop.knowledge
    cool = ["belt_pump_check", "cooling_pressure_test"]
    assert not told_apart(knowledge, cool, "fouled_plugs", "cracked_cap_leads")
    assert told_apart(knowledge, ["compression_dry", "compression_wet"], "worn_rings", "burnt_exhaust_valve")
    write.create(path, write.new_job("tarn-30", answers={"complaint": "smokes", "smoke_pulling": "blue_heavy"}))
    shown = " ".join(sat_through(shop, path, "e", "").split())
    assert "The bench can part" in shown or "The bench can say more" in shown


def test_a_reading_is_told_once_with_its_unit_and_what_two_facts_say_alike_once(shop, tmp_path):
    path = tmp_path / "job.yaml"
    engine = {"kind": "farm-diesel-four", "year": 1958, "bearings": "unknown", "cold_aid": "intake_heater"}
    write.create(path, write.new_job(engine, answers=STARTS_BADLY))
    shown = sat_through(shop, path, "c battery_rest", "12.4", "list", "c compression_dry", "", "", "a", "6", READ, "q")
    text = " ".join(shown.split())
    assert text.count("Battery at rest: 12.4 V") == 2  # when it is taken down, and in the list
    assert "Battery at rest: 12.40" not in text and text.count("engines of its kind show about") == 1
    assert "Sheet: cranking" not in text and "No sheet; of its kind in general: cranking" in text


def test_one_engine_is_not_offered_twice_under_its_name_and_its_id(shop):
    choices = engine_choices(shop.folders, Path())
    _, told = engine_named("tarn-3", choices, {})
    assert "did you mean tarn-30?" in told[0]
