"""Passes for devices: made on the machine itself, used once, named in the journal, revoked."""

import json
import os
import re
import subprocess
import sys

import pytest

from howdeep.errors import HowdeepError
from howdeep.files.strict_yaml import read
from howdeep.job.journal import read_journal
from howdeep.web.address import address_for_others, is_loopback, own_address, qr_text
from howdeep.web.app import create_app
from howdeep.web.guard import DEVICE, DEVICE_SECONDS
from howdeep.web.guesses import FREE, Guesses
from howdeep.web.passes import EACH, GROUPS, HOURS, LETTERS, MOST, Passes

from .pages import HOST, Page, folder_with_case, hidden, shown, text
from .places import ROOT

TOKEN = "a long enough token"
ELSEWHERE = {"environ_base": {"REMOTE_ADDR": "192.168.1.9"}}
ADDRESS = "http://192.168.1.7:8420"


@pytest.fixture
def made(tmp_path, shop):
    """(page at the machine itself, with the token entered; the folder; its passes)"""
    folder = folder_with_case(tmp_path)
    passes = Passes(tmp_path / "state", folder)
    app = create_app(
        folder, shop, hosts=frozenset({""}), token=TOKEN, passes=passes, address=ADDRESS, guesses=Guesses(lambda: 0.0)
    )
    page = Page(app)
    assert page.post("/enter", "/enter", {"token": TOKEN}).status_code == 303
    return page, folder, passes


def key_of(page, name="Yard phone"):
    html = text(page.post("/devices", "/devices", {"device": name}))
    assert "data:image/svg+xml" in html
    return re.search(rf"{ADDRESS}/pass/([A-Z0-9-]+)", html).group(1)


def press(client, key):
    token = hidden(client.get(f"/pass/{key}", headers=HOST, **ELSEWHERE).get_data(as_text=True), "form_token")
    return client.post(f"/pass/{key}", headers=HOST, data={"form_token": token}, **ELSEWHERE)


def test_a_device_is_let_in_by_its_pass_and_its_changes_carry_its_name(made):
    page, folder, passes = made
    key = key_of(page)
    phone = Page(page.client.application).client
    assert phone.get("/", headers=HOST, **ELSEWHERE).headers["Location"] == "/enter"
    assert phone.get(f"/pass/{key}", headers=HOST, **ELSEWHERE).status_code == 200
    assert not passes.all()[0].device, "opening the address alone must not use the pass up"
    sent = press(phone, key)
    assert sent.status_code == 303
    cookie = phone.get_cookie(DEVICE, domain="localhost")
    assert cookie.http_only and cookie.same_site == "Strict" and cookie.max_age == DEVICE_SECONDS
    html = phone.get("/job/hill-farm/ask?question=start_cold", headers=HOST, **ELSEWHERE).get_data(as_text=True)
    sent = phone.post(
        "/job/hill-farm/answer",
        headers=HOST,
        **ELSEWHERE,
        data={
            "form_token": hidden(html, "form_token"),
            **shown(html),
            "question": "start_cold",
            "start_cold": "needs_aid",
        },
    )
    assert sent.status_code == 303
    lines = read_journal(folder / "hill-farm.yaml").lines
    assert {line.by for line in lines if line.number > 1} == {"page, Yard phone"}
    assert read(folder / "hill-farm.yaml").value["answers"]["start_cold"] == "needs_aid"


def test_a_pass_works_once_and_not_after_it_was_revoked(made):
    page, _, passes = made
    key = key_of(page)
    first, second = (Page(page.client.application).client for _ in range(2))
    assert press(first, key).status_code == 303
    refused = press(second, key)
    assert refused.status_code == 403 and "used already" in text(refused)
    assert second.get("/", headers=HOST, **ELSEWHERE).status_code == 303
    assert first.get("/", headers=HOST, **ELSEWHERE).status_code == 200
    assert page.post("/devices/revoke", "/devices", {"device": "Yard phone"}).status_code == 303
    assert first.get("/", headers=HOST, **ELSEWHERE).headers["Location"] == "/enter" and passes.all() == ()


