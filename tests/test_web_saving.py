"""What was typed is saved or shown again, whatever happens meanwhile: other people, restarts, faults, expired forms."""

import os
import re
import stat
from functools import partial
from html import unescape

import pytest

from howdeep.errors import Fault, HowdeepError, StaleFile
from howdeep.job import write
from howdeep.job.read import read_job
from howdeep.web import saving
from howdeep.web.app import create_app
from howdeep.web.secret import FILE, kept_secret

from .at_once import at_once
from .pages import HOST, Page, folder_with_case, hidden, served, shown, text
from .sampling import some

BORES = [
    f"bore_size.{cylinder}.{row}.{axis}"
    for cylinder in range(1, 5)
    for row in ("top", "middle", "bottom")
    for axis in (0, 1)
]
READINGS = "/job/hill-farm/readings"


@pytest.fixture
def folder(tmp_path):
    folder = folder_with_case(tmp_path)
    path = folder / "hill-farm.yaml"
    write.save(path, read_digest(path), lambda plain: {**plain, "teardown": {}})
    return folder


def read_digest(path):
    from howdeep.files.strict_yaml import read

    return read(path).digest


@pytest.fixture
def page(folder, shop):
    return Page(create_app(folder, shop, secret=b"s" * 32))


def job_of(folder, shop):
    return read_job(folder / "hill-farm.yaml", shop.knowledge, shop.folders)


def bores(start=0):
    return {field: f"3.{4375 + start + number}" for number, field in enumerate(BORES)}


def form(page, path, **fields):
    html = text(page.get(path))
    return {"form_token": hidden(html, "form_token"), **shown(html), **fields}


def field(html, name):
    found = re.search(rf'<input id="{re.escape(name)}"[^>]* value="([^"]*)"', html)
    return unescape(found.group(1)) if found else None


def test_the_bore_has_twenty_four_fields_here(shop, folder):
    from howdeep.web.forms import cells_of

    assert [cell.field for cell in cells_of(shop.knowledge.observations["bore_size"], "bore_size", 4)] == BORES


def test_twenty_four_bores_and_a_save_from_another_device_both_stay(page, folder, shop):
    typed = form(page, READINGS, observation="bore_size", **{"bore_size.unit": "in"}, **bores())
    other = Page(page.client.application)
    assert (
        other.post(
            "/job/hill-farm/answer",
            "/job/hill-farm/ask?question=leak_pan",
            {"question": "leak_pan", "leak_pan": "damp"},
        ).status_code
        == 303
    )
    assert page.client.post(READINGS, data=typed, headers=HOST).status_code == 303
    now = job_of(folder, shop)
    assert now.values["leak_pan"] == "damp"
    assert [value for cylinder in now.values["bore_size"] for row in cylinder for value in row] == pytest.approx(
        [float(value) for value in bores().values()]
    )


def test_two_devices_fill_in_different_cylinders_of_one_table(page, folder, shop):
    first = form(
        page,
        READINGS,
        observation="bore_size",
        **{"bore_size.unit": "in"},
        **{name: value for name, value in bores().items() if name.startswith(("bore_size.1", "bore_size.2"))},
    )
    second = form(
        page,
        READINGS,
        observation="bore_size",
        **{"bore_size.unit": "in"},
        **{name: value for name, value in bores().items() if name.startswith(("bore_size.3", "bore_size.4"))},
    )
    for sent in (first, second):
        assert page.client.post(READINGS, data=sent, headers=HOST).status_code == 303
    assert None not in job_of(folder, shop).values["bore_size"]


