"""Files written whole: links, write protection, permissions, and things that are no files."""

import os
import stat

import pytest

from howdeep.errors import HowdeepError, StaleFile
from howdeep.files.strict_yaml import digest_of
from howdeep.files.whole import locked, write_whole


@pytest.mark.parametrize("steps", [1, 3])
def test_the_file_behind_a_link_is_written_and_the_link_stays(tmp_path, steps):
    (tmp_path / "real").mkdir()
    real = tmp_path / "real" / "job.yaml"
    real.write_text("old")
    link = real
    for step in range(steps):
        link, before = tmp_path / f"link{step}.yaml", link
        link.symlink_to(os.path.relpath(before, tmp_path))
    write_whole(link, b"new")
    assert link.is_symlink() and real.read_text() == "new"
    assert os.listdir(real.parent) == ["job.yaml"]


def test_a_link_that_leads_nowhere_or_round_in_a_circle_is_refused(tmp_path):
    (tmp_path / "nowhere").symlink_to("gone.yaml")
    (tmp_path / "circle").symlink_to("circle")
    for name in ("nowhere", "circle"):
        with pytest.raises(HowdeepError, match=name):
            write_whole(tmp_path / name, b"new", force=False)
    assert sorted(os.listdir(tmp_path)) == ["circle", "nowhere"]


def test_a_write_protected_file_is_refused_and_left_as_it_is(tmp_path):
    path = tmp_path / "job.yaml"
    path.write_text("old")
    path.chmod(0o444)
    with pytest.raises(HowdeepError, match="write-protected"):
        write_whole(path, b"new")
    assert path.read_text() == "old" and os.listdir(tmp_path) == ["job.yaml"]


@pytest.mark.parametrize("kind", ["folder", "pipe"])
def test_what_is_no_regular_file_is_never_replaced(tmp_path, kind):
    path = tmp_path / "thing"
    path.mkdir() if kind == "folder" else os.mkfifo(path)
    with pytest.raises(HowdeepError, match=f"a {kind}, not a regular file"):
        write_whole(path, b"new")
    assert os.listdir(tmp_path) == ["thing"]


@pytest.mark.parametrize("mode", [0o600, 0o640, 0o664])
def test_permissions_are_kept_and_those_of_a_secret_are_never_wider(tmp_path, mode):
    path = tmp_path / "kept"
    path.write_text("old")
    path.chmod(mode)
    write_whole(path, b"new")
    assert stat.S_IMODE(path.stat().st_mode) == mode
    write_whole(tmp_path / "secret", b"new", mode=0o600)
    assert stat.S_IMODE((tmp_path / "secret").stat().st_mode) == 0o600


def test_a_file_that_is_no_longer_the_one_that_was_read_is_not_replaced(tmp_path):
    path = tmp_path / "job.yaml"
    path.write_text("by hand")
    with pytest.raises(StaleFile):
        write_whole(path, b"new", digest=digest_of(b"as read"))
    path.unlink()
    with pytest.raises(StaleFile):
        write_whole(path, b"new", digest=digest_of(b"as read"))
    assert os.listdir(tmp_path) == []


def test_a_step_may_lock_what_its_caller_has_locked(tmp_path):
    path = tmp_path / "job.yaml"
    with locked(path), locked(path):
        write_whole(path, b"new", force=False)
    assert path.read_text() == "new" and os.listdir(tmp_path) == ["job.yaml"]
