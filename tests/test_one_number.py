"""A number of a paper says one thing, and a job that was promised or closed says so on every surface."""

import shutil

import pytest

from howdeep.files.strict_yaml import read
from howdeep.job.write import save
from howdeep.record.close import close_change
from howdeep.shop.write import put_settings
from howdeep.web.app import create_app

from .commands import howdeep
from .pages import Page, text
from .test_quote import copy_of_case

FIRST = "What we need to find out first"


@pytest.fixture(scope="module")
def promised(tmp_path_factory, shop):
    """A folder with a job whose holds were all waived and that was promised, in a shop that numbers."""
    folder = tmp_path_factory.mktemp("promised")
    path = copy_of_case(folder)
    put_settings(folder / "shop.yaml", shop.knowledge, {"next_number": 1001, "number_prefix": "WB-"})
    before = howdeep("quote", path, "--html", folder / "before.html")
    made = howdeep("promise", "make", path)
    assert before.returncode == made.returncode == 0, before.stderr + made.stderr
    return path, (folder / "before.html").read_text(), made.stdout


@pytest.fixture
def copied(promised, tmp_path):
    path = tmp_path / "job.yaml"
    shutil.copy(promised[0], path)
    shutil.copytree(promised[0].with_name("job.promises"), tmp_path / "job.promises")
    shutil.copy(promised[0].with_name("shop.yaml"), tmp_path / "shop.yaml")
    return path


def test_what_is_found_out_first_and_the_promise_of_the_same_sums_have_each_its_number(promised):
    _, before, made = promised
    assert FIRST in before and "WB-1001" in before
    assert "No. WB-1002" in made and FIRST not in made


def test_once_a_promise_stands_letter_order_and_estimate_are_of_it(promised, shop):
    path, _, made = promised
    letter, estimate = howdeep("letter", path).stdout, howdeep("quote", path).stdout
    assert letter == howdeep("letter", path, "--promise", "WB-1002").stdout
    assert FIRST not in letter and "Find this out first" not in letter and "I agree to this work" in letter
    assert "No. WB-1002" in letter and estimate == made
    page = Page(create_app(path.parent, shop))
    for paper in ("letter", "quote"):
        told = text(page.get(f"/job/job/{paper}"))
        assert "WB-1002" in told and FIRST not in told, paper
    other = howdeep("letter", path, "--scope", "rebuild").stdout
    assert "not yet numbered" in other and "This is not a promise" in other


def test_a_promised_job_says_promised_and_a_closed_one_closed_and_asks_nothing(copied, shop):
    page = Page(create_app(copied.parent, shop))
    waits = howdeep("assess", copied).stdout
    assert "PROMISED, WAITS FOR A YES: REFRESH IN THE FRAME" in waits and "CHECK FIRST" not in waits
    done = howdeep("promise", "approve", copied, "--by", "J. Fenn", "--how", "in person")
    assert done.returncode == 0, done.stderr
    said, shown = howdeep("assess", copied).stdout, text(page.get("/job/job"))
    assert "PROMISED: REFRESH IN THE FRAME" in said and "Air cleaner (" not in said
    assert "Go on asking" not in shown and "The promise, and the customer" in shown
    assert '<p class="kind">Promised</p>' in shown
    save(
        copied,
        read(copied).digest,
        close_change(shop.knowledge, date="2026-04-01", causes={"worn_rings": "present"}, scope_done="refresh"),
    )
    said, shown = howdeep("assess", copied).stdout, text(page.get("/job/job"))
    assert "CLOSED: REFRESH IN THE FRAME" in said and "Found: piston rings worn" in said
    assert "Go on asking" not in shown and '<p class="kind">Closed</p>' in shown