def test_one_field_of_two_people_brings_the_form_back_with_all_that_was_typed_and_both_values(page, folder, shop):
    typed = form(page, READINGS, observation="bore_size", **{"bore_size.unit": "in"}, **bores())
    theirs = form(page, READINGS, observation="bore_size", **{"bore_size.unit": "in", "bore_size.2.top.0": "3.4999"})
    assert page.client.post(READINGS, data=theirs, headers=HOST).status_code == 303
    before = (folder / "hill-farm.yaml").read_bytes()
    response = page.client.post(READINGS, data=typed, headers=HOST)
    html = text(response)
    assert response.status_code == 409 and (folder / "hill-farm.yaml").read_bytes() == before
    assert {name: field(html, name) for name in BORES} == bores()
    assert "3.4999 in" in html and "Cylinder 2, top thrust" in html and "<details open>" in html
    shown_now = {
        "form_token": hidden(html, "form_token"),
        **shown(html),
        "observation": "bore_size",
        "bore_size.unit": "in",
        **{name: field(html, name) for name in BORES},
    }
    kept_theirs = page.client.post(READINGS, data={**shown_now, "theirs.bore_size.2.top.0": "1"}, headers=HOST)
    assert kept_theirs.status_code == 303
    values = job_of(folder, shop).values["bore_size"]
    assert values[1][0][0] == 3.4999 and values[0][0][0] == 3.4375 and values[3][2][1] == pytest.approx(3.4398)


def test_sending_again_after_both_were_shown_puts_ones_own_in(page, folder, shop):
    where = "/job/hill-farm/ask?question=noise"
    mine = form(page, where, question="noise", noise="knock_deep")
    page.post("/job/hill-farm/answer", where, {"question": "noise", "noise": "ping"})
    html = text(page.client.post("/job/hill-farm/answer", data=mine, headers=HOST))
    answers = shop.knowledge.observations["noise"].answers
    assert unescape(html).count(answers["ping"]) >= 2 and job_of(folder, shop).values["noise"] == "ping"
    again = {**mine, "form_token": hidden(html, "form_token"), **shown(html)}
    assert page.client.post("/job/hill-farm/answer", data=again, headers=HOST).status_code == 303
    assert job_of(folder, shop).values["noise"] == "knock_deep"


def test_a_fault_in_one_reading_keeps_every_other_one_on_the_screen(page, folder):
    typed = {**bores(), "bore_size.4.bottom.1": "three inches", "compression_wet.1": "131 psi"}
    data = form(page, READINGS, **{"bore_size.unit": "in"}, **typed)
    data["observation"] = ["bore_size", "compression_wet"]
    response = page.client.post(READINGS, data=data, headers=HOST)
    html = text(response)
    assert response.status_code == 422 and "three inches" in html
    assert {name: field(html, name) for name in typed} == typed


def test_every_group_of_readings_is_one_form_so_none_is_lost_by_saving_another(page):
    html = text(page.get(READINGS))
    assert html.count('<form method="post"') == 1 and html.count("<details") >= 5
    form_text = html[html.index("<form") : html.index("</form>")]
    assert form_text.count("<details") == html.count("<details")


# --- restarts and expired forms


@pytest.fixture
def state(tmp_path):
    return tmp_path / "state"


def test_a_restart_between_opening_and_saving_a_form_loses_nothing(folder, shop, state):
    before = Page(create_app(folder, shop, secret=kept_secret(state)[0]))
    typed = form(before, READINGS, observation="bore_size", **{"bore_size.unit": "in"}, **bores())
    after = create_app(folder, shop, secret=kept_secret(state)[0]).test_client()
    after._cookies = before.client._cookies
    assert after.post(READINGS, data=typed, headers=HOST).status_code == 303
    assert job_of(folder, shop).values["bore_size"][3][2][1] == pytest.approx(3.4398)


def test_the_secret_is_this_users_alone_and_one_that_others_could_have_read_is_replaced(state):
    secret, why = kept_secret(state)
    path = state / FILE
    assert not why and len(secret) == 32 and stat.S_IMODE(path.stat().st_mode) == 0o600
    assert kept_secret(state) == (secret, "")
    path.chmod(0o644)
    second, _ = kept_secret(state)
    assert second != secret and stat.S_IMODE(path.stat().st_mode) == 0o600
    path.write_bytes(b"short")
    assert len(kept_secret(state)[0]) == 32
    elsewhere = state / "elsewhere"
    elsewhere.write_bytes(b"k" * 32)
    elsewhere.chmod(0o600)
    path.unlink()
    path.symlink_to(elsewhere)
    assert kept_secret(state)[0] != b"k" * 32 and not path.is_symlink() and elsewhere.read_bytes() == b"k" * 32


