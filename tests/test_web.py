"""The page: what it shows and saves, and every way in that it refuses."""

import os
from functools import partial

import pytest

from howdeep.job.read import read_job
from howdeep.web.app import create_app
from howdeep.web.serve import is_loopback, serve

from .at_once import at_once
from .pages import CASE, HOST, OWN_SCRIPT, Page, hidden, served, shown, strange_script, text


def values(folder, shop, name="hill-farm"):
    return read_job(folder / f"{name}.yaml", shop.knowledge, shop.folders).values


def test_the_list_shows_and_finds_jobs_and_names_damaged_files(page, folder):
    (folder / "broken.yaml").write_text("a: [1")
    html = text(page.get("/"))
    assert "Smoke and low compression" in html and "broken" in html and "cannot be read" in html
    assert "Smoke and low" in text(page.get("/?search=hill+farm")) and "Nothing matches" in text(
        page.get("/?search=nobody")
    )


@pytest.mark.parametrize(
    "path",
    [
        "/",
        "/new",
        "/job/hill-farm",
        "/job/hill-farm/ask",
        "/job/hill-farm/readings",
        "/job/hill-farm/answers",
        "/job/hill-farm/why/worn_rings",
        "/job/hill-farm/quote",
        "/job/hill-farm/close",
        "/job/hill-farm/delete",
        "/enter",
        "/job/hill-farm/why/re_ring",
        "/job/hill-farm/place",
        "/job/hill-farm/waive",
        "/job/hill-farm/ask?question=compression_dry",
    ],
)
def test_every_page_is_shown_with_its_headers_and_no_script_but_the_one_that_keeps_what_is_typed(page, path):
    response = page.get(path)
    assert response.status_code == 200
    html = text(response)
    assert not strange_script(html) and "<h1" in html and 'lang="en"' in html
    policy = response.headers["Content-Security-Policy"]
    assert "default-src 'none'" in policy and ("script-src 'self';" in policy) == (OWN_SCRIPT in html), (
        "a paper has no script"
    )
    assert response.headers["X-Content-Type-Options"] == "nosniff" and response.headers["Cache-Control"] == "no-store"


def test_a_new_job_goes_from_words_to_the_first_question(page, folder, shop):
    response = page.post("/new", "/new", {"engine": "tarn-30", "words": "It knocks when it pulls", "name": "Ann O."})
    assert response.status_code == 303
    (created,) = [path for path in folder.glob("*.yaml") if path.stem != "hill-farm"]
    job = read_job(created, shop.knowledge, shop.folders).job
    assert job.customer.words == "It knocks when it pulls" and job.engine == "tarn-30"
    where = response.headers["Location"]
    assert "Save and go on" in text(page.get(where)) and "knocks or makes a noise" in text(page.get(where))
    html = text(page.get(f"{where}?last=complaint"))
    assert "Don't know" in html and "Not now" in html
    assert "Nothing has shown yet" in html
    assert "Nothing has shown yet" not in text(page.get("/job/hill-farm/ask"))


def test_what_is_put_off_is_named_at_the_end_and_not_asked_for_ever(page, folder, shop):
    """The customer's part ends with the answer beside it, what was put off, and what the bench could show."""
    response = page.post("/new", "/new", {"engine": "tarn-30", "words": "It knocks when it pulls"})
    where = response.headers["Location"] + "?last=complaint"
    name = where.split("/job/")[1].split("/")[0]
    assert "knocks or makes a noise" in text(page.get(where)).split("sounds like")[1].split("</p>")[0]
    said = {}
    for count in range(40):
        html = text(page.get(where))
        if "That is the customer" in html:
            break
        question = hidden(html, "question")
        put_off = said.setdefault(question, {"how": "later" if count % 2 else "unknown"})  # again where it comes back
        told = {"complaint": "knocks"} if question == "complaint" else put_off
        response = page.post(f"/job/{name}/answer", where, {"question": question, **told})
        assert response.status_code == 303
        where = response.headers["Location"]
    assert "That is the customer" in html, "it is asked for ever"
    assert "Put off earlier" in html and "At the bench" in html and "Why do you ask" not in html


