"""A form that comes twice is saved once: the answer was lost on the way, the server died meanwhile, two presses."""

import pytest

from howdeep.files.strict_yaml import digest_of, read
from howdeep.job import write
from howdeep.job.journal import journal_path
from howdeep.job.read import read_job
from howdeep.web.app import create_app
from howdeep.web.sends import Send, Sends

from .at_once import at_once
from .pages import HOST, Page, folder_with_case, hidden, shown, text
from .test_quote import copy_of_case, opened_up

NOTE, ASKED = "/job/hill-farm/note", "/job/hill-farm/answer"
NUMBER, OTHER = "a1" * 8, "b2" * 8
SECRET = b"s" * 32


@pytest.fixture
def folder(tmp_path):
    return folder_with_case(tmp_path)


def page_of(folder, shop, state=None):
    return Page(create_app(folder, shop, secret=SECRET, sends=Sends(state, folder)))


def form(page, at, **fields):
    html = text(page.get(at))
    return {"form_token": hidden(html, "form_token"), **shown(html), **fields}


def send(page, path, fields, number=NUMBER, **headers):
    return page.client.post(f"{path}?save={number}", data=fields, headers={**HOST, **headers})


def notes(folder):
    return [note["text"] for note in read(folder / "hill-farm.yaml").value.get("notes") or ()]


def test_every_form_of_a_job_that_is_saved_carries_a_number_of_its_own(folder, shop):
    page = page_of(folder, shop)
    for at in ("/new", "/engines", NOTE, "/job/hill-farm/ask", "/job/hill-farm/readings", "/job/hill-farm/close"):
        first, then = (text(page.get(at)).split("?save=")[1].split('"')[0] for _ in range(2))
        assert len(first) == 16 and first != then, at


def test_a_note_that_comes_twice_is_kept_once_and_two_notes_that_say_the_same_are_two(folder, shop):
    page = page_of(folder, shop)
    fields = form(page, NOTE, text="The pan was wet")
    answers = [send(page, NOTE, fields, number) for number in (NUMBER, NUMBER, OTHER)]
    assert [answer.status_code for answer in answers] == [303] * 3
    assert answers[0].headers["Location"] == answers[1].headers["Location"] == NOTE
    assert notes(folder) == ["The pan was wet"] * 2


def test_what_says_something_else_under_the_same_number_is_saved(folder, shop):
    """The page went back and was changed there: yes, no and yes again are three answers, and two notes are two."""
    page = page_of(folder, shop)
    for said in ("12 psi", "13 psi", "12 psi"):
        fields = form(page, "/job/hill-farm/ask?question=oil_pressure_idle", question="oil_pressure_idle")
        assert send(page, ASKED, {**fields, "oil_pressure_idle": said}).status_code == 303
        job = read_job(folder / "hill-farm.yaml", shop.knowledge, shop.folders)
        assert f"{job.values['oil_pressure_idle']:g} psi" == said
    for words in ("one", "one and a half"):
        send(page, NOTE, form(page, NOTE, text=words), OTHER)
    assert notes(folder) == ["one", "one and a half"]


def test_after_a_crash_between_a_save_and_its_answer_the_same_form_is_saved_once(folder, shop, tmp_path):
    """Also where the journal had no time for the change, and where somebody else saved before the form came again."""
    state, path = tmp_path / "state", folder / "hill-farm.yaml"
    state.mkdir()
    page = page_of(folder, shop, state)
    fields = form(page, NOTE, text="before the crash")
    long = journal_path(path).stat().st_size if journal_path(path).exists() else 0
    send(page, NOTE, fields)
    with open(journal_path(path), "r+b") as stream:
        stream.truncate(long)
    assert next(state.iterdir()).stat().st_mode & 0o077 == 0
    page = page_of(folder, shop, state)
    write.save(path, read(path).digest, lambda plain: {**plain, "title": "somebody else's"})
    fields["form_token"] = form(page, NOTE)["form_token"]
    again = send(page, NOTE, fields)
    assert again.status_code == 303 and again.headers["Location"] == NOTE
    assert notes(folder) == ["before the crash"]