def test_of_many_that_start_at_once_all_hold_the_same_secret(state):
    found = []
    at_once(*[lambda: found.append(kept_secret(state))] * 12)
    assert len(set(found)) == 1 and found[0][1] == ""
    assert [path.name for path in state.iterdir()] == [FILE]


@pytest.mark.parametrize("blocked", ["file", "folder"])
def test_a_place_where_no_secret_can_be_kept_is_said_and_the_page_works(state, blocked):
    if blocked == "file":
        state.write_text("no folder")
    else:
        (state / FILE).mkdir(parents=True)
    secret, why = kept_secret(state)
    assert len(secret) == 32 and str(state) in why


FORMS = {
    READINGS: ({"observation": "bore_size", "bore_size.unit": "in", **bores()}, BORES),
    "/job/hill-farm/answer": (
        {"question": "oil_pressure_idle", "oil_pressure_idle": "12.5 psi"},
        ["oil_pressure_idle"],
    ),
    "/new": (
        {"name": "Ann O.", "machine": "A saw bench", "title": "Saw", "phone": "12 34", "words": "It knocks"},
        ["name", "machine", "title", "phone"],
    ),
    "/job/hill-farm/close": (
        {"hours": "12.25", "cost": "801.50", "came_back": "no", "note": "sound"},
        ["hours", "cost"],
    ),
}


@pytest.mark.parametrize("token", ["", "0" * 64, "\u00e9\u20ac", None], ids=["empty", "wrong", "not-ascii", "missing"])
@pytest.mark.parametrize("path", sorted(FORMS))
def test_an_expired_form_comes_back_with_what_was_typed_and_saves_nothing(page, folder, path, token):
    before = {item: item.read_bytes() for item in folder.iterdir()}
    fields, names = FORMS[path]
    page.get("/")
    response = page.client.post(path, data={**fields, **({} if token is None else {"form_token": token})}, headers=HOST)
    html = text(response)
    assert response.status_code == 403 and "had expired" in html
    assert {name: field(html, name) for name in names} == {name: fields[name] for name in names}
    assert {item: item.read_bytes() for item in folder.iterdir()} == before
    sent = {**fields, "form_token": hidden(html, "form_token"), **shown(html), "engine": "tarn-30"}
    assert page.client.post(path, data=sent, headers=HOST).status_code == 303


def test_a_form_from_elsewhere_is_not_shown_back(page):
    fields = {"question": "oil_pressure_idle", "oil_pressure_idle": "planted 12"}
    for headers in ({"Origin": "http://elsewhere.example"}, {"Sec-Fetch-Site": "cross-site"}):
        response = page.client.post("/job/hill-farm/answer", data=fields, headers={**HOST, **headers})
        assert response.status_code == 403 and "planted" not in text(response)


def test_what_was_typed_before_the_token_was_asked_for_can_be_sent_after_it(folder, shop):
    app = create_app(folder, shop, hosts=frozenset({""}), token="a long enough token", secret=b"s" * 32)
    typed = {"observation": "bore_size", "bore_size.unit": "in", "was.bore_size": "null", **bores()}
    page = Page(app)
    response = page.client.post(READINGS, data=typed, headers=HOST)
    html = text(response)
    assert response.status_code == 403 and "Smoke and low" not in html

    def fields(html):
        return {
            unescape(key): unescape(value)
            for key, value in re.findall(r'<input type="hidden" name="([^"]*)" value="([^"]*)"', html)
        }

    wrong = text(page.client.post("/enter", data={**fields(html), "token": "no"}, headers=HOST))
    html = text(page.client.post("/enter", data={**fields(wrong), "token": "a long enough token"}, headers=HOST))
    assert f'action="{READINGS}"' in html
    assert page.client.post(READINGS, data=fields(html), headers=HOST).status_code == 303
    assert job_of(folder, shop).values["bore_size"][0][0][0] == 3.4375


