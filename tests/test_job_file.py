"""Job files: every fault at once with its place; a save is whole, or it is refused."""

import os
from pathlib import Path

import pytest

from howdeep.errors import HowdeepError, StaleFile
from howdeep.files.strict_yaml import digest_of, parse
from howdeep.job import write
from howdeep.job.read import open_text, read_job

from .conftest import SMALL

GOOD = """howdeep_job: 1
engine: twin
answers: {runs: yes, smoke: blue}
readings:
  plugs: {1: oily, 2: dry}
  squeeze: {1: 60 psi, 2: 4.5 bar}
  volts: 9.8
  loss: 80/62
teardown:
  bore: {1: {top: [3.004 in, 76.25 mm], bottom: [3.001 in, 3.001 in]}}
"""


def opened(text, small, name="job.yaml"):
    return open_text(text, name, Path("."), small, [SMALL])


def faults(text, small):
    with pytest.raises(HowdeepError) as caught:
        opened(text, small)
    return caught.value.faults


def test_values_come_in_the_unit_of_their_observation(small):
    values = opened(GOOD, small).values
    assert values["runs"] == "yes" and values["plugs"] == ("oily", "dry")
    assert values["squeeze"][0] == 60 and values["squeeze"][1] == pytest.approx(65.2670, abs=1e-4)
    # FAA AC 43.13-1B para 8-14: 80 psi in, 62 held
    assert values["loss"] == pytest.approx(22.5)
    assert values["bore"][0][0][1] == pytest.approx(76.25 / 25.4) and values["bore"][1] is None


@pytest.mark.parametrize(
    ("change", "place", "words", "hint"),
    [
        (("smoke: blue", "smok: blue"), (3, 22), "no observation 'smok'", "smoke"),
        (("smoke: blue", "smoke: blu"), (3, 29), "'blu' is no answer", "blue"),
        (("runs: yes", "runs: true"), (3, 17), "'true' is no answer", "write yes"),
        (("volts: 9.8", "volts: 98"), (7, 10), "outside what 'Cranking voltage' can be", "decimal"),
        (("1: 60 psi", "1: 60"), (6, 16), "has no unit", ""),
        (("1: 60 psi", "1: 60 in"), (6, 16), "is a length", ""),
        (("1: 60 psi", "3: 60 psi"), (6, 16), "no cylinder 3", "1 to 2"),
        (("engine: twin", "engine: twinn"), (2, 9), "no engine sheet 'twinn'", "twin"),
        (("howdeep_job: 1", "howdeep_job: 2"), (1, 14), "'2' is not one of 1", ""),
        (("teardown:", "teardwn:"), (9, 1), "'teardwn' is not a field", "teardown"),
        (("  volts: 9.8\n", ""), None, "", ""),
    ],
)
def test_each_fault_names_its_place_its_value_and_the_nearest_right_spelling(small, change, place, words, hint):
    text = GOOD.replace(*change)
    assert text != GOOD
    if place is None:
        assert "volts" not in opened(text, small).values
        return
    found = [fault for fault in faults(text, small) if words in fault.message]
    assert found, [str(fault) for fault in faults(text, small)]
    assert (found[0].line, found[0].column) == place
    assert hint in found[0].hint


def test_an_answer_in_the_wrong_section_is_sent_to_the_right_one(small):
    text = GOOD.replace("answers: {runs: yes, smoke: blue}", "answers: {runs: yes, smoke: blue, volts: 9}")
    assert any("belongs under 'readings'" in fault.hint for fault in faults(text, small))


def test_all_faults_of_a_job_come_at_once(small):
    text = GOOD.replace("smoke: blue", "smoke: blu").replace("1: 60 psi", "1: 60 qt").replace("80/62", "62/80")
    assert len(faults(text, small)) == 3


def test_the_faults_that_do_not_hang_on_the_engine_are_told_beside_one_that_is_not_found(small):
    text = GOOD.replace("twin", "twinn").replace("runs: yes", "runs: maybe").replace("60 psi", "60 in")
    said = [fault.message for fault in faults(text.replace("9.8", "98"), small)]
    assert len(said) == 4 and any("'twinn'" in text for text in said) and any("'maybe'" in text for text in said)


