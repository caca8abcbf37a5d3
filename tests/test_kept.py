"""Notes and photographs of a job: kept as given, once, and missed when they are gone. Pictures are made here."""

import hashlib
import struct
import zlib

import pytest
from typer.testing import CliRunner

from howdeep.cli import app
from howdeep.errors import HowdeepError
from howdeep.files.strict_yaml import read
from howdeep.job import kept, write

DAY = "2026-11-29"


def picture(shade):
    """A PNG of one grey pixel (W3C, Portable Network Graphics, section 5: signature and chunks)."""
    def chunk(kind, data):
        return struct.pack(">I", len(data)) + kind + data + struct.pack(">I", zlib.crc32(kind + data))

    return (b"\x89PNG\r\n\x1a\n" + chunk(b"IHDR", struct.pack(">IIBBBBB", 1, 1, 8, 0, 0, 0, 0))
            + chunk(b"IDAT", zlib.compress(bytes([0, shade]))) + chunk(b"IEND", b""))


@pytest.fixture
def job(tmp_path):
    path = tmp_path / "job.yaml"
    path.write_text("# ours\nhowdeep_job: 1\nengine: tarn-30  # by the plate\nanswers:\n  runs: yes\n")
    return path


def run(*words):
    return CliRunner().invoke(app, [str(word) for word in words])


def test_a_note_is_added_behind_the_others_and_moves_no_answer(job, shop):
    before = shop.assess(shop.open_job(job), checks=False, flips=False)
    assert run("note", job, "Owner wants it", "for the rally").exit_code == 0
    assert run("note", job, "<b>two</b>\n: of them").exit_code == 0
    opened = shop.open_job(job)
    assert [note.text for note in opened.job.notes] == ["Owner wants it for the rally", "<b>two</b>\n: of them"]
    assert job.read_text().startswith("# ours\nhowdeep_job: 1\nengine: tarn-30  # by the plate\n")
    after = shop.assess(opened, checks=False, flips=False)
    assert after.decision == before.decision and after.beliefs == before.beliefs
    assert "Owner wants it for the rally" in run("note", job).stdout


def test_nothing_and_far_too_much_are_no_note(job):
    kept_bytes = job.read_bytes()
    for text in ("  ", "x" * 2001):
        with pytest.raises(HowdeepError):
            kept.noting(text, DAY)
        assert run("note", job, text).exit_code != 0
    assert job.read_bytes() == kept_bytes


def test_a_photograph_is_kept_whole_under_its_hash_and_entered_once(job, tmp_path):
    data = picture(7)
    source = tmp_path / "IMG 0001.JPG"  # named by its camera, told by its bytes
    source.write_bytes(data)
    for _ in range(2):
        done = run("photo", job, source, "--of", "bore_look")
        assert done.exit_code == 0, done.output
    entry, = read(job).value["photos"]
    assert entry["sha256"] == hashlib.sha256(data).hexdigest() and entry["of"] == "bore_look"
    assert (tmp_path / "job.photos" / entry["file"]).read_bytes() == data and entry["file"].endswith(".png")
    assert run("photo", job, source, "--of", "bore 3 at the top").exit_code == 0
    assert len(read(job).value["photos"]) == 2 and len(list((tmp_path / "job.photos").iterdir())) == 1


def test_a_photograph_that_is_gone_or_another_is_said(job, tmp_path):
    source = tmp_path / "a.png"
    for shade in (1, 2):
        source.write_bytes(picture(shade))
        run("photo", job, source, "--of", f"shade {shade}")
    first, second = (tmp_path / "job.photos" / item["file"] for item in read(job).value["photos"])
    assert run("photo", job).exit_code == 0
    first.unlink()
    second.write_bytes(picture(9))
    told = run("photo", job)
    assert told.exit_code == 1 and "is gone" in told.output and "another picture" in told.output


@pytest.mark.parametrize(("data", "of", "said"), [
    (b"%PDF-1.4 no picture", "bore_look", "no picture"), (None, "bore_look", "cannot be read"),
    (b"\xff\xd8\xff\xe0 a photograph", " ", "say what the photograph shows"),
])
def test_what_is_no_picture_or_shows_nothing_named_is_refused(tmp_path, data, of, said):
    file = tmp_path / "file"
    if data is not None:
        file.write_bytes(data)
    with pytest.raises(HowdeepError, match=said):
        kept.photo_of(file, of, DAY)


def test_a_misspelt_reading_is_met_with_the_nearest_and_nothing_is_kept(job, tmp_path):
    source = tmp_path / "a.png"
    source.write_bytes(picture(3))
    done = run("photo", job, source, "--of", "bore_loook")
    assert done.exit_code != 0 and not (tmp_path / "job.photos").exists() and "photos" not in read(job).value


def test_a_new_job_with_a_note_is_ordered_and_read(tmp_path, shop):
    path = tmp_path / "n.yaml"
    write.create(path, kept.noting("hello", DAY)(write.new_job("tarn-30", answers={"runs": "yes"})))
    assert shop.open_job(path).job.notes[0].text == "hello"