def test_an_answer_is_on_disk_before_the_next_question_shows(page, folder, shop):
    response = page.post(
        "/job/hill-farm/answer", "/job/hill-farm/ask?question=leak_pan", {"question": "leak_pan", "leak_pan": "damp"}
    )
    assert response.status_code == 303 and values(folder, shop)["leak_pan"] == "damp"
    assert "So far" in text(page.get(response.headers["Location"]))


def test_what_would_change_the_answer_is_shown_after_an_answer_too(page, folder):
    case = CASE.parent / "no_spark_with_fuel_at_the_bowl_is_the_magneto.yaml"
    (folder / "magneto.yaml").write_bytes(case.read_bytes())
    assert "What would change the answer" in text(page.get("/job/magneto/why"))
    response = page.post(
        "/job/magneto/answer", "/job/magneto/ask?question=leak_pan", {"question": "leak_pan", "leak_pan": "damp"}
    )
    assert response.status_code == 303
    assert "What would change the answer" in text(page.get("/job/magneto/why"))


def test_dont_know_is_an_answer_and_evidence_of_nothing(page, folder, shop):
    page.post(
        "/job/hill-farm/answer",
        "/job/hill-farm/ask?question=noise",
        {"question": "noise", "noise": "none", "how": "unknown"},
    )
    job = read_job(folder / "hill-farm.yaml", shop.knowledge, shop.folders)
    assert "noise" in job.unknown and "noise" not in job.values


def test_a_follow_up_whose_ground_is_gone_is_dropped_and_said(page, folder, shop):
    response = page.post(
        "/job/hill-farm/answer", "/job/hill-farm/ask?question=smoke_any", {"question": "smoke_any", "smoke_any": "no"}
    )
    now = values(folder, shop)
    assert now["smoke_any"] == "no" and "smoke_pulling" not in now and "smoke_idle" not in now
    assert "its ground is gone" in text(page.get(response.headers["Location"]))


def test_readings_are_entered_for_each_cylinder_with_their_unit(page, folder, shop):
    fields = {
        "observation": "compression_dry",
        "compression_dry.unit": "bar",
        **{f"compression_dry.{index}": "4" for index in range(1, 4)},
        "compression_dry.4": "60 psi",
    }
    response = page.post("/job/hill-farm/readings", "/job/hill-farm/readings", fields)
    assert response.status_code == 303
    assert values(folder, shop)["compression_dry"] == pytest.approx((58.015, 58.015, 58.015, 60), abs=0.01)


def test_a_wrong_value_is_named_and_stays_on_the_screen(page, folder, shop):
    before = (folder / "hill-farm.yaml").read_bytes()
    response = page.post(
        "/job/hill-farm/answer",
        "/job/hill-farm/ask?question=battery_rest",
        {"question": "battery_rest", "battery_rest": "six psi"},
    )
    html = text(response)
    assert response.status_code == 422 and "six psi" in html and 'role="alert"' in html
    assert (folder / "hill-farm.yaml").read_bytes() == before


def test_a_stale_save_is_refused_with_both_values_shown(page, folder, shop):
    html = text(page.get("/job/hill-farm/ask?question=noise"))
    fields = {"form_token": hidden(html, "form_token"), **shown(html), "question": "noise", "noise": "knock_deep"}
    other = Page(page.client.application)
    other.post("/job/hill-farm/answer", "/job/hill-farm/ask?question=noise", {"question": "noise", "noise": "ping"})
    kept = (folder / "hill-farm.yaml").read_bytes()
    response = page.client.post("/job/hill-farm/answer", data=fields, headers=HOST)
    answers = shop.knowledge.observations["noise"].answers
    assert response.status_code == 409
    from markupsafe import escape

    assert str(escape(answers["ping"])) in text(response) and str(escape(answers["knock_deep"])) in text(response)
    assert (folder / "hill-farm.yaml").read_bytes() == kept


