"""Notes, photographs, cautions and the record on the page."""

import datetime
import io
import re

import pytest
from PIL import Image

from howdeep.files.strict_yaml import read
from howdeep.job.kept import photo_folder
from howdeep.web.cautions import COOKIE

from .pages import HOST, hidden, text


def picture(width=64, height=48, kind="PNG", **more):
    """A real picture; what a camera writes beside it in `exif`."""
    out = io.BytesIO()
    Image.effect_noise((width, height), 60).convert("RGB").save(out, kind, **more)
    return out.getvalue()


PNG = picture()
PLACE = b"51 deg 28 min"


def keep(page, **fields):
    token = hidden(text(page.get("/job/hill-farm/note")), "form_token")
    return page.client.post(
        "/job/hill-farm/note", headers=HOST, data={"form_token": token, **fields}, content_type="multipart/form-data"
    )


def test_a_note_and_a_photograph_are_kept_and_shown(folder, page):
    sent = keep(page, text="  the lane is steep ", photo=(io.BytesIO(PNG), "IMG 1.PNG"), of="bore_look")
    assert sent.status_code == 303
    job = read(folder / "hill-farm.yaml").value
    assert job["notes"][-1]["text"] == "the lane is steep" and job["photos"][0]["of"] == "bore_look"
    name = job["photos"][0]["file"]
    assert (photo_folder(folder / "hill-farm.yaml") / name).read_bytes() == PNG
    html = text(page.get("/job/hill-farm"))
    assert f"/job/hill-farm/photo/{name}" in html and "the lane is steep" in html
    shown = page.get(f"/job/hill-farm/photo/{name}")
    assert shown.mimetype == "image/jpeg" and "immutable" in shown.headers["Cache-Control"]
    assert Image.open(io.BytesIO(shown.data)).size == (64, 48)
    assert keep(page, photo=(io.BytesIO(PNG), "again.png"), of="bore_look").status_code == 303
    assert len(read(folder / "hill-farm.yaml").value["photos"]) == 1, "the same picture is kept once"


