"""Notes and photographs of a job: kept as given, once, and missed when they are gone. Pictures are made here."""

import hashlib
import io
import struct
import zlib

import pytest
from PIL import Image
from typer.testing import CliRunner

from howdeep.cli.main import app
from howdeep.errors import HowdeepError
from howdeep.files.small_picture import made_small
from howdeep.files.strict_yaml import read
from howdeep.job import kept, paper_copy, write

DAY = "2026-11-29"


def picture(shade):
    """A PNG of one grey pixel (W3C, Portable Network Graphics, section 5: signature and chunks)."""

    def chunk(kind, data):
        return struct.pack(">I", len(data)) + kind + data + struct.pack(">I", zlib.crc32(kind + data))

    return (
        b"\x89PNG\r\n\x1a\n"
        + chunk(b"IHDR", struct.pack(">IIBBBBB", 1, 1, 8, 0, 0, 0, 0))
        + chunk(b"IDAT", zlib.compress(bytes([0, shade])))
        + chunk(b"IEND", b"")
    )


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
    (entry,) = read(job).value["photos"]
    assert entry["sha256"] == hashlib.sha256(data).hexdigest() and entry["of"] == "bore_look"
    assert (tmp_path / "job.photos" / entry["file"]).read_bytes() == data and entry["file"].endswith(".png")
    assert run("photo", job, source, "--of", "bore 3 at the top").exit_code == 0
    assert len(read(job).value["photos"]) == 2
    stem = entry["file"].partition(".")[0]
    assert sorted(path.name for path in (tmp_path / "job.photos").iterdir()) == [f"{stem}.paper.jpg", f"{stem}.png"]


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


@pytest.mark.parametrize(
    ("data", "of", "said"),
    [
        (b"%PDF-1.4 no picture", "bore_look", "no picture"),
        (None, "bore_look", "cannot be read"),
        (b"\xff\xd8\xff\xe0 a photograph", " ", "say what the photograph shows"),
    ],
)
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


def telephone_picture(width=3000, height=1500):
    """A JPEG as a telephone makes it: lying on its side, with the place where it was taken and a maker's note (tags of
    the Exif standard, CIPA DC-008: Orientation 0x0112, Make 0x010f, GPS IFD 0x8825)."""
    shot = Image.new("RGB", (width, height), "navy")
    shot.paste("red", (0, 0, width // 2, height))  # what lies left in the file stands above once it is upright
    exif = Image.Exif()
    exif[0x0112], exif[0x010F] = 6, "no such maker"
    exif.get_ifd(0x8825).update({1: "N", 2: (51.0, 30.0, 0.0), 3: "W", 4: (0.0, 7.0, 0.0)})
    data = io.BytesIO()
    shot.save(data, "JPEG", exif=exif, comment=b"shot in the yard")
    return data.getvalue()


def test_the_copy_for_paper_is_upright_and_small_and_tells_no_place(job, tmp_path):
    source, data = tmp_path / "shot.jpg", telephone_picture()
    source.write_bytes(data)
    assert b"no such maker" in data and b"GPS" not in data and Image.open(source).getexif().get_ifd(0x8825)
    assert run("photo", job, source, "--of", "bore_look").exit_code == 0
    (entry,) = read(job).value["photos"]
    assert (tmp_path / "job.photos" / entry["file"]).read_bytes() == data
    (copy,) = (tmp_path / "job.photos").glob("*.paper.jpg")
    with Image.open(copy) as small:
        assert small.size == (600, 1200) and small.format == "JPEG" and not dict(small.getexif())
        above, below = small.getpixel((300, 100)), small.getpixel((300, 1100))
        assert above[0] > 200 > above[2] and below[0] < 60
        assert not {"exif", "comment", "xmp", "photoshop"} & small.info.keys()
    assert b"no such maker" not in copy.read_bytes() and b"yard" not in copy.read_bytes()


def test_a_small_picture_is_not_blown_up_and_a_clear_one_stands_on_white():
    clear = io.BytesIO()
    Image.new("RGBA", (40, 20), (0, 0, 0, 0)).save(clear, "PNG")
    with Image.open(io.BytesIO(made_small(clear.getvalue(), paper_copy.LONGEST, paper_copy.QUALITY))) as small:
        assert small.size == (40, 20) and small.getpixel((20, 10)) == (255, 255, 255)


@pytest.mark.parametrize(
    "data", [b"\xff\xd8\xff\xe0 a photograph", picture(3)[:40], b"GIF89a", telephone_picture(60, 40)[:900]]
)
def test_a_picture_that_cannot_be_read_is_kept_all_the_same_and_that_is_said(job, tmp_path, data):
    source = tmp_path / "broken"
    source.write_bytes(data)
    done = run("photo", job, source, "--of", "bore_look")
    assert done.exit_code == 0 and "no copy for paper" in done.output and "Traceback" not in done.output
    (entry,) = read(job).value["photos"]
    assert [path.name for path in (tmp_path / "job.photos").iterdir()] == [entry["file"]]
