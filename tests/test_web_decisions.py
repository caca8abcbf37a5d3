"""The page's forms for what no question asks: the altitude of the place, and a check that somebody goes on without."""

import re

import pytest

from howdeep.job import write
from howdeep.job.decide import placing, waiving
from howdeep.job.read import read_job
from howdeep.web.app import create_app

from .commands import howdeep
from .pages import CASE, HOST, Page, browser, hidden, serious, served, strange_script, text
from .sampling import some


def job_of(folder, shop, name="hill-farm"):
    return read_job(folder / f"{name}.yaml", shop.knowledge, shop.folders)


def without_blanks(html):
    return " ".join(re.sub(r"<[^>]*>", " ", html).split())


WORDS = {"by": "Ann O.", "how": "by telephone", "reason": "Too far to drive", "date": "2026-03-05"}


def offered(page):
    return re.findall(r'name="hold" value="([^"]*)"', text(page.get("/job/hill-farm/waive")))


@pytest.mark.parametrize(
    ("typed", "unit", "kept"),
    [
        ("1200", "ft", "1200 ft"),
        ("800", "m", "800 m"),
        ("5200 ft", "m", "5200 ft"),
        ("1,200", "ft", "1,200 ft"),
        ("", "ft", ""),
    ],
)
def test_a_new_job_takes_the_altitude_of_the_place(page, folder, shop, typed, unit, kept):
    response = page.post(
        "/new", "/new", {"engine": "tarn-30", "words": "Smokes", "altitude": typed, "altitude.unit": unit}
    )
    assert response.status_code == 303
    name = response.headers["Location"].split("/")[2]
    assert job_of(folder, shop, name).job.place.altitude == kept
    assert (kept or "sea level") in text(page.get(f"/job/{name}"))


@pytest.mark.parametrize(
    ("typed", "said"),
    [
        ("high up", "is not a number with a unit"),
        ("1200 psi", "is a pressure"),
        ("1200 fet", "did you mean ft"),
        ("90000", "outside what a place can have"),
    ],
)
def test_an_altitude_that_is_none_comes_back_with_what_was_typed(page, folder, typed, said):
    before = sorted(folder.iterdir())
    response = page.post(
        "/new", "/new", {"engine": "tarn-30", "words": "Smokes & knocks", "altitude": typed, "altitude.unit": "m"}
    )
    html = text(response)
    assert response.status_code == 422 and said in html and "Smokes &amp; knocks" in html
    assert f'value="{typed}"' in html and '<option value="m" selected>' in html
    assert sorted(folder.iterdir()) == before


def test_the_place_of_a_job_is_set_changed_and_taken_away(page, folder, shop):
    here = "/job/hill-farm/place"
    assert f'href="{here}"' in text(page.get("/job/hill-farm"))
    for altitude, unit, air, kept in (
        ("5200", "ft", "10 degC", ("5200 ft", "10 degC")),
        ("800", "m", "", ("800 m", "")),
        ("", "m", "", ("", "")),
    ):
        response = page.post(
            here,
            here,
            {"altitude": altitude, "altitude.unit": unit, "air_temperature": air, "air_temperature.unit": "degF"},
        )
        assert response.status_code == 303 and response.headers["Location"] == "/job/hill-farm"
        place = job_of(folder, shop).job.place
        assert (place.altitude, place.air_temperature) == kept
    assert (folder / "hill-farm.yaml").read_text() == re.sub("place: .*\n", "", CASE.read_text())


def test_the_page_and_the_command_set_the_same_place(page, folder, shop, tmp_path):
    page.post("/job/hill-farm/place", "/job/hill-farm/place", {"altitude": "1200", "altitude.unit": "ft"})
    other = tmp_path / "job.yaml"
    other.write_text(CASE.read_text())
    assert howdeep("place", other, "--altitude", "1200 ft").returncode == 0
    assert other.read_text() == (folder / "hill-farm.yaml").read_text()


@pytest.mark.parametrize("field", ["altitude", "air_temperature"])
def test_a_place_that_is_none_is_refused_and_nothing_is_saved(page, folder, field):
    before = (folder / "hill-farm.yaml").read_bytes()
    response = page.post("/job/hill-farm/place", "/job/hill-farm/place", {field: "1e9", f"{field}.unit": "m"})
    assert response.status_code == 422 and 'value="1e9"' in text(response)
    assert (folder / "hill-farm.yaml").read_bytes() == before


