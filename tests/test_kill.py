"""Killed or stopped at any moment, no answer that was taken is lost, no file is half written, nothing is left over."""

import os
import random
import signal
import time

import pytest

from howdeep.errors import HowdeepError, StaleFile
from howdeep.files import whole
from howdeep.files.strict_yaml import read
from howdeep.job import write
from howdeep.job.journal import read_journal
from howdeep.job.read import read_job

from .conftest import SMALL
from .sampling import WHOLE
from .writers import Writer, adds, counts_up, increments, set_title, stops_inside

KILLS = 200 if WHOLE else 60


def test_kills_of_a_saving_program_lose_no_answer_that_was_taken(tmp_path, small):
    path = tmp_path / "job.yaml"
    write.create(path, write.new_job("twin", title="answer 0"))
    rng = random.Random(11)
    last, amid, slowest, left_over = 0, 0, 0.0, 0
    for _ in range(KILLS):
        child = Writer(counts_up, path, last)
        while child.hear()[0] != "taken":
            pass
        time.sleep(rng.uniform(0, 0.03))
        child.kill()  # asserts that it died of this signal
        begun = max(number for what, number in child.said if what == "begun")
        taken = max(number for what, number in child.said if what == "taken")
        amid += begun > taken
        left_over += len(os.listdir(tmp_path)) > 2
        found = int(read_job(path, small, [SMALL]).job.title.split()[1])
        assert taken <= found <= begun, "an answer that was taken is gone"
        start = time.monotonic()
        set_title(path, f"answer {begun + 1}")
        slowest = max(slowest, time.monotonic() - start)
        assert sorted(os.listdir(tmp_path)) == ["job.journal", "job.yaml"], "what the killed program left was not swept"
        last = begun + 1
    assert read_journal(path).text.encode() == path.read_bytes(), "replayed it gives another job"
    assert amid >= KILLS / 2, "most kills were meant to fall within a save"
    assert left_over >= KILLS / 10, "kills that leave no file behind do not test the sweeping"
    assert slowest < whole.LOCK_SECONDS, "a save waited for a program that was dead"


def test_what_killed_programs_left_of_other_jobs_is_swept_and_a_held_lock_is_not(tmp_path):
    for name in ("a", "b", "held"):
        write.create(tmp_path / f"{name}.yaml", write.new_job("twin", title="before"))
    other = Writer(stops_inside, tmp_path / "held.yaml", "after")
    assert other.hear() == "inside"
    for name in (
        ".a.yaml.howdeep-lock",
        ".a.yaml.4711.0123abcd.howdeep-new",
        ".gone.yaml.4711.0123abcd.howdeep-new",
        ".foreign.lock",
        ".b.yaml.swp",
    ):
        (tmp_path / name).write_text("left")
    whole._swept.discard(tmp_path)  # as a program started now
    set_title(tmp_path / "b.yaml", "after")
    left = sorted(name for name in os.listdir(tmp_path) if not name.endswith(".journal"))
    assert left == [".b.yaml.swp", ".foreign.lock", ".held.yaml.howdeep-lock", "a.yaml", "b.yaml", "held.yaml"]
    other.go_on()
    assert other.hear() == "taken"
    other.end()


def test_a_program_stopped_within_a_save_keeps_others_out_and_they_are_told(tmp_path, monkeypatch):
    monkeypatch.setattr(whole, "LOCK_SECONDS", 0.3)
    path = tmp_path / "job.yaml"
    write.create(path, write.new_job("twin", title="before"))
    other = Writer(stops_inside, path, "theirs")
    assert other.hear() == "inside"
    for _ in range(3):
        with pytest.raises(HowdeepError, match="another program holds it"):
            set_title(path, "mine")
    assert read(path).value["title"] == "before"
    other.go_on()
    assert other.hear() == "taken"
    other.end()
    assert read(path).value["title"] == "theirs"
    set_title(path, "mine")
    assert read(path).value["title"] == "mine"


def test_a_stopped_program_does_not_overwrite_what_a_program_without_locks_saved_meanwhile(tmp_path):
    path = tmp_path / "job.yaml"
    write.create(path, write.new_job("twin", title="before"))
    other = Writer(stops_inside, path, "theirs")
    assert other.hear() == "inside"
    path.write_text(path.read_text().replace("before", "by hand"))
    other.go_on()
    assert "changed by someone else" in other.hear()
    other.end()
    assert read(path).value["title"] == "by hand"


def test_a_program_stopped_at_random_moments_never_overwrites_a_save_that_was_taken(tmp_path, monkeypatch):
    monkeypatch.setattr(whole, "LOCK_SECONDS", 0.05)
    path = tmp_path / "job.yaml"
    write.create(path, write.new_job("twin", title="answer 0"))
    rng = random.Random(5)
    child = Writer(adds, path, "theirs", 10_000)
    mine, held = [], 0
    for number in range(600):
        if number >= 60 and mine and held:  # on a busy machine it takes longer until both kinds of moment are met
            break
        time.sleep(rng.uniform(0, 0.04))
        child.signal(signal.SIGSTOP)
        try:
            write.save(
                path,
                read(path).digest,
                lambda plain, number=number: {
                    **plain,
                    "waived": {**(plain.get("waived") or {}), f"mine{number}": {"reason": "x", "by": "y"}},
                },
            )
            mine.append(f"mine{number}")
        except StaleFile:
            raise AssertionError("nobody else was running") from None
        except HowdeepError:
            held += 1
        child.signal(signal.SIGCONT)
    child.kill()
    kept = read(path).value["waived"]
    assert [name for name in mine if name not in kept] == []
    assert mine and held, "both kinds of moment were meant to be tried"
    theirs = sorted(int(name[6:]) for name in kept if name.startswith("theirs"))
    assert theirs == list(range(len(theirs)))


def test_two_writers_lose_nothing_and_overwrite_nothing(tmp_path):
    path = tmp_path / "job.yaml"
    write.create(path, write.new_job("twin"))
    writers = [Writer(adds, path, name, 25) for name in "ab"]
    for one in writers:
        one.hear(120)
        one.end()
    kept = read(path).value["waived"]
    assert set(kept) == {f"{name}{number}" for name in "ab" for number in range(25)}


def test_waiters_on_a_lock_file_that_was_left_get_in_one_at_a_time(tmp_path):
    path = tmp_path / "number"
    path.write_text("0")
    left = tmp_path / ".number.howdeep-lock"
    writers = [Writer(increments, path, left, 500) for _ in range(4)]
    for one in writers:
        one.hear(120)
        one.end()
    assert int(path.read_text()) == 2000