def test_after_a_crash_before_a_save_the_same_form_is_saved(folder, shop, tmp_path):
    """What the save was about to make stood in the file long ago, too: that does not count."""
    state, path = tmp_path / "state", folder / "hill-farm.yaml"
    state.mkdir()
    page = page_of(folder, shop, state)
    first = path.read_bytes()
    with_note = send(page, NOTE, form(page, NOTE, text="as ever"), OTHER) and digest_of(path.read_bytes())
    write.save(path, with_note, lambda plain: {key: value for key, value in plain.items() if key != "notes"})
    assert path.read_bytes() == first
    fields = form(page, NOTE, text="as ever")
    with page.client.application.test_request_context(f"{NOTE}?save={NUMBER}", method="POST", data=fields):
        from howdeep.web.sends import said_by_form

        said = said_by_form()
    length = journal_path(path).stat().st_size
    Sends(state, folder).about_to(Send(NUMBER, said, str(path), digest_of(first), with_note, length, NOTE))
    page = page_of(folder, shop, state)
    fields["form_token"] = form(page, NOTE)["form_token"]
    assert send(page, NOTE, fields).status_code == 303 and notes(folder) == ["as ever"]


def test_a_damaged_or_missing_list_of_what_was_sent_refuses_no_save(folder, shop, tmp_path):
    state = tmp_path / "state"
    state.mkdir()
    page = page_of(folder, shop, state)
    send(page, NOTE, form(page, NOTE, text="one"))
    (kept,) = state.iterdir()
    kept.write_text(kept.read_text() + '{"number": 1\n[]\n{"job": 4}\ntorn', encoding="ascii")
    page = page_of(folder, shop, state)
    kept.unlink()
    state.rmdir()
    assert send(page, NOTE, form(page, NOTE, text="two"), OTHER).status_code == 303 and notes(folder) == ["one", "two"]


def test_one_new_job_one_yes_and_one_step_back_are_made_however_often_their_form_comes(tmp_path, shop):
    path = copy_of_case(tmp_path)
    page = page_of(tmp_path, shop)
    new = form(page, "/new", engine="tarn-30", words="It knocks when it pulls", title="Twice")
    went = {send(page, "/new", new).headers["Location"] for _ in range(2)}
    assert went == {"/job/twice/ask"} and len(list(tmp_path.glob("*.yaml"))) == 2
    promise = form(page, "/job/job/promises", promise="first")
    assert [send(page, "/job/job/promises", promise, OTHER).status_code for _ in range(2)] == [303, 303]
    opened_up(shop, path)
    at = "/job/job/changes/first"
    yes = form(page, at, promise="first", by="A. Customer", how="in person", date="2026-03-05", time="10:00")
    assert [send(page, "/job/job/approve", yes, "c3" * 8).status_code for _ in range(2)] == [303, 303]
    assert len(read(path).value["approvals"]) == 1
    for words in ("one", "two"):
        send(page, "/job/job/note", form(page, "/job/job/note", text=words), OTHER)
    back = form(page, "/job/job/history")
    assert [send(page, "/job/job/history", back, "d4" * 8).status_code for _ in range(2)] == [303, 303]
    assert [note["text"] for note in read(path).value["notes"]] == ["one"]


def test_two_presses_at_the_same_moment_are_one_save(folder, shop):
    page = page_of(folder, shop)
    fields, seen = form(page, NOTE, text="pressed twice"), []
    session = page.client.get_cookie("howdeep_session").value

    def press():
        client = page.client.application.test_client()
        client.set_cookie("howdeep_session", session)
        seen.append(client.post(f"{NOTE}?save={NUMBER}", data=fields, headers=HOST).status_code)

    at_once(*[press] * 4)
    assert seen == [303] * 4 and notes(folder) == ["pressed twice"]


def test_the_pages_script_is_told_of_a_save_and_of_nothing_else(folder, shop):
    page = page_of(folder, shop)
    fields = form(page, NOTE, text="by the script")
    saved = send(page, NOTE, fields, **{"Howdeep-Script": "1"})
    assert saved.status_code == 204 and saved.headers["Howdeep-Next"] == NOTE and "Location" not in saved.headers
    refused = send(page, NOTE, {**fields, "text": ""}, OTHER, **{"Howdeep-Script": "1"})
    assert refused.status_code == 422 and "Howdeep-Next" not in refused.headers
    locked = Page(create_app(folder, shop, token="a long enough token"))
    out = locked.client.post(
        "/job/hill-farm/history?save=" + OTHER, data=fields, headers={**HOST, "Howdeep-Script": "1"}
    )
    assert out.status_code == 303 and "Howdeep-Next" not in out.headers, "it was sent to the token, and not saved"