def test_two_people_who_set_the_place_do_not_overwrite_each_other(page, folder, shop):
    html = text(page.get("/job/hill-farm/place"))
    path = folder / "hill-farm.yaml"
    write.save(path, job_of(folder, shop).digest, placing(altitude="900 ft"))
    late = {"form_token": hidden(html, "form_token"), "was.place": "{}", "altitude": "1200", "altitude.unit": "ft"}
    response = page.client.post("/job/hill-farm/place", data=late, headers=HOST)
    assert response.status_code == 409 and "900 ft" in text(response) and 'value="1200"' in text(response)
    assert job_of(folder, shop).job.place.altitude == "900 ft"


def test_every_hold_that_stands_can_be_waived_and_the_papers_say_so(page, folder, shop):
    answer = shop.assess(job_of(folder, shop), flips=False)
    stands = {hold.hold for hold in answer.holds if hold.state == "stands"}
    assert stands and stands <= set(offered(page))
    assert 'href="/job/hill-farm/waive"' in text(page.get("/job/hill-farm"))
    for hold in sorted(stands):
        response = page.post("/job/hill-farm/waive", "/job/hill-farm/waive", {**WORDS, "hold": hold})
        assert response.status_code == 303, without_blanks(text(response))
        waiver = job_of(folder, shop).job.waived[hold]
        assert (waiver.by, waiver.how, waiver.reason, waiver.date) == tuple(WORDS.values())
    assert not stands & set(offered(page))
    said = "Waived by Ann O., by telephone, 2026-03-05: Too far to drive"
    for path in ("/job/hill-farm", "/job/hill-farm/waive"):
        assert without_blanks(text(page.get(path))).count(said) == len(stands), path
    assert "Waived by Ann O., by telephone, 2026-03-05" in without_blanks(text(page.get("/job/hill-farm/quote")))


def test_several_holds_are_waived_in_one_form_and_the_one_asked_for_is_ticked(page, folder, shop):
    first, second, *_ = stand = offered(page)
    html = text(page.get(f"/job/hill-farm/waive?hold={second}"))
    assert re.findall(r'name="hold" value="([^"]*)"[^>]* checked', html) == [second]
    both = {**WORDS, "hold": [first, "no_such"]}
    assert page.post("/job/hill-farm/waive", "/job/hill-farm/waive", both).status_code == 422
    assert not job_of(folder, shop).job.waived, "all or none"
    both["hold"] = [first, second]
    assert page.post("/job/hill-farm/waive", "/job/hill-farm/waive", both).status_code == 303
    assert set(job_of(folder, shop).job.waived) == {first, second} and offered(page) == stand[2:]


def test_what_stands_before_a_promise_besides_holds_is_offered_too(shop, tmp_path):
    """The floor and the look inside are offered exactly where a promise is refused for them."""
    from howdeep.cases.run import case_files
    from howdeep.errors import Held
    from howdeep.knowledge.where import shipped_cases
    from howdeep.quote.held import refuse_promise

    jobs, met = tmp_path / "jobs", set()
    jobs.mkdir()
    page = Page(create_app(jobs, shop))
    for path in some(case_files(shipped_cases())[::30], 2):
        (jobs / "hill-farm.yaml").write_bytes(path.read_bytes())
        answer = shop.assess(shop.open_job(jobs / "hill-farm.yaml"), flips=False, questions=True)  # as the page
        refused = ""
        try:
            refuse_promise(
                shop.knowledge,
                answer,
                shop.prices,
                answer.decision.job,
                answer.decision.line(answer.decision.job).enough,
            )
        except Held as held:
            refused = str(held)
        there = offered(page)
        for other in ("floor", "two_steps"):
            assert (other in there) == (f" {other} --by" in refused), (path.stem, other)
            met.add((other, other in there))
    assert {("floor", True), ("floor", False)} <= met, met


@pytest.mark.parametrize(
    ("change", "said"),
    [
        ({"by": " "}, "Say who decided"),
        ({"how": ""}, "Say who decided"),
        ({"hold": ""}, "Choose what"),
        ({"hold": "no_such"}, "need not be waived"),
        ({"date": "yesterday"}, "is not a date"),
        ({"reason": "x" * 500}, "longer than"),
    ],
)
def test_a_waiver_that_lacks_something_comes_back_with_what_was_typed(page, folder, change, said):
    before = (folder / "hill-farm.yaml").read_bytes()
    hold = offered(page)[0]
    response = page.post("/job/hill-farm/waive", "/job/hill-farm/waive", {**WORDS, "hold": hold, **change})
    html = text(response)
    assert response.status_code == 422 and said in html
    assert ("by" in change or 'value="Ann O."' in html) and ("reason" in change or "Too far to drive" in html)
    assert (folder / "hill-farm.yaml").read_bytes() == before


