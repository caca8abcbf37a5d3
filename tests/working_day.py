"""The pages of a working day: four jobs as they come, one of them promised and opened up with a change since."""

import shutil

from howdeep.web.app import create_app

from .pages import CASE, Page
from .test_quote import copy_of_case, opened_up

JOBS = (
    "worn_rings_guides_and_mains_of_one_tractor_are_one_refresh",
    "a_hot_seizure_scores_one_bore_and_the_block_is_bored",
    "six_years_stuck_in_a_shed_begins_with_a_lamp_a_bottle_of_oil_and_a_week",
)
DAY = (
    "",
    "/ask",
    "/ask?question=compression_dry",
    "/ask?question=bore_size",
    "/readings",
    "/open",
    "/answers",
    "/why",
    "/why/worn_rings",
    "/papers",
    "/promises",
    "/waive",
    "/place",
    "/engine",
    "/prices",
    "/note",
    "/history",
    "/prove",
    "/close",
    "/delete",
)
"""Ends of the addresses of a job."""
CHANGED = ("/changes/first",)
"""The same of a job that was promised."""
SHOP = ("/", "/new", "/engines", "/prices", "/prices/check", "/prices/import", "/shop", "/record", "/devices")
PAPERS = (
    "/quote?annex=yes",
    "/letter",
    "/order",
    "/changes/first/paper",
    "/sheet/assembly",
    "/sheet/proof",
    "/sheet/blank",
)


def folder_of_a_day(tmp, shop):
    """A folder with the promised job (job-0), three cases and a price list begun."""
    folder = tmp / "jobs"
    folder.mkdir()
    copy_of_case(tmp).rename(folder / "job-0.yaml")
    page = Page(create_app(folder, shop))
    assert page.post("/job/job-0/promises", "/job/job-0/promises", {"promise": "first"}).status_code == 303
    opened_up(shop, folder / "job-0.yaml")
    for number, name in enumerate(JOBS, 1):
        shutil.copy(CASE.with_name(f"{name}.yaml"), folder / f"job-{number}.yaml")
    assert page.post("/prices", "/prices", {"list.name": "Lane End", "list.currency": "USD"}).status_code == 303
    return folder


def pages_of_a_day(folder):
    """Every page of the day, of every job."""
    return [
        *SHOP,
        *(f"/job/{path.stem}{end}" for path in sorted(folder.glob("job-*.yaml")) for end in DAY),
        *(f"/job/job-0{end}" for end in CHANGED),
    ]
