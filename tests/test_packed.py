"""A folder of jobs goes into one archive and comes out the same; nothing of a doubtful archive is written."""

import json
import os
import stat
import zipfile

import pytest
from typer.testing import CliRunner

from howdeep.cli.main import app
from howdeep.errors import HowdeepError
from howdeep.files import packed
from howdeep.files.packed import DAYS, MANIFEST, NOTED, pack, unpack, unpacked_word


@pytest.fixture
def jobs(tmp_path):
    folder = tmp_path / "jobs"
    (folder / "engines").mkdir(parents=True)
    (folder / "rust.photos").mkdir()
    (folder / "rust.yaml").write_text("howdeep_job: 1\n", encoding="utf-8")
    (folder / "prices.yaml").write_text("name: Müller's list\n", encoding="utf-8")
    (folder / "engines" / "ferrier-3.yaml").write_text("name: Ferrier\n", encoding="utf-8")
    (folder / "rust.photos" / "0123.jpg").write_bytes(b"\xff\xd8\xff" + bytes(range(256)) * 20)
    return folder


def tree(folder):
    return {
        path.relative_to(folder).as_posix(): path.read_bytes()
        for path in folder.rglob("*")
        if path.is_file() and path.name != NOTED
    }


def made(file, entries, manifest=None, change=None):
    """An archive with these entries and, where none is given, a manifest that agrees with them."""
    import hashlib

    files = {name: {"size": len(data), "sha256": hashlib.sha256(data).hexdigest()} for name, data in entries.items()}
    with zipfile.ZipFile(file, "w") as archive:
        for name, data in entries.items():
            info = zipfile.ZipInfo(name)
            if change:
                change(info)
            archive.writestr(info, data)
        archive.writestr(
            MANIFEST,
            json.dumps(manifest if manifest is not None else {"howdeep_pack": 1, "made": "2026-11-29", "files": files}),
        )
    return file


def test_what_is_packed_comes_out_the_same(jobs, tmp_path):
    done = pack(jobs, tmp_path / "out.zip", "2026-11-29")
    assert done.files == 4 and not done.left_out
    unpack(tmp_path / "out.zip", tmp_path / "again")
    assert tree(tmp_path / "again") == tree(jobs)
    assert stat.S_IMODE((tmp_path / "out.zip").stat().st_mode) & 0o077 == 0  # names and telephone numbers


def test_neither_an_archive_nor_a_file_is_replaced_unasked(jobs, tmp_path):
    file = tmp_path / "out.zip"
    pack(jobs, file, "2026-11-29")
    with pytest.raises(HowdeepError, match="exists already"):
        pack(jobs, file, "2026-11-29")
    pack(jobs, file, "2026-11-29", force=True)
    unpack(file, jobs)  # the same files are no conflict
    (jobs / "rust.yaml").write_text("howdeep_job: 1\ntitle: newer\n", encoding="utf-8")
    with pytest.raises(HowdeepError, match="exists already and is another one"):
        unpack(file, jobs)
    assert "newer" in (jobs / "rust.yaml").read_text(encoding="utf-8")
    unpack(file, jobs, force=True)
    assert "newer" not in (jobs / "rust.yaml").read_text(encoding="utf-8")


def test_links_are_neither_packed_nor_written_through(jobs, tmp_path):
    secret = tmp_path / "secret.txt"
    secret.write_text("not yours", encoding="utf-8")
    (jobs / "link.yaml").symlink_to(secret)
    (jobs / "away").symlink_to(tmp_path)
    done = pack(jobs, tmp_path / "out.zip", "2026-11-29")
    assert set(done.left_out) == {"link.yaml", "away"}
    target = tmp_path / "target"
    target.mkdir()
    (target / "engines").symlink_to(tmp_path)
    with pytest.raises(HowdeepError, match="is a link"):
        unpack(tmp_path / "out.zip", target, force=True)
    assert not (tmp_path / "ferrier-3.yaml").exists() and not (target / "rust.yaml").exists()


@pytest.mark.parametrize(
    "name",
    ["../out.yaml", "/etc/x", "a/../../b", "a//b", "c:evil", "a\\b", "con.yaml", "a\x07b", "x" * 300, "a/./b", "ends "],
)
def test_a_name_that_leads_elsewhere_writes_nothing(tmp_path, name):
    file = made(tmp_path / "bad.zip", {"good.yaml": b"x", name: b"y"})
    with pytest.raises(HowdeepError, match="nothing was written|leads elsewhere|cannot keep|longer"):
        unpack(file, tmp_path / "target")
    assert not (tmp_path / "target").exists() and not (tmp_path / "out.yaml").exists()


