"""What a sheet says that nobody has looked up is named beside the general limits that stood in."""

import json

import pytest
from typer.testing import CliRunner

from howdeep.assessment.session import open_shop
from howdeep.cli.main import app
from howdeep.knowledge.figure_words import FIELDS
from howdeep.knowledge.where import shipped_rules
from howdeep.sheets.draft import open_draft, saved, with_values
from howdeep.web.app import create_app

from .pages import CASE

TITLE = "Not looked up on this engine, so taken as is usual for such an engine"


@pytest.fixture
def job(tmp_path):
    """A job on a sheet of which only the bore and the number of cylinders were told."""
    path = tmp_path / "engines" / "ferrier-4.yaml"
    path.parent.mkdir()
    draft = open_draft(path, "Ferrier 4", [shipped_rules()])
    saved(draft, with_values(draft, {"build.cylinders": 4, "build.fuel": "petrol", "bore": {"low": "3.125 in"}}))
    (tmp_path / "job.yaml").write_text(CASE.read_text().replace("brockwell-4", "ferrier-4"))
    return tmp_path / "job.yaml"


def full(job):
    result = CliRunner().invoke(app, ["assess", str(job), "--full"])
    assert result.exit_code == 0, result.output[-500:]
    return result.output


def test_every_word_that_nobody_looked_up_is_named_with_what_was_taken(job):
    made = open_shop(None, None, job)
    engine = made.open_job(job).engine
    assert len(engine.assumed) > 10 and "build.fuel" not in engine.assumed and "build.cylinders" not in engine.assumed
    printed = " ".join(full(job).split())
    part = printed.split(TITLE.upper())[1].split("GENERAL LIMITS THAT STOOD IN")[0].lower()
    for path in engine.assumed:
        assert FIELDS[path.removeprefix("build.")] + ":" in part, path
    assert "what its bearings are: " in part and "its firing order: 1-3-4-2" in part and "what it burns" not in part
    assert part.count(" - ") == len(engine.assumed)


def test_the_page_and_the_json_name_them_too(job):
    made = open_shop(None, None, job)
    page = create_app(job.parent, made).test_client().get("/job/job").text
    assert TITLE in page and page.index(TITLE) < page.index("General limits that stood in")
    told = json.loads(CliRunner().invoke(app, ["assess", str(job), "--json"]).stdout)["engine"]
    assert list(told) == ["assumed"] and told["assumed"]["firing_order"] == "1-3-4-2"
    assert told["assumed"]["bearings"] == made.open_job(job).engine.build.bearings


def test_a_sheet_of_which_all_is_looked_up_says_nothing(tmp_path):
    (tmp_path / "job.yaml").write_text(CASE.read_text())
    assert TITLE.upper() not in " ".join(full(tmp_path / "job.yaml").split())
    made = open_shop(None, None, tmp_path / "job.yaml")
    assert TITLE not in create_app(tmp_path, made).test_client().get("/job/job").text