def test_who_leaves_is_let_in_no_more_and_his_pass_ends_with_it(made):
    page, _, passes = made
    phone = Page(page.client.application)
    assert press(phone.client, key_of(page)).status_code == 303
    assert 'href="/leave"' in text(phone.get("/")) and "The pass of Yard phone ends" in text(phone.get("/leave"))
    assert phone.get("/").status_code == 200 and passes.all(), "looking at the page alone must not end it"
    left = phone.post("/leave", "/leave", {})
    assert left.status_code == 200 and " data-forget" in text(left), "what was typed is thrown away"
    assert 'href="/leave"' not in text(left) and not phone.client.get_cookie(DEVICE, domain="localhost")
    assert phone.get("/").headers["Location"] == "/enter" and passes.all() == ()
    assert page.get("/").status_code == 200, "nobody else has left"
    assert page.post("/leave", "/leave", {}).status_code == 200 and page.get("/").headers["Location"] == "/enter"
    assert page.post("/enter", "/enter", {"token": TOKEN}).status_code == 303 and page.get("/").status_code == 200


def test_nobody_is_sent_away_by_another_page_and_without_a_token_there_is_nothing_to_leave(made, tmp_path, shop):
    page, _, _ = made
    assert page.client.post("/leave", headers=HOST).status_code == 403 and page.get("/").status_code == 200
    (tmp_path / "open").mkdir()
    alone = Page(create_app(folder_with_case(tmp_path / "open"), shop))
    assert alone.get("/leave").headers["Location"] == "/" and "/leave" not in text(alone.get("/"))


def test_a_pass_may_be_typed_for_the_token_and_the_token_still_works(made):
    page, _, _ = made
    typed = key_of(page, "Old laptop").lower().replace("-", " ")
    laptop = Page(page.client.application)
    assert laptop.post("/enter", "/enter", {"token": typed}).status_code == 303
    assert laptop.get("/").status_code == 200 and laptop.client.get_cookie(DEVICE, domain="localhost")
    again = Page(page.client.application)
    assert again.post("/enter", "/enter", {"token": TOKEN}).status_code == 303
    assert again.get("/").status_code == 200 and again.client.get_cookie(DEVICE, domain="localhost") is None


def test_wrong_passes_make_a_device_wait(made):
    page, _, _ = made
    key = key_of(page)
    guesser = Page(page.client.application).client
    assert [press(guesser, "A" * 20).status_code for _ in range(FREE)] == [403] * FREE
    waiting = press(guesser, key)
    assert waiting.status_code == 429 and int(waiting.headers["Retry-After"]) >= 1


def test_passes_are_made_on_the_machine_itself_alone(made):
    page, _, passes = made
    assert page.get("/devices").status_code == 200 and "/devices" in text(page.get("/"))
    away = page.client.get("/devices", headers=HOST, **ELSEWHERE)
    assert away.status_code == 403 and "/devices" not in page.client.get("/", headers=HOST, **ELSEWHERE).get_data(
        as_text=True
    )
    token = hidden(text(page.get("/devices")), "form_token")
    for path in ("/devices", "/devices/revoke"):
        sent = page.client.post(path, headers=HOST, data={"form_token": token, "device": "x"}, **ELSEWHERE)
        assert sent.status_code == 403
    key = key_of(page)
    inside = Page(page.client.application).client  # behind something that makes every device look like this machine
    assert press(inside, key).status_code == 303
    assert inside.get("/devices", headers=HOST).status_code == 403
    assert [one.name for one in passes.all()] == ["Yard phone"]


@pytest.mark.parametrize("name", ["", "  ", "x" * 41])
def test_a_device_needs_a_name(made, name):
    page, _, passes = made
    assert page.post("/devices", "/devices", {"device": name}).status_code == 422 and passes.all() == ()


def test_a_name_is_taken_once_and_shown_as_text(made):
    page, _, _ = made
    key_of(page, "<b>Bay 1</b>")
    again = page.post("/devices", "/devices", {"device": "<B>bay 1</b>"})
    assert again.status_code == 422 and "revoke it first" in text(again)
    assert "<b>Bay" not in text(page.get("/devices")) and "&lt;b&gt;Bay 1" in text(page.get("/devices"))


def test_without_a_token_the_page_says_how_devices_are_let_in(page):
    assert "Only this machine can reach the page" in text(page.get("/devices"))
    assert page.get("/pass/AAAAA").headers["Location"] == "/"