def _is_link(info):
    info.external_attr = (stat.S_IFLNK | 0o777) << 16


SOUND = {"a.yaml": b"x" * 1000, "b.yaml": b"y"}
DOUBTFUL = {
    "a link": lambda file: made(file, {"a.yaml": b"/etc/passwd"}, change=_is_link),
    "no manifest": lambda file: zipfile.ZipFile(file, "w").writestr("a.yaml", "x"),
    "another manifest": lambda file: made(file, SOUND, {"howdeep_pack": 9, "files": {}}),
    "a manifest of rubbish": lambda file: made(file, SOUND, ["x"]),
    "a file more": lambda file: made(file, SOUND, {"howdeep_pack": 1, "files": {}}),
    "a file less": lambda file: made(file, {}, {"howdeep_pack": 1, "files": {"a": {"size": 1, "sha256": "0"}}}),
    "another digest": lambda file: made(
        file, {"a": b"x"}, {"howdeep_pack": 1, "files": {"a": {"size": 1, "sha256": "0" * 64}}}
    ),
    "a size beyond all bounds": lambda file: made(
        file, {"a": b"x"}, {"howdeep_pack": 1, "files": {"a": {"size": 10**15, "sha256": "0" * 64}}}
    ),
    "two names that are one": lambda file: made(file, {"a.yaml": b"x", "A.yaml": b"y"}),
    "no zip at all": lambda file: file.write_bytes(b"PK\x03\x04 nothing of the kind"),
}


@pytest.mark.parametrize("kind", DOUBTFUL)
def test_nothing_of_a_doubtful_archive_is_written(tmp_path, kind):
    file = tmp_path / "bad.zip"
    DOUBTFUL[kind](file)
    with pytest.raises(HowdeepError):
        unpack(file, tmp_path / "target")
    assert not (tmp_path / "target").exists()


def test_any_byte_that_changes_is_noticed_or_harmless(jobs, tmp_path):
    """One byte changed, a file cut short: refused in words, or what comes out is what went in."""
    file = tmp_path / "out.zip"
    pack(jobs, file, "2026-11-29")
    whole, before = file.read_bytes(), tree(jobs)
    for number, place in enumerate(range(0, len(whole), max(1, len(whole) // 60))):
        for kind, data in (
            ("other", whole[:place] + bytes([whole[place] ^ 0x41]) + whole[place + 1 :]),
            ("short", whole[:place]),
        ):
            file.write_bytes(data)
            target = tmp_path / f"{kind}{number}"
            try:
                unpack(file, target, force=True)
            except HowdeepError:
                assert not target.exists()
            else:
                assert tree(target) == before


def test_bounds_hold_before_anything_is_read(jobs, tmp_path, monkeypatch):
    monkeypatch.setattr(packed, "MOST_BYTES", 100)
    with pytest.raises(HowdeepError, match="larger"):
        pack(jobs, tmp_path / "out.zip", "2026-11-29")
    monkeypatch.setattr(packed, "MOST_BYTES", 10**6)
    monkeypatch.setattr(packed, "MOST_FILES", 2)
    with pytest.raises(HowdeepError, match="at most 2"):
        pack(jobs, tmp_path / "out.zip", "2026-11-29")
    assert not (tmp_path / "out.zip").exists() and not list(tmp_path.glob(".*"))


def test_a_month_without_packing_is_said(jobs, tmp_path):
    import time

    month = time.time() - (DAYS + 3) * 86400
    assert unpacked_word(jobs, time.strftime("%Y-%m-%d")) == ""  # the jobs are of today
    os.utime(jobs / "rust.yaml", (month, month))
    assert "never packed" in unpacked_word(jobs, time.strftime("%Y-%m-%d"))
    pack(jobs, jobs / "inside.zip", "2026-01-01")
    assert unpacked_word(jobs, "2026-01-31") == ""
    assert "last packed 31 days ago" in unpacked_word(jobs, "2026-02-01")
    assert pack(jobs, jobs / "again.zip", "2026-02-01").files == 5  # not itself, but the one before
    (jobs / NOTED).write_text("{", encoding="utf-8")  # a damaged note stops nothing
    assert "never packed" in unpacked_word(jobs, time.strftime("%Y-%m-%d"))


def test_the_commands_say_what_they_did(jobs, tmp_path):
    run = CliRunner().invoke
    told = run(app, ["pack", str(jobs), str(tmp_path / "out.zip")])
    assert told.exit_code == 0 and "Packed and read again: 4 files" in told.output
    told = run(app, ["unpack", str(tmp_path / "out.zip"), str(tmp_path / "new")])
    assert told.exit_code == 0 and "Sound, and written: 4 files" in told.output
