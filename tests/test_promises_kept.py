"""Promises beside the job: kept exactly, moved out of old jobs, and never lost, at whatever moment a program ends."""

import hashlib
import os
from decimal import Decimal

import pytest

from howdeep.errors import HowdeepError
from howdeep.files import whole
from howdeep.files.plain_yaml import dump
from howdeep.files.strict_yaml import read
from howdeep.job import promises as beside
from howdeep.job import write
from howdeep.job.read import read_job
from howdeep.quote.change_sheet import authorised, yeses_to
from howdeep.quote.promise import approving, free_name, stored, storing
from howdeep.quote.values import Yes
from howdeep.record.read import read_folder, row_of

from .conftest import SMALL
from .writers import Writer, dies_before

PROMISE = {
    "date": "2026-03-05",
    "rung": "refresh",
    "recommended": "refresh",
    "enough": {"refresh": 0.7},
    "causes": {"worn_rings": 0.8},
    "quote": {
        "rung": "refresh",
        "total": "900.00",
        "high": "1100.00",
        "lines": [{"kind": "labour", "amount": "900.00"}],
    },
}
OLDER = {**PROMISE, "date": "2026-02-01", "rung": "top_end"}


def old_job(path, **more):
    """A job as older versions wrote it: two promises inside."""
    path.write_text(
        "# a word of ours\n"
        + dump(
            {
                "howdeep_job": 1,
                "engine": "twin",
                "title": "before",
                "promises": {"first": OLDER, "second": PROMISE},
                **more,
            }
        )
    )
    return path


def titled(title):
    return lambda plain: {**plain, "title": title}


def opened(path, small):
    return read_job(path, small, [SMALL])


def test_a_job_with_promises_inside_is_read_and_they_move_out_with_a_word_at_the_next_save(tmp_path, small, caplog):
    path = old_job(tmp_path / "job.yaml")
    before = opened(path, small)
    assert dict(before.job.promises) == {"first": OLDER, "second": PROMISE}
    write.save(path, before.digest, titled("after"))
    assert "first, second" in caplog.text and "job.promises" in caplog.text
    after = opened(path, small)
    assert after.job.promises == before.job.promises and list(after.job.promises) == ["first", "second"]
    text = path.read_text()
    assert "# a word of ours" in text and "900.00" not in text and "title: after" in text
    assert len(text.splitlines()) < 15
    caplog.clear()
    write.save(path, after.digest, titled("again"))
    assert not caplog.text and opened(path, small).job.promises == before.job.promises


def test_a_promise_is_written_once_and_a_changed_or_lost_file_is_never_shown_as_the_promise(tmp_path, small):
    path = tmp_path / "job.yaml"
    write.create(path, write.new_job("twin"))
    write.save(path, read(path).digest, storing("first", PROMISE))
    file = beside.promise_folder(path) / read(path).value["promises"]["first"]["file"]
    kept = file.read_bytes()
    assert hashlib.sha256(kept).hexdigest() == read(path).value["promises"]["first"]["sha256"]
    assert stored(opened(path, small), "last") == PROMISE
    with pytest.raises(HowdeepError, match="never changed"):
        write.save(path, read(path).digest, storing("first", {**PROMISE, "date": "2026-04-01"}))
    write.save(path, read(path).digest, storing("second", {**PROMISE, "date": "2026-04-01"}))
    write.save(
        path,
        read(path).digest,
        approving(Decimal(950), "Ann", "2026-03-06", "in person", time="14:30", promise="first"),
    )
    assert file.read_bytes() == kept
    file.write_bytes(kept.replace(b"900.00", b"990.00"))
    job = opened(path, small)
    with pytest.raises(HowdeepError, match="was changed since it was made"):
        stored(job, "first")
    assert stored(job, "second")["date"] == "2026-04-01"
    file.unlink()
    with pytest.raises(HowdeepError, match="is gone"):
        stored(opened(path, small), "first")
    write.save(path, read(path).digest, titled("still saved"))
    file.write_bytes(kept)
    assert stored(opened(path, small), "first") == PROMISE


def test_a_job_that_was_linked_finds_its_promises_where_its_file_stands(tmp_path, small):
    (tmp_path / "far").mkdir()
    write.create(tmp_path / "far" / "job.yaml", write.new_job("twin"))
    link = tmp_path / "link.yaml"
    link.symlink_to(tmp_path / "far" / "job.yaml")
    write.save(link, read(link).digest, storing("first", PROMISE))
    for path in (link, tmp_path / "far" / "job.yaml"):
        assert stored(opened(path, small), "first") == PROMISE


@pytest.mark.parametrize(
    ("entry", "says"),
    [
        ("{file: ../../etc/passwd.yaml, sha256: %s}" % ("0" * 64), "is no file of a promise"),
        ("{file: first.yaml, sha256: short}", "is no hash"),
        ("{file: first.yaml, sha256: 1, more: x}", "nothing that a job"),
    ],
)
def test_what_a_job_says_of_a_promise_is_held_to_what_it_can_be(tmp_path, small, entry, says):
    path = tmp_path / "job.yaml"
    path.write_text(f"howdeep_job: 1\nengine: twin\npromises:\n  first: {entry}\n")
    with pytest.raises(HowdeepError, match=says) as refused:
        opened(path, small)
    assert all(fault.file == str(path) and fault.line == 4 for fault in refused.value.faults)