def test_keys_are_kept_as_digests_readable_by_their_user_alone(tmp_path):
    passes = Passes(tmp_path / "state", tmp_path)
    key = passes.make("Phone")
    assert re.fullmatch(rf"(?:[{LETTERS}]{{{EACH}}}-){{{GROUPS - 1}}}[{LETTERS}]{{{EACH}}}", key)
    held = passes.use(key)
    kept = passes.path.read_text()
    for secret in (key, key.replace("-", ""), held):
        assert secret not in kept
    assert passes.path.stat().st_mode & 0o077 == 0 and json.loads(kept)["howdeep_passes"] == 1
    assert passes.name_of(held) == "Phone" and passes.name_of("") == passes.name_of(key) == ""
    assert Passes(tmp_path / "state", tmp_path).name_of(held) == "Phone", "it outlives a restart"
    assert Passes(tmp_path / "state", tmp_path / "other").name_of(held) == "", "it is good for its folder alone"


def test_a_key_that_nobody_used_runs_out(tmp_path):
    now = [0.0]
    passes = Passes(tmp_path, tmp_path, lambda: now[0])
    key = passes.make("Phone")
    now[0] = HOURS * 3600 + 1
    assert passes.use(key) == "" and passes.all() == ()
    assert passes.make("Phone"), "its name is free again"


def test_there_is_an_end_to_passes(tmp_path):
    passes = Passes(tmp_path, tmp_path)
    passes.path.write_text(
        json.dumps(
            {
                "howdeep_passes": 1,
                "passes": [{"name": f"d{number}", "made": "2026-01-01", "device": "0" * 64} for number in range(MOST)],
            }
        )
    )
    passes.path.chmod(0o600)
    with pytest.raises(HowdeepError, match="revoke"):
        passes.make("one more")


@pytest.mark.parametrize("damage", ["others", "link", "garbage", "shape"])
def test_a_file_of_passes_that_cannot_be_trusted_lets_nobody_in(tmp_path, damage):
    passes = Passes(tmp_path, tmp_path)
    held = passes.use(passes.make("Phone"))
    assert passes.name_of(held) == "Phone"
    if damage == "others":
        passes.path.chmod(0o644)
    elif damage == "link":
        passes.path.rename(tmp_path / "elsewhere")
        os.symlink(tmp_path / "elsewhere", passes.path)
    else:
        passes.path.write_text({"garbage": "{", "shape": '{"howdeep_passes": 1, "passes": [{"nme": 1}]}'}[damage])
    assert passes.name_of(held) == ""
    key = passes.make("Another")
    assert passes.name_of(passes.use(key)) == "Another" and not passes.path.is_symlink()


def test_two_devices_that_use_one_key_at_once_do_not_both_get_in(tmp_path):
    from concurrent.futures import ThreadPoolExecutor

    passes = Passes(tmp_path, tmp_path)
    key = passes.make("Phone")
    with ThreadPoolExecutor(8) as pool:
        got = [held for held in pool.map(lambda _: passes.use(key), range(8)) if held]
    assert len(got) == 1 and passes.name_of(got[0]) == "Phone"


def test_the_address_for_others_is_one_that_they_can_reach():
    assert address_for_others("192.168.1.7", 8420) == "http://192.168.1.7:8420"
    assert address_for_others("fd00::7", 80) == "http://[fd00::7]:80"
    import socket

    own = own_address(socket.AF_INET)
    assert not own or not is_loopback(own)
    told = address_for_others("0.0.0.0", 8420)
    assert "0.0.0.0" not in told and told.startswith("http://") and told.endswith(":8420")


def test_a_qr_code_in_the_terminal_reads_as_a_square_with_its_three_corners():
    lines = qr_text("http://192.168.1.7:8420/").splitlines()
    assert len({len(line) for line in lines if line}) == 1 and max(map(len, lines)) <= 80
    corner = "▄▄▄▄▄"
    assert lines[1].count(corner) == 2 and sum(corner in line for line in lines) >= 2


def test_page_with_a_host_prints_the_address_and_its_code(tmp_path):
    """`howdeep page --host` in a process of its own, ended as soon as it listens."""
    folder = folder_with_case(tmp_path)
    process = subprocess.Popen(
        [sys.executable, "-m", "howdeep", "page", str(folder), "--host", "0.0.0.0", "--port", "18473"],
        stdout=subprocess.PIPE,
        stderr=subprocess.DEVNULL,
        text=True,
        encoding="utf-8",
        env={**os.environ, "PYTHONPATH": str(ROOT / "src"), "HOWDEEP_TOKEN": TOKEN, "PYTHONIOENCODING": "utf-8"},
    )
    try:
        told = "".join(iter(process.stdout.readline, "\n")) + "".join(process.stdout.readline() for _ in range(8))
    finally:
        process.terminate()
        process.wait(30)
    assert ":18473/" in told and "From another device: http://" in told and "▄▄▄▄▄" in told and TOKEN not in told
