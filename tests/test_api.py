"""What a program may use: its names, that they cost a command nothing, and the programs of docs/api.md."""

import contextlib
import io
import re
import subprocess
import sys

import pytest

import howdeep

from .places import ROOT

PAGE = (ROOT / "docs" / "api.md").read_text(encoding="utf-8")
BLOCKS = re.findall(r"^```(yaml|python|text)\n(.*?)^```$", PAGE, re.MULTILINE | re.DOTALL)
JOB = next(text for kind, text in BLOCKS if kind == "yaml")
PROGRAMS = [(program, BLOCKS[place + 1][1]) for place, (kind, program) in enumerate(BLOCKS) if kind == "python"]


@pytest.mark.parametrize(("program", "printed"), PROGRAMS, ids=("an answer and a quote", "a fault"))
def test_the_programs_of_the_page_print_what_stands_below_them(program, printed, tmp_path, monkeypatch):
    monkeypatch.chdir(tmp_path)
    (tmp_path / "job.yaml").write_text(JOB)
    out = io.StringIO()
    with contextlib.redirect_stdout(out):
        exec(compile(program, "docs/api.md", "exec"), {})
    assert out.getvalue() == printed and printed.count("\n") >= 1
    assert (tmp_path / "job.yaml").read_text() == JOB


def test_every_name_leads_to_what_the_page_says_and_stands_there():
    from howdeep import api

    assert howdeep.__all__ == api.__all__ and sorted(howdeep.__all__) == howdeep.__all__
    assert set(howdeep.__all__) <= set(dir(howdeep))
    for name in howdeep.__all__:
        assert getattr(howdeep, name) is getattr(api, name)
    for name in (
        "open_shop",
        "read_job",
        "assess_job",
        "quote_job",
        "HowdeepError",
        "Shop",
        "OpenJob",
        "Assessment",
        "Quote",
    ):
        assert f"`{name}" in PAGE
        assert getattr(howdeep, name).__doc__
    with pytest.raises(AttributeError, match="no attribute 'nothing'"):
        howdeep.nothing  # noqa: B018


def test_a_start_loads_nothing_for_the_sake_of_the_names():
    script = (
        "import sys, howdeep; print(*sorted(name for name in sys.modules if name.startswith('howdeep')))\n"
        "import howdeep.cli.main; print('howdeep.api' in sys.modules, 'howdeep.model.results' in sys.modules)"
    )
    done = subprocess.run([sys.executable, "-c", script], capture_output=True, text=True, timeout=60)
    assert done.stdout == "howdeep\nFalse False\n", done.stderr