def test_a_place_that_nobody_touched_is_saved_as_it_stands(page, folder, shop):
    """The case gives '55 °F', as people write it; sent back as shown it is the same."""
    shown = {
        field: re.search(rf'name="{field}"[^>]*value="([^"]*)"', text(page.get("/job/hill-farm/place")))[1]
        for field in ("altitude", "air_temperature")
    }
    assert page.post("/job/hill-farm/place", "/job/hill-farm/place", shown).status_code == 303
    assert (folder / "hill-farm.yaml").read_text() == CASE.read_text()


def test_a_hold_that_was_waived_meanwhile_is_told(page, folder, shop):
    html = text(page.get("/job/hill-farm/waive"))
    hold = offered(page)[0]
    write.save(
        folder / "hill-farm.yaml",
        job_of(folder, shop).digest,
        waiving(hold, by="Ben", how="in writing", date="2026-03-04"),
    )
    late = {"form_token": hidden(html, "form_token"), "was.waived": "{}", "hold": hold, **WORDS}
    response = page.client.post("/job/hill-farm/waive", data=late, headers=HOST)
    assert response.status_code == 409 and "Waived by Ben" in text(response) and 'value="Ann O."' in text(response)
    assert job_of(folder, shop).job.waived[hold].by == "Ben"


@pytest.mark.parametrize(("path", "fields"), [("place", {"altitude": "1200 ft"}), ("waive", WORDS)])
@pytest.mark.parametrize("token", ["", "0" * 64, "ü"])
def test_no_form_is_taken_without_its_token_and_what_was_typed_comes_back(page, folder, path, fields, token):
    before = (folder / "hill-farm.yaml").read_bytes()
    at = f"/job/hill-farm/{path}"
    response = page.post(at, at, fields, form_token=token)
    html = text(response)
    assert response.status_code == 403 and "expired" in html
    assert next(iter(fields.values())) in html
    assert (folder / "hill-farm.yaml").read_bytes() == before


@pytest.mark.parametrize("path", ["place", "waive"])
def test_the_forms_are_shown_without_script_and_need_a_job(page, path):
    response = page.get(f"/job/hill-farm/{path}")
    assert response.status_code == 200 and not strange_script(text(response))
    assert page.get(f"/job/nobody/{path}").status_code == 404
    assert page.get(f"/job/prices/{path}").status_code in (404, 422)


def test_behind_the_page_s_token_a_typed_form_is_carried_along(folder, shop):
    locked = Page(create_app(folder, shop, token="open sesame"))
    response = locked.client.post("/job/hill-farm/place", data={"altitude": "1200 ft"}, headers=HOST)
    html = text(response)
    assert response.status_code == 403 and 'name="kept.altitude" value="1200 ft"' in html


@pytest.mark.parametrize(("width", "height"), [(390, 844), (1280, 900)], ids=["phone", "desktop"])
def test_in_a_browser_both_forms_fit_are_labelled_and_save(folder, shop, tmp_path, width, height):
    from selenium.webdriver.common.by import By

    from .test_web_browser import press

    with served(create_app(folder, shop)) as base, browser(width, height) as window:
        for path in ("/new", "/job/hill-farm/place", "/job/hill-farm/waive", "/job/hill-farm"):
            window.get(base + path)
            assert serious(window) == [], path
            wide = window.execute_script("return document.documentElement.scrollWidth - window.innerWidth")
            assert wide <= 1, (path, "scrolls sideways")
        window.get(f"{base}/job/hill-farm/place")
        window.find_element(By.ID, "altitude").clear()
        window.find_element(By.ID, "altitude").send_keys("1200")
        press(window, window.find_element(By.CSS_SELECTOR, "main form button"))
        assert job_of(folder, shop).job.place.altitude == "1200 ft"
        window.get(f"{base}/job/hill-farm/waive")
        window.find_element(By.CSS_SELECTOR, "input[name=hold]").click()
        window.find_element(By.ID, "by").send_keys("Ann O.")
        how = window.find_element(By.CSS_SELECTOR, "input[name=how][value='by telephone']")
        window.execute_script("arguments[0].scrollIntoView({block: 'center'})", how)
        how.click()
        press(window, window.find_element(By.CSS_SELECTOR, "main form button"))
        (waiver,) = job_of(folder, shop).job.waived.values()
        assert (waiver.by, waiver.how) == ("Ann O.", "by telephone")
