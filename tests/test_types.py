"""The types that stand in the program are true: mypy, as pyproject.toml sets it, finds nothing."""

import subprocess
import sys
import tomllib

import pytest

from .places import ROOT

EASED = {
    "howdeep.web.*": {
        "disallow_untyped_defs",
        "disallow_incomplete_defs",
        "disallow_untyped_calls",
        "disallow_any_generics",
        "warn_return_any",
        "implicit_reexport",
    },
    "howdeep.logic._experta": {"disallow_subclassing_any"},
}
"""Where the checker is less strict, and in what: nowhere else, and in nothing more."""


def mypy(*arguments, cache):
    return subprocess.run(
        [sys.executable, "-m", "mypy", "--cache-dir", str(cache), "--no-error-summary", *arguments],
        cwd=ROOT,
        capture_output=True,
        text=True,
        timeout=300,
    )


@pytest.fixture(scope="module")
def cache(tmp_path_factory):
    """The checker's own notes: empty at first, so that nothing of an earlier run is believed."""
    return tmp_path_factory.mktemp("mypy")


def test_the_type_checker_finds_nothing(cache):
    done = mypy(cache=cache)
    assert done.returncode == 0, f"{done.stdout[-6000:]}{done.stderr[-2000:]}"


def test_the_checker_looks_at_the_whole_package_and_says_what_is_wrong(tmp_path, cache):
    settings = tomllib.loads((ROOT / "pyproject.toml").read_text())["tool"]["mypy"]
    assert settings["files"] == ["src/howdeep"] and "exclude" not in settings
    assert settings["strict"] is True
    eased = {
        module: set(part) - {"module"}
        for part in settings["overrides"]
        for module in part["module"]
        if module.startswith("howdeep")
    }
    assert eased == EASED
    wrong = tmp_path / "wrong.py"
    wrong.write_text(
        "from howdeep import assess_job, open_shop, quote_job, read_job\n\n"
        "shop = open_shop()\nanswer = assess_job(read_job('job.yaml', shop), shop)\n"
        "total = quote_job(answer, shop).total + 1\nanswer.decision.lines\n"
    )
    done = mypy(str(wrong), cache=cache)
    assert done.returncode == 1 and "wrong.py:5: error" in done.stdout and "wrong.py:6: error" in done.stdout
    assert done.stdout.count("error:") == 2, done.stdout  # a total may be None; there is no such field