@pytest.mark.parametrize(
    ("fields", "said"),
    [
        ({}, "Write a note or choose a photograph"),
        ({"photo": (b"no picture at all", "x.png"), "of": "bore_look"}, "is no picture known here"),
        ({"photo": (PNG, "x.png")}, "say what the photograph shows"),
        ({"photo": (PNG[: len(PNG) // 2], "x.png"), "of": "bore_look"}, "cannot be looked at as a picture"),
        (
            {"photo": (b"\xff\xd8\xff<html><script>alert(1)</script>", "x.jpg"), "of": "bore_look"},
            "cannot be looked at",
        ),
        ({"photo": (b"\0\0\0\x18ftypheic" + bytes(200), "x.heic"), "of": "bore_look"}, "Set the camera to JPEG"),
    ],
)
def test_what_is_no_note_and_no_picture_is_said_and_nothing_saved(folder, page, fields, said):
    before = (folder / "hill-farm.yaml").read_bytes()
    fields = {
        key: (io.BytesIO(value[0]), value[1]) if isinstance(value, tuple) else value for key, value in fields.items()
    }
    answer = keep(page, **fields)
    assert answer.status_code == 422 and said in text(answer)
    assert (folder / "hill-farm.yaml").read_bytes() == before


def test_only_photographs_of_the_job_are_served(folder, page):
    assert page.get("/job/hill-farm/photo/0123456789abcdef.png").status_code == 404
    assert page.get("/job/hill-farm/photo/..%2f..%2fhill-farm.yaml").status_code == 404
    (photo_folder(folder / "hill-farm.yaml")).mkdir()
    (photo_folder(folder / "hill-farm.yaml") / "secret.png").write_bytes(PNG)
    assert page.get("/job/hill-farm/photo/secret.png").status_code == 404


def test_what_a_camera_writes_into_its_file_is_not_given_out_but_the_original_on_the_machine_itself(folder, page):
    exif = Image.Exif()
    exif[0x0112] = 6  # lies on its side (Exif 2.32, 4.6.4, Orientation)
    exif.get_ifd(0x8825).update({1: "N", 2: (51.0, 28.0, 38.0), 29: "2026:11:01"})  # where it was taken
    exif[0x010F] = "Made-up Camera"
    sent = picture(3000, 2000, "JPEG", exif=exif, comment=PLACE)
    assert b"Made-up Camera" in sent and PLACE in sent
    assert keep(page, photo=(io.BytesIO(sent), "a.jpg"), of="bore_look").status_code == 303
    name = read(folder / "hill-farm.yaml").value["photos"][0]["file"]
    assert (photo_folder(folder / "hill-farm.yaml") / name).read_bytes() == sent, "the original stays as it was"
    for size, most in (("", 1600), ("?small", 480)):
        shown = page.get(f"/job/hill-farm/photo/{name}{size}").data
        with Image.open(io.BytesIO(shown)) as seen:
            assert max(seen.size) == most and seen.height > seen.width, "turned upright"
            assert not dict(seen.getexif()) and "comment" not in seen.info and "exif" not in seen.info
        assert b"Made-up Camera" not in shown and PLACE not in shown and len(shown) < len(sent)
    at = f"/job/hill-farm/photo/{name}/original"
    here = page.get(at)
    assert here.data == sent and here.headers["Content-Disposition"].startswith("attachment")
    assert page.client.get(at, headers=HOST, environ_base={"REMOTE_ADDR": "192.168.1.9"}).status_code == 403
    assert at in text(page.get("/job/hill-farm")) and at not in page.client.get(
        "/job/hill-farm", headers=HOST, environ_base={"REMOTE_ADDR": "192.168.1.9"}
    ).get_data(as_text=True)


def test_a_picture_that_is_far_too_large_when_unpacked_is_refused(folder, page, monkeypatch):
    monkeypatch.setattr(Image, "MAX_IMAGE_PIXELS", 1000)
    sent = keep(page, photo=(io.BytesIO(PNG), "x.png"), of="bore_look")
    assert sent.status_code == 422 and not photo_folder(folder / "hill-farm.yaml").exists()


def test_a_large_form_is_refused_everywhere_but_where_a_photograph_belongs(folder, page):
    large = picture(700, 500)
    assert len(large) > 600_000
    assert keep(page, photo=(io.BytesIO(large), "big.png"), of="bore_look").status_code == 303
    token = hidden(text(page.get("/shop")), "form_token")
    assert page.client.post("/shop", headers=HOST, data={"form_token": token, "name": "x" * 600_000}).status_code == 413


def test_a_caution_stands_open_until_a_form_below_it_was_saved_that_day(page):
    at = "/job/hill-farm/ask?question=spark"
    html = text(page.get(at))
    assert re.search(r'<details class="caution" open><summary>Caution', html)
    assert page.post("/job/hill-farm/answer", at, {"question": "spark"}, how="unknown").status_code == 303
    cookie = page.client.get_cookie(COOKIE, domain="localhost")
    assert cookie is not None and cookie.http_only and cookie.value.startswith(datetime.date.today().isoformat())
    later = text(page.get(at))
    assert '<details class="caution"><summary>Caution' in later and 'class="caution" open' not in later
    page.client.set_cookie(COOKIE, "2001-01-01:" + cookie.value.partition(":")[2], domain="localhost")
    assert 'class="caution" open' in text(page.get(at)), "another day it stands open again"


def test_six_places_of_a_job_and_the_one_that_is_open_is_marked(page):
    for address, word in (
        ("/ask", "Talk"),
        ("/readings", "Test"),
        ("", "Answer"),
        ("/papers", "Promise"),
        ("/open", "Open"),
        ("/prove", "Prove"),
    ):
        html = text(page.get(f"/job/hill-farm{address}"))
        row = html.split('aria-label="This job"')[1]
        marked = re.findall(r'<a href="([^"]*)" aria-current="page">([^<]*)</a>', row)
        assert marked == [(f"/job/hill-farm{address}", word)], address


def test_the_record_stands_on_the_page(page):
    html = text(page.get("/record"))
    assert "0 closed jobs scored, 1 still open" in html and "THE PROMISES" in html


def test_the_history_stands_on_the_page_and_the_last_change_is_taken_back(folder, page):
    before = (folder / "hill-farm.yaml").read_bytes()
    assert "Nothing yet" in text(page.get("/job/hill-farm/history"))
    at = "/job/hill-farm/ask?question=start_cold"
    assert page.post("/job/hill-farm/answer", at, {"question": "start_cold"}, start_cold="needs_aid").status_code == 303
    html = text(page.get("/job/hill-farm/history"))
    assert "<td>page</td>" in html and "Last change: Starting from cold" in html
    assert page.post("/job/hill-farm/history", "/job/hill-farm/history", {}).status_code == 303
    assert (folder / "hill-farm.yaml").read_bytes() == before and "Line 2 taken back" in text(
        page.get("/job/hill-farm/history")
    )
    again = page.post("/job/hill-farm/history", "/job/hill-farm/note", {})
    assert again.status_code == 422 and "no change to take back" in text(again)


def test_the_server_lets_through_what_the_page_takes(folder, monkeypatch):
    """A photograph of a telephone has some megabytes: the server before the page must not refuse it."""
    from howdeep.errors import HowdeepError
    from howdeep.web import serve
    from howdeep.web.guard import LARGER

    asked = {}

    def no_server(app, **options):
        asked.update(options)
        raise OSError("no port")

    monkeypatch.setattr("waitress.server.create_server", no_server)
    with pytest.raises(HowdeepError, match="no port"):
        serve.serve(folder, host="127.0.0.1", port=0, token="", rules=None, prices=None)
    assert asked["max_request_body_size"] >= LARGER["keeping"] > 8_000_000