def test_unknown_and_later_are_answers_and_never_values(small):
    job = opened(GOOD.replace("smoke: blue", "smoke: unknown").replace("volts: 9.8", "volts: later"), small)
    assert job.unknown == {"smoke"} and job.later == {"volts"}
    assert "smoke" not in job.values and "volts" not in job.values


def test_a_file_that_is_not_there_or_too_large_says_so(small, tmp_path):
    with pytest.raises(HowdeepError, match="no such file"):
        read_job(tmp_path / "none.yaml", small, [SMALL])
    big = tmp_path / "big.yaml"
    big.write_text("a: " + "x" * 1_100_000)
    with pytest.raises(HowdeepError, match="larger than"):
        read_job(big, small, [SMALL])
    binary = tmp_path / "b.yaml"
    binary.write_bytes(b"a: \xff\xfe")
    with pytest.raises(HowdeepError, match="UTF-8"):
        read_job(binary, small, [SMALL])


def test_an_engine_sheet_outside_the_folder_of_the_job_is_refused(small):
    assert any("beside the job" in fault.message for fault in faults(GOOD.replace("twin", "../../x.yaml"), small))


def test_a_saved_answer_is_read_back_and_nothing_else_changes(small, tmp_path):
    path = tmp_path / "job.yaml"
    digest = write.create(path, parse(GOOD).value)
    before = read_job(path, small, [SMALL])
    digest = write.save(path, digest, write.with_answer(small, "smoke", "none"))
    after = read_job(path, small, [SMALL])
    assert after.values == {**before.values, "smoke": "none"}
    assert digest == after.digest
    write.save(path, digest, write.with_answer(small, "smoke", None))
    assert "smoke" not in read_job(path, small, [SMALL]).values
    assert sorted(os.listdir(tmp_path)) == ["job.journal", "job.yaml"]


def test_a_file_changed_by_someone_else_is_never_overwritten(small, tmp_path):
    path = tmp_path / "job.yaml"
    digest = write.create(path, parse(GOOD).value)
    path.write_text(path.read_text().replace("smoke: blue", "smoke: none"))
    kept = path.read_bytes()
    with pytest.raises(StaleFile, match="changed by someone else"):
        write.save(path, digest, write.with_answer(small, "runs", "no"))
    assert path.read_bytes() == kept
    path.unlink()
    with pytest.raises(StaleFile, match="deleted"):
        write.save(path, digest_of(kept), write.with_answer(small, "runs", "no"))
    assert not path.exists()


def test_a_disk_that_fills_up_leaves_the_old_file_whole(small, tmp_path, monkeypatch):
    path = tmp_path / "job.yaml"
    digest = write.create(path, parse(GOOD).value)
    kept = path.read_bytes()

    def full(handle):
        raise OSError(28, "No space left on device")

    monkeypatch.setattr(os, "fsync", full)
    with pytest.raises(HowdeepError, match="No space left"):
        write.save(path, digest, write.with_answer(small, "runs", "no"))
    assert path.read_bytes() == kept and sorted(os.listdir(tmp_path)) == ["job.journal", "job.yaml"]


def test_a_new_job_never_replaces_a_file(tmp_path):
    path = tmp_path / "job.yaml"
    path.write_text("mine")
    with pytest.raises(HowdeepError, match="exists already"):
        write.create(path, write.new_job("twin"))
    assert path.read_text() == "mine"


@pytest.mark.parametrize(
    ("words", "title"),
    [
        ("It smokes and has no pull", "It smokes and has no pull"),
        ("  It smokes.\n  Oil everywhere ", "It smokes. Oil everywhere"),
        (
            "It smokes blue all the time now, worst up the lane with a load on, and I carry a can of oil with me.",
            "It smokes blue all the time now, worst up the lane with a load on",
        ),
        (
            "It will not start. " + "My father laid it up in the barn when he gave up the farm. " * 2,
            "It will not start.",
        ),
        ("knocking " * 20, "knocking knocking knocking knocking knocking knocking knocking ..."),
        ("x" * 100, "x" * 70 + " ..."),
        ("", ""),
    ],
)
def test_a_title_is_made_of_the_first_words_that_are_whole(words, title):
    assert write.title_of(words) == title
