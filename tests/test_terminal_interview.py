"""The interview in a pseudo-terminal of 80 by 24: answers, commands, stopping, going on."""

import os
import sys

import pexpect
import pytest

from howdeep.job.read import read_job

PROGRAM = ["-c", "from howdeep.cli import main; main()", "interview"]


def started(path, **env):
    return pexpect.spawn(sys.executable, [*PROGRAM, str(path)], dimensions=(24, 80), encoding="utf-8", timeout=40,
                         env={**os.environ, "NO_COLOR": "1", "TERM": "xterm", **env})


def begun(path):
    child = started(path)
    child.expect("Engine \\(number or name\\): ")
    child.sendline("tarn-30")
    child.expect("name.*: ")
    child.sendline("Ann O.")
    child.expect("Telephone.*: ")
    child.sendline("")
    child.expect("words: ")
    child.sendline("it smokes blue and uses oil")
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