def test_a_full_disk_keeps_what_was_typed_on_the_screen(page, folder, monkeypatch):
    before = (folder / "hill-farm.yaml").read_bytes()

    def full(handle):
        raise OSError(28, "No space left on device")

    html = text(page.get("/job/hill-farm/ask?question=oil_pressure_idle"))
    fields = {
        "form_token": hidden(html, "form_token"),
        **shown(html),
        "question": "oil_pressure_idle",
        "oil_pressure_idle": "12.5 psi",
    }
    monkeypatch.setattr(os, "fsync", full)
    response = page.client.post("/job/hill-farm/answer", data=fields, headers=HOST)
    assert response.status_code == 422 and "No space left" in text(response) and "12.5 psi" in text(response)
    assert (folder / "hill-farm.yaml").read_bytes() == before


def test_a_job_deleted_meanwhile_is_said_and_never_made_again(page, folder):
    page.get("/job/hill-farm")
    (folder / "hill-farm.yaml").unlink()
    assert page.get("/job/hill-farm").status_code == 404
    assert list(folder.glob("*.yaml")) == []


def test_closing_and_deleting_a_job(page, folder, shop):
    response = page.post(
        "/job/hill-farm/close",
        "/job/hill-farm/close",
        {
            "date": "2026-04-01",
            "cause.worn_rings": "present",
            "cause.worn_bores": "absent",
            "scope_done": "refresh",
            "cost": "1200",
            "came_back": "no",
        },
    )
    assert response.status_code == 303
    found = read_job(folder / "hill-farm.yaml", shop.knowledge, shop.folders).job.found
    assert found.causes == {"worn_bores": "absent", "worn_rings": "present"} and found.scope_done == "refresh"
    assert page.post("/job/hill-farm/delete", "/job/hill-farm/delete", {}).status_code == 303
    assert not (folder / "hill-farm.yaml").exists()


# --- ways in that are refused


def test_a_form_without_its_token_or_from_another_site_is_refused(page, folder):
    before = (folder / "hill-farm.yaml").read_bytes()
    fields = {"question": "noise", "noise": "ping"}
    where = "/job/hill-farm/ask?question=noise"
    assert page.post("/job/hill-farm/answer", where, fields, form_token="").status_code == 403
    assert page.post("/job/hill-farm/answer", where, fields, form_token="0" * 64).status_code == 403
    for headers in (
        {"Origin": "http://elsewhere.example"},
        {"Origin": "null"},
        {"Sec-Fetch-Site": "cross-site"},
        {"Sec-Fetch-Site": "same-site"},
    ):
        assert page.post("/job/hill-farm/answer", where, fields, headers=headers).status_code == 403
    assert (
        Page(page.client.application).client.post("/job/hill-farm/answer", data=fields, headers=HOST).status_code == 403
    )
    assert (folder / "hill-farm.yaml").read_bytes() == before


def test_a_token_of_one_session_is_no_use_in_another(page, folder):
    html = text(page.get("/job/hill-farm/delete"))
    stranger = Page(page.client.application)
    stranger.get("/")
    response = stranger.client.post(
        "/job/hill-farm/delete", data={"form_token": hidden(html, "form_token")}, headers=HOST
    )
    assert response.status_code == 403 and (folder / "hill-farm.yaml").exists()


@pytest.mark.parametrize("host", ["evil.example", "localhost.evil.example", "127.0.0.1.evil.example", "169.254.1.1"])
def test_a_foreign_host_name_is_refused(page, host):
    assert page.client.get("/", headers={"Host": host}).status_code == 421


@pytest.mark.parametrize(
    "name",
    ["../secret", "..%2fsecret", "%2e%2e%2fsecret", ".hidden", "a/../../b", "a%00b", "..", "con\\..\\x", "x" * 200],
)
def test_a_name_cannot_leave_the_folder(page, folder, name):
    (folder.parent / "secret.yaml").write_text(CASE.read_text())
    (folder / ".hidden.yaml").write_text(CASE.read_text())
    for path in (f"/job/{name}", f"/job/{name}/ask", f"/job/{name}/delete"):
        assert page.get(path).status_code in (404, 422, 308)


