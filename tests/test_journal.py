"""The journal of a job: replayed it gives the file byte for byte, a changed line shows, the last change is taken back,
and answers of two people to different questions both stand."""

import json
import shutil

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from howdeep.errors import HowdeepError, StaleFile
from howdeep.files.strict_yaml import digest_of, parse, read
from howdeep.interview.session import open_desk, put
from howdeep.job import write
from howdeep.job.journal import acting, digest, journal_path, patch, patched, read_journal, text_before, touched, undone
from howdeep.job.take_back import take_back

from .pages import CASE


@pytest.fixture
def job(tmp_path):
    path = tmp_path / "hill-farm.yaml"
    shutil.copy(CASE, path)
    return path


def save(path, change, who="anna"):
    with acting(who):
        return write.save(path, read(path).digest, change)


def answer(name, value):
    def change(plain):
        told = {key: item for key, item in (plain.get("answers") or {}).items() if key != name}
        return {**plain, "answers": {**told, **({name: value} if value is not None else {})}}

    return change


@given(st.text("ab\n#: é", max_size=30), st.text("ab\n#: é", max_size=30))
def test_a_patch_turns_one_text_into_the_other(old, new):
    assert patched(old, *patch(old, new)) == new


@settings(max_examples=40, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(
    st.lists(
        st.one_of(
            st.tuples(
                st.sampled_from(("runs", "smoke_any", "power", "oil_use")),
                st.sampled_from(("yes", "no", "unknown", None)),
            ),
            st.tuples(st.just("title"), st.text("abc é'\"#:", min_size=1, max_size=12)),
            st.tuples(st.just("by hand"), st.sampled_from(("# a remark", "# ein Öl"))),
            st.tuples(st.just("undo"), st.none()),
        ),
        max_size=12,
    )
)
def test_replayed_it_gives_the_file_byte_for_byte(tmp_path_factory, steps):
    path = tmp_path_factory.mktemp("job") / "job.yaml"
    write.create(path, write.new_job("tarn-30", answers={"runs": "yes"}))
    texts = {}
    for what, value in steps:
        if what == "by hand":
            path.write_text(f"{value}\n{path.read_text()}", encoding="utf-8")
            save(path, lambda plain: {**plain, "title": "after a remark"})
        elif what == "title":
            save(path, lambda plain, value=value: {**plain, "title": value})
        elif what == "undo":
            last = undone(read_journal(path).lines)
            if last is None or last.kind == "outside":
                continue
            before = text_before(read_journal(path).lines, last.number)
            take_back(path)
            assert path.read_text(encoding="utf-8") == before
        else:
            save(path, answer(what, value))
        journal = read_journal(path)
        assert journal.text.encode() == path.read_bytes()
        texts[len(journal.lines)] = journal.text
    journal = read_journal(path)
    for number, text in texts.items():
        assert text_before((*journal.lines, journal.lines[-1]), number + 1) == text
    if "by hand" in dict(steps):
        assert any(line.kind == "outside" for line in journal.lines)
        assert "# " in path.read_text(encoding="utf-8"), "a comment of the file was lost"


def test_a_line_tells_what_who_and_when(job):
    save(job, answer("runs", "only_just"), who="ben")
    begun, line = read_journal(job).lines
    assert (begun.kind, line.kind, line.by) == ("begun", "change", "ben")
    assert [(item.where, item.was, item.now) for item in line.moved] == [("answers.runs", "yes", "only_just")]
    assert line.at[:10].count("-") == 2 and journal_path(job).stat().st_mode & 0o777 == job.stat().st_mode & 0o777


@pytest.mark.parametrize("tamper", ["value", "order", "gone", "added", "reordered digest", "no json"])
def test_a_line_that_was_changed_shows(job, tamper):
    for number in range(4):
        save(job, answer("runs", ("yes", "no")[number % 2]))
    path = journal_path(job)
    lines = path.read_bytes().splitlines(keepends=True)
    if tamper == "value":
        lines[2] = lines[2].replace(b"anna", b"otto")
    elif tamper == "order":
        lines[2], lines[3] = lines[3], lines[2]
    elif tamper == "gone":
        del lines[2]
    elif tamper == "added":
        lines.insert(2, lines[2])
    elif tamper == "no json":
        lines[2] = b"{}\n"
    else:
        plain = json.loads(lines[2])
        plain["to"] = "0" * 64
        lines[2] = json.dumps(plain).encode() + b"\n"
    path.write_bytes(b"".join(lines))
    with pytest.raises(HowdeepError) as caught:
        read_journal(job)
    fault = caught.value.faults[0]
    assert fault.file == str(path) and fault.line in (3, 4)
    before = job.read_bytes()
    with pytest.raises(HowdeepError):
        take_back(job)
    assert job.read_bytes() == before
    save(job, answer("runs", "only_just"))  # no save fails for it: the damaged one is put aside, a new one begins
    assert read_journal(job).text == job.read_text() and path.with_name(f"{path.name}.damaged-1").exists()


def test_a_line_torn_off_by_a_power_cut_is_written_over(job):
    save(job, answer("runs", "no"))
    path = journal_path(job)
    whole = path.read_bytes()
    save(job, answer("runs", "yes"))
    path.write_bytes(path.read_bytes()[: len(whole) + 40])
    assert len(read_journal(job).lines) == 2
    save(job, answer("smoke_any", "no"))
    journal = read_journal(job)
    assert journal.text.encode() == job.read_bytes()
    assert [line.kind for line in journal.lines][2:] == ["outside", "change"]
    assert ("answers.runs", "no", "yes") in [(item.where, item.was, item.now) for item in journal.lines[2].moved]


def test_changes_are_taken_back_one_after_the_other(job):
    start = job.read_text()
    save(job, answer("runs", "no"))
    save(job, answer("smoke_any", "no"))
    assert take_back(job).moved[0].where == "answers.smoke_any" and take_back(job).moved[0].where == "answers.runs"
    assert parse(job.read_text()).value == parse(start).value
    with pytest.raises(HowdeepError, match="no change to take back"):
        take_back(job)
    save(job, answer("power", "down_some"))
    assert take_back(job).moved[0].where == "answers.power"
    assert [line.kind for line in read_journal(job).lines].count("undo") == 3


@pytest.mark.parametrize(
    ("part", "said"),
    [
        ("waived", {"floor": {"by": "A. Customer", "how": "in person"}}),
        ("approvals", [{"date": "2026-01-02", "by": "A. Customer", "sum": "900.00", "how": "in person"}]),
        ("found", {"date": "2026-01-02", "scope_done": "refresh"}),
        ("papers", {"offer": {"number": "1001"}}),
    ],
)
def test_what_was_said_to_a_customer_is_never_taken_back(job, part, said):
    save(job, lambda plain: {**plain, part: said})
    before = job.read_bytes()
    with pytest.raises(HowdeepError, match="never taken back"):
        take_back(job)
    assert job.read_bytes() == before


def test_who_closed_wrongly_is_told_how_it_is_put_right(job):
    save(job, lambda plain: {**plain, "found": {"date": "2026-01-02", "scope_done": "refresh"}})
    with pytest.raises(HowdeepError, match="close it again with what is right"):
        take_back(job)


def test_a_file_changed_by_hand_since_is_not_taken_back_over(job):
    save(job, answer("runs", "no"))
    job.write_text(f"# remark\n{job.read_text()}")
    with pytest.raises(HowdeepError, match="other means"):
        take_back(job)


def test_answers_of_two_people_to_different_questions_both_stand(job, shop):
    mine = open_desk(shop, job, part="talk")
    theirs = open_desk(shop, job, part="talk")
    with acting("ben"):
        put(theirs, "start_cold", "needs_aid")
    with acting("anna"):
        after = put(mine, "noise", "tap")
    assert after.job.values["start_cold"] == "needs_aid" and after.job.values["noise"] == "tap"
    assert [line.by for line in read_journal(job).lines][-2:] == ["ben", "anna"]
    with pytest.raises(StaleFile):
        put(mine, "start_cold", "easy")
    assert read(job).value["answers"]["start_cold"] == "needs_aid", "nobody's answer is written over unseen"


def test_a_file_changed_by_an_editor_meanwhile_is_never_written_over(job, shop):
    write.save(job, read(job).digest, lambda plain: {**plain, "title": "begun"})  # a journal, which knows nothing
    mine = open_desk(shop, job, part="talk")
    job.write_text(job.read_text().replace("start_cold: long", "start_cold: easy"))
    before = job.read_bytes()
    assert b"start_cold: easy" in before
    for name, answer in (("start_cold", "needs_aid"), ("noise", "tap")):
        with pytest.raises(StaleFile):
            put(mine, name, answer)
    assert job.read_bytes() == before


def test_what_was_touched_since_is_told_only_where_the_journal_knows(job):
    save(job, answer("runs", "no"))
    since = digest_of(job.read_bytes())
    save(job, answer("smoke_any", "no"))
    lines = read_journal(job).lines
    assert since == digest(text_before(lines, 3)) and touched(lines, since) == {"answers.smoke_any"}
    assert touched(lines, "0" * 64) is None


def test_the_commands_read_it_and_take_back(job, shop):
    from typer.testing import CliRunner

    from howdeep.cli.main import app

    runner = CliRunner()
    assert "No journal yet" in runner.invoke(app, ["history", str(job)]).output
    save(job, answer("smoke_pulling", "black"), who="ben")
    told = runner.invoke(app, ["history", str(job)])
    assert told.exit_code == 0 and "ben: Smoke when pulling: " in told.output and "(was " in told.output
    shape = json.loads(runner.invoke(app, ["history", str(job), "--json"]).output)
    assert shape["howdeep_history"] == 1 and shape["lines"][1]["by"] == "ben"
    back = runner.invoke(app, ["undo", str(job)])
    assert back.exit_code == 0 and "Taken back: line 2" in back.output
    assert "Line 2 taken back" in runner.invoke(app, ["history", str(job)]).output
