"""The interview in a pseudo-terminal of 80 by 24: answers, commands, stopping, going on."""

import os
import sys

import pexpect
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from howdeep import terminal
from howdeep.job import write
from howdeep.job.read import read_job
from howdeep.job.sections import section_of

PROGRAM = ["-c", "from howdeep.cli import main; main()", "interview"]


def started(path, **env):
    return pexpect.spawn(sys.executable, [*PROGRAM, str(path)], dimensions=(24, 80), encoding="utf-8", timeout=40,
                         env={**os.environ, "NO_COLOR": "1", "TERM": "xterm", **env})


def begun(path):
    child = started(path)
    child.expect("Engine \\(number or name\\): ")
    child.sendline("tarn-30")
    child.expect("name.*: ")
    child.sendline("Ann O., 555 0101")
    child.expect("words: ")
    child.sendline("it smokes blue and uses oil")
    child.expect("sea level")
    child.sendline("high up")
    child.expect("sea level")
    child.sendline("1200 ft")
    child.expect("\n> ")
    return child


def values(path, shop):
    return read_job(path, shop.knowledge, shop.folders)


def test_an_interview_from_words_to_the_end_and_each_answer_is_on_disk(tmp_path, shop):
    path = tmp_path / "job.yaml"
    child = begun(path)
    count, shown = 0, child.before
    assert "sound like" in shown and "smoke" in shown.lower()
    while count < 60:
        child.sendline("1" if count % 7 else "d")
        index = child.expect(["\n> ", "go on asking: "])
        shown += child.before
        count += 1
        job = values(path, shop)
        assert len(job.values) + len(job.unknown) + len(job.later) >= min(count, 3)
        if index == 1:
            break
    assert index == 1, "the interview did not end by itself"
    assert "Nothing more is worth asking" in shown and "worth asking still" in shown
    child.sendline("")
    child.expect(pexpect.EOF)
    child.close()
    assert child.exitstatus == 0 and "\x1b[3" not in shown
    assert max(len(line.rstrip("\r")) for line in shown.split("\n")) <= 80


def test_back_change_list_verdict_help_and_leaving(tmp_path, shop):
    path = tmp_path / "job.yaml"
    child = begun(path)
    for typed, wanted in (("1", "now:"), ("b", "answered so far"), ("2", "now:"), ("list", "complaint"),
                          ("c complaint", "answered so far"), ("3", "now:"), ("v", ">"), ("h", "don't know"),
                          ("99", "none of 1 to"), ("c nonsense", "no question"), ("n", "\n> ")):
        child.sendline(typed)
        child.expect(wanted)
        child.expect("> ") if wanted != "\n> " else None
    child.sendline("q")
    child.expect(r"goes on\s+from here")
    child.expect(pexpect.EOF)
    assert values(path, shop).values["complaint"] == list(shop.knowledge.observations["complaint"].answers)[2]


@pytest.mark.parametrize("end", ["eof", "interrupt"])
def test_the_end_of_input_and_ctrl_c_leave_a_job_that_can_be_gone_on_with(tmp_path, shop, end):
    path = tmp_path / "job.yaml"
    child = begun(path)
    child.sendline("1")
    child.expect("\n> ")
    child.sendeof() if end == "eof" else child.sendintr()
    child.expect(r"goes on\s+from here")
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
@settings(max_examples=30, deadline=None)
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
    assert shown.count("Put off earlier") == 3 and "Nothing more is worth asking" in shown


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
        path.write_text(path.read_text() + "title: other\n")


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
