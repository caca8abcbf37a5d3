"""The page's promises: made once, numbered, the change sheet since, and the customer's yes typed below it."""

import base64
import re
from io import BytesIO

import pytest

from howdeep.errors import HowdeepError
from howdeep.files.strict_yaml import read
from howdeep.job.kept import photo_of, put_beside, showing
from howdeep.job.read import read_job
from howdeep.job.write import save
from howdeep.quote.promise import quote_from_plain, stored
from howdeep.shop.write import put_settings
from howdeep.web.app import create_app

from .pages import Page, text
from .test_quote import copy_of_case, opened_up

HERE = "/job/job"


@pytest.fixture
def made(tmp_path, shop):
    """(page, job file) of a job with all waived that stands before its promise, in a shop that numbers."""
    path = copy_of_case(tmp_path)
    put_settings(tmp_path / "shop.yaml", shop.knowledge, {"next_number": 41, "number_prefix": "M-"})
    return Page(create_app(tmp_path, shop)), path


def job_of(path, shop):
    return read_job(path, shop.knowledge, shop.folders)


def picture(path):
    from PIL import Image

    out = BytesIO()
    Image.new("RGB", (3000, 2000), "grey").save(out, "JPEG")
    path.write_bytes(out.getvalue())
    return path


def test_a_promise_made_on_the_page_is_the_one_that_the_commands_read_and_the_yes_is_kept_with_its_sheet(
    made, shop, tmp_path
):
    page, path = made
    shown = text(page.get(f"{HERE}/promises"))
    assert "What stands before a promise" not in shown and "Promise it" in shown
    assert page.post(f"{HERE}/number", f"{HERE}/promises", {}).status_code == 303
    assert "M-41" in text(page.get(f"{HERE}/quote"))
    assert page.post(f"{HERE}/promises", f"{HERE}/promises", {"promise": ""}).status_code == 303
    job = job_of(path, shop)
    assert list(job.job.promises) == ["M-42"]  # what was printed as M-41 finds out first, and promises nothing
    assert [paper.number for paper in job.job.papers] == ["M-41", "M-42"]
    promise = quote_from_plain(stored(job, "M-42")["quote"], "x")
    kept = {file.name: file.read_bytes() for file in (tmp_path / "job.promises").iterdir()}
    assert f"{promise.total:,.2f}" in text(page.get(f"{HERE}/promise/M-42"))
    twice = page.post(f"{HERE}/promises", f"{HERE}/promises", {"promise": "M-42"})
    assert twice.status_code == 422 and "never changed" in text(twice)

    opened_up(shop, path)
    photo, data = photo_of(picture(tmp_path / "bore.jpg"), "bore_look", "2026-11-29")
    put_beside(path, photo, data)
    save(path, read(path).digest, showing(photo))
    sheet = text(page.get(f"{HERE}/changes/M-42"))
    assert "Needs the customer&#39;s yes" in sheet or "Needs the customer's yes" in sheet
    now = re.search(r'name="was.total" value="([0-9.]+)"', sheet).group(1)
    paper = text(page.get(f"{HERE}/changes/M-42/paper"))
    data = re.search(r'src="data:image/jpeg;base64,([^"]+)"', paper).group(1)
    assert len(base64.b64decode(data)) < 60_000 and f"{float(now):,.2f}" in paper

    form = {"promise": "M-42"}
    fields = {"by": "Hill Farm", "how": "by telephone", "date": "2026-11-30", "time": "14:30"}
    for wrong, says in (
        ({"by": ""}, "Say who"),
        ({"how": "by pigeon"}, "Say who"),
        ({"time": "25:00"}, "is not a time"),
        ({"date": "soon"}, "is not a date"),
    ):
        refused = page.post(f"{HERE}/approve", f"{HERE}/changes/M-42", {**form, **fields, **wrong})
        assert refused.status_code == 422 and says in text(refused), wrong
        assert "Hill Farm" in text(refused) or wrong == {"by": ""}
    moved = page.post(f"{HERE}/approve", f"{HERE}/changes/M-42", {**form, **fields}, **{"was.total": "1.00"})
    assert moved.status_code == 409 and not job_of(path, shop).job.approvals
    assert page.post(f"{HERE}/approve", f"{HERE}/changes/M-42", {**form, **fields}).status_code == 303
    (yes,) = job_of(path, shop).job.approvals
    assert {key: yes[key] for key in ("by", "how", "date", "time", "sum", "promise", "number")} == {
        **fields,
        "sum": now,
        "promise": "M-42",
        "number": "M-43",
    }
    with_yes = read(tmp_path / "job.promises" / yes["sheet"]).value
    assert with_yes["total_after"] == now and with_yes["number"] == "M-43" and with_yes["found"]
    after = text(page.get(f"{HERE}/changes/M-42"))
    assert "Within what was agreed" in after and "Hill Farm, by telephone, 2026-11-30 at 14:30" in after
    for name, data in kept.items():
        assert (tmp_path / "job.promises" / name).read_bytes() == data, "a stored promise is never rewritten"

    assert page.post(f"{HERE}/delete", f"{HERE}/delete", {}).status_code == 303
    assert not (tmp_path / "job.promises").exists() and not (tmp_path / "job.photos").exists()


def test_every_paper_of_a_job_is_listed_and_opens(page, shop):
    listed = [
        *re.findall(r'<li><a href="([^"]*)"', text(page.get("/job/hill-farm/papers")).split("<h2>")[1]),
        *re.findall(r'<li><a href="([^"]*)"', text(page.get("/job/hill-farm/prove")).split("<h2>")[1]),
    ]
    assert len(listed) >= 8
    for address in [*listed, "/job/hill-farm/sheet/blank?for=compression_dry"]:
        answer = page.get(address)
        assert answer.status_code == 200, address
        assert "Hill Farm" in text(answer) or address.endswith(("/close", "/readings", ".csv")), address
    assert page.get("/job/hill-farm/sheet/blank?for=nothing").status_code == 422


def test_what_stands_before_a_promise_is_said_and_nothing_is_kept(page, folder, shop):
    here = "/job/hill-farm/promises"
    shown = text(page.get(here))
    assert "What stands before a promise" in shown and "Promise it" not in shown and "/waive" in shown
    refused = page.post(here, "/job/hill-farm/waive", {"promise": "first", "was.total": "3259.51"})
    assert refused.status_code == 422 and "held by" in text(refused)
    assert sorted(path.name for path in folder.iterdir()) == ["hill-farm.yaml"]
    assert page.get("/job/hill-farm/changes/first").status_code == 422
    with pytest.raises(HowdeepError, match="no promise"):
        stored(job_of(folder / "hill-farm.yaml", shop), "first")