@pytest.mark.parametrize(
    "path",
    [
        "//elsewhere.example/new",
        "http://elsewhere.example/new",
        "/job/a/delete",
        "/enter",
        "/job/a/close?x",
        "javascript:alert(1)",
    ],
)
def test_a_carried_form_goes_nowhere_but_to_the_forms_of_this_page(folder, shop, path):
    page = Page(create_app(folder, shop, hosts=frozenset({""}), token="a long enough token"))
    response = page.post("/enter", "/enter", {"token": "a long enough token", "kept_path": path, "kept.x": "1"})
    assert response.status_code == 303 and response.headers["Location"] == "/"


# --- faults meanwhile


def test_a_file_that_changes_at_every_try_brings_the_form_back(page, monkeypatch):
    def stale(*_):
        raise StaleFile(Fault("", 0, 0, "was changed"))

    typed = form(page, READINGS, observation="bore_size", **{"bore_size.unit": "in"}, **bores())
    monkeypatch.setattr(saving, "put_many", stale)
    response = page.client.post(READINGS, data=typed, headers=HOST)
    assert response.status_code == 409
    assert {name: field(text(response), name) for name in BORES} == bores()


def test_a_file_changed_by_another_program_between_reading_and_writing_is_merged_anew(page, folder, shop, monkeypatch):
    real, calls = saving.put_many, []

    def late(desk, changes):
        if not calls:
            write.save(desk.path, desk.job.digest, write.with_answer(shop.knowledge, "leak_pan", "drips"))
        calls.append(1)
        return real(desk, changes)

    typed = form(page, READINGS, observation="bore_size", **{"bore_size.unit": "in"}, **bores())
    monkeypatch.setattr(saving, "put_many", late)
    assert page.client.post(READINGS, data=typed, headers=HOST).status_code == 303
    now = job_of(folder, shop).values
    assert len(calls) == 2 and now["leak_pan"] == "drips" and now["bore_size"][0][0][0] == 3.4375


@pytest.mark.parametrize("happens", ["deleted", "damaged", "defect"])
@pytest.mark.parametrize("path", [path for path in sorted(FORMS) if path != "/new"])
def test_where_the_job_is_gone_or_broken_what_was_typed_is_on_the_page_that_says_so(
    page, folder, monkeypatch, path, happens
):
    fields, names = FORMS[path]
    at = {"/job/hill-farm/answer": "/job/hill-farm/ask?question=oil_pressure_idle"}.get(path, path)
    data = form(page, at, **fields)
    if happens == "deleted":
        (folder / "hill-farm.yaml").unlink()
    elif happens == "damaged":
        (folder / "hill-farm.yaml").write_text("a: [1")
    else:

        def broken(*_, **__):
            raise RuntimeError("a defect")

        monkeypatch.setattr(write, "save", broken)
    response = page.client.post(path, data=data, headers=HOST)
    assert response.status_code == {"deleted": 404, "damaged": 422, "defect": 500}[happens]
    html = text(response)
    assert all(f"<dd>{fields[name]}</dd>" in html for name in names)


def test_a_full_disk_keeps_a_new_job_and_a_closing_on_the_screen(page, monkeypatch):
    for path in ("/new", "/job/hill-farm/close"):
        fields, names = FORMS[path]
        data = form(page, path, **fields, engine="tarn-30")

        def full(*_):
            raise HowdeepError(Fault("x", 0, 0, "cannot be written: No space left on device"))

        with monkeypatch.context() as patch:
            patch.setattr(write, "save", full)
            patch.setattr(write, "create", full)
            response = page.client.post(path, data=data, headers=HOST)
        assert response.status_code == 422 and "No space left" in text(response)
        assert {name: field(text(response), name) for name in names} == {name: fields[name] for name in names}


def test_two_who_close_one_job_see_both_and_an_answer_meanwhile_does_not_matter(page, folder, shop):
    mine = form(page, "/job/hill-farm/close", hours="12.25", note="mine")
    page.post(
        "/job/hill-farm/answer", "/job/hill-farm/ask?question=leak_pan", {"question": "leak_pan", "leak_pan": "dry"}
    )
    theirs = form(page, "/job/hill-farm/close", hours="3", note="theirs stands")
    assert page.client.post("/job/hill-farm/close", data=theirs, headers=HOST).status_code == 303
    response = page.client.post("/job/hill-farm/close", data=mine, headers=HOST)
    html = text(response)
    assert response.status_code == 409 and "theirs stands" in html and field(html, "hours") == "12.25"
    again = {**mine, **shown(html)}
    assert page.client.post("/job/hill-farm/close", data=again, headers=HOST).status_code == 303
    found = job_of(folder, shop).job.found
    assert found.hours == 12.25 and found.note == "mine" and job_of(folder, shop).values["leak_pan"] == "dry"


