"""The source is laid out and held to one set of rules: ruff, as pyproject.toml sets it, finds nothing."""

import subprocess
import sys

import pytest

from .places import ROOT

PLACES = ("src", "tests", "bench", "docs")


def ruff(*arguments):
    return subprocess.run(
        [sys.executable, "-m", "ruff", *arguments], cwd=ROOT, capture_output=True, text=True, timeout=120
    )


@pytest.mark.parametrize("command", [("format", "--check", "--no-cache"), ("check", "--no-cache")])
def test_nothing_is_found(command):
    done = ruff(*command, *PLACES)
    assert done.returncode == 0, done.stdout + done.stderr


def test_what_is_laid_out_otherwise_is_found(tmp_path):
    wrong = tmp_path / "wrong.py"
    wrong.write_text("import os\nx = {  'a':1 }\n")
    assert ruff("format", "--check", "--no-cache", str(wrong)).returncode == 1
    found = ruff("check", "--no-cache", "--config", str(ROOT / "pyproject.toml"), str(wrong))
    assert found.returncode == 1 and "F401" in found.stdout