def test_a_link_out_of_the_folder_is_not_followed(page, folder, tmp_path):
    (tmp_path / "outside.yaml").write_text(CASE.read_text())
    (folder / "link.yaml").symlink_to(tmp_path / "outside.yaml")
    assert page.get("/job/link").status_code == 422


def test_an_overlarge_request_and_an_odd_method_are_refused(page):
    assert page.post("/new", "/new", {"engine": "tarn-30", "words": "x" * 300_000}).status_code == 413
    assert page.client.put("/job/hill-farm", headers=HOST).status_code == 405
    assert page.client.delete("/job/hill-farm", headers=HOST).status_code == 405


@pytest.mark.parametrize(
    "words",
    [
        "<script>alert(1)</script>",
        '"><img src=x onerror=alert(1)>',
        "{{ 7*7 }}",
        "\u202egnp.exe",
        "a" * 9_000,
        "x\x00y\x07z",
        "javascript:alert(1)",
    ],
)
def test_a_customers_words_are_shown_as_text(page, folder, words):
    response = page.post("/new", "/new", {"engine": "tarn-30", "words": words, "title": "T"})
    assert response.status_code == 303
    name = response.headers["Location"].split("/")[2]
    for path in (f"/job/{name}", f"/job/{name}/ask", "/", f"/job/{name}/quote"):
        html = text(page.get(path))
        assert not strange_script(html) and "<img" not in html and "49" not in html.split("<blockquote>")[-1][:12]
        assert "\x00" not in html and "\x07" not in html


def test_with_a_token_nothing_is_shown_before_it_is_entered(folder, shop):
    page = Page(create_app(folder, shop, hosts=frozenset({""}), token="a long enough token"))
    assert page.get("/").headers["Location"] == "/enter"
    assert page.get("/job/hill-farm").status_code == 303
    assert page.post("/enter", "/enter", {"token": "wrong"}).status_code == 403
    assert page.get("/job/hill-farm").status_code == 303
    entered = page.post("/enter", "/enter", {"token": "a long enough token"})
    assert entered.status_code == 303 and "HttpOnly" in entered.headers["Set-Cookie"]
    assert page.get("/job/hill-farm").status_code == 200


@pytest.mark.parametrize(
    ("host", "local"),
    [
        ("127.0.0.1", True),
        ("::1", True),
        ("localhost", True),
        ("0.0.0.0", False),
        ("192.168.1.5", False),
        ("shop.example", False),
    ],
)
def test_only_this_machine_unless_told_otherwise(host, local, folder):
    assert is_loopback(host) is local
    if not local:
        from howdeep.errors import HowdeepError

        with pytest.raises(HowdeepError, match="token"):
            serve(folder, host=host, port=8421, token="short", rules=None, prices=None)


def test_twenty_people_at_once_meet_no_error_and_lose_no_answer(folder, shop, tmp_path):
    import re
    import shutil
    import urllib.parse
    import urllib.request
    from http.cookiejar import CookieJar

    for index in range(20):
        shutil.copy(CASE, folder / f"job-{index}.yaml")
    faults = []

    def person(base, index):
        opener = urllib.request.build_opener(urllib.request.HTTPCookieProcessor(CookieJar()))
        try:
            for answer in ("damp", "dry"):
                html = opener.open(f"{base}/job/job-{index}/ask?question=leak_pan", timeout=60).read().decode()
                fields = {
                    "form_token": re.search(r'form_token" value="([^"]*)"', html).group(1),
                    **shown(html),
                    "question": "leak_pan",
                    "leak_pan": answer,
                }
                sent = urllib.parse.urlencode(fields).encode()
                opener.open(f"{base}/job/job-{index}/answer", sent, timeout=60).read()
                if values(folder, shop, f"job-{index}")["leak_pan"] != answer:
                    faults.append(f"{index}: {answer} was lost")
        except Exception as error:
            faults.append(f"{index}: {error!r}")

    with served(create_app(folder, shop)) as base:
        at_once(*(partial(person, base, index) for index in range(20)), seconds=600)
    assert faults == []