def test_eight_devices_on_one_job_lose_no_reading(folder, shop):
    import urllib.parse
    import urllib.request
    from http.cookiejar import CookieJar

    faults, taken = [], some(BORES, 3)  # of each device three, or one

    def device(base, number):
        opener = urllib.request.build_opener(urllib.request.HTTPCookieProcessor(CookieJar()))
        try:
            for name in taken[number::8]:
                html = opener.open(base + READINGS, timeout=60).read().decode()
                fields = {
                    "form_token": hidden(html, "form_token"),
                    **shown(html),
                    "observation": "bore_size",
                    name: f"{bores()[name]} in",
                }
                opener.open(base + READINGS, urllib.parse.urlencode(fields).encode(), timeout=60).read()
        except Exception as error:
            faults.append(f"{number}: {error!r}")

    with served(create_app(folder, shop)) as base:
        at_once(*(partial(device, base, number) for number in range(8)), seconds=600)
    assert faults == []
    read_ = [value for cylinder in job_of(folder, shop).values["bore_size"] for row in cylinder for value in row]
    assert dict(zip(BORES, read_, strict=True)) == {
        name: pytest.approx(float(bores()[name])) if name in taken else None for name in BORES
    }


def test_two_new_jobs_of_one_name_at_once_are_two_jobs(page, folder, monkeypatch):
    real = write.create

    def late(path, plain):
        if not (folder / "saw.yaml").exists():
            real(folder / "saw.yaml", plain)
        return real(path, plain)

    monkeypatch.setattr(write, "create", late)
    response = page.post("/new", "/new", {"engine": "tarn-30", "title": "Saw"})
    assert response.status_code == 303 and response.headers["Location"] == "/job/saw-2/ask"
    assert os.path.exists(folder / "saw-2.yaml")


# --- numbers as they are typed


@pytest.mark.parametrize(
    ("typed", "unit", "value"),
    [
        ("3,4375", "in", 3.4375),
        ("3.4375", "in", 3.4375),
        ("87,3125", "mm", 3.4375),
        ("3,4375 in", "mm", 3.4375),
        ("87.3125mm", "in", 3.4375),
        ("8,73125", "cm", 3.4375),
        ("3 7/16 in", "mm", 3.4375),
    ],
)
def test_a_number_is_taken_with_comma_or_point_and_the_unit_chosen_or_written(page, folder, shop, typed, unit, value):
    sent = form(page, READINGS, observation="bore_size", **{"bore_size.unit": unit, "bore_size.1.top.0": typed})
    assert page.client.post(READINGS, data=sent, headers=HOST).status_code == 303
    assert job_of(folder, shop).values["bore_size"][0][0][0] == pytest.approx(value)


def test_a_comma_that_may_mean_thousands_is_never_read_a_thousandfold_in_silence(page, folder):
    sent = form(page, READINGS, observation="bore_size", **{"bore_size.unit": "in", "bore_size.1.top.0": "3,438"})
    response = page.client.post(READINGS, data=sent, headers=HOST)
    assert response.status_code == 422 and "3,438 in" in text(response) and "decimal point" in text(response)


def test_a_single_reading_may_choose_its_unit(page, folder, shop):
    where = "/job/hill-farm/ask?question=oil_pressure_idle"
    sent = form(
        page, where, question="oil_pressure_idle", **{"oil_pressure_idle": "1,5", "oil_pressure_idle.unit": "bar"}
    )
    assert page.client.post("/job/hill-farm/answer", data=sent, headers=HOST).status_code == 303
    assert job_of(folder, shop).values["oil_pressure_idle"] == pytest.approx(21.756, abs=0.001)
    html = text(page.get(where))
    assert field(html, "oil_pressure_idle") == "1.5 bar" and 'inputmode="decimal"' in html