STEPS = ("os.replace", "os.link", "os.fsync", "os.unlink")


def test_killed_at_every_step_of_moving_promises_out_nothing_is_lost(tmp_path, small):
    """The save of an old job is killed before its first call that touches the disk, then before its second, and so on
    until it gets through; each time both promises are there, and the next save goes through."""
    wanted = {"first": OLDER, "second": PROMISE}
    deaths = 0
    for step in range(40):
        folder = tmp_path / str(step)
        folder.mkdir()
        path = old_job(folder / "job.yaml")
        child = Writer(dies_before, path, "after", STEPS, step)
        child.process.join(60)
        died = child.process.exitcode != 0
        job = opened(path, small)
        assert job.job.promises == wanted, f"lost where the program ended at step {step}"
        assert job.job.title in (("before", "after") if died else ("after",))
        write.save(path, job.digest, titled("next"))
        assert opened(path, small).job.promises == wanted
        whole._swept.discard(folder)
        deaths += died
        if not died:
            break
    else:
        pytest.fail("the save has more steps than were tried")
    assert deaths >= 6, "two promises and a job are three files, each flushed and renamed"


def test_a_promise_made_while_killed_is_there_whole_or_not_at_all(tmp_path, small):
    for step in range(20):
        folder = tmp_path / str(step)
        folder.mkdir()
        path = folder / "job.yaml"
        write.create(path, write.new_job("twin", title="before"))
        child = Writer(dies_before, path, None, STEPS, step)
        child.process.join(60)
        job = opened(path, small)
        assert dict(job.job.promises) in ({}, {"first": {"date": "2026-03-05", "rung": "refresh"}})
        if child.process.exitcode == 0:
            assert job.job.promises
            break
        if not job.job.promises:  # nobody was told that it was made, so it can be made again
            write.save(path, job.digest, storing("first", {"date": "2026-03-05", "rung": "refresh"}))
            assert stored(opened(path, small), "first")["rung"] == "refresh"
    else:
        pytest.fail("never got through")


def test_yeses_belong_to_their_promise_and_one_without_a_name_to_every(small, tmp_path):
    path = old_job(
        tmp_path / "job.yaml",
        approvals=[
            {"date": "2026-03-05", "by": "Ann", "sum": "950.00", "how": "in person"},
            {
                "date": "2026-03-06",
                "time": "14:30",
                "by": "Bob",
                "sum": "1200.00",
                "how": "by telephone",
                "promise": "second",
            },
        ],
    )
    job = opened(path, small)
    assert [yes.by for yes in yeses_to(job, "first")] == ["Ann"]
    assert yeses_to(job, "second")[1] == Yes("Bob", "by telephone", "2026-03-06", "14:30", Decimal("1200.00"))
    quote = type("Quoted", (), {"total": Decimal("900.00")})()
    assert authorised(job, quote, "first") == Decimal("950.00")
    assert authorised(job, quote, "second") == Decimal("1200.00")


def test_a_promise_that_nobody_named_takes_its_number_or_the_next_word():
    assert free_name({}) == "first" and free_name({"first": 1}) == "second"
    assert free_name({"first": 1}, "E-7") == "E-7" and free_name({"E-7": 1}, "E-7") == "first"


def test_the_record_reads_kept_promises_and_counts_no_job_whose_promise_is_lost(tmp_path, shipped):
    from howdeep.knowledge.where import shipped_rules

    path = tmp_path / "job.yaml"
    path.write_text(
        dump(
            {
                "howdeep_job": 1,
                "engine": "brockwell-4",
                "promises": {"first": PROMISE},
                "approvals": [{"date": "2026-03-06", "by": "A", "sum": "1050.00", "how": "x"}],
                "found": {"date": "2026-05-01", "cost": "1098.00", "scope_done": "refresh", "came_back": "no"},
            }
        )
    )
    inside = row_of(shipped, read_job(path, shipped, [shipped_rules()]))
    write.save(path, read(path).digest, titled("moved"))
    kept = row_of(shipped, read_job(path, shipped, [shipped_rules()]))
    assert kept == inside and kept.promised_cost == 900 and kept.promised_high == 1100 and kept.agreed == 1050
    assert kept.held and kept.money == "range"
    folder = read_folder(tmp_path, [shipped_rules()], workers=1)
    assert (len(folder.rows), folder.open, folder.damaged) == (1, 0, ())
    (name,) = os.listdir(beside.promise_folder(path))
    (beside.promise_folder(path) / name).unlink()
    folder = read_folder(tmp_path, [shipped_rules()], workers=1)
    assert not folder.rows and len(folder.damaged) == 1 and "is gone" in folder.damaged[0]
